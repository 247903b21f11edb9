//! An outline as polygons whose sides stray from the curves by no more than a tolerance.

use withy_mesh::{Outline, Point};

/// Corners nearer than this are one (mm): single precision, in which solids are written, cannot keep
/// them apart on a part of 100 mm.
const SAME_MM: f64 = 1e-4;

/// One polygon a loop, material on the left: the outer border counter-clockwise and first, openings
/// clockwise. Corners lie on the curves, so that an arc's polygon is inside its circle (mm).
#[must_use]
pub fn polygons(outline: &Outline, tolerance: f64) -> Vec<Vec<Point>> {
    let flat = |one: &withy_mesh::Loop| {
        let mut corners: Vec<Point> = Vec::new();
        for curve in &one.curves {
            let sides = curve.chords(tolerance);
            for k in 0..sides {
                let p = curve.at(f64::from(k) / f64::from(sides));
                if corners.last().is_none_or(|last| last.distance(p) > SAME_MM) {
                    corners.push(p);
                }
            }
        }
        while corners.len() > 3
            && corners.first().zip(corners.last()).is_some_and(|(a, b)| a.distance(*b) <= SAME_MM)
        {
            corners.pop();
        }
        corners
    };
    outline.loops().iter().map(flat).collect()
}

/// The area that polygons enclose, openings taken off (mm2).
#[must_use]
pub fn area(polygons: &[Vec<Point>]) -> f64 {
    let of_one = |corners: &Vec<Point>| {
        let next = corners.iter().cycle().skip(1);
        let twice = corners.iter().zip(next).map(|(a, b)| a.to_vec2().cross(b.to_vec2()));
        0.5 * twice.sum::<f64>()
    };
    polygons.iter().map(of_one).sum()
}
