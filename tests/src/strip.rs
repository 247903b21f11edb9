//! Straight slender strips whose ends are rigid bodies: beams, bars and columns as solids.
//!
//! With Poisson's ratio 0 a rigid end restrains nothing but the rotation of the cross-section, so
//! that such a strip is a beam up to shear and stretch.

use crate::grid::grid;
use crate::pick;
use crate::solve::rigid;
use withy_mesh::{Mesh, NodeId};
use withy_solver::{Coordinate, Law, Model, Support};

/// A strip of a given length and depth along x, its axis on y = 0.
#[derive(Debug)]
pub struct Strip {
    /// Its mesh.
    pub mesh: Mesh,
    /// (mm)
    pub length: f64,
    /// (mm)
    pub depth: f64,
}

impl Strip {
    /// `cells` along the length and two across: an element carries linear bending strain exactly.
    #[must_use]
    pub fn new(length: f64, depth: f64, cells: u32) -> Self {
        Self::layered(length, depth, cells, 2)
    }

    /// As many cells across as wanted.
    #[must_use]
    pub fn layered(length: f64, depth: f64, cells: u32, layers: u32) -> Self {
        let mesh = grid(cells, layers, |s, t| [s * length, (t - 0.5) * depth]);
        Self { mesh, length, depth }
    }

    /// The nodes of the end at x = 0.
    #[must_use]
    pub fn root(&self) -> Vec<NodeId> {
        pick::on_x(&self.mesh, 0.0)
    }

    /// The nodes of the end at x = length.
    #[must_use]
    pub fn tip(&self) -> Vec<NodeId> {
        pick::on_x(&self.mesh, self.length)
    }

    /// The strip with its root held and its tip, "tip", a rigid body that moves so.
    #[must_use]
    pub fn driven(
        &self,
        law: impl Into<Law>,
        thickness: f64,
        motion: [Coordinate; 3],
    ) -> Model<'_> {
        Model::new(&self.mesh, law, thickness)
            .unwrap()
            .support(Support::hold("root", self.root()))
            .unwrap()
            .rigid_region(rigid("tip", self.tip(), motion))
            .unwrap()
    }

    /// Second moment of area per unit of thickness (mm3).
    #[must_use]
    pub fn inertia(&self) -> f64 {
        self.depth.powi(3) / 12.0
    }
}
