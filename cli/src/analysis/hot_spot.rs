//! The place that suffers most over the whole surface and the whole draw.

use super::corners::{Corner, nearest_border_node, zones};
use super::{StepPeaks, feature};
use rayon::prelude::*;
use withy_mesh::number::max;
use withy_mesh::{Mesh, NodeId};
use withy_solver::adapt::NEAR_PEAK;
use withy_solver::stress::{ErrorEstimate, NodeStress, Recovery, StressField};
use withy_solver::{EquilibriumPath, Step};

/// Whether the hot spot has a finite stress.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpotKind {
    /// It has.
    Finite,
    /// A sharp corner suffers more than any other place; its stress has no finite value.
    SharpCorner,
}

/// The place that suffers most.
#[derive(Clone, Debug, PartialEq)]
pub struct HotSpot {
    /// Place at rest (mm).
    pub at: [f64; 2],
    /// Place in the last state (mm).
    pub now: [f64; 2],
    /// Fraction of the draw at which it suffers most.
    pub fraction: f64,
    /// Von Mises stress (MPa); at a sharp corner the largest value away from corners.
    pub von_mises: f64,
    /// Largest principal stress at the same place (MPa).
    pub tension: f64,
    /// Largest nominal strain at the same place.
    pub strain: f64,
    /// Estimated relative error of the stress.
    pub estimated_error: f64,
    /// The feature it sits on, in words.
    pub near: String,
    /// Whether its stress is finite.
    pub kind: SpotKind,
}

/// What is looked at in every state of a path.
pub(super) struct Lookout<'a> {
    recovery: &'a Recovery<'a>,
    mesh: &'a Mesh,
    left_out: &'a [bool],
    corners: &'a [Corner],
    /// The nodes around each corner.
    zones: Vec<Vec<usize>>,
}

/// What was seen in a state.
#[derive(Clone, Debug)]
pub(super) struct Seen {
    pub(super) peaks: StepPeaks,
    /// The node of the largest von Mises stress, and what it suffers; none where all are left out.
    worst: Option<(NodeId, NodeStress)>,
    /// Largest stress around each corner (MPa).
    around: Vec<f64>,
}

/// A state's stresses, and how far they can be trusted.
pub(super) type Judged = (StressField, ErrorEstimate);

/// The recovered stress may miss the true one by this many times the relative error in energy norm of the elements
/// around it. Measured on the demo's parts, on meshes that missed the peak by 0.1 to 9 %: the miss was up to 1.2 times
/// that error at the hot spot found, and 1.5 times where the mesh was coarser at the place that should have been it.
/// Over all places that come near the peak, this many times it was at least 1.3 times the miss.
const ERRORS_OF_ELEMENTS: f64 = 1.5;

impl<'a> Lookout<'a> {
    pub(super) fn new(
        recovery: &'a Recovery<'a>,
        mesh: &'a Mesh,
        left_out: &'a [bool],
        corners: &'a [Corner],
    ) -> Self {
        Self { recovery, mesh, left_out, corners, zones: zones(mesh, corners) }
    }

    /// Looks at the states of a path, and stops before the first one without a finite stress: such a state balances its
    /// forces, but the law gives it no true stress, and its NaN would read as no stress at all.
    pub(super) fn walk(&self, steps: &[Step]) -> Vec<Seen> {
        let seen: Vec<Option<Seen>> =
            steps.par_iter().map(|step| self.at(&step.displacements)).collect();
        seen.into_iter().map_while(|s| s).collect()
    }

    /// Looks at a state's displacements, by mesh node; `None` without a finite stress.
    pub(super) fn at(&self, displacements: &[[f64; 2]]) -> Option<Seen> {
        self.see(&self.recovery.field(displacements))
    }

    /// Looks at a state; `None` without a finite stress.
    pub(super) fn see(&self, field: &StressField) -> Option<Seen> {
        let peak = |measure: fn(&NodeStress) -> f64| {
            field.peak(self.left_out, measure).map_or(0.0, |p| p.value)
        };
        let worst = field.peak(self.left_out, |s| s.von_mises);
        let peaks = StepPeaks {
            von_mises: worst.map_or(0.0, |p| p.value),
            tension: peak(|s| s.tension),
            strain: peak(|s| s.strain),
        };
        if ![peaks.von_mises, peaks.tension, peaks.strain].iter().all(|p| p.is_finite()) {
            return None;
        }
        let artificial = self.recovery.artificial();
        let highest = |zone: &Vec<usize>| {
            let counted = zone.iter().filter(|n| !artificial[**n]);
            counted.map(|&n| field.stress[n].von_mises).fold(0.0, max)
        };
        let worst = worst.map(|p| (p.node, field.stress[p.node.index()]));
        Some(Seen { peaks, worst, around: self.zones.iter().map(highest).collect() })
    }

    /// Stresses of some states, and their errors.
    pub(super) fn judged<'s>(&self, steps: impl IntoIterator<Item = &'s Step>) -> Vec<Judged> {
        let steps: Vec<&Step> = steps.into_iter().collect();
        let of = |step: &&Step| {
            let field = self.recovery.field(&step.displacements);
            let error = self.recovery.error(&step.displacements, &field);
            (field, error)
        };
        steps.par_iter().map(of).collect()
    }

    /// Estimated relative error of the largest stress of all states: how far it may lie above the largest one found,
    /// at any of the places that come near it in the states that are judged.
    fn estimated_error(&self, judged: &[Judged], found: f64) -> f64 {
        let likely = judged.iter().map(|(field, error)| {
            let around = error.around_nodes(self.mesh);
            let stress = |n: usize| field.stress[n].von_mises;
            let counted = |n: &usize| !self.left_out[*n] && stress(*n) >= NEAR_PEAK * found;
            let places = (0..around.len()).filter(counted);
            places.map(|n| stress(n) * (1.0 + ERRORS_OF_ELEMENTS * around[n])).fold(0.0, max)
        });
        let highest = likely.fold(found, max);
        if found > 0.0 { highest / found - 1.0 } else { 0.0 }
    }

    /// The hot spot of a path all of whose states were seen; its error as those tell that are judged.
    pub(super) fn hot_spot(
        &self,
        path: &EquilibriumPath,
        seen: &[Seen],
        judged: &[Judged],
    ) -> HotSpot {
        let worst = worst(seen).and_then(|n| Some((seen[n].worst?, path.steps.get(n)?)));
        let mut spot = match worst {
            Some(((node, stress), step)) => {
                let p = self.mesh.nodes()[node.index()];
                let u = path.steps.last().unwrap_or(step).displacements[node.index()];
                HotSpot {
                    at: [p.x, p.y],
                    now: [p.x + u[0], p.y + u[1]],
                    fraction: step.fraction,
                    von_mises: stress.von_mises,
                    tension: stress.tension,
                    strain: stress.strain,
                    estimated_error: self.estimated_error(judged, stress.von_mises),
                    near: feature::describe(self.mesh, node),
                    kind: SpotKind::Finite,
                }
            }
            // Every node is clamped, rigid or next to it: there is no free surface to look at.
            None => HotSpot {
                at: [0.0; 2],
                now: [0.0; 2],
                fraction: 0.0,
                von_mises: 0.0,
                tension: 0.0,
                strain: 0.0,
                estimated_error: 0.0,
                near: "no free surface".to_owned(),
                kind: SpotKind::Finite,
            },
        };
        let around = |c: usize| seen.iter().map(|s| s.around[c]).fold(0.0, max);
        let highest = (0..self.corners.len())
            .map(|c| (c, around(c)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, stress)| *stress > spot.von_mises);
        if let Some((c, _)) = highest {
            let corner = self.corners[c];
            let degrees = corner.angle.to_degrees();
            spot.kind = SpotKind::SharpCorner;
            spot.at = corner.at;
            spot.now = moved(self.mesh, path, corner.at);
            spot.near = format!("sharp re-entrant corner of {degrees:.0} deg");
        }
        spot
    }
}

/// Which of the states seen suffers most, the last one of equals.
fn worst(seen: &[Seen]) -> Option<usize> {
    let suffers = (0..seen.len()).filter(|&n| seen[n].worst.is_some());
    suffers.max_by(|&a, &b| seen[a].peaks.von_mises.total_cmp(&seen[b].peaks.von_mises))
}

/// The states seen that decide about the mesh: the worst one, the last one, and those where another place comes near the
/// worst. The last one stands last.
pub(super) fn decisive(seen: &[Seen]) -> Vec<usize> {
    let last = seen.len().saturating_sub(1);
    let worst = worst(seen).unwrap_or(last);
    let at = |n: usize| seen[n].peaks.von_mises;
    let near = NEAR_PEAK * seen.get(worst).map_or(0.0, |s| s.peaks.von_mises);
    let summit = |n: &usize| {
        *n > 0 && *n < last && at(*n) >= near && at(*n) > at(n - 1) && at(*n) >= at(n + 1)
    };
    let mut list: Vec<usize> = (0..last).filter(summit).chain([worst, last]).collect();
    list.sort_unstable();
    list.dedup();
    list
}

/// Where a point of the outline is in the last state.
fn moved(mesh: &Mesh, path: &EquilibriumPath, at: [f64; 2]) -> [f64; 2] {
    match (nearest_border_node(mesh, at), path.steps.last()) {
        (Some(n), Some(step)) => {
            let u = step.displacements[n];
            [at[0] + u[0], at[1] + u[1]]
        }
        _ => at,
    }
}
