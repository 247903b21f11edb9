//! Makers: the outline of a spring from its numbers, as exact lines and arcs.
//!
//! A maker is a pure function from numbers (mm, rad) to a [`Made`] part or to the reason why there is
//! none, with the number that would do. It reads nothing and takes a fraction of a millisecond to a few,
//! so that a search may call it as often as it likes.
//!
//! | file | what |
//! |---|---|
//! | `pieces` | borders of points with radii, their mirror images, boxes and rings |
//! | `error` | why a shape cannot be made |
//! | `rib_spring` | banks of ribs between two rails and a carriage |
//! | `leaf` | a strip folded to and fro between a foot and a tab |
//! | `c_clip` | a ring that opens, with lips and a foot |
//! | `rib_axis` | the axis and the edges of one rib |
//! | `beams` | the rib spring as beams |

pub mod beams;
pub mod c_clip;
pub mod error;
pub mod leaf;
mod pieces;
pub mod rib_axis;
pub mod rib_spring;
#[cfg(test)]
mod tests;

pub use beams::{BeamState, Beams, BeamsError, beams};
pub use c_clip::{CClip, c_clip};
pub use error::Unmakeable;
pub use leaf::{Leaf, leaf};
pub use rib_spring::{RibSpring, rib_spring};

use crate::case::{Drive, Hold};
use withy_mesh::Outline;

/// What a printer can do with a gap and with a wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// No gap narrower than this (mm).
    pub gap: f64,
    /// No wall narrower than this (mm).
    pub wall: f64,
}

impl Default for Limits {
    /// A gap of 0.3 mm, a wall of one line of a 0.4 mm nozzle: common practice, no source.
    fn default() -> Self {
        Self { gap: 0.3, wall: 0.4 }
    }
}

/// A part that was made of numbers.
#[derive(Clone, Debug)]
pub struct Made {
    /// The part, with every region that the maker offers (mm).
    pub outline: Outline,
    /// Width and height of a page around it (mm).
    pub page: [f64; 2],
    /// What is held unless the part file says otherwise.
    pub holds: Vec<Hold>,
    /// What is driven unless the part file says otherwise.
    pub drives: Vec<Drive>,
}
