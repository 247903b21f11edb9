//! Meshes, each better than the one before, until the hot spot's stress stays where it is.

use super::hot_spot::{self, Corner, HotSpot};
use super::{AnalysisError, Progress, Watch, modelled};
use crate::case::Case;
use crate::picture::three_digits;
use crate::remark::Remark;
use std::ops::ControlFlow;
use withy_mesh::{Mesh, SizeWish, Sizing, mesh_outline};
use withy_solver::adapt::{Target, size_wishes};
use withy_solver::stress::Recovery;
use withy_solver::{
    EquilibriumPath, Model, PathOptions, PlaneState, Step, StopCause, follow_path,
};

/// Steps of the path on the way to a mesh.
const COARSE_STEPS: u32 = 4;
/// More meshes than this do not help: the peak diverges, or the budget is spent.
const MOST_PASSES: usize = 6;
/// The energy norm may be off by this many times the accuracy asked for of the peak: its square is
/// the error of force and energy, so 2 % asked gives 0.1 %.
const ENERGY_SHARE: f64 = 1.5;
/// Elements at the peak must be better than the accuracy asked for by this factor.
const PEAK_SHARE: f64 = 0.7;

/// One mesh of the sequence and what it gave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    /// Its elements.
    pub elements: usize,
    /// The hot spot's von Mises stress over the draw (MPa).
    pub von_mises: f64,
    /// Estimated relative error of the strain field in energy norm.
    pub energy_error: f64,
    /// Estimated relative error of the elements at the hot spot in energy norm.
    pub peak_error: f64,
}

/// The last mesh and how it came about.
#[derive(Debug)]
pub(super) struct Adapted {
    pub(super) mesh: Mesh,
    pub(super) passes: Vec<Pass>,
    pub(super) corners: Vec<Corner>,
    /// The hot spot on the last mesh of the sequence that was solved.
    pub(super) hot_spot: HotSpot,
    /// The user does not want to wait: report one step and stop.
    pub(super) interrupted: bool,
}

/// Meshes and solves until the peak moves less than the case's accuracy.
pub(super) fn adapt(
    case: &Case,
    state: PlaneState,
    watch: &mut Watch,
) -> Result<Adapted, AnalysisError> {
    let mut sizing = Sizing::default();
    let mut mesh = mesh_outline(&case.outline, &sizing)?;
    let corners = hot_spot::corners(case, &mesh);
    let mut passes: Vec<Pass> = Vec::new();
    loop {
        let mut stop =
            watch(Progress::Meshed(passes.len() + 1, mesh.elements().len(), mesh.nodes().len()))
                .is_break();
        let solved = solve_coarsely(case, &mesh, state, &corners, watch)?;
        stop |= solved.interrupted;
        let settled = passes.last().is_some_and(|before| {
            (solved.pass.von_mises - before.von_mises).abs()
                <= case.accuracy * solved.pass.von_mises
        });
        passes.push(solved.pass);
        let done = settled || solved.wishes.is_empty() || passes.len() >= MOST_PASSES || stop;
        if !done {
            sizing.wishes.extend_from_slice(&solved.wishes);
            // A mesh beyond the budget is no reason to lose the one at hand.
            if let Ok(finer) = mesh_outline(&case.outline, &sizing) {
                mesh = finer;
                continue;
            }
        }
        return Ok(Adapted {
            mesh,
            passes,
            corners,
            hot_spot: solved.hot_spot,
            interrupted: stop,
        });
    }
}

/// What one mesh gave.
struct Solved {
    pass: Pass,
    hot_spot: HotSpot,
    wishes: Vec<SizeWish>,
    interrupted: bool,
}

fn solve_coarsely(
    case: &Case,
    mesh: &Mesh,
    state: PlaneState,
    corners: &[Corner],
    watch: &mut Watch,
) -> Result<Solved, AnalysisError> {
    let model = modelled::model(case, mesh, state)?;
    let recovery = Recovery::new(&model);
    let skip = hot_spot::left_out(mesh, recovery.artificial(), corners);
    let target =
        Target { energy: ENERGY_SHARE * case.accuracy, peak: PEAK_SHARE * case.accuracy };
    let mut tracker = hot_spot::Tracker::new(&recovery, mesh, &skip, corners);
    let mut wishes = Vec::new();
    let mut energy_error = 0.0;
    let mut interrupted = false;
    let mut observe = |step: &Step| {
        tracker.add(step);
        let field = recovery.field(&step.displacements);
        let error = recovery.error(&step.displacements, &field);
        energy_error = error.relative();
        wishes.extend(size_wishes(&model, &field, &error, &skip, target));
        let flow = watch(Progress::Adapting(step.fraction));
        interrupted = flow.is_break();
        flow
    };
    let coarse = COARSE_STEPS.min(case.steps);
    let path = match follow_for(coarse, &model, &mut observe) {
        // Nothing within the first coarse step: the reported steps are finer.
        (path, cause) if path.steps.is_empty() && cause != Some(StopCause::Interrupted) => {
            follow_for(case.steps, &model, &mut observe)
        }
        followed => followed,
    };
    let (path, cause) = path;
    if path.steps.is_empty() {
        return Err(AnalysisError::NothingConverged(
            cause.unwrap_or(StopCause::Interrupted),
        ));
    }
    let (hot_spot, _) = tracker.finish(&path, &[]);
    let pass = Pass {
        elements: mesh.elements().len(),
        von_mises: hot_spot.von_mises,
        energy_error,
        peak_error: hot_spot.estimated_error,
    };
    Ok(Solved { pass, hot_spot, wishes, interrupted })
}

/// Follows a path in so many steps; one that ends early is kept as far as it goes, since the
/// reported path will end there too, and say so.
fn follow_for(
    steps: u32,
    model: &Model,
    observe: &mut dyn FnMut(&Step) -> ControlFlow<()>,
) -> (EquilibriumPath, Option<StopCause>) {
    let options = PathOptions { steps, ..PathOptions::default() };
    match follow_path(model, &options, observe) {
        Ok(path) => (path, None),
        Err(stopped) => (stopped.path, Some(stopped.cause)),
    }
}

/// Says how far the hot spot's stress can be trusted.
pub(super) fn remark_on_accuracy(case: &Case, passes: &[Pass], remarks: &mut Vec<Remark>) {
    let peaks: Vec<String> = passes.iter().map(|p| three_digits(p.von_mises)).collect();
    let asked = 100.0 * case.accuracy;
    let text = format!("{} meshes gave peaks of {} MPa", passes.len(), peaks.join(", "));
    let settled = match passes {
        [.., before, last] => {
            (last.von_mises - before.von_mises).abs() <= case.accuracy * last.von_mises
        }
        _ => passes.iter().all(|p| p.peak_error <= case.accuracy),
    };
    remarks.push(if settled {
        Remark::note("accuracy", format!("{text}; the last two agree within {asked:.2} %"))
    } else {
        Remark::caution(
            "accuracy-not-reached",
            format!("{text}: they do not settle within the {asked:.2} % asked for"),
        )
    });
}
