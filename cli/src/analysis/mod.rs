//! The main job: from a case to the path, the stresses and the hot spot.
//!
//! Elastic results need no transfer between meshes, so the mesh is adapted first, on a path of few
//! steps; the reported path is then followed once on the last mesh.

mod feature;
mod hot_spot;
mod modelled;
mod refine;

pub use hot_spot::{Corner, HotSpot, SpotKind};
pub use modelled::{marks, model};
pub use refine::Pass;

use crate::case::{Case, PlaneChoice};
use crate::remark::Remark;
use refine::Adapted;
use std::ops::ControlFlow;
use thiserror::Error;
use withy_mesh::error::MeshError;
use withy_mesh::Mesh;
use withy_solver::stress::{NodeStress, Recovery};
use withy_solver::{
    EquilibriumPath, ModelError, PathOptions, PlaneState, Step, StopCause, follow_path,
};

/// What can keep a case from being solved at all.
#[derive(Debug, Error)]
pub enum AnalysisError {
    /// The outline cannot be meshed within the limits.
    #[error(transparent)]
    Mesh(#[from] MeshError),
    /// The regions and the material make no solvable model.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// Interrupted, or stuck, before the first step converged.
    #[error("no step converged: {0}")]
    NothingConverged(StopCause),
}

/// How far an analysis has come.
#[derive(Clone, Copy, Debug)]
pub enum Progress {
    /// A mesh is ready: which pass, elements, nodes.
    Meshed(usize, usize, usize),
    /// A state converged on the way to a better mesh.
    Adapting(f64),
    /// A reported state converged: fraction of the draw, linear solutions.
    Solved(f64, usize),
}

/// Told of progress; may stop the analysis.
pub type Watch<'a> = dyn FnMut(Progress) -> ControlFlow<()> + 'a;

/// How an analysis ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Ended {
    /// At full draw.
    Complete,
    /// Before it: the fraction of the draw that was reached, and why no further.
    Early(f64, StopCause),
}

/// Peaks of one reported step, away from artificial and singular places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StepPeaks {
    /// Von Mises (MPa).
    pub von_mises: f64,
    /// Largest principal stress (MPa).
    pub tension: f64,
    /// Largest nominal strain.
    pub strain: f64,
}

/// A solved case.
#[derive(Debug)]
pub struct Analysis {
    /// The last mesh.
    pub mesh: Mesh,
    /// What was found on it.
    pub solution: Solution,
}

/// All that was found about a case.
#[derive(Debug)]
pub struct Solution {
    /// Plane stress or plane strain, as assumed.
    pub state: PlaneState,
    /// Reported states.
    pub path: EquilibriumPath,
    /// Their peaks.
    pub peaks: Vec<StepPeaks>,
    /// Von Mises by node at the step of the hot spot's largest stress, or at the last one.
    pub shown: Vec<NodeStress>,
    /// Nodes left out of peaks.
    pub left_out: Vec<bool>,
    /// The place that suffers most over the whole draw.
    pub hot_spot: HotSpot,
    /// Sharp re-entrant corners outside held and driven regions.
    pub corners: Vec<Corner>,
    /// The meshes on the way.
    pub passes: Vec<Pass>,
    /// How it ended.
    pub ended: Ended,
    /// What was assumed, decided or noticed.
    pub remarks: Vec<Remark>,
}

/// Solves a case.
///
/// # Errors
/// Only if there is no result at all; a path that ends early is a result ([`Ended::Early`]).
pub fn analyse(case: &Case, watch: &mut Watch) -> Result<Analysis, AnalysisError> {
    let mut state = match case.plane_state {
        PlaneChoice::Auto | PlaneChoice::PlaneStress => PlaneState::PlaneStress,
        PlaneChoice::PlaneStrain => PlaneState::PlaneStrain,
    };
    let mut adapted = refine::adapt(case, state, watch)?;
    let mut remarks = Vec::new();
    if case.plane_state == PlaneChoice::Auto {
        let (chosen, remark) = feature::plane_state(case, &adapted);
        remarks.extend(remark);
        if chosen != state {
            state = chosen;
            adapted = refine::adapt(case, state, watch)?;
        }
    }
    let solution = finish(case, state, &adapted, remarks, watch)?;
    Ok(Analysis { mesh: adapted.mesh, solution })
}

/// Follows the reported path on the adapted mesh.
fn finish(
    case: &Case,
    state: PlaneState,
    adapted: &Adapted,
    mut remarks: Vec<Remark>,
    watch: &mut Watch,
) -> Result<Solution, AnalysisError> {
    let Adapted { mesh, passes, corners, interrupted, .. } = adapted;
    let model = model(case, mesh, state)?;
    let recovery = Recovery::new(&model);
    let left_out = hot_spot::left_out(mesh, recovery.artificial(), corners);
    let mut tracker = hot_spot::Tracker::new(&recovery, mesh, &left_out, corners);
    let mut peaks = Vec::new();
    let mut observe = |step: &Step| {
        peaks.push(tracker.add(step));
        if *interrupted {
            return ControlFlow::Break(());
        }
        watch(Progress::Solved(step.fraction, step.iterations))
    };
    let options = PathOptions { steps: case.steps, ..PathOptions::default() };
    let (path, ended) = match follow_path(&model, &options, &mut observe) {
        Ok(path) => (path, Ended::Complete),
        Err(stopped) => {
            let stopped = *stopped;
            (stopped.path, Ended::Early(stopped.reached, stopped.cause))
        }
    };
    if path.steps.is_empty() {
        return Err(AnalysisError::NothingConverged(match ended {
            Ended::Early(_, cause) => cause,
            Ended::Complete => StopCause::Interrupted,
        }));
    }
    let (hot_spot, shown) = tracker.finish(&path, passes);
    refine::remark_on_accuracy(case, passes, &mut remarks);
    hot_spot::remark_on_corners(&hot_spot, corners, &mut remarks);
    remark_on_path(&path, &mut remarks);
    let (corners, passes) = (corners.clone(), passes.clone());
    Ok(Solution { state, path, peaks, shown, left_out, hot_spot, corners, passes, ended, remarks })
}

/// Says where the path is not stable.
fn remark_on_path(path: &EquilibriumPath, remarks: &mut Vec<Remark>) {
    if let Some(step) = path.steps.iter().find(|s| !s.is_stable()) {
        remarks.push(Remark::caution(
            "unstable",
            format!(
                "from {:.0} % of the draw on the computed shape is not stable: the real part buckles \
                 or snaps aside to another shape with less force",
                100.0 * step.fraction
            ),
        ));
    }
}
