//! Drawing a part, letting it down, drawing it again: the path of a solid that remembers.
//!
//! Each stage moves the load factor one way in equal parts; a part that finds no equilibrium, or one
//! that is not the continuation of the path, is halved, down to a floor. What the points remember
//! changes only where a state has converged. A part is let down until its drives exert no more
//! force: that draw is its permanent set.
//!
//! Energies are functions of the state: the work put in since rest is the elastic energy plus the work
//! done on plastic strain (and equals the integral of force over draw, which the tests check).

use crate::configuration::{Configuration, resultant};
use crate::error::Failure;
use crate::material::PlasticState;
use crate::model::{Coordinate, Model};
use crate::newton::{Equilibrium, System};
use crate::path::{Step, Stiffness, StopCause, TOUCHING, distance, lagrange, reported};
use crate::quadrature::DEGREE_2;
use crate::stress::artificial_nodes;
use crate::triangle;
use std::ops::ControlFlow;
use thiserror::Error;

/// One way of the draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stage {
    /// To a load factor: 1 is full draw, 0 the place at rest.
    To(f64),
    /// Kept where it is until the stress has fallen by this share: see [`crate::relaxation`]. In plane stress and under
    /// drives; what is gone stays gone, though a real polymer gets some of it back in time.
    Hold(f64),
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
}

/// A converged state of a stage.
#[derive(Clone, Debug, PartialEq)]
pub struct StageState {
    /// Which stage, from 0.
    pub stage: usize,
    /// The state; its energy is the elastic one.
    pub step: Step,
    /// Force of the drives along the draw: work by load factor, what loads do left out (mJ).
    pub effort: f64,
    /// Work done on plastic strain since rest (mJ).
    pub plastic_work: f64,
    /// Largest equivalent plastic strain in elements away from clamped and rigid regions, where
    /// clamping makes a peak of its own.
    pub most_plastic: f64,
}

impl StageState {
    /// All work put in since rest (mJ).
    #[must_use]
    pub fn work(&self) -> f64 {
        self.step.strain_energy + self.plastic_work
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
/// No force is left where it is below this part of the largest one.
const NO_FORCE: f64 = 1e-7;
/// The place where the force vanishes is found in fewer trials than this.
const MOST_TRIALS: usize = 40;
/// A part that still pulls here, a whole draw behind its rest, is not let down.
const FARTHEST_BACK: f64 = -1.0;

/// Follows the stages of a model from rest. `observe` is called at each state and may stop it.
///
/// # Errors
/// [`StagesStopped`] with all that converged.
pub fn follow_stages(
    model: &Model,
    stages: &[Stage],
    options: &StageOptions,
    observe: &mut dyn FnMut(&StageState) -> ControlFlow<()>,
) -> Result<StagedPath, Box<StagesStopped>> {
    let mut walk = Walk::new(model, options);
    let mut path = StagedPath::default();
    for (number, stage) in stages.iter().enumerate() {
        walk.begin();
        let ended = match *stage {
            Stage::To(target) => walk.to(target, number, &mut path, observe),
            Stage::Hold(lost) => walk.hold(lost, number, &mut path, observe),
            Stage::LetDown if walk.is_driven() => walk.let_down(number, &mut path, observe),
            Stage::LetDown => walk.to(0.0, number, &mut path, observe),
        };
        if let Err(cause) = ended {
            let reached = walk.now.factor;
            return Err(Box::new(StagesStopped { path, stage: number, reached, cause }));
        }
        path.memory.push(walk.memory());
    }
    Ok(path)
}

/// Where the part is and how it came there.
struct Walk<'a> {
    model: &'a Model<'a>,
    system: System,
    now: Configuration,
    /// Load factors and unknowns of the last states of this stage, newest last.
    history: Vec<(f64, Vec<f64>)>,
    /// Load factor of one part, and of the shortest one.
    part: f64,
    floor: f64,
    effort: f64,
    largest_effort: f64,
    /// Linear solutions, internal steps and snaps since the last reported state.
    iterations: usize,
    internal_steps: usize,
    snaps: Vec<f64>,
    /// By node, see [`StageState::most_plastic`].
    artificial: Vec<bool>,
    /// Distance of the last equilibrium from its extrapolation (mm).
    missed: f64,
    /// Whether the present state pushes something.
    touches: bool,
}

impl<'a> Walk<'a> {
    fn new(model: &'a Model<'a>, options: &StageOptions) -> Self {
        let system = System::new(model);
        let part = 1.0 / f64::from(options.steps.max(1));
        Self {
            now: Configuration::at_rest(&system.assembly.dofs),
            model,
            system,
            history: Vec::new(),
            part,
            floor: part * 0.5f64.powi(i32::try_from(options.halvings).unwrap_or(i32::MAX)),
            effort: 0.0,
            largest_effort: 0.0,
            iterations: 0,
            internal_steps: 0,
            snaps: Vec::new(),
            artificial: artificial_nodes(model),
            missed: 0.0,
            touches: false,
        }
    }

    /// Turns: the way so far tells nothing about the way back.
    fn begin(&mut self) {
        let unknowns = self.now.unknowns(&self.system.assembly.dofs);
        self.history = vec![(self.now.factor, unknowns)];
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
    fn to(
        &mut self,
        target: f64,
        stage: usize,
        path: &mut StagedPath,
        observe: &mut dyn FnMut(&StageState) -> ControlFlow<()>,
    ) -> Result<(), StopCause> {
        let start = self.now.factor;
        // Rounding must not add a part.
        let parts = ((target - start).abs() / self.part - 1e-9).ceil();
        let mut n = 0.0;
        while n < parts {
            n += 1.0;
            let next = if n < parts { start + (target - start) * n / parts } else { target };
            let found = self.reach(next)?;
            self.report(stage, found, path, observe)?;
        }
        Ok(())
    }

    /// Kept where it is while every stress falls by a share: the forces balance as before, in proportion.
    fn hold(
        &mut self,
        lost: f64,
        stage: usize,
        path: &mut StagedPath,
        observe: &mut dyn FnMut(&StageState) -> ControlFlow<()>,
    ) -> Result<(), StopCause> {
        self.system.assembly.relax(self.model, &self.now, lost);
        let mut state = self.now.clone();
        let found = self.system.equilibrate(&mut state)?;
        self.iterations += found.iterations;
        self.accept(state);
        self.report(stage, found, path, observe)
    }

    /// Back until the drives exert no force.
    fn let_down(
        &mut self,
        stage: usize,
        path: &mut StagedPath,
        observe: &mut dyn FnMut(&StageState) -> ControlFlow<()>,
    ) -> Result<(), StopCause> {
        // A part that pulls on stays where it is.
        while self.effort > NO_FORCE * self.largest_effort {
            let next = self.now.factor - self.part;
            if next < FARTHEST_BACK {
                return Err(Failure::NotConverged { residual: 1.0 }.into());
            }
            let found = self.reach_or_free(next)?;
            self.report(stage, found, path, observe)?;
        }
        Ok(())
    }

    /// Reaches a load factor, in several internal steps if need be.
    fn reach(&mut self, target: f64) -> Result<Equilibrium, Failure> {
        loop {
            let (state, found) = self.trial(target)?;
            let whole = state.factor.to_bits() == target.to_bits();
            self.accept(state);
            if whole {
                return Ok(found);
            }
        }
    }

    /// The same, but not beyond the place where the effort vanishes.
    fn reach_or_free(&mut self, target: f64) -> Result<Equilibrium, Failure> {
        loop {
            let (state, found) = self.trial(target)?;
            let effort = self.effort_at(&state);
            if effort < 0.0 {
                let (state, found) = self.free_between(state.factor, effort)?;
                self.accept(state);
                return Ok(found);
            }
            let whole = state.factor.to_bits() == target.to_bits();
            self.accept(state);
            if whole {
                return Ok(found);
            }
        }
    }

    /// The state without effort between the present one and a load factor beyond it, by false
    /// position (the Illinois variant: an end that stays has its value halved).
    fn free_between(
        &mut self,
        beyond: f64,
        effort: f64,
    ) -> Result<(Configuration, Equilibrium), Failure> {
        let (mut near, mut far) = ((self.now.factor, self.effort), (beyond, effort));
        let mut kept_near = 0;
        for _ in 0..MOST_TRIALS {
            let factor = near.0 + (far.0 - near.0) * near.1 / (near.1 - far.1);
            let (state, found) = self.attempt(factor)?;
            let effort = self.effort_at(&state);
            if effort.abs() <= NO_FORCE * self.largest_effort {
                return Ok((state, found));
            }
            if effort > 0.0 {
                near = (factor, effort);
                far.1 *= if kept_near < 0 { 0.5 } else { 1.0 };
                kept_near = -1;
            } else {
                far = (factor, effort);
                near.1 *= if kept_near > 0 { 0.5 } else { 1.0 };
                kept_near = 1;
            }
        }
        Err(Failure::NotConverged { residual: near.1 / self.largest_effort })
    }

    /// The equilibrium at a load factor, or at one on the way to it, halved until it is found.
    fn trial(&mut self, target: f64) -> Result<(Configuration, Equilibrium), Failure> {
        let mut next = target;
        loop {
            let half = 0.5 * (next - self.now.factor);
            let shortest = half.abs() < self.floor;
            match self.attempt(next) {
                Ok((state, found)) => {
                    let moved = distance(&self.now.u, &state.u);
                    // Where the part begins or ceases to touch its path turns: no step is short enough there.
                    let short = (next - self.now.factor).abs() <= TOUCHING * self.part;
                    let turns = short && (self.touches || self.system.assembly.touches());
                    let continues = self.missed <= CONTINUED * moved;
                    if continues || turns || shortest {
                        if !continues {
                            // What led here says nothing about the way on.
                            self.history.clear();
                        }
                        if !continues && !turns {
                            self.snaps.push(next);
                        }
                        return Ok((state, found));
                    }
                }
                Err(failure) if shortest => return Err(failure),
                Err(_) => {}
            }
            next = self.now.factor + half;
        }
    }

    /// Equilibrium at a load factor in one step from the present state.
    fn attempt(&mut self, factor: f64) -> Result<(Configuration, Equilibrium), Failure> {
        let mut state = self.now.clone();
        if self.history.len() < 2 {
            self.system.tangent_predictor(&mut state, factor)?;
        } else {
            self.extrapolate(&mut state, factor);
        }
        let predicted = state.u.clone();
        let found = self.system.equilibrate(&mut state)?;
        self.iterations += found.iterations;
        if let Some([x, y]) = self.system.assembly.passes(&self.now, &state) {
            return Err(Failure::PassedThrough { x, y });
        }
        self.missed = distance(&predicted, &state.u);
        Ok((state, found))
    }

    fn extrapolate(&self, state: &mut Configuration, factor: f64) {
        let (dofs, x) = (&self.system.assembly.dofs, &self.system.assembly.x);
        let weights = lagrange(&self.history, factor);
        let mut change = vec![0.0; dofs.count];
        for ((_, unknowns), weight) in self.history.iter().zip(&weights) {
            for (c, u) in change.iter_mut().zip(unknowns) {
                *c += weight * u;
            }
        }
        for (c, u) in change.iter_mut().zip(self.now.unknowns(dofs)) {
            *c -= u;
        }
        state.set_factor(dofs, x, factor);
        state.advance(dofs, x, &change, 1.0);
    }

    /// Takes a state for the present one: its points remember it from now on.
    fn accept(&mut self, state: Configuration) {
        self.internal_steps += 1;
        self.effort = self.effort_at(&state);
        self.touches = self.system.assembly.touches();
        self.largest_effort = withy_mesh::number::max(self.largest_effort, self.effort.abs());
        self.system.assembly.commit(self.model, &state);
        self.history.push((state.factor, state.unknowns(&self.system.assembly.dofs)));
        if self.history.len() > HISTORY {
            self.history.remove(0);
        }
        self.now = state;
    }

    /// Work of the drives by load factor in the state that was assembled last (mJ).
    fn effort_at(&self, state: &Configuration) -> f64 {
        let assembly = &self.system.assembly;
        let bodies = assembly.dofs.bodies.iter().zip(&state.q);
        bodies
            .map(|(body, q)| {
                let all = resultant(body, &assembly.x, q[2], &assembly.internal);
                let drive = |k: usize| (all[k] - state.factor * body.load[k]) * body.driven[k];
                (0..3).map(drive).sum::<f64>()
            })
            .sum()
    }

    fn report(
        &mut self,
        stage: usize,
        found: Equilibrium,
        path: &mut StagedPath,
        observe: &mut dyn FnMut(&StageState) -> ControlFlow<()>,
    ) -> Result<(), StopCause> {
        let step = reported(self.model, &mut self.system, &self.now, found, Stiffness::Skipped);
        let (plastic_work, most_plastic) = self.plastic();
        let state = StageState {
            stage,
            step: Step {
                iterations: std::mem::take(&mut self.iterations),
                internal_steps: std::mem::take(&mut self.internal_steps),
                snaps: std::mem::take(&mut self.snaps),
                ..step
            },
            effort: self.effort,
            plastic_work,
            most_plastic,
        };
        let flow = observe(&state);
        path.states.push(state);
        if flow.is_break() { Err(StopCause::Interrupted) } else { Ok(()) }
    }

    /// Work on plastic strain (mJ) and the largest equivalent plastic strain.
    fn plastic(&self) -> (f64, f64) {
        let Some(pointwise) = &self.system.assembly.solid.pointwise else { return (0.0, 0.0) };
        let mesh = self.model.mesh();
        let (mut work, mut most) = (0.0, 0.0);
        for (element, states) in mesh.elements().iter().zip(pointwise.states()) {
            let x = triangle::places(mesh, element);
            let counts = element.iter().all(|n| !self.artificial[n.index()]);
            for (g, state) in DEGREE_2.iter().zip(states) {
                let (_, det) = triangle::gradients(&x, g.xi, g.eta);
                work += self.model.thickness() * g.weight * det * state.work;
                if counts {
                    most = withy_mesh::number::max(most, state.equivalent);
                }
            }
        }
        (work, most)
    }
}
