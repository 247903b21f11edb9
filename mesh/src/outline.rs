//! The outline of a part: closed loops of curves and the named areas laid over them.
//!
//! Loops are stored with the material on their left: the outer loop counter-clockwise and first,
//! openings clockwise. A region is an area (one or more loops, even-odd) that the mesh must follow.

use crate::curve::Curve;
use crate::error::OutlineError;
use kurbo::{Point, Rect};

/// A closed chain of curves: each ends where the next begins, the last where the first begins.
#[derive(Clone, Debug, PartialEq)]
pub struct Loop {
    /// The pieces in order.
    pub curves: Vec<Curve>,
    /// Where the loop comes from, in words for a complaint: `"path 'rib' (line 12)"`.
    pub origin: String,
}

/// A named area laid over the part; what it covers is held, driven or loaded as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    /// The name that the part file uses.
    pub name: String,
    /// Its border, even-odd; loops need no orientation.
    pub loops: Vec<Loop>,
}

/// A checked outline: the only way to a mesh.
#[derive(Clone, Debug)]
pub struct Outline {
    loops: Vec<Loop>,
    regions: Vec<Region>,
}
