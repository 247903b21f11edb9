//! The mesh: 6-node triangles, their boundary edges and the nodes of each region.

use crate::curve::Curve;
use kurbo::Point;

/// Number of a node, from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub u32);

/// Number of an element, from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ElementId(pub u32);

impl NodeId {
    /// As an index into per-node slices.
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

impl ElementId {
    /// As an index into per-element slices.
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// An element edge on the part's outline, traversed with the material on its left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoundaryEdge {
    /// The element it belongs to.
    pub element: ElementId,
    /// First corner, mid-side node, second corner.
    pub nodes: [NodeId; 3],
    /// Which loop of the outline, and which curve of that loop.
    pub loop_index: usize,
    /// Which curve of that loop.
    pub curve_index: usize,
    /// Curve parameters of the first and the second corner.
    pub parameters: [f64; 2],
}

/// The nodes that a region covers.
#[derive(Clone, Debug, PartialEq)]
pub struct RegionNodes {
    /// The region's name.
    pub name: String,
    /// Its nodes in ascending order; empty if it touches nothing.
    pub nodes: Vec<NodeId>,
}

/// A checked mesh of 6-node triangles.
///
/// Element connectivity: corners 0, 1, 2 counter-clockwise, then the mid-side nodes of the edges
/// 0-1, 1-2, 2-0. No element is inverted anywhere, by construction.
#[derive(Clone, Debug)]
pub struct Mesh {
    pub(crate) nodes: Vec<Point>,
    pub(crate) elements: Vec<[NodeId; 6]>,
    pub(crate) boundary: Vec<BoundaryEdge>,
    pub(crate) regions: Vec<RegionNodes>,
    pub(crate) curves: Vec<Vec<Curve>>,
}

impl Mesh {
    /// Reference positions of the nodes (mm).
    #[must_use]
    pub fn nodes(&self) -> &[Point] {
        &self.nodes
    }

    /// Connectivity.
    #[must_use]
    pub fn elements(&self) -> &[[NodeId; 6]] {
        &self.elements
    }

    /// Edges on the outline, loop by loop, in order along each loop.
    #[must_use]
    pub fn boundary(&self) -> &[BoundaryEdge] {
        &self.boundary
    }

    /// The regions, in the outline's order.
    #[must_use]
    pub fn regions(&self) -> &[RegionNodes] {
        &self.regions
    }

    /// The curve that a boundary edge lies on.
    #[must_use]
    pub fn curve(&self, edge: &BoundaryEdge) -> &Curve {
        &self.curves[edge.loop_index][edge.curve_index]
    }
}
