//! Sharp tips: places where two strands leave a vertex with a small angle between them.
//!
//! The drawing's own angle stays in the mesh, whatever its size. Left alone, refinement would chase
//! it: the wedge is ever thinner towards its tip, and asks for ever smaller elements. So the tip is
//! closed by one triangle with two equal sides, the first edges of both strands; they are never
//! halved, and the wedge asks for its own size only beyond them. (The idea of shells around sharp
//! corners: Ruppert 1995, section 6.)
//!
//! A region's border that leaves the outline at a very small angle, as where it continues a
//! straight edge past a tangent fillet, would make a triangle without any angle there. It begins
//! as a strand only where it has parted from the outline by a fraction of an element.

use crate::arrangement::{Arrangement, Strand};
use crate::curve::Curve;
use crate::number::{max, min};
use crate::sizing::SizeField;
use kurbo::{Point, Vec2};
use std::f64::consts::{PI, TAU};

/// Angles below this are sharp: no triangulation is better than the angle itself.
const SHARP: f64 = PI / 3.0;
/// The first edges take at most this part of the shortest strand at the tip.
const REACH_FRACTION: f64 = 0.3;
/// Directions are taken at this part of the shortest strand: tangent strands part there.
const LOOK_FRACTION: f64 = 0.1;
/// A region's border begins late if it leaves another strand at less than this: 20 degrees, the
/// least angle that a triangle should have.
const GRAZING: f64 = PI / 9.0;
/// It begins where the gap has grown to this part of an element.
const GAP_FRACTION: f64 = 0.25;
/// Steps of looking for that place along the strand.
const GAP_STEPS: u32 = 200;

/// What is special at the ends of strands.
#[derive(Clone, Debug)]
pub(crate) struct Tips {
    /// For every vertex of the arrangement, the length of the first edges; 0 if it is no tip.
    reach: Vec<f64>,
    /// For every strand, the distances from its two ends (mm) where it begins and ends late.
    late: Vec<[f64; 2]>,
    /// For every vertex, the distance within which wedges ask for no size.
    quiet: Vec<f64>,
}

/// A strand seen from one of its ends.
#[derive(Clone, Copy)]
struct Arm {
    strand: usize,
    begins: bool,
}

struct Around<'a> {
    arrangement: &'a Arrangement,
    lengths: Vec<f64>,
}

impl Tips {
    /// The sharp tips; `field` is the element size without the wedges.
    pub(crate) fn new(arrangement: &Arrangement, field: &SizeField) -> Self {
        let mut arms: Vec<Vec<Arm>> = arrangement.vertices.iter().map(|_| Vec::new()).collect();
        for (strand, s) in arrangement.strands.iter().enumerate() {
            arms[s.ends[0]].push(Arm { strand, begins: true });
            arms[s.ends[1]].push(Arm { strand, begins: false });
        }
        let lengths = arrangement.strands.iter().map(Strand::length).collect();
        let around = Around { arrangement, lengths };
        let n = arms.len();
        let mut tips = Self {
            reach: vec![0.0; n],
            late: vec![[0.0; 2]; arrangement.strands.len()],
            quiet: vec![0.0; n],
        };
        for (vertex, mut arms) in arms.into_iter().enumerate() {
            let at = arrangement.vertices[vertex];
            // Each pass takes one grazing arm away; the others may still graze each other.
            while let Some((arm, other)) = around.grazing(&arms, at) {
                let gap = around.parting(arm, other, GAP_FRACTION * field.at(at));
                tips.late[arm.strand][usize::from(!arm.begins)] = gap;
                tips.quiet[vertex] = max(tips.quiet[vertex], gap);
                arms.retain(|a| (a.strand, a.begins) != (arm.strand, arm.begins));
            }
            if around.narrowest(&arms, at).is_some_and(|(angle, ..)| angle < SHARP) {
                let reach = min(field.at(at), REACH_FRACTION * around.shortest(&arms));
                tips.reach[vertex] = reach;
                tips.quiet[vertex] = max(tips.quiet[vertex], reach);
            }
        }
        tips
    }

    /// Length of the first edges at a vertex (mm), 0 if it is no tip.
    pub(crate) fn reach(&self, vertex: usize) -> f64 {
        self.reach.get(vertex).copied().unwrap_or(0.0)
    }

    /// Distances from the two ends where a strand begins and ends late (mm), usually 0.
    pub(crate) fn late(&self, strand: usize) -> [f64; 2] {
        self.late[strand]
    }

    /// Distance from a vertex within which wedges ask for no size (mm).
    pub(crate) fn quiet(&self, vertex: usize) -> f64 {
        self.quiet[vertex]
    }
}

impl Around<'_> {
    fn strand(&self, arm: Arm) -> &Strand {
        &self.arrangement.strands[arm.strand]
    }

    /// The strand as a curve that leaves the vertex.
    fn leaving(&self, arm: Arm) -> Curve {
        let part = self.strand(arm).part();
        if arm.begins { part } else { part.reversed() }
    }

    fn shortest(&self, arms: &[Arm]) -> f64 {
        arms.iter().fold(f64::INFINITY, |l, a| min(l, self.lengths[a.strand]))
    }

    /// The narrowest sector of material between neighbouring arms: its angle and the two arms.
    fn narrowest(&self, arms: &[Arm], at: Point) -> Option<(f64, Arm, Arm)> {
        let look = LOOK_FRACTION * self.shortest(arms);
        let mut directions: Vec<(f64, Arm)> = arms
            .iter()
            .map(|&arm| {
                let toward: Vec2 = self.leaving(arm).at(look / self.lengths[arm.strand]) - at;
                (toward.atan2(), arm)
            })
            .collect();
        directions.sort_by(|a, b| a.0.total_cmp(&b.0));
        let n = directions.len();
        let mut narrowest: Option<(f64, Arm, Arm)> = None;
        for i in 0..n {
            let ((from, one), (to, other)) = (directions[i], directions[(i + 1) % n]);
            // Counter-clockwise of an outline strand that ends here is the outside.
            let material = one.begins || self.strand(one).outline.is_none();
            let angle = (to - from).rem_euclid(TAU);
            if n > 1 && material && narrowest.is_none_or(|(least, ..)| angle < least) {
                narrowest = Some((angle, one, other));
            }
        }
        narrowest
    }

    /// A region's border that grazes its neighbour, and that neighbour.
    fn grazing(&self, arms: &[Arm], at: Point) -> Option<(Arm, Arm)> {
        let (angle, one, other) = self.narrowest(arms, at)?;
        // The angle at the very tip: of the tangents.
        let (u, v) = (self.leaving(one).tangent(0.0), self.leaving(other).tangent(0.0));
        let tangents = u.cross(v).atan2(u.dot(v)).abs();
        if !(angle < SHARP && tangents < GRAZING) {
            return None;
        }
        let is_region = |a: Arm| self.strand(a).outline.is_none();
        match (is_region(one), is_region(other)) {
            (true, true) if one.strand < other.strand => Some((other, one)),
            (true, _) => Some((one, other)),
            (false, true) => Some((other, one)),
            (false, false) => None,
        }
    }

    /// How far along an arm its distance from the other one has grown to `gap` (mm).
    fn parting(&self, arm: Arm, other: Arm, gap: f64) -> f64 {
        let (arm_curve, other) = (self.leaving(arm), self.leaving(other));
        let length = self.lengths[arm.strand];
        for k in 1..=GAP_STEPS {
            let t = f64::from(k) / f64::from(GAP_STEPS);
            if other.nearest(arm_curve.at(t)).1 >= gap {
                return t * length;
            }
        }
        length
    }
}
