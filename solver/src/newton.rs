//! Newton's method at one load factor.
//!
//! Each iteration solves K du = -r with the consistent tangent, so the residual falls quadratically.
//! Once it falls fast, the factor at hand is good enough for the last digits: a chord step costs a
//! quarter of a Newton step. No line search: a step that does not converge is cut by the caller,
//! which also keeps the iteration on its branch.

use crate::assembly::{Assembly, Outcome, Want};
use crate::configuration::Configuration;
use crate::dofs::{Dofs, Motion, NONE};
use crate::error::Failure;
use crate::linear::{Factor, Inertia};
use crate::model::Model;
use withy_mesh::number::max;

/// Residual relative to the element forces (root of the sum of squares, before they cancel) at
/// which an iterate counts as equilibrium. Rounding leaves 1e-12 to 1e-13; a force is then exact to
/// six digits and more, far below any mesh error.
pub(crate) const TOLERANCE: f64 = 1e-9;
/// Displacements carry this relative rounding, and the entries of a plane part's stiffness are about
/// D11 t whatever the mesh. A part that turns freely has no forces beyond that to compare with. Where
/// there are real forces, they are larger by six orders and more.
const ROUNDING: f64 = 16.0 * f64::EPSILON;
/// Newton converges in 3 to 6 iterations or not at all (tuning: a larger limit only wastes time).
const MOST_ITERATIONS: usize = 14;
/// With contact, iterations are also spent on finding out which edges touch. A step on which that takes longer
/// is sooner taken in parts (tuning).
const MOST_WITH_CONTACT: usize = 16;
/// What touches is known roughly after so many of them; a residual that grows by this factor then has run
/// away (tuning).
pub(crate) const SETTLING: usize = 3;
const RUN_AWAY: f64 = 10.0;
/// With this part of the forces out of balance and no more, only what touches is unsettled (tuning).
const UNSETTLED: f64 = 0.1;
/// Parts of their stiffness through which surfaces are hardened then. A strip that lies flush on a rail is let go
/// by one edge an iteration where it is hard; where it is soft over some edges (tuning).
const HARDENING: [f64; 4] = [1e-6, 1e-4, 1e-2, 1.0];
/// A correction is searched until its work is this part of that at its start (tuning).
const SEARCHED: f64 = 0.3;
/// Residuals that a search may cost (tuning).
const MOST_SEARCH: usize = 4;
/// A residual that grows by this factor has left for good (tuning).
const DIVERGED: f64 = 1e8;
/// A Newton step that shrinks the residual by this much promises a useful chord step (tuning).
pub(crate) const FAST: f64 = 1e-2;

/// The equations of a model and their factorisation.
#[derive(Clone, Debug)]
pub(crate) struct System {
    pub(crate) assembly: Assembly,
    pub(crate) factor: Factor,
    /// Root of the sum of the squares of the element forces in the state that took most of them so far (N): a part that
    /// comes back from it is in balance where nothing of them is left.
    pub(crate) most_forces: f64,
}

/// An equilibrium and what it took.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Equilibrium {
    /// Strain energy (mJ).
    pub(crate) energy: f64,
    pub(crate) inertia: Inertia,
    /// Linear solutions.
    pub(crate) iterations: usize,
    /// Root of the sum of the squares of the element forces (N).
    pub(crate) forces: f64,
}

impl System {
    pub(crate) fn new(model: &Model) -> Self {
        let assembly = Assembly::new(model);
        let (blocks, places) = groups(&assembly.dofs, &assembly.x);
        let factor = Factor::new(&assembly.tangent, &blocks, &places);
        Self { assembly, factor, most_forces: 0.0 }
    }

    /// Assembles and factors the tangent.
    pub(crate) fn factor_tangent(&mut self, at: &Configuration) -> Result<Inertia, Failure> {
        let _ = self.assembly.assemble(at, Want::Tangent);
        self.factor_assembled()
    }

    /// Factors the tangent that was assembled last.
    pub(crate) fn factor_assembled(&mut self) -> Result<Inertia, Failure> {
        if self.assembly.take_grown() {
            let (blocks, places) = groups(&self.assembly.dofs, &self.assembly.x);
            self.factor = Factor::new(&self.assembly.tangent, &blocks, &places);
        }
        self.factor.factor(&self.assembly.tangent)
    }

    /// Moves `at` along the tangent of the path to another load factor.
    pub(crate) fn tangent_predictor(
        &mut self,
        at: &mut Configuration,
        factor: f64,
    ) -> Result<(), Failure> {
        self.factor_tangent(at)?;
        let mut rate = self.assembly.residual_rate(at);
        self.factor.solve(&mut rate);
        let change = factor - at.factor;
        at.set_factor(&self.assembly.dofs, &self.assembly.x, factor);
        at.advance(&self.assembly.dofs, &self.assembly.x, &rate, -change);
        Ok(())
    }

    /// Iterates to equilibrium at the load factor of `at`, which holds the last iterate afterwards.
    pub(crate) fn equilibrate(&mut self, at: &mut Configuration) -> Result<Equilibrium, Failure> {
        let pairs = self.assembly.contact.as_ref().map(|c| c.pairs());
        let found = self.iterate(at).or_else(|failure| self.settle(at, failure));
        if let (Err(_), Some(pairs), Some(contact)) = (&found, pairs, &mut self.assembly.contact) {
            // An iteration that ran away touched where no state of the part does.
            contact.forget_all_but(pairs);
        }
        found
    }

    /// Where what touches goes to and fro between iterations, though all else is in balance: finds it on surfaces
    /// that are soft at first, and hardens them.
    fn settle(&mut self, at: &mut Configuration, failure: Failure) -> Result<Equilibrium, Failure> {
        let unsettled =
            matches!(failure, Failure::NotConverged { residual } if residual < UNSETTLED);
        if self.assembly.contact.is_none() || !unsettled {
            return Err(failure);
        }
        let mut found = Err(failure);
        for hardness in HARDENING {
            if let Some(contact) = &mut self.assembly.contact {
                contact.set_hardness(hardness);
            }
            found = self.iterate(at);
            if found.is_err() {
                break;
            }
        }
        if let Some(contact) = &mut self.assembly.contact {
            contact.set_hardness(1.0);
        }
        found
    }

    fn iterate(&mut self, at: &mut Configuration) -> Result<Equilibrium, Failure> {
        let mut iterations = 0;
        let most =
            if self.assembly.contact.is_some() { MOST_WITH_CONTACT } else { MOST_ITERATIONS };
        let mut outcome = self.assembly.assemble(at, Want::Tangent);
        let mut residual = self.assembly.residual(at);
        let mut size = norm(&residual);
        let first = size;
        let mut highest = size;
        let mut inertia = self.factor_assembled()?;
        while !self.is_converged(size, &outcome, at) {
            if iterations > 0 {
                let _ = self.assembly.assemble(at, Want::Tangent);
                inertia = self.factor_assembled()?;
            }
            loop {
                let before = size;
                let start = self.assembly.contact.is_some().then(|| residual.clone());
                self.factor.solve(&mut residual);
                at.advance(&self.assembly.dofs, &self.assembly.x, &residual, -1.0);
                iterations += 1;
                outcome = self.assembly.assemble(at, Want::Force);
                let correction = residual;
                residual = self.assembly.residual(at);
                if let Some(start) = start {
                    self.search(at, &start, &correction, &mut outcome, &mut residual);
                }
                size = norm(&residual);
                // What is not a number is not fast, and neither is what has grown beyond all of them.
                let fast = size.is_finite() && size <= FAST * before;
                if self.is_converged(size, &outcome, at) || !fast {
                    break;
                }
            }
            // Written so that a NaN counts as diverged.
            let sane = if self.assembly.contact.is_some() && iterations > SETTLING {
                size <= RUN_AWAY * highest && outcome.worst.0 > 0.0
            } else {
                size <= DIVERGED * first
            };
            let sane = sane && !self.assembly.is_wild();
            highest = max(highest, size);
            if !sane || iterations >= most {
                return Err(self.why(size, &outcome));
            }
        }
        self.keeps_out(None, at)?;
        if outcome.worst.0 > 0.0 {
            let forces = outcome.squares.sqrt();
            Ok(Equilibrium { energy: outcome.energy, inertia, iterations, forces })
        } else {
            Err(self.why(0.0, &outcome))
        }
    }

    /// Checks that an equilibrium, assembled last, does not lie deep in what it meets, and that the part passes
    /// through nothing on its way there from another one.
    pub(crate) fn keeps_out(
        &self,
        from: Option<&Configuration>,
        to: &Configuration,
    ) -> Result<(), Failure> {
        let through = self.assembly.contact.as_ref().and_then(|c| c.driven_through());
        if let Some([x, y]) = through {
            return Err(Failure::DrivenThrough { x, y });
        }
        match from.and_then(|from| self.assembly.passes(from, to)) {
            Some([x, y]) => Err(Failure::PassedThrough { x, y }),
            None => Ok(()),
        }
    }

    /// Where touching begins or ends on the way of a correction, its whole length may lead nowhere: goes
    /// along it to where the residual does no more work on it, by false position (the Illinois variant) and
    /// halving in turn.
    ///
    /// `start` is the residual before, `at` is behind the whole correction, with what was assembled there.
    fn search(
        &mut self,
        at: &mut Configuration,
        start: &[f64],
        correction: &[f64],
        outcome: &mut Outcome,
        residual: &mut Vec<f64>,
    ) {
        let work = |r: &[f64]| r.iter().zip(correction).map(|(r, c)| r * c).sum::<f64>();
        let whole = work(start);
        let (mut low, mut high) = ((0.0, whole), (1.0, work(residual)));
        let (mut now, mut side) = (1.0, 0);
        for tried in 0..MOST_SEARCH {
            let here = if now < 1.0 { work(residual) } else { high.1 };
            // Written so that a NaN is searched no further.
            let far = here.abs() > SEARCHED * whole.abs() && high.1 * whole < 0.0;
            if !far {
                break;
            }
            // A side that has just begun to touch is stiffer by orders: halving finds where sooner.
            let share = if tried % 2 == 0 { low.1 / (low.1 - high.1) } else { 0.5 };
            let next = low.0 + (high.0 - low.0) * share;
            at.advance(&self.assembly.dofs, &self.assembly.x, correction, now - next);
            now = next;
            *outcome = self.assembly.assemble(at, Want::Force);
            *residual = self.assembly.residual(at);
            let value = work(residual);
            if value * whole > 0.0 {
                low = (now, value);
                high.1 *= if side > 0 { 0.5 } else { 1.0 };
                side = 1;
            } else {
                high = (now, value);
                low.1 *= if side < 0 { 0.5 } else { 1.0 };
                side = -1;
            }
        }
    }

    pub(crate) fn is_converged(
        &self,
        residual: f64,
        outcome: &Outcome,
        at: &Configuration,
    ) -> bool {
        if residual <= TOLERANCE * max(outcome.squares.sqrt(), self.most_forces) {
            return true;
        }
        let square = |u: &[f64; 2]| u[0] * u[0] + u[1] * u[1];
        let moved = at.u.iter().map(square).sum::<f64>().sqrt();
        // Without any load all that is left is an error, which no force of its own measures: places carry
        // rounding too.
        let placed = self.assembly.x.iter().map(square).sum::<f64>().sqrt();
        let moved = max(moved, f64::EPSILON * placed);
        let stiffness = self.assembly.solid.moduli[0] * self.assembly.solid.thickness;
        residual <= ROUNDING * stiffness * moved
    }

    /// The likeliest reason why an iteration failed, from its last iterate.
    fn why(&self, residual: f64, outcome: &Outcome) -> Failure {
        let (det, element) = outcome.worst;
        if det > 0.0 {
            return Failure::NotConverged { residual: residual / outcome.squares.sqrt() };
        }
        let [x, y] = self.assembly.place_of(element);
        Failure::Inverted { x, y }
    }
}

/// First equations of the groups that share their neighbours, nodes and rigid regions, with the number of
/// equations at the end; and their places.
pub(crate) fn groups(dofs: &Dofs, x: &[[f64; 2]]) -> (Vec<usize>, Vec<[f64; 2]>) {
    let own = dofs.motion.iter().zip(x).filter_map(|(m, x)| match m {
        Motion::Own(equations) => Some((&equations[..], *x)),
        Motion::Rigid(_) => None,
    });
    let bodies = dofs.bodies.iter().map(|b| (&b.equations[..], b.centroid));
    let (mut starts, places): (Vec<usize>, Vec<[f64; 2]>) = own
        .chain(bodies)
        .filter_map(|(e, x)| e.iter().find(|&&e| e != NONE).map(|&e| (e as usize, x)))
        .unzip();
    starts.push(dofs.count);
    (starts, places)
}

/// Euclidean norm, NaN if any entry is.
pub(crate) fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}
