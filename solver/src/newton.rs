//! Newton's method at one load factor.
//!
//! Each iteration solves K du = -r with the consistent tangent, so the residual falls quadratically.
//! Once it falls fast, the factor at hand is good enough for the last digits: a chord step costs a
//! quarter of a Newton step. No line search: a step that does not converge is cut by the caller,
//! which also keeps the iteration on its branch.

use crate::assembly::{Assembly, Outcome, Want};
use crate::configuration::Configuration;
use crate::dofs::{Motion, NONE};
use crate::error::Failure;
use crate::linear::{Factor, Inertia};
use crate::model::Model;

/// Residual relative to the element forces (root of the sum of squares, before they cancel) at
/// which an iterate counts as equilibrium. Rounding leaves 1e-12 to 1e-13; a force is then exact to
/// six digits and more, far below any mesh error.
const TOLERANCE: f64 = 1e-9;
/// Displacements carry this relative rounding, and the entries of a plane part's stiffness are about
/// D11 t whatever the mesh. A part that turns freely has no forces beyond that to compare with. Where
/// there are real forces, they are larger by six orders and more.
const ROUNDING: f64 = 16.0 * f64::EPSILON;
/// Newton converges in 3 to 6 iterations or not at all (tuning: a larger limit only wastes time).
const MOST_ITERATIONS: usize = 14;
/// A residual that grows by this factor has left for good (tuning).
const DIVERGED: f64 = 1e8;
/// A Newton step that shrinks the residual by this much promises a useful chord step (tuning).
const FAST: f64 = 1e-2;

/// The equations of a model and their factorisation.
#[derive(Debug)]
pub(crate) struct System {
    pub(crate) assembly: Assembly,
    pub(crate) factor: Factor,
}

/// An equilibrium and what it took.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Equilibrium {
    /// Strain energy (mJ).
    pub(crate) energy: f64,
    pub(crate) inertia: Inertia,
    /// Linear solutions.
    pub(crate) iterations: usize,
}

impl System {
    pub(crate) fn new(model: &Model) -> Self {
        let assembly = Assembly::new(model);
        let (blocks, places) = groups(&assembly);
        let factor = Factor::new(&assembly.tangent, &blocks, &places);
        Self { assembly, factor }
    }

    /// Assembles and factors the tangent.
    pub(crate) fn factor_tangent(&mut self, at: &Configuration) -> Result<Inertia, Failure> {
        let _ = self.assembly.assemble(at, Want::Tangent);
        self.factor_assembled()
    }

    /// Factors the tangent that was assembled last.
    pub(crate) fn factor_assembled(&mut self) -> Result<Inertia, Failure> {
        if self.assembly.take_grown() {
            let (blocks, places) = groups(&self.assembly);
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
        let mut iterations = 0;
        let mut outcome = self.assembly.assemble(at, Want::Tangent);
        let mut residual = self.assembly.residual(at);
        let mut size = norm(&residual);
        let first = size;
        let mut inertia = self.factor_assembled()?;
        while !self.is_converged(size, &outcome, at) {
            if iterations > 0 {
                let _ = self.assembly.assemble(at, Want::Tangent);
                inertia = self.factor_assembled()?;
            }
            loop {
                let before = size;
                self.factor.solve(&mut residual);
                at.advance(&self.assembly.dofs, &self.assembly.x, &residual, -1.0);
                iterations += 1;
                outcome = self.assembly.assemble(at, Want::Force);
                residual = self.assembly.residual(at);
                size = norm(&residual);
                // A NaN is not fast either.
                let fast = size <= FAST * before;
                if self.is_converged(size, &outcome, at) || !fast {
                    break;
                }
            }
            // Written so that a NaN counts as diverged.
            let sane = size <= DIVERGED * first;
            if !sane || iterations >= MOST_ITERATIONS {
                return Err(self.why(size, &outcome));
            }
        }
        if outcome.worst.0 > 0.0 {
            Ok(Equilibrium { energy: outcome.energy, inertia, iterations })
        } else {
            Err(self.why(0.0, &outcome))
        }
    }

    pub(crate) fn is_converged(
        &self,
        residual: f64,
        outcome: &Outcome,
        at: &Configuration,
    ) -> bool {
        if residual <= TOLERANCE * outcome.squares.sqrt() {
            return true;
        }
        let square = |u: &[f64; 2]| u[0] * u[0] + u[1] * u[1];
        let moved = at.u.iter().map(square).sum::<f64>().sqrt();
        let stiffness = self.assembly.solid.moduli[0] * self.assembly.solid.thickness;
        // At rest without load all sides are exactly zero.
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
fn groups(assembly: &Assembly) -> (Vec<usize>, Vec<[f64; 2]>) {
    let dofs = &assembly.dofs;
    let own = dofs.motion.iter().zip(&assembly.x).filter_map(|(m, x)| match m {
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
