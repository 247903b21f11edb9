//! The stiffness between joints: an envelope matrix, factored as L D L' without pivoting.
//!
//! A row is kept from its first entry to its diagonal; elimination fills nothing before it (A. George and
//! J. W. H. Liu, Computer Solution of Large Sparse Positive Definite Systems, ch. 4, from memory). Driven
//! coordinates stay in the matrix, since their columns tell reactions and rates; the factorisation
//! passes them over.

use crate::error::Failure;
use crate::linear::Inertia;

/// A symmetric matrix over the coordinates of all joints and its factor.
#[derive(Clone, Debug)]
pub(super) struct Joints {
    /// First column of each row.
    first: Vec<usize>,
    /// Where each row begins in the values.
    begin: Vec<usize>,
    values: Vec<f64>,
    factor: Vec<f64>,
    pivots: Vec<f64>,
    /// Coordinates that are no unknowns of the factor at hand.
    fixed: Vec<bool>,
}

impl Joints {
    /// An empty matrix over so many joints, of which the given pairs are coupled.
    pub(super) fn new(joints: usize, pairs: &[[usize; 2]]) -> Self {
        let n = 3 * joints;
        let mut first: Vec<usize> = (0..n).map(|i| i - i % 3).collect();
        for &[a, b] in pairs {
            let (low, high) = if a < b { (a, b) } else { (b, a) };
            for i in 3 * high..3 * high + 3 {
                if 3 * low < first[i] {
                    first[i] = 3 * low;
                }
            }
        }
        let mut begin = Vec::with_capacity(n + 1);
        let mut count = 0;
        for i in 0..n {
            begin.push(count);
            count += i - first[i] + 1;
        }
        let (values, factor) = (vec![0.0; count], vec![0.0; count]);
        Self { first, begin, values, factor, pivots: vec![1.0; n], fixed: vec![false; n] }
    }

    pub(super) fn clear(&mut self) {
        self.values.fill(0.0);
    }

    /// Adds to the entry of two coordinates; each pair is given once, in any order.
    pub(super) fn add(&mut self, i: usize, j: usize, value: f64) {
        let (row, column) = if i < j { (j, i) } else { (i, j) };
        self.values[self.begin[row] + column - self.first[row]] += value;
    }

    fn entry(values: &[f64], begin: &[usize], first: &[usize], i: usize, j: usize) -> f64 {
        values[begin[i] + j - first[i]]
    }

    /// Factors the matrix without the fixed coordinates.
    ///
    /// # Errors
    /// A pivot that is zero or not finite.
    pub(super) fn factor(&mut self, fixed: &[bool]) -> Result<Inertia, Failure> {
        self.fixed.copy_from_slice(fixed);
        let mut inertia = Inertia::NONE;
        let Self { first, begin, values, factor, pivots, .. } = self;
        for i in 0..first.len() {
            if fixed[i] {
                factor[begin[i]..begin[i] + i - first[i] + 1].fill(0.0);
                continue;
            }
            // First the products of L and D, then L and the pivot.
            for j in first[i]..i {
                let mut sum = 0.0;
                if !fixed[j] {
                    sum = Self::entry(values, begin, first, i, j);
                    let low = if first[i] > first[j] { first[i] } else { first[j] };
                    for k in low..j {
                        sum -= Self::entry(factor, begin, first, i, k)
                            * Self::entry(factor, begin, first, j, k);
                    }
                }
                factor[begin[i] + j - first[i]] = sum;
            }
            let mut pivot = Self::entry(values, begin, first, i, i);
            for j in first[i]..i {
                let product = &mut factor[begin[i] + j - first[i]];
                let l = *product / pivots[j];
                pivot -= l * *product;
                *product = l;
            }
            inertia.count(pivot)?;
            pivots[i] = pivot;
        }
        Ok(inertia)
    }

    /// Solves for the free coordinates; `x` comes in as right-hand side there and as known values at the
    /// fixed ones.
    pub(super) fn solve(&self, x: &mut [f64]) {
        let Self { first, begin, values, factor, pivots, fixed } = self;
        for i in 0..x.len() {
            for j in first[i]..i {
                let k = Self::entry(values, begin, first, i, j);
                if fixed[j] && !fixed[i] {
                    x[i] -= k * x[j];
                } else if fixed[i] && !fixed[j] {
                    x[j] -= k * x[i];
                }
            }
        }
        let free = |i: &usize| !fixed[*i];
        for i in (0..x.len()).filter(free) {
            for j in (first[i]..i).filter(free) {
                x[i] -= Self::entry(factor, begin, first, i, j) * x[j];
            }
        }
        for i in (0..x.len()).filter(free) {
            x[i] /= pivots[i];
        }
        for i in (0..x.len()).rev().filter(free) {
            for j in (first[i]..i).filter(free) {
                x[j] -= Self::entry(factor, begin, first, i, j) * x[i];
            }
        }
    }

    /// The product with a row of the matrix.
    pub(super) fn row_times(&self, i: usize, x: &[f64]) -> f64 {
        (0..x.len())
            .map(|j| {
                let (row, column) = if i < j { (j, i) } else { (i, j) };
                if column < self.first[row] {
                    0.0
                } else {
                    Self::entry(&self.values, &self.begin, &self.first, row, column) * x[j]
                }
            })
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_solution_satisfies_the_free_rows_and_keeps_the_fixed_values() {
        // Four joints in a ring with a tail, entries of no pattern, one row negative.
        let pairs = [[0, 1], [1, 2], [2, 0], [3, 1]];
        let mut m = Joints::new(4, &pairs);
        let mut seed = 0.3_f64;
        let mut next = || {
            seed = (seed * 97.0 + 0.31).fract();
            seed - 0.5
        };
        for joint in 0..4 {
            for i in 3 * joint..3 * joint + 3 {
                m.add(i, i, if i == 7 { -5.0 } else { 4.0 });
                for j in 3 * joint..i {
                    m.add(i, j, next());
                }
            }
        }
        for [a, b] in pairs {
            for i in 0..3 {
                for j in 0..3 {
                    m.add(3 * a + i, 3 * b + j, next());
                }
            }
        }
        let mut fixed = [false; 12];
        (fixed[0], fixed[4], fixed[11]) = (true, true, true);
        let inertia = m.factor(&fixed).unwrap();
        assert_eq!(inertia.negative, 1, "one negative pivot for one negative row");
        let right: Vec<f64> = (0..12).map(|_| next()).collect();
        let mut x = right.clone();
        m.solve(&mut x);
        for i in 0..12 {
            let got = if fixed[i] { x[i] } else { m.row_times(i, &x) };
            assert!((got - right[i]).abs() < 1e-13, "row {i}: {got} {}", right[i]);
        }
    }
}
