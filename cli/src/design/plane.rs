//! A design in plane stress: what `withy solve` computes, its decisive numbers.

use super::outcome::{NoOutcome, Outcome, mass};
use crate::analysis::{Analysis, AnalysisError, Axis, Ended, analyse, moving_regions};
use crate::case::Case;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};
use withy_mesh::number::{largest, min};
use withy_solver::StopCause;

/// Solves a design.
///
/// # Errors
/// Nothing converged, or it was interrupted.
pub fn outcome(case: &Case, interrupted: &AtomicBool) -> Result<Outcome, NoOutcome> {
    let analysis = solved(case, interrupted)?;
    of_analysis(case, &analysis).ok_or_else(|| NoOutcome::Because("nothing moves".into()))
}

/// The analysis of a design; one that was interrupted is none.
///
/// # Errors
/// As [`outcome`].
pub fn solved(case: &Case, interrupted: &AtomicBool) -> Result<Analysis, NoOutcome> {
    let stop = || interrupted.load(Ordering::Relaxed);
    let mut watch = |_| if stop() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) };
    let found = analyse(case, &mut watch);
    if stop() {
        return Err(NoOutcome::Interrupted);
    }
    let analysis = found.map_err(|error: AnalysisError| NoOutcome::Because(error.to_string()))?;
    match &analysis.solution.ended {
        Ended::Early(_, StopCause::Interrupted) => Err(NoOutcome::Interrupted),
        Ended::Early(..) | Ended::Complete => Ok(analysis),
    }
}

/// The numbers of an analysis; `None` if nothing moves.
#[must_use]
pub fn of_analysis(case: &Case, analysis: &Analysis) -> Option<Outcome> {
    let solution = &analysis.solution;
    let moving = moving_regions(case);
    let axis = Axis::of(case, moving.first()?);
    let steps = &solution.path.steps;
    let last = steps.last()?;
    let draw = axis.travel(*last.rigid.first()?);
    let efforts: Vec<f64> =
        steps.iter().filter_map(|s| s.reactions.first()).map(|r| axis.effort(r)).collect();
    let least = |value: &dyn Fn(&crate::analysis::Guidance) -> f64| {
        let known = solution.guidance.iter().flatten().flatten().map(value);
        known.reduce(min)
    };
    let first = solution.limits.first();
    Some(Outcome {
        complete: solution.ended == Ended::Complete,
        draw,
        effort: *efforts.last()?,
        largest_effort: largest(0.0, efforts.iter().copied()),
        energy: last.strain_energy,
        strain: largest(0.0, solution.peaks.iter().map(|p| p.strain)),
        stress: largest(0.0, solution.peaks.iter().map(|p| p.von_mises)),
        safe_draw: first.map_or(draw, |l| l.travel.unwrap_or(l.fraction * draw / last.fraction)),
        ends_by: first.map(|l| l.kind),
        across: least(&|g| g.lateral),
        in_turn: least(&|g| g.yaw.to_radians()),
        stable: steps.iter().all(withy_solver::Step::is_stable),
        mass: mass(case),
        bed_share: case.printability.bed.map(|fit| fit.share),
        speed: solution.launched.as_ref().map(|l| l.release.speed),
        thrown: solution.launched.as_ref().map(|l| l.release.energy),
    })
}
