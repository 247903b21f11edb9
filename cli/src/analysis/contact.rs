//! The part pushing rails, pins and itself: where it begins, how hard it pushes.

use super::limits::{Limit, LimitKind};
use crate::case::{Case, SelfContact};
use crate::picture::three_digits;
use crate::remark::Remark;
use withy_mesh::number::largest;
use withy_solver::{Narrowest, Step};

/// The overlap that pushing surfaces keep may hold this share of the energy; more is no longer nothing.
const MOST_OVERLAP: f64 = 0.01;

/// The remark that pressure is lost in an overlap.
pub const OVERLAP: &str = "overlap";
/// The remark that edges have run through each other in spite of contact.
pub const RUNS_THROUGH: &str = "runs-through";

/// Where the part begins to push.
#[derive(Clone, Debug, PartialEq)]
pub struct Meeting {
    /// The rail or pin; `None` where it pushes itself.
    pub obstacle: Option<String>,
    /// Fraction of the draw.
    pub fraction: f64,
    /// Travel of the first moving region there, along its draw (mm or degrees).
    pub travel: Option<f64>,
    /// Where in the part, at rest (mm).
    pub place: Option<[f64; 2]>,
}

/// A case whose edges push on each other where they touch.
#[must_use]
pub fn in_contact(case: &Case) -> Case {
    let mut case = case.clone();
    case.self_contact = SelfContact::On;
    case
}

/// Parts what is met and pushes back from what ends the draw.
pub(super) fn told_apart(case: &Case, limits: Vec<Limit>) -> (Vec<Meeting>, Vec<Limit>) {
    let itself = case.self_contact == SelfContact::On;
    let meets = |l: &Limit| l.kind == LimitKind::Meets || (l.kind == LimitKind::Touch && itself);
    let (met, left): (Vec<Limit>, Vec<Limit>) = limits.into_iter().partition(meets);
    let meeting = |l: Limit| Meeting {
        obstacle: l.region,
        fraction: l.fraction,
        travel: l.travel,
        place: l.place,
    };
    (met.into_iter().map(meeting).collect(), left)
}

/// Sum of the forces of a state on a rail or pin, or of the part on itself (N).
#[must_use]
pub fn push(step: &Step, obstacle: Option<&str>) -> f64 {
    let of = step.pushing.touches.iter().filter(|t| t.obstacle.as_deref() == obstacle);
    of.map(|t| t.force[0].hypot(t.force[1])).sum()
}

/// Says what contact was computed, and where it is not to be trusted.
pub(super) fn remark_on_contact(
    case: &Case,
    steps: &[Step],
    states: &[Narrowest],
    meetings: &[Meeting],
    remarks: &mut Vec<Remark>,
) {
    if case.self_contact == SelfContact::On
        && let Some(first) = meetings.iter().find(|m| m.obstacle.is_none())
    {
        let place = first.place.map_or_else(String::new, |[x, y]| {
            format!(", near ({}, {}) mm at rest", three_digits(x), three_digits(y))
        });
        remarks.push(Remark::note(
            "contact",
            format!(
                "from {:.1} % of the draw on the part touches itself{place}: its edges push on each \
                 other there, without friction",
                100.0 * first.fraction
            ),
        ));
    }
    let own = |s: &Step| s.pushing.touches.iter().any(|t| t.obstacle.is_none());
    let through =
        steps.iter().zip(states).find(|(step, state)| state.crossing.is_some() && !own(step));
    if case.self_contact == SelfContact::On
        && let Some((step, _)) = through
    {
        remarks.push(Remark::error(
            RUNS_THROUGH,
            format!(
                "at {:.1} % of the draw edges have run through each other: no number from there on is \
                 that of a real part. Solve it in more steps",
                100.0 * step.fraction
            ),
        ));
    }
    let share = |s: &Step| s.pushing.overlap_energy / s.strain_energy;
    let pushing = steps.iter().filter(|s| !s.pushing.touches.is_empty());
    let overlap = largest(0.0, pushing.map(share));
    if overlap > MOST_OVERLAP {
        remarks.push(Remark::caution(
            OVERLAP,
            format!(
                "surfaces that push overlap a little in the computation, and {:.1} % of the energy is in \
                 that overlap: forces are that much too small",
                100.0 * overlap
            ),
        ));
    }
}
