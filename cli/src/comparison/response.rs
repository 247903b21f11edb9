//! What a solved draw tells, ready to be read for another modulus.
//!
//! Linear between stress and strain, driven by displacements and free of dead loads, the equations of
//! equilibrium are homogeneous in Young's modulus E: shape and strain stay, forces, energies and stresses
//! go with E. Poisson's ratio is not a factor and needs a solve of its own, and so do other proportions between the
//! moduli of beads.

use super::beads::Proportions;
use crate::analysis::{Analysis, Axis, Limit, LimitKind, StepPeaks, moving_regions};
use crate::case::Case;
use withy_mesh::number::{largest, max};
use withy_solver::Step;
use withy_solver::curve::{SmoothCurve, stencil};

/// The draw of one solve, rest first.
#[derive(Clone, Debug)]
pub struct Response {
    /// Young's modulus that it is for (MPa).
    pub youngs_modulus: f64,
    /// What it was solved with besides.
    pub proportions: Proportions,
    /// Fraction of the draw by state.
    pub fractions: Vec<f64>,
    /// Travel of the first moving region along its draw, by state (mm or degrees).
    pub travel: Vec<f64>,
    /// What that needs, by state (N or N mm).
    pub effort: Vec<f64>,
    /// Stored energy by fraction (mJ).
    pub energy: SmoothCurve,
    /// Peaks by state.
    pub peaks: Vec<StepPeaks>,
    /// What the hand gives on the first moving region, if that is known (N or N mm).
    pub hand: Option<f64>,
    /// What ends the draw besides stress and hand: the same for every modulus.
    pub limits: Vec<Limit>,
}

impl Response {
    /// The response of an analysis.
    #[must_use]
    pub fn of(case: &Case, analysis: &Analysis) -> Option<Self> {
        let solution = &analysis.solution;
        let limits =
            solution.limits.iter().filter(|l| !goes_with_the_modulus(l.kind)).cloned().collect();
        Self::new(case, &solution.path.steps, &solution.peaks, limits)
    }

    /// The response of the states of a path with their peaks; `None` if there is no state.
    pub(super) fn new(
        case: &Case,
        steps: &[Step],
        peaks: &[StepPeaks],
        limits: Vec<Limit>,
    ) -> Option<Self> {
        let name = moving_regions(case).first().copied()?;
        let axis = Axis::of(case, name);
        let from_rest = |value: &dyn Fn(&Step) -> f64| -> Vec<f64> {
            std::iter::once(0.0).chain(steps.iter().map(value)).collect()
        };
        let fractions = from_rest(&|s| s.fraction);
        let energy = from_rest(&|s| s.strain_energy);
        let slope = if case.loads.is_empty() {
            from_rest(&|s| power(case, s))
        } else {
            (0..fractions.len())
                .map(|i| stencil(&fractions, i, 4).iter().map(|&(k, w)| w * energy[k]).sum())
                .collect()
        };
        let rest = StepPeaks { von_mises: 0.0, tension: 0.0, strain: 0.0 };
        Some(Self {
            youngs_modulus: case.material.youngs_modulus.value,
            proportions: Proportions::of(case, &case.material),
            travel: from_rest(&|s| axis.travel(s.rigid[0])),
            effort: from_rest(&|s| axis.effort(&s.reactions[0])),
            energy: SmoothCurve::with_slopes(fractions.clone(), energy, slope)?,
            fractions,
            peaks: std::iter::once(rest).chain(peaks.iter().copied()).collect(),
            hand: case.hand.and_then(|hand| match axis {
                Axis::Along(_) => hand.force,
                Axis::Turn(_) => hand.moment,
            }),
            limits,
        })
    }

    /// The same draw of the same part with another modulus and the same proportions.
    #[must_use]
    pub fn scaled(&self, youngs_modulus: f64) -> Self {
        let factor = youngs_modulus / self.youngs_modulus;
        let scale = |list: &[f64]| list.iter().map(|v| factor * v).collect();
        Self {
            youngs_modulus,
            effort: scale(&self.effort),
            energy: self.energy.times(factor),
            peaks: self
                .peaks
                .iter()
                .map(|p| StepPeaks {
                    von_mises: factor * p.von_mises,
                    tension: factor * p.tension,
                    strain: p.strain,
                })
                .collect(),
            ..self.clone()
        }
    }

    /// The last fraction that was solved.
    #[must_use]
    pub fn reached(&self) -> f64 {
        self.fractions[self.fractions.len() - 1]
    }

    /// Effort at the last state (N or N mm).
    #[must_use]
    pub fn full_effort(&self) -> f64 {
        self.effort[self.effort.len() - 1]
    }

    /// The worst of a peak over the whole draw.
    #[must_use]
    pub fn worst(&self, of: fn(&StepPeaks) -> f64) -> f64 {
        largest(0.0, self.peaks.iter().map(of))
    }

    /// Travel at a fraction, between the states (mm or degrees).
    #[must_use]
    pub fn travel_at(&self, fraction: f64) -> f64 {
        between(&self.fractions, &self.travel, fraction)
    }

    /// The fraction at which a peak first reaches a value.
    #[must_use]
    pub fn first_at(&self, of: fn(&StepPeaks) -> f64, value: f64) -> Option<f64> {
        self.first_reach(|i| of(&self.peaks[i]), value)
    }

    /// The fraction at which the draw first needs all that the hand gives.
    #[must_use]
    pub fn beyond_hand(&self) -> Option<f64> {
        self.first_reach(|i| self.effort[i], self.hand?)
    }

    /// Between the states values are those of a cubic with their slopes.
    fn first_reach(&self, of: impl Fn(usize) -> f64, value: f64) -> Option<f64> {
        let values: Vec<f64> = (0..self.fractions.len()).map(of).collect();
        let i = values.iter().position(|v| *v >= value)?;
        if i == 0 {
            return Some(0.0);
        }
        let (mut low, mut high) = (self.fractions[i - 1], self.fractions[i]);
        let slope =
            |i: usize| stencil(&self.fractions, i, 4).iter().map(|&(k, w)| w * values[k]).sum();
        let slopes = (0..values.len()).map(slope).collect();
        let curve = SmoothCurve::with_slopes(self.fractions.clone(), values.clone(), slopes)?;
        while high - low > LOCATED {
            let middle = 0.5 * (low + high);
            if curve.at(middle) < value {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(high)
    }
}

/// Limits are located to this part of the draw.
const LOCATED: f64 = 1e-6;

/// Whether a limit is one of stress or force, which are other ones in another material.
fn goes_with_the_modulus(kind: LimitKind) -> bool {
    matches!(kind, LimitKind::Yield | LimitKind::Break | LimitKind::Hand)
}

/// Work of the drives by fraction of the draw, which is the slope of the stored energy (mJ).
fn power(case: &Case, step: &Step) -> f64 {
    case.drives
        .iter()
        .zip(&step.reactions)
        .map(|(d, r)| r.force[0] * d.shift[0] + r.force[1] * d.shift[1] + r.moment * d.turn)
        .sum()
}

fn between(x: &[f64], y: &[f64], at: f64) -> f64 {
    let i = x.partition_point(|p| *p <= at).clamp(1, x.len() - 1);
    let share = (at - x[i - 1]) / (x[i] - x[i - 1]);
    y[i - 1] + max(0.0, share) * (y[i] - y[i - 1])
}
