//! Pseudo-arc-length steps: the load factor is one more unknown.
//!
//! Where the path turns sharply or folds back in the load factor, no load step however short
//! continues it. Steps along the path itself do: with the unit tangent (t_x, t_f) at the last state
//! the bordered system
//!
//! ```text
//! r(x, f) = 0,     w t_x . (x - x_0) + t_f (f - f_0) = s
//! ```
//!
//! is solved by Newton's method in two solutions with the tangent stiffness at hand: a = -K^-1 r,
//! b = -K^-1 dr/df, then df from the second equation and dx = a + df b. Source: H. B. Keller,
//! "Numerical solution of bifurcation and nonlinear eigenvalue problems" (1977); M. A. Crisfield,
//! Non-linear Finite Element Analysis of Solids and Structures, vol. 1, ch. 9 (both from memory).

use crate::assembly::Want;
use crate::configuration::Configuration;
use crate::contact::Met;
use crate::error::Failure;
use crate::newton::{Equilibrium, System};
use std::collections::BTreeSet;

/// Newton on the bordered system converges in a few iterations or the step is too long.
const MOST_ITERATIONS: usize = 10;
/// Iterations that a well-chosen step length takes (tuning).
const USUAL_ITERATIONS: f64 = 4.0;

/// A point of the path with its direction.
#[derive(Clone, Debug)]
pub(crate) struct ArcPoint {
    pub(crate) state: Configuration,
    pub(crate) equilibrium: Equilibrium,
    /// What it pushes.
    pub(crate) met: BTreeSet<Met>,
    /// Direction: change of the unknowns and of the load factor, of unit length.
    direction: (Vec<f64>, f64),
}

/// Follows a path by arc length.
#[derive(Clone, Debug)]
pub(crate) struct ArcWalk {
    pub(crate) now: ArcPoint,
    /// Weight of the unknowns against the load factor (1/mm2).
    weight: f64,
    length: f64,
    /// What the part goes through and leaves again is looked for in steps down to this length.
    grazing: f64,
}

impl ArcWalk {
    /// Starts from the newest of two states of a path, given with their unknowns.
    ///
    /// `secant` is the change of unknowns and load factor that led to `state`, `met` what that pushes.
    pub(crate) fn new(
        state: Configuration,
        equilibrium: Equilibrium,
        secant: (Vec<f64>, f64),
        met: BTreeSet<Met>,
        grazing: f64,
    ) -> Self {
        // Unknowns and load factor count alike over the last step.
        let moved = dot(&secant.0, &secant.0);
        let weight = secant.1 * secant.1 / moved;
        let length = (weight * moved + secant.1 * secant.1).sqrt();
        let direction = (secant.0.iter().map(|x| x / length).collect(), secant.1 / length);
        Self { now: ArcPoint { state, equilibrium, met, direction }, weight, length, grazing }
    }

    /// One step along the path; halves its length until it converges.
    ///
    /// # Errors
    /// The failure of the shortest step.
    pub(crate) fn step(&mut self, system: &mut System, shortest: f64) -> Result<(), Failure> {
        self.align(system)?;
        loop {
            match self.attempt(system) {
                Ok(point) if self.length > self.grazing && self.grazes(system, &point) => {
                    self.length *= 0.5;
                }
                Ok(point) => {
                    let iterations = point.equilibrium.iterations.max(1) as f64;
                    self.length *= (USUAL_ITERATIONS / iterations).sqrt().clamp(0.5, 2.0);
                    self.now = point;
                    return Ok(());
                }
                Err(failure) => {
                    self.length *= 0.5;
                    // Written so that a NaN ends the loop.
                    let worthwhile = self.length >= shortest;
                    if !worthwhile {
                        return Err(failure);
                    }
                }
            }
        }
    }

    /// Whether the part goes through something on its way to a point, and is out of it there.
    fn grazes(&self, system: &System, point: &ArcPoint) -> bool {
        let now = &self.now;
        system.assembly.grazes((&now.state, &now.met), (&point.state, &point.met))
    }

    /// Length of the last step on the scale of the load factor.
    pub(crate) fn length(&self) -> f64 {
        self.length
    }

    /// Turns the direction into the path's own tangent, keeping its sense.
    fn align(&mut self, system: &mut System) -> Result<(), Failure> {
        let state = &self.now.state;
        self.now.equilibrium.inertia = system.factor_tangent(state)?;
        let mut rate = system.assembly.residual_rate(state);
        system.factor.solve(&mut rate);
        for r in &mut rate {
            *r = -*r;
        }
        let length = (self.weight * dot(&rate, &rate) + 1.0).sqrt();
        let (old_x, old_f) = &self.now.direction;
        let along = self.weight * dot(old_x, &rate) + old_f;
        let scale = if along < 0.0 { -1.0 / length } else { 1.0 / length };
        self.now.direction = (rate.iter().map(|x| x * scale).collect(), scale);
        Ok(())
    }

    fn attempt(&self, system: &mut System) -> Result<ArcPoint, Failure> {
        let (tx, tf) = &self.now.direction;
        let mut state = self.now.state.clone();
        let start = state.unknowns(&system.assembly.dofs);
        let start_factor = state.factor;
        move_by(system, &mut state, tx, self.length, *tf * self.length);
        let mut iterations = 0;
        let mut first = None;
        loop {
            let outcome = system.assembly.assemble(&state, Want::Tangent);
            let mut residual = system.assembly.residual(&state);
            let inertia = system.factor_assembled()?;
            let size = crate::newton::norm(&residual);
            if system.is_converged(size, &outcome, &state) {
                let forces = outcome.squares.sqrt();
                let equilibrium =
                    Equilibrium { energy: outcome.energy, inertia, iterations, forces };
                let predicted = self.length;
                let missed = self.distance(system, &state, &start, start_factor);
                // The corrector moved across the predicted direction by the rest of the distance.
                let across =
                    withy_mesh::number::max(missed * missed - predicted * predicted, 0.0).sqrt();
                // Where the part begins or ceases to touch, the path turns at a corner.
                let met = system.assembly.met();
                let corner = met != self.now.met;
                if (across > MOST_TURN * predicted && !corner) || outcome.worst.0 <= 0.0 {
                    return Err(Failure::NotConverged { residual: across / predicted });
                }
                system.keeps_out(Some(&self.now.state), &state)?;
                let direction = self.now.direction.clone();
                return Ok(ArcPoint { state, equilibrium, met, direction });
            }
            let sane = size <= 1e6 * *first.get_or_insert(size);
            if !sane || iterations >= MOST_ITERATIONS {
                return Err(Failure::NotConverged { residual: size / outcome.squares.sqrt() });
            }
            let mut rate = system.assembly.residual_rate(&state);
            system.factor.solve(&mut residual);
            system.factor.solve(&mut rate);
            // a = -residual, b = -rate from here on.
            let now = state.unknowns(&system.assembly.dofs);
            let gone: f64 = now.iter().zip(&start).zip(tx).map(|((n, s), t)| (n - s) * t).sum();
            let gap = self.length - self.weight * gone - tf * (state.factor - start_factor);
            let df = (gap + self.weight * dot(tx, &residual)) / (tf - self.weight * dot(tx, &rate));
            for (a, b) in residual.iter_mut().zip(&rate) {
                *a = -*a - df * b;
            }
            move_by(system, &mut state, &residual, 1.0, df);
            iterations += 1;
        }
    }

    fn distance(&self, system: &System, state: &Configuration, start: &[f64], factor: f64) -> f64 {
        let now = state.unknowns(&system.assembly.dofs);
        let moved: f64 = now.iter().zip(start).map(|(a, b)| (a - b) * (a - b)).sum();
        (self.weight * moved + (state.factor - factor).powi(2)).sqrt()
    }
}

/// A step may turn away from its predicted direction by this slope; more is another branch.
const MOST_TURN: f64 = 0.7;

fn move_by(system: &System, state: &mut Configuration, x: &[f64], scale: f64, factor: f64) {
    let (dofs, places) = (&system.assembly.dofs, &system.assembly.x);
    let next = state.factor + factor;
    state.set_factor(dofs, places, next);
    state.advance(dofs, places, x, scale);
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
