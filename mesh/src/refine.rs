//! Refinement of the triangulation to the size field, the worst triangles first.
//!
//! A triangle is too large if its circumradius exceeds that of an equilateral one of the wanted
//! size, and too thin if its smallest angle is small. Both are cured by a vertex at the
//! circumcentre (Ruppert, "A Delaunay refinement algorithm for quality 2-dimensional mesh
//! generation", 1995). A centre behind an edge of the outline, or too close to one, halves that
//! edge on its curve instead, if it is long enough; between edges of the drawing's own sharp
//! corners nothing can be cured, and nothing is tried.

use crate::arrangement::near_distance;
use crate::error::MeshError;
use crate::number::{max, min};
use crate::queue::{Fault, Queue, Task};
use crate::sizing::SizeField;
use crate::surface::short;
use crate::triangle::{centroid, circumcenter, largest_cotangent, shortest};
use crate::triangulate::{Cdt, Net, key, spade_point, vertex};
use kurbo::Point;
use rustc_hash::FxHashMap;
use spade::Triangulation;
use spade::handles::{DirectedEdgeHandle, FixedDirectedEdgeHandle};

/// Circumradius of the equilateral triangle of edge 1.
const EQUILATERAL: f64 = 0.577_350_269;
/// Triangles up to this much larger than wanted stay: halving them all would overshoot.
const SLACK: f64 = 1.15;
/// Smallest angle worth a new vertex, 28 degrees: Ruppert's method is observed to end up to about
/// 33; smoothing lifts the rest.
///
/// This is the cotangent of 28 degrees.
const THIN_COTANGENT: f64 = 1.880_726_465;
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

struct Refiner<'n, 's, 'f> {
    net: &'n mut Net<'s>,
    field: &'f SizeField,
    cdt: Cdt,
    /// Edges of the net by their vertices; looked up, never iterated.
    index: FxHashMap<(usize, usize), usize>,
    queue: Queue,
    /// Edges around a new vertex, kept to be used again.
    around: Vec<FixedDirectedEdgeHandle>,
    most_points: usize,
    /// Ends of region borders have been moved by less than this (mm).
    near: f64,
    /// For each vertex the source that decides about the size near it.
    sources: Vec<usize>,
}

/// Refines a triangulation until no triangle of the material can be improved.
pub(crate) fn refine(
    net: &mut Net<'_>,
    mut start: (Cdt, Vec<[usize; 3]>),
    field: &SizeField,
    size: f64,
    most_elements: usize,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<[usize; 3]>, MeshError> {
    for _ in 0..ROUNDS {
        let (cdt, triangles) = start;
        let index = net.edges.iter().enumerate();
        let index = index.map(|(i, e)| (key(e.ends[0], e.ends[1]), i)).collect();
        let mut refiner = Refiner {
            near: near_distance(size),
            sources: vec![0; net.points.len()],
            net,
            field,
            cdt,
            index,
            queue: Queue::new(),
            around: Vec::new(),
            most_points: most_elements.saturating_mul(2),
        };
        refiner.begin(&triangles);
        let intact = refiner.run(most_elements, stop)?;
        let cdt = refiner.cdt;
        // A new vertex on a curve may have come to lie under a chord nearby.
        if intact
            && net.edges_over_vertices().is_empty()
            && let Ok(triangles) = net.material(&cdt)
        {
            return Ok(triangles);
        }
        start = net.conform(size)?;
    }
    Ok(start.1)
}

impl Refiner<'_, '_, '_> {
    fn corners(&self, triangle: [usize; 3]) -> [Point; 3] {
        triangle.map(|v| self.net.points[v])
    }

    /// Asks for the size at all vertices and queues the triangles.
    fn begin(&mut self, triangles: &[[usize; 3]]) {
        let sizes = self.field.at_all(&self.net.points);
        for (v, (size, source)) in sizes.into_iter().enumerate() {
            (self.net.wanted[v], self.sources[v]) = (size, source);
        }
        for t in triangles {
            if let Some(edge) = self.cdt.get_edge_from_neighbors(vertex(t[0]), vertex(t[1])) {
                self.consider(edge.fix());
            }
        }
    }

    /// Queues the triangle of an edge if it is too large or too thin.
    ///
    /// The sizes at its corners bound the one at its centroid, since the size field grows by no more than the
    /// gradation; mostly that decides, and only else the field is asked there.
    fn consider(&mut self, edge: FixedDirectedEdgeHandle) {
        let first = self.cdt.directed_edge(edge);
        let Some(t) = triangle_of(&first) else { return };
        let p = self.corners(t);
        let center = centroid(p);
        let (mut least, mut most) = (0.0, f64::INFINITY);
        for (v, p) in t.into_iter().zip(p) {
            let (wanted, away) = (self.net.wanted[v], (center - p).hypot2().sqrt());
            least = max(least, SizeField::least_within(wanted, away));
            most = min(most, SizeField::most_within(wanted, away));
        }
        let radius = (circumcenter(p) - p[0]).hypot2().sqrt();
        let ratio = |size: f64| radius / (EQUILATERAL * SLACK * size);
        let crowded = CROWDED / SLACK;
        let (cotangent, at) = largest_cotangent(p);
        let sides = [first, first.next(), first.prev()];
        // The smallest angle of the drawing's own corners cannot grow.
        let is_own = is_edge(&sides[at]) && is_edge(&sides[(at + 2) % 3]);
        let is_thin = !(cotangent <= THIN_COTANGENT || is_own);
        // What is larger than the largest size there is too large, whatever the size.
        let (mut low, mut high) = (ratio(most), ratio(least));
        let is_clear = low > 1.0 || high <= 1.0 && (!is_thin || low >= crowded || high < crowded);
        if !is_clear {
            let (size, source) = self.field.at_from(center, self.sources[t[0]]);
            t.into_iter().for_each(|v| self.sources[v] = source);
            (low, high) = (ratio(size), ratio(size));
        }
        let fault = if low > 1.0 {
            Fault::Large(low)
        } else if is_thin && !(high < crowded) {
            Fault::Thin(THIN_COTANGENT / cotangent)
        } else {
            return;
        };
        let [from, _, apex] = t.map(short);
        let is_large = matches!(fault, Fault::Large(_));
        self.queue.push(fault, Task { edge, from, apex, is_large });
    }

    /// Treats triangles until none is left; false if an edge of the net was lost on the way.
    fn run(&mut self, limit: usize, stop: &dyn Fn() -> bool) -> Result<bool, MeshError> {
        let mut patience = 0;
        while let Some(task) = self.queue.pop() {
            patience += 1;
            if patience % ASK_EVERY == 0 && stop() {
                return Err(MeshError::Interrupted);
            }
            if self.net.points.len() > self.most_points {
                let estimate = 2.0 * self.net.points.len() as f64;
                return Err(MeshError::TooManyElements { estimate, limit });
            }
            if let Some(triangle) = self.find(&task)
                && !self.treat(task.edge, triangle, task.is_large)
            {
                // The next round rebuilds the triangulation.
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The corners of a queued triangle, if it still exists.
    fn find(&self, task: &Task) -> Option<[usize; 3]> {
        let t = triangle_of(&self.cdt.directed_edge(task.edge))?;
        (t[0] == task.from as usize && t[2] == task.apex as usize).then_some(t)
    }

    /// Improves one triangle; false if the triangulation lost an edge of the net.
    fn treat(&mut self, start: FixedDirectedEdgeHandle, t: [usize; 3], is_large: bool) -> bool {
        let p = self.corners(t);
        let reason = if is_large { Reason::Large } else { Reason::Thin { shortest: shortest(p) } };
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
            if is_edge(&exit) {
                return Walk::Blocked(exit.vertices().map(|v| v.index()).into());
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
            if !is_edge(&e) {
                return false;
            }
            let [a, b] = e.vertices().map(|v| v.index());
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
        if self.net.is_first_at_tip([a, b], length) || self.is_stub((a, b), length) {
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
                let (wanted, source) = self.field.at_from(p, self.sources[hint]);
                self.net.add(p, false, wanted);
                self.sources.push(source);
                self.around.extend(self.cdt.vertex(handle).out_edges().map(|e| e.fix()));
                self.consider_around();
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
        let (wanted, source) = self.field.at_from(self.net.points[new], self.sources[a]);
        self.net.wanted[new] = wanted;
        self.sources.push(source);
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
        let start = self.cdt.get_edge_from_neighbors(handle, vertex(to));
        let mut spoke = start;
        while let Some(e) = spoke {
            self.around.push(e.fix());
            let next = e.ccw();
            // Material is left of the edge: from its far part around to its near part.
            let end = if outline { next.to().index() == from } else { Some(next) == start };
            spoke = (!end && self.around.len() < MOST_WALK).then_some(next);
        }
        self.consider_around();
        true
    }

    fn consider_around(&mut self) {
        let around = std::mem::take(&mut self.around);
        around.iter().for_each(|&e| self.consider(e));
        self.around = around;
        self.around.clear();
    }
}

/// Why a triangle is refined.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Reason {
    Large,
    Thin { shortest: f64 },
}

/// Whether an edge is one of the net.
fn is_edge(e: &Spoke<'_>) -> bool {
    e.as_undirected().is_constraint_edge()
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
