//! What can be wrong with a model, and what can stop a solve.

use thiserror::Error;
use withy_mesh::NodeId;

/// A model that describes no solvable part.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum ModelError {
    /// Young's modulus must be positive and finite.
    #[error("Young's modulus is {value} MPa; give a positive number")]
    YoungsModulus {
        /// What was given (MPa).
        value: f64,
    },
    /// Poisson's ratio must lie where the solid is stable.
    #[error("Poisson's ratio is {value}; give a number above -1 and below 0.5")]
    PoissonsRatio {
        /// What was given.
        value: f64,
    },
    /// The thickness must be positive and finite.
    #[error("the thickness is {value} mm; give a positive number")]
    Thickness {
        /// What was given (mm).
        value: f64,
    },
    /// A size or stiffness must be positive and finite.
    #[error("{what} is {value}; give a positive number")]
    NotPositive {
        /// Which quantity, with its unit.
        what: String,
        /// What was given.
        value: f64,
    },
    /// A joint that was not added before.
    #[error("joint {joint} does not exist: there are {joints}")]
    NoSuchJoint {
        /// The joint asked for.
        joint: u32,
        /// How many there are.
        joints: usize,
    },
    /// A member without elements, or whose axis does not go ahead from node to node.
    #[error(
        "the axis of member {member} has no length or turns back; give places in order along it"
    )]
    NoAxis {
        /// Its number.
        member: usize,
    },
    /// A displacement, force or moment is NaN or infinite.
    #[error("{what} is {value}; give a finite number")]
    NotFinite {
        /// Which quantity.
        what: String,
        /// What was given.
        value: f64,
    },
    /// A node outside the mesh.
    #[error("node {} does not exist: the mesh has {nodes} nodes", node.0)]
    NoSuchNode {
        /// The node asked for.
        node: NodeId,
        /// How many there are.
        nodes: usize,
    },
    /// A rigid region or support without a node.
    #[error("region \"{name}\" touches nothing: it holds no node of the part")]
    EmptyRegion {
        /// The region's name.
        name: String,
    },
    /// Two rigid regions, or a support and a rigid region, share a node.
    #[error(
        "regions \"{first}\" and \"{second}\" overlap at ({x:.3}, {y:.3}) mm; \
         a point can follow only one of them, so draw them apart"
    )]
    Overlap {
        /// One region.
        first: String,
        /// The other.
        second: String,
        /// Where they meet (mm).
        x: f64,
        /// Where they meet (mm).
        y: f64,
    },
    /// Everything is held or rigid.
    #[error("nothing of the part is free to bend: every node is held or moves with a rigid region")]
    NothingFree,
}

/// Why an iteration found no equilibrium.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum Failure {
    /// An element turned inside out.
    #[error("the material near ({x:.2}, {y:.2}) mm is folded through itself")]
    Inverted {
        /// Reference place (mm).
        x: f64,
        /// Reference place (mm).
        y: f64,
    },
    /// Surfaces that touch are pressed through each other: what drives them gives them no way out.
    #[error(
        "edges near ({x:.2}, {y:.2}) mm at rest are driven into each other or into a rail or pin, harder than \
         any material bears"
    )]
    DrivenThrough {
        /// Reference place (mm).
        x: f64,
        /// Reference place (mm).
        y: f64,
    },
    /// The only equilibrium that was found lies beyond what the part would have to pass through.
    #[error(
        "the edge near ({x:.2}, {y:.2}) mm at rest would pass through a pin or another part of the outline"
    )]
    PassedThrough {
        /// Reference place (mm).
        x: f64,
        /// Reference place (mm).
        y: f64,
    },
    /// The residual did not fall.
    #[error("the forces do not come into balance (residual {residual:.1e} of the internal forces)")]
    NotConverged {
        /// Residual relative to the internal forces.
        residual: f64,
    },
    /// A stretch for which the elastic law has no stress: the thickness would shrink to nothing.
    #[error(
        "the material is stretched beyond what its elastic law describes; no real part gets there, \
         draw it less far"
    )]
    BeyondLaw,
    /// The tangent stiffness is singular.
    #[error("the part can move without resistance: something is held in too few directions")]
    Singular,
}
