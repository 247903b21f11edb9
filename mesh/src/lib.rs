//! A drawn outline becomes a graded mesh of 6-node triangles.
//!
//! ```
//! use withy_mesh::{Curve, Loop, Outline, Point, Sizing, mesh_outline, quality};
//!
//! let p = [(0.0, 0.0), (40.0, 0.0), (40.0, 3.0), (0.0, 3.0)].map(Point::from);
//! let curves = (0..4).map(|i| Curve::Line(p[i], p[(i + 1) % 4])).collect();
//! let strip = Loop { curves, origin: "the strip".into() };
//! let outline = Outline::new(vec![strip], Vec::new())?;
//! let mesh = mesh_outline(&outline, &Sizing::default())?;
//! assert!((mesh.area() - 120.0).abs() < 1e-9);
//! assert!(quality(&mesh).min_angle_deg >= 30.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
#![expect(
    clippy::neg_cmp_op_on_partial_ord,
    reason = "a NaN must fail every check, and !(x <= limit) is true for it"
)]

mod arrangement;
mod border;
mod check;
pub mod corner;
pub mod curve;
mod division;
mod drop;
pub mod error;
mod fillet;
mod flips;
mod intersect;
pub mod mesh;
pub mod mesher;
pub mod number;
mod order;
pub mod outline;
mod parts;
#[cfg(test)]
mod plate;
pub mod quadratic;
pub mod quality;
mod queue;
mod refine;
pub mod sizing;
mod smooth;
mod surface;
mod sweep;
mod thickness;
mod tip;
pub mod tree;
mod triangle;
mod triangulate;
pub mod walls;

pub use corner::ReentrantCorner;
pub use curve::{Arc, Curve};
pub use error::{MeshError, OutlineError};
pub use fillet::round_corners;
pub use kurbo::{Point, Rect, Vec2};
pub use mesh::{BoundaryEdge, ElementId, Mesh, NodeId, RegionNodes};
pub use mesher::{mesh_outline, mesh_outline_unless};
pub use outline::{Loop, Outline, Region};
pub use quality::{Quality, quality};
pub use sizing::{SizeWish, Sizing};
pub use walls::{Width, gaps, walls};
