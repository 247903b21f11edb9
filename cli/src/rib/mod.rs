//! One rib by three calculations: the handbook's formula, the beam, plane stress with its root's fillets.
//!
//! The rib's root is on the frame, its other end on the carriage, whose draw goes down the page. `angle`
//! is that between the draw and the rib, seen from its root: at 90 degrees the rib lies square to the
//! draw, below it is stretched as it bends, above it is pushed and folds.

pub mod beam;
pub mod hand;
pub mod part;
mod read;
pub mod report;

pub use read::{RibCause, RibError, read};

use crate::material::Card;
use crate::remark::Remark;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the moving end of a rib is kept.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, Serialize, JsonSchema, clap::ValueEnum,
)]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// The carriage neither turns nor goes aside: a rib with its mirror image on the other side.
    #[default]
    Guided,
    /// The carriage does not turn, and goes aside freely.
    Aside,
    /// The end turns and goes aside freely: a cantilever.
    Free,
}

impl End {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Guided => "carriage kept from turning and from going aside",
            Self::Aside => "carriage kept from turning, free to go aside",
            Self::Free => "end free to turn and to go aside",
        }
    }
}

/// A rib in numbers, checked.
#[derive(Clone, Debug)]
pub struct Rib {
    /// Between its roots, along its axis (mm).
    pub length: f64,
    /// In the plane (mm).
    pub width: f64,
    /// Out of the plane (mm).
    pub thickness: f64,
    /// From the draw to the rib (rad).
    pub angle: f64,
    /// Full draw (mm).
    pub draw: f64,
    /// Radius of the root's fillets (mm).
    pub fillet: f64,
    /// Its moving end.
    pub end: End,
    /// What it is printed from.
    pub material: Card,
    /// The draw is shown in so many equal parts.
    pub steps: u32,
    /// Relative change below which the hot spot's stress is accepted.
    pub accuracy: f64,
    /// What was assumed.
    pub remarks: Vec<Remark>,
}

impl Rib {
    /// Sine and cosine of the angle between draw and rib.
    #[must_use]
    pub fn across_along(&self) -> (f64, f64) {
        self.angle.sin_cos()
    }

    /// "Rib of 36.0 x 1.20 x 6.00 mm at 70.0 deg to the draw".
    #[must_use]
    pub fn title(&self) -> String {
        let d = crate::picture::three_digits;
        format!(
            "Rib of {} x {} x {} mm at {} deg to the draw",
            d(self.length),
            d(self.width),
            d(self.thickness),
            d(self.angle.to_degrees())
        )
    }
}

/// Force along the draw and the largest stress of a rib, by draw.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    /// Draw (mm), rising; rest is not listed.
    pub draw: Vec<f64>,
    /// Force along the draw (N).
    pub force: Vec<f64>,
    /// Largest stress of the surface (MPa).
    pub stress: Vec<f64>,
    /// Whether each state is stable.
    pub stable: Vec<bool>,
}

impl Curve {
    /// The draw at which the stress first reaches a value, between states on straight lines.
    #[must_use]
    pub fn reaches(&self, stress: f64) -> Option<f64> {
        first_crossing(&self.draw, self.stress.iter().map(|s| s - stress), -stress)
    }

    /// The draw at which a force in proportion to it is off this curve's by more than a share.
    #[must_use]
    pub fn departs(&self, stiffness: f64, share: f64) -> Departure {
        let off = |(x, f): (&f64, &f64)| (stiffness * x / f - 1.0).abs() - share;
        let over: Vec<f64> = self.draw.iter().zip(&self.force).map(off).collect();
        match (over.first(), first_crossing(&self.draw, over.iter().copied(), f64::NAN)) {
            (Some(first), _) if *first > 0.0 => Departure::FromTheStart,
            (_, Some(draw)) => Departure::At(draw),
            _ => Departure::NotYet,
        }
    }
}

/// Where a formula leaves a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Departure {
    /// It is off in the first state already.
    FromTheStart,
    /// From this draw on (mm).
    At(f64),
    /// Not within the draw that was followed.
    NotYet,
}

/// Where values that belong to draws first rise through zero; `rest` is the value at no draw.
fn first_crossing(draw: &[f64], values: impl Iterator<Item = f64>, rest: f64) -> Option<f64> {
    let mut before = (0.0, rest);
    for (&x, v) in draw.iter().zip(values) {
        if v > 0.0 {
            let share = before.1 / (before.1 - v);
            return Some(if share.is_nan() { x } else { before.0 + share * (x - before.0) });
        }
        before = (x, v);
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve() -> Curve {
        Curve {
            draw: vec![1.0, 2.0, 3.0],
            force: vec![2.0, 4.2, 7.0],
            stress: vec![10.0, 22.0, 40.0],
            stable: vec![true; 3],
        }
    }

    #[test]
    fn crossings_are_found_between_states() {
        assert_eq!(curve().reaches(5.0), Some(0.5), "before the first state");
        assert_eq!(curve().reaches(31.0), Some(2.5), "between two");
        assert_eq!(curve().reaches(50.0), None, "not reached");
    }

    #[test]
    fn a_formula_departs_where_its_error_passes_the_share() {
        // 2 N/mm: exact, 4.8 % low, 14.3 % low.
        let Departure::At(draw) = curve().departs(2.0, 0.05) else { panic!("it departs") };
        assert!(draw > 2.0 && draw < 2.1, "{draw}");
        assert_eq!(curve().departs(2.0, 0.2), Departure::NotYet);
        assert_eq!(curve().departs(3.0, 0.05), Departure::FromTheStart);
    }
}
