//! The border of the part and what its points meet.

use super::pieces::over_pieces;
use super::terms::Fade;
use super::{Obstacle, Shape};
use crate::dofs::{Dofs, Motion, NONE};
use crate::gap::{beside, outward};
use crate::parabola::Parabola;
use crate::quadrature::EDGE_DEGREE_9;
use withy_mesh::number::{largest, min};
use withy_mesh::tree::BoxTree;
use withy_mesh::{Mesh, NodeId, Point, Rect, Vec2};

/// A point meets a surface if their outward normals differ by more than 102 degrees: the sides of a rib
/// that stands on a rail do not.
const OPPOSED: f64 = -0.2;
/// A point is pushed out while it is not deeper than this part of the material on either side: beyond
/// the middle of a rib the way out is the other way.
const DEEPEST: f64 = 0.5;
/// An outward corner that turns by more is sharp (rad).
const SHARP: f64 = 0.35;
/// Edges whose chords' outward normals differ by less than 46 degrees are of the same side of the part, or of
/// sides that no corner turns towards each other: none of their points meet (only speed depends on it).
const SAME_SIDE: f64 = 0.7;
/// Rounding of a place relative to the length of an edge.
const ROUNDING: f64 = 1e-9;
/// A state in which an edge is so many times as long as drawn is no state of a part but an iteration that has left:
/// its edges lie across each other in such numbers that to find what meets what would take minutes.
const WILD: f64 = 10.0;
/// An edge that lies no deeper in an obstacle, relative to its length, is flush with it: drawings have that much
/// rounding.
const FLUSH: f64 = 1e-6;

/// What a point of an edge is inside of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Partner {
    /// Another edge, with the parameter of its nearest place.
    Edge(usize, f64),
    /// An obstacle.
    Obstacle(usize),
}

/// What is met: an obstacle by its number, or the part itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Met {
    Obstacle(usize),
    Itself,
}

impl Partner {
    /// What it belongs to.
    pub(crate) fn met(self) -> Met {
        match self {
            Self::Edge(..) => Met::Itself,
            Self::Obstacle(k) => Met::Obstacle(k),
        }
    }
}

/// A point of an edge that lies inside something.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Meeting {
    pub(crate) edge: usize,
    /// Its parameter along the edge.
    pub(crate) s: f64,
    /// Its share of the edge's length at rest (mm).
    pub(crate) length: f64,
    pub(crate) partner: Partner,
    pub(crate) depth: f64,
    /// How much the partner counts there.
    pub(crate) fade: Fade,
}

/// The edges of one state with the outward normals of their chords.
struct Now {
    edges: Vec<Parabola>,
    normals: Vec<Vec2>,
}

/// The edges of the outline.
#[derive(Clone, Debug)]
pub(crate) struct Border {
    /// Solver nodes.
    pub(crate) edges: Vec<[u32; 3]>,
    /// Edges before and behind; itself if there is none.
    pub(crate) beside: Vec<[usize; 2]>,
    pub(crate) rest: Vec<Parabola>,
    /// Lengths at rest (mm).
    pub(crate) lengths: Vec<f64>,
    /// How deep a point may lie behind each edge, or a point of this edge in another (mm).
    depths: Vec<f64>,
    /// The rigid region that an edge wholly belongs to, held nodes counting as one; `NONE` if it bends.
    pub(crate) bodies: Vec<u32>,
    /// Whether each end of an edge is a sharp outward corner.
    sharp: Vec<[bool; 2]>,
    pub(crate) obstacles: Vec<Obstacle>,
    /// By obstacle: its shape for each edge that may meet it.
    surfaces: Vec<Vec<Option<Shape>>>,
    /// Whether the part meets itself.
    pub(crate) itself: bool,
}

impl Border {
    pub(crate) fn new(
        mesh: &Mesh,
        dofs: &Dofs,
        x: &[[f64; 2]],
        obstacles: &[Obstacle],
        itself: bool,
    ) -> Self {
        let edges: Vec<[u32; 3]> =
            mesh.boundary().iter().map(|e| e.nodes.map(|n| dofs.solver_node[n.index()])).collect();
        let rest: Vec<Parabola> = edges.iter().map(|e| parabola(e, x)).collect();
        let length = |p: &Parabola| {
            EDGE_DEGREE_9.iter().map(|(s, weight)| weight * p.derivative(*s).hypot()).sum()
        };
        let lengths: Vec<f64> = rest.iter().map(length).collect();
        let depths = if itself { thicknesses(&rest, &lengths) } else { Vec::new() };
        let still = super::meeting::still_body(dofs);
        let bodies = edges.iter().map(|e| body_of(dofs, e, still)).collect();
        let surfaces = obstacles.iter().map(|o| surfaces(o, mesh, &edges, dofs, &rest)).collect();
        let beside = beside(mesh);
        // At a plane of symmetry the outline turns, but the part goes on.
        let guided = |e: usize| edges[e].iter().all(|&n| is_held(dofs, n));
        let turns = |before: usize, behind: usize| {
            let (a, b) = (rest[before].derivative(1.0), rest[behind].derivative(0.0));
            a.cross(b).atan2(a.dot(b)) > SHARP && !guided(before) && !guided(behind)
        };
        let sharp = beside
            .iter()
            .enumerate()
            .map(|(e, &[before, behind])| [turns(before, e), turns(e, behind)])
            .collect();
        Self {
            beside,
            sharp,
            edges,
            rest,
            lengths,
            depths: depths.iter().map(|d| DEEPEST * d).collect(),
            bodies,
            obstacles: obstacles.to_vec(),
            surfaces,
            itself,
        }
    }

    /// Everything that lies inside something, in the order of edges and their points; `None` if no part is ever
    /// stretched so far.
    pub(crate) fn meetings(&self, places: &[[f64; 2]]) -> Option<Vec<Meeting>> {
        let now: Vec<Parabola> = self.edges.iter().map(|e| parabola(e, places)).collect();
        let longest = |rest: &Parabola| WILD * rest.chord().hypot();
        if !now.iter().zip(&self.rest).all(|(now, rest)| now.chord().hypot() <= longest(rest)) {
            return None;
        }
        let mut found = Vec::new();
        for k in 0..self.obstacles.len() {
            for (edge, own) in now.iter().enumerate() {
                let Some(shape) = self.surface(k, edge) else { continue };
                if !may_enter(shape, own) {
                    continue;
                }
                let depth = |s: f64| {
                    let place = own.at(s);
                    let facing = outward(own.derivative(s)).dot(shape.normal(place));
                    let depth = shape.depth_in(place);
                    (depth > 0.0 && facing <= OPPOSED).then_some(depth)
                };
                let cuts = ends_in(shape, own);
                over_pieces(cuts, depth, |s, weight, depth| {
                    found.push(Meeting {
                        edge,
                        s,
                        length: weight * self.rest[edge].derivative(s).hypot(),
                        partner: Partner::Obstacle(k),
                        depth,
                        fade: self.fade_of(shape, edge, own.at(s)),
                    });
                });
            }
        }
        if self.itself {
            let boxes: Vec<Rect> = now.iter().map(Parabola::bounds).collect();
            let now = Now { normals: now.iter().map(|e| outward(e.chord())).collect(), edges: now };
            let tree = BoxTree::new(&boxes);
            for edge in 0..boxes.len() {
                self.meet_edges(edge, &now, &tree, &boxes, &mut found);
            }
        }
        Some(found)
    }

    /// The shape of an obstacle for an edge, `None` if they never meet.
    pub(crate) fn surface(&self, obstacle: usize, edge: usize) -> Option<&Shape> {
        self.surfaces[obstacle][edge].as_ref()
    }

    fn meet_edges(
        &self,
        edge: usize,
        now: &Now,
        tree: &BoxTree,
        boxes: &[Rect],
        found: &mut Vec<Meeting>,
    ) {
        let deepest = self.depths[edge];
        let near = boxes[edge].inflate(deepest, deepest);
        let mut others = Vec::new();
        tree.for_each_in(&near, |other| {
            let apart = now.normals[edge].dot(now.normals[other]) < SAME_SIDE
                && other != edge
                && !self.beside[edge].contains(&other)
                && (self.bodies[edge] == NONE || self.bodies[edge] != self.bodies[other]);
            if apart {
                others.push(other);
            }
        });
        let Now { edges: now, normals } = now;
        if others.is_empty() {
            return;
        }
        others.sort_unstable();
        let own = &now[edge];
        let nearest = |s: f64| {
            let (place, normal) = (own.at(s), outward(own.derivative(s)));
            let mut best: Option<(f64, usize, f64)> = None;
            for &other in &others {
                let deepest = min(deepest, self.depths[other]);
                let most = best.map_or(deepest, |b| b.0);
                let away = boxes[other].inflate(most, most);
                if !away.contains(place) {
                    continue;
                }
                let out = (place - now[other].at(0.0)).dot(normals[other]);
                let bulge = now[other].bulge();
                if out > bulge || out < -(most + bulge) {
                    continue;
                }
                let foot = foot(&now[other], place);
                let way = place - now[other].at(foot);
                let Some(surface) = self.normal(now, other, foot, way) else { continue };
                let depth = way.hypot();
                let inside = way.dot(surface) < 0.0 && normal.dot(surface) <= OPPOSED;
                if inside && depth < most {
                    best = Some((depth, other, foot));
                }
            }
            best
        };
        // Where the nearest place goes over from one edge to the next: on the normals at its ends.
        let mut cuts = vec![0.0, 1.0];
        for &other in others.iter().filter(|&&f| boxes[f].overlaps(near)) {
            for end in [0.0, 1.0] {
                let (from, along) = (now[other].at(end), now[other].derivative(end));
                cuts.extend(own.crossings(from, along).into_iter().flatten());
            }
        }
        over_pieces(cuts, nearest, |s, weight, (depth, other, foot)| {
            found.push(Meeting {
                edge,
                s,
                length: weight * self.rest[edge].derivative(s).hypot(),
                partner: Partner::Edge(other, foot),
                depth,
                fade: self.fade(other, foot),
            });
        });
    }

    /// The outward unit normal of an edge where `way` leads from it to a point it is the nearest place of;
    /// at an end half way between those of both edges there, or `None` if the next edge is nearer.
    fn normal(&self, now: &[Parabola], edge: usize, s: f64, way: Vec2) -> Option<Vec2> {
        let own = now[edge].derivative(s);
        let [before, behind] = self.beside[edge];
        let (first, second) = if s <= 0.0 {
            (now[before].derivative(1.0), own)
        } else if s >= 1.0 {
            (own, now[behind].derivative(0.0))
        } else {
            return Some(outward(own));
        };
        let rounding = ROUNDING * own.hypot2();
        let nearest = way.dot(first) >= -rounding && way.dot(second) <= rounding;
        let mean = outward(first) + outward(second);
        nearest.then(|| mean / mean.hypot())
    }

    /// How much an edge counts for what is inside it: less and less towards a sharp corner, over its
    /// last edge.
    pub(crate) fn fade(&self, edge: usize, s: f64) -> Fade {
        let [from, to] = self.sharp[edge];
        let first = if from { Fade::from_end(s, 1.0) } else { Fade::NONE };
        let second = if to { Fade::to_end(1.0 - s, 1.0) } else { Fade::NONE };
        first.and(second)
    }

    /// How much an obstacle counts at a place of an edge: a rail less and less towards its ends, over the length
    /// of the edge.
    fn fade_of(&self, shape: &Shape, edge: usize, place: Point) -> Fade {
        let Shape::Rail { from, to } = shape else { return Fade::NONE };
        let (from, to) = (Point::from((from[0], from[1])), Point::from((to[0], to[1])));
        let length = (to - from).hypot();
        let way = (place - from).dot(to - from) / length;
        let reach = min(self.lengths[edge], 0.5 * length);
        Fade::from_end(way, reach).and(Fade::to_end(length - way, reach))
    }

    /// The pairs of edges that may meet soon: those near a meeting.
    pub(crate) fn pairs_around(
        &self,
        places: &[[f64; 2]],
        edge: usize,
        other: usize,
    ) -> Vec<[usize; 2]> {
        let now = |e: usize| parabola(&self.edges[e], places).bounds();
        let reach = 2.0 * (self.lengths[edge] + self.lengths[other]);
        let run = |start: usize| -> Vec<usize> {
            let centre = now(start).center();
            let mut list = vec![start];
            for side in 0..2 {
                let mut at = start;
                loop {
                    let next = self.beside[at][side];
                    if next == at || next == start || now(next).center().distance(centre) > reach {
                        break;
                    }
                    list.push(next);
                    at = next;
                }
            }
            list
        };
        let (first, second) = (run(edge), run(other));
        let mut pairs = Vec::new();
        for &e in &first {
            for &f in second.iter().filter(|&&f| f != e && !self.beside[e].contains(&f)) {
                if now(e).center().distance(now(f).center()) <= reach {
                    pairs.push([e.min(f), e.max(f)]);
                }
            }
        }
        pairs
    }
}

/// Where an edge may enter an obstacle or turn within it: its ends, its deepest place in a pin, the ends of a
/// rail.
fn ends_in(shape: &Shape, edge: &Parabola) -> Vec<f64> {
    let mut cuts = vec![0.0, 1.0];
    match shape {
        Shape::Pin { at, .. } => cuts.push(foot(edge, Point::from((at[0], at[1])))),
        Shape::Rail { from, to } => {
            let along = Vec2::new(to[0] - from[0], to[1] - from[1]);
            for end in [from, to] {
                let end = Point::from((end[0], end[1]));
                cuts.extend(edge.crossings(end, along).into_iter().flatten());
            }
        }
    }
    cuts
}

pub(crate) fn parabola(edge: &[u32; 3], places: &[[f64; 2]]) -> Parabola {
    Parabola::new(edge.map(|n| Point::from((places[n as usize][0], places[n as usize][1]))))
}

/// Whether a node is held in any direction.
fn is_held(dofs: &Dofs, n: u32) -> bool {
    matches!(dofs.motion[n as usize], Motion::Own(equations) if equations.contains(&NONE))
}

/// The body that all nodes of an edge ride on.
fn body_of(dofs: &Dofs, edge: &[u32; 3], still: u32) -> u32 {
    let of = |n: u32| match dofs.motion[n as usize] {
        Motion::Rigid(b) => b,
        Motion::Own([NONE, NONE]) => still,
        Motion::Own(_) => NONE,
    };
    let first = of(edge[0]);
    if edge.iter().all(|&n| of(n) == first) { first } else { NONE }
}

/// The shape of an obstacle for each edge that may meet it: those of its nodes that are outside it as drawn. Where
/// a printed part departs from its drawing into it, the shape is set back: at rest nothing pushes. It is so by
/// rounding in any case: what is only just touched resists nothing that leads away from it.
fn surfaces(
    obstacle: &Obstacle,
    mesh: &Mesh,
    edges: &[[u32; 3]],
    dofs: &Dofs,
    rest: &[Parabola],
) -> Vec<Option<Shape>> {
    let mut chosen = vec![obstacle.nodes.is_none(); mesh.nodes().len()];
    for n in obstacle.nodes.iter().flatten().map(|n: &NodeId| n.index()) {
        chosen[n] = true;
    }
    let shape = &obstacle.shape;
    let depth =
        |edge: &Parabola| largest(0.0, [0.0, 0.5, 1.0].map(|s| shape.depth_below(edge.at(s))));
    let surface = |(edge, rest): (&[u32; 3], &Parabola)| {
        let nodes = edge.map(|n| dofs.mesh_node[n as usize] as usize);
        let drawn = Parabola::new(nodes.map(|n| mesh.drawn()[n]));
        let outside = depth(&drawn) <= FLUSH * drawn.chord().hypot();
        let (printed, own) = (depth(rest), nodes.iter().all(|&n| chosen[n]));
        (outside && own).then(|| shape.set_back(printed + ROUNDING * drawn.chord().hypot()))
    };
    edges.iter().zip(rest).map(surface).collect()
}

/// Whether any place of an edge may be inside an obstacle.
fn may_enter(shape: &Shape, edge: &Parabola) -> bool {
    match shape {
        Shape::Rail { .. } => edge.hull().iter().any(|p| shape.depth_below(*p) > 0.0),
        Shape::Pin { at, radius } => {
            let near = edge.bounds().inflate(*radius, *radius);
            near.contains(Point::from((at[0], at[1])))
        }
    }
}

/// Material behind each edge at rest: the way from its points to the far side (mm).
fn thicknesses(rest: &[Parabola], lengths: &[f64]) -> Vec<f64> {
    let boxes: Vec<Rect> = rest.iter().map(Parabola::bounds).collect();
    let tree = BoxTree::new(&boxes);
    let behind = |e: usize, s: f64| {
        let (place, normal) = (rest[e].at(s), outward(rest[e].derivative(s)));
        let mut least = f64::INFINITY;
        tree.least(place, 1.0, f64::INFINITY, |f| {
            let other = &rest[f];
            let foot = foot(other, place);
            let way = place - other.at(foot);
            let surface = outward(other.derivative(foot));
            let across = way.dot(surface) < 0.0 && normal.dot(surface) <= OPPOSED;
            let distance = if across { way.hypot() } else { f64::INFINITY };
            least = min(least, distance);
            distance
        });
        least
    };
    (0..rest.len())
        .map(|e| {
            let least =
                [0.1, 0.5, 0.9].into_iter().fold(f64::INFINITY, |d, s| min(d, behind(e, s)));
            if least.is_finite() { least } else { lengths[e] }
        })
        .collect()
}

/// Parameter of the place of an edge nearest to a point.
fn foot(edge: &Parabola, p: Point) -> f64 {
    const STARTS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
    /// The last of Newton's steps, whose error is of the order of its square.
    const FOOT: f64 = 1e-9;
    let away = |s: f64| (p - edge.at(s)).hypot2();
    let mut best = 0.0;
    for s in STARTS {
        if away(s) < away(best) {
            best = s;
        }
    }
    let (bend, mut s) = (edge.second(), best);
    for _ in 0..30 {
        let (d, slope) = (p - edge.at(s), edge.derivative(s));
        let plain = slope.hypot2();
        let full = plain - d.dot(bend);
        let curvature = if full > 0.1 * plain { full } else { plain };
        let next = (s + d.dot(slope) / curvature).clamp(0.0, 1.0);
        let moved = (next - s).abs();
        s = next;
        if moved <= FOOT {
            break;
        }
    }
    s
}
