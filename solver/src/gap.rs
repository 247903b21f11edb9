//! Gaps between edges of the deformed part: how near they come, and whether the part runs into itself.
//!
//! A gap is a straight way through the void from one place of the border to another that faces it. Its
//! edges are the elements' own, parabolas; distances between them are exact. Two edges *approach* if
//! their gap has shrunk below a part of what each of them had before it at rest: slots and fillets that
//! were drawn narrow and stay so are no news. Nothing here pushes back: a part that runs into itself
//! keeps running through, and all that is computed beyond that is not what a real part does.

use crate::parabola::Parabola;
use rayon::prelude::*;
use withy_mesh::number::{largest, min};
use withy_mesh::tree::BoxTree;
use withy_mesh::{Mesh, Point, Rect, Vec2};

/// Edges have approached if their gap is below this part of their gaps at rest.
pub const APPROACHED: f64 = 2.0 / 3.0;
/// Edges face each other if the way between them leaves both within 18 degrees of their normals. Where
/// a gap is least it leaves them exactly along the normals; the sides of a fillet, a corner or a wide
/// notch face each other far less.
const FACING: f64 = 0.95;
/// A pair whose gap is below two thirds of that at rest is nearer than this many times the largest
/// displacement: d < 2/3 (d + 2 u).
const REACH: f64 = 4.0;

/// The narrowest place between edges that have approached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Its width (mm).
    pub width: f64,
    /// The smaller gap that its two edges had at rest (mm).
    pub at_rest: f64,
    /// Its two ends at rest (mm).
    pub rest: [[f64; 2]; 2],
    /// Its two ends now (mm).
    pub now: [[f64; 2]; 2],
}

/// A place where the border crosses itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Middles of the two edges at rest (mm).
    pub rest: [[f64; 2]; 2],
    /// Where they cross (mm).
    pub now: [f64; 2],
}

/// What is narrow in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Narrowest {
    /// The narrowest place, if any edges have approached.
    pub gap: Option<Gap>,
    /// The first place of the border that crosses another, if any does.
    pub crossing: Option<Crossing>,
}

impl Narrowest {
    /// Its width: 0 where the part runs into itself, `None` where nothing has approached (mm).
    #[must_use]
    pub fn width(&self) -> Option<f64> {
        if self.crossing.is_some() { Some(0.0) } else { self.gap.map(|g| g.width) }
    }
}

/// The border of a mesh and the gaps before each of its edges at rest.
#[derive(Clone, Debug)]
pub struct Gaps<'m> {
    mesh: &'m Mesh,
    /// Edges before and behind each edge of the border; itself if there is none.
    beside: Vec<[usize; 2]>,
    rest: Vec<Parabola>,
    /// Infinite where nothing faces the edge (mm).
    clearance: Vec<f64>,
}

impl<'m> Gaps<'m> {
    /// Measures the gaps of a mesh at rest.
    #[must_use]
    pub fn new(mesh: &'m Mesh) -> Self {
        let beside = beside(mesh);
        let rest = edges(mesh, |_| Vec2::ZERO);
        let border = Border::new(&rest, &beside);
        let clearance = (0..rest.len())
            .into_par_iter()
            .map(|e| {
                border
                    .facing(e, f64::INFINITY, |_| f64::INFINITY)
                    .map_or(f64::INFINITY, |f| f.width)
            })
            .collect();
        Self { mesh, beside, rest, clearance }
    }

    /// The narrowest place of a deformed state, displacements by mesh node.
    #[must_use]
    pub fn at(&self, displacements: &[[f64; 2]]) -> Narrowest {
        let now = displaced(self.mesh, displacements);
        let border = Border::new(&now, &self.beside);
        let moved = largest(0.0, displacements.iter().map(|u| u[0].hypot(u[1])));
        let allowed = |e: usize| APPROACHED * self.clearance[e];
        let mut narrowest: Option<Facing> = None;
        for e in 0..now.len() {
            let so_far = narrowest.map_or(f64::INFINITY, |f| f.width);
            let within = min(min(allowed(e), REACH * moved), so_far);
            narrowest = border.facing(e, within, allowed).or(narrowest);
        }
        let gap = narrowest.map(|f| {
            let places = |edges: &[Parabola]| {
                [edges[f.edges[0]].at(f.at[0]), edges[f.edges[1]].at(f.at[1])].map(|p| [p.x, p.y])
            };
            let at_rest = min(self.clearance[f.edges[0]], self.clearance[f.edges[1]]);
            Gap { width: f.width, at_rest, rest: places(&self.rest), now: places(&now) }
        });
        let crossing = border.crossing().map(|([e, f], at)| Crossing {
            rest: [e, f].map(|k| self.rest[k].at(0.5)).map(|p| [p.x, p.y]),
            now: [at.x, at.y],
        });
        Narrowest { gap, crossing }
    }
}

/// Whether the border of a mesh crosses itself in a deformed state, displacements by mesh node: what [`Gaps::at`] tells
/// of it, without its search for gaps.
#[must_use]
pub fn crosses_itself(mesh: &Mesh, displacements: &[[f64; 2]]) -> bool {
    let edges = displaced(mesh, displacements);
    Border::without_sides(&edges, &beside(mesh)).crossing().is_some()
}

/// The border of a deformed state, displacements by mesh node.
fn displaced(mesh: &Mesh, displacements: &[[f64; 2]]) -> Vec<Parabola> {
    edges(mesh, |n| Vec2::new(displacements[n][0], displacements[n][1]))
}

fn edges(mesh: &Mesh, shift: impl Fn(usize) -> Vec2) -> Vec<Parabola> {
    let place = |n: usize| mesh.nodes()[n] + shift(n);
    mesh.boundary().iter().map(|e| Parabola::new(e.nodes.map(|n| place(n.index())))).collect()
}

/// The edges before and behind each edge of the border.
pub(crate) fn beside(mesh: &Mesh) -> Vec<[usize; 2]> {
    let boundary = mesh.boundary();
    let mut list: Vec<[usize; 2]> = (0..boundary.len()).map(|e| [e, e]).collect();
    let mut start = vec![usize::MAX; mesh.nodes().len()];
    for (e, edge) in boundary.iter().enumerate() {
        start[edge.nodes[0].index()] = e;
    }
    for (e, edge) in boundary.iter().enumerate() {
        let next = start[edge.nodes[2].index()];
        if next != usize::MAX {
            list[e][1] = next;
            list[next][0] = e;
        }
    }
    list
}

/// The border in one state.
struct Border<'a> {
    edges: &'a [Parabola],
    beside: &'a [[usize; 2]],
    tree: BoxTree,
    boxes: Vec<Rect>,
    sides: Vec<Side>,
}

/// An edge in short: what decides quickly that another one does not face it.
#[derive(Clone, Copy)]
struct Side {
    hull: [Point; 3],
    /// The ways that leave the edge within [`FACING`] of one of its normals lie between the first and the last of these,
    /// the left one and the right one, around the middle one; `None` where they fill half the plane or nearly.
    cone: Option<[Vec2; 3]>,
}

impl Side {
    /// An edge between two others.
    fn new(edge: &Parabola, before: &Parabola, behind: &Parabola) -> Self {
        let axis = outward(edge.chord());
        // At an end the normals fan out to the next edge's.
        let along = [
            edge.derivative(0.0),
            edge.derivative(1.0),
            before.derivative(1.0),
            behind.derivative(0.0),
        ];
        let turn = |along: Vec2| {
            let normal = outward(along);
            axis.cross(normal).atan2(axis.dot(normal)).abs()
        };
        let half = FACING.acos() + largest(0.0, along.map(turn));
        let narrow = half < 0.9 * std::f64::consts::FRAC_PI_2;
        let rotated = |angle: f64| {
            let (sin, cos) = angle.sin_cos();
            Vec2::new(cos * axis.x - sin * axis.y, sin * axis.x + cos * axis.y)
        };
        Self { hull: edge.hull(), cone: narrow.then(|| [rotated(half), axis, rotated(-half)]) }
    }

    /// Whether a way from some place of this edge to some place of the hull of others may leave it along a normal.
    fn may_face(&self, others: &[Point]) -> bool {
        let Some([left, axis, right]) = self.cone else { return true };
        let (mut all_left, mut all_behind, mut all_right) = (true, true, true);
        for p in self.hull {
            for &q in others {
                // Ways between two hulls lie in the hull of those between their corners.
                let way = q - p;
                all_left &= left.cross(way) > 0.0;
                all_behind &= axis.dot(way) < 0.0;
                all_right &= right.cross(way) < 0.0;
            }
        }
        !(all_left || all_behind || all_right)
    }
}

/// Two edges that face each other.
#[derive(Clone, Copy, Debug)]
struct Facing {
    width: f64,
    edges: [usize; 2],
    /// Parameters of the nearest points.
    at: [f64; 2],
}

impl<'a> Border<'a> {
    /// A border that is asked only where it crosses itself.
    fn without_sides(edges: &'a [Parabola], beside: &'a [[usize; 2]]) -> Self {
        let boxes: Vec<Rect> = edges.iter().map(Parabola::bounds).collect();
        Self { edges, beside, tree: BoxTree::new(&boxes), boxes, sides: Vec::new() }
    }

    fn new(edges: &'a [Parabola], beside: &'a [[usize; 2]]) -> Self {
        let side = |(edge, [before, behind]): (&Parabola, &[usize; 2])| {
            Side::new(edge, &edges[*before], &edges[*behind])
        };
        let sides = edges.iter().zip(beside).map(side).collect();
        Self { sides, ..Self::without_sides(edges, beside) }
    }

    /// The nearest edge that faces an edge nearer than `within`, and nearer than `allowed` for itself.
    fn facing(&self, e: usize, within: f64, allowed: impl Fn(usize) -> f64) -> Option<Facing> {
        let own = &self.edges[e];
        let middle = own.at(0.5);
        // No point of the edge is farther from its middle than this.
        let reach = largest(0.0, self.sides[e].hull.iter().map(|p| p.distance(middle)));
        let mut best: Option<Facing> = None;
        let may_count = |r: &Rect| {
            let corners = [(r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1)];
            self.sides[e].may_face(&corners.map(Point::from))
        };
        self.tree.least_where(middle, 1.0, within + reach, may_count, |f| {
            let most = best.map_or(within, |b| b.width);
            match self.pair(e, f, most).filter(|found| found.width < min(most, allowed(f))) {
                Some(found) => {
                    best = Some(found);
                    found.width + reach
                }
                None => f64::INFINITY,
            }
        });
        best
    }

    /// The gap between two edges, if they are nearer than `most` and face each other.
    fn pair(&self, e: usize, f: usize, most: f64) -> Option<Facing> {
        if e == f || self.beside[e].contains(&f) {
            return None;
        }
        let (own, other) = (&self.edges[e], &self.edges[f]);
        if box_distance(&self.boxes[e], &self.boxes[f]) >= most
            || !self.sides[e].may_face(&self.sides[f].hull)
            || !self.sides[f].may_face(&self.sides[e].hull)
        {
            return None;
        }
        let near = own.nearest(other, most)?;
        let way = other.at(near.t) - own.at(near.s);
        if !(near.distance > 0.0 && near.distance < most) {
            return None;
        }
        let way = way / near.distance;
        let faces = self.slant(e, near.s, way) >= FACING && self.slant(f, near.t, -way) >= FACING;
        faces.then_some(Facing { width: near.distance, edges: [e, f], at: [near.s, near.t] })
    }

    /// Cosine between a way that leaves an edge and the outward normal there; 1 anywhere in the fan of
    /// normals of an outward corner.
    fn slant(&self, e: usize, s: f64, way: Vec2) -> f64 {
        let here = self.edges[e].derivative(s);
        let other = if s <= 0.0 {
            Some((self.edges[self.beside[e][0]].derivative(1.0), here))
        } else if s >= 1.0 {
            Some((here, self.edges[self.beside[e][1]].derivative(0.0)))
        } else {
            None
        };
        let cosine = |along: Vec2| outward(along).dot(way);
        let Some((before, behind)) = other else { return cosine(here) };
        let (first, second) = (outward(before), outward(behind));
        let in_fan = first.cross(way) >= 0.0 && way.cross(second) >= 0.0;
        if before.cross(behind) > 0.0 && in_fan {
            return 1.0;
        }
        withy_mesh::number::max(cosine(before), cosine(behind))
    }

    /// The first place where two edges without a common node cross.
    fn crossing(&self) -> Option<([usize; 2], Point)> {
        (0..self.edges.len()).find_map(|e| {
            let mut found: Option<([usize; 2], Point)> = None;
            self.tree.for_each_in(&self.boxes[e], |f| {
                let earlier = found.is_some_and(|(pair, _)| pair[1] <= f);
                if f > e && !earlier && !self.beside[e].contains(&f) {
                    let at = self.edges[e].crossing(&self.edges[f]);
                    found = at.map(|at| ([e, f], at)).or(found);
                }
            });
            found
        })
    }
}

/// The unit normal to the right of a direction: outwards, as the material is on the left.
#[must_use]
pub fn outward(along: Vec2) -> Vec2 {
    Vec2::new(along.y, -along.x) / along.hypot()
}

fn box_distance(a: &Rect, b: &Rect) -> f64 {
    let between = |a0: f64, a1: f64, b0: f64, b1: f64| {
        if b0 > a1 {
            b0 - a1
        } else if a0 > b1 {
            a0 - b1
        } else {
            0.0
        }
    };
    between(a.x0, a.x1, b.x0, b.x1).hypot(between(a.y0, a.y1, b.y0, b.y1))
}
