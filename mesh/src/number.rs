//! Comparisons that keep a NaN instead of dropping it.
//!
//! `f64::max(1.0, NaN)` is `1.0`: a check on such a maximum passes exactly when it must fail.

/// The larger of two numbers, or NaN if either is NaN.
#[must_use]
pub fn max(a: f64, b: f64) -> f64 {
    if a.is_nan() || a > b { a } else { b }
}

/// The smaller of two numbers, or NaN if either is NaN.
#[must_use]
pub fn min(a: f64, b: f64) -> f64 {
    if a.is_nan() || a < b { a } else { b }
}

/// The largest of some numbers, `start` if there are none, NaN if one of them is NaN.
pub fn largest(start: f64, numbers: impl IntoIterator<Item = f64>) -> f64 {
    numbers.into_iter().fold(start, max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nan_survives_on_either_side() {
        assert!(max(1.0, f64::NAN).is_nan(), "right");
        assert!(max(f64::NAN, 1.0).is_nan(), "left");
        assert!(min(1.0, f64::NAN).is_nan(), "right");
        assert!(min(f64::NAN, 1.0).is_nan(), "left");
        assert!(largest(0.0, [0.1, f64::NAN, 2.0]).is_nan(), "inside a fold");
    }
}
