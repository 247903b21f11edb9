//! Running models.

use std::ops::ControlFlow;
use withy_mesh::NodeId;
use withy_solver::{
    Coordinate, Elastic, Model, PathOptions, PlaneState, RigidRegion, Step, Support, follow_path,
};

/// A plane-stress law.
#[must_use]
pub fn plane_stress(youngs_modulus: f64, poissons_ratio: f64) -> Elastic {
    Elastic::new(youngs_modulus, poissons_ratio, PlaneState::PlaneStress).unwrap()
}

/// A path of so many reported steps.
#[must_use]
pub fn path(model: &Model, steps: u32) -> Vec<Step> {
    let options = PathOptions { steps, ..PathOptions::default() };
    follow_path(model, &options, &mut |_| ControlFlow::Continue(())).unwrap().steps
}

/// The state at full draw, reached in one step: for small loads, where the response is linear.
#[must_use]
pub fn at_full(model: &Model) -> Step {
    path(model, 1).pop().unwrap()
}

/// Nodes that keep still, or move so far, in one direction only.
#[must_use]
pub fn along(name: &str, nodes: Vec<NodeId>, displacement: [Option<f64>; 2]) -> Support {
    Support { name: name.into(), nodes, displacement }
}

/// A rigid region without loads.
#[must_use]
pub fn rigid(name: &str, nodes: Vec<NodeId>, motion: [Coordinate; 3]) -> RigidRegion {
    RigidRegion { name: name.into(), nodes, motion, force: [0.0; 2], moment: 0.0 }
}
