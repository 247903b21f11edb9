//! Equilibrium where the drives exert no force: the load factor is one of the unknowns.
//!
//! With r(u, f) the residual and e(u, f) the work of the drives by load factor,
//!
//! K du + a df = -r,  a' du + b df = -e,  a = dr/df, b = de/df at kept unknowns,
//!
//! because both are slopes of one energy. Each iteration solves K twice with one factor (bordering). Under loads
//! besides the drives, and in turning drives, a and b leave small terms out: the iteration is then a little slower, its
//! end the same.

use crate::assembly::Want;
use crate::configuration::Configuration;
use crate::error::Failure;
use crate::newton::{Equilibrium, SETTLING, System, TOLERANCE, norm};

/// Quadratic near the end, from guesses as good as those of a short step (tuning).
const MOST_ITERATIONS: usize = 30;
/// No effort is left where it is below this part of the drawn one.
pub(crate) const NO_EFFORT: f64 = 1e-7;

impl System {
    /// Iterates to equilibrium without effort of the drives. `at` holds the last iterate afterwards, its load factor
    /// among the rest. A part may come to rest without any stress: what counts as nothing is measured by the most work of
    /// the drives by load factor that it took to draw it (mJ), and the most element forces.
    pub(crate) fn let_free(
        &mut self,
        at: &mut Configuration,
        most_effort: f64,
    ) -> Result<Equilibrium, Failure> {
        let mut residual = Vec::new();
        let mut inertia = None;
        for iterations in 0..MOST_ITERATIONS {
            let outcome = self.assembly.assemble(at, Want::Tangent);
            residual = self.assembly.residual(at);
            // What is still inside out after some iterations has left for good; written so that a NaN has, too.
            let sane = outcome.worst.0 > 0.0 || iterations <= SETTLING;
            if !sane || self.assembly.is_wild() {
                break;
            }
            let effort = self.assembly.effort(at);
            let found = norm(&residual) <= TOLERANCE * self.most_forces
                && effort.abs() <= NO_EFFORT * most_effort;
            // At the end the factor of the iterate before tells as much.
            let pivots = match inertia {
                Some(kept) if found => kept,
                _ => self.factor_assembled()?,
            };
            inertia = Some(pivots);
            if found {
                if outcome.worst.0 > 0.0 {
                    let forces = outcome.squares.sqrt();
                    let energy = outcome.energy;
                    return Ok(Equilibrium { energy, inertia: pivots, iterations, forces });
                }
                let [x, y] = self.assembly.place_of(outcome.worst.1);
                return Err(Failure::Inverted { x, y });
            }
            let mut rate = self.assembly.residual_rate(at);
            let rate_before = rate.clone();
            let own = self.assembly.effort_rate(at);
            self.factor.solve(&mut residual);
            self.factor.solve(&mut rate);
            let with = |x: &[f64]| x.iter().zip(&rate_before).map(|(x, a)| x * a).sum::<f64>();
            let change = (with(&residual) - effort) / (own - with(&rate));
            if !change.is_finite() {
                return Err(Failure::NotConverged { residual: f64::NAN });
            }
            for (r, a) in residual.iter_mut().zip(&rate) {
                *r += a * change;
            }
            let (dofs, x) = (&self.assembly.dofs, &self.assembly.x);
            at.set_factor(dofs, x, at.factor + change);
            at.advance(dofs, x, &residual, -1.0);
        }
        Err(Failure::NotConverged { residual: norm(&residual) / self.most_forces })
    }
}
