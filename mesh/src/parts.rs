//! A mesh from given nodes and elements: structured meshes, and meshes made elsewhere.

use crate::curve::Curve;
use crate::error::MeshError;
use crate::mesh::{BoundaryEdge, ElementId, Mesh, NodeId, RegionNodes};
use kurbo::{CubicBez, Point};
use std::collections::BTreeMap;

/// A side is straight if its middle node is this close to halfway, relative to its length.
const STRAIGHT: f64 = 1e-12;

impl Mesh {
    /// Checks given parts and finds the boundary.
    ///
    /// Corners 0, 1, 2 are counter-clockwise, then the mid-side nodes of 0-1, 1-2, 2-0. Every
    /// boundary edge becomes a curve of its own, a line or the parabola through its nodes, with
    /// parameters 0 and 1; loops are in the order of their first element.
    ///
    /// # Errors
    ///
    /// A node does not exist or is not finite, an element is not proven to have det J > 0, an
    /// edge has more than two elements or two middle nodes, or a region names a missing node.
    pub fn from_parts(
        nodes: Vec<Point>,
        elements: Vec<[NodeId; 6]>,
        regions: Vec<RegionNodes>,
    ) -> Result<Self, MeshError> {
        let mesh = Self::checked(nodes, elements, Vec::new(), regions, Vec::new())?;
        let loops = chains(single_edges(mesh.elements())?);
        let mut boundary = Vec::new();
        let mut curves = Vec::new();
        for (loop_index, edges) in loops.into_iter().enumerate() {
            let mut along = Vec::with_capacity(edges.len());
            for (curve_index, (element, nodes)) in edges.into_iter().enumerate() {
                along.push(curve_through(nodes.map(|n| mesh.nodes()[n.index()])));
                let parameters = [0.0, 1.0];
                boundary.push(BoundaryEdge { element, nodes, loop_index, curve_index, parameters });
            }
            curves.push(along);
        }
        Ok(Self { boundary, curves, ..mesh })
    }
}

/// An element's side: first corner, mid-side node, second corner.
type Side = (ElementId, [NodeId; 3]);

/// The sides that belong to one element only, in the order of the elements.
fn single_edges(elements: &[[NodeId; 6]]) -> Result<Vec<Side>, MeshError> {
    let mut sides: BTreeMap<(NodeId, NodeId), Vec<Side>> = BTreeMap::new();
    for (i, e) in elements.iter().enumerate() {
        let id = ElementId(u32::try_from(i).unwrap_or(u32::MAX));
        for k in 0..3 {
            let (a, b) = (e[k], e[(k + 1) % 3]);
            let key = if a < b { (a, b) } else { (b, a) };
            sides.entry(key).or_default().push((id, [a, e[3 + k], b]));
        }
    }
    let mut single = Vec::new();
    for ((a, b), sides) in &sides {
        let fine = match sides.as_slice() {
            [one] => {
                single.push(*one);
                true
            }
            [(_, [a, m, _]), (_, [c, n, _])] => a != c && m == n,
            _ => false,
        };
        if !fine {
            return Err(MeshError::BadEdge { first: a.index(), second: b.index() });
        }
    }
    single.sort_by_key(|(element, nodes)| (*element, nodes[0]));
    Ok(single)
}

/// Joins sides end to end into closed loops.
fn chains(sides: Vec<Side>) -> Vec<Vec<Side>> {
    let mut from: BTreeMap<NodeId, Vec<usize>> = BTreeMap::new();
    for (i, (_, nodes)) in sides.iter().enumerate().rev() {
        from.entry(nodes[0]).or_default().push(i);
    }
    let mut used = vec![false; sides.len()];
    let mut loops = Vec::new();
    for first in 0..sides.len() {
        let mut one = Vec::new();
        let mut next = Some(first);
        while let Some(i) = next.filter(|&i| !used[i]) {
            used[i] = true;
            one.push(sides[i]);
            let starts = from.get(&sides[i].1[2]);
            next = starts.and_then(|s| s.iter().copied().rfind(|&k| !used[k]));
        }
        if !one.is_empty() {
            loops.push(one);
        }
    }
    loops
}

/// The line through three nodes, or the parabola as a Bezier curve.
fn curve_through([a, m, b]: [Point; 3]) -> Curve {
    if m.distance(a.midpoint(b)) <= STRAIGHT * a.distance(b) {
        return Curve::Line(a, b);
    }
    // The middle of a parabola with control point q is (a + 2 q + b) / 4.
    let q = (m.to_vec2() * 4.0 - a.to_vec2() - b.to_vec2()) * 0.5;
    let q = q.to_point();
    Curve::Cubic(CubicBez::new(a, a.lerp(q, 2.0 / 3.0), b.lerp(q, 2.0 / 3.0), b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quadratic::straight;

    fn ids(n: [u32; 6]) -> [NodeId; 6] {
        n.map(NodeId)
    }

    /// The unit square cut along its diagonal, the right side bulging by 0.1.
    fn square() -> (Vec<Point>, Vec<[NodeId; 6]>) {
        let p = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| Point::new(x, y));
        let (a, b) = (straight([p[0], p[1], p[2]]), straight([p[0], p[2], p[3]]));
        let mut nodes = p.to_vec();
        nodes.extend([a[3], Point::new(1.1, 0.5), a[5], b[4], b[5]]);
        (nodes, vec![ids([0, 1, 2, 4, 5, 6]), ids([0, 2, 3, 6, 7, 8])])
    }

    #[test]
    fn a_square_of_two_elements_has_one_boundary_loop_of_four_edges() {
        let (nodes, elements) = square();
        let mesh = Mesh::from_parts(nodes, elements, Vec::new()).unwrap();
        assert_eq!(mesh.boundary().len(), 4, "the diagonal is inside");
        for (edge, next) in mesh.boundary().iter().zip(mesh.boundary().iter().cycle().skip(1)) {
            assert_eq!(edge.nodes[2], next.nodes[0], "edges follow each other");
            let curve = mesh.curve(edge);
            let middle = mesh.nodes()[edge.nodes[1].index()];
            assert!(curve.at(0.5).distance(middle) < 1e-15, "{curve:?} misses {middle:?}");
        }
        // A parabola covers two thirds of its rectangle.
        assert!((mesh.area() - (1.0 + 0.1 * 2.0 / 3.0)).abs() < 1e-14, "{}", mesh.area());
    }

    #[test]
    fn parts_that_are_no_mesh_are_refused() {
        let (nodes, mut elements) = square();
        let turned = vec![ids([1, 0, 2, 4, 6, 5])];
        let refused = Mesh::from_parts(nodes.clone(), turned, Vec::new());
        assert!(matches!(refused, Err(MeshError::Inverted { .. })), "{refused:?}");
        let missing = vec![ids([0, 1, 2, 4, 5, 99])];
        let refused = Mesh::from_parts(nodes.clone(), missing, Vec::new());
        assert!(matches!(refused, Err(MeshError::BadNode { node: 99, .. })), "{refused:?}");
        elements.push(elements[0]);
        let refused = Mesh::from_parts(nodes.clone(), elements, Vec::new());
        assert!(matches!(refused, Err(MeshError::BadEdge { .. })), "{refused:?}");
        let region = RegionNodes { name: "r".into(), nodes: vec![NodeId(9)] };
        let refused = Mesh::from_parts(nodes, square().1, vec![region]);
        assert!(matches!(refused, Err(MeshError::BadRegion { node: 9, .. })), "{refused:?}");
    }
}
