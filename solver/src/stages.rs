//! Drawing a part, letting it down, drawing it again: the path of a solid that remembers.
//!
//! Each stage moves the load factor one way in equal parts; a part that finds no equilibrium, or one
//! that is not the continuation of the path, is halved, down to a floor. What the points remember
//! changes only where a state has converged. A part is let down until its drives exert no more
//! force: that draw is its permanent set.
//!
//! Energies are functions of the state: the work put in since rest is the elastic energy plus the work
//! done on plastic strain and what time has taken (and equals the integral of force over draw, which the tests check).
//!
//! Drawing and letting down take no time. In holds and rests it passes in steps that grow, and every point's arms
//! relax as `viscous` says: a stage begins with what all the stages before have left.

use crate::configuration::Configuration;
use crate::contact::Met;
use crate::error::Failure;
use crate::free::NO_EFFORT;
use crate::material::PlasticState;
use crate::model::{Coordinate, Model};
use crate::newton::{Equilibrium, System};
use crate::path::{
    EASY, GRAZING, Step, Stiffness, StopCause, TOUCHING, begun, distance, guesses_too_deep,
    predict, reported,
};
use crate::quadrature::DEGREE_2;
use crate::relaxation::{Relaxation, Term, steps};
use crate::stress::artificial_nodes;
use crate::triangle;
use crate::viscous::Viscous;
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use thiserror::Error;
use withy_mesh::number::{max, min};

/// One way of the draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stage {
    /// To a load factor: 1 is full draw, 0 the place at rest.
    To(f64),
    /// Kept where it is for this long, or under its load if it is only loaded.
    Hold(f64),
    /// Let go, if it is not yet, and left alone without a force of the drives for this long.
    Rest(f64),
    /// Back until the drives exert no force; a model that is only loaded goes back to no load.
    LetDown,
}

/// How stages are followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StageOptions {
    /// Equal parts of a whole draw.
    pub steps: u32,
    /// How often a part may be halved before the solve gives up.
    pub halvings: u32,
    /// Steps by decade of time in holds and rests: of second order, 10 are good to about 1e-3 of what is lost.
    pub by_decade: u32,
}

/// A converged state of a stage.
#[derive(Clone, Debug, PartialEq)]
pub struct StageState {
    /// Which stage, from 0.
    pub stage: usize,
    /// Time since the first stage began, in the unit of the relaxation.
    pub time: f64,
    /// The state; its energy is the elastic one, of all springs.
    pub step: Step,
    /// Force of the drives along the draw: work by load factor, what loads do left out (mJ).
    pub effort: f64,
    /// Work done on plastic strain since rest (mJ).
    pub plastic_work: f64,
    /// Work that relaxing has taken since rest (mJ).
    pub relaxed: f64,
    /// Largest equivalent plastic strain in elements away from clamped and rigid regions, where
    /// clamping makes a peak of its own.
    pub most_plastic: f64,
}

impl StageState {
    /// All work put in since rest (mJ).
    #[must_use]
    pub fn work(&self) -> f64 {
        self.step.strain_energy + self.plastic_work + self.relaxed
    }
}

/// The states of all stages, in order; rest is not listed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StagedPath {
    /// Converged states.
    pub states: Vec<StageState>,
    /// What the points remember at the end of each stage, by mesh element and Gauss point.
    pub memory: Vec<Vec<[PlasticState; 3]>>,
}

/// Stages that ended early; what converged is kept.
#[derive(Clone, Debug, Error, PartialEq)]
#[error("stage {} stopped at {:.2} % of the draw: {cause}", stage + 1, 100.0 * reached)]
pub struct StagesStopped {
    /// The states before.
    pub path: StagedPath,
    /// Which stage, from 0.
    pub stage: usize,
    /// The last load factor at which equilibrium was found.
    pub reached: f64,
    /// Why it stopped.
    pub cause: StopCause,
}

/// States that the predictor's polynomial goes through: yielding bends the path, so no more than a
/// parabola.
const HISTORY: usize = 3;
/// An equilibrium farther from its extrapolation than this part of the step's length is another
/// branch's; see [`crate::path`].
const CONTINUED: f64 = 0.35;
/// A part that still pulls here, a whole draw behind its rest, is not let down.
const FARTHEST_BACK: f64 = -1.0;

/// The first step of a time is this part of the shortest relaxation time of any weight.
const FIRST: f64 = 0.1;
/// An arm of a smaller share has no weight.
const NO_WEIGHT: f64 = 1e-3;
/// Nor do steps begin earlier than so many decades before the end of the time.
const DECADES_BEFORE: i32 = 7;

/// The time that stages take, in the unit of the relaxation.
#[must_use]
pub fn duration(stages: &[Stage]) -> f64 {
    let of = |s: &Stage| if let Stage::Hold(time) | Stage::Rest(time) = s { *time } else { 0.0 };
    stages.iter().map(of).sum()
}

/// Follows the stages of a model from rest; where a relaxation is given, time changes what its points remember.
/// `observe` is called at each state and may stop it.
///
/// # Errors
/// [`StagesStopped`] with all that converged.
pub fn follow_stages(
    model: &Model,
    relaxation: Option<&Relaxation>,
    stages: &[Stage],
    options: &StageOptions,
    observe: &mut dyn FnMut(&StageState) -> ControlFlow<()>,
) -> Result<StagedPath, Box<StagesStopped>> {
    let time = duration(stages);
    let arms = relaxation.filter(|_| time > 0.0).map(|r| r.arms(time));
    let mut walk = Walk::new(model, arms, options);
    let mut path = StagedPath::default();
    for (number, stage) in stages.iter().enumerate() {
        walk.begin();
        let mut record = Record { stage: number, path: &mut path, observe: &mut *observe };
        let ended = match *stage {
            Stage::To(target) => walk.to(target, &mut record),
            Stage::Hold(time) => walk.hold(time, &mut record),
            Stage::Rest(time) => walk.rest(time, &mut record),
            Stage::LetDown if walk.is_driven() => walk.let_down(&mut record),
            Stage::LetDown => walk.to(0.0, &mut record),
        };
        if let Err(cause) = ended {
            let reached = walk.now.factor;
            return Err(Box::new(StagesStopped { path, stage: number, reached, cause }));
        }
        path.memory.push(walk.memory());
    }
    Ok(path)
}

/// Where the states of a stage go.
struct Record<'r> {
    stage: usize,
    path: &'r mut StagedPath,
    observe: &'r mut dyn FnMut(&StageState) -> ControlFlow<()>,
}

/// Where the part is and how it came there.
struct Walk<'a> {
    model: &'a Model<'a>,
    system: System,
    now: Configuration,
    /// Load factors and unknowns of the last states of this stage, newest last.
    history: Vec<(f64, Vec<f64>)>,
    /// Load factor of one part, of the next internal step, and of the shortest one.
    part: f64,
    increment: f64,
    floor: f64,
    /// Whether a step failed lately that may have run into something: first guesses are looked at then.
    wary: bool,
    effort: f64,
    /// The most of it so far.
    most_effort: f64,
    time: f64,
    /// First step of a time, and steps by decade.
    first: f64,
    by_decade: usize,
    /// Linear solutions, internal steps and snaps since the last reported state.
    iterations: usize,
    internal_steps: usize,
    snaps: Vec<f64>,
    /// By node, see [`StageState::most_plastic`].
    artificial: Vec<bool>,
    /// Distance of the last equilibrium from its extrapolation (mm).
    missed: f64,
    /// What the present state pushes.
    met: BTreeSet<Met>,
    /// What was not pushed, and then was, since the last reported state, with the load factors of both states.
    begun: Vec<(Met, [f64; 2])>,
}

impl<'a> Walk<'a> {
    fn new(model: &'a Model<'a>, arms: Option<Vec<Term>>, options: &StageOptions) -> Self {
        let mut system = System::new(model);
        let mut first = 0.0;
        if let Some(arms) = arms {
            let of_weight = arms.iter().filter(|a| a.share > NO_WEIGHT).map(|a| a.time);
            first = FIRST * of_weight.min_by(f64::total_cmp).unwrap_or(0.0);
            let viscous = Viscous::new(arms, model.mesh().elements().len());
            system.assembly.set_viscous(model, viscous);
        }
        let part = 1.0 / f64::from(options.steps.max(1));
        Self {
            now: Configuration::at_rest(&system.assembly.dofs),
            model,
            system,
            history: Vec::new(),
            part,
            increment: part,
            wary: false,
            floor: part * 0.5f64.powi(i32::try_from(options.halvings).unwrap_or(i32::MAX)),
            effort: 0.0,
            most_effort: 0.0,
            time: 0.0,
            first,
            by_decade: options.by_decade.max(1) as usize,
            iterations: 0,
            internal_steps: 0,
            snaps: Vec::new(),
            artificial: artificial_nodes(model),
            missed: 0.0,
            met: BTreeSet::new(),
            begun: Vec::new(),
        }
    }

    /// Turns: the way so far tells nothing about the way back.
    fn begin(&mut self) {
        let unknowns = self.now.unknowns(&self.system.assembly.dofs);
        self.history = vec![(self.now.factor, unknowns)];
        self.increment = self.part;
    }

    fn is_driven(&self) -> bool {
        let driven = |c: &Coordinate| matches!(c, Coordinate::Driven(v) if v.abs() > 0.0);
        self.model.rigid_regions().iter().any(|r| r.motion.iter().any(driven))
    }

    fn memory(&self) -> Vec<[PlasticState; 3]> {
        let pointwise = &self.system.assembly.solid.pointwise;
        pointwise.as_ref().map_or_else(Vec::new, |p| p.states().to_vec())
    }

    /// To a load factor in equal parts.
    fn to(&mut self, target: f64, record: &mut Record) -> Result<(), StopCause> {
        let start = self.now.factor;
        // Rounding must not add a part.
        let parts = ((target - start).abs() / self.part - 1e-9).ceil();
        let mut n = 0.0;
        while n < parts {
            n += 1.0;
            let next = if n < parts { start + (target - start) * n / parts } else { target };
            let found = self.reach(next)?;
            self.report(found, record)?;
        }
        Ok(())
    }

    /// A time passes in steps, at the end of which the part is found to `settle`.
    fn pass(
        &mut self,
        time: f64,
        record: &mut Record,
        settle: impl Fn(&mut Self) -> Result<Equilibrium, Failure>,
    ) -> Result<(), StopCause> {
        let first = max(self.first, time * 10f64.powi(-DECADES_BEFORE));
        for dt in steps(time, first, self.by_decade) {
            self.system.assembly.begin(dt);
            let found = settle(self)?;
            self.time += dt;
            self.report(found, record)?;
        }
        Ok(())
    }

    /// Time passes while the load factor is kept.
    fn hold(&mut self, time: f64, record: &mut Record) -> Result<(), StopCause> {
        self.pass(time, record, |walk| {
            let mut state = walk.now.clone();
            let found = walk.system.equilibrate(&mut state)?;
            walk.iterations += found.iterations;
            walk.accept(state, &found);
            Ok(found)
        })
    }

    /// Let go, then time passes without a force of the drives.
    fn rest(&mut self, time: f64, record: &mut Record) -> Result<(), StopCause> {
        if !self.is_driven() {
            self.to(0.0, record)?;
            return self.hold(time, record);
        }
        self.let_down(record)?;
        self.pass(time, record, |walk| walk.free(walk.now.clone()))
    }

    /// The state without effort near another one.
    fn free(&mut self, mut state: Configuration) -> Result<Equilibrium, Failure> {
        let found = self.system.let_free(&mut state, self.most_effort)?;
        self.iterations += found.iterations;
        self.accept(state, &found);
        Ok(found)
    }

    /// Back until the drives exert no force.
    fn let_down(&mut self, record: &mut Record) -> Result<(), StopCause> {
        // A part that pulls on stays where it is.
        while self.effort > NO_EFFORT * self.most_effort {
            let next = self.now.factor - self.part;
            if next < FARTHEST_BACK {
                return Err(Failure::NotConverged { residual: 1.0 }.into());
            }
            let found = self.reach_or_free(next)?;
            self.report(found, record)?;
        }
        Ok(())
    }

    /// Reaches a load factor, in several internal steps if need be.
    fn reach(&mut self, target: f64) -> Result<Equilibrium, Failure> {
        loop {
            let (state, found) = self.trial(target)?;
            let whole = state.factor.to_bits() == target.to_bits();
            self.accept(state, &found);
            if whole {
                return Ok(found);
            }
        }
    }

    /// The same, but not beyond the place where the effort vanishes.
    fn reach_or_free(&mut self, target: f64) -> Result<Equilibrium, Failure> {
        loop {
            let (state, found) = self.trial(target)?;
            if self.system.assembly.effort(&state) < 0.0 {
                return self.free(state);
            }
            let whole = state.factor.to_bits() == target.to_bits();
            self.accept(state, &found);
            if whole {
                return Ok(found);
            }
        }
    }

    /// The equilibrium at a load factor, or at one on the way to it that the present increment reaches, halved until it
    /// is found.
    fn trial(&mut self, target: f64) -> Result<(Configuration, Equilibrium), Failure> {
        loop {
            let way = target - self.now.factor;
            // A last sliver would only waste a step.
            let whole = self.increment >= way.abs() * (1.0 - 1e-9);
            let next = if whole { target } else { self.now.factor + self.increment.copysign(way) };
            let length = (next - self.now.factor).abs();
            let shortest = 0.5 * length < self.floor;
            if self.wary
                && !shortest
                && guesses_too_deep(&mut self.system, &self.now, &self.history, next)
            {
                self.increment = 0.5 * length;
                continue;
            }
            match self.attempt(next) {
                Ok((state, found)) => {
                    let moved = distance(&self.now.u, &state.u);
                    // Where the part begins or ceases to touch its path turns: no step is short enough there.
                    let short = length <= TOUCHING * self.part;
                    let turns = short && (!self.met.is_empty() || self.system.assembly.touches());
                    let continues = self.missed <= CONTINUED * moved;
                    let brief = length <= 1.001 * GRAZING * self.part;
                    if continues && !brief && self.grazes(&state) {
                        self.increment = 0.5 * length;
                        continue;
                    }
                    if continues || turns || shortest {
                        if !continues {
                            // What led here says nothing about the way on.
                            self.history.clear();
                        }
                        if !continues && !turns {
                            self.snaps.push(next);
                        }
                        self.wary &= length < 0.99 * self.part;
                        if found.iterations <= EASY {
                            self.increment = min(2.0 * self.increment, self.part);
                        }
                        return Ok((state, found));
                    }
                }
                Err(failure) if shortest => return Err(failure),
                Err(_) => {}
            }
            self.wary = self.system.assembly.contact.is_some();
            self.increment = 0.5 * length;
        }
    }

    /// Whether the part goes through something on its way to the equilibrium assembled last, and is out of it there.
    fn grazes(&self, state: &Configuration) -> bool {
        let assembly = &self.system.assembly;
        assembly.grazes((&self.now, &self.met), (state, &assembly.met()))
    }

    /// Equilibrium at a load factor in one step from the present state.
    fn attempt(&mut self, factor: f64) -> Result<(Configuration, Equilibrium), Failure> {
        let mut state = self.now.clone();
        predict(&mut self.system, &self.history, &mut state, factor)?;
        let predicted = state.u.clone();
        let found = self.system.equilibrate(&mut state)?;
        self.iterations += found.iterations;
        self.system.keeps_out(Some(&self.now), &state)?;
        self.missed = distance(&predicted, &state.u);
        Ok((state, found))
    }

    /// Takes a state for the present one: its points remember it from now on.
    fn accept(&mut self, state: Configuration, found: &Equilibrium) {
        self.internal_steps += 1;
        let met = self.system.assembly.met();
        let factors = [self.now.factor, state.factor];
        self.begun.extend(met.difference(&self.met).map(|met| (*met, factors)));
        self.met = met;
        self.effort = self.system.assembly.effort(&state);
        self.most_effort = max(self.most_effort, self.effort.abs());
        self.system.most_forces = max(self.system.most_forces, found.forces);
        self.system.assembly.commit(self.model, &state);
        self.history.push((state.factor, state.unknowns(&self.system.assembly.dofs)));
        if self.history.len() > HISTORY {
            self.history.remove(0);
        }
        self.now = state;
    }

    fn report(&mut self, found: Equilibrium, record: &mut Record) -> Result<(), StopCause> {
        let step = reported(self.model, &mut self.system, &self.now, found, Stiffness::Skipped);
        let spent = self.spent();
        let state = StageState {
            stage: record.stage,
            time: self.time,
            step: Step {
                strain_energy: spent.stored.unwrap_or(step.strain_energy),
                iterations: std::mem::take(&mut self.iterations),
                internal_steps: std::mem::take(&mut self.internal_steps),
                snaps: std::mem::take(&mut self.snaps),
                begun: std::mem::take(&mut self.begun)
                    .into_iter()
                    .map(|(met, factors)| begun(self.model, met, factors))
                    .collect(),
                ..step
            },
            effort: self.effort,
            plastic_work: spent.plastic_work,
            relaxed: spent.relaxed,
            most_plastic: spent.most_plastic,
        };
        let flow = (record.observe)(&state);
        record.path.states.push(state);
        if flow.is_break() { Err(StopCause::Interrupted) } else { Ok(()) }
    }

    /// What the points have stored and spent.
    fn spent(&self) -> Spent {
        let mut spent = Spent { stored: None, plastic_work: 0.0, relaxed: 0.0, most_plastic: 0.0 };
        let Some(pointwise) = &self.system.assembly.solid.pointwise else { return spent };
        let viscous = pointwise.viscous();
        let mut stored = 0.0;
        let mesh = self.model.mesh();
        for (e, (element, states)) in mesh.elements().iter().zip(pointwise.states()).enumerate() {
            let x = triangle::places(mesh, element);
            let counts = element.iter().all(|n| !self.artificial[n.index()]);
            for (q, (g, state)) in DEGREE_2.iter().zip(states).enumerate() {
                let (_, det) = triangle::gradients(&x, g.xi, g.eta);
                let volume = self.model.thickness() * g.weight * det;
                spent.plastic_work += volume * state.work;
                let [kept, lost] = viscous.map_or([0.0; 2], |v| v.energies(e, q));
                stored += volume * kept;
                spent.relaxed += volume * lost;
                if counts {
                    spent.most_plastic = max(spent.most_plastic, state.equivalent);
                }
            }
        }
        spent.stored = viscous.map(|_| stored);
        spent
    }
}

/// Sums over the points since rest.
struct Spent {
    /// Energy of all springs (mJ), where there are arms.
    stored: Option<f64>,
    /// Work on plastic strain (mJ).
    plastic_work: f64,
    /// What relaxing has taken (mJ).
    relaxed: f64,
    /// Largest equivalent plastic strain.
    most_plastic: f64,
}
