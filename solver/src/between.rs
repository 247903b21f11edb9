//! Equilibria between the reported states of a path, and the place where a quantity falls to zero.
//!
//! Reported states are far apart, and what matters may happen between two of them. A state in between
//! starts from the polynomial through its neighbours and is brought into equilibrium; it must come
//! out near that polynomial and as stable as its neighbours, else it belongs to another branch and is
//! approached in shorter steps. A snap cuts the path: nothing is interpolated across it.

use crate::configuration::Configuration;
use crate::equations::Equations;
use crate::error::Failure;
use crate::known::placed;
use crate::model::Model;
use crate::newton::{Equilibrium, System, norm};
use crate::path::{EquilibriumPath, Step, Stiffness, by_mesh_node, interpolated, reported};

/// States that the first guess goes through; as many as the path's own predictor takes.
const NEIGHBOURS: usize = 4;
/// A state farther from its first guess than this part of the distance of its neighbours is another
/// branch's; the same measure as along the path.
const CONTINUED: f64 = 0.35;
/// Rounding of a state, relative to its unknowns: neighbours may be that near each other.
const ROUNDING: f64 = 1e-8;
/// How often the way to a state may be halved.
const HALVINGS: u32 = 6;
/// Load factors closer than this are the same state.
const SAME: f64 = 1e-12;
/// Bracketing halves the interval at every other step at worst: more steps only follow a value that
/// is not a number.
const MOST_STEPS: usize = 80;

/// A path of a model, with all that lies between its reported states.
#[derive(Debug)]
pub struct Between<'m> {
    model: &'m Model<'m>,
    system: System,
    stretches: Vec<Stretch>,
    /// Load factors at which the number of negative pivots changes, and what it changes from and to.
    critical: Vec<(f64, [usize; 2])>,
}

/// A piece of the path without a snap.
#[derive(Debug)]
struct Stretch {
    from: f64,
    to: f64,
    /// Load factors, ascending, and unknowns.
    states: Vec<(f64, Vec<f64>)>,
    /// Negative pivots of each.
    pivots: Vec<usize>,
}

impl Stretch {
    fn behind_snap(snap: f64) -> Self {
        Self { from: snap, to: f64::INFINITY, states: Vec::new(), pivots: Vec::new() }
    }
}

impl<'m> Between<'m> {
    /// Prepares the search between the states of a path of the model's own mesh, by the model's equations.
    #[must_use]
    pub fn new(model: &'m Model<'m>, path: &EquilibriumPath, equations: Equations) -> Self {
        let system = equations.into_system(model);
        let rest = (0.0, vec![0.0; system.assembly.dofs.count]);
        let mut stretches =
            vec![Stretch { from: 0.0, to: f64::INFINITY, states: vec![rest], pivots: vec![0] }];
        for step in &path.steps {
            for &snap in &step.snaps {
                if let Some(last) = stretches.last_mut() {
                    last.to = snap;
                }
                stretches.push(Stretch::behind_snap(snap));
            }
            let state = placed(&system, step, &step.displacements);
            let unknowns = state.unknowns(&system.assembly.dofs);
            if let Some(last) = stretches.last_mut() {
                last.states.push((step.fraction, unknowns));
                last.pivots.push(step.negative_pivots);
            }
        }
        let critical = path.critical.iter().map(|c| (c.fraction, c.negative_pivots)).collect();
        Self { model, system, stretches, critical }
    }

    /// The equilibrium at a load factor; 0 is rest.
    ///
    /// # Errors
    /// No equilibrium there that continues the path.
    pub fn at(&mut self, fraction: f64, stiffness: Stiffness) -> Result<Step, Failure> {
        let known = |s: &Stretch| s.from <= fraction && fraction <= s.to && !s.states.is_empty();
        let Some(stretch) = self.stretches.iter().position(known) else {
            return Err(Failure::NotConverged { residual: f64::INFINITY });
        };
        let (state, equilibrium) = self.settle(stretch, fraction, HALVINGS)?;
        Ok(reported(self.model, &mut self.system, &state, equilibrium, stiffness))
    }

    /// Displacements of the mesh nodes by the polynomial through the nearest states, not brought into equilibrium
    /// (mm); `None` where nothing can be interpolated.
    #[must_use]
    pub fn guessed(&self, fraction: f64) -> Option<Vec<[f64; 2]>> {
        let inside = |s: &&Stretch| {
            let known = s.states.first().zip(s.states.last());
            known.is_some_and(|(a, b)| a.0 <= fraction && fraction <= b.0)
        };
        let states = &self.stretches.iter().find(inside)?.states;
        let state = self.configuration(fraction, &from_nearest(states, fraction));
        Some(by_mesh_node(&self.system.assembly.dofs, &state))
    }

    /// The last state before a quantity falls to zero, to a `width` of the load factor.
    ///
    /// `before` and `behind` are load factors with the quantity there: above zero (infinite if only
    /// its sign is known), and not above zero. Bracketed by the Illinois variant of false position
    /// (M. Dowell and P. Jarratt, BIT 11 (1971) 168-174, from memory).
    ///
    /// # Errors
    /// A state in between that cannot be found, or at which the quantity is not a number.
    pub fn last_before_zero(
        &mut self,
        before: (f64, f64),
        behind: (f64, f64),
        width: f64,
        stiffness: Stiffness,
        quantity: &mut dyn FnMut(&Step) -> f64,
    ) -> Result<Step, Failure> {
        let (mut low, mut high) = (before, behind);
        let mut side = 0;
        for _ in 0..MOST_STEPS {
            let gap = high.0 - low.0;
            if gap <= width {
                return self.at(low.0, stiffness);
            }
            let share = low.1 / (low.1 - high.1);
            let share = if low.1.is_finite() && share.is_finite() { share } else { 0.5 };
            // Kept off the ends, so that a zero beside one of them is soon between two states.
            let margin = 0.4 * width / gap;
            let next = low.0 + gap * share.clamp(margin, 1.0 - margin);
            let step = self.at(next, stiffness)?;
            let value = quantity(&step);
            if value.is_nan() {
                return Err(Failure::BeyondLaw);
            }
            if value > 0.0 {
                low = (next, value);
                high.1 *= if side > 0 { 0.5 } else { 1.0 };
                side = 1;
            } else {
                high = (next, value);
                low.1 *= if side < 0 { 0.5 } else { 1.0 };
                side = -1;
            }
        }
        self.at(low.0, stiffness)
    }

    /// Finds the state at a load factor of a stretch, half the way first where it is too far.
    fn settle(
        &mut self,
        stretch: usize,
        fraction: f64,
        halvings: u32,
    ) -> Result<(Configuration, Equilibrium), Failure> {
        match self.attempt(stretch, fraction) {
            Err(_) if halvings > 0 => {
                let distance = |s: &&(f64, Vec<f64>)| (s.0 - fraction).abs();
                let nearest = self.stretches[stretch]
                    .states
                    .iter()
                    .min_by(|a, b| distance(a).total_cmp(&distance(b)));
                let half = 0.5 * (nearest.map_or(0.0, |s| s.0) + fraction);
                self.settle(stretch, half, halvings - 1)?;
                self.settle(stretch, fraction, halvings - 1)
            }
            outcome => outcome,
        }
    }

    /// One attempt from the polynomial through the nearest states; what is found is kept.
    fn attempt(
        &mut self,
        stretch: usize,
        fraction: f64,
    ) -> Result<(Configuration, Equilibrium), Failure> {
        let states = &self.stretches[stretch].states;
        let behind = place_among(states, fraction);
        let is_known = states.get(behind).is_some_and(|s| (s.0 - fraction).abs() <= SAME);
        let mut state;
        if is_known {
            state = self.configuration(fraction, &states[behind].1);
        } else if let [only] = &states[..] {
            state = self.configuration(only.0, &only.1);
            self.system.tangent_predictor(&mut state, fraction)?;
        } else {
            state = self.configuration(fraction, &from_nearest(states, fraction));
        }
        let guess = state.unknowns(&self.system.assembly.dofs);
        let equilibrium = self.system.equilibrate(&mut state)?;
        let found = state.unknowns(&self.system.assembly.dofs);
        if !is_known {
            let states = &self.stretches[stretch].states;
            let missed = apart(&guess, &found);
            let span = match (behind.checked_sub(1).map(|k| &states[k]), states.get(behind)) {
                (Some(a), Some(b)) => apart(&a.1, &b.1),
                (Some(one), None) | (None, Some(one)) => apart(&one.1, &found),
                (None, None) => f64::INFINITY,
            };
            // Written so that a NaN is refused.
            let continues = missed <= CONTINUED * span + ROUNDING * norm(&found);
            let negative = equilibrium.inertia.negative;
            if !continues || !self.may_have(stretch, behind, negative) {
                return Err(Failure::NotConverged { residual: missed / span });
            }
            let own = &mut self.stretches[stretch];
            own.states.insert(behind, (fraction, found));
            own.pivots.insert(behind, negative);
        }
        Ok((state, equilibrium))
    }

    /// Whether a state before the one numbered `behind` may have so many negative pivots: no fewer and no
    /// more than its neighbours and the critical points between them.
    fn may_have(&self, stretch: usize, behind: usize, negative: usize) -> bool {
        let Stretch { states, pivots, .. } = &self.stretches[stretch];
        let before = behind.checked_sub(1);
        let from = before.map_or(f64::NEG_INFINITY, |k| states[k].0);
        let to = states.get(behind).map_or(f64::INFINITY, |s| s.0);
        let beside = [before, Some(behind)].into_iter().flatten().filter_map(|k| pivots.get(k));
        let between = self.critical.iter().filter(|c| (from..=to).contains(&c.0));
        let all = beside.copied().chain(between.flat_map(|c| c.1));
        let (least, most) = all.fold((usize::MAX, 0), |(a, b), n| (a.min(n), b.max(n)));
        (least..=most).contains(&negative)
    }

    fn configuration(&self, fraction: f64, unknowns: &[f64]) -> Configuration {
        let (dofs, x) = (&self.system.assembly.dofs, &self.system.assembly.x);
        let mut state = Configuration::at_rest(dofs);
        state.set_factor(dofs, x, fraction);
        state.advance(dofs, x, unknowns, 1.0);
        state
    }
}

/// How many of some states lie before a load factor.
fn place_among(states: &[(f64, Vec<f64>)], fraction: f64) -> usize {
    states.partition_point(|s| s.0 < fraction - SAME)
}

/// Unknowns at a load factor by the polynomial through the nearest states.
fn from_nearest(states: &[(f64, Vec<f64>)], fraction: f64) -> Vec<f64> {
    let first = place_among(states, fraction).saturating_sub(NEIGHBOURS / 2);
    let first = first.min(states.len().saturating_sub(NEIGHBOURS));
    let window = &states[first..states.len().min(first + NEIGHBOURS)];
    interpolated(window, fraction)
}

/// Distance of two vectors of unknowns.
fn apart(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt()
}
