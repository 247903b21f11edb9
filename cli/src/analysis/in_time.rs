//! The launch once more, in time: the whole part with all of its mass, let go at full draw.
//!
//! It runs on the first mesh, which carries the path and the ringing well and the hot spot's stress not so well: strains
//! are told as factors on the drawn state's, on the same mesh.

use super::{Analysis, AnalysisError, Axis, Ended, Launched, SpotKind, Watch, analyse};
use crate::case::Case;
use std::ops::ControlFlow;
use thiserror::Error;
use withy_mesh::Mesh;
use withy_mesh::number::{largest, max, min};
use withy_solver::stress::Recovery;
use withy_solver::transient::{Instant, Pace, Throw, frequencies, let_go};
use withy_solver::{Failure, ModelError, PlaneState};

/// Time steps until the projectile is expected to leave.
const STEPS_TO_LAUNCH: u16 = 250;
/// How long it is followed, in times of the launch: the carriage has swung beyond rest and come back.
const FOLLOWED: u16 = 3;
/// The touch of the projectile gives way by this share of the draw under the drawn force.
const TOUCH: f64 = 2e-3;
/// States kept for pictures and stresses.
const FRAMES: usize = 48;
/// Accuracy of the mesh that it runs on: the first one will do.
const COARSE: f64 = 0.5;
/// Natural frequencies that are told.
const FREQUENCIES: usize = 3;

/// Why there is nothing in time.
#[derive(Debug, Error)]
pub enum InTimeError {
    /// The part has no launch, or none came about.
    #[error("{0}")]
    NoLaunch(&'static str),
    /// The coarse solve.
    #[error(transparent)]
    Analysis(#[from] AnalysisError),
    /// The model.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// A time step.
    #[error("the release stopped {time:.3} ms after it was let go: {cause}")]
    Stopped {
        /// ms.
        time: f64,
        /// Why.
        cause: Failure,
    },
    /// Ctrl-C.
    #[error("interrupted")]
    Interrupted,
}

/// A release in time.
#[derive(Debug)]
pub struct InTime {
    /// The mesh that it ran on.
    pub mesh: Mesh,
    /// Every time step.
    pub instants: Vec<Instant>,
    /// Some states: time (ms), displacement of each node (mm).
    pub frames: Vec<(f64, Vec<[f64; 2]>)>,
    /// Unit vector of the throw.
    pub direction: [f64; 2],
    /// Speed of the projectile in the end (m/s).
    pub speed: f64,
    /// When it is pushed for the last time (ms).
    pub leaves: f64,
    /// Whether it was let go before and caught again.
    pub caught_again: bool,
    /// How far the region swings beyond rest (mm).
    pub overshoot: f64,
    /// Largest strain on the way by the drawn one, and when (ms); none at a sharp corner.
    pub strain: Option<[f64; 2]>,
    /// Largest strain and half of the range, from rest on, where the two together are worst, by the drawn strain.
    pub cycle: Option<[f64; 2]>,
    /// Taken by friction (mJ).
    pub rubbed: f64,
    /// Largest force on what holds it (N), and when (ms).
    pub frame_force: [f64; 2],
    /// Largest change of the sum of all energies, by it.
    pub energy_error: f64,
    /// Natural frequencies at rest (Hz).
    pub frequencies: Vec<f64>,
    /// Damping: relaxation time of the strain rate's stress (ms).
    pub damping: f64,
}

/// Lets a solved case go.
///
/// # Errors
/// No launch, a coarse solve that fails, a time step that fails, an interruption.
pub fn in_time(
    case: &Case,
    launched: &Launched,
    state: PlaneState,
    watch: &mut Watch,
    tell: &mut dyn FnMut(f64) -> ControlFlow<()>,
) -> Result<InTime, InTimeError> {
    let launch =
        case.launch.as_ref().ok_or(InTimeError::NoLaunch("the part file has no [launch]"))?;
    let density = case.material.density.as_ref();
    let density = density.ok_or(InTimeError::NoLaunch("the material has no density"))?;
    let mut coarse = case.clone();
    coarse.accuracy = COARSE;
    coarse.launch = None;
    let Analysis { mesh, solution } = analyse(&coarse, watch)?;
    let drawn = solution.path.steps.last().filter(|_| solution.ended == Ended::Complete);
    let drawn = drawn.ok_or(InTimeError::NoLaunch("the coarse solve did not reach full draw"))?;
    if solution.path.steps.iter().any(|s| !s.pushing.touches.is_empty()) {
        // On its way back the part would run through what it pushes.
        return Err(InTimeError::NoLaunch(
            "the part pushes itself, a rail or a pin along its draw, and a release in time knows no contact; \
             `withy solve` tells the launch along the draw's own states",
        ));
    }
    let Axis::Along(axis) = Axis::of(case, &launch.region) else {
        return Err(InTimeError::NoLaunch("the launch is that of a turned region"));
    };
    let index = case.drives.iter().position(|d| d.region == launch.region).unwrap_or(0);
    let full = Axis::Along(axis).travel(drawn.rigid[index]);
    let force = Axis::Along(axis).effort(&drawn.reactions[index]).abs();
    let mut held = coarse;
    held.drives.clear();
    held.loads.clear();
    let model = super::modelled::model(&held, &mesh, state)?;
    let expected = launched.release.time;
    // Of a straight spring: the strain rate takes pi/2 omega tau of the energy on a quarter of a period.
    let damping = 4.0 * launch.losses * expected / std::f64::consts::PI.powi(2);
    let pace = Pace {
        step: expected / f64::from(STEPS_TO_LAUNCH),
        end: f64::from(FOLLOWED) * expected,
        damping,
    };
    let direction = axis.map(|a| -a);
    let throw = Throw {
        nodes: super::modelled::nodes_of(&mesh, &launch.region),
        direction,
        mass: launch.mass,
        stop: (launch.stop > 0.0).then_some(-launch.stop),
        stiffness: force / (TOUCH * full),
        friction: launch.friction,
    };
    let mut instants: Vec<Instant> = Vec::new();
    let mut frames = Vec::new();
    let every = (usize::from(FOLLOWED * STEPS_TO_LAUNCH) / FRAMES).max(1);
    let mut stopped = false;
    let outcome =
        let_go(&model, &drawn.displacements, density.value, &throw, &pace, &mut |now, u| {
            if instants.len().is_multiple_of(every) {
                frames.push((now.time, u.to_vec()));
            }
            instants.push(*now);
            let go_on = tell(now.time / pace.end);
            stopped = go_on.is_break();
            go_on
        });
    if stopped {
        return Err(InTimeError::Interrupted);
    }
    if let Err(cause) = outcome {
        let time = instants.last().map_or(0.0, |i| i.time);
        return Err(InTimeError::Stopped { time, cause });
    }
    let still = vec![[0.0; 2]; mesh.nodes().len()];
    let frequencies = frequencies(&model, &still, density.value, FREQUENCIES)
        .map_err(|cause| InTimeError::Stopped { time: 0.0, cause })?;
    let strained =
        (solution.hot_spot.kind == SpotKind::Finite).then(|| strains(&model, &frames)).flatten();
    let pushed: Vec<bool> = instants.iter().map(|i| i.push > 0.0).collect();
    let last_push = pushed.iter().rposition(|p| *p).unwrap_or(0);
    let first_push = pushed.iter().position(|p| *p).unwrap_or(0);
    let energy = instants.first().map_or(f64::NAN, Instant::total);
    let size = |i: &Instant| i.frame_force[0].hypot(i.frame_force[1]);
    let hardest = instants.iter().max_by(|a, b| size(a).total_cmp(&size(b)));
    Ok(InTime {
        speed: instants.last().map_or(f64::NAN, |i| i.projectile_speed),
        leaves: instants[last_push].time,
        caught_again: pushed[first_push..=last_push].iter().any(|p| !p),
        overshoot: largest(0.0, instants.iter().map(|i| i.place)),
        strain: strained.map(|s| s.most),
        cycle: strained.map(|s| s.cycle),
        rubbed: instants.last().map_or(f64::NAN, |i| i.rubbed),
        frame_force: hardest.map_or([f64::NAN; 2], |i| [size(i), i.time]),
        energy_error: largest(0.0, instants.iter().map(|i| (i.total() / energy - 1.0).abs())),
        frequencies: frequencies.iter().map(|w| 1e3 * w / std::f64::consts::TAU).collect(),
        damping,
        direction,
        mesh,
        instants,
        frames,
    })
}

/// Strains of a motion by the largest one of its first frame.
#[derive(Clone, Copy)]
struct Strained {
    /// The largest, and when (ms).
    most: [f64; 2],
    /// Largest and half of the range, from rest on, of the node where their product is largest.
    cycle: [f64; 2],
}

fn strains(model: &withy_solver::Model, frames: &[(f64, Vec<[f64; 2]>)]) -> Option<Strained> {
    let recovery = Recovery::new(model);
    let skip = recovery.artificial();
    let mut range = vec![[0.0; 2]; skip.len()];
    let (mut drawn, mut most) = (None, [f64::NEG_INFINITY, 0.0]);
    for (time, u) in frames {
        let field = recovery.field(u);
        let peak = field.peak(skip, |n| n.strain)?.value;
        drawn = drawn.or(Some(peak));
        if max(peak, most[0]) > most[0] {
            most = [peak, *time];
        }
        for ([low, high], n) in range.iter_mut().zip(&field.stress) {
            // Along an edge one of both is zero.
            let signed = n.strain.copysign(n.tension + n.compression);
            (*low, *high) = (min(*low, signed), max(*high, signed));
        }
    }
    let drawn = drawn?;
    let counted = range.iter().zip(skip).filter(|(_, skip)| !**skip);
    let cycles = counted.map(|([low, high], _)| [max(*high, -low), 0.5 * (high - low)]);
    let worst = cycles.max_by(|a, b| (a[0] * a[1]).total_cmp(&(b[0] * b[1])))?;
    Some(Strained { most: [most[0] / drawn, most[1]], cycle: worst.map(|e| e / drawn) })
}
