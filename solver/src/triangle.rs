//! Shape functions of the 6-node triangle.
//!
//! | symbol | meaning | shape |
//! |---|---|---|
//! | `N` | shape functions: corners 0, 1, 2, then the mid-sides of 0-1, 1-2, 2-0 | 6 |
//! | `dN` | their derivatives by (xi, eta) | 6 x 2 |
//! | `X` | reference positions | 6 x 2 |
//!
//! Area coordinates: L0 = 1 - xi - eta, L1 = xi, L2 = eta; corners L (2 L - 1), mid-sides 4 La Lb.
#![expect(non_snake_case, reason = "symbols of the textbook")]

use withy_mesh::{Mesh, NodeId};

/// Reference positions of some nodes, an element's or an edge's (mm).
pub(crate) fn places<const N: usize>(mesh: &Mesh, nodes: &[NodeId; N]) -> [[f64; 2]; N] {
    nodes.map(|n| {
        let p = mesh.nodes()[n.index()];
        [p.x, p.y]
    })
}

/// Shape functions at a point of the reference triangle.
#[must_use]
pub fn shape(xi: f64, eta: f64) -> [f64; 6] {
    let l = [1.0 - xi - eta, xi, eta];
    [
        l[0] * (2.0 * l[0] - 1.0),
        l[1] * (2.0 * l[1] - 1.0),
        l[2] * (2.0 * l[2] - 1.0),
        4.0 * l[0] * l[1],
        4.0 * l[1] * l[2],
        4.0 * l[2] * l[0],
    ]
}

/// Derivatives of the shape functions by (xi, eta).
#[must_use]
pub const fn shape_derivatives(xi: f64, eta: f64) -> [[f64; 2]; 6] {
    let l = [1.0 - xi - eta, xi, eta];
    [
        [1.0 - 4.0 * l[0], 1.0 - 4.0 * l[0]],
        [4.0 * l[1] - 1.0, 0.0],
        [0.0, 4.0 * l[2] - 1.0],
        [4.0 * (l[0] - l[1]), -4.0 * l[1]],
        [4.0 * l[2], 4.0 * l[1]],
        [-4.0 * l[2], 4.0 * (l[0] - l[2])],
    ]
}

/// Gradients of the shape functions by reference position (1/mm), and det dX/d(xi, eta) (mm2).
#[must_use]
pub fn gradients(X: &[[f64; 2]; 6], xi: f64, eta: f64) -> ([[f64; 2]; 6], f64) {
    let dN = shape_derivatives(xi, eta);
    let mut jacobian = [[0.0; 2]; 2];
    for a in 0..6 {
        for i in 0..2 {
            for j in 0..2 {
                jacobian[i][j] += X[a][i] * dN[a][j];
            }
        }
    }
    let det = jacobian[0][0] * jacobian[1][1] - jacobian[0][1] * jacobian[1][0];
    let inverse = [
        [jacobian[1][1] / det, -jacobian[0][1] / det],
        [-jacobian[1][0] / det, jacobian[0][0] / det],
    ];
    let G = dN.map(|d| {
        [d[0] * inverse[0][0] + d[1] * inverse[1][0], d[0] * inverse[0][1] + d[1] * inverse[1][1]]
    });
    (G, det)
}

/// Shape functions of a 3-node edge (first corner, mid-side, second corner) at s in 0..=1.
#[must_use]
pub fn edge_shape(s: f64) -> [f64; 3] {
    [(1.0 - s) * (1.0 - 2.0 * s), 4.0 * s * (1.0 - s), s * (2.0 * s - 1.0)]
}

/// Derivatives of the edge's shape functions by s.
#[must_use]
pub fn edge_derivatives(s: f64) -> [f64; 3] {
    [4.0 * s - 3.0, 4.0 - 8.0 * s, 4.0 * s - 1.0]
}

/// The reference coordinates of the six nodes.
pub const NODE_COORDINATES: [[f64; 2]; 6] =
    [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, 0.0], [0.5, 0.5], [0.0, 0.5]];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_shape_function_is_one_at_its_node_and_zero_at_the_others() {
        for (a, [xi, eta]) in NODE_COORDINATES.into_iter().enumerate() {
            for (b, n) in shape(xi, eta).into_iter().enumerate() {
                let expected = if a == b { 1.0 } else { 0.0 };
                assert!((n - expected).abs() < 1e-15, "N{b} at node {a}: {n}");
            }
        }
    }

    #[test]
    fn gradients_of_a_linear_field_are_exact_on_a_curved_element() {
        let X = [[0.0, 0.0], [2.0, 0.1], [0.3, 1.5], [1.1, -0.1], [1.3, 0.9], [0.05, 0.8]];
        let (G, det) = gradients(&X, 0.3, 0.2);
        assert!(det > 0.0, "not inverted");
        for i in 0..2 {
            for j in 0..2 {
                let sum: f64 = (0..6).map(|a| X[a][i] * G[a][j]).sum();
                let expected = if i == j { 1.0 } else { 0.0 };
                assert!((sum - expected).abs() < 1e-14, "dX{i}/dX{j} = {sum}");
            }
        }
    }
}
