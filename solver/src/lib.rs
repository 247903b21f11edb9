//! Large-deflection plane-stress mechanics of planar compliant parts.
//!
//! The way through it: a [`Model`] says how a mesh is held, driven and loaded and what it is made of; [`follow_path`]
//! finds its equilibria along the draw; [`stress`] recovers what the material bears in each; [`stability`] tells what a
//! region is kept in line by; [`release`] and [`transient`] let it go; [`relaxation`] and [`endurance`] tell what time and
//! use do. [`beam`] is a faster model of its own. Units: mm, N, MPa, g, ms, so that mJ and m/s come out.
//!
//! A leaf of 40 x 2 x 6 mm, clamped, its tip pushed aside by a tenth of its length and free to come in: the force is that
//! of 3 E I d / L^3 within 2 %.
//!
//! ```
//! use std::ops::ControlFlow;
//! use withy_mesh::{Curve, Loop, NodeId, Outline, Point, Sizing, mesh_outline};
//! use withy_solver::{
//!     Coordinate, Elastic, Model, PathOptions, PlaneState, RigidRegion, Support, follow_path,
//! };
//!
//! let p = [(0.0, 0.0), (40.0, 0.0), (40.0, 2.0), (0.0, 2.0)].map(Point::from);
//! let curves = (0..4).map(|i| Curve::Line(p[i], p[(i + 1) % 4])).collect();
//! let leaf = Outline::new(vec![Loop { curves, origin: "leaf".into() }], Vec::new())?;
//! let mesh = mesh_outline(&leaf, &Sizing::default())?;
//! let at = |x: f64| -> Vec<NodeId> {
//!     let all = mesh.nodes().iter().enumerate();
//!     let there = all.filter(|(_, p)| (p.x - x).abs() < 1e-9);
//!     there.filter_map(|(n, _)| u32::try_from(n).ok()).map(NodeId).collect()
//! };
//! let model = Model::new(&mesh, Elastic::new(2000.0, 0.0, PlaneState::PlaneStress)?, 6.0)?
//!     .support(Support::hold("root", at(0.0)))?
//!     .rigid_region(RigidRegion {
//!         name: "tip".into(),
//!         nodes: at(40.0),
//!         motion: [Coordinate::Free, Coordinate::Driven(-4.0), Coordinate::Free],
//!         force: [0.0; 2],
//!         moment: 0.0,
//!     })?;
//! let options = PathOptions { steps: 4, ..PathOptions::default() };
//! let path = follow_path(&model, &options, &mut |_| ControlFlow::Continue(())).map_err(|s| s.cause.to_string())?;
//! let last = &path.steps[3];
//! let tip = last.reactions.iter().find(|r| r.region == "tip").ok_or("no tip")?;
//! let small = 3.0 * 2000.0 * (6.0 * 8.0 / 12.0) / 40f64.powi(3) * 4.0;
//! let ratio = -tip.force[1] / small;
//! assert!(ratio > 0.99 && ratio < 1.02, "{ratio}");
//! // Work of a nearly straight curve is the energy stored.
//! assert!((last.strain_energy / (0.5 * 4.0 * -tip.force[1]) - 1.0).abs() < 0.01);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
pub mod adapt;
mod arc;
mod assembly;
mod batch;
pub mod beam;
pub mod bending_test;
pub mod between;
mod configuration;
pub mod contact;
mod coupled;
pub mod curve;
mod dofs;
mod element;
pub mod endurance;
mod equations;
pub mod error;
mod free;
mod fronts;
pub mod gap;
pub mod known;
mod lanes;
mod linear;
pub mod load;
pub mod mass;
pub mod material;
pub mod model;
mod newton;
mod order;
mod parabola;
pub mod path;
mod pattern;
pub mod pieces;
mod pointwise;
pub mod quadrature;
pub mod recovery;
pub mod relaxation;
pub mod release;
mod simd;
pub mod stability;
pub mod stages;
pub mod stress;
pub mod transfer;
pub mod transient;
pub mod triangle;
mod viscous;
mod way_back;

pub use between::Between;
pub use contact::{Obstacle, Overlap, PressedPoint, Pushing, Shape, Touch};
pub use curve::SmoothCurve;
pub use equations::Equations;
pub use error::{Failure, ModelError};
pub use gap::{Crossing, Gap, Gaps, Narrowest, crosses_itself, outward};
pub use known::{polish_path, softest_mode_of};
pub use material::{Beads, Elastic, Hardening, Law, Orthotropic, PlaneState, PlasticState};
pub use model::{Coordinate, Model, NodalForce, RigidRegion, Support};
pub use path::{
    Begun, EquilibriumPath, PathOptions, Reaction, Step, Stiffness, StopCause, Stopped,
    follow_path, follow_path_by,
};
pub use recovery::rests;
pub use relaxation::Relaxation;
pub use stability::{CriticalPoint, RegionStiffness, stiffness_about};
pub use stages::{Stage, StageOptions, StageState, StagedPath, StagesStopped, follow_stages};
pub use transfer::Transfer;
