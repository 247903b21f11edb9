//! Least squares with few parameters, and how well they are known.
//!
//! Gauss and Newton's method; the covariance is s^2 (J'J)^-1 with s^2 the sum of squares by the degrees of
//! freedom, and confidence intervals are those of Student's t (N. R. Draper and H. Smith, Applied Regression
//! Analysis, from memory).

use statrs::distribution::{ContinuousCDF, StudentsT};

/// A fit of `N` parameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit<const N: usize> {
    /// The parameters.
    pub value: [f64; N],
    /// Their standard errors.
    pub error: [f64; N],
    /// What is left of each reading: measured less fitted.
    pub residuals: Vec<f64>,
    /// Standard deviation of the readings about the fit.
    pub scatter: f64,
}

/// Steps of Gauss and Newton; two or three are usual.
const MOST_STEPS: usize = 50;
/// Parameters that change by less are found.
const SETTLED: f64 = 1e-12;

impl<const N: usize> Fit<N> {
    /// Readings more than parameters.
    #[must_use]
    pub fn freedom(&self) -> usize {
        self.residuals.len() - N
    }

    /// Half the width of the interval that holds a parameter with a probability.
    #[must_use]
    pub fn half_width(&self, parameter: usize, probability: f64) -> f64 {
        quantile(self.freedom(), probability) * self.error[parameter]
    }

    /// Whether a parameter differs from a value, at a probability of error below `1 - probability`.
    #[must_use]
    pub fn differs(&self, parameter: usize, from: f64, probability: f64) -> bool {
        (self.value[parameter] - from).abs() > self.half_width(parameter, probability)
    }
}

/// Student's t for a two-sided interval.
#[must_use]
pub fn quantile(freedom: usize, probability: f64) -> f64 {
    match StudentsT::new(0.0, 1.0, freedom as f64) {
        Ok(t) => t.inverse_cdf(0.5 * (1.0 + probability)),
        // No freedom: nothing is known.
        Err(_) => f64::INFINITY,
    }
}

/// Fits `model`, which gives the value of a reading and its derivatives by the parameters, to `measured`; None
/// if there are no more readings than parameters or they do not tell the parameters apart.
pub fn fit<const N: usize>(
    measured: &[f64],
    start: [f64; N],
    model: impl Fn(usize, &[f64; N]) -> (f64, [f64; N]),
) -> Option<Fit<N>> {
    if measured.len() <= N {
        return None;
    }
    let mut value = start;
    for step in 0.. {
        let (mut normal, mut right) = ([[0.0; N]; N], [0.0; N]);
        for (k, y) in measured.iter().enumerate() {
            let (found, by) = model(k, &value);
            for i in 0..N {
                right[i] += by[i] * (y - found);
                for j in 0..N {
                    normal[i][j] += by[i] * by[j];
                }
            }
        }
        let inverse = inverse(normal)?;
        let mut size = 0.0_f64;
        for i in 0..N {
            let change: f64 = (0..N).map(|j| inverse[i][j] * right[j]).sum();
            value[i] += change;
            size += (change / (value[i].abs() + 1e-3)).powi(2);
        }
        if !size.is_finite() {
            return None;
        }
        if size.sqrt() < SETTLED || step >= MOST_STEPS {
            let residuals: Vec<f64> =
                measured.iter().enumerate().map(|(k, y)| y - model(k, &value).0).collect();
            let squares: f64 = residuals.iter().map(|r| r * r).sum();
            let scatter = (squares / (measured.len() - N) as f64).sqrt();
            let error = std::array::from_fn(|i| scatter * inverse[i][i].sqrt());
            return Some(Fit { value, error, residuals, scatter });
        }
    }
    None
}

/// By Gauss and Jordan's elimination with pivots on the diagonal, which a positive definite matrix allows; None
/// if it is none.
fn inverse<const N: usize>(mut a: [[f64; N]; N]) -> Option<[[f64; N]; N]> {
    let mut b: [[f64; N]; N] =
        std::array::from_fn(|i| std::array::from_fn(|j| f64::from(u8::from(i == j))));
    let scale: [f64; N] = std::array::from_fn(|i| a[i][i]);
    for k in 0..N {
        let pivot = a[k][k];
        // Twelve digits lost leave none that are worth anything.
        if pivot.is_nan() || pivot <= 1e-12 * scale[k] {
            return None;
        }
        for j in 0..N {
            a[k][j] /= pivot;
            b[k][j] /= pivot;
        }
        for i in 0..N {
            if i != k {
                let factor = a[i][k];
                for j in 0..N {
                    a[i][j] -= factor * a[k][j];
                    b[i][j] -= factor * b[k][j];
                }
            }
        }
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn student_s_t_is_that_of_the_tables() {
        // Printed in every table of the distribution: 95 % two-sided.
        for (freedom, t) in [(1, 12.706), (4, 2.776), (9, 2.262), (30, 2.042)] {
            assert!((quantile(freedom, 0.95) - t).abs() < 5e-4, "{freedom}");
        }
        assert!(quantile(0, 0.95).is_infinite());
    }

    #[test]
    fn a_straight_line_is_that_of_the_closed_form() {
        // y = 2.2, 3.9, 6.1, 8.0 at 1 to 4: slope 1.96, intercept 0.15, s^2 = 0.043 / 2 by hand.
        let y = [2.2, 3.9, 6.1, 8.0];
        let line = fit(&y, [0.0, 0.0], |k, p: &[f64; 2]| {
            let x = k as f64 + 1.0;
            (p[0] + p[1] * x, [1.0, x])
        })
        .unwrap();
        assert!((line.value[1] - 1.96).abs() < 1e-12 && (line.value[0] - 0.15).abs() < 1e-12);
        let squares: f64 = line.residuals.iter().map(|r| r * r).sum();
        assert!((squares - 0.042).abs() < 1e-12, "{squares}");
        // Standard error of the slope: s / sqrt(sum (x - mean)^2) = sqrt(0.021 / 5).
        assert!((line.error[1] - (0.021_f64 / 5.0).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn parameters_that_cannot_be_told_apart_are_refused() {
        let same = fit(&[1.0, 2.0, 3.0], [1.0, 1.0], |k, p: &[f64; 2]| {
            let x = k as f64;
            ((p[0] + p[1]) * x, [x, x])
        });
        assert!(same.is_none());
        assert!(fit(&[1.0], [1.0], |_, p: &[f64; 1]| (p[0], [1.0])).is_none());
    }
}
