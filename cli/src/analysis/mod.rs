//! The main job: from a case to the path, the stresses and the hot spot.
//!
//! The path is followed on the first mesh: there it is decided which way ribs bow. Better meshes are
//! then made where the stress needs them, until the hot spot's stress is known well enough, and the states
//! of the path are carried over and polished on the last one.

mod again;
mod bracket;
mod contact;
mod corners;
mod draw;
mod feature;
mod follow;
mod gaps;
mod guidance;
mod hot_spot;
mod imperfect;
mod in_time;
mod launch;
mod limits;
mod modelled;
mod refine;
mod set;

pub use again::{Again, solve_again, solve_again_on};
pub use contact::{Meeting, OVERLAP, RUNS_THROUGH, Standing, in_contact, push, standing};
pub use corners::{Corner, corners};
pub use draw::{Axis, moving_regions};
pub use gaps::{NarrowPlace, narrow_place};
pub use guidance::{Elsewhere, Guidance};
pub use hot_spot::{HotSpot, SpotKind};
pub use imperfect::Perfect;
pub use in_time::{InTime, InTimeError, in_time};
pub use launch::{Judged, Launched, Thrown, energy_per_area, shot, thrown_by, way_of};
pub use limits::{Limit, LimitKind, Quantity};
pub use modelled::{marks, model};
pub use refine::Pass;
pub use set::{Back, DrawOutcome, SetAnalysis, take_set, travel_and_effort};

use crate::case::{Case, PlaneChoice, SelfContact};
use crate::lasting::{Draws, Held, Recovery, draws, held, recovery_of};
use crate::remark::Remark;
use follow::Followed;
use imperfect::Imperfection;
use rayon::prelude::*;
use refine::Refined;
use std::cell::RefCell;
use std::ops::ControlFlow;
use std::time::Instant;
use thiserror::Error;
use withy_mesh::error::MeshError;
use withy_mesh::number::max;
use withy_mesh::{Mesh, Sizing, mesh_outline_unless};
use withy_solver::stress::{self, NodeStress};
use withy_solver::{
    Equations, EquilibriumPath, Gaps, ModelError, Narrowest, PlaneState, StopCause, crosses_itself,
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
    /// The departure from the drawing that the part file asks for leads into something to either side.
    #[error(
        "the part has no room to be {amplitude} mm off its drawing, as [imperfection] asks: the shape it \
         buckles into leads into {what} to either side"
    )]
    NoRoom {
        /// What is asked for (mm).
        amplitude: f64,
        /// What is in the way, and where.
        what: String,
    },
    /// Interrupted, or stuck, before the first step converged.
    #[error("no step converged; the solve stopped at {:.3} % of the draw: {cause}", 100.0 * reached)]
    NothingConverged {
        /// Fraction of the draw up to which equilibrium was found.
        reached: f64,
        /// Why no further.
        cause: StopCause,
    },
}

/// How far an analysis has come.
#[derive(Clone, Copy, Debug)]
pub enum Progress {
    /// A mesh is being made: told many times a second, only to ask whether to go on.
    Meshing,
    /// A mesh is ready: which pass, elements, nodes.
    Meshed(usize, usize, usize),
    /// A state converged while the path was followed: fraction of the draw, linear solutions.
    Solved(f64, usize),
    /// Known states were carried over to a better mesh: how many of how many.
    Polished(usize, usize),
    /// A state of a stage converged: which stage, fraction of the draw, linear solutions.
    Staged(usize, f64, usize),
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

impl Ended {
    /// Whether the watch stopped it.
    fn is_interrupted(&self) -> bool {
        matches!(self, Self::Early(_, StopCause::Interrupted))
    }
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
    /// What the perfect part would do, if the reported path is that of a part a little off.
    pub perfect: Option<Perfect>,
    /// Their peaks.
    pub peaks: Vec<StepPeaks>,
    /// What keeps each moving region in line, in the order of [`moving_regions`], by state; no states of a region
    /// that is not drawn along a line.
    pub guidance: Vec<Vec<Option<Guidance>>>,
    /// What is narrow, by state.
    pub narrowest: Vec<Narrowest>,
    /// What is reached within the draw, the first one first.
    pub limits: Vec<Limit>,
    /// Whether edges that touch push on each other in these results.
    pub self_contact: bool,
    /// Where it begins to push rails, pins or itself, the first first; no limits of the draw.
    pub meetings: Vec<Meeting>,
    /// What it throws when it is let go, if anything.
    pub launched: Option<Launched>,
    /// What it loses while it is kept drawn, where the card tells.
    pub held: Option<Held>,
    /// How often it may be drawn, where the card tells.
    pub draws: Option<Draws>,
    /// Stress by node in the last state.
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
    if case.self_contact != SelfContact::Auto {
        return finish(case, begin(case, watch)?, watch);
    }
    let begun = begin(case, watch)?;
    if !begun.ends_touching() {
        let analysis = finish(case, begun, watch)?;
        if !touches(&analysis) {
            return Ok(analysis);
        }
    }
    let case = in_contact(case);
    finish(&case, begin(&case, watch)?, watch)
}

/// Whether the edges of a part that was solved without contact run into each other on its way.
fn touches(analysis: &Analysis) -> bool {
    let solution = &analysis.solution;
    // A touch that begins and ends between two states is known as a limit alone.
    let touch = |l: &Limit| l.kind == LimitKind::Touch;
    let touches = solution.narrowest.iter().any(|n| n.crossing.is_some())
        || solution.limits.iter().any(touch);
    touches && !solution.ended.is_interrupted()
}

/// The path on the first mesh, and what was decided for all others.
struct Begun {
    started: Instant,
    state: PlaneState,
    corners: Vec<Corner>,
    followed: Followed,
    imperfection: Option<Imperfection>,
    perfect: Option<Perfect>,
    remarks: Vec<Remark>,
}

impl Begun {
    /// Whether edges lie in each other in the last state: most parts that touch themselves do so to the end, and need
    /// no better mesh to tell.
    fn ends_touching(&self) -> bool {
        let Followed { mesh, path, ended, .. } = &self.followed;
        let last = path.steps.last();
        !ended.is_interrupted() && last.is_some_and(|s| crosses_itself(mesh, &s.displacements))
    }
}

fn begin(case: &Case, watch: &mut Watch) -> Result<Begun, AnalysisError> {
    let mut state = match case.plane_state {
        PlaneChoice::Auto | PlaneChoice::PlaneStress => PlaneState::PlaneStress,
        PlaneChoice::PlaneStrain => PlaneState::PlaneStrain,
    };
    let started = Instant::now();
    let first = meshed(case, &first_sizing(case), watch)?;
    let corners = corners(case, &first);
    let mut followed = follow::follow(case, first, 1, state, &corners, watch)?;
    let mut remarks = Vec::new();
    if case.plane_state == PlaneChoice::Auto {
        let (chosen, remark) = feature::plane_state(case, &followed);
        remarks.extend(remark);
        if chosen != state {
            state = chosen;
            followed = follow::follow(case, followed.mesh, 1, state, &corners, watch)?;
        }
    }
    let imperfection = Imperfection::of(case, &followed, state, &mut remarks)?;
    let perfect = match &imperfection {
        None => None,
        Some(imperfection) => {
            let real = imperfection.follow(case, &followed, state, &corners, watch)?;
            let perfect = std::mem::replace(&mut followed, real);
            Some(Perfect { path: perfect.path, amplitude: imperfection.amplitude })
        }
    };
    Ok(Begun { started, state, corners, followed, imperfection, perfect, remarks })
}

fn finish(case: &Case, begun: Begun, watch: &mut Watch) -> Result<Analysis, AnalysisError> {
    let Begun { started, state, corners, mut followed, imperfection, perfect, remarks } = begun;
    // Where it rests by its draw is a ratio, which the first mesh gives as well as the last: found on it while the others
    // are made, on one thread.
    let wanted = case.recovery && followed.ended == Ended::Complete;
    let equations = std::mem::take(&mut followed.equations);
    let known = wanted.then(|| (followed.mesh.clone(), followed.path.steps.clone(), equations));
    let mut resting = None;
    let refined = rayon::in_place_scope(|scope| {
        scope.spawn(|_| {
            resting = known.map(|(mesh, steps, equations)| {
                let model = model(case, &mesh, state)?;
                Ok::<_, ModelError>(recovery_of(case, &model, &steps, equations))
            });
        });
        refine::refine(case, followed, state, &corners, imperfection.as_ref(), started, watch)
    })?;
    let resting = resting.transpose()?;
    judge(case, state, refined, corners, perfect, resting, remarks)
}

/// Rows of elements across every rib of the first mesh, in the mean. Quadratic elements bend exactly, so one or two rows
/// give force and energy to some tenths of a percent (with one to four of them, the force at full draw of the demo's
/// kicker and gate stays within 0.15 %); a better mesh follows where the estimated errors ask for it.
const FIRST_ACROSS: f64 = 1.5;

/// The sizes of the first mesh.
fn first_sizing(case: &Case) -> Sizing {
    Sizing { across: FIRST_ACROSS, most_elements: case.most_elements, ..Sizing::default() }
}

/// Meshes a case's outline, unless the watch stops it.
fn meshed(case: &Case, sizing: &Sizing, watch: &mut Watch) -> Result<Mesh, MeshError> {
    let watch = RefCell::new(watch);
    mesh_outline_unless(&case.outline, sizing, &|| {
        let mut watch = watch.borrow_mut();
        watch(Progress::Meshing).is_break()
    })
}

/// Looks at every state of the final path.
fn judge(
    case: &Case,
    state: PlaneState,
    refined: Refined,
    corners: Vec<Corner>,
    perfect: Option<Perfect>,
    resting: Option<Recovery>,
    mut remarks: Vec<Remark>,
) -> Result<Analysis, AnalysisError> {
    let Refined { followed, carried, passes, spent } = refined;
    let Followed { mesh, mut path, mut ended, equations, .. } = followed;
    let model = model(case, &mesh, state)?;
    let recovery = stress::Recovery::of_states(&model, &path.steps);
    let left_out = corners::left_out(&mesh, recovery.artificial(), &corners);
    let lookout = hot_spot::Lookout::new(&recovery, &mesh, &left_out, &corners);
    let seen = lookout.walk(&path.steps);
    follow::keep_sound(&mut path, &mut ended, seen.len())?;
    let decisive = hot_spot::decisive(&seen);
    let mut judged = lookout.judged(decisive.into_iter().map(|n| &path.steps[n]));
    let mut hot_spot = lookout.hot_spot(&path, &seen, &judged);
    // The last state is one of them, and the last.
    let shown = judged.pop().map(|(field, _)| field.stress).unwrap_or_default();
    let peaks: Vec<StepPeaks> = seen.iter().map(|s| s.peaks).collect();
    // The meshes on the way may have cast doubt on what the last one says of itself.
    if let Some(last) = passes.last() {
        hot_spot.estimated_error = max(hot_spot.estimated_error, last.peak_error);
    }
    refine::remark_on_accuracy(case, &passes, spent, &mut remarks);
    corners::remark_on_corners(&hot_spot, &corners, &mut remarks);
    remark_on_path(&path, perfect.as_ref(), &mut remarks);
    let moving = moving_regions(case);
    let guidance = guidance::of_states(case, &model, &path.steps);
    if case.guided_at.is_some() && guidance.iter().flatten().flatten().next().is_none() {
        let text = "no stiffness is told at the point of [guidance]: nothing is drawn along a line";
        remarks.push(Remark::note("no-guidance", text));
    }
    let gaps = Gaps::new(&mesh);
    let narrowest: Vec<Narrowest> =
        path.steps.par_iter().map(|s| gaps.at(&s.displacements)).collect();
    let known = limits::Known {
        case,
        model: &model,
        recovery: &recovery,
        left_out: &left_out,
        gaps: &gaps,
        path: &path,
        peaks: &peaks,
        guidance: &guidance,
        narrowest: &narrowest,
        // An imperfect part bends where the perfect one branches: only that one's path tells it.
        perfect: perfect.as_ref().map(|p| &p.path.critical[..]),
        moving: &moving,
    };
    let limits = limits::limits(&known, equations);
    // Of a path that was followed anew on another mesh, the first mesh's says nothing.
    let resting = match resting {
        _ if ended != Ended::Complete => None,
        Some(resting) if carried => Some(resting),
        _ => Some(recovery_of(case, &model, &path.steps, Equations::default())),
    };
    let (meetings, limits) = contact::told_apart(case, limits);
    gaps::remark_on_gaps(&narrowest, &limits, &mut remarks);
    contact::remark_on_standing(case, &mesh, &mut remarks);
    contact::remark_on_contact(case, &path.steps, &narrowest, &meetings, &mut remarks);
    let launched = launch::launched(case, &mesh, &path.steps, &ended, &mut remarks);
    let mut solution = Solution {
        held: None,
        draws: None,
        self_contact: case.self_contact == SelfContact::On,
        meetings,
        launched,
        perfect,
        guidance,
        narrowest,
        limits,
        state,
        path,
        peaks,
        shown,
        left_out,
        hot_spot,
        corners,
        passes,
        ended,
        remarks,
    };
    solution.held = resting.and_then(|resting| held(case, resting, &solution));
    solution.draws = draws(case, &solution);
    Ok(Analysis { mesh, solution })
}

/// Says where the path branches, jumps or is not stable.
fn remark_on_path(path: &EquilibriumPath, perfect: Option<&Perfect>, remarks: &mut Vec<Remark>) {
    let percent = |fraction: f64| format!("{:.1} %", 100.0 * fraction);
    if let Some(perfect) = perfect {
        let amplitude = perfect.amplitude;
        remarks.push(match perfect.path.critical.first() {
            Some(branch) => Remark::caution(
                "branch",
                format!(
                    "a perfect part would lose its stability at {} of the draw. All results are those \
                     of a part that is {amplitude} mm off its drawing, in the shape it buckles into; \
                     the perfect part's curve is drawn beside",
                    percent(branch.fraction)
                ),
            ),
            None => Remark::note(
                "imperfection",
                format!(
                    "all results are those of a part that is {amplitude} mm off its drawing, in its \
                     softest shape"
                ),
            ),
        });
    }
    if let Some(step) = path.steps.iter().find(|s| !s.is_stable()) {
        remarks.push(Remark::caution(
            "unstable",
            format!(
                "from {} of the draw on the computed shape is not stable: the real part buckles or \
                 snaps aside to another shape with less force",
                percent(step.fraction)
            ),
        ));
    }
    for fraction in path.steps.iter().flat_map(|s| &s.snaps) {
        remarks.push(Remark::caution(
            "snap",
            format!(
                "at {} of the draw the part snaps: no equilibrium continues the path there, it jumps \
                 to another one",
                percent(*fraction)
            ),
        ));
    }
}
