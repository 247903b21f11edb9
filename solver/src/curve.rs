//! Smooth curves through the states of a path: cubic Hermite pieces, and derivatives at uneven steps.
//!
//! Between x_i and x_(i+1), h their distance and s = (x - x_i) / h:
//! y = (1 + 2 s)(1 - s)^2 y_i + s (1 - s)^2 h d_i + s^2 (3 - 2 s) y_(i+1) + s^2 (s - 1) h d_(i+1).
//! Where the slopes d are not known, they are those of polynomials through the nearest points, limited so
//! that a piece never leaves the range of its ends (F. N. Fritsch and R. E. Carlson, "Monotone piecewise
//! cubic interpolation", SIAM J. Numer. Anal. 17 (1980) 238-246, from memory).

use withy_mesh::number::{max, min};

/// A curve y(x) through points with x increasing.
#[derive(Clone, Debug, PartialEq)]
pub struct SmoothCurve {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl SmoothCurve {
    /// A curve through points with known slopes; `None` if the lists differ in length, hold fewer than
    /// two points, or x does not increase.
    #[must_use]
    pub fn with_slopes(x: Vec<f64>, y: Vec<f64>, slope: Vec<f64>) -> Option<Self> {
        let even = x.len() == y.len() && x.len() == slope.len() && x.len() > 1;
        (even && x.windows(2).all(|w| w[1] > w[0])).then_some(Self { x, y, slope })
    }

    /// A curve through points that has no bumps between them; `None` as for [`Self::with_slopes`].
    #[must_use]
    pub fn through(x: Vec<f64>, y: Vec<f64>) -> Option<Self> {
        if x.len() != y.len() || x.len() < 2 {
            return None;
        }
        let mut slope: Vec<f64> =
            (0..x.len()).map(|i| stencil(&x, i, 4).iter().map(|&(k, w)| w * y[k]).sum()).collect();
        for i in 0..x.len() - 1 {
            let chord = (y[i + 1] - y[i]) / (x[i + 1] - x[i]);
            // Within three times the chord a cubic piece is monotone.
            let (low, high) = (min(0.0, 3.0 * chord), max(0.0, 3.0 * chord));
            for k in [i, i + 1] {
                slope[k] = min(max(slope[k], low), high);
            }
        }
        Self::with_slopes(x, y, slope)
    }

    /// Its value; constant beyond its ends.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        let last = self.x.len() - 1;
        if x <= self.x[0] {
            return self.y[0];
        }
        if x >= self.x[last] {
            return self.y[last];
        }
        let i = self.x.partition_point(|p| *p <= x) - 1;
        let h = self.x[i + 1] - self.x[i];
        let s = (x - self.x[i]) / h;
        let r = 1.0 - s;
        (1.0 + 2.0 * s) * r * r * self.y[i]
            + s * r * r * h * self.slope[i]
            + s * s * (3.0 - 2.0 * s) * self.y[i + 1]
            - s * s * r * h * self.slope[i + 1]
    }

    /// Its slope; that of its end pieces beyond its ends.
    #[must_use]
    pub fn slope_at(&self, x: f64) -> f64 {
        let i = self.x.partition_point(|p| *p <= x).clamp(1, self.x.len() - 1) - 1;
        let h = self.x[i + 1] - self.x[i];
        let s = (x - self.x[i]) / h;
        6.0 * s * (1.0 - s) * (self.y[i + 1] - self.y[i]) / h
            + (1.0 - s) * (1.0 - 3.0 * s) * self.slope[i]
            + s * (3.0 * s - 2.0) * self.slope[i + 1]
    }

    /// The same curve up to a place within it; `None` if that leaves no piece.
    #[must_use]
    pub fn until(&self, end: f64) -> Option<Self> {
        let kept = self.x.iter().take_while(|x| **x < end).count();
        let ended = |list: &[f64], last: f64| {
            list[..kept].iter().copied().chain([last]).collect::<Vec<f64>>()
        };
        let within = kept > 0 && end <= self.x[self.x.len() - 1];
        within.then(|| ended(&self.x, end)).and_then(|x| {
            let (y, slope) = (ended(&self.y, self.at(end)), ended(&self.slope, self.slope_at(end)));
            Self::with_slopes(x, y, slope)
        })
    }

    /// Its places x.
    #[must_use]
    pub fn places(&self) -> &[f64] {
        &self.x
    }

    /// Its values at its places.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.y
    }

    /// The same curve with y times a factor.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        let all = |list: &[f64]| list.iter().map(|v| factor * v).collect();
        Self { x: self.x.clone(), y: all(&self.y), slope: all(&self.slope) }
    }
}

/// Weights of the derivative at point `i` of the polynomial through the `points` nearest points.
///
/// With L_k the Lagrange polynomials, w_k = L_k'(x_i): w_k = prod (x_i - x_m) / prod (x_k - x_m) over
/// the other points, and w_i the sum of 1 / (x_i - x_m).
#[must_use]
pub fn stencil(x: &[f64], i: usize, points: usize) -> Vec<(usize, f64)> {
    let count = points.min(x.len());
    let first = i.saturating_sub(count / 2).min(x.len() - count);
    let chosen = first..first + count;
    let others = |k: usize| chosen.clone().filter(move |&m| m != k);
    chosen
        .clone()
        .map(|k| {
            let weight = if k == i {
                others(i).map(|m| 1.0 / (x[i] - x[m])).sum()
            } else {
                let above: f64 = others(k).filter(|&m| m != i).map(|m| x[i] - x[m]).product();
                let below: f64 = others(k).map(|m| x[k] - x[m]).product();
                above / below
            };
            (k, weight)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stencil_differentiates_the_polynomials_of_its_degree_exactly() {
        let x = [0.0, 0.3, 0.5, 1.1, 1.2, 2.0];
        for i in 0..x.len() {
            for power in 0..5 {
                let found: f64 = stencil(&x, i, 5).iter().map(|&(k, w)| w * x[k].powi(power)).sum();
                let exact = if power == 0 { 0.0 } else { f64::from(power) * x[i].powi(power - 1) };
                assert!((found - exact).abs() < 1e-11, "x^{power} at {}: {found}", x[i]);
            }
        }
        assert_eq!(
            stencil(&[0.0, 2.0], 0, 5),
            [(0, -0.5), (1, 0.5)],
            "as many points as there are"
        );
    }

    #[test]
    fn a_curve_with_its_slopes_is_a_cubic_exactly() {
        let cubic = |x: f64| x * x * x - 2.0 * x + 1.0;
        let x = vec![-1.0, 0.5, 2.0];
        let (y, slope) =
            (x.iter().map(|x| cubic(*x)).collect(), x.iter().map(|x| 3.0 * x * x - 2.0).collect());
        let curve = SmoothCurve::with_slopes(x, y, slope).unwrap();
        for at in [-1.0, -0.3, 0.5, 1.7, 2.0] {
            assert!((curve.at(at) - cubic(at)).abs() < 1e-14, "{at}: {}", curve.at(at));
        }
    }

    #[test]
    fn a_curve_that_is_cut_short_stays_the_same_curve() {
        let x = vec![0.0, 1.0, 3.0, 4.0];
        let curve = SmoothCurve::through(x, vec![0.0, 2.0, 3.0, 7.0]).unwrap();
        let short = curve.until(2.3).unwrap();
        for n in 0..=23 {
            let at = 0.1 * f64::from(n);
            assert!((short.at(at) - curve.at(at)).abs() < 1e-14, "{at}: {}", short.at(at));
            let h = 1e-6;
            let difference = (curve.at(at + h) - curve.at(at)) / h;
            assert!((curve.slope_at(at) - difference).abs() < 1e-4, "{at}: {difference}");
        }
        assert!((short.at(9.0) - curve.at(2.3)).abs() < 1e-14, "its new end");
        assert!(curve.until(0.0).is_none() && curve.until(4.1).is_none(), "nothing, too much");
        assert_eq!(curve.until(4.0).as_ref(), Some(&curve), "all of it");
    }

    #[test]
    fn a_curve_through_points_has_no_bumps() {
        let y = vec![0.0, 0.0, 1.0, 1.0];
        let curve = SmoothCurve::through(vec![0.0, 1.0, 2.0, 3.0], y).unwrap();
        for n in 0..=60 {
            let value = curve.at(0.05 * f64::from(n));
            assert!((-1e-15..=1.0 + 1e-15).contains(&value), "{value}");
        }
        assert!(SmoothCurve::through(vec![0.0, 0.0], vec![1.0, 2.0]).is_none(), "x must increase");
    }
}
