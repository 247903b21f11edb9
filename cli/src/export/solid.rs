//! The printed part as a closed surface of triangles: the outline's polygons between z = 0 and its
//! thickness.
//!
//! The caps are the constrained Delaunay triangulation of the polygons, which has no corners but theirs; each side of
//! a polygon is a wall of two triangles. So every edge belongs to two triangles that run along it
//! in opposite ways: the surface is watertight and its normals point outwards.

use super::flat::{area, polygons};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};
use std::collections::VecDeque;
use thiserror::Error;
use withy_mesh::{Outline, Point};

/// A closed surface.
#[derive(Clone, Debug)]
pub struct Solid {
    /// Corners: those of the lower cap, then those of the upper one in the same order (mm).
    pub corners: Vec<[f64; 3]>,
    /// Triangles, counter-clockwise seen from outside.
    pub triangles: Vec<[usize; 3]>,
    /// Distance that sides of the polygons keep from the curves at most (mm).
    pub tolerance: f64,
    /// What is enclosed (mm3).
    pub volume: f64,
}

/// Why there is no solid.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[error(
    "no closed surface follows the outline within {tolerance} mm: its edges are too near to each other"
)]
pub struct NoSolid {
    /// The finest tolerance that was tried (mm).
    pub tolerance: f64,
}

/// Where chords of nearby edges cross, the tolerance is quartered so many times.
const QUARTERINGS: u32 = 8;

/// The solid of an outline, its sides within a tolerance of the curves (mm).
///
/// # Errors
/// The outline's edges are too near to each other to be kept apart.
pub fn solid(outline: &Outline, thickness: f64, tolerance: f64) -> Result<Solid, NoSolid> {
    let mut finer = tolerance;
    for _ in 0..=QUARTERINGS {
        let polygons = polygons(outline, finer);
        if let Some(cap) = cap(&polygons) {
            return Ok(prism(&polygons, &cap, thickness, finer));
        }
        finer *= 0.25;
    }
    Err(NoSolid { tolerance: finer })
}

fn prism(polygons: &[Vec<Point>], cap: &[[usize; 3]], thickness: f64, tolerance: f64) -> Solid {
    let flat: Vec<Point> = polygons.iter().flatten().copied().collect();
    let count = flat.len();
    let at = |z: f64| flat.iter().map(move |p| [p.x, p.y, z]);
    let corners = at(0.0).chain(at(thickness)).collect();
    let mut triangles: Vec<[usize; 3]> = cap.iter().map(|&[a, b, c]| [a, c, b]).collect();
    triangles.extend(cap.iter().map(|t| t.map(|corner| corner + count)));
    let mut first = 0;
    for polygon in polygons {
        for k in 0..polygon.len() {
            let (a, b) = (first + k, first + (k + 1) % polygon.len());
            triangles.push([a, b, b + count]);
            triangles.push([a, b + count, a + count]);
        }
        first += polygon.len();
    }
    Solid { corners, triangles, tolerance, volume: thickness * area(polygons) }
}

/// Triangles between the polygons, counter-clockwise, by the number of their corners; none if sides
/// cross or corners coincide.
fn cap(polygons: &[Vec<Point>]) -> Option<Vec<[usize; 3]>> {
    let mut all = ConstrainedDelaunayTriangulation::<Point2<f64>>::new();
    for (count, p) in polygons.iter().flatten().enumerate() {
        let handle = all.insert(Point2::new(p.x, p.y)).ok()?;
        if handle.index() != count {
            return None;
        }
    }
    let vertices: Vec<_> = all.fixed_vertices().collect();
    let mut first = 0;
    for polygon in polygons {
        for k in 0..polygon.len() {
            let (a, b) = (vertices[first + k], vertices[first + (k + 1) % polygon.len()]);
            if !all.can_add_constraint(a, b) {
                return None;
            }
            all.add_constraint(a, b);
            // A side that runs through a corner of another is split there: they touch.
            all.get_edge_from_neighbors(a, b).filter(|edge| edge.is_constraint_edge())?;
        }
        first += polygon.len();
    }
    Some(inside(&all))
}

/// The triangles that are reached from outside over an odd number of sides.
fn inside(all: &ConstrainedDelaunayTriangulation<Point2<f64>>) -> Vec<[usize; 3]> {
    let mut depth: Vec<Option<u32>> = vec![None; all.num_all_faces()];
    let outer = all.outer_face().fix();
    depth[outer.index()] = Some(0);
    let mut queue = VecDeque::from([outer]);
    while let Some(face) = queue.pop_front() {
        let here = depth[face.index()].unwrap_or(0);
        let mut cross = |edge: spade::handles::DirectedEdgeHandle<'_, _, _, _, _>| {
            let over = edge.rev().face().fix();
            let step = u32::from(edge.is_constraint_edge());
            if depth[over.index()].is_none() {
                depth[over.index()] = Some(here + step);
                queue.push_back(over);
            }
        };
        match all.face(face).as_inner() {
            Some(triangle) => triangle.adjacent_edges().into_iter().for_each(&mut cross),
            None => all.convex_hull().for_each(&mut cross),
        }
    }
    let odd = |index: usize| depth[index].is_some_and(|d| d % 2 == 1);
    let triangles = all.inner_faces().filter(|face| odd(face.fix().index()));
    triangles.map(|face| face.vertices().map(|v| v.fix().index())).collect()
}
