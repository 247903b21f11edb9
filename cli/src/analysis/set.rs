//! Whether a part comes back whole: drawn and let down with a material that yields.
//!
//! The mesh is made for the elastic part, as everywhere; then the part is taken from rest through its
//! stages on the last mesh, because plastic strain is not carried from one mesh to another.

use super::{Analysis, AnalysisError, Axis, Progress, Watch, analyse, modelled, moving_regions};
use crate::case::Case;
use crate::lasting;
use crate::remark::Remark;
use withy_mesh::Mesh;
use withy_mesh::number::{largest, max, min};
use withy_solver::Relaxation;
use withy_solver::stages::{StageOptions, StageState, StagedPath, duration, follow_stages};
use withy_solver::stress::Recovery;
use withy_solver::{Elastic, Hardening, Law, Stage, StopCause};

/// A step is halved so often before the solve gives up.
const HALVINGS: u32 = 10;
/// Steps by decade of time while it is held or left alone.
const BY_DECADE: u32 = 10;
/// A travel below this part of the draw is rounding.
const NO_TRAVEL: f64 = 1e-9;

/// A part that was drawn and let down.
#[derive(Debug)]
pub struct SetAnalysis {
    /// The elastic part, and the mesh.
    pub elastic: Analysis,
    /// What was done.
    pub stages: Vec<Stage>,
    /// The states of all stages.
    pub path: StagedPath,
    /// Why it ended before the last stage was done, if it did: stage, fraction of the draw, cause.
    pub stopped: Option<(usize, f64, StopCause)>,
    /// Each draw and what came of it.
    pub draws: Vec<DrawOutcome>,
    /// Equivalent plastic strain in the end, by node.
    pub plastic: Vec<f64>,
    /// What was assumed or noticed.
    pub remarks: Vec<Remark>,
}

/// One draw, and the way back if the part was let down after it.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawOutcome {
    /// Fraction of the draw.
    pub fraction: f64,
    /// Travel of the first moving region (mm or degrees).
    pub travel: f64,
    /// Its force or moment there.
    pub effort: f64,
    /// Work put in by this draw (mJ).
    pub put_in: f64,
    /// Largest equivalent plastic strain after it.
    pub most_plastic: f64,
    /// What came back.
    pub back: Option<Back>,
}

/// A part let down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Back {
    /// Work given back (mJ).
    pub returned: f64,
    /// Travel at which it rests: its permanent set, where it was let go (mm or degrees).
    pub rest: f64,
    /// Force or moment there.
    pub effort: f64,
    /// Whether it lies there by itself: it was let go.
    pub free: bool,
    /// For how long it was left alone (ms), and the travel at which it rests then.
    pub later: Option<[f64; 2]>,
}

/// Twice drawn and let down.
const USUAL: [Stage; 4] = [Stage::To(1.0), Stage::LetDown, Stage::To(1.0), Stage::LetDown];

/// Draws a case and lets it down.
///
/// # Errors
/// As [`analyse`]; or nothing converged.
pub fn take_set(
    case: &Case,
    hardening: Hardening,
    watch: &mut Watch,
) -> Result<SetAnalysis, AnalysisError> {
    let elastic = analyse(case, watch)?;
    let in_contact = elastic.solution.self_contact.then(|| super::in_contact(case));
    let case = in_contact.as_ref().unwrap_or(case);
    let stages = if case.stages.is_empty() { USUAL.to_vec() } else { case.stages.clone() };
    let card = &case.material;
    let constants =
        Elastic::new(card.youngs_modulus.value, card.poissons_ratio.value, elastic.solution.state)?;
    let law = Law::Elastoplastic(constants, hardening);
    let model = modelled::model_of(case, &elastic.mesh, law)?;
    let options = StageOptions { steps: case.steps, halvings: HALVINGS, by_decade: BY_DECADE };
    let relaxation = lasting::law(card).filter(|_| duration(&stages) > 0.0).map(|l| l.usual);
    let mut observe = |state: &StageState| {
        let step = &state.step;
        watch(Progress::Staged(state.stage + 1, step.fraction, step.iterations))
    };
    let (path, stopped) =
        match follow_stages(&model, relaxation.as_ref(), &stages, &options, &mut observe) {
            Ok(path) => (path, None),
            Err(stopped) => {
                let stopped = *stopped;
                if stopped.path.states.is_empty() {
                    let (reached, cause) = (stopped.reached, stopped.cause);
                    return Err(AnalysisError::NothingConverged { reached, cause });
                }
                (stopped.path, Some((stopped.stage, stopped.reached, stopped.cause)))
            }
        };
    let draws = draws(case, &stages, &path);
    let recovery = Recovery::new(&model);
    let last: Vec<[f64; 3]> = path.memory.last().map_or_else(Vec::new, |memory| {
        memory.iter().map(|points| points.map(|p| p.equivalent)).collect()
    });
    let plastic = if last.is_empty() {
        vec![0.0; elastic.mesh.nodes().len()]
    } else {
        within(&elastic.mesh, &last, recovery.nodal(&last))
    };
    let mut remarks = Vec::new();
    remark(case, &path, &draws, &mut remarks);
    if let Some(relaxation) = &relaxation {
        remark_on_time(relaxation, duration(&stages), &mut remarks);
    }
    Ok(SetAnalysis { elastic, stages, path, stopped, draws, plastic, remarks })
}

/// Values at the nodes, fitted to those at the points of the elements, kept to what the points around each node have: a
/// fit through points of which some have not yielded swings beyond all of them.
fn within(mesh: &Mesh, points: &[[f64; 3]], fitted: Vec<f64>) -> Vec<f64> {
    let mut ranges = vec![[f64::INFINITY, f64::NEG_INFINITY]; fitted.len()];
    for (element, points) in mesh.elements().iter().zip(points) {
        for n in element {
            let [low, high] = ranges[n.index()];
            ranges[n.index()] = [points.iter().copied().fold(low, min), largest(high, *points)];
        }
    }
    fitted.into_iter().zip(ranges).map(|(value, [low, high])| min(max(value, low), high)).collect()
}

/// Travel and effort of the first moving region.
#[must_use]
pub fn travel_and_effort(case: &Case, state: &StageState) -> [f64; 2] {
    let Some(name) = moving_regions(case).first().copied() else { return [0.0; 2] };
    let axis = Axis::of(case, name);
    [axis.travel(state.step.rigid[0]), axis.effort(&state.step.reactions[0])]
}

fn draws(case: &Case, stages: &[Stage], path: &StagedPath) -> Vec<DrawOutcome> {
    let mut draws: Vec<DrawOutcome> = Vec::new();
    let (mut work, mut fraction) = (0.0, 0.0);
    // Only whole stages count.
    for number in 0..path.memory.len().min(stages.len()) {
        let Some(state) = path.states.iter().rfind(|s| s.stage == number) else { continue };
        let [travel, effort] = travel_and_effort(case, state);
        let change = state.work() - work;
        if matches!(stages[number], Stage::Hold(_)) {
            // Nobody works; what the spring has lost is missing when it is let down.
            work = state.work();
            continue;
        }
        if let Stage::Rest(alone) = stages[number] {
            left_alone(case, path, number, alone, work, &mut draws);
            (work, fraction) = (state.work(), state.step.fraction);
            continue;
        }
        if state.step.fraction > fraction {
            draws.push(DrawOutcome {
                fraction: state.step.fraction,
                travel,
                effort,
                put_in: change,
                most_plastic: state.most_plastic,
                back: None,
            });
        } else if let Some(draw) = draws.last_mut() {
            let before = draw.back.map_or(0.0, |back| back.returned);
            // What is left of a place in rounding is no set.
            let rest = if travel.abs() > NO_TRAVEL * draw.travel.abs() { travel } else { 0.0 };
            let free = matches!(stages[number], Stage::LetDown);
            draw.back = Some(Back { returned: before - change, rest, effort, free, later: None });
        }
        (work, fraction) = (state.work(), state.step.fraction);
    }
    draws
}

/// What a stage that lets a part go, if it is not yet, and leaves it alone does to the last draw.
fn left_alone(
    case: &Case,
    path: &StagedPath,
    stage: usize,
    alone: f64,
    work: f64,
    draws: &mut [DrawOutcome],
) {
    let of_stage = || path.states.iter().filter(|s| s.stage == stage);
    let begun = path.states.iter().rfind(|s| s.stage < stage);
    let (Some(draw), Some(begun), Some(last)) = (draws.last_mut(), begun, of_stage().next_back())
    else {
        return;
    };
    // What is let go goes at once.
    let at_once = of_stage().take_while(|s| s.time <= begun.time).last().unwrap_or(begun);
    let [rest, effort] = travel_and_effort(case, at_once);
    let first = Back { returned: work - at_once.work(), rest, effort, free: true, later: None };
    let back = draw.back.get_or_insert(first);
    let before = back.later.map_or(0.0, |[time, _]| time);
    back.later = Some([before + alone, travel_and_effort(case, last)[0]]);
}

fn remark_on_time(relaxation: &Relaxation, time: f64, remarks: &mut Vec<Remark>) {
    let text = format!(
        "held and left alone, every point relaxes on with all of its past (generalised Maxwell model in the law's strain; the \
         card's law by {} arms, off by up to {:.0e} of the modulus). Drawing and letting down take no time; warmth \
         is not in it",
        relaxation.arms(time).len(),
        relaxation.error_of_arms(time)
    );
    remarks.push(Remark::note("set-in-time", text));
}

fn remark(case: &Case, path: &StagedPath, draws: &[DrawOutcome], remarks: &mut Vec<Remark>) {
    let held = case.stages.iter().any(|s| matches!(s, Stage::Hold(_)));
    if !held {
        let text = "the set is that of the yield curve alone, at once: a part that is kept drawn creeps and keeps \
                    more, and some of it comes back in hours. Stages with hold = \"1 h\" and rest = \"1 h\" tell that";
        remarks.push(Remark::note("set-without-time", text));
    }
    let most = largest(0.0, draws.iter().map(|d| d.most_plastic));
    let breaks = case.material.elongation_at_break.as_ref().map(|b| b.low.unwrap_or(b.value));
    if let Some(limit) = breaks.filter(|limit| most > *limit) {
        let text = format!(
            "the largest plastic strain is {:.1} %, and the material may break at {:.1} %: a real part \
             may be cracked before it is let down, and where it is not, how far such a spot yields \
             depends on the size of its elements",
            100.0 * most,
            100.0 * limit
        );
        remarks.push(Remark::caution("plastic-strain-breaks", text));
    }
    if path.states.iter().any(|s| !s.step.is_stable()) {
        let text = "some of the states are not stable: the real part buckles or snaps aside there";
        remarks.push(Remark::caution("unstable", text));
    }
    for state in &path.states {
        for begun in &state.step.begun {
            let what = begun.obstacle.as_deref().unwrap_or("itself");
            let text = format!(
                "in stage {} the part begins to push {what} between {:.1} and {:.1} % of the draw; it pushes back",
                state.stage + 1,
                100.0 * begun.before,
                100.0 * begun.fraction
            );
            remarks.push(Remark::note("pushes", text));
        }
    }
    for state in path.states.iter().filter(|s| !s.step.snaps.is_empty()) {
        let text = format!(
            "in stage {} the part snaps near {:.1} % of the draw: energy is lost there that no number \
             here tells of",
            state.stage + 1,
            100.0 * state.step.fraction
        );
        remarks.push(Remark::caution("snap", text));
    }
}
