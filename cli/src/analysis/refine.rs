//! Meshes, each better than the one before, until the hot spot's stress stays where it is.

use super::corners::{self, Corner};
use super::follow::{Followed, follow};
use super::hot_spot::{Judged, Lookout, Seen};
use super::imperfect::Imperfection;
use super::{AnalysisError, Ended, Progress, Watch, modelled};
use crate::case::Case;
use crate::picture::three_digits;
use crate::remark::Remark;
use std::time::Instant;
use withy_mesh::error::MeshError;
use withy_mesh::number::largest;
use withy_mesh::{Mesh, SizeWish};
use withy_solver::adapt::{Target, size_wishes};
use withy_solver::stress::Recovery;
use withy_solver::{
    Equations, EquilibriumPath, PlaneState, Stiffness, StopCause, Transfer, polish_path,
};

/// More meshes than this do not help: the peak diverges, or the budget is spent.
const MOST_PASSES: usize = 6;
/// Energy may be off by this part of the accuracy asked for of the peak: 2 % asked gives 0.125 %. Its error is the
/// square of that in energy norm; a single reaction may be off by some three times as much.
const ENERGY_SHARE: f64 = 1.0 / 16.0;
/// Elements at the peak must be better than the accuracy asked for by this factor. A coarse mesh's estimate promises
/// more than the next one keeps; with a third instead of a quarter the peak is often short of settled, and a whole mesh
/// is dearer than some elements.
const PEAK_SHARE: f64 = 0.25;

/// One mesh of the sequence and what it gave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    /// Its elements.
    pub elements: usize,
    /// The hot spot's von Mises stress over the draw (MPa).
    pub von_mises: f64,
    /// Estimated relative error of the strain field in energy norm.
    pub energy_error: f64,
    /// Estimated relative error of that stress.
    pub peak_error: f64,
}

/// The final path and how its mesh came about.
#[derive(Debug)]
pub(super) struct Refined {
    pub(super) followed: Followed,
    /// Whether the states are those of the path it began with, carried to the last mesh; if not, the path was followed
    /// anew.
    pub(super) carried: bool,
    pub(super) passes: Vec<Pass>,
    /// What kept better meshes from being made, if anything did.
    pub(super) spent: Option<Spent>,
}

/// A budget that is spent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Spent {
    /// The next mesh would have more elements than allowed.
    Elements(usize),
    /// The time is up (ms).
    Time(f64),
}

/// Makes better meshes until the peak's estimated error is below the case's accuracy; brings the path to the
/// last one.
pub(super) fn refine(
    case: &Case,
    mut followed: Followed,
    state: PlaneState,
    corners: &[Corner],
    imperfection: Option<&Imperfection>,
    started: Instant,
    watch: &mut Watch,
) -> Result<Refined, AnalysisError> {
    let mut sizing = super::first_sizing(case);
    let mut spent = None;
    let mut carried = true;
    let mut finest: Option<Carrier> = None;
    let mut looked =
        look(case, &followed.mesh, state, corners, &followed.only(&followed.decisive))?;
    let mut passes = vec![looked.pass];
    let mut settled = is_settled(case, &looked);
    let mut interrupted = followed.ended.is_interrupted();
    while !settled && !interrupted && passes.len() < MOST_PASSES {
        if let Some(time) = case.most_time
            && started.elapsed().as_secs_f64() * 1e3 > time
        {
            spent = Some(Spent::Time(time));
            break;
        }
        sizing.wishes.append(&mut looked.wishes);
        // A mesh beyond the budget is no reason to lose the one at hand.
        let made = super::meshed(case, &sizing, watch);
        let made = made.and_then(|mesh| match imperfection {
            Some(imperfection) => imperfection.apply(&mesh),
            None => Ok(mesh),
        });
        let mesh = match made {
            Ok(mesh) => mesh,
            Err(error) => {
                interrupted = error == MeshError::Interrupted;
                if matches!(error, MeshError::TooManyElements { .. }) {
                    spent = Some(Spent::Elements(case.most_elements));
                }
                break;
            }
        };
        let number = passes.len() + 1;
        interrupted =
            watch(Progress::Meshed(number, mesh.elements().len(), mesh.nodes().len())).is_break();
        let mut carrier = Carrier::new(&followed.mesh, mesh);
        let chosen = |n| followed.decisive.contains(&n);
        match carry(case, &followed, &mut carrier, state, &chosen, Stiffness::Skipped, watch)? {
            Carried::All(path) => {
                looked = look(case, &carrier.mesh, state, corners, &path)?;
                finest = Some(carrier);
            }
            Carried::Interrupted => {
                interrupted = true;
                break;
            }
            Carried::Lost => {
                carried = false;
                followed = follow(case, carrier.mesh, number, state, corners, watch)?;
                interrupted |= followed.ended.is_interrupted();
                let states = followed.only(&followed.decisive);
                looked = look(case, &followed.mesh, state, corners, &states)?;
                finest = None;
            }
        }
        looked.pass = doubted(&passes[passes.len() - 1], looked.pass);
        settled = is_settled(case, &looked);
        passes.push(looked.pass);
    }
    if !interrupted {
        let mut carrier =
            finest.unwrap_or_else(|| Carrier::new(&followed.mesh, followed.mesh.clone()));
        match carry(case, &followed, &mut carrier, state, &|_| true, Stiffness::Wanted, watch)? {
            Carried::All(path) => {
                followed.path = path;
                followed.mesh = carrier.mesh;
                followed.equations = carrier.equations;
            }
            Carried::Interrupted => interrupted = true,
            Carried::Lost => {
                carried = false;
                followed = follow(case, carrier.mesh, passes.len(), state, corners, watch)?;
            }
        }
    }
    if interrupted && followed.ended == Ended::Complete {
        followed.ended = Ended::Early(1.0, StopCause::Interrupted);
    }
    Ok(Refined { followed, carried, passes, spent })
}

/// Whether a mesh is good enough, or nothing is known that would better it.
fn is_settled(case: &Case, looked: &Looked) -> bool {
    looked.pass.peak_error <= case.accuracy || looked.wishes.is_empty()
}

/// A pass in the light of the one before: where the peak moved farther than had been estimated, the estimate is not
/// to be trusted, and the change takes its place.
fn doubted(before: &Pass, pass: Pass) -> Pass {
    let change = ((pass.von_mises - before.von_mises) / before.von_mises).abs();
    if change <= before.peak_error {
        return pass;
    }
    Pass { peak_error: withy_mesh::number::max(pass.peak_error, change), ..pass }
}

/// What became of states that were carried to another mesh.
enum Carried {
    All(EquilibriumPath),
    /// One of them is not nearby on the better mesh: the path must be followed on it.
    Lost,
    Interrupted,
}

/// A mesh, and what carries states to it: worth keeping for the next ones.
struct Carrier {
    mesh: Mesh,
    transfer: Transfer,
    equations: Equations,
}

impl Carrier {
    fn new(from: &Mesh, mesh: Mesh) -> Self {
        let transfer = Transfer::new(from, &mesh);
        Self { mesh, transfer, equations: Equations::default() }
    }
}

/// Carries the wanted states of a path to another mesh.
fn carry(
    case: &Case,
    followed: &Followed,
    carrier: &mut Carrier,
    state: PlaneState,
    wanted: &dyn Fn(usize) -> bool,
    stiffness: Stiffness,
    watch: &mut Watch,
) -> Result<Carried, AnalysisError> {
    let Carrier { mesh, transfer, equations } = carrier;
    let model = modelled::model(case, mesh, state)?;
    let mut observe = |done, of| watch(Progress::Polished(done, of));
    match polish_path(&model, &followed.path, transfer, equations, wanted, stiffness, &mut observe)
    {
        Ok(path) => Ok(Carried::All(path)),
        Err(stopped) if stopped.cause == StopCause::Interrupted => Ok(Carried::Interrupted),
        Err(_) => Ok(Carried::Lost),
    }
}

/// What some states on a mesh tell.
struct Looked {
    pass: Pass,
    wishes: Vec<SizeWish>,
}

/// Finds the errors of some states, and the sizes that would mend them.
fn look(
    case: &Case,
    mesh: &Mesh,
    state: PlaneState,
    corners: &[Corner],
    path: &EquilibriumPath,
) -> Result<Looked, AnalysisError> {
    let model = modelled::model(case, mesh, state)?;
    let recovery = Recovery::of_states(&model, &path.steps);
    let skip = corners::left_out(mesh, recovery.artificial(), corners);
    let energy = (ENERGY_SHARE * case.accuracy).sqrt();
    let target = Target { energy, peak: PEAK_SHARE * case.accuracy };
    let lookout = Lookout::new(&recovery, mesh, &skip, corners);
    let judged = lookout.judged(&path.steps);
    let energy_error = largest(0.0, judged.iter().map(|(_, error)| error.relative()));
    let wish = |(field, error): &Judged| size_wishes(&model, field, error, &skip, target);
    let wishes = judged.iter().flat_map(wish).collect();
    let seen: Vec<Seen> = judged.iter().map_while(|(field, _)| lookout.see(field)).collect();
    let hot_spot = lookout.hot_spot(path, &seen, &judged);
    let pass = Pass {
        elements: mesh.elements().len(),
        von_mises: hot_spot.von_mises,
        energy_error,
        peak_error: hot_spot.estimated_error,
    };
    Ok(Looked { pass, wishes })
}

/// A peak whose last change is not below this part of the change before does not converge: where stress is
/// finite each mesh leaves a third of the change or less.
const DIVERGES: f64 = 0.7;

/// Whether a sequence of peaks grows without end, as it does at a place that has no finite stress.
fn diverges(passes: &[Pass]) -> bool {
    let [.., a, b, c] = passes else { return false };
    let (before, last) = (b.von_mises - a.von_mises, c.von_mises - b.von_mises);
    before > 0.0 && last > DIVERGES * before
}

/// Says how far the hot spot's stress can be trusted.
pub(super) fn remark_on_accuracy(
    case: &Case,
    passes: &[Pass],
    spent: Option<Spent>,
    remarks: &mut Vec<Remark>,
) {
    let peaks: Vec<String> = passes.iter().map(|p| three_digits(p.von_mises)).collect();
    let asked = 100.0 * case.accuracy;
    let peaks = peaks.join(", ");
    let text = match passes.len() {
        1 => format!("one mesh gave a peak of {peaks} MPa"),
        number => format!("{number} meshes gave peaks of {peaks} MPa"),
    };
    if passes.last().is_some_and(|last| last.peak_error <= case.accuracy) {
        let text = format!("{text}; the estimated error of the last is within {asked:.2} %");
        remarks.push(Remark::note("accuracy", text));
        return;
    }
    let why = match spent {
        Some(Spent::Elements(limit)) => {
            format!("; a better mesh would have more than the {limit} elements allowed")
        }
        Some(Spent::Time(ms)) => {
            format!("; the {} s allowed were over", three_digits(1e-3 * ms))
        }
        None => String::new(),
    };
    remarks.push(Remark::caution(
        "accuracy-not-reached",
        format!("{text}: not settled within the {asked:.2} % asked for{why}"),
    ));
    if diverges(passes) {
        remarks.push(Remark::caution(
            "diverges",
            "the hot spot's stress grows with every finer mesh: the place has no finite stress, as at a \
             sharp inner corner or at the end of a roller. Round it, or judge the part by a place a wall's \
             width away",
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn passes(peaks: &[f64]) -> Vec<Pass> {
        let pass = |&von_mises| Pass { elements: 0, von_mises, energy_error: 0.0, peak_error: 0.0 };
        peaks.iter().map(pass).collect()
    }

    #[test]
    fn a_peak_that_moves_farther_than_estimated_has_the_change_for_its_error() {
        let pass = |von_mises, peak_error| {
            let (elements, energy_error) = (0, 0.0);
            Pass { elements, von_mises, energy_error, peak_error }
        };
        let foreseen = doubted(&pass(10.0, 0.07), pass(10.6, 0.01));
        assert!((foreseen.peak_error - 0.01).abs() < 1e-12, "{foreseen:?}");
        let farther = doubted(&pass(10.0, 0.05), pass(10.6, 0.01));
        assert!((farther.peak_error - 0.06).abs() < 1e-12, "{farther:?}");
    }

    #[test]
    fn growth_without_end_is_told_from_convergence() {
        // Halving elements at a corner of 270 degrees makes the peak 2^0.455 times as large.
        assert!(diverges(&passes(&[10.0, 13.7, 18.8])), "a sharp corner");
        assert!(!diverges(&passes(&[38.4, 40.7, 41.0])), "a fillet");
        assert!(!diverges(&passes(&[10.0, 13.0])), "two meshes tell nothing");
        assert!(!diverges(&passes(&[10.0, 9.0, 11.0])), "up and down is no growth");
    }
}
