//! Vertices dropped where edges are much too short.
//!
//! The hole that a vertex leaves is filled with the triangles around it gone, ear by ear: a corner of a polygon
//! is an ear if it is convex and its triangle holds no other corner. Every polygon has two (G. H. Meisters,
//! "Polygons have ears", 1975). No edge of the net is touched, so that nothing else must be made anew; flips
//! make the triangles Delaunay afterwards.

use crate::flips::{TurnedOver, flip_from};
use crate::sizing::SizeField;
use crate::surface::{Surface, next, previous};
use crate::triangle::largest_cotangent;
use crate::triangulate::Net;
use kurbo::Point;

/// An edge shorter than this part of the wanted size loses a vertex.
const SHORT_EDGE: f64 = 0.6;
/// A vertex lower than this above an edge of the net, relative to its length, is dropped.
const LOW_APEX: f64 = 0.4;

/// Takes one movable end of every edge that is much too short out of the triangles, not two in one neighbourhood;
/// tells which. They stay vertices of the net, without triangles.
pub(crate) fn drop_short(
    net: &Net<'_>,
    surface: &mut Surface,
    field: &SizeField,
) -> Result<Vec<usize>, TurnedOver> {
    let marked = too_close(net, surface, field);
    let mut dropped = Vec::new();
    let mut changed = Vec::new();
    for v in (0..marked.len()).filter(|&v| marked[v]) {
        let ring = surface.spokes(v).map(|s| surface.to(s)).collect();
        if let Some(ears) = ears(&net.points, ring) {
            changed.extend(surface.replace_star(v, &ears));
            dropped.push(v);
        }
    }
    flip_from(surface, &net.points, changed)?;
    surface.compact();
    Ok(dropped)
}

/// The vertices to be dropped; none of them is a neighbour of a neighbour of another one.
fn too_close(net: &Net<'_>, surface: &Surface, field: &SizeField) -> Vec<bool> {
    let mut marked = vec![false; net.points.len()];
    let mut touched = vec![false; net.points.len()];
    for side in 0..surface.sides() {
        let [a, b, apex] = [side, next(side), previous(side)].map(|s| surface.from(s) as usize);
        let (p, q) = (net.points[a], net.points[b]);
        let length = p.distance(q);
        let free = if net.fixed[a] { b } else { a };
        let drop = if !net.fixed[free] {
            // Asking for the size at the middle is dear; mostly the ends' sizes rule it out.
            let is_short = !touched[a]
                && !touched[b]
                && length < SHORT_EDGE * SizeField::most_within(net.wanted[a], 0.5 * length)
                && length < SHORT_EDGE * field.at(p.midpoint(q));
            is_short.then_some(free)
        } else if !net.fixed[apex] && !touched[apex] && surface.edge(side).is_some() {
            // A vertex that a halved edge has come too close to.
            let height = (q - p).cross(net.points[apex] - p) / length;
            (height < LOW_APEX * length).then_some(apex)
        } else {
            None
        };
        if let Some(v) = drop {
            marked[v] = true;
            touched[v] = true;
            surface.spokes(v).for_each(|s| touched[surface.to(s) as usize] = true);
        }
    }
    marked
}

/// Triangles that fill a counter-clockwise polygon, if there are any.
fn ears(points: &[Point], mut ring: Vec<u32>) -> Option<Vec<[u32; 3]>> {
    let mut triangles = Vec::new();
    while ring.len() >= 3 {
        let (triangle, ear) = best_ear(points, &ring)?;
        triangles.push(triangle);
        ring.remove(ear);
    }
    (!triangles.is_empty()).then_some(triangles)
}

/// The ear whose smallest angle is largest.
fn best_ear(points: &[Point], ring: &[u32]) -> Option<([u32; 3], usize)> {
    let n = ring.len();
    let mut best = None;
    let mut least = f64::INFINITY;
    for i in 0..n {
        let ear = [ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]];
        let [a, b, c] = ear.map(|v| points[v as usize]);
        let holds = |p: Point| {
            (b - a).cross(p - a) >= 0.0
                && (c - b).cross(p - b) >= 0.0
                && (a - c).cross(p - c) >= 0.0
        };
        let is_convex = (b - a).cross(c - a) > 0.0;
        if is_convex && !ring.iter().any(|v| !ear.contains(v) && holds(points[*v as usize])) {
            let (cotangent, _) = largest_cotangent([a, b, c]);
            if cotangent < least {
                (best, least) = (Some((ear, i)), cotangent);
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plate::{check_plate, with_plate};

    #[test]
    fn a_hole_with_a_reflex_corner_is_filled_and_one_without_room_is_not() {
        let points = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 1.0), (0.0, 4.0)].map(Point::from);
        let triangles = ears(&points, vec![0, 1, 2, 3, 4]).unwrap();
        let area = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|v| points[v as usize]);
            0.5 * (b - a).cross(c - a)
        };
        assert!(triangles.len() == 3 && triangles.iter().all(|t| area(t) > 0.0), "{triangles:?}");
        let sum: f64 = triangles.iter().map(area).sum();
        assert!((sum - 10.0).abs() < 1e-12, "the square without its notch: {sum}");
        let flat = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)].map(Point::from);
        assert!(ears(&flat, vec![0, 1, 2]).is_none(), "no area, no triangle");
    }

    #[test]
    fn a_plate_twice_as_fine_as_wanted_loses_vertices_and_stays_whole() {
        with_plate(2.0, |_, coarse, _| {
            with_plate(1.0, |net, _, triangles| {
                net.wanted.iter_mut().for_each(|h| *h = 2.0);
                let mut surface = Surface::new(net, triangles);
                let before = surface.len();
                let dropped = drop_short(net, &mut surface, coarse).unwrap();
                assert!(dropped.len() > 20, "edges of 1 mm are short where 2 mm are wanted");
                assert_eq!(surface.len(), before - 2 * dropped.len(), "two triangles a vertex");
                check_plate(net, &surface);
                let is_gone = |t: [usize; 3]| !t.iter().any(|v| dropped.contains(v));
                assert!(surface.triangles().all(is_gone), "no triangle has them any more");
            });
        });
    }
}
