//! Sharp re-entrant corners: where the stress of linear elasticity has no finite value.

use crate::curve::Curve;
use crate::outline::{Loop, Outline};
use kurbo::Point;
use std::f64::consts::PI;

/// Tangents may differ by this much at a smooth joint (rad): 5 degrees, what drawings leave at
/// joints that are meant to be smooth. The stress concentration of such a kink is negligible.
pub const SMOOTH_JOINT: f64 = PI / 36.0;

/// A joint of two curves where the material takes more than a half turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReentrantCorner {
    /// The place (mm).
    pub at: Point,
    /// Angle inside the material (rad), between pi and 2 pi.
    pub angle: f64,
    /// The loop of the outline.
    pub loop_index: usize,
    /// The curve that begins at the corner.
    pub curve_index: usize,
}

/// How far the direction turns at the start of a curve, positive to the left (rad).
pub(crate) fn turn_at(one: &Loop, curve_index: usize) -> f64 {
    let n = one.curves.len();
    let before = one.curves[(curve_index + n - 1) % n].tangent(1.0);
    let after = one.curves[curve_index].tangent(0.0);
    before.cross(after).atan2(before.dot(after))
}

impl Outline {
    /// The sharp re-entrant corners, loop by loop.
    #[must_use]
    pub fn sharp_reentrant_corners(&self) -> Vec<ReentrantCorner> {
        let mut corners = Vec::new();
        for (loop_index, one) in self.loops().iter().enumerate() {
            for (curve_index, at) in one.curves.iter().map(Curve::start).enumerate() {
                let turn = turn_at(one, curve_index);
                if turn < -SMOOTH_JOINT {
                    corners.push(ReentrantCorner { at, angle: PI - turn, loop_index, curve_index });
                }
            }
        }
        corners
    }
}
