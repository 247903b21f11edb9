//! The symmetric linear system: ordering, supernodal L D L' factorisation, solution, inertia.
//!
//! The only file that touches the factorisation library. Ordering and symbolic analysis happen once
//! for a pattern, all workspace is kept: refactoring allocates nothing. L D L' without pivoting
//! serves the indefinite tangents behind a limit or branch point as well (checked by a residual),
//! and by Sylvester's law the signs of D are the signs of the eigenvalues.

use crate::error::Failure;
use faer::dyn_stack::{MemBuffer, MemStack, StackReq};
use faer::linalg::cholesky::ldlt::factor::LdltRegularization;
use faer::perm::PermRef;
use faer::sparse::linalg::cholesky::supernodal::SupernodalLdltRef;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LdltRef, SymbolicCholesky, SymbolicCholeskyRaw, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::sparse::linalg::{SupernodalThreshold, amd};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par, Side};
use nalgebra_sparse::CscMatrix;

/// A reusable factorisation of matrices of one pattern.
pub(crate) struct Factor {
    symbolic: SymbolicCholesky<usize>,
    values: Vec<f64>,
    factor_memory: MemBuffer,
    solve_memory: MemBuffer,
}

impl std::fmt::Debug for Factor {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Factor").field("entries", &self.values.len()).finish_non_exhaustive()
    }
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
        let symbolic = factorize_symbolic_cholesky(
            pattern_of(matrix),
            Side::Lower,
            SymmetricOrdering::Custom(permutation),
            params,
        )
        .expect("the pattern's counts fit the index type: the matrix itself is in memory");
        let values = vec![0.0; symbolic.len_val()];
        let factor_memory = MemBuffer::new(
            symbolic.factorize_numeric_ldlt_scratch::<f64>(Par::Seq, faer::Spec::default()),
        );
        let solve_memory = MemBuffer::new(symbolic.solve_in_place_scratch::<f64>(1, Par::Seq));
        Self { symbolic, values, factor_memory, solve_memory }
    }

    /// Numbers in L, zeros of its dense blocks included.
    pub(crate) fn entries(&self) -> usize {
        self.values.len()
    }

    /// Factors a matrix of the analysed pattern.
    ///
    /// # Errors
    /// A zero or NaN pivot: the matrix is singular to working precision.
    pub(crate) fn factor(&mut self, matrix: &CscMatrix<f64>) -> Result<Inertia, Failure> {
        let view = SparseColMatRef::<usize, f64>::new(pattern_of(matrix), matrix.values());
        self.symbolic
            .factorize_numeric_ldlt(
                &mut self.values,
                view,
                Side::Lower,
                LdltRegularization::default(),
                Par::Seq,
                MemStack::new(&mut self.factor_memory),
                faer::Spec::default(),
            )
            .map_err(|_| Failure::Singular)?;
        self.inertia()
    }

    /// Solves in place with the last factorisation.
    pub(crate) fn solve(&mut self, right_hand_side: &mut [f64]) {
        let n = right_hand_side.len();
        LdltRef::new(&self.symbolic, &self.values).solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(right_hand_side, n, 1),
            Par::Seq,
            MemStack::new(&mut self.solve_memory),
        );
    }

    fn inertia(&self) -> Result<Inertia, Failure> {
        let SymbolicCholeskyRaw::Supernodal(symbolic) = self.symbolic.raw() else {
            return Err(Failure::Singular);
        };
        let factor = SupernodalLdltRef::new(symbolic, &self.values);
        let mut inertia = Inertia { negative: 0, smallest: f64::INFINITY, largest: 0.0 };
        for s in 0..symbolic.n_supernodes() {
            let block = factor.supernode(s).val();
            for j in 0..block.ncols() {
                let pivot = block[(j, j)];
                if !pivot.is_finite() {
                    return Err(Failure::Singular);
                }
                inertia.negative += usize::from(pivot < 0.0);
                inertia.smallest = withy_mesh::number::min(inertia.smallest, pivot.abs());
                inertia.largest = withy_mesh::number::max(inertia.largest, pivot.abs());
            }
        }
        // A pivot this small is rounding noise: the structure is a mechanism.
        if inertia.smallest <= SINGULAR_PIVOT * inertia.largest {
            return Err(Failure::Singular);
        }
        Ok(inertia)
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

fn pattern_of(matrix: &CscMatrix<f64>) -> SymbolicSparseColMatRef<'_, usize> {
    let n = matrix.ncols();
    SymbolicSparseColMatRef::new_checked(n, n, matrix.col_offsets(), None, matrix.row_indices())
}

/// Fill-reducing order of the equations, by approximate minimum degree on the groups:
/// `(old equation of each new one, new equation of each old one)`.
fn order(matrix: &CscMatrix<f64>, blocks: &[usize]) -> (Vec<usize>, Vec<usize>) {
    let groups = blocks.len() - 1;
    let mut group_of = vec![0usize; matrix.ncols()];
    for g in 0..groups {
        group_of[blocks[g]..blocks[g + 1]].fill(g);
    }
    // Pattern of the groups: that of each group's first equation.
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
    let expanded: Vec<usize> = forward.iter().flat_map(|&g| blocks[g]..blocks[g + 1]).collect();
    let mut back = vec![0usize; expanded.len()];
    for (new, &old) in expanded.iter().enumerate() {
        back[old] = new;
    }
    (expanded, back)
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
