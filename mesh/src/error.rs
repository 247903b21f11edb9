//! What can be wrong with an outline, and what can stop the mesher.

use thiserror::Error;

/// An outline that bounds no printable part. Places are in the drawing's millimetres, y up.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum OutlineError {
    /// Nothing is drawn.
    #[error("the outline is empty: draw the part as one closed shape")]
    Empty,
}
