//! Where a part rests whose material has not forgotten how it was kept.
//!
//! A part that was kept drawn and is let go has springs whose place without stress is a share of the drawn strain, in
//! every point the same share at first: 1 - E(held)/E(0). Later that share is [`crate::Relaxation::rest`]'s, as in a
//! straight spring, as far as the part can take a share of its drawn strain without stress: exactly where it is bent
//! and free to close, nearly elsewhere. What does not fit makes stresses of second order, whose own relaxation is left
//! out here; [`crate::follow_stages`] counts it in, point by point and step by step (see the tests for how much it is).
//! So one curve of the part, its rest by the share that its springs keep, serves every time held and waited.

use crate::assembly::Want;
use crate::configuration::Configuration;
use crate::equations::Equations;
use crate::error::Failure;
use crate::known::placed;
use crate::model::Model;
use crate::newton::System;
use crate::path::{Step, Stiffness, interpolated, reported};
use crate::viscous::Viscous;

/// Shapes that the next one is extrapolated from; the first of all is the part at rest, where nothing is kept.
const HISTORY: usize = 3;

/// The shapes without effort of the drives of a part whose springs keep these shares of the strain of the last of some
/// `drawn` states without stress, in that order. Shares grow in small steps from a small one: each shape is found from the
/// ones before, or from the first state that is drawn by the root of its share, which is farther than any rests: a rib
/// that is kept from coming in has another rest on the other side of straight, and none must be passed. The law's
/// plastic strain is left out. The second one is found on the line from rest through the first, which is as far as
/// a bent rib comes to rest, and farther than a stretched one. The model's `equations` are used up.
///
/// # Errors
/// The first shape that is not found, or that lies behind the one before.
pub fn rests(
    model: &Model,
    drawn: &[Step],
    shares: &[f64],
    equations: Equations,
) -> Result<Vec<Step>, Failure> {
    let Some(last) = drawn.last() else { return Ok(Vec::new()) };
    let mut system = equations.into_system(model);
    let full = placed(&system, last, &last.displacements);
    system.assembly.set_viscous(model, Viscous::keeping(&[], 0.0));
    let strains = system.assembly.borne(model, &full);
    system.assembly.set_viscous(model, Viscous::keeping(&strains, 0.0));
    let outcome = system.assembly.assemble(&full, Want::Force);
    let effort = system.assembly.effort(&full).abs();
    system.most_forces = outcome.squares.sqrt();
    let mut state = full.clone();
    let mut reached = 0.0;
    let at_rest = Configuration::at_rest(&system.assembly.dofs);
    let mut known = vec![(0.0, with_factor(&system, &at_rest))];
    let mut found = Vec::new();
    for share in shares {
        system.assembly.set_viscous(model, Viscous::keeping(&strains, *share));
        // A rib that is kept from coming in may lie on either side of straight: it must go on the way of the draw.
        let goes_on = |state: &Configuration| state.factor > reached && state.factor < full.factor;
        let extrapolated = (known.len() > 1).then(|| {
            extrapolate(&system, &mut state, &known, *share);
            system.let_free(&mut state, effort)
        });
        let equilibrium = match extrapolated {
            Some(Ok(found)) if goes_on(&state) => found,
            _ => {
                let farther = |step: &&Step| step.fraction >= share.sqrt();
                let start = drawn.iter().find(farther).unwrap_or(last);
                state = placed(&system, start, &start.displacements);
                system.let_free(&mut state, effort)?
            }
        };
        if !goes_on(&state) {
            return Err(Failure::NotConverged { residual: (state.factor - reached).abs() });
        }
        reached = state.factor;
        known.push((*share, with_factor(&system, &state)));
        if known.len() > HISTORY {
            known.remove(0);
        }
        found.push(reported(model, &mut system, &state, equilibrium, Stiffness::Skipped));
    }
    Ok(found)
}

/// The unknowns, the load factor behind them.
fn with_factor(system: &System, state: &Configuration) -> Vec<f64> {
    let mut values = state.unknowns(&system.assembly.dofs);
    values.push(state.factor);
    values
}

/// Where the polynomial through the shapes before leads.
fn extrapolate(system: &System, state: &mut Configuration, known: &[(f64, Vec<f64>)], share: f64) {
    let mut change = interpolated(known, share);
    for (c, v) in change.iter_mut().zip(with_factor(system, state)) {
        *c -= v;
    }
    let (dofs, x) = (&system.assembly.dofs, &system.assembly.x);
    let factor = state.factor + change.pop().unwrap_or(0.0);
    state.set_factor(dofs, x, factor);
    state.advance(dofs, x, &change, 1.0);
}
