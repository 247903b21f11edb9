//! Large-deflection plane-stress mechanics of planar compliant parts.
pub mod adapt;
mod arc;
mod assembly;
mod batch;
pub mod beam;
pub mod between;
mod configuration;
mod coupled;
pub mod curve;
mod dofs;
mod element;
pub mod error;
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
pub mod quadrature;
pub mod release;
mod simd;
pub mod stability;
pub mod stress;
pub mod transfer;
pub mod triangle;
mod way_back;

pub use between::Between;
pub use curve::SmoothCurve;
pub use error::{Failure, ModelError};
pub use gap::{Crossing, Gap, Gaps, Narrowest};
pub use known::{polish_path, softest_mode_of};
pub use material::{Elastic, PlaneState};
pub use model::{Coordinate, Model, NodalForce, RigidRegion, Support};
pub use path::{
    EquilibriumPath, PathOptions, Reaction, Step, Stiffness, StopCause, Stopped, follow_path,
};
pub use stability::{CriticalPoint, RegionStiffness};
pub use transfer::Transfer;
