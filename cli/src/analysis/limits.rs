//! How far the part may be drawn, and what ends it.
//!
//! Each limit is a quantity that passes a value along the path; the draw where it does is found by
//! interpolation between reported states. The least of them governs.

use super::{Axis, Guidance, StepPeaks};
use crate::case::Case;
use withy_solver::{CriticalPoint, Step};

/// What may end a draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitKind {
    /// The hot spot's von Mises stress reaches the yield strength.
    Yield,
    /// The hot spot's largest principal stress reaches the strength.
    Break,
    /// Nothing holds the region in line any more.
    Guidance,
    /// The part no longer pulls back.
    NoReturn,
    /// The shape is not stable.
    Stability,
}

impl LimitKind {
    /// What happens there, in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Yield => "it yields and takes a set",
            Self::Break => "it breaks",
            Self::Guidance => "nothing holds it in line",
            Self::NoReturn => "it no longer pulls back",
            Self::Stability => "it buckles aside",
        }
    }

    /// A stable short name for programs.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Yield => "yield",
            Self::Break => "break",
            Self::Guidance => "guidance",
            Self::NoReturn => "no-return",
            Self::Stability => "stability",
        }
    }
}

/// A limit that is reached within the draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Which.
    pub kind: LimitKind,
    /// Fraction of the draw at which it is reached.
    pub fraction: f64,
}

/// All limits reached within the draw, the first one first.
pub(super) fn limits(
    case: &Case,
    steps: &[Step],
    critical: &[CriticalPoint],
    peaks: &[StepPeaks],
    region: Option<(&str, usize)>,
    guidance: &[Guidance],
) -> Vec<Limit> {
    let fractions: Vec<f64> = steps.iter().map(|s| s.fraction).collect();
    let mut found = Vec::new();
    let mut look = |kind, start: f64, values: &mut dyn Iterator<Item = f64>| {
        if let Some(fraction) = first_zero(&fractions, start, values) {
            found.push(Limit { kind, fraction });
        }
    };
    if let Some(strength) = &case.material.yield_strength {
        let margin = peaks.iter().map(|p| strength.value - p.von_mises);
        look(LimitKind::Yield, strength.value, &mut { margin });
    }
    if let Some(strength) = &case.material.ultimate_strength {
        let margin = peaks.iter().map(|p| strength.value - p.tension);
        look(LimitKind::Break, strength.value, &mut { margin });
    }
    if let Some(first) = guidance.first() {
        look(LimitKind::Guidance, first.smallest, &mut guidance.iter().map(|g| g.smallest));
    }
    if let Some((name, index)) = region {
        let axis = Axis::of(case, name);
        let efforts = steps.iter().map(|s| axis.effort(&s.reactions[index]));
        // At rest there is no force; just behind it there is.
        look(LimitKind::NoReturn, f64::MIN_POSITIVE, &mut { efforts });
    }
    let branch = critical.iter().find(|c| c.negative_pivots[1] > c.negative_pivots[0]);
    if let Some(branch) = branch {
        found.push(Limit { kind: LimitKind::Stability, fraction: branch.fraction });
    }
    found.sort_by(|a, b| a.fraction.total_cmp(&b.fraction));
    found
}

/// Where values at some fractions first fall to zero, starting from `start` at rest; 0 if they start
/// there, which errs on the safe side where `start` is only the first state's value.
fn first_zero(fractions: &[f64], start: f64, values: &mut dyn Iterator<Item = f64>) -> Option<f64> {
    if start <= 0.0 {
        return Some(0.0);
    }
    let mut before = (0.0, start);
    for (&fraction, value) in fractions.iter().zip(values) {
        if value <= 0.0 {
            let share = before.1 / (before.1 - value);
            return Some(before.0 + share * (fraction - before.0));
        }
        before = (fraction, value);
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_zero_is_found_between_states() {
        let fractions = [0.25, 0.5, 0.75, 1.0];
        let values = [3.0, 1.0, -1.0, -3.0];
        let at = first_zero(&fractions, 4.0, &mut values.into_iter()).unwrap();
        assert!((at - 0.625).abs() < 1e-12, "{at}");
        assert!(first_zero(&fractions, 4.0, &mut [3.0, 2.0, 1.0, 0.5].into_iter()).is_none());
    }

    /// A value that is gone at the first state already once divided zero by zero.
    #[test]
    fn what_is_gone_at_the_first_state_is_reached_at_once() {
        let at = first_zero(&[0.5, 1.0], -2.0, &mut [-2.0, -3.0].into_iter());
        assert_eq!(at.map(f64::to_bits), Some(0f64.to_bits()), "{at:?}");
    }
}
