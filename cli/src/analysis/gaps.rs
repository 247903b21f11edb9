//! Edges that come near each other along the draw, or meet.

use super::limits::{Limit, LimitKind};
use crate::picture::three_digits;
use crate::remark::Remark;
use withy_solver::Narrowest;

/// A gap this narrow may be none in a print (mm): two printed edges, each a tenth of a millimetre off
/// (common practice, no source).
const PRINTED: f64 = 0.2;
/// A place to mark: where edges meet, or nearly do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NarrowPlace {
    /// Where it is in the state (mm).
    pub now: [f64; 2],
    /// Where it is at rest (mm).
    pub rest: [f64; 2],
    /// Width; none if the edges have run into each other (mm).
    pub width: Option<f64>,
}

/// The place of a state to mark, if any edges meet or nearly do.
#[must_use]
pub fn narrow_place(state: &Narrowest) -> Option<NarrowPlace> {
    let middle = |p: [[f64; 2]; 2]| [0, 1].map(|i| 0.5 * (p[0][i] + p[1][i]));
    if let Some(crossing) = &state.crossing {
        return Some(NarrowPlace { now: crossing.now, rest: middle(crossing.rest), width: None });
    }
    let gap = state.gap.filter(|g| g.width <= PRINTED)?;
    Some(NarrowPlace { now: middle(gap.now), rest: middle(gap.rest), width: Some(gap.width) })
}

/// Says where edges meet, or nearly do.
pub(super) fn remark_on_gaps(states: &[Narrowest], limits: &[Limit], remarks: &mut Vec<Remark>) {
    let place = |p: [f64; 2]| format!("({}, {}) mm", three_digits(p[0]), three_digits(p[1]));
    let touch = limits.iter().find(|l| l.kind == LimitKind::Touch);
    let crossed = states.iter().find(|s| s.crossing.is_some()).and_then(narrow_place);
    if let (Some(touch), Some(found)) = (touch, crossed) {
        remarks.push(Remark::error(
            "touches",
            format!(
                "from {:.1} % of the draw on the part touches itself, near {} at rest. No contact is \
                 computed (`contact = false`): beyond that draw its edges run through each other, and \
                 no number is that of a real part. Draw it less far, or give it more room there",
                100.0 * touch.fraction,
                place(touch.place.unwrap_or(found.rest))
            ),
        ));
        return;
    }
    if states.iter().any(|s| s.crossing.is_some()) {
        // It touches, and pushes: told where contact is.
        return;
    }
    let near = states.iter().filter_map(narrow_place);
    let nearest = near.min_by(|a, b| a.width.unwrap_or(0.0).total_cmp(&b.width.unwrap_or(0.0)));
    if let Some(found) = nearest {
        remarks.push(Remark::caution(
            "nearly-touches",
            format!(
                "a gap near {} at rest closes to {} mm: the part nearly touches itself there, and one \
                 printed a little off its drawing may do so",
                place(found.rest),
                three_digits(found.width.unwrap_or(0.0))
            ),
        ));
    }
}
