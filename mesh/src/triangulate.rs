//! Constrained Delaunay triangulation of the divided strands, and which triangles are material.
//!
//! The edges are chords. Where the outline is curved and thin, chords of the first division may
//! cross each other or leave a vertex on the wrong side; such edges are halved on their curves
//! until the polygon has the outline's topology. That ends because the outline's curves keep a
//! distance from each other.

use crate::arrangement::{Strand, near_distance};
use crate::curve::Curve;
use crate::division::Edge;
use crate::error::MeshError;
use crate::number::largest;
use crate::order::along_curve;
use crate::tip::Tips;
use crate::tree::BoxTree;
use kurbo::{Point, Rect};
use rustc_hash::FxHashMap;
use spade::handles::{FixedDirectedEdgeHandle, FixedVertexHandle};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

/// Triangulation whose vertex numbers are the indices of [`Net::points`].
pub(crate) type Cdt = ConstrainedDelaunayTriangulation<Point2<f64>>;

/// Halvings that take an edge from the part's size to far below the thinnest accepted place.
const MOST_ROUNDS: usize = 40;

/// The vertices and the edges that the triangulation must contain.
#[derive(Clone, Debug)]
pub(crate) struct Net<'a> {
    pub(crate) strands: &'a [Strand],
    pub(crate) points: Vec<Point>,
    /// Whether a vertex lies on a strand; the others may be moved and removed.
    pub(crate) fixed: Vec<bool>,
    /// Wanted element size at each vertex, as last asked for; NaN if it never was (mm).
    pub(crate) wanted: Vec<f64>,
    /// Length of the first edges at a sharp tip, which are never halved; 0 elsewhere (mm).
    reach: Vec<f64>,
    pub(crate) edges: Vec<Edge>,
}

/// Vertex numbers of an edge in ascending order.
pub(crate) fn key(a: usize, b: usize) -> (usize, usize) {
    if a < b { (a, b) } else { (b, a) }
}

pub(crate) fn vertex(i: usize) -> FixedVertexHandle {
    FixedVertexHandle::from_index(i)
}

pub(crate) fn spade_point(p: Point) -> Point2<f64> {
    // Coordinates like 1e-60 come from rounding and are refused by the predicates.
    spade::mitigate_underflow(Point2::new(p.x, p.y))
}

impl<'a> Net<'a> {
    pub(crate) fn new(
        strands: &'a [Strand],
        tips: &'a Tips,
        points: Vec<Point>,
        edges: Vec<Edge>,
    ) -> Self {
        let (fixed, wanted) = (vec![true; points.len()], vec![f64::NAN; points.len()]);
        let reach = (0..points.len()).map(|v| tips.reach(v)).collect();
        Self { strands, fixed, wanted, reach, points, edges }
    }

    /// Adds a vertex and returns its number.
    pub(crate) fn add(&mut self, at: Point, fixed: bool, wanted: f64) -> usize {
        self.points.push(at);
        self.fixed.push(fixed);
        self.wanted.push(wanted);
        self.reach.push(0.0);
        self.points.len() - 1
    }

    /// Whether an edge between two vertices, of this length, is a first edge at a tip.
    pub(crate) fn is_first_at_tip(&self, ends: [usize; 2], length: f64) -> bool {
        let reach = largest(0.0, ends.map(|v| self.reach[v]));
        length <= reach * (1.0 + 1e-6)
    }

    /// Numbers the vertices anew along a curve that fills the plane; returns the new number of each.
    pub(crate) fn renumber(&mut self, bounds: &Rect) -> Vec<usize> {
        let order = along_curve(&self.points, bounds);
        let mut numbers = vec![0; order.len()];
        order.iter().enumerate().for_each(|(new, &old)| numbers[old] = new);
        self.points = order.iter().map(|&v| self.points[v]).collect();
        self.fixed = order.iter().map(|&v| self.fixed[v]).collect();
        self.wanted = order.iter().map(|&v| self.wanted[v]).collect();
        self.reach = order.iter().map(|&v| self.reach[v]).collect();
        self.edges.iter_mut().for_each(|edge| edge.ends = edge.ends.map(|v| numbers[v]));
        numbers
    }

    pub(crate) fn length(&self, edge: &Edge) -> f64 {
        self.points[edge.ends[0]].distance(self.points[edge.ends[1]])
    }

    fn is_straight(&self, edge: &Edge) -> bool {
        matches!(self.strands[edge.strand].curve, Curve::Line(..))
    }

    /// Halves an edge at the middle of its piece of the curve; returns the new vertex.
    pub(crate) fn halve(&mut self, index: usize) -> usize {
        let edge = self.edges[index];
        let curve = &self.strands[edge.strand].curve;
        let t = curve.middle(edge.range[0], edge.range[1]);
        let new = self.add(curve.at(t), true, f64::NAN);
        let (ends, range) = (edge.ends, edge.range);
        self.edges[index] = Edge { ends: [ends[0], new], range: [range[0], t], ..edge };
        self.edges.push(Edge { ends: [new, ends[1]], range: [t, range[1]], ..edge });
        new
    }

    /// Removes the movable vertices that are marked; returns the new numbers of the others.
    pub(crate) fn remove(&mut self, marked: &[bool]) -> Vec<usize> {
        let mut new_index = vec![usize::MAX; self.points.len()];
        let mut kept = 0;
        for i in 0..self.points.len() {
            if self.fixed[i] || !marked[i] {
                new_index[i] = kept;
                self.points[kept] = self.points[i];
                self.fixed[kept] = self.fixed[i];
                self.wanted[kept] = self.wanted[i];
                self.reach[kept] = self.reach[i];
                kept += 1;
            }
        }
        self.points.truncate(kept);
        self.fixed.truncate(kept);
        self.wanted.truncate(kept);
        self.reach.truncate(kept);
        for edge in &mut self.edges {
            edge.ends = edge.ends.map(|v| new_index[v]);
        }
        new_index
    }

    /// The triangulation with all edges in it; edges that cannot be are halved until they can.
    pub(crate) fn conform(&mut self, size: f64) -> Result<(Cdt, Vec<[usize; 3]>), MeshError> {
        let mut place = Point::ORIGIN;
        let most_edges = 1000 + 16 * self.edges.len();
        for _ in 0..MOST_ROUNDS {
            if self.edges.len() > most_edges {
                break;
            }
            let mut bad = self.edges_over_vertices();
            if bad.is_empty() {
                match self.try_build() {
                    Ok(cdt) => {
                        let wrong = match self.material(&cdt) {
                            Ok(triangles) => return Ok((cdt, triangles)),
                            Err(edge) => self.edges[edge].ends[0],
                        };
                        place = self.points[wrong];
                        break;
                    }
                    Err(conflicts) => bad = conflicts,
                }
            }
            bad.sort_unstable();
            bad.dedup();
            let curved = bad.iter().any(|&e| !self.is_straight(&self.edges[e]));
            let mut dropped = Vec::new();
            let bad_points: Vec<[Point; 2]> =
                bad.iter().map(|&e| self.edges[e].ends.map(|v| self.points[v])).collect();
            for &e in &bad {
                let edge = self.edges[e];
                place = self.points[edge.ends[0]];
                let region = self.strands[edge.strand].outline.is_none();
                if region && self.length(&edge) < near_distance(size) {
                    dropped.push(e);
                } else if !curved || !self.is_straight(&edge) {
                    self.halve(e);
                }
            }
            for e in dropped.into_iter().rev() {
                self.edges.remove(e);
            }
            self.clear_around(&bad_points);
            self.merge_coincident();
        }
        Err(MeshError::Intricate { x: place.x, y: place.y })
    }

    /// Makes vertices at the very same place one, and region edges that repeat another one none.
    ///
    /// Halving two crossing region borders may put a vertex of each on the crossing.
    fn merge_coincident(&mut self) {
        // Zero has two signs; adding zero leaves one.
        let place = |p: &Point| (p.x + 0.0, p.y + 0.0);
        let mut order: Vec<usize> = (0..self.points.len()).collect();
        order.sort_by(|&i, &j| {
            let (a, b) = (place(&self.points[i]), place(&self.points[j]));
            a.0.total_cmp(&b.0)
                .then(a.1.total_cmp(&b.1))
                .then(self.fixed[j].cmp(&self.fixed[i]))
                .then(i.cmp(&j))
        });
        let mut same_as: Vec<usize> = (0..self.points.len()).collect();
        for pair in order.windows(2) {
            if self.points[pair[0]] == self.points[pair[1]] {
                same_as[pair[1]] = same_as[pair[0]];
            }
        }
        let marked: Vec<bool> = same_as.iter().enumerate().map(|(i, &to)| i != to).collect();
        if marked.contains(&true) {
            for edge in &mut self.edges {
                edge.ends = edge.ends.map(|v| same_as[v]);
            }
            marked.iter().enumerate().filter(|(_, m)| **m).for_each(|(v, _)| self.fixed[v] = false);
            self.remove(&marked);
        }
        let is_region = |e: &Edge| self.strands[e.strand].outline.is_none();
        let middle = |e: &Edge| self.strands[e.strand].curve.at(0.5 * (e.range[0] + e.range[1]));
        let mut kept: Vec<Edge> = Vec::with_capacity(self.edges.len());
        let mut known: FxHashMap<(usize, usize), usize> = FxHashMap::default();
        for edge in &self.edges {
            let [a, b] = edge.ends;
            let twin = known.get(&key(a, b)).map(|&k| &kept[k]);
            let reach = 0.1 * self.points[a].distance(self.points[b]);
            let repeats = twin.is_some_and(|t| middle(t).distance(middle(edge)) <= reach);
            if !(is_region(edge) && (a == b || repeats)) {
                known.entry(key(a, b)).or_insert(kept.len());
                kept.push(*edge);
            }
        }
        self.edges = kept;
    }

    /// Removes the movable vertices near segments that could not be made edges.
    fn clear_around(&mut self, segments: &[[Point; 2]]) {
        let boxes: Vec<Rect> = self.points.iter().map(|p| Rect::from_points(*p, *p)).collect();
        let tree = BoxTree::new(&boxes);
        let mut marked = vec![false; self.points.len()];
        for &[a, b] in segments {
            let reach = 0.5 * a.distance(b);
            tree.for_each_in(&Rect::from_points(a, b).inflate(reach, reach), |v| marked[v] = true);
        }
        self.remove(&marked);
    }

    /// Curved edges with a vertex between chord and curve: the chord has passed over it.
    pub(crate) fn edges_over_vertices(&self) -> Vec<usize> {
        let fixed: Vec<usize> = (0..self.points.len()).filter(|&v| self.fixed[v]).collect();
        let point = |&v: &usize| Rect::from_points(self.points[v], self.points[v]);
        let boxes: Vec<Rect> = fixed.iter().map(point).collect();
        let tree = BoxTree::new(&boxes);
        let mut over = Vec::new();
        for (e, edge) in self.edges.iter().enumerate() {
            if self.is_straight(edge) {
                continue;
            }
            let part = self.strands[edge.strand].curve.part(edge.range[0], edge.range[1]);
            let [a, b] = edge.ends.map(|v| self.points[v]);
            let side = (b - a).cross(part.at(0.5) - a);
            let mut found = false;
            tree.for_each_in(&part.bounds(), |k| {
                let v = fixed[k];
                if found || edge.ends.contains(&v) {
                    return;
                }
                let w = self.points[v];
                let (t, away) = part.nearest(w);
                let beyond_chord = (b - a).cross(w - a) * side > 0.0;
                let short_of_curve = part.tangent(t).cross(w - part.at(t)) * side < 0.0;
                // Vertices of coincident strands lie on the curve, those of neighbours beyond its
                // ends.
                let between = t > 1e-6 && t < 1.0 - 1e-6 && away > 1e-6;
                found = beyond_chord && short_of_curve && between;
            });
            if found {
                over.push(e);
            }
        }
        over
    }

    /// The triangulation, or the edges that cannot all be in it.
    fn try_build(&self) -> Result<Cdt, Vec<usize>> {
        let points = self.points.iter().map(|p| spade_point(*p)).collect();
        let index: FxHashMap<(usize, usize), usize> =
            self.edges.iter().enumerate().map(|(i, e)| (key(e.ends[0], e.ends[1]), i)).collect();
        // Vertices first, then edge by edge: loading both at once is observed not to end on some
        // sets of crossing edges.
        let Ok(mut cdt) = Cdt::try_bulk_load_cdt(points, Vec::new(), |_| {}) else {
            return Err(Vec::new());
        };
        // Coincident vertices or edges: merged before the next round.
        if cdt.num_vertices() != self.points.len() {
            return Err(Vec::new());
        }
        if index.len() != self.edges.len() {
            let twin = |e: &Edge| index.get(&key(e.ends[0], e.ends[1])).copied();
            let twins = self.edges.iter().enumerate().filter(|(i, e)| twin(e) != Some(*i));
            return Err(twins.flat_map(|(i, e)| twin(e).into_iter().chain([i])).collect());
        }
        let mut bad = Vec::new();
        for (i, e) in self.edges.iter().enumerate() {
            let [a, b] = e.ends.map(vertex);
            // Two or more parts: another vertex lies exactly on the edge.
            if cdt.try_add_constraint(a, b).len() != 1 {
                bad.push(i);
                for crossing in cdt.get_conflicting_edges_between_vertices(a, b) {
                    let [c, d] = crossing.vertices().map(|v| v.index());
                    bad.extend(index.get(&key(c, d)));
                }
            }
        }
        if bad.is_empty() { Ok(cdt) } else { Err(bad) }
    }

    /// The triangles of the material, or an outline edge that has none or two sides of it.
    ///
    /// Every outline edge has material on its left and none on its right; both labels spread over
    /// all edges that are not outline, and must never meet.
    pub(crate) fn material(&self, cdt: &Cdt) -> Result<Vec<[usize; 3]>, usize> {
        let mut label: Vec<Option<bool>> = vec![None; cdt.num_all_faces()];
        let mut is_outline = vec![false; cdt.num_directed_edges()];
        let mut seeds: Vec<(FixedDirectedEdgeHandle, usize)> = Vec::new();
        for (i, e) in self.edges.iter().enumerate() {
            if self.strands[e.strand].outline.is_none() {
                continue;
            }
            let between = cdt.get_edge_from_neighbors(vertex(e.ends[0]), vertex(e.ends[1]));
            let Some(edge) = between else { return Err(i) };
            is_outline[edge.fix().index()] = true;
            is_outline[edge.rev().fix().index()] = true;
            seeds.push((edge.fix(), i));
        }
        let mut stack = Vec::new();
        for (edge, i) in seeds {
            let edge = cdt.directed_edge(edge);
            for (side, wanted) in [(edge, true), (edge.rev(), false)] {
                match label[side.face().fix().index()] {
                    Some(found) if found != wanted => return Err(i),
                    Some(_) => {}
                    None => {
                        label[side.face().fix().index()] = Some(wanted);
                        stack.push(side.fix());
                    }
                }
            }
            while let Some(start) = stack.pop() {
                let start = cdt.directed_edge(start);
                let here = label[start.face().fix().index()];
                // The outer face is bounded by hull edges; inner faces border on it there.
                if start.face().is_outer() {
                    continue;
                }
                for around in [start, start.next(), start.prev()] {
                    let other = around.rev();
                    let slot = &mut label[other.face().fix().index()];
                    if !is_outline[other.fix().index()] && slot.is_none() {
                        *slot = here;
                        stack.push(other.fix());
                    }
                }
            }
        }
        let triangles = cdt.inner_faces().filter(|f| label[f.fix().index()] == Some(true));
        Ok(triangles.map(|f| f.vertices().map(|v| v.index())).collect())
    }
}
