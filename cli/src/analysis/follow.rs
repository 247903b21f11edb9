//! The path of a case on one mesh, from rest, and the place that suffers most on it.

use super::corners::{self, Corner};
use super::hot_spot::{self, HotSpot, Lookout, Seen};
use super::{AnalysisError, Ended, Progress, Watch, modelled};
use crate::case::{Case, SelfContact};
use std::collections::BTreeMap;
use std::sync::mpsc;
use withy_mesh::Mesh;
use withy_solver::stress::Recovery;
use withy_solver::{
    Equations, EquilibriumPath, Failure, PathOptions, PlaneState, Step, Stiffness, StopCause,
    follow_path_by,
};

/// A path and the mesh it was found on.
#[derive(Debug)]
pub(super) struct Followed {
    pub(super) mesh: Mesh,
    pub(super) path: EquilibriumPath,
    pub(super) ended: Ended,
    /// Without its error.
    pub(super) hot_spot: HotSpot,
    /// The states that decide about the mesh.
    pub(super) decisive: Vec<usize>,
    /// The equations of the mesh's model.
    pub(super) equations: Equations,
}

impl Followed {
    /// The chosen states alone.
    pub(super) fn only(&self, chosen: &[usize]) -> EquilibriumPath {
        let steps = chosen.iter().map(|&n| self.path.steps[n].clone()).collect();
        EquilibriumPath { steps, critical: Vec::new() }
    }
}

/// Follows the path of a case on a mesh, the `number`th one, from rest.
pub(super) fn follow(
    case: &Case,
    mesh: Mesh,
    number: usize,
    state: PlaneState,
    corners: &[Corner],
    watch: &mut Watch,
) -> Result<Followed, AnalysisError> {
    follow_finely(case, mesh, number, 1, state, corners, watch)
}

/// The same, each reported step in so many parts, of which only the last is kept.
pub(super) fn follow_finely(
    case: &Case,
    mesh: Mesh,
    number: usize,
    parts: u32,
    state: PlaneState,
    corners: &[Corner],
    watch: &mut Watch,
) -> Result<Followed, AnalysisError> {
    let model = modelled::model(case, &mesh, state)?;
    let _ = watch(Progress::Meshed(number, mesh.elements().len(), mesh.nodes().len()));
    // The states are polished once more at the end; stiffnesses are computed then.
    let options = PathOptions {
        steps: case.steps * parts,
        stiffness: Stiffness::Skipped,
        ..PathOptions::default()
    };
    let (mut equations, recovery) =
        rayon::join(|| Equations::analysed(&model), || Recovery::new(&model));
    let skip = corners::left_out(&mesh, recovery.artificial(), corners);
    let lookout = Lookout::new(&recovery, &mesh, &skip, corners);
    // States are looked at while the next ones are found; where the part may push, only all of them together tell which
    // edges are free of traction.
    let may_push = !case.obstacles.is_empty() || case.self_contact == SelfContact::On;
    let (tell, told) = mpsc::channel();
    let followed = rayon::in_place_scope(|scope| {
        let mut count = 0;
        let mut observe = |step: &Step| {
            count += 1;
            if !may_push && count % parts == 0 {
                let (lookout, tell, number) = (&lookout, tell.clone(), count / parts);
                let displacements = step.displacements.clone();
                // All that is told is heard below.
                scope.spawn(move |_| drop(tell.send((number, lookout.at(&displacements)))));
            }
            watch(Progress::Solved(step.fraction, step.iterations))
        };
        follow_path_by(&model, &options, &mut equations, &mut observe)
    });
    drop(tell);
    let (mut path, mut ended) = match followed {
        Ok(path) => (path, Ended::Complete),
        Err(stopped) => {
            let stopped = *stopped;
            if stopped.path.steps.is_empty() {
                let (reached, cause) = (stopped.reached, stopped.cause);
                return Err(AnalysisError::NothingConverged { reached, cause });
            }
            (stopped.path, Ended::Early(stopped.reached, stopped.cause))
        }
    };
    whole_steps(&mut path, parts);
    if path.steps.is_empty()
        && let Ended::Early(reached, cause) = ended
    {
        return Err(AnalysisError::NothingConverged { reached, cause });
    }
    let pushed = may_push.then(|| Recovery::of_states(&model, &path.steps));
    let (lookout, seen) = match &pushed {
        Some(recovery) => {
            let lookout = Lookout::new(recovery, &mesh, &skip, corners);
            let seen = lookout.walk(&path.steps);
            (lookout, seen)
        }
        None => {
            let seen: BTreeMap<u32, Option<Seen>> = told.into_iter().collect();
            (lookout, seen.into_values().map_while(|s| s).collect())
        }
    };
    keep_sound(&mut path, &mut ended, seen.len())?;
    let decisive = hot_spot::decisive(&seen);
    let hot_spot = lookout.hot_spot(&path, &seen, &[]);
    Ok(Followed { mesh, path, ended, hot_spot, decisive, equations })
}

/// Keeps the last of every so many steps, with all that was counted since the one before.
fn whole_steps(path: &mut EquilibriumPath, parts: u32) {
    let parts = parts as usize;
    let kept = path.steps.chunks_exact(parts).map(|steps| {
        let mut last = steps[parts - 1].clone();
        last.iterations = steps.iter().map(|s| s.iterations).sum();
        last.internal_steps = steps.iter().map(|s| s.internal_steps).sum();
        last.snaps = steps.iter().flat_map(|s| s.snaps.iter().copied()).collect();
        last.begun = steps.iter().flat_map(|s| s.begun.iter().cloned()).collect();
        last
    });
    path.steps = kept.collect();
}

/// Keeps the first `sound` states of a path, those that have a finite stress.
pub(super) fn keep_sound(
    path: &mut EquilibriumPath,
    ended: &mut Ended,
    sound: usize,
) -> Result<(), AnalysisError> {
    if sound == path.steps.len() {
        return Ok(());
    }
    path.steps.truncate(sound);
    let cause = StopCause::Failed(Failure::BeyondLaw);
    let Some(last) = path.steps.last() else {
        return Err(AnalysisError::NothingConverged { reached: 0.0, cause });
    };
    let reached = last.fraction;
    path.critical.retain(|c| c.fraction <= reached);
    *ended = Ended::Early(reached, cause);
    Ok(())
}
