//! Nodes and edges by their place.

use withy_mesh::{BoundaryEdge, Mesh, NodeId, Point};

/// A place this close to a line counts as on it (mm): meshes carry coordinates to 1e-12.
pub const ON_LINE: f64 = 1e-9;

/// Nodes whose place satisfies a condition.
pub fn nodes(mesh: &Mesh, wanted: impl Fn(Point) -> bool) -> Vec<NodeId> {
    let number = |i: usize| NodeId(u32::try_from(i).unwrap());
    let all = mesh.nodes().iter().enumerate();
    all.filter(|(_, p)| wanted(**p)).map(|(i, _)| number(i)).collect()
}

/// Nodes on the line x = `at`.
#[must_use]
pub fn on_x(mesh: &Mesh, at: f64) -> Vec<NodeId> {
    nodes(mesh, |p| (p.x - at).abs() < ON_LINE)
}

/// Nodes on the line y = `at`.
#[must_use]
pub fn on_y(mesh: &Mesh, at: f64) -> Vec<NodeId> {
    nodes(mesh, |p| (p.y - at).abs() < ON_LINE)
}

/// The node nearest to a place.
#[must_use]
pub fn nearest(mesh: &Mesh, x: f64, y: f64) -> NodeId {
    let to = Point::new(x, y);
    let all = mesh.nodes().iter().enumerate();
    let (i, _) = all.min_by(|a, b| a.1.distance(to).total_cmp(&b.1.distance(to))).unwrap();
    NodeId(u32::try_from(i).unwrap())
}

/// Edges of the outline all of whose nodes satisfy a condition.
pub fn edges(mesh: &Mesh, wanted: impl Fn(Point) -> bool) -> Vec<&BoundaryEdge> {
    let on = |e: &&BoundaryEdge| e.nodes.iter().all(|n| wanted(mesh.nodes()[n.index()]));
    mesh.boundary().iter().filter(on).collect()
}
