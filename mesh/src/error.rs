//! What can be wrong with an outline, and what can stop the mesher.

use thiserror::Error;

/// An outline that bounds no printable part. Places are in the drawing's millimetres, y up.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum OutlineError {
    /// Nothing is drawn.
    #[error("the outline is empty: draw the part as one closed shape")]
    Empty,
    /// A coordinate is not a number, or is infinite.
    #[error("{origin} has a coordinate that is not a finite number: draw it again")]
    NotFinite {
        /// Where the loop comes from.
        origin: String,
    },
    /// An arc with a radius that is not positive, or that winds around more than once.
    #[error(
        "{origin} has an arc of radius {radius} mm that turns by {sweep} rad: an arc needs a positive radius and turns by one full circle at most"
    )]
    BadArc {
        /// Where the loop comes from.
        origin: String,
        /// The arc's radius (mm).
        radius: f64,
        /// The arc's turn (rad).
        sweep: f64,
    },
    /// A chain of curves with a gap.
    #[error(
        "{origin} is not closed: there is a gap of {gap:.3e} mm at ({x:.4}, {y:.4}) mm; join the ends there"
    )]
    Open {
        /// Where the loop comes from.
        origin: String,
        /// Width of the gap (mm).
        gap: f64,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// Larger than any machine that prints it.
    #[error("the outline is {size:.1} mm across, more than 10 m: check the drawing's unit")]
    TooLarge {
        /// Larger side of the bounding box (mm).
        size: f64,
    },
    /// Smaller than anything that is printed.
    #[error(
        "the outline is {size:.2e} mm across, less than 1 micrometre: check the drawing's unit"
    )]
    TooSmall {
        /// Larger side of the bounding box (mm).
        size: f64,
    },
    /// A loop that goes there and back.
    #[error(
        "{origin} encloses no area near ({x:.4}, {y:.4}) mm: it is flat, or crosses itself like a \
         bow tie; remove it or draw it as a closed shape"
    )]
    NoArea {
        /// Where the loop comes from.
        origin: String,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// A bow-tie.
    #[error(
        "{origin} crosses itself at ({x:.4}, {y:.4}) mm: move its points there so that it does not"
    )]
    CrossesItself {
        /// Where the loop comes from.
        origin: String,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// Two loops with a point in common.
    #[error(
        "{origin} and {other} cross or touch at ({x:.4}, {y:.4}) mm: unite them into one shape, or move them apart"
    )]
    LoopsMeet {
        /// Where the one loop comes from.
        origin: String,
        /// Where the other loop comes from.
        other: String,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// The same loop drawn twice: by the even-odd rule it cancels itself.
    #[error(
        "{origin} and {other} are the same shape drawn twice, at ({x:.4}, {y:.4}) mm: delete one of them"
    )]
    DrawnTwice {
        /// Where the one loop comes from.
        origin: String,
        /// Where the other loop comes from.
        other: String,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// A wall or a slit thinner than [`THIN_FRACTION`](crate::outline::THIN_FRACTION) of the part.
    #[error(
        "at ({x:.4}, {y:.4}) mm {origin} leaves {gap:.2e} mm between two of its edges or to {other}; less than {limit:.2e} mm (1/100000 of the part) cannot be computed: widen it or close it"
    )]
    TooThin {
        /// Where the one loop comes from.
        origin: String,
        /// Where the other loop comes from (the same, within one loop).
        other: String,
        /// Distance between the edges (mm).
        gap: f64,
        /// The least distance that is accepted (mm).
        limit: f64,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// Material in two or more places.
    #[error(
        "{origin} near ({x:.4}, {y:.4}) mm is a separate piece, apart from {other}: a part is one piece; join them or delete one"
    )]
    SeparatePiece {
        /// Where the separate piece comes from.
        origin: String,
        /// Where the main piece comes from.
        other: String,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// A fillet radius that is not a positive number.
    #[error("a fillet of radius {radius} mm cannot be made: give a positive radius")]
    BadFillet {
        /// Radius asked for (mm).
        radius: f64,
    },
    /// A corner without the room for its fillet.
    #[error(
        "a fillet of radius {radius} mm does not fit the inner corner at ({x:.4}, {y:.4}) mm of {origin}: choose a smaller radius or lengthen the edges there"
    )]
    FilletDoesNotFit {
        /// Where the loop comes from.
        origin: String,
        /// Radius asked for (mm).
        radius: f64,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
}

impl OutlineError {
    /// The loop that is to be mended, as its [`Loop::origin`](crate::Loop::origin) says, if it is about one.
    #[must_use]
    pub fn origin(&self) -> Option<&str> {
        match self {
            Self::Empty
            | Self::TooLarge { .. }
            | Self::TooSmall { .. }
            | Self::BadFillet { .. } => None,
            Self::NotFinite { origin }
            | Self::BadArc { origin, .. }
            | Self::Open { origin, .. }
            | Self::NoArea { origin, .. }
            | Self::CrossesItself { origin, .. }
            | Self::LoopsMeet { origin, .. }
            | Self::DrawnTwice { origin, .. }
            | Self::TooThin { origin, .. }
            | Self::SeparatePiece { origin, .. }
            | Self::FilletDoesNotFit { origin, .. } => Some(origin),
        }
    }
}

/// A mesh that was not made, or parts that are not a mesh.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum MeshError {
    /// A sizing number that has no meaning.
    #[error("{what} is {value}: it must be a positive number")]
    BadSize {
        /// Which number.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// More elements than allowed.
    #[error(
        "a mesh as fine as asked for needs about {estimate:.0} elements, more than the limit of {limit}: ask for coarser elements, or raise the limit"
    )]
    TooManyElements {
        /// About how many are needed (at least; counting stops above the limit).
        estimate: f64,
        /// How many are allowed.
        limit: usize,
    },
    /// The outline could not be followed by straight edges, however short.
    #[error(
        "the outline is too intricate to be meshed near ({x:.4}, {y:.4}) mm: simplify it there"
    )]
    Intricate {
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// The caller asked for it.
    #[error("interrupted while meshing")]
    Interrupted,
    /// An element that is inverted or has no area somewhere.
    #[error("element {element} near ({x:.4}, {y:.4}) mm is inverted or flat")]
    Inverted {
        /// Number of the element.
        element: usize,
        /// Place (mm).
        x: f64,
        /// Place (mm).
        y: f64,
    },
    /// A node number beyond the nodes, or a node that is not a finite point.
    #[error(
        "element {element} refers to node {node}, which does not exist or is not a finite point"
    )]
    BadNode {
        /// Number of the element.
        element: usize,
        /// Number of the node.
        node: usize,
    },
    /// An edge with more than two elements, or two elements that lie on the same side of it.
    #[error(
        "the edge between nodes {first} and {second} does not separate two elements or one element and the outside"
    )]
    BadEdge {
        /// Number of the one corner node.
        first: usize,
        /// Number of the other corner node.
        second: usize,
    },
    /// A region that names a node beyond the nodes.
    #[error("region '{name}' refers to node {node}, which does not exist")]
    BadRegion {
        /// The region's name.
        name: String,
        /// Number of the node.
        node: usize,
    },
    /// Nothing to mesh.
    #[error("a mesh needs at least one element")]
    Empty,
}
