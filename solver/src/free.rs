//! Equilibrium where the drives exert no force: the load factor is one of the unknowns.
//!
//! With r(u, f) the residual and e(u, f) the work of the drives by load factor,
//!
//! K du + a df = -r,  a' du + b df = -e,  a = dr/df, b = de/df at kept unknowns,
//!
//! because both are slopes of one energy. Each iteration solves K twice with one factor (bordering). Once the residual
//! falls fast, factor, a and b at hand are good enough for the last digits, and K is solved once. Under loads besides the
//! drives, and in turning drives, a and b leave small terms out: the iteration is then a little slower, its end the same.

use crate::assembly::Want;
use crate::configuration::Configuration;
use crate::error::Failure;
use crate::linear::Inertia;
use crate::newton::{Equilibrium, FAST, SETTLING, System, TOLERANCE, norm};
use withy_mesh::number::max;

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
        let mut border: Option<Border> = None;
        let mut before = f64::INFINITY;
        for iterations in 0..MOST_ITERATIONS {
            let want = if border.is_none() { Want::Tangent } else { Want::Force };
            let outcome = self.assembly.assemble(at, want);
            residual = self.assembly.residual(at);
            // What is still inside out after some iterations has left for good; written so that a NaN has, too.
            let sane = outcome.worst.0 > 0.0 || iterations <= SETTLING;
            if !sane || self.assembly.is_wild() {
                break;
            }
            let effort = self.assembly.effort(at);
            let unbalanced = norm(&residual);
            let found = unbalanced <= TOLERANCE * self.most_forces
                && effort.abs() <= NO_EFFORT * most_effort;
            // At the end, and where it is near, the factor of an iterate before tells as much.
            let left = max(
                unbalanced / (TOLERANCE * self.most_forces),
                effort.abs() / (NO_EFFORT * most_effort),
            );
            let fast = left <= FAST * before;
            before = left;
            let now = match border.take() {
                Some(kept) if found || fast => kept,
                kept => {
                    if kept.is_some() {
                        let _ = self.assembly.assemble(at, Want::Tangent);
                    }
                    self.border(at)?
                }
            };
            if found {
                if outcome.worst.0 > 0.0 {
                    let (energy, forces) = (outcome.energy, outcome.squares.sqrt());
                    return Ok(Equilibrium { energy, inertia: now.inertia, iterations, forces });
                }
                let [x, y] = self.assembly.place_of(outcome.worst.1);
                return Err(Failure::Inverted { x, y });
            }
            self.factor.solve(&mut residual);
            let change = (now.with(&residual) - effort) / (now.own - now.with(&now.rate));
            if !change.is_finite() {
                return Err(Failure::NotConverged { residual: f64::NAN });
            }
            for (r, a) in residual.iter_mut().zip(&now.rate) {
                *r += a * change;
            }
            border = Some(now);
            let (dofs, x) = (&self.assembly.dofs, &self.assembly.x);
            at.set_factor(dofs, x, at.factor + change);
            at.advance(dofs, x, &residual, -1.0);
        }
        Err(Failure::NotConverged { residual: norm(&residual) / self.most_forces })
    }

    /// Factors the tangent assembled last, with its border.
    fn border(&mut self, at: &Configuration) -> Result<Border, Failure> {
        let inertia = self.factor_assembled()?;
        let slope = self.assembly.residual_rate(at);
        let own = self.assembly.effort_rate(at);
        let mut rate = slope.clone();
        self.factor.solve(&mut rate);
        Ok(Border { inertia, slope, rate, own })
    }
}

/// What a factored tangent is bordered with.
struct Border {
    inertia: Inertia,
    /// a.
    slope: Vec<f64>,
    /// K^-1 a.
    rate: Vec<f64>,
    /// b.
    own: f64,
}

impl Border {
    fn with(&self, x: &[f64]) -> f64 {
        x.iter().zip(&self.slope).map(|(x, a)| x * a).sum()
    }
}
