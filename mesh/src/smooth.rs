//! Better shaped triangles by moving the vertices that lie on no strand.
//!
//! Optimal Delaunay smoothing: a vertex moves to the mean of the circumcentres of its triangles,
//! weighted with their areas (Chen and Xu, "Optimal Delaunay triangulations", 2004), here divided
//! by the square of the wanted size so that graded meshes stay graded. Vertices are dropped where edges are much
//! too short, and edges are flipped between the steps. At the end, stars with a small
//! angle are improved directly: a pattern search moves one vertex at a time so that the smallest
//! angle around it grows.

use crate::drop::drop_short;
use crate::error::MeshError;
use crate::flips::{TurnedOver, flip, flip_around};
use crate::sizing::SizeField;
use crate::surface::Surface;
use crate::sweep::{Ring, sweep};
use crate::triangle::{circumcenter, largest_cotangent};
use crate::triangulate::Net;
use kurbo::{Point, Rect, Vec2};
use std::f64::consts::FRAC_1_SQRT_2;

/// Rounds of dropping, smoothing and rebuilding: four are where the gain ends.
const ROUNDS: usize = 4;
const STEPS_PER_ROUND: usize = 2;
/// Stars below 34 degrees are searched for a better place of their vertex; this is their cotangent.
const SEARCH_ABOVE_COTANGENT: f64 = 1.482_560_969;
/// A place is better if the cotangent of the smallest angle falls by this: 0.001 degrees at 30.
const SEARCH_GAIN: f64 = 7e-5;
/// Rounds of the search, each followed by flips.
const SEARCH_ROUNDS: usize = 8;
/// The steps of one search, each half as long once no direction is better.
const SEARCH_STEPS: usize = 10;
/// Smoothing must not make a good star worse than 25 degrees; this is their cotangent.
const KEEP_COTANGENT: f64 = 2.144_506_921;
/// Eight directions, 45 degrees apart.
const DIRECTIONS: [Vec2; 8] = [
    Vec2::new(1.0, 0.0),
    Vec2::new(FRAC_1_SQRT_2, FRAC_1_SQRT_2),
    Vec2::new(0.0, 1.0),
    Vec2::new(-FRAC_1_SQRT_2, FRAC_1_SQRT_2),
    Vec2::new(-1.0, 0.0),
    Vec2::new(-FRAC_1_SQRT_2, -FRAC_1_SQRT_2),
    Vec2::new(0.0, -1.0),
    Vec2::new(FRAC_1_SQRT_2, -FRAC_1_SQRT_2),
];

/// Smooths the mesh; returns its triangles. Vertices are numbered anew along a curve that fills the plane.
pub(crate) fn smooth(
    net: &mut Net<'_>,
    mut triangles: Vec<[usize; 3]>,
    field: &SizeField,
    bounds: &Rect,
    size: f64,
    stop: &dyn Fn() -> bool,
) -> Result<Surface, MeshError> {
    let numbers = net.renumber(bounds);
    triangles.iter_mut().for_each(|t| *t = t.map(|v| numbers[v]));
    let surface = Surface::new(net, &triangles);
    // Vertices move by a fraction of the size, which changes by a quarter of that: it is asked for once.
    find_sizes(net, field);
    let mut patch = Patch { net, surface, dropped: Vec::new() };
    for _ in 0..ROUNDS {
        if stop() {
            return Err(MeshError::Interrupted);
        }
        let dropped = drop_short(patch.net, &mut patch.surface, field);
        let dropped = dropped.map(|dropped| patch.dropped.extend(dropped));
        patch.unless_turned_over(dropped, field, size)?;
        for _ in 0..STEPS_PER_ROUND {
            let Net { points, fixed, wanted, .. } = &mut *patch.net;
            sweep(points, fixed, &patch.surface, |v, old, ring| center(v, old, ring, wanted));
        }
        let flipped = flip(&mut patch.surface, &patch.net.points);
        patch.unless_turned_over(flipped, field, size)?;
    }
    for _ in 0..SEARCH_ROUNDS {
        if stop() {
            return Err(MeshError::Interrupted);
        }
        let Net { points, fixed, .. } = &mut *patch.net;
        let moved = sweep(points, fixed, &patch.surface, |_, old, ring| search(old, ring));
        if moved.is_empty() {
            break;
        }
        let flipped = flip_around(&mut patch.surface, &patch.net.points, &moved);
        patch.unless_turned_over(flipped, field, size)?;
    }
    patch.forget_dropped();
    Ok(patch.surface)
}

/// The net and its triangles while they are smoothed.
struct Patch<'n, 's> {
    net: &'n mut Net<'s>,
    surface: Surface,
    /// Vertices of the net that no triangle has any more.
    dropped: Vec<usize>,
}

impl Patch<'_, '_> {
    /// Takes the dropped vertices out of the net.
    fn forget_dropped(&mut self) {
        if self.dropped.is_empty() {
            return;
        }
        let mut marked = vec![false; self.net.points.len()];
        self.dropped.drain(..).for_each(|v| marked[v] = true);
        let numbers = self.net.remove(&marked);
        self.surface.renumber(self.net.points.len(), &numbers);
    }

    /// Triangulates anew if need be.
    fn unless_turned_over(
        &mut self,
        result: Result<(), TurnedOver>,
        field: &SizeField,
        size: f64,
    ) -> Result<(), MeshError> {
        if result.is_err() {
            self.forget_dropped();
            let (_, triangles) = self.net.conform(size)?;
            find_sizes(self.net, field);
            self.surface = Surface::new(self.net, &triangles);
        }
        Ok(())
    }
}

/// Asks for the size at each vertex where it is not known yet.
fn find_sizes(net: &mut Net<'_>, field: &SizeField) {
    for v in 0..net.points.len() {
        if net.wanted[v].is_nan() {
            net.wanted[v] = field.at(net.points[v]);
        }
    }
}

/// The cotangent of the smallest angle of a star, infinite if one of its triangles is turned over.
fn star_cotangent(at: Point, ring: &Ring) -> f64 {
    let mut most = f64::NEG_INFINITY;
    for (p, q) in ring.sides() {
        if !((p - at).cross(q - at) > 0.0) {
            return f64::INFINITY;
        }
        most = crate::number::max(most, largest_cotangent([at, p, q]).0);
    }
    most
}

/// The centre of a star, unless the star would be worse there.
fn center(v: usize, old: Point, ring: &Ring, wanted: &[f64]) -> Option<Point> {
    let (mut sum, mut weights) = (Vec2::ZERO, 0.0);
    for ((p, q), (a, b)) in ring.sides().zip(ring.vertices()) {
        let h = wanted[v] + wanted[a] + wanted[b];
        let weight = (p - old).cross(q - old) / (h * h);
        sum += (circumcenter([old, p, q]) - old) * weight;
        weights += weight;
    }
    let new = old + sum / weights;
    if !new.is_finite() {
        return None;
    }
    let after = star_cotangent(new, ring);
    (after <= KEEP_COTANGENT || after < star_cotangent(old, ring)).then_some(new)
}

/// A place for the vertex of a bad star where the smallest angle around it is larger.
fn search(old: Point, ring: &Ring) -> Option<Point> {
    let mut best = star_cotangent(old, ring);
    if !(best > SEARCH_ABOVE_COTANGENT) {
        return None;
    }
    // A fraction of the mean distance of the neighbours.
    let (sum, count) =
        ring.sides().fold((0.0, 0.0), |(l, n), (p, _)| (l + p.distance(old), n + 1.0));
    let mut step = 0.3 * sum / count;
    let mut at = old;
    for _ in 0..SEARCH_STEPS {
        let from = at;
        for direction in DIRECTIONS {
            let cotangent = star_cotangent(from + direction * step, ring);
            if cotangent < best - SEARCH_GAIN {
                (best, at) = (cotangent, from + direction * step);
            }
        }
        if at == from {
            step *= 0.5;
        }
    }
    (at != old).then_some(at)
}
