//! Local thickness by a shrinking ball.
//!
//! A ball inside the material touches the border at p. It starts large and shrinks until no
//! border point q is inside: r = |q - p|^2 / (2 n . (q - p)) is the ball through p and q (Ma, Bae
//! and Choi, "3D medial axis point approximation using nearest neighbors and the normal field",
//! 2012). Its diameter is the thickness if p and q are nearly opposite. Near a convex corner they
//! are not, and the ball says nothing.

use crate::arrangement::{Arrangement, Strand};
use crate::border::Border;
use crate::number::min;
use crate::outline::{Loop, Outline};
use kurbo::{Point, Vec2};

/// The ball touches when no border point is inside by more than this fraction of its radius.
const TOUCHES: f64 = 1e-3;
/// Each step at least follows the nearest border point; five are usual.
const MOST_STEPS: u32 = 40;
/// Growth of a guess that was too small.
const GROWTH: f64 = 4.0;
/// Contact points count as opposite from 120 degrees on, seen from the centre.
const OPPOSITE_COSINE: f64 = -0.5;

/// The side of a strand, looking along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    Left,
    Right,
}

/// A ball between opposite borders.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ball {
    pub(crate) center: Point,
    pub(crate) thickness: f64,
    /// The vertex that both touched strands share, if they are the sides of a wedge.
    pub(crate) tip: Option<usize>,
}

/// All strands, ready to be measured between.
#[derive(Debug)]
pub(crate) struct Gauge {
    /// Outline strands only; they come first, so that their numbers agree.
    outline: Border,
    all: Border,
    ends: Vec<[usize; 2]>,
    size: f64,
}

impl Gauge {
    pub(crate) fn new(outline: &Outline, arrangement: &Arrangement) -> Self {
        // One "loop" a strand, so that a nearest point names its strand.
        let alone = |s: &Strand| Loop { curves: vec![s.part()], origin: String::new() };
        let loops: Vec<Loop> = arrangement.strands.iter().map(alone).collect();
        let outlines = arrangement.strands.iter().take_while(|s| s.outline.is_some()).count();
        Self {
            outline: Border::new(&loops[..outlines]),
            all: Border::new(&loops),
            ends: arrangement.strands.iter().map(|s| s.ends).collect(),
            size: outline.size(),
        }
    }

    /// The ball that touches a strand at parameter `t` on one side, if an opposite border stops it.
    ///
    /// A guess of its radius, as from a place nearby, saves most of the way from the part's size (mm).
    pub(crate) fn ball(
        &self,
        index: usize,
        strand: &Strand,
        t: f64,
        side: Side,
        guess: f64,
    ) -> Option<Ball> {
        let p = strand.curve.at(t);
        let tangent = strand.curve.tangent(t);
        let left = Vec2::new(-tangent.y, tangent.x);
        let normal = if side == Side::Left { left } else { -left };
        // The thickness of the material does not depend on the regions laid over it.
        let border = if strand.outline.is_some() { &self.outline } else { &self.all };
        let mut radius = min(guess, self.size);
        let mut contact = None;
        for _ in 0..MOST_STEPS {
            let center = p + normal * radius;
            let Some(near) = border.nearest(center, radius * (1.0 - TOUCHES)) else {
                if contact.is_none() && radius < self.size {
                    // The guess was too small.
                    radius = min(GROWTH * radius, self.size);
                    continue;
                }
                break;
            };
            let d = near.at - p;
            let smaller = 0.5 * d.hypot2() / normal.dot(d);
            if !(smaller > 0.0 && smaller < radius) {
                break;
            }
            radius = smaller;
            contact = Some(near);
        }
        let contact = contact?;
        let center = p + normal * radius;
        let (to_p, to_q) = ((p - center).normalize(), (contact.at - center).normalize());
        if !(to_p.dot(to_q) <= OPPOSITE_COSINE) {
            return None;
        }
        let tip = self.shared_vertex(index, contact.loop_index);
        Some(Ball { center, thickness: 2.0 * radius, tip })
    }

    /// The vertex that two different strands share.
    fn shared_vertex(&self, one: usize, other: usize) -> Option<usize> {
        let shared = self.ends[one].iter().copied().find(|v| self.ends[other].contains(v));
        shared.filter(|_| one != other)
    }
}
