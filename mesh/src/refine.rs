//! Refinement of the triangulation to the size field, the worst triangle first.
//!
//! A triangle is too large if its circumradius exceeds that of an equilateral one of the wanted
//! size, and too thin if its smallest angle is small. Both are cured by a vertex at the
//! circumcentre (Ruppert, "A Delaunay refinement algorithm for quality 2-dimensional mesh
//! generation", 1995). A centre behind an edge of the outline, or too close to one, halves that
//! edge on its curve instead, if it is long enough; between edges of the drawing's own sharp
//! corners nothing can be cured, and nothing is tried.

use crate::arrangement::near_distance;
use crate::error::MeshError;
use crate::sizing::SizeField;
use crate::triangulate::{Cdt, Net, key, spade_point, vertex};
use kurbo::{Point, Vec2};
use rustc_hash::FxHashMap;
use spade::Triangulation;
use spade::handles::{DirectedEdgeHandle, FixedDirectedEdgeHandle};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Circumradius of the equilateral triangle of edge 1.
const EQUILATERAL: f64 = 0.577_350_269;
/// Triangles up to this much larger than wanted stay: halving them all would overshoot.
const SLACK: f64 = 1.15;
/// Smallest angle worth a new vertex (degrees): Ruppert's method is observed to end up to about
/// 33; smoothing lifts the rest.
const THIN_DEG: f64 = 28.0;
/// An edge is halved for size only if it is this much longer than wanted.
const LONG_EDGE: f64 = 1.3;
/// An edge is halved for angles if it is longer than this part of the wanted size and than this
/// many of the shortest edge of the thin triangle.
const HALVE_FROM_SIZE: f64 = 0.5;
const HALVE_FROM_SHORTEST: f64 = 1.6;
/// A vertex closer to an edge than this part of its length makes angles below 30 degrees with it.
const LEAST_ROOM: f64 = 0.3;
/// A thin triangle this much smaller than wanted is no place for one more vertex: smoothing drops
/// one of its own instead.
const CROWDED: f64 = 0.5;
/// A walk crosses about the square root of all triangles; this only guards against rounding.
const MOST_WALK: usize = 100_000;
/// Rounds over the whole mesh, if the triangulation loses an edge on the way.
const ROUNDS: usize = 3;

/// The caller is asked whether to stop once in so many triangles.
const ASK_EVERY: usize = 1024;

/// Why a triangle is refined.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Reason {
    Large,
    Thin { shortest: f64 },
}

#[derive(Debug)]
struct Task {
    priority: f64,
    /// Breaks ties in the order of discovery, so that the result never depends on luck.
    order: usize,
    triangle: [usize; 3],
    reason: Reason,
}

impl PartialEq for Task {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Task {}
impl PartialOrd for Task {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Task {
    fn cmp(&self, other: &Self) -> Ordering {
        self.priority.total_cmp(&other.priority).then(other.order.cmp(&self.order))
    }
}

struct Refiner<'n, 's, 'f> {
    net: &'n mut Net<'s>,
    field: &'f SizeField,
    cdt: Cdt,
    /// Edges of the net by their vertices; looked up, never iterated.
    index: FxHashMap<(usize, usize), usize>,
    heap: BinaryHeap<Task>,
    tasks: usize,
    most_points: usize,
    /// Ends of region borders have been moved by less than this (mm).
    near: f64,
    /// For each vertex the source that decides about the size near it.
    sources: Vec<usize>,
}

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

/// Refines until no triangle of the material can be improved.
pub(crate) fn refine(
    net: &mut Net<'_>,
    field: &SizeField,
    size: f64,
    most_elements: usize,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<[usize; 3]>, MeshError> {
    for _ in 0..ROUNDS {
        let (cdt, triangles) = net.conform(size)?;
        let index = net.edges.iter().enumerate();
        let index = index.map(|(i, e)| (key(e.ends[0], e.ends[1]), i)).collect();
        let mut refiner = Refiner {
            near: near_distance(size),
            sources: vec![0; net.points.len()],
            net,
            field,
            cdt,
            index,
            heap: BinaryHeap::new(),
            tasks: 0,
            most_points: most_elements.saturating_mul(2),
        };
        for triangle in triangles {
            refiner.consider(triangle);
        }
        let intact = refiner.run(most_elements, stop)?;
        let cdt = refiner.cdt;
        // A new vertex on a curve may have come to lie under a chord nearby.
        if intact
            && net.edges_over_vertices().is_empty()
            && let Ok(triangles) = net.material(&cdt)
        {
            return Ok(triangles);
        }
    }
    Ok(net.conform(size)?.1)
}

impl Refiner<'_, '_, '_> {
    fn corners(&self, triangle: [usize; 3]) -> [Point; 3] {
        triangle.map(|v| self.net.points[v])
    }

    fn is_edge(&self, a: usize, b: usize) -> bool {
        self.index.contains_key(&key(a, b))
    }

    /// Queues a triangle if it is too large or too thin.
    fn consider(&mut self, triangle: [usize; 3]) {
        let p = self.corners(triangle);
        let radius = circumcenter(p).distance(p[0]);
        let (size, source) = self.field.at_from(centroid(p), self.sources[triangle[0]]);
        triangle.into_iter().for_each(|v| self.sources[v] = source);
        let ratio = radius / (EQUILATERAL * SLACK * size);
        let (priority, reason) = if ratio > 1.0 {
            (ratio, Reason::Large)
        } else {
            let (angle, at) = smallest_angle(p);
            let [a, b, c] = [triangle[at], triangle[(at + 1) % 3], triangle[(at + 2) % 3]];
            let crowded = ratio < CROWDED / SLACK;
            if !(angle < THIN_DEG) || crowded || (self.is_edge(a, b) && self.is_edge(a, c)) {
                return;
            }
            let shortest = self.net.points[b].distance(self.net.points[c]);
            (1.0 - angle / THIN_DEG, Reason::Thin { shortest })
        };
        self.tasks += 1;
        self.heap.push(Task { priority, order: self.tasks, triangle, reason });
    }

    /// Treats triangles until none is left; false if an edge of the net was lost on the way.
    fn run(&mut self, limit: usize, stop: &dyn Fn() -> bool) -> Result<bool, MeshError> {
        let mut patience = 0;
        while let Some(task) = self.heap.pop() {
            patience += 1;
            if patience % ASK_EVERY == 0 && stop() {
                return Err(MeshError::Interrupted);
            }
            if self.net.points.len() > self.most_points {
                let estimate = 2.0 * self.net.points.len() as f64;
                return Err(MeshError::TooManyElements { estimate, limit });
            }
            if let Some(start) = self.find(task.triangle)
                && !self.treat(start, task.triangle, task.reason)
            {
                // The next round rebuilds the triangulation.
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The edge from the first to the second corner, if the triangle still exists.
    fn find(&self, t: [usize; 3]) -> Option<FixedDirectedEdgeHandle> {
        let edge = self.cdt.get_edge_from_neighbors(vertex(t[0]), vertex(t[1]))?;
        let apex = edge.opposite_vertex()?;
        (apex.index() == t[2]).then(|| edge.fix())
    }

    /// Improves one triangle; false if the triangulation lost an edge of the net.
    fn treat(&mut self, start: FixedDirectedEdgeHandle, t: [usize; 3], reason: Reason) -> bool {
        let p = self.corners(t);
        let center = circumcenter(p);
        if !center.is_finite() {
            return true;
        }
        match self.walk(start, p, center) {
            Walk::Lost => true,
            Walk::Blocked(edge) => !self.may_halve(edge, reason) || self.halve(edge),
            Walk::Inside(face) => match self.encroached(face, center) {
                Some((edge, _)) if self.may_halve(edge, reason) => self.halve(edge),
                // The edge stays, and the vertex makes a thin triangle with it.
                Some((_, room)) if room < LEAST_ROOM => true,
                _ => self.insert(self.cdt.directed_edge(face).from().index(), center),
            },
        }
    }

    /// Walks along the straight line from the triangle's centroid towards a point.
    fn walk(&self, start: FixedDirectedEdgeHandle, p: [Point; 3], to: Point) -> Walk {
        let from = centroid(p);
        let side = |v: usize| (to - from).cross(self.net.points[v] - from);
        let behind = |e: &Spoke<'_>| {
            let [a, b] = e.vertices().map(|v| self.net.points[v.index()]);
            (b - a).cross(to - a) < 0.0
        };
        let first = self.cdt.directed_edge(start);
        // Seen along the line, an edge of a counter-clockwise triangle that it leaves through
        // begins on the right and ends on the left.
        let leaves = |e: &Spoke<'_>| {
            let [a, b] = e.vertices().map(|v| side(v.index()));
            a <= 0.0 && b > 0.0 && behind(e)
        };
        let Some(mut exit) = [first, first.next(), first.prev()].into_iter().find(leaves) else {
            return Walk::Inside(start);
        };
        for _ in 0..MOST_WALK {
            let [a, b] = exit.vertices().map(|v| v.index());
            if self.is_edge(a, b) {
                return Walk::Blocked((a, b));
            }
            let entry = exit.rev();
            let Some(apex) = entry.opposite_vertex() else { return Walk::Lost };
            if !behind(&entry.next()) && !behind(&entry.prev()) {
                return Walk::Inside(entry.fix());
            }
            exit = if side(apex.index()) > 0.0 { entry.next() } else { entry.prev() };
        }
        Walk::Lost
    }

    /// The nearest edge of the net around a face that sees the point under more than 90 degrees,
    /// and the distance to it as a fraction of its length.
    fn encroached(&self, face: FixedDirectedEdgeHandle, p: Point) -> Option<((usize, usize), f64)> {
        let first = self.cdt.directed_edge(face);
        let mut found: Option<((usize, usize), f64)> = None;
        let mut look = |e: Spoke<'_>| {
            let [a, b] = e.vertices().map(|v| v.index());
            if !self.is_edge(a, b) {
                return false;
            }
            let (u, v) = (self.net.points[a] - p, self.net.points[b] - p);
            let room = u.cross(v).abs() / (u - v).hypot2();
            if u.dot(v) < 0.0 && found.is_none_or(|(_, least)| room < least) {
                found = Some(((a, b), room));
            }
            true
        };
        for e in [first, first.next(), first.prev()] {
            if !look(e) && !e.rev().face().is_outer() {
                look(e.rev().next());
                look(e.rev().prev());
            }
        }
        found
    }

    fn may_halve(&self, (a, b): (usize, usize), reason: Reason) -> bool {
        let (p, q) = (self.net.points[a], self.net.points[b]);
        let h = self.field.at(p.midpoint(q));
        let length = p.distance(q);
        if self.net.tips.keeps([a, b], length) || self.is_stub((a, b), length) {
            return false;
        }
        match reason {
            Reason::Large => length > LONG_EDGE * h,
            Reason::Thin { shortest } => {
                length > HALVE_FROM_SIZE * h && length > HALVE_FROM_SHORTEST * shortest
            }
        }
    }

    /// A short piece of a region's border: its end may have been moved off the curve, so that
    /// halving it on the curve need not make it shorter.
    fn is_stub(&self, (a, b): (usize, usize), length: f64) -> bool {
        let strand = self.index.get(&key(a, b)).map(|&e| self.net.edges[e].strand);
        let region = strand.is_some_and(|s| self.net.strands[s].outline.is_none());
        region && length < 4.0 * self.near
    }

    /// A new vertex inside the material; its triangles are queued.
    fn insert(&mut self, hint: usize, p: Point) -> bool {
        let expected = self.net.points.len();
        match self.cdt.insert_with_hint(spade_point(p), vertex(hint)) {
            Ok(handle) if handle.index() == expected => {
                self.net.points.push(p);
                self.net.fixed.push(false);
                self.net.wanted.push(f64::NAN);
                self.sources.push(self.sources[hint]);
                let around: Vec<[usize; 3]> =
                    self.cdt.vertex(handle).out_edges().filter_map(|e| triangle_of(&e)).collect();
                around.into_iter().for_each(|t| self.consider(t));
                true
            }
            // The place is taken, or not a number: nothing is gained, nothing lost.
            Ok(handle) => handle.index() < expected,
            Err(_) => true,
        }
    }

    /// Halves an edge of the net on its curve; false if the triangulation could not follow.
    fn halve(&mut self, (a, b): (usize, usize)) -> bool {
        let Some(index) = self.index.remove(&key(a, b)) else { return true };
        let new = self.net.halve(index);
        self.sources.push(self.sources[a]);
        let [from, to] =
            [self.net.edges[index].ends[0], self.net.edges[self.net.edges.len() - 1].ends[1]];
        self.index.insert(key(from, new), index);
        self.index.insert(key(new, to), self.net.edges.len() - 1);
        let Some(edge) = self.cdt.get_edge_from_neighbors(vertex(a), vertex(b)) else {
            return false;
        };
        let edge = edge.as_undirected().fix();
        self.cdt.remove_constraint_edge(edge);
        let p = spade_point(self.net.points[new]);
        let Ok(handle) = self.cdt.insert_with_hint(p, vertex(from)) else { return false };
        if handle.index() != new
            || self.cdt.try_add_constraint(vertex(from), handle).len() != 1
            || self.cdt.try_add_constraint(handle, vertex(to)).len() != 1
        {
            return false;
        }
        let outline = self.net.strands[self.net.edges[index].strand].outline.is_some();
        let mut around = Vec::new();
        let start = self.cdt.get_edge_from_neighbors(handle, vertex(to));
        let mut spoke = start;
        while let Some(e) = spoke {
            around.extend(triangle_of(&e));
            let next = e.ccw();
            // Material is left of the edge: from its far part around to its near part.
            let end = if outline { next.to().index() == from } else { Some(next) == start };
            spoke = (!end && around.len() < MOST_WALK).then_some(next);
        }
        around.into_iter().for_each(|t| self.consider(t));
        true
    }
}

type Spoke<'a> = DirectedEdgeHandle<'a, spade::Point2<f64>, (), spade::CdtEdge<()>, ()>;

enum Walk {
    /// An edge of the face that holds the point.
    Inside(FixedDirectedEdgeHandle),
    /// The edge of the net in the way.
    Blocked((usize, usize)),
    Lost,
}

fn triangle_of(e: &Spoke<'_>) -> Option<[usize; 3]> {
    let apex = e.opposite_vertex()?;
    Some([e.from().index(), e.to().index(), apex.index()])
}

/// The centroid of a triangle.
pub(crate) fn centroid(p: [Point; 3]) -> Point {
    Point::new((p[0].x + p[1].x + p[2].x) / 3.0, (p[0].y + p[1].y + p[2].y) / 3.0)
}
