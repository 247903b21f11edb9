//! A solved case once more with another material, on the mesh that it was solved on.

use super::{Analysis, AnalysisError, StepPeaks, Watch, follow, hot_spot, modelled};
use crate::case::Case;
use withy_mesh::Mesh;
use withy_solver::stress::Recovery;
use withy_solver::{Equations, EquilibriumPath, Stiffness, Transfer, polish_path};

/// The states of a case with another material.
#[derive(Debug)]
pub struct Again {
    /// Reported states; region stiffnesses are left out.
    pub path: EquilibriumPath,
    /// Their peaks.
    pub peaks: Vec<StepPeaks>,
}

/// Solves a case on the mesh of an analysis of the same part in another material.
///
/// # Errors
/// No state converged.
pub fn solve_again(
    case: &Case,
    known: &Analysis,
    watch: &mut Watch,
) -> Result<Again, AnalysisError> {
    solve_again_on(case, known, &known.mesh, watch)
}

/// The same on that mesh with its nodes moved a little: a part whose walls came out otherwise.
///
/// The known states are the first guesses; where one of them leads nowhere the path is followed
/// from rest.
///
/// # Errors
/// No state converged.
pub fn solve_again_on(
    case: &Case,
    known: &Analysis,
    mesh: &Mesh,
    watch: &mut Watch,
) -> Result<Again, AnalysisError> {
    let solution = &known.solution;
    let in_contact = solution.self_contact.then(|| super::in_contact(case));
    let case = in_contact.as_ref().unwrap_or(case);
    let model = modelled::model(case, mesh, solution.state)?;
    let mut observe = |done, of| watch(super::Progress::Polished(done, of));
    let polished = polish_path(
        &model,
        &solution.path,
        &Transfer::new(&known.mesh, &known.mesh),
        &mut Equations::default(),
        &|_| true,
        Stiffness::Skipped,
        &mut observe,
    );
    let path = match polished {
        Ok(path) => path,
        Err(_) => {
            let corners = &solution.corners;
            follow::follow(
                case,
                mesh.clone(),
                solution.passes.len(),
                solution.state,
                corners,
                watch,
            )?
            .path
        }
    };
    let recovery = Recovery::of_states(&model, &path.steps);
    let lookout = hot_spot::Lookout::new(&recovery, mesh, &solution.left_out, &solution.corners);
    let peaks: Vec<StepPeaks> = lookout.walk(&path.steps).into_iter().map(|s| s.peaks).collect();
    let mut path = path;
    path.steps.truncate(peaks.len());
    Ok(Again { path, peaks })
}
