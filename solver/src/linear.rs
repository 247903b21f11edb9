//! The symmetric linear system: ordering, L D L' factorisation, solution, inertia.
//!
//! Ordering and analysis happen once for a pattern. L D L' without pivoting serves the indefinite
//! tangents behind a limit or branch point as well, and by Sylvester's law the signs of D are the signs
//! of the eigenvalues. Only this file and [`crate::fronts`] touch the factorisation library.

use crate::error::Failure;
use crate::fronts::Fronts;
use faer::Side;
use faer::dyn_stack::{MemBuffer, MemStack, StackReq};
use faer::perm::PermRef;
use faer::sparse::SymbolicSparseColMatRef;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, SymbolicCholeskyRaw, SymmetricOrdering, factorize_symbolic_cholesky,
};
use faer::sparse::linalg::{SupernodalThreshold, amd};
use nalgebra_sparse::CscMatrix;

/// A reusable factorisation of matrices of one pattern.
#[derive(Debug)]
pub(crate) struct Factor {
    fronts: Fronts,
}

impl Factor {
    /// Analyses the pattern of a lower triangle.
    ///
    /// `blocks` are the first equations of groups that share their neighbours (the dofs of a node),
    /// ascending, with the number of equations at the end; ordering groups is 7 to 10 times
    /// cheaper than ordering equations, and as good.
    pub(crate) fn new(matrix: &CscMatrix<f64>, blocks: &[usize]) -> Self {
        let n = matrix.ncols();
        let (forward, inverse) = order(matrix, blocks);
        let permutation = PermRef::new_checked(&forward, &inverse, n);
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SUPERNODAL,
            ..CholeskySymbolicParams::default()
        };
        let pattern = SymbolicSparseColMatRef::new_checked(
            n,
            n,
            matrix.col_offsets(),
            None,
            matrix.row_indices(),
        );
        let ordering = SymmetricOrdering::Custom(permutation);
        let symbolic = factorize_symbolic_cholesky(pattern, Side::Lower, ordering, params)
            .expect("the pattern's counts fit the index type: the matrix itself is in memory");
        let SymbolicCholeskyRaw::Supernodal(supernodal) = symbolic.raw() else {
            unreachable!("supernodes are forced by the parameters");
        };
        Self { fronts: Fronts::new(supernodal, matrix, inverse) }
    }

    /// Numbers in L.
    pub(crate) fn entries(&self) -> usize {
        self.fronts.entries()
    }

    /// Factors a matrix of the analysed pattern.
    ///
    /// # Errors
    /// A zero or NaN pivot: the matrix is singular to working precision.
    pub(crate) fn factor(&mut self, matrix: &CscMatrix<f64>) -> Result<Inertia, Failure> {
        let inertia = self.fronts.factor(matrix.values())?;
        // A pivot this small is rounding noise: the structure is a mechanism.
        if inertia.smallest <= SINGULAR_PIVOT * inertia.largest {
            return Err(Failure::Singular);
        }
        Ok(inertia)
    }

    /// Solves in place with the last factorisation.
    pub(crate) fn solve(&mut self, right_hand_side: &mut [f64]) {
        self.fronts.solve(right_hand_side);
    }
}

/// Pivots span the stiffnesses of a part, perhaps nine decades between a slender rib's sway and a
/// tiny element; below this ratio what is left is rounding.
const SINGULAR_PIVOT: f64 = 1e-15;

/// Signs and range of the pivots.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Inertia {
    /// How many eigenvalues are negative.
    pub(crate) negative: usize,
    pub(crate) smallest: f64,
    pub(crate) largest: f64,
}

impl Inertia {
    /// That of no pivot.
    pub(crate) const NONE: Self = Self { negative: 0, smallest: f64::INFINITY, largest: 0.0 };

    /// Counts one more pivot.
    ///
    /// # Errors
    /// A pivot that is zero or not finite.
    pub(crate) fn count(&mut self, pivot: f64) -> Result<(), Failure> {
        let size = pivot.abs();
        if !(size > 0.0 && size.is_finite()) {
            return Err(Failure::Singular);
        }
        self.join(&Self { negative: usize::from(pivot < 0.0), smallest: size, largest: size });
        Ok(())
    }

    /// Counts the pivots of another part.
    pub(crate) fn join(&mut self, other: &Self) {
        self.negative += other.negative;
        self.smallest = withy_mesh::number::min(self.smallest, other.smallest);
        self.largest = withy_mesh::number::max(self.largest, other.largest);
    }
}

/// Fill-reducing order of the equations, by approximate minimum degree on the groups, in postorder:
/// `(old equation of each new one, new equation of each old one)`.
fn order(matrix: &CscMatrix<f64>, blocks: &[usize]) -> (Vec<usize>, Vec<usize>) {
    let (offsets, rows) = group_pattern(matrix, blocks);
    let groups = blocks.len() - 1;
    let pattern = SymbolicSparseColMatRef::new_checked(groups, groups, &offsets, None, &rows);
    let (mut forward, mut inverse) = (vec![0usize; groups], vec![0usize; groups]);
    let memory: StackReq = amd::order_scratch::<usize>(groups, rows.len());
    amd::order(
        &mut forward,
        &mut inverse,
        pattern,
        amd::Control::default(),
        MemStack::new(&mut MemBuffer::new(memory)),
    )
    .expect("the scratch was sized for this pattern");
    let expanded: Vec<usize> = in_postorder(&offsets, &rows, &forward, &inverse)
        .into_iter()
        .flat_map(|g| blocks[g]..blocks[g + 1])
        .collect();
    let mut back = vec![0usize; expanded.len()];
    for (new, &old) in expanded.iter().enumerate() {
        back[old] = new;
    }
    (expanded, back)
}

/// Lower triangle of the pattern of groups: that of each group's first equation.
fn group_pattern(matrix: &CscMatrix<f64>, blocks: &[usize]) -> (Vec<usize>, Vec<usize>) {
    let groups = blocks.len() - 1;
    let mut group_of = vec![0usize; matrix.ncols()];
    for g in 0..groups {
        group_of[blocks[g]..blocks[g + 1]].fill(g);
    }
    let mut offsets = vec![0usize];
    let mut rows: Vec<usize> = Vec::new();
    for g in 0..groups {
        let start = rows.len();
        for &row in matrix.col(blocks[g]).row_indices() {
            let other = group_of[row];
            if rows.len() == start || rows[rows.len() - 1] != other {
                rows.push(other);
            }
        }
        offsets.push(rows.len());
    }
    (offsets, rows)
}

/// The same elimination in postorder of its tree: the fill is the same, and what is eliminated together
/// stands together. The parent of a column is the first row that its elimination fills; found with path
/// compression (J. W. H. Liu, "The role of elimination trees in sparse factorization", SIAM J. Matrix
/// Anal. Appl. 11 (1990) 134-172, from memory).
fn in_postorder(
    offsets: &[usize],
    rows: &[usize],
    forward: &[usize],
    inverse: &[usize],
) -> Vec<usize> {
    let n = forward.len();
    // For each new column its neighbours that come before it.
    let mut at = vec![0usize; n + 1];
    let pairs = || {
        (0..n).flat_map(|g| {
            rows[offsets[g]..offsets[g + 1]].iter().map(move |&r| (inverse[g], inverse[r]))
        })
    };
    for (i, j) in pairs() {
        at[i.max(j) + 1] += 1;
    }
    for i in 0..n {
        at[i + 1] += at[i];
    }
    let mut next = at.clone();
    let mut before = vec![0usize; rows.len()];
    for (i, j) in pairs() {
        let slot = &mut next[i.max(j)];
        before[*slot] = i.min(j);
        *slot += 1;
    }
    const NONE: usize = usize::MAX;
    let (mut parent, mut ancestor) = (vec![NONE; n], vec![NONE; n]);
    for column in 0..n {
        for &neighbour in &before[at[column]..at[column + 1]] {
            let mut i = neighbour;
            while i < column {
                let above = ancestor[i];
                ancestor[i] = column;
                if above == NONE {
                    parent[i] = column;
                }
                i = above;
            }
        }
    }
    // Children lists, the first child first.
    let (mut child, mut sibling) = (vec![NONE; n], vec![NONE; n]);
    let mut stack = Vec::new();
    for i in (0..n).rev() {
        if parent[i] == NONE {
            stack.push(i);
        } else {
            sibling[i] = child[parent[i]];
            child[parent[i]] = i;
        }
    }
    let mut order = Vec::with_capacity(n);
    while let Some(&i) = stack.last() {
        if child[i] == NONE {
            stack.pop();
            order.push(forward[i]);
        } else {
            let first = child[i];
            child[i] = sibling[first];
            stack.push(first);
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra_sparse::CooMatrix;

    /// A chain of springs between two walls, K = tridiag(-1, 2 - shift, -1), lower triangle.
    fn chain(n: usize, shift: f64) -> CscMatrix<f64> {
        let mut m = CooMatrix::new(n, n);
        for i in 0..n {
            m.push(i, i, 2.0 - shift);
            if i > 0 {
                m.push(i, i - 1, -1.0);
            }
        }
        CscMatrix::from(&m)
    }

    #[test]
    fn inertia_counts_the_eigenvalues_below_a_shift() {
        // Eigenvalues 2 - 2 cos(k pi / (n + 1)), k = 1..n, in closed form.
        let n = 40;
        let blocks: Vec<usize> = (0..=n).collect();
        let mut factor = Factor::new(&chain(n, 0.0), &blocks);
        for shift in [0.0, 0.5, 1.9, 3.3, 5.0] {
            let below = (1..=n)
                .filter(|&k| {
                    let k = f64::from(u32::try_from(k).unwrap());
                    2.0 - 2.0 * (k * std::f64::consts::PI / 41.0).cos() < shift
                })
                .count();
            let inertia = factor.factor(&chain(n, shift)).unwrap();
            assert_eq!(inertia.negative, below, "shift {shift}");
        }
    }

    #[test]
    fn solution_satisfies_the_equations() {
        let n = 50;
        let blocks: Vec<usize> = (0..=n).step_by(2).collect();
        let matrix = chain(n, 0.7);
        let mut factor = Factor::new(&matrix, &blocks);
        factor.factor(&matrix).unwrap();
        let mut x = vec![1.0; n];
        factor.solve(&mut x);
        for i in 0..n {
            let left = if i > 0 { x[i - 1] } else { 0.0 };
            let right = if i + 1 < n { x[i + 1] } else { 0.0 };
            let sum = 1.3 * x[i] - left - right;
            // Condition number below 1e3: twelve digits must stand.
            assert!((sum - 1.0).abs() < 1e-12, "row {i}: {sum}");
        }
    }

    #[test]
    fn a_mechanism_is_reported_as_singular() {
        let n = 12;
        let mut m = CooMatrix::new(n, n);
        for i in 0..n {
            let ends = i == 0 || i == n - 1;
            m.push(i, i, if ends { 1.0 } else { 2.0 });
            if i > 0 {
                m.push(i, i - 1, -1.0);
            }
        }
        let matrix = CscMatrix::from(&m);
        let blocks: Vec<usize> = (0..=n).collect();
        let mut factor = Factor::new(&matrix, &blocks);
        assert_eq!(factor.factor(&matrix).err(), Some(Failure::Singular), "free-free chain");
    }
}
