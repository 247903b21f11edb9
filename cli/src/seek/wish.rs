//! What is wanted of a design, within what; how far a design is from it.

use crate::analysis::LimitKind;
use crate::design::{Model, Outcome};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a path that ends before full draw counts.
const STOPPED: f64 = -0.2;

/// What is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
pub enum Goal {
    /// The most energy stored at full draw.
    #[serde(rename = "most energy")]
    MostEnergy,
    /// The highest speed of what is thrown.
    #[serde(rename = "most speed")]
    MostSpeed,
    /// The least force along the draw that stores an energy.
    #[serde(rename = "least force")]
    LeastForce,
}

/// A goal and its conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// What is wanted.
    pub goal: Goal,
    /// Stored at least (mJ).
    pub energy: f64,
    /// Largest force along the draw (N).
    pub force: Option<f64>,
    /// Largest strain.
    pub strain: Option<f64>,
    /// Largest von Mises stress (MPa).
    pub stress: Option<f64>,
    /// Least stiffness across (N/mm).
    pub across: Option<f64>,
    /// Least stiffness in turn (N mm/deg).
    pub in_turn: Option<f64>,
}

/// What plane stress finds by what beams find.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// Of forces.
    pub effort: f64,
    /// Of the energy.
    pub energy: f64,
    /// Of strains.
    pub strain: f64,
    /// Of stresses.
    pub stress: f64,
    /// Of the stiffness across.
    pub across: f64,
    /// Of the stiffness in turn.
    pub in_turn: f64,
    /// Of the speed.
    pub speed: f64,
}

impl Correction {
    /// None.
    pub const NONE: Self = Self {
        effort: 1.0,
        energy: 1.0,
        strain: 1.0,
        stress: 1.0,
        across: 1.0,
        in_turn: 1.0,
        speed: 1.0,
    };

    /// From a design that both models have solved.
    #[must_use]
    pub fn of(plane: &Outcome, beam: &Outcome) -> Self {
        // Where the beams have nothing there is nothing to correct.
        let by = |a: f64, b: f64| if b.abs() > 0.0 && (a / b).is_finite() { a / b } else { 1.0 };
        let maybe = |a: Option<f64>, b: Option<f64>| a.zip(b).map_or(1.0, |(a, b)| by(a, b));
        Self {
            effort: by(plane.largest_effort, beam.largest_effort),
            energy: by(plane.energy, beam.energy),
            strain: by(plane.strain, beam.strain),
            stress: by(plane.stress, beam.stress),
            across: maybe(plane.across, beam.across),
            in_turn: maybe(plane.in_turn, beam.in_turn),
            speed: maybe(plane.speed, beam.speed),
        }
    }

    /// An outcome of beams as plane stress is likely to find it.
    #[must_use]
    pub fn apply(&self, beam: &Outcome) -> Outcome {
        Outcome {
            effort: beam.effort * self.effort,
            largest_effort: beam.largest_effort * self.effort,
            energy: beam.energy * self.energy,
            strain: beam.strain * self.strain,
            stress: beam.stress * self.stress,
            across: beam.across.map(|a| a * self.across),
            in_turn: beam.in_turn.map(|a| a * self.in_turn),
            speed: beam.speed.map(|a| a * self.speed),
            ..beam.clone()
        }
    }
}

impl Wish {
    /// What is to be made small, about 1 in size for a design like the first.
    #[must_use]
    pub fn cost(&self, o: &Outcome, first: &Outcome) -> f64 {
        match self.goal {
            Goal::MostEnergy => -o.energy / first.energy,
            Goal::MostSpeed => -o.speed.unwrap_or(0.0) / first.speed.unwrap_or(1.0),
            Goal::LeastForce => o.largest_effort / first.largest_effort,
        }
    }

    /// The conditions, each kept where it is 0 or more, relative to its limit and with a margin. `by` tells the model:
    /// of beams the limits of stress and force count as corrected, not as the beams alone would find them.
    #[must_use]
    pub fn conditions(&self, o: &Outcome, by: Model, margin: f64) -> [f64; Self::CONDITIONS] {
        let most = |value: f64, limit: Option<f64>| limit.map_or(1.0, |l| 1.0 - margin - value / l);
        let least = |value: Option<f64>, limit: Option<f64>| {
            limit.map_or(1.0, |l| value.unwrap_or(0.0) / l - 1.0 - margin)
        };
        let counted = |kind: LimitKind| {
            let corrected = [LimitKind::Yield, LimitKind::Break, LimitKind::Hand];
            by == Model::PlaneStress || !corrected.contains(&kind)
        };
        let free = match o.ends_by {
            Some(kind) if counted(kind) => o.safe_draw / o.draw - 1.0,
            _ => 0.0,
        };
        [
            if o.complete { free } else { STOPPED },
            o.bed_share.map_or(1.0, |s| 1.0 - s),
            most(o.largest_effort, self.force),
            most(o.strain, self.strain),
            most(o.stress, self.stress),
            least(o.across, self.across),
            least(o.in_turn, self.in_turn),
            if self.energy > 0.0 { o.energy / self.energy - 1.0 - margin } else { 1.0 },
        ]
    }

    /// How many conditions there are.
    pub const CONDITIONS: usize = 8;

    /// Names of the conditions.
    pub const NAMES: [&'static str; Self::CONDITIONS] = [
        "no limit within the draw",
        "the bed",
        "force",
        "strain",
        "stress",
        "guidance across",
        "guidance in turn",
        "energy",
    ];
}
