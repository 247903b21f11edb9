//! Least-squares fits as weights on their samples, so that a fit is made once and used many times.

/// Rows of weights over samples: value of row i = sum of weight x sample.
#[derive(Clone, Debug, Default)]
pub(crate) struct Weights {
    starts: Vec<u32>,
    samples: Vec<u32>,
    weights: Vec<f64>,
}

impl Weights {
    pub(crate) fn new() -> Self {
        Self { starts: vec![0], samples: Vec::new(), weights: Vec::new() }
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

/// Largest number of terms in a fitted polynomial.
const MOST_TERMS: usize = 6;

/// Weights of the samples in the value that a least-squares polynomial takes at one place.
///
/// `basis[k]` holds the polynomial's terms at sample k, `place` those where it is evaluated. The
/// weights are `place' (A'A)^-1 A'`; `None` if the samples do not determine the polynomial.
pub(crate) fn fit_weights(
    basis: &[[f64; MOST_TERMS]],
    terms: usize,
    place: &[f64; MOST_TERMS],
) -> Option<Vec<f64>> {
    if basis.len() < terms {
        return None;
    }
    let mut normal = [[0.0; MOST_TERMS]; MOST_TERMS];
    for row in basis {
        for i in 0..terms {
            for j in 0..terms {
                normal[i][j] += row[i] * row[j];
            }
        }
    }
    let mut solution = *place;
    solve_definite(&mut normal, terms, &mut solution)?;
    Some(basis.iter().map(|row| (0..terms).map(|i| row[i] * solution[i]).sum()).collect())
}

/// Below this part of the largest diagonal entry a pivot is noise: coordinates are scaled to order
/// one, so well-spread samples give pivots above 1e-4 (from trials on slender patches).
const SMALLEST_PIVOT: f64 = 1e-9;

/// Cholesky solution of a small symmetric positive definite system.
fn solve_definite(
    a: &mut [[f64; MOST_TERMS]; MOST_TERMS],
    n: usize,
    b: &mut [f64; MOST_TERMS],
) -> Option<()> {
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
    for i in 0..n {
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
        let weights = fit_weights(&basis, 6, &at(0.3, -0.2)).unwrap();
        let f = |x: f64, y: f64| 2.0 - x + 3.0 * y + 0.5 * x * x - 2.0 * x * y + y * y;
        let value: f64 = places.iter().zip(&weights).map(|(p, w)| w * f(p.0, p.1)).sum();
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
        assert!(fit_weights(&basis, 6, &[1.0, 0.0, 0.0, 0.0, 0.0, 0.0]).is_none(), "rank 3");
    }
}
