//! One Newton iteration in its pieces, for measuring where time goes.

use crate::assembly::Want;
use crate::configuration::Configuration;
use crate::error::Failure;
use crate::model::Model;
use crate::newton::{System, norm};
use nalgebra_sparse::CscMatrix;

/// The equations of a model at a state a little away from rest.
#[derive(Debug)]
pub struct Pieces {
    system: System,
    at: Configuration,
}

impl Pieces {
    /// Numbers, orders and analyses the equations; the state is that of a hundredth of the draw with
    /// all free unknowns at rest.
    #[must_use]
    pub fn new(model: &Model) -> Self {
        let system = System::new(model);
        let mut at = Configuration::at_rest(&system.assembly.dofs);
        at.set_factor(&system.assembly.dofs, &system.assembly.x, 0.01);
        Self { system, at }
    }

    /// Unknowns.
    #[must_use]
    pub fn equations(&self) -> usize {
        self.system.assembly.dofs.count
    }

    /// Numbers in the factor L, zeros of its dense blocks included.
    #[must_use]
    pub fn factor_entries(&self) -> usize {
        self.system.factor.entries()
    }

    /// Lower triangle of the last tangent (N/mm, N, N mm).
    #[must_use]
    pub fn tangent(&self) -> &CscMatrix<f64> {
        &self.system.assembly.tangent
    }

    /// The order of elimination: the old equation of each new one.
    #[must_use]
    pub fn order(&self) -> Vec<usize> {
        self.system.factor.order()
    }

    /// Assembles the tangent and the internal forces; returns the strain energy (mJ).
    pub fn assemble(&mut self) -> f64 {
        self.system.assembly.assemble(&self.at, Want::Tangent).energy
    }

    /// Assembles the internal forces alone; returns the norm of the residual (N).
    pub fn residual(&mut self) -> f64 {
        let _ = self.system.assembly.assemble(&self.at, Want::Force);
        norm(&self.system.assembly.residual(&self.at))
    }

    /// Factors the last tangent; returns its negative pivots.
    ///
    /// # Errors
    /// A singular tangent.
    pub fn factor(&mut self) -> Result<usize, Failure> {
        Ok(self.system.factor_assembled()?.negative)
    }

    /// Solves for the Newton correction of the last assembly in the factored tangent; returns the
    /// norm of the correction (mm).
    pub fn solve(&mut self) -> f64 {
        let mut change = self.system.assembly.residual(&self.at);
        self.system.factor.solve(&mut change);
        norm(&change)
    }
}
