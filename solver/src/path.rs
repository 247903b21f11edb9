//! Following the equilibrium path from rest to full draw.
//!
//! Reported steps are equal parts of the draw; between them the solver takes as many internal steps
//! as it needs. Each starts from a polynomial through the last converged states; one that finds no
//! equilibrium, or one that is not the continuation of the path, is halved, down to a floor, and grows
//! again when things go well.
//!
//! Slender parts have many equilibria at the same draw, most of them stable: ribs may bow to either
//! side. Newton's method happily jumps between them when the step is long. So an equilibrium only
//! counts if the extrapolation already came near it, compared with the length of the step. If the
//! step cannot be made short enough, the part itself jumps there: a snap, which is reported.

use crate::arc::{ArcPoint, ArcWalk};
use crate::configuration::{Configuration, resultant};
use crate::contact::{Met, Pushing};
use crate::dofs::{Dofs, Motion};
use crate::equations::Equations;
use crate::error::{Failure, ModelError};
use crate::model::Model;
use crate::newton::{Equilibrium, System};
use crate::stability::{CriticalPoint, RegionStiffness, region_stiffnesses, softest_mode};
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use thiserror::Error;

/// How a path is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathOptions {
    /// Reported steps: equal parts of the draw.
    pub steps: u32,
    /// How often a reported step may be halved before the solve gives up.
    pub halvings: u32,
    /// Whether the condensed stiffness of rigid regions is wanted: some more solutions a step.
    pub stiffness: Stiffness,
}

/// Whether region stiffnesses are computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stiffness {
    /// At each reported state.
    Wanted,
    /// Not at all.
    Skipped,
}

impl Default for PathOptions {
    fn default() -> Self {
        Self { steps: 20, halvings: 10, stiffness: Stiffness::Wanted }
    }
}

/// Force and moment that a support or drive exerts on the part.
#[derive(Clone, Debug, PartialEq)]
pub struct Reaction {
    /// The region's name.
    pub region: String,
    /// Force (N).
    pub force: [f64; 2],
    /// Moment about the region's centroid where it is now, counter-clockwise (N mm).
    pub moment: f64,
}

/// One converged state.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Load factor, the fraction of the full draw.
    pub fraction: f64,
    /// Displacement of each mesh node (mm).
    pub displacements: Vec<[f64; 2]>,
    /// Coordinates of each rigid region, in the model's order (mm, mm, rad).
    pub rigid: Vec<[f64; 3]>,
    /// Rigid regions in the model's order, then supports.
    pub reactions: Vec<Reaction>,
    /// Strain energy (mJ).
    pub strain_energy: f64,
    /// Negative pivots of the tangent: 0 where the equilibrium is stable.
    pub negative_pivots: usize,
    /// Linear solutions since the step before.
    pub iterations: usize,
    /// Internal steps since the step before.
    pub internal_steps: usize,
    /// Load factors since the step before at which the path jumped: the part snapped to another
    /// equilibrium, however short the step.
    pub snaps: Vec<f64>,
    /// Condensed stiffness of each rigid region, in the model's order; empty if it is not wanted or
    /// the tangent is singular.
    pub stiffness: Vec<RegionStiffness>,
    /// Where the part pushes a rail, a pin or itself.
    pub pushing: Pushing,
    /// What it began to push since the step before, in this state or before it.
    pub begun: Vec<Begun>,
}

/// Something that the part begins to push.
#[derive(Clone, Debug, PartialEq)]
pub struct Begun {
    /// The obstacle's name; `None` where the part pushes itself.
    pub obstacle: Option<String>,
    /// Load factor of the last solved state before, reported or not.
    pub before: f64,
    /// Load factor of the first one that pushes.
    pub fraction: f64,
}

impl Step {
    /// Whether every small disturbance is resisted, the drive being kept.
    #[must_use]
    pub fn is_stable(&self) -> bool {
        self.negative_pivots == 0
    }
}

/// The states from the first reported step on; rest itself is not listed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct EquilibriumPath {
    /// In order of the draw.
    pub steps: Vec<Step>,
    /// Where the number of negative pivots changed on the way, located to a ten-thousandth of the draw, or as near as
    /// states are found beside it.
    pub critical: Vec<CriticalPoint>,
}

/// Why a path ends before the full draw.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum StopCause {
    /// The observer asked for it.
    #[error("interrupted")]
    Interrupted,
    /// No equilibrium was found beyond, however small the step.
    #[error("{0}")]
    Failed(#[from] Failure),
}

/// A path that ended early; what converged is kept.
#[derive(Clone, Debug, Error, PartialEq)]
#[error("the solve stopped at {:.2} % of the draw: {cause}", 100.0 * reached)]
pub struct Stopped {
    /// The states before.
    pub path: EquilibriumPath,
    /// The last load factor at which equilibrium was found, reported or not.
    pub reached: f64,
    /// Why it stopped.
    pub cause: StopCause,
}

/// Follows the path of a model. `observe` is called at each reported step and may stop the solve.
///
/// # Errors
/// [`Stopped`] with all that converged.
pub fn follow_path(
    model: &Model,
    options: &PathOptions,
    observe: &mut dyn FnMut(&Step) -> ControlFlow<()>,
) -> Result<EquilibriumPath, Box<Stopped>> {
    follow_path_by(model, options, &mut Equations::default(), observe)
}

/// The same by the model's `equations`, which serve what comes after as well.
///
/// # Errors
/// [`Stopped`] with all that converged.
pub fn follow_path_by(
    model: &Model,
    options: &PathOptions,
    equations: &mut Equations,
    observe: &mut dyn FnMut(&Step) -> ControlFlow<()>,
) -> Result<EquilibriumPath, Box<Stopped>> {
    let system = equations.of(model);
    let mut walk = Walk::new(system, options);
    let mut path = EquilibriumPath::default();
    for n in 1..=options.steps {
        let target = f64::from(n) / f64::from(options.steps);
        let advanced = walk.advance_to(system, target);
        path.critical.append(&mut walk.critical);
        match advanced {
            Ok(equilibrium) => {
                let step = walk.report(model, system, equilibrium);
                let flow = observe(&step);
                path.steps.push(step);
                if flow.is_break() && n < options.steps {
                    let cause = StopCause::Interrupted;
                    return Err(Box::new(Stopped { path, reached: target, cause }));
                }
            }
            Err(failure) => {
                return Err(Box::new(Stopped {
                    path,
                    reached: walk.now.factor,
                    cause: failure.into(),
                }));
            }
        }
    }
    Ok(path)
}

/// Checks that a model has something to solve.
///
/// # Errors
/// [`ModelError::NothingFree`] if every node is held or rigid.
pub fn check_solvable(model: &Model) -> Result<(), ModelError> {
    let mut fixed = vec![false; model.mesh().nodes().len()];
    let held = model.supports().iter().filter(|s| s.displacement.iter().all(Option::is_some));
    let regions = held.map(|s| &s.nodes).chain(model.rigid_regions().iter().map(|r| &r.nodes));
    for n in regions.flatten() {
        fixed[n.index()] = true;
    }
    if fixed.iter().all(|f| *f) { Err(ModelError::NothingFree) } else { Ok(()) }
}

/// A walk along the path: where it is and where it came from.
struct Walk {
    now: Configuration,
    /// Load factors and unknowns of the last states, newest last; at most [`HISTORY`].
    history: Vec<(f64, Vec<f64>)>,
    increment: f64,
    largest: f64,
    smallest: f64,
    iterations: usize,
    internal_steps: usize,
    snaps: Vec<f64>,
    /// What the newest state took; none at rest.
    equilibrium: Option<Equilibrium>,
    /// Critical points passed and not yet reported.
    critical: Vec<CriticalPoint>,
    stiffness: Stiffness,
    /// What the newest state pushes.
    met: BTreeSet<Met>,
    /// What was not pushed, and then was, since the last report, with the load factors of both states.
    begun: Vec<(Met, [f64; 2])>,
    /// Whether a step failed lately that may have run into something: first guesses are looked at then.
    wary: bool,
}

/// A critical point is located to this part of the draw.
const CRITICAL_WIDTH: f64 = 1e-4;
/// Where a state is looked for between two others, in turn until one is found: where the tangent is singular there may
/// be none.
const ON_THE_WAY: [f64; 3] = [0.5, 0.3, 0.7];

/// Longest excursion by arc length, in steps: a snap through several waves takes some dozens.
const MOST_ARC_STEPS: usize = 400;
/// Shortest arc step, in shortest load steps.
const SHORTEST_ARC: f64 = 1e-4;

/// Load factors closer than this, in shortest load steps, count as the same state.
const SAME_FACTOR: f64 = 1e-6;
/// States that the predictor's polynomial goes through: cubic is the highest order that paid in
/// iterations; more only amplifies the noise of the states.
const HISTORY: usize = 4;
/// A step that took at most this many solutions lets the next one grow (tuning).
pub(crate) const EASY: usize = 5;
/// Where the part begins or ceases to touch, a path turns at a corner that no step is short enough for: steps
/// of this part of a reported one are taken as they come (tuning).
pub(crate) const TOUCHING: f64 = 0.25;
/// What the part goes through and leaves again is looked for in steps down to this part of a reported one: nodes
/// are taken to go straight, which shorter steps make true enough (tuning).
pub(crate) const GRAZING: f64 = 1.0 / 16.0;
/// An equilibrium farther from its extrapolation than this part of the step's length is another
/// branch's. On smooth paths the ratio is below 0.1; a rib that bows to the other side gives 0.5 to 1.
const CONTINUED: f64 = 0.35;

impl Walk {
    fn new(system: &System, options: &PathOptions) -> Self {
        let now = Configuration::at_rest(&system.assembly.dofs);
        let unknowns = now.unknowns(&system.assembly.dofs);
        let largest = 1.0 / f64::from(options.steps);
        Self {
            history: vec![(0.0, unknowns)],
            now,
            increment: largest,
            largest,
            smallest: largest * 0.5f64.powi(i32::try_from(options.halvings).unwrap_or(i32::MAX)),
            iterations: 0,
            internal_steps: 0,
            snaps: Vec::new(),
            equilibrium: None,
            critical: Vec::new(),
            stiffness: options.stiffness,
            met: BTreeSet::new(),
            begun: Vec::new(),
            wary: false,
        }
    }

    /// Takes internal steps until the target load factor.
    fn advance_to(&mut self, system: &mut System, target: f64) -> Result<Equilibrium, Failure> {
        (self.iterations, self.internal_steps) = (0, 0);
        self.snaps.clear();
        self.begun.clear();
        loop {
            let remaining = target - self.now.factor;
            // A last sliver would only waste a step.
            let whole = self.increment >= remaining * (1.0 - 1e-9);
            let next = if whole { target } else { self.now.factor + self.increment };
            let shortest = 0.5 * (next - self.now.factor) < self.smallest;
            if self.wary && !shortest && guesses_too_deep(system, &self.now, &self.history, next) {
                self.increment = 0.5 * (next - self.now.factor);
                continue;
            }
            let may_graze = next - self.now.factor <= 1.001 * GRAZING * self.largest;
            match self.attempt(system, next) {
                Ok(attempt) if !may_graze && self.grazes(system, &attempt) => {
                    self.increment = 0.5 * (next - self.now.factor);
                }
                Ok(attempt) if attempt.continues || self.turns_at_touch(&attempt) => {
                    self.look_for_branch(system, &attempt);
                    let turned = attempt.touches && attempt.equilibrium.iterations > EASY;
                    if !attempt.continues || turned {
                        // What led here says nothing about the way on.
                        self.history.clear();
                    }
                    self.wary &= next - self.now.factor < 0.99 * self.largest;
                    let equilibrium = attempt.equilibrium;
                    self.accept(system, attempt.state, equilibrium, attempt.met);
                    if whole {
                        return Ok(equilibrium);
                    }
                }
                outcome if shortest => self.go_round(system, target, outcome)?,
                Ok(_) | Err(_) => {
                    self.wary = system.assembly.contact.is_some();
                    self.increment = 0.5 * (next - self.now.factor);
                }
            }
        }
    }

    /// Whether the part goes through something on its way to an equilibrium, and is out of it there.
    fn grazes(&self, system: &System, attempt: &Attempt) -> bool {
        attempt.continues
            && system.assembly.grazes((&self.now, &self.met), (&attempt.state, &attempt.met))
    }

    /// Whether an equilibrium off its extrapolation may be where the path turns: one side touches, the step
    /// is short, and it is as stable as before.
    fn turns_at_touch(&self, attempt: &Attempt) -> bool {
        let short = attempt.state.factor - self.now.factor <= 1.001 * TOUCHING * self.largest;
        let before = self.equilibrium.map_or(0, |e| e.inertia.negative);
        attempt.touches && short && attempt.equilibrium.inertia.negative == before
    }

    /// Locates the critical point between the newest state and the next one, if the number of
    /// negative pivots changes; what cannot be computed there is left out, the path goes on.
    fn look_for_branch(&mut self, system: &mut System, next: &Attempt) {
        let before = self.equilibrium.map_or(0, |e| e.inertia.negative);
        let behind = next.equilibrium.inertia.negative;
        if before != behind {
            let found = self.locate_branch(system, next, [before, behind]);
            self.critical.extend(found);
            // Forces and factor at hand are those of the next state again.
            let _ = system.factor_tangent(&next.state);
        }
    }

    /// Halves the way between the newest state and the next one; where no state is found, as may be next to a branch,
    /// the last two beside it tell as much as there is.
    fn locate_branch(
        &mut self,
        system: &mut System,
        next: &Attempt,
        negative_pivots: [usize; 2],
    ) -> Option<CriticalPoint> {
        let (mut low, mut high) = (self.now.clone(), next.state.clone());
        let mut nearest = next.state.clone();
        while high.factor - low.factor > CRITICAL_WIDTH {
            // Between two known states the chord is a good first guess.
            let ends = [&low, &high].map(|s| (s.factor, s.unknowns(&system.assembly.dofs)));
            let found = ON_THE_WAY.iter().find_map(|share| {
                let mut state = high.clone();
                let factor = low.factor + share * (high.factor - low.factor);
                predict(system, &ends, &mut state, factor).ok()?;
                let found = system.equilibrate(&mut state).ok()?;
                let inertia = system.factor_tangent(&state).ok()?;
                self.iterations += found.iterations;
                Some((state, inertia))
            });
            let Some((state, inertia)) = found else { break };
            nearest = state.clone();
            if inertia.negative == negative_pivots[0] {
                low = state;
            } else {
                high = state;
            }
        }
        let mode = softest_mode(system, &nearest).ok()?;
        let fraction = 0.5 * (low.factor + high.factor);
        Some(CriticalPoint { fraction, mode, negative_pivots })
    }

    /// Where no load step continues the path: follows it by arc length round its turn or fold, until
    /// the load factor has grown beyond where it stands now.
    ///
    /// If the load factor fell on the way, the part has snapped. If the arc is lost, the equilibrium
    /// that the load step found elsewhere is taken for the other side of the snap.
    fn go_round(
        &mut self,
        system: &mut System,
        target: f64,
        found: Result<Attempt, Failure>,
    ) -> Result<(), Failure> {
        // An arc that touches has corners: the states on both sides tell as much.
        let touches = found.as_ref().is_ok_and(|a| a.touches);
        let arc = if touches { None } else { self.arc(system, target) };
        match arc {
            Some(Rounded { point, before, fold, begun }) => {
                self.snaps.extend(fold);
                self.begun.extend(begun);
                // All that began on the way is told already.
                self.met.extend(point.met.iter().copied());
                // Both are on the rising path again: the next load steps, and the next arc if the
                // path turns soon, start in their direction.
                self.history = vec![before];
                self.accept(system, point.state, point.equilibrium, point.met);
            }
            None => {
                let attempt = found?;
                self.snaps.push(attempt.state.factor);
                self.history.clear();
                self.accept(system, attempt.state, attempt.equilibrium, attempt.met);
            }
        }
        self.increment = 4.0 * self.smallest;
        Ok(())
    }

    /// Walks by arc length until the load factor has left the present one behind for good.
    fn arc(&mut self, system: &mut System, target: f64) -> Option<Rounded> {
        let [.., before, last] = &self.history[..] else { return None };
        let secant = last.1.iter().zip(&before.1).map(|(a, b)| a - b).collect();
        let start = self.now.factor;
        let secant = (secant, last.0 - before.0);
        let (met, grazing) = (self.met.clone(), 1.001 * GRAZING * self.largest);
        let mut walk = ArcWalk::new(self.now.clone(), self.equilibrium?, secant, met, grazing);
        let mut highest = start;
        let mut fold = None;
        let mut below = None;
        let mut begun = Vec::new();
        for _ in 0..MOST_ARC_STEPS {
            let met = walk.now.met.clone();
            let before = (walk.now.state.factor, walk.now.state.unknowns(&system.assembly.dofs));
            walk.step(system, SHORTEST_ARC * self.smallest).ok()?;
            self.iterations += walk.now.equilibrium.iterations;
            let factor = walk.now.state.factor;
            if factor < highest && fold.is_none() {
                fold = Some(highest);
            }
            if factor > target {
                // Beyond the reported state: after a fold the load steps come to it from the arc's
                // last state, which is on the other side of the snap.
                let (point, before) = below?;
                return fold.map(|_| Rounded { point, before, fold, begun });
            }
            // While the load factor falls, whoever moves the drive sees the part jump where it was highest.
            let seen = [highest, withy_mesh::number::max(highest, factor)];
            begun.extend(walk.now.met.difference(&met).map(|met| (*met, seen)));
            highest = seen[1];
            let beyond = factor - start;
            let rising = factor >= highest && factor > before.0;
            if rising && beyond > 2.0 * self.smallest && walk.length() > self.smallest {
                return Some(Rounded { point: walk.now, before, fold, begun });
            }
            below = Some((walk.now.clone(), before));
        }
        None
    }

    /// Tries to reach another load factor in one step.
    fn attempt(&self, system: &mut System, factor: f64) -> Result<Attempt, Failure> {
        let mut state = self.now.clone();
        predict(system, &self.history, &mut state, factor)?;
        let predicted = state.u.clone();
        let equilibrium = system.equilibrate(&mut state)?;
        system.keeps_out(Some(&self.now), &state)?;
        let missed = distance(&predicted, &state.u);
        let continues = missed <= CONTINUED * distance(&self.now.u, &state.u);
        let met = system.assembly.met();
        let touches = !self.met.is_empty() || !met.is_empty();
        Ok(Attempt { state, equilibrium, continues, touches, met })
    }

    fn accept(
        &mut self,
        system: &System,
        state: Configuration,
        equilibrium: Equilibrium,
        met: BTreeSet<Met>,
    ) {
        let factor = state.factor;
        self.internal_steps += 1;
        self.iterations += equilibrium.iterations;
        // The end of an arc may all but coincide with the next state: no direction lies in such a pair.
        let apart = SAME_FACTOR * self.smallest;
        self.history.pop_if(|(before, _)| (factor - *before).abs() <= apart);
        self.history.push((factor, state.unknowns(&system.assembly.dofs)));
        if self.history.len() > HISTORY {
            self.history.remove(0);
        }
        // Behind a fold the load factor is less than before it.
        let factors = [self.now.factor, withy_mesh::number::max(self.now.factor, factor)];
        self.begun.extend(met.difference(&self.met).map(|m| (*m, factors)));
        self.met = met;
        self.now = state;
        self.equilibrium = Some(equilibrium);
        if equilibrium.iterations <= EASY {
            let doubled = 2.0 * self.increment;
            self.increment = if doubled < self.largest { doubled } else { self.largest };
        }
    }

    fn report(&self, model: &Model, system: &mut System, equilibrium: Equilibrium) -> Step {
        Step {
            iterations: self.iterations,
            internal_steps: self.internal_steps,
            snaps: self.snaps.clone(),
            begun: self.begun.iter().map(|(met, factors)| begun(model, *met, *factors)).collect(),
            ..reported(model, system, &self.now, equilibrium, self.stiffness)
        }
    }
}

/// Moves a state, the newest of some known ones, to another load factor: extrapolates them, newest last, or goes along
/// the tangent where there is one alone.
pub(crate) fn predict(
    system: &mut System,
    known: &[(f64, Vec<f64>)],
    state: &mut Configuration,
    factor: f64,
) -> Result<(), Failure> {
    let [.., _, (_, newest)] = known else {
        return system.tangent_predictor(state, factor);
    };
    let (dofs, x) = (&system.assembly.dofs, &system.assembly.x);
    let mut change = interpolated(known, factor);
    for (c, u) in change.iter_mut().zip(newest) {
        *c -= u;
    }
    state.set_factor(dofs, x, factor);
    state.advance(dofs, x, &change, 1.0);
    Ok(())
}

/// Whether the first guess of a step from `now`, the newest of some `known` states, lies deeper in what the part meets
/// than an equilibrium might.
pub(crate) fn guesses_too_deep(
    system: &mut System,
    now: &Configuration,
    known: &[(f64, Vec<f64>)],
    factor: f64,
) -> bool {
    let mut guess = now.clone();
    predict(system, known, &mut guess, factor).is_ok() && system.assembly.lies_deep(&guess)
}

/// A converged state as it is reported; what it took is that of its last internal step alone.
pub(crate) fn reported(
    model: &Model,
    system: &mut System,
    state: &Configuration,
    equilibrium: Equilibrium,
    wanted: Stiffness,
) -> Step {
    let displacements = by_mesh_node(&system.assembly.dofs, state);
    // A failure leaves nothing to report.
    let stiffness = match wanted {
        Stiffness::Skipped => Vec::new(),
        Stiffness::Wanted => region_stiffnesses(system, state).unwrap_or_default(),
    };
    Step {
        stiffness,
        pushing: system.assembly.pushing(state),
        fraction: state.factor,
        displacements,
        rigid: state.q.clone(),
        reactions: reactions(model, system, state),
        strain_energy: equilibrium.energy,
        negative_pivots: equilibrium.inertia.negative,
        iterations: equilibrium.iterations,
        internal_steps: 1,
        snaps: Vec::new(),
        begun: Vec::new(),
    }
}

/// Displacements of a configuration by mesh node (mm).
pub(crate) fn by_mesh_node(dofs: &Dofs, state: &Configuration) -> Vec<[f64; 2]> {
    let mut displacements = vec![[0.0; 2]; state.u.len()];
    for (s, &m) in dofs.mesh_node.iter().enumerate() {
        displacements[m as usize] = state.u[s];
    }
    displacements
}

pub(crate) fn begun(model: &Model, met: Met, [before, fraction]: [f64; 2]) -> Begun {
    let obstacle = match met {
        Met::Obstacle(k) => Some(model.obstacles()[k].name.clone()),
        Met::Itself => None,
    };
    Begun { obstacle, before, fraction }
}

/// Where an arc left a turn or fold of the path behind.
struct Rounded {
    point: ArcPoint,
    /// Load factor and unknowns of the arc's state before.
    before: (f64, Vec<f64>),
    /// The load factor of a fold on the way.
    fold: Option<f64>,
    /// What the part began to push on the way, with the load factors of both states.
    begun: Vec<(Met, [f64; 2])>,
}

/// An equilibrium that a step found.
struct Attempt {
    state: Configuration,
    equilibrium: Equilibrium,
    /// Whether it is where the path was heading.
    continues: bool,
    /// Whether the part pushes something there or in the state before.
    touches: bool,
    /// What it pushes there.
    met: BTreeSet<Met>,
}

/// Distance of two displacement fields, root of the sum of squares (mm).
pub(crate) fn distance(a: &[[f64; 2]], b: &[[f64; 2]]) -> f64 {
    let square = |(a, b): (&[f64; 2], &[f64; 2])| (a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2);
    a.iter().zip(b).map(square).sum::<f64>().sqrt()
}

/// Unknowns at `t` by the polynomial through some states; empty if there are none.
pub(crate) fn interpolated(states: &[(f64, Vec<f64>)], t: f64) -> Vec<f64> {
    let mut sum = vec![0.0; states.first().map_or(0, |(_, unknowns)| unknowns.len())];
    for ((_, unknowns), weight) in states.iter().zip(lagrange(states, t)) {
        for (s, u) in sum.iter_mut().zip(unknowns) {
            *s += weight * u;
        }
    }
    sum
}

/// Weights of the states in their interpolation polynomial at `t`.
fn lagrange(states: &[(f64, Vec<f64>)], t: f64) -> Vec<f64> {
    (0..states.len())
        .map(|i| {
            (0..states.len())
                .filter(|&j| j != i)
                .map(|j| (t - states[j].0) / (states[i].0 - states[j].0))
                .product()
        })
        .collect()
}

/// What regions exert on the part: rigid regions first, then supports.
fn reactions(model: &Model, system: &System, at: &Configuration) -> Vec<Reaction> {
    let (dofs, x) = (&system.assembly.dofs, &system.assembly.x);
    let internal = &system.assembly.internal;
    let mut list = Vec::new();
    for (region, (body, q)) in model.rigid_regions().iter().zip(dofs.bodies.iter().zip(&at.q)) {
        let [fx, fy, moment] = resultant(body, x, q[2], internal);
        // What the internal forces need beyond the dead load comes from the drive; on free
        // coordinates that is the load itself.
        list.push(Reaction { region: region.name.clone(), force: [fx, fy], moment });
    }
    let mut counted = vec![[false; 2]; dofs.motion.len()];
    for (support, centroid) in model.supports().iter().zip(&dofs.support_centroids) {
        let mut reaction = Reaction { region: support.name.clone(), force: [0.0; 2], moment: 0.0 };
        for node in &support.nodes {
            let n = dofs.solver_node[node.index()] as usize;
            debug_assert!(matches!(dofs.motion[n], Motion::Own(_)), "supports are kept apart");
            let mut force = [0.0; 2];
            for i in 0..2 {
                // Where supports share a node's direction the first one is charged with it.
                if support.displacement[i].is_some() && !counted[n][i] {
                    counted[n][i] = true;
                    force[i] = internal[n][i] - at.factor * dofs.force[n][i];
                }
            }
            let arm = [0, 1].map(|i| x[n][i] + at.u[n][i] - centroid[i]);
            reaction.force[0] += force[0];
            reaction.force[1] += force[1];
            reaction.moment += arm[0] * force[1] - arm[1] * force[0];
        }
        list.push(reaction);
    }
    list
}
