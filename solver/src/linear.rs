//! The symmetric linear system: ordering, L D L' factorisation, solution, inertia.
//!
//! Ordering and analysis happen once for a pattern. L D L' without pivoting serves the indefinite
//! tangents behind a limit or branch point as well, and by Sylvester's law the signs of D are the signs
//! of the eigenvalues. Only this file, [`crate::order`] and [`crate::fronts`]
//! touch the factorisation library.

use crate::error::Failure;
use crate::fronts::Fronts;
use crate::order::{Order, order};
use faer::Side;
use faer::perm::PermRef;
use faer::sparse::SymbolicSparseColMatRef;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, SymbolicCholeskyRaw, SymmetricOrdering, factorize_symbolic_cholesky,
};
use nalgebra_sparse::CscMatrix;

/// A reusable factorisation of matrices of one pattern.
#[derive(Clone, Debug)]
pub(crate) struct Factor {
    fronts: Fronts,
}

impl Factor {
    /// Analyses the pattern of a lower triangle.
    ///
    /// `blocks` are the first equations of groups that share their neighbours (the dofs of a node),
    /// ascending, with the number of equations at the end, and `places` where they are (mm).
    pub(crate) fn new(matrix: &CscMatrix<f64>, blocks: &[usize], places: &[[f64; 2]]) -> Self {
        let n = matrix.ncols();
        let Order { forward, inverse } = order(matrix, blocks, places);
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

    /// The old equation of each new one.
    pub(crate) fn order(&self) -> Vec<usize> {
        self.fronts.order()
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
    pub(crate) fn solve(&self, right_hand_side: &mut [f64]) {
        self.fronts.solve(right_hand_side);
    }

    /// Solves several right-hand sides in place; three or four of them cost little more than one.
    pub(crate) fn solve_all(&self, right_hand_sides: &mut [Vec<f64>]) {
        self.fronts.solve_all(right_hand_sides);
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

    /// Places along a line.
    fn line(n: usize) -> Vec<[f64; 2]> {
        (0..n).map(|i| [i as f64, 0.0]).collect()
    }

    #[test]
    fn inertia_counts_the_eigenvalues_below_a_shift() {
        // Eigenvalues 2 - 2 cos(k pi / (n + 1)), k = 1..n, in closed form.
        let n = 40;
        let blocks: Vec<usize> = (0..=n).collect();
        let mut factor = Factor::new(&chain(n, 0.0), &blocks, &line(n));
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
        let mut factor = Factor::new(&matrix, &blocks, &line(n));
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
        let mut factor = Factor::new(&matrix, &blocks, &line(n));
        assert_eq!(factor.factor(&matrix).err(), Some(Failure::Singular), "free-free chain");
    }
}
