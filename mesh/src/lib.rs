//! A drawn outline becomes a graded mesh of 6-node triangles.
pub mod curve;
pub mod error;
pub mod mesh;
pub mod number;
pub mod outline;

pub use curve::{Arc, Curve};
pub use error::OutlineError;
pub use kurbo::{Point, Rect, Vec2};
pub use mesh::{BoundaryEdge, ElementId, Mesh, NodeId, RegionNodes};
pub use outline::{Loop, Outline, Region};
