//! Following the path of a structure of beams, by load steps and by arc length.
//!
//! The rules are those of [`crate::path`]: a step starts from a polynomial through the last states, counts
//! only if it continues the path, and is halved otherwise. The bordered system of an arc step is that of the
//! plane part's arc, with the weights of turns and displacements from the size of the structure (H. B. Keller
//! 1977, from memory); a follower of its own is shorter here than one that serves both kinds of unknowns.

use super::model::{BeamModel, JointId};
use super::system::{Equilibrium, State, System, Wanted, distance};
use crate::error::Failure;
use crate::path::{Stiffness, StopCause, interpolated};
use crate::stability::RegionStiffness;
use std::ops::ControlFlow;
use thiserror::Error;

/// How a path of beams is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeamOptions {
    /// Reported states: equal parts of the load factor.
    pub steps: u32,
    /// How often a reported step may be halved before the solve gives up.
    pub halvings: u32,
    /// Whether the joints' condensed stiffness is wanted.
    pub stiffness: Stiffness,
    /// Of this joint alone, if one is named: each costs a factorisation a state. Those of the others are then
    /// NaN.
    pub only: Option<JointId>,
}

impl Default for BeamOptions {
    fn default() -> Self {
        Self { steps: 20, halvings: 12, stiffness: Stiffness::Skipped, only: None }
    }
}

/// One converged state of a structure of beams.
#[derive(Clone, Debug, PartialEq)]
pub struct BeamStep {
    /// Load factor.
    pub fraction: f64,
    /// Coordinates of each joint (mm, mm, rad).
    pub joints: Vec<[f64; 3]>,
    /// Displacement and turn of the nodes of each member, along it (mm, mm, rad).
    pub members: Vec<Vec<[f64; 3]>>,
    /// Force and moment that drive, support or load exert on each joint (N, N, N mm).
    pub reactions: Vec<[f64; 3]>,
    /// Condensed stiffness of each joint (N/mm, N, N mm); empty if it is not wanted, NaN where it has none.
    pub stiffness: Vec<RegionStiffness>,
    /// Strain energy (mJ).
    pub strain_energy: f64,
    /// Negative pivots of the tangent: 0 where the equilibrium is stable.
    pub negative_pivots: usize,
    /// Linear solutions since the step before.
    pub iterations: usize,
}

impl BeamStep {
    /// Whether every small disturbance is resisted, drives and loads being kept.
    #[must_use]
    pub fn is_stable(&self) -> bool {
        self.negative_pivots == 0
    }
}

/// A path that ended early; what converged is kept.
#[derive(Clone, Debug, Error, PartialEq)]
#[error("the beams' path stopped at {:.2} % of the draw: {cause}", 100.0 * reached)]
pub struct BeamStopped {
    /// The states before.
    pub steps: Vec<BeamStep>,
    /// The last load factor at which equilibrium was found.
    pub reached: f64,
    /// Why it stopped.
    pub cause: StopCause,
}

/// States that the predictor's polynomial goes through.
const HISTORY: usize = 4;
/// A step that took at most this many solutions lets the next one grow (tuning).
const EASY: usize = 4;
/// An equilibrium farther from its extrapolation than this part of the step's length is another
/// branch's; see [`crate::path`].
const CONTINUED: f64 = 0.35;

/// Follows a structure from rest to load factor 1. `observe` is called at each reported state and may
/// stop the solve.
///
/// # Errors
/// [`BeamStopped`] with all that converged.
pub fn follow_beams(
    model: &BeamModel,
    options: &BeamOptions,
    observe: &mut dyn FnMut(&BeamStep) -> ControlFlow<()>,
) -> Result<Vec<BeamStep>, Box<BeamStopped>> {
    let mut walk = Walk::new(System::new(model), options);
    let mut steps = Vec::new();
    for n in 1..=options.steps {
        let target = f64::from(n) / f64::from(options.steps);
        let reached = walk.advance_to(target).and_then(|found| {
            let wanted = match options.stiffness {
                Stiffness::Wanted => Wanted::Stiffness(options.only),
                Stiffness::Skipped => Wanted::Reactions,
            };
            step(&mut walk.system, &walk.now, &found, walk.iterations, wanted)
        });
        match reached {
            Ok(step) => {
                let flow = observe(&step);
                steps.push(step);
                if flow.is_break() && n < options.steps {
                    let cause = StopCause::Interrupted;
                    return Err(Box::new(BeamStopped { steps, reached: target, cause }));
                }
            }
            Err(failure) => {
                let reached = walk.now.factor;
                return Err(Box::new(BeamStopped { steps, reached, cause: failure.into() }));
            }
        }
    }
    Ok(steps)
}

/// A state as it is reported.
fn step(
    system: &mut System,
    state: &State,
    found: &Equilibrium,
    iterations: usize,
    wanted: Wanted,
) -> Result<BeamStep, Failure> {
    let reported = system.report(state, wanted)?;
    let chains = system.model.chains().iter().zip(&system.begin);
    Ok(BeamStep {
        fraction: state.factor,
        joints: state.x[..system.model.joints().len()].to_vec(),
        members: chains.map(|(m, &b)| state.x[b..b + m.places.len()].to_vec()).collect(),
        reactions: reported.reactions,
        stiffness: reported.stiffness,
        strain_energy: found.energy,
        negative_pivots: reported.inertia.negative,
        iterations,
    })
}

/// A walk by load steps.
struct Walk<'m> {
    system: System<'m>,
    now: State,
    history: Vec<(f64, Vec<f64>)>,
    increment: f64,
    largest: f64,
    smallest: f64,
    iterations: usize,
    /// Whether a step from here has failed: the slope of a polynomial may be wrong however short the step,
    /// that of the tangent is not.
    cut: bool,
}

impl<'m> Walk<'m> {
    fn new(system: System<'m>, options: &BeamOptions) -> Self {
        let now = system.at_rest();
        let largest = 1.0 / f64::from(options.steps);
        let halved = 0.5f64.powi(i32::try_from(options.halvings).unwrap_or(i32::MAX));
        Self {
            history: vec![(0.0, now.x.as_flattened().to_vec())],
            now,
            increment: largest,
            largest,
            smallest: largest * halved,
            iterations: 0,
            cut: false,
            system,
        }
    }

    fn advance_to(&mut self, target: f64) -> Result<Equilibrium, Failure> {
        self.iterations = 0;
        loop {
            let remaining = target - self.now.factor;
            let whole = self.increment >= remaining * (1.0 - 1e-9);
            let next = if whole { target } else { self.now.factor + self.increment };
            match self.attempt(next) {
                Ok((state, found)) => {
                    self.accept(state, &found);
                    if whole {
                        return Ok(found);
                    }
                }
                Err(failure) => {
                    self.increment = 0.5 * (next - self.now.factor);
                    self.cut = true;
                    if self.increment < self.smallest {
                        return Err(failure);
                    }
                }
            }
        }
    }

    /// Tries to reach another load factor in one step.
    fn attempt(&mut self, factor: f64) -> Result<(State, Equilibrium), Failure> {
        let mut state = self.now.clone();
        if self.cut || self.history.len() < 2 {
            self.system.tangent_predictor(&mut state, factor)?;
        } else {
            let flat = state.x.as_flattened_mut();
            flat.copy_from_slice(&interpolated(&self.history, factor));
            self.system.set_factor(&mut state, factor);
        }
        let predicted = state.x.clone();
        let found = self.system.equilibrate(&mut state)?;
        let missed = distance(&predicted, &state.x, self.system.arm);
        let moved = distance(&self.now.x, &state.x, self.system.arm);
        if missed <= CONTINUED * moved || missed <= SAME * self.system.arm {
            Ok((state, found))
        } else {
            Err(Failure::NotConverged { residual: missed / moved })
        }
    }

    fn accept(&mut self, state: State, found: &Equilibrium) {
        self.iterations += found.iterations;
        self.history.push((state.factor, state.x.as_flattened().to_vec()));
        if self.history.len() > HISTORY {
            self.history.remove(0);
        }
        self.now = state;
        self.cut = false;
        if found.iterations <= EASY {
            let doubled = 2.0 * self.increment;
            self.increment = if doubled < self.largest { doubled } else { self.largest };
        }
    }
}

/// States closer than this part of the structure's size are the same.
const SAME: f64 = 1e-12;

/// How an arc is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArcOptions {
    /// Load factor that the first step goes to; the arc's steps keep to about its length.
    pub first: f64,
    /// Longest step, in first steps.
    pub longest: f64,
    /// How often the first step may be halved before the solve gives up.
    pub halvings: u32,
    /// Most states.
    pub steps: u32,
}

/// Follows a structure from rest by arc length, round limit points of load and of displacement.
/// `observe` is called at each state and ends the path.
///
/// # Errors
/// [`BeamStopped`] with all that converged: no equilibrium within a step however short.
pub fn follow_arc(
    model: &BeamModel,
    options: &ArcOptions,
    observe: &mut dyn FnMut(&BeamStep) -> ControlFlow<()>,
) -> Result<Vec<BeamStep>, Box<BeamStopped>> {
    let mut system = System::new(model);
    let mut steps = Vec::new();
    let mut now = system.at_rest();
    let mut arc = None;
    for _ in 0..options.steps {
        match arc_step(&mut system, &mut now, &mut arc, options) {
            Ok(step) => {
                let flow = observe(&step);
                steps.push(step);
                if flow.is_break() {
                    break;
                }
            }
            Err(failure) => {
                let reached = now.factor;
                return Err(Box::new(BeamStopped { steps, reached, cause: failure.into() }));
            }
        }
    }
    Ok(steps)
}

/// Direction of a path and the length of its next step.
struct Arc {
    /// Weight of displacements against the load factor (1/mm2).
    weight: f64,
    length: f64,
    direction: (Vec<[f64; 3]>, f64),
}

/// Iterations that a well-chosen arc step takes (tuning).
const USUAL: f64 = 4.0;
/// An arc step that needs more is halved.
const MOST_IN_ARC: usize = 10;
/// A corrector that leaves the predicted direction by this slope is on another branch.
const MOST_TURN: f64 = 0.7;

fn arc_step(
    system: &mut System,
    now: &mut State,
    arc: &mut Option<Arc>,
    options: &ArcOptions,
) -> Result<BeamStep, Failure> {
    let rate = system.tangent(now)?;
    let size = system.arm;
    let speed = dot(&rate, &rate, size);
    let mut next = match arc.take() {
        // Displacements and load factor count alike over the first step.
        None => {
            let weight = 1.0 / speed;
            let length = options.first * 2.0_f64.sqrt();
            Arc { weight, length, direction: (rate.clone(), 1.0) }
        }
        Some(arc) => arc,
    };
    // The tangent in the sense of the last step.
    let along = next.weight * dot(&next.direction.0, &rate, size) + next.direction.1;
    let unit = along.signum() / (next.weight * speed + 1.0).sqrt();
    next.direction = (rate.iter().map(|x| x.map(|x| unit * x)).collect(), unit);
    let first = options.first * 2.0_f64.sqrt();
    let shortest = first * 0.5f64.powi(i32::try_from(options.halvings).unwrap_or(i32::MAX));
    loop {
        match try_arc(system, now, &next) {
            Ok((state, found)) => {
                let grown = (USUAL / found.iterations.max(1) as f64).sqrt().clamp(0.5, 2.0);
                next.length = withy_mesh::number::min(next.length * grown, first * options.longest);
                let step = step(system, &state, &found, found.iterations, Wanted::Reactions)?;
                *now = state;
                *arc = Some(next);
                return Ok(step);
            }
            Err(failure) => {
                next.length *= 0.5;
                // Written so that a NaN ends the loop.
                let worthwhile = next.length >= shortest;
                if !worthwhile {
                    return Err(failure);
                }
            }
        }
    }
}

/// Newton on the bordered system r(x, f) = 0, w t_x . (x - x_0) + t_f (f - f_0) = s.
fn try_arc(system: &mut System, from: &State, arc: &Arc) -> Result<(State, Equilibrium), Failure> {
    let (tx, tf) = &arc.direction;
    let size = system.arm;
    let mut state = from.clone();
    system.step(&mut state, tx, arc.length, *tf * arc.length);
    let mut iterations = 0;
    loop {
        let at = system.bordered(&state)?;
        if at.balanced {
            let moved = distance(&state.x, &from.x, size).powi(2);
            let gone = arc.weight * moved + (state.factor - from.factor).powi(2);
            let across = withy_mesh::number::max(gone - arc.length * arc.length, 0.0).sqrt();
            if across > MOST_TURN * arc.length {
                return Err(Failure::NotConverged { residual: across / arc.length });
            }
            return Ok((state, Equilibrium { iterations, ..at.equilibrium }));
        }
        // Written so that a NaN ends the loop.
        let sane = at.residual <= 1e6;
        if !sane || iterations >= MOST_IN_ARC {
            return Err(Failure::NotConverged { residual: at.residual });
        }
        let gone: f64 = arc.weight * dot_between(tx, &state.x, &from.x, size);
        let gap = arc.length - gone - tf * (state.factor - from.factor);
        let df = (gap - arc.weight * dot(tx, &at.correction, size))
            / (tf + arc.weight * dot(tx, &at.rate, size));
        let both = at.correction.iter().zip(&at.rate);
        let change: Vec<[f64; 3]> =
            both.map(|(a, b)| [0, 1, 2].map(|k| a[k] + df * b[k])).collect();
        system.step(&mut state, &change, 1.0, df);
        iterations += 1;
    }
}

/// Inner product, turns times a length (mm2).
fn dot(a: &[[f64; 3]], b: &[[f64; 3]], arm: f64) -> f64 {
    a.iter().zip(b).map(|(a, b)| a[0] * b[0] + a[1] * b[1] + arm * arm * a[2] * b[2]).sum()
}

fn dot_between(t: &[[f64; 3]], now: &[[f64; 3]], from: &[[f64; 3]], arm: f64) -> f64 {
    let change: Vec<[f64; 3]> =
        now.iter().zip(from).map(|(n, f)| [0, 1, 2].map(|k| n[k] - f[k])).collect();
    dot(t, &change, arm)
}
