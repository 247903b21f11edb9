//! 6-node triangles: mid-side nodes on the true curves, and the proof that no element is inverted.
//!
//! The map of a 6-node triangle is quadratic, so that its Jacobian determinant is a quadratic
//! polynomial too. With `J_i = (dx/dxi, dx/deta)` at corner i, its six Bernstein coefficients are
//! `det J_i` at the corners and the mixed determinants `(a_i x b_j + a_j x b_i) / 2` on the sides,
//! a and b being the two columns: derivatives are linear, so that det is bilinear in the corner values. A
//! polynomial is not below its smallest Bernstein coefficient anywhere on the triangle: all
//! positive proves det J > 0 everywhere (Johnen, Remacle and Geuzaine, "Geometrical validity of
//! curvilinear finite elements", 2013).

use crate::number::{max, min};
use kurbo::Point;

/// Bernstein coefficients of det J (mm2, twice the area for straight sides): three corners, then
/// the sides 0-1, 1-2, 2-0.
#[must_use]
pub fn jacobian_coefficients(x: &[Point; 6]) -> [f64; 6] {
    let v = x.map(Point::to_vec2);
    // Derivatives at the corners, from the shape functions L(2L - 1) and 4 L_i L_j.
    let a = [
        v[3] * 4.0 - v[0] * 3.0 - v[1],
        v[0] + v[1] * 3.0 - v[3] * 4.0,
        v[0] - v[1] + (v[4] - v[5]) * 4.0,
    ];
    let b = [
        v[5] * 4.0 - v[0] * 3.0 - v[2],
        v[0] - v[2] + (v[4] - v[3]) * 4.0,
        v[0] + v[2] * 3.0 - v[5] * 4.0,
    ];
    let mixed = |i: usize, j: usize| 0.5 * (a[i].cross(b[j]) + a[j].cross(b[i]));
    [mixed(0, 0), mixed(1, 1), mixed(2, 2), mixed(0, 1), mixed(1, 2), mixed(2, 0)]
}

/// A lower bound of det J relative to its largest value: 1 for straight sides, at most 0 if the
/// element cannot be proven not to be inverted.
#[must_use]
pub fn scaled_jacobian(x: &[Point; 6]) -> f64 {
    let c = jacobian_coefficients(x);
    let (least, most) = c.iter().fold((f64::INFINITY, 0.0), |(a, b), &v| (min(a, v), max(b, v)));
    if most > 0.0 { least / most } else { -1.0 }
}

/// Area of the element, exact for its curved sides (mm2): the mean of a quadratic polynomial over
/// a triangle is the mean of its Bernstein coefficients.
#[must_use]
pub fn element_area(x: &[Point; 6]) -> f64 {
    jacobian_coefficients(x).iter().sum::<f64>() / 12.0
}

/// A straight-sided element.
#[must_use]
pub fn straight(p: [Point; 3]) -> [Point; 6] {
    [p[0], p[1], p[2], p[0].midpoint(p[1]), p[1].midpoint(p[2]), p[2].midpoint(p[0])]
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Vec2;

    /// Derivatives of the quadratic shape functions at (xi, eta), written out independently.
    fn determinant(x: &[Point; 6], xi: f64, eta: f64) -> f64 {
        let l = 1.0 - xi - eta;
        let d_xi = [1.0 - 4.0 * l, 4.0 * xi - 1.0, 0.0, 4.0 * (l - xi), 4.0 * eta, -4.0 * eta];
        let d_eta = [1.0 - 4.0 * l, 0.0, 4.0 * eta - 1.0, -4.0 * xi, 4.0 * xi, 4.0 * (l - eta)];
        let sum = |d: [f64; 6]| x.iter().zip(d).fold(Vec2::ZERO, |s, (p, w)| s + p.to_vec2() * w);
        sum(d_xi).cross(sum(d_eta))
    }

    fn curved() -> [Point; 6] {
        let mut x = straight([Point::new(0.1, 0.2), Point::new(2.0, 0.3), Point::new(0.7, 1.9)]);
        x[3] += Vec2::new(0.05, -0.15);
        x[4] += Vec2::new(0.12, 0.07);
        x
    }

    #[test]
    fn the_coefficients_are_those_of_the_determinant() {
        let x = curved();
        let c = jacobian_coefficients(&x);
        for (xi, eta) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (0.2, 0.3), (0.5, 0.5), (0.1, 0.8)] {
            let l = 1.0 - xi - eta;
            let bernstein = c[0] * l * l
                + c[1] * xi * xi
                + c[2] * eta * eta
                + 2.0 * (c[3] * l * xi + c[4] * xi * eta + c[5] * eta * l);
            let direct = determinant(&x, xi, eta);
            assert!((bernstein - direct).abs() < 1e-13, "{bernstein} {direct} at {xi} {eta}");
        }
    }

    #[test]
    fn a_side_pushed_through_the_middle_is_not_proven() {
        let mut x = straight([Point::new(0.0, 0.0), Point::new(1.0, 0.0), Point::new(0.5, 0.8)]);
        assert!((scaled_jacobian(&x) - 1.0).abs() < 1e-12, "straight");
        x[3].y = 0.45;
        assert!(scaled_jacobian(&x) <= 0.0, "the side has passed the middle of the triangle");
    }
}
