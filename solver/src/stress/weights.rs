//! Least-squares fits as weights on their samples, so that a fit is made once and used many times.

use rayon::prelude::*;

/// Rows of weights over samples: value of row i = sum of weight x sample.
#[derive(Clone, Debug, Default)]
pub(crate) struct Weights {
    starts: Vec<u32>,
    samples: Vec<u32>,
    weights: Vec<f64>,
}

/// Rows that are filled by one thread at a time.
const ROWS_AT_ONCE: usize = 512;

impl Weights {
    pub(crate) fn new() -> Self {
        Self { starts: vec![0], samples: Vec::new(), weights: Vec::new() }
    }

    /// Rows of known lengths, each filled, samples and weights, by its number.
    pub(crate) fn filled(
        lengths: &[usize],
        fill: impl Fn(usize, &mut [u32], &mut [f64]) + Sync,
    ) -> Self {
        let mut starts = Vec::with_capacity(lengths.len() + 1);
        starts.push(0);
        let mut end = 0;
        for length in lengths {
            end += length;
            starts.push(crate::dofs::index(end));
        }
        let (mut samples, mut weights) = (vec![0; end], vec![0.0; end]);
        let mut pieces = Vec::new();
        let (mut left, mut right) = (&mut samples[..], &mut weights[..]);
        for (piece, lengths) in lengths.chunks(ROWS_AT_ONCE).enumerate() {
            let (own_samples, rest) = left.split_at_mut(lengths.iter().sum());
            let (own_weights, others) = right.split_at_mut(own_samples.len());
            (left, right) = (rest, others);
            pieces.push((piece * ROWS_AT_ONCE, lengths, own_samples, own_weights));
        }
        pieces.into_par_iter().for_each(|(first, lengths, samples, weights)| {
            let mut at = 0;
            for (row, length) in lengths.iter().enumerate() {
                let range = at..at + length;
                fill(first + row, &mut samples[range.clone()], &mut weights[range]);
                at += length;
            }
        });
        Self { starts, samples, weights }
    }

    /// Appends a row.
    pub(crate) fn push(&mut self, row: impl IntoIterator<Item = (u32, f64)>) {
        for (sample, weight) in row {
            self.samples.push(sample);
            self.weights.push(weight);
        }
        self.starts.push(crate::dofs::index(self.samples.len()));
    }

    /// The terms of row `i`.
    pub(crate) fn row(&self, i: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let range = self.starts[i] as usize..self.starts[i + 1] as usize;
        self.samples[range.clone()]
            .iter()
            .map(|&s| s as usize)
            .zip(self.weights[range].iter().copied())
    }
}

/// Most terms of a fitted polynomial.
pub(crate) const MOST_TERMS: usize = 6;

/// A least-squares polynomial over some samples, ready for any values of them and any place.
#[derive(Clone, Debug)]
pub(crate) struct Fit {
    terms: usize,
    /// Cholesky factor of A'A, with a row of A for each sample.
    factor: [[f64; MOST_TERMS]; MOST_TERMS],
}

impl Fit {
    /// The fit with the first `terms` of a polynomial, of which `basis[k]` holds the terms at sample k; `None` if the
    /// samples do not determine it.
    pub(crate) fn new(basis: &[[f64; MOST_TERMS]], terms: usize) -> Option<Self> {
        if basis.len() < terms {
            return None;
        }
        let mut normal = [[0.0; MOST_TERMS]; MOST_TERMS];
        for row in basis {
            for i in 0..terms {
                for j in 0..=i {
                    normal[i][j] += row[i] * row[j];
                }
            }
        }
        factor_definite(&mut normal, terms)?;
        Some(Self { terms, factor: normal })
    }

    /// (A'A)^-1 p for a `place` where the polynomial's terms are p: its product with a sample's terms is the sample's
    /// weight in the polynomial's value there, p' (A'A)^-1 A'.
    pub(crate) fn at(&self, place: &[f64; MOST_TERMS]) -> [f64; MOST_TERMS] {
        let (a, n) = (&self.factor, self.terms);
        let mut b = [0.0; MOST_TERMS];
        for i in 0..n {
            b[i] = place[i];
            for k in 0..i {
                b[i] -= a[i][k] * b[k];
            }
            b[i] /= a[i][i];
        }
        for i in (0..n).rev() {
            for k in i + 1..n {
                b[i] -= a[k][i] * b[k];
            }
            b[i] /= a[i][i];
        }
        b
    }
}

/// The weight of a sample of some terms, from what [`Fit::at`] gives.
pub(crate) fn weight(at: &[f64; MOST_TERMS], sample: &[f64; MOST_TERMS]) -> f64 {
    at.iter().zip(sample).map(|(a, s)| a * s).sum()
}

/// Below this part of the largest diagonal entry a pivot is noise: coordinates are scaled to order
/// one, so well-spread samples give pivots above 1e-4 (from trials on slender patches).
const SMALLEST_PIVOT: f64 = 1e-9;

/// Cholesky factor of a small symmetric positive definite matrix, in place of its lower triangle.
fn factor_definite(a: &mut [[f64; MOST_TERMS]; MOST_TERMS], n: usize) -> Option<()> {
    let scale = (0..n).map(|i| a[i][i]).fold(0.0, withy_mesh::number::max);
    for j in 0..n {
        for k in 0..j {
            a[j][j] -= a[j][k] * a[j][k];
        }
        let positive = a[j][j] > SMALLEST_PIVOT * scale;
        if !positive {
            return None;
        }
        a[j][j] = a[j][j].sqrt();
        for i in j + 1..n {
            for k in 0..j {
                a[i][j] -= a[i][k] * a[j][k];
            }
            a[i][j] /= a[j][j];
        }
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fit_reproduces_its_own_polynomials() {
        let at = |x: f64, y: f64| [1.0, x, y, x * x, x * y, y * y];
        let places = [
            (0.0, 0.1),
            (1.0, 0.0),
            (0.2, 0.9),
            (-0.7, 0.3),
            (-0.4, -0.8),
            (0.6, -0.5),
            (0.9, 0.8),
        ];
        let basis: Vec<_> = places.iter().map(|p| at(p.0, p.1)).collect();
        let place = Fit::new(&basis, 6).unwrap().at(&at(0.3, -0.2));
        let f = |x: f64, y: f64| 2.0 - x + 3.0 * y + 0.5 * x * x - 2.0 * x * y + y * y;
        let value: f64 = places.iter().map(|p| weight(&place, &at(p.0, p.1)) * f(p.0, p.1)).sum();
        assert!((value - f(0.3, -0.2)).abs() < 1e-13, "{value}");
    }

    #[test]
    fn samples_on_a_line_do_not_determine_a_surface() {
        let basis: Vec<_> = (0..9)
            .map(|i| {
                let x = f64::from(i) / 8.0;
                [1.0, x, 0.0, x * x, 0.0, 0.0]
            })
            .collect();
        assert!(Fit::new(&basis, 6).is_none(), "rank 3");
        assert!(Fit::new(&basis[..5], 6).is_none(), "five samples for six terms");
    }

    #[test]
    fn rows_are_filled_by_their_numbers() {
        // More rows than one thread fills at a time.
        let lengths: Vec<usize> = (0..1300).map(|i| i % 4).collect();
        let rows = Weights::filled(&lengths, |row, samples, weights| {
            for (k, (sample, weight)) in samples.iter_mut().zip(weights).enumerate() {
                (*sample, *weight) = (crate::dofs::index(k), row as f64);
            }
        });
        for (row, length) in lengths.iter().enumerate() {
            let expected: Vec<(usize, f64)> = (0..*length).map(|k| (k, row as f64)).collect();
            assert_eq!(rows.row(row).collect::<Vec<_>>(), expected, "row {row}");
        }
    }
}
