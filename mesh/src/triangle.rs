//! Measures of a triangle, its corners counter-clockwise.

use crate::number::min;
use kurbo::{Point, Vec2};

/// The largest cotangent of a counter-clockwise triangle's angles, and the corner where it is:
/// that of the smallest angle, without an arc tangent per corner.
pub(crate) fn largest_cotangent(p: [Point; 3]) -> (f64, usize) {
    let twice_area = (p[1] - p[0]).cross(p[2] - p[0]);
    let mut most = (f64::NEG_INFINITY, 0);
    for i in 0..3 {
        let dot = (p[(i + 1) % 3] - p[i]).dot(p[(i + 2) % 3] - p[i]);
        if dot > most.0 || dot.is_nan() {
            most = (dot, i);
        }
    }
    (most.0 / twice_area, most.1)
}

/// The smallest angle of a triangle in degrees, and the corner where it is.
pub(crate) fn smallest_angle(p: [Point; 3]) -> (f64, usize) {
    let (cotangent, at) = largest_cotangent(p);
    (1.0f64.atan2(cotangent).to_degrees(), at)
}

/// Centre of the circle through three points.
pub(crate) fn circumcenter(p: [Point; 3]) -> Point {
    let (u, v) = (p[1] - p[0], p[2] - p[0]);
    let d = 2.0 * u.cross(v);
    let w = u * v.hypot2() - v * u.hypot2();
    p[0] + Vec2::new(-w.y, w.x) / d
}

/// The centroid of a triangle.
pub(crate) fn centroid(p: [Point; 3]) -> Point {
    Point::new((p[0].x + p[1].x + p[2].x) / 3.0, (p[0].y + p[1].y + p[2].y) / 3.0)
}

/// The length of its shortest side (mm).
pub(crate) fn shortest(p: [Point; 3]) -> f64 {
    min(p[0].distance(p[1]), min(p[1].distance(p[2]), p[2].distance(p[0])))
}
