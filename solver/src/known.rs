//! A known path on a better mesh.
//!
//! The states of a path are carried over and brought into equilibrium one by one. The branch was
//! chosen when the path was followed; here it is only polished, so every state must stay close to
//! the one it comes from. The correction of one state is the first guess for the next.

use crate::configuration::Configuration;
use crate::error::Failure;
use crate::model::Model;
use crate::newton::System;
use crate::path::{EquilibriumPath, Step, Stiffness, StopCause, Stopped, distance, reported};
use crate::stability::softest_mode;
use crate::transfer::Transfer;
use std::ops::ControlFlow;

/// A polished state farther from its origin than this part of its displacement is another one.
/// Meshes worth polishing on differ by less than one per cent.
const SAME_STATE: f64 = 0.05;

/// Brings the states of a path, found on the mesh that `transfer` comes from, into equilibrium on
/// the model's mesh. Only the states that `wanted` picks are computed.
///
/// # Errors
/// [`Stopped`] at the first state that is lost, or when `observe` breaks, with those before it.
pub fn polish_path(
    model: &Model,
    known: &EquilibriumPath,
    transfer: &Transfer,
    wanted: &dyn Fn(usize) -> bool,
    stiffness: Stiffness,
    observe: &mut dyn FnMut(&Step) -> ControlFlow<()>,
) -> Result<EquilibriumPath, Box<Stopped>> {
    let mut system = System::new(model);
    // Branches were located when the path was followed.
    let mut path = EquilibriumPath { critical: known.critical.clone(), steps: Vec::new() };
    let mut correction = vec![0.0; system.assembly.dofs.count];
    let mut reached = 0.0;
    let chosen: Vec<&Step> =
        known.steps.iter().enumerate().filter(|(n, _)| wanted(*n)).map(|(_, s)| s).collect();
    for (n, step) in chosen.iter().enumerate() {
        let origin = carried(&system, step, transfer);
        let polished = polish(&mut system, &origin, &correction);
        let (state, equilibrium) = match polished {
            Ok(found) => found,
            Err(failure) => {
                return Err(Box::new(Stopped { path, reached, cause: failure.into() }));
            }
        };
        let dofs = &system.assembly.dofs;
        correction = state.unknowns(dofs);
        for (c, u) in correction.iter_mut().zip(origin.unknowns(dofs)) {
            *c -= u;
        }
        reached = step.fraction;
        let mut found = reported(model, &mut system, &state, equilibrium, stiffness);
        found.internal_steps = step.internal_steps;
        found.snaps.clone_from(&step.snaps);
        let flow = observe(&found);
        path.steps.push(found);
        if flow.is_break() && n + 1 < chosen.len() {
            return Err(Box::new(Stopped { path, reached, cause: StopCause::Interrupted }));
        }
    }
    Ok(path)
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

fn polish(
    system: &mut System,
    origin: &Configuration,
    correction: &[f64],
) -> Result<(Configuration, crate::newton::Equilibrium), Failure> {
    let mut state = origin.clone();
    state.advance(&system.assembly.dofs, &system.assembly.x, correction, 1.0);
    let equilibrium = system.equilibrate(&mut state)?;
    let moved = distance(&origin.u, &state.u);
    let size = distance(&vec![[0.0; 2]; state.u.len()], &state.u);
    if moved <= SAME_STATE * size {
        Ok((state, equilibrium))
    } else {
        Err(Failure::NotConverged { residual: moved / size })
    }
}
