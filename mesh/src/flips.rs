//! Delaunay triangles again after vertices have moved a little: edges are flipped where the circle through
//! a triangle holds the vertex behind an edge (C. L. Lawson, "Software for C1 surface interpolation", 1977,
//! from memory). Edges of the net are never flipped. Far cheaper than a new triangulation.

use crate::surface::{Surface, next, previous};
use kurbo::Point;
use rayon::prelude::*;

/// A flip must gain this much, relative to the lengths involved: a circle through four vertices, as regular
/// places have, is flipped neither way.
const GAIN: f64 = 1e-10;
/// Flips per triangle that are ever needed; beyond, something is wrong with the numbers.
const MOST_FLIPS: usize = 50;
/// Triangles that are looked at by one thread at a time.
const SHARE: usize = 4096;

/// A triangle is turned over, or flips do not end: the triangles must be made anew.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TurnedOver;

/// Flips edges until all triangles are Delaunay but for the net's edges.
pub(crate) fn flip(surface: &mut Surface, points: &[Point]) -> Result<(), TurnedOver> {
    let shares = |work: usize| (0..work).into_par_iter().with_min_len(SHARE);
    let seen: &Surface = surface;
    if !shares(seen.len()).all(|t| seen.is_upright(points, t)) {
        return Err(TurnedOver);
    }
    // Each side once, from the triangle of the smaller number.
    let wrong = |side: &u32| {
        seen.twin(*side).is_some_and(|twin| twin > *side) && seen.is_wrong(points, *side)
    };
    let stack = (0..seen.sides()).into_par_iter().with_min_len(SHARE).filter(wrong).collect();
    flip_from(surface, points, stack)
}

/// The same where only some vertices have moved, none of them on the border.
pub(crate) fn flip_around(
    surface: &mut Surface,
    points: &[Point],
    moved: &[usize],
) -> Result<(), TurnedOver> {
    let mut stack = Vec::new();
    for &v in moved {
        for spoke in surface.spokes(v) {
            if !surface.is_upright(points, spoke as usize / 3) {
                return Err(TurnedOver);
            }
            stack.extend([spoke, next(spoke)]);
        }
    }
    flip_from(surface, points, stack)
}

/// The same where only some sides may be wrong, in upright triangles.
pub(crate) fn flip_from(
    surface: &mut Surface,
    points: &[Point],
    mut stack: Vec<u32>,
) -> Result<(), TurnedOver> {
    let mut left = MOST_FLIPS * surface.len();
    while let Some(side) = stack.pop() {
        let Some(twin) = surface.twin(side).filter(|_| surface.is_wrong(points, side)) else {
            continue;
        };
        left = left.checked_sub(1).ok_or(TurnedOver)?;
        // The four sides around may have lost their property; they end in these places.
        let around = [previous(side), side, previous(twin), twin];
        surface.flip(side, twin);
        stack.extend(around);
    }
    Ok(())
}

impl Surface {
    /// Whether a side should be flipped.
    fn is_wrong(&self, points: &[Point], side: u32) -> bool {
        let Some(twin) = self.twin(side) else { return false };
        let four = [side, next(side), previous(side), previous(twin)];
        self.edge(side).is_none() && inside_circle(four.map(|s| points[self.from(s) as usize]))
    }
}

/// Whether `d`, behind the side from a to b of a counter-clockwise triangle a, b, c, is clearly inside its
/// circle: the angles at c and d together exceed half a turn. The two triangles then make a convex square.
fn inside_circle([a, b, c, d]: [Point; 4]) -> bool {
    let (ca, cb, da, db) = (a - c, b - c, a - d, b - d);
    // sin (gamma + delta) times the four lengths, negative beyond half a turn.
    let sum = ca.cross(cb) * da.dot(db) + ca.dot(cb) * db.cross(da);
    if sum >= 0.0 {
        return false;
    }
    let scale = (ca.hypot2() * cb.hypot2() * da.hypot2() * db.hypot2()).sqrt();
    sum < -GAIN * scale
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plate::{check_plate, with_plate};
    use crate::triangulate::Net;

    #[test]
    fn a_bad_diagonal_is_flipped_and_a_good_one_kept() {
        let p = [(0.0, 0.0), (4.0, 0.0), (5.0, 1.0), (1.0, 1.0)].map(Point::from);
        // Angles at the ends of the long diagonal are small: those at the short one's are large.
        assert!(inside_circle([p[0], p[2], p[3], p[1]]), "long diagonal");
        assert!(!inside_circle([p[1], p[3], p[0], p[2]]), "short diagonal");
        let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(Point::from);
        let [a, b, c, d] = square;
        assert!(!inside_circle([a, c, d, b]) && !inside_circle([b, d, a, c]), "a square: neither");
    }

    /// A mesh of the program after its vertices were jostled: the flipped triangles are Delaunay, cover the
    /// same area and keep every outline edge.
    #[test]
    fn jostled_triangles_are_delaunay_again() {
        with_plate(1.0, |net, _, triangles| jostle(net, triangles));
    }

    fn jostle(net: &mut Net<'_>, triangles: &[[usize; 3]]) {
        for v in (0..net.points.len()).filter(|&v| !net.fixed[v]) {
            let angle = 2.4 * v as f64;
            net.points[v] += kurbo::Vec2::from_angle(angle) * 0.12;
        }
        let mut surface = Surface::new(net, triangles);
        let before: Vec<[usize; 3]> = surface.triangles().collect();
        assert!(flip(&mut surface, &net.points).is_ok(), "nothing is turned over by 0.12 mm");
        check_plate(net, &surface);
        assert_ne!(surface.triangles().collect::<Vec<_>>(), before, "there was something to flip");
        for side in 0..surface.sides() {
            assert!(!surface.is_wrong(&net.points, side), "Delaunay at {side}");
        }
    }
}
