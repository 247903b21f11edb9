//! Dead surface tractions as consistent nodal forces.

use crate::model::NodalForce;
use crate::quadrature::EDGE_DEGREE_5;
use crate::triangle::{edge_derivatives, edge_shape, places};
use withy_mesh::{BoundaryEdge, Mesh};

/// Nodal forces of a traction on edges of the outline: f_a = integral t N_a p ds.
///
/// `traction(point, outward normal)` is the force per area at a reference point (MPa); thickness in
/// mm.
pub fn edge_traction<'e>(
    mesh: &Mesh,
    edges: impl IntoIterator<Item = &'e BoundaryEdge>,
    thickness: f64,
    traction: impl Fn([f64; 2], [f64; 2]) -> [f64; 2],
) -> Vec<NodalForce> {
    let mut forces = Vec::new();
    for edge in edges {
        let x = places(mesh, &edge.nodes);
        for (s, weight) in EDGE_DEGREE_5 {
            let (n, d) = (edge_shape(s), edge_derivatives(s));
            let along = [0, 1].map(|i| (0..3).map(|a| d[a] * x[a][i]).sum::<f64>());
            let point = [0, 1].map(|i| (0..3).map(|a| n[a] * x[a][i]).sum::<f64>());
            let length = along[0].hypot(along[1]);
            // The material is on the left, so outward is to the right of the edge.
            let p = traction(point, [along[1] / length, -along[0] / length]);
            let area = weight * thickness * length;
            for a in 0..3 {
                forces.push(NodalForce {
                    node: edge.nodes[a],
                    force: [area * n[a] * p[0], area * n[a] * p[1]],
                });
            }
        }
    }
    forces
}
