//! What keeps a moving region on its line: stiffness along, across and in turn.

use super::{Axis, moving_regions};
use crate::case::Case;
use withy_mesh::number::min;
use withy_solver::{Model, RegionStiffness, Step, stiffness_about};

/// Stiffnesses of one region about its draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Guidance {
    /// Along the draw (N/mm).
    pub axial: f64,
    /// Across it, to the left seen along the draw (N/mm).
    pub lateral: f64,
    /// Moment by turn (N mm per rad).
    pub yaw: f64,
    /// Moment by a shift across, and force across by turn (N).
    pub coupling: f64,
    /// Smallest eigenvalue of the block of lateral and yaw, turns measured by their path at
    /// [`Guidance::lever`] (N/mm). Where it passes zero nothing holds the region in line.
    pub smallest: f64,
    /// Lever by which turns are counted against shifts (mm).
    pub lever: f64,
    /// The same at the point that the part file asks for.
    pub elsewhere: Option<Elsewhere>,
}

/// Stiffness at a point of a region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elsewhere {
    /// The point at rest (mm).
    pub at: [f64; 2],
    /// Along the draw (N/mm).
    pub axial: f64,
    /// Across it (N/mm).
    pub lateral: f64,
    /// Moment about the point by turn about it (N mm per rad).
    pub yaw: f64,
    /// Moment by a shift of the point across (N).
    pub coupling: f64,
}

impl Guidance {
    /// The guidance of a region with a condensed stiffness, drawn along a unit vector.
    #[must_use]
    pub fn new(stiffness: &RegionStiffness, draw: [f64; 2], lever: f64) -> Self {
        let across = [-draw[1], draw[0]];
        let quadratic = |a: [f64; 2], b: [f64; 2]| {
            (0..2).map(|i| (0..2).map(|j| a[i] * stiffness[i][j] * b[j]).sum::<f64>()).sum::<f64>()
        };
        let lateral = quadratic(across, across);
        let coupling = stiffness[2][0] * across[0] + stiffness[2][1] * across[1];
        let yaw = stiffness[2][2];
        let (b, c) = (coupling / lever, yaw / (lever * lever));
        let smallest = 0.5 * (lateral + c) - (0.5 * (lateral - c)).hypot(b);
        Self {
            axial: quadratic(draw, draw),
            lateral,
            yaw,
            coupling,
            smallest,
            lever,
            elsewhere: None,
        }
    }

    /// How far the region goes aside if a pull of `force` (N) is off its line by one degree, its
    /// turn left free (mm); `None` where nothing holds it in line.
    #[must_use]
    pub fn wander_per_degree(&self, force: f64) -> Option<f64> {
        let held = self.lateral - self.coupling * self.coupling / self.yaw;
        let aside = force.abs() * 1f64.to_radians().sin();
        (self.smallest > 0.0).then_some(aside / held)
    }
}

/// The guidance of every moving region, in the model's order, by state; no states for a region that is not drawn
/// along a line.
pub(super) fn of_states(case: &Case, model: &Model, steps: &[Step]) -> Vec<Vec<Option<Guidance>>> {
    let regions = moving_regions(case).into_iter().enumerate();
    let of_region = |(index, name): (usize, &str)| {
        if Axis::line(case, name).is_none() {
            return Vec::new();
        }
        let of_state = |step| {
            let elsewhere = elsewhere(case, model, index, step);
            of_state(case, name, index, step).map(|g| Guidance { elsewhere, ..g })
        };
        steps.iter().map(of_state).collect()
    };
    regions.map(of_region).collect()
}

/// Stiffness of a moving region at the point that the part file asks for, taken to move with it.
fn elsewhere(case: &Case, model: &Model, index: usize, step: &Step) -> Option<Elsewhere> {
    let at = case.guided_at?;
    let region = model.rigid_regions().get(index)?;
    let draw = Axis::line(case, &region.name)?;
    let centroid = region.centroid(model.mesh());
    let arm = [at[0] - centroid[0], at[1] - centroid[1]];
    let (force, turn) = (step.reactions.get(index)?.force, step.rigid.get(index)?[2]);
    let about = stiffness_about(step.stiffness.get(index)?, force, turn, arm);
    // The lever only weighs what is not told here.
    let Guidance { axial, lateral, yaw, coupling, .. } = Guidance::new(&about, draw, 1.0);
    Some(Elsewhere { at, axial, lateral, yaw, coupling })
}

/// The guidance of a moving region in one state; `None` if it is not drawn along a line, or if the
/// tangent is singular there.
pub(super) fn of_state(case: &Case, region: &str, index: usize, step: &Step) -> Option<Guidance> {
    let draw = Axis::line(case, region)?;
    let bounds = case.outline.bounds();
    // Half the part's smaller side: about where its ribs take hold.
    let lever = 0.5 * min(bounds.width(), bounds.height());
    step.stiffness.get(index).map(|s| Guidance::new(s, draw, lever))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_region_on_two_side_springs_has_their_stiffness() {
        // Springs of 3 N/mm across at levers -2 and +2 mm along the draw: lateral 6, yaw 24.
        let stiffness = [[6.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 24.0]];
        let g = Guidance::new(&stiffness, [0.0, -1.0], 2.0);
        assert!((g.lateral - 6.0).abs() < 1e-12 && (g.axial - 1.0).abs() < 1e-12, "{g:?}");
        assert!((g.smallest - 6.0).abs() < 1e-12, "both directions equally stiff: {g:?}");
        let wander = g.wander_per_degree(60.0).unwrap();
        assert!((wander - 60.0 * 1f64.to_radians().sin() / 6.0).abs() < 1e-12, "{wander}");
    }

    #[test]
    fn a_coupling_beyond_both_stiffnesses_means_no_guidance() {
        let stiffness = [[6.0, 0.0, -15.0], [0.0, 1.0, 0.0], [-15.0, 0.0, 24.0]];
        let g = Guidance::new(&stiffness, [0.0, 1.0], 2.0);
        assert!(g.smallest < 0.0 && g.wander_per_degree(1.0).is_none(), "{g:?}");
    }
}
