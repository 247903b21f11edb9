//! The mesh: 6-node triangles, their boundary edges and the nodes of each region.

use crate::curve::Curve;
use crate::error::MeshError;
use crate::quadratic::{element_area, jacobian_coefficients};
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
    /// Where the nodes are in the drawing, if they are shifted from there.
    pub(crate) drawn: Option<Vec<Point>>,
}

impl Mesh {
    /// The checked mesh: every node exists, is finite, and det J > 0 in every element.
    pub(crate) fn checked(
        nodes: Vec<Point>,
        elements: Vec<[NodeId; 6]>,
        boundary: Vec<BoundaryEdge>,
        regions: Vec<RegionNodes>,
        curves: Vec<Vec<Curve>>,
    ) -> Result<Self, MeshError> {
        if elements.is_empty() {
            return Err(MeshError::Empty);
        }
        for (element, connectivity) in elements.iter().enumerate() {
            for &node in connectivity {
                if !nodes.get(node.index()).is_some_and(|p| p.is_finite()) {
                    return Err(MeshError::BadNode { element, node: node.index() });
                }
            }
            let x = connectivity.map(|n| nodes[n.index()]);
            if !jacobian_coefficients(&x).iter().all(|c| *c > 0.0) {
                return Err(MeshError::Inverted { element, x: x[0].x, y: x[0].y });
            }
        }
        for region in &regions {
            if let Some(node) = region.nodes.iter().find(|n| n.index() >= nodes.len()) {
                return Err(MeshError::BadRegion { name: region.name.clone(), node: node.index() });
            }
        }
        Ok(Self { nodes, elements, boundary, regions, curves, drawn: None })
    }

    /// The same mesh with its nodes shifted (mm): a printed part that departs from its drawing.
    ///
    /// [`Mesh::curve`] still tells the curves as drawn, and [`Mesh::drawn`] the nodes.
    ///
    /// # Errors
    /// A shift that inverts an element or is not finite.
    ///
    /// # Panics
    /// If there is not one shift for each node.
    pub fn moved(&self, shifts: &[[f64; 2]]) -> Result<Self, MeshError> {
        assert_eq!(shifts.len(), self.nodes.len(), "one shift for each node");
        let nodes = self
            .nodes
            .iter()
            .zip(shifts)
            .map(|(p, s)| Point::new(p.x + s[0], p.y + s[1]))
            .collect();
        let moved = Self::checked(
            nodes,
            self.elements.clone(),
            self.boundary.clone(),
            self.regions.clone(),
            self.curves.clone(),
        )?;
        Ok(Self { drawn: Some(self.drawn().to_vec()), ..moved })
    }

    /// Positions of an element's nodes (mm).
    #[must_use]
    pub fn corners_and_sides(&self, element: ElementId) -> [Point; 6] {
        self.elements[element.index()].map(|n| self.nodes[n.index()])
    }

    /// Area of all elements, with their curved sides (mm2).
    ///
    /// A side on an arc is a parabola through three of its points. That parabola strays from the
    /// arc by at most the fourth power of the half turn: a relative 1e-4 of the sagitta.
    #[must_use]
    pub fn area(&self) -> f64 {
        let area = |e: &[NodeId; 6]| element_area(&e.map(|n| self.nodes[n.index()]));
        self.elements.iter().map(area).sum()
    }

    /// Reference positions of the nodes (mm).
    #[must_use]
    pub fn nodes(&self) -> &[Point] {
        &self.nodes
    }

    /// Positions of the nodes as drawn (mm): the same unless the mesh was [`Mesh::moved`].
    #[must_use]
    pub fn drawn(&self) -> &[Point] {
        self.drawn.as_deref().unwrap_or(&self.nodes)
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
