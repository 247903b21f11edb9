//! A known path on a better mesh.
//!
//! The states of a path are carried over and brought into equilibrium one by one. The branch was
//! chosen when the path was followed; here it is only polished, so every state must stay close to
//! the one it comes from. The corrections of the last states, extrapolated, are the first guess for the next. Two runs
//! of states are polished at once.

use crate::configuration::Configuration;
use crate::equations::Equations;
use crate::error::Failure;
use crate::model::Model;
use crate::newton::System;
use crate::path::{
    EquilibriumPath, Step, Stiffness, StopCause, Stopped, distance, interpolated, reported,
};
use crate::stability::softest_mode;
use crate::transfer::Transfer;
use std::ops::ControlFlow;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Sender};
use std::thread;

/// A polished state farther from its origin than this part of its displacement is another one.
/// Meshes worth polishing on differ by less than one per cent.
const SAME_STATE: f64 = 0.05;

/// Corrections that the next one is extrapolated from: with three most states need one solution, not two.
const HISTORY: usize = 3;

/// Models of fewer equations have their states polished two at a time, the first and the second half of
/// the path each with a factorisation of its own: beyond this, memory is dearer than time. Never the
/// number of threads: what is found must not depend on the machine.
const TWO_AT_A_TIME: usize = 150_000;

/// Brings the states of a path, found on the mesh that `transfer` comes from, into equilibrium on
/// the model's mesh, whose `equations` are made at the first call. Only the states that `wanted` picks
/// are computed. `observe` is told how many of how many are done and may stop it.
///
/// # Errors
/// [`Stopped`] at the first state that is lost, or when `observe` breaks, with those before it.
pub fn polish_path(
    model: &Model,
    known: &EquilibriumPath,
    transfer: &Transfer,
    equations: &mut Equations,
    wanted: &dyn Fn(usize) -> bool,
    stiffness: Stiffness,
    observe: &mut dyn FnMut(usize, usize) -> ControlFlow<()>,
) -> Result<EquilibriumPath, Box<Stopped>> {
    let chosen: Vec<&Step> =
        known.steps.iter().enumerate().filter(|(n, _)| wanted(*n)).map(|(_, s)| s).collect();
    let two = chosen.len() > 1 && 2 * model.mesh().nodes().len() < TWO_AT_A_TIME;
    let (first, second) =
        chosen.split_at(if two { chosen.len().div_ceil(2) } else { chosen.len() });
    let (first_system, second_system) = if two {
        let (one, other) = equations.twice(model);
        (one, Some(other))
    } else {
        (equations.of(model), None)
    };
    let (stop, (tell, told)) = (AtomicBool::new(false), mpsc::channel());
    let polished = |states: &[&Step], system: &mut System, tell: Sender<()>| {
        let mut polisher = Polisher::new(model, transfer, stiffness, system);
        let mut done = Vec::new();
        for step in states {
            if stop.load(Ordering::Relaxed) {
                return (done, Some(StopCause::Interrupted));
            }
            match polisher.polish(step) {
                Ok(step) => done.push(step),
                Err(failure) => {
                    stop.store(true, Ordering::Relaxed);
                    return (done, Some(failure.into()));
                }
            }
            // Nobody listens any more once the observer has had enough.
            let _ = tell.send(());
        }
        (done, None)
    };
    let ((mut steps, cause), behind) = thread::scope(|scope| {
        let others = tell.clone();
        let both = scope.spawn(|| {
            rayon::join(
                || polished(first, first_system, tell),
                || second_system.map(|system| polished(second, system, others)),
            )
        });
        let mut done = 0;
        for () in told {
            done += 1;
            if observe(done, chosen.len()).is_break() && done < chosen.len() {
                stop.store(true, Ordering::Relaxed);
                break;
            }
        }
        both.join().unwrap_or_else(|panic| resume_unwind(panic))
    });
    let (more, other_cause) = behind.unwrap_or_default();
    // What stopped one half by itself comes before the interruption of the other by it.
    let causes = [cause, other_cause].into_iter().flatten();
    let complete = steps.len() == first.len();
    if complete {
        steps.extend(more);
    }
    // Branches were located when the path was followed.
    let path = EquilibriumPath { critical: known.critical.clone(), steps };
    match causes.max_by_key(|cause| matches!(cause, StopCause::Failed(_))) {
        None => Ok(path),
        Some(cause) => {
            let reached = path.steps.last().map_or(0.0, |s| s.fraction);
            Err(Box::new(Stopped { path, reached, cause }))
        }
    }
}

/// Polishes one state after another.
struct Polisher<'a> {
    model: &'a Model<'a>,
    transfer: &'a Transfer,
    stiffness: Stiffness,
    system: &'a mut System,
    /// Load factors of the last states, and what their unknowns needed beyond those carried over, newest last; at most
    /// [`HISTORY`].
    corrections: Vec<(f64, Vec<f64>)>,
}

impl<'a> Polisher<'a> {
    fn new(
        model: &'a Model<'a>,
        transfer: &'a Transfer,
        stiffness: Stiffness,
        system: &'a mut System,
    ) -> Self {
        Self { model, transfer, stiffness, system, corrections: Vec::new() }
    }

    fn polish(&mut self, step: &Step) -> Result<Step, Failure> {
        let origin = carried(self.system, step, self.transfer);
        let mut state = origin.clone();
        if !step.snaps.is_empty() || !step.begun.is_empty() {
            // What was missing before tells little of what is missing behind.
            self.corrections.drain(..self.corrections.len().saturating_sub(1));
        }
        let (dofs, x) = (&self.system.assembly.dofs, &self.system.assembly.x);
        if !self.corrections.is_empty() {
            state.advance(dofs, x, &interpolated(&self.corrections, step.fraction), 1.0);
        }
        let equilibrium = self.system.equilibrate(&mut state)?;
        let moved = distance(&origin.u, &state.u);
        let size = distance(&vec![[0.0; 2]; state.u.len()], &state.u);
        // A NaN is another state too.
        let same = moved <= SAME_STATE * size;
        if !same {
            return Err(Failure::NotConverged { residual: moved / size });
        }
        let dofs = &self.system.assembly.dofs;
        let mut correction = state.unknowns(dofs);
        for (c, u) in correction.iter_mut().zip(origin.unknowns(dofs)) {
            *c -= u;
        }
        self.corrections.push((step.fraction, correction));
        if self.corrections.len() > HISTORY {
            self.corrections.remove(0);
        }
        Ok(Step {
            internal_steps: step.internal_steps,
            snaps: step.snaps.clone(),
            begun: step.begun.clone(),
            ..reported(self.model, self.system, &state, equilibrium, self.stiffness)
        })
    }
}

/// The shape in which a state of the model's own mesh is softest: the eigenvector of the smallest
/// eigenvalue of its tangent, by mesh node, scaled to a largest displacement of 1.
///
/// # Errors
/// A tangent that is singular to working precision.
pub fn softest_mode_of(model: &Model, step: &Step) -> Result<Vec<[f64; 2]>, Failure> {
    let mut system = System::new(model);
    let state = placed(&system, step, &step.displacements);
    softest_mode(&mut system, &state)
}

/// A state of the old mesh as a configuration of the new one.
fn carried(system: &System, step: &Step, transfer: &Transfer) -> Configuration {
    placed(system, step, &transfer.apply(&step.displacements))
}

/// A reported state with its displacements by mesh node, as a configuration.
pub(crate) fn placed(system: &System, step: &Step, field: &[[f64; 2]]) -> Configuration {
    let dofs = &system.assembly.dofs;
    let mut state = Configuration::at_rest(dofs);
    for (s, &m) in dofs.mesh_node.iter().enumerate() {
        state.u[s] = field[m as usize];
    }
    state.q.clone_from(&step.rigid);
    // Puts held, driven and rigid nodes exactly where they belong.
    state.set_factor(dofs, &system.assembly.x, step.fraction);
    state
}
