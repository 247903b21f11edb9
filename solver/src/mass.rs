//! Consistent mass of a mesh of 6-node triangles.
//!
//! m_ab = rho t integral N_a N_b dA over each element, the same shape functions as the displacements. On
//! an element with straight sides of area A:
//!
//! m = rho t A / 180 times corner-corner 6 and -1, corner to opposite mid-side -4 (0 to the others),
//! mid-side 32 and 16 (O. C. Zienkiewicz and R. L. Taylor, The Finite Element Method, and any text on
//! structural dynamics, from memory; the tests integrate it).
//!
//! N_a N_b has degree 4 and the Jacobian of a curved element degree 2, so a rule of degree 6 is exact.

use crate::error::ModelError;
use crate::quadrature::DEGREE_6;
use crate::triangle::{gradients, places, shape};
use withy_mesh::Mesh;

/// The masses of a mesh's elements.
#[derive(Clone, Debug)]
pub struct ConsistentMass<'m> {
    mesh: &'m Mesh,
    /// By element, between its nodes (g).
    elements: Vec<[[f64; 6]; 6]>,
}

/// `∫ N_a N_b dA` of an element with nodes at the given places (mm2).
#[must_use]
pub fn element_mass(nodes: &[[f64; 2]; 6]) -> [[f64; 6]; 6] {
    let mut mass = [[0.0; 6]; 6];
    for g in DEGREE_6 {
        let n = shape(g.xi, g.eta);
        let (_, det) = gradients(nodes, g.xi, g.eta);
        for a in 0..6 {
            for b in 0..6 {
                mass[a][b] += g.weight * det * n[a] * n[b];
            }
        }
    }
    mass
}

impl<'m> ConsistentMass<'m> {
    /// The masses of a part of a density (g/mm3) and thickness (mm).
    ///
    /// # Errors
    /// A density or thickness that is not positive and finite.
    pub fn new(mesh: &'m Mesh, density: f64, thickness: f64) -> Result<Self, ModelError> {
        let by_area = density * thickness;
        if !(density > 0.0 && by_area > 0.0 && by_area.is_finite()) {
            let what = "the mass by area, density times thickness".to_owned();
            return Err(ModelError::NotFinite { what, value: by_area });
        }
        let elements = mesh
            .elements()
            .iter()
            .map(|nodes| element_mass(&places(mesh, nodes)).map(|row| row.map(|m| by_area * m)))
            .collect();
        Ok(Self { mesh, elements })
    }

    /// Mass of the whole part (g).
    #[must_use]
    pub fn total(&self) -> f64 {
        self.elements.iter().flatten().flatten().sum()
    }

    /// Twice the kinetic energy of a nodal velocity field: `∫ rho t |v|^2 dA` (g times the field's
    /// unit squared).
    #[must_use]
    pub fn square(&self, velocity: &[[f64; 2]]) -> f64 {
        let mut sum = 0.0;
        for (nodes, mass) in self.mesh.elements().iter().zip(&self.elements) {
            let v = nodes.map(|n| velocity[n.index()]);
            for a in 0..6 {
                for b in 0..6 {
                    sum += mass[a][b] * (v[a][0] * v[b][0] + v[a][1] * v[b][1]);
                }
            }
        }
        sum
    }

    /// Mass of the elements all of whose nodes have a given velocity, within a share of it (g).
    #[must_use]
    pub fn moving_with(&self, field: &[[f64; 2]], velocity: [f64; 2], share: f64) -> f64 {
        let allowed = share * velocity[0].hypot(velocity[1]);
        let moves = |v: [f64; 2]| (v[0] - velocity[0]).hypot(v[1] - velocity[1]) <= allowed;
        let elements = self.mesh.elements().iter().zip(&self.elements);
        elements
            .filter(|(nodes, _)| nodes.iter().all(|n| moves(field[n.index()])))
            .flat_map(|(_, mass)| mass.iter().flatten())
            .sum()
    }

    /// Momentum of a nodal velocity field: `∫ rho t v dA` (g times the field's unit).
    #[must_use]
    pub fn momentum(&self, velocity: &[[f64; 2]]) -> [f64; 2] {
        let mut sum = [0.0; 2];
        for (nodes, mass) in self.mesh.elements().iter().zip(&self.elements) {
            for (row, n) in mass.iter().zip(nodes) {
                let own: f64 = row.iter().sum();
                for i in 0..2 {
                    sum[i] += own * velocity[n.index()][i];
                }
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_element_has_the_textbook_s_matrix() {
        let corners = [[1.0, 1.0], [4.0, 2.0], [2.0, 5.0]];
        let middle = |a: usize, b: usize| [0, 1].map(|i| 0.5 * (corners[a][i] + corners[b][i]));
        let nodes = [corners[0], corners[1], corners[2], middle(0, 1), middle(1, 2), middle(2, 0)];
        // Area by the shoelace rule: (3 * 4 - 1 * 1) / 2.
        let area = 5.5;
        #[rustfmt::skip]
        let expected = [
            [ 6.0, -1.0, -1.0,  0.0, -4.0,  0.0],
            [-1.0,  6.0, -1.0,  0.0,  0.0, -4.0],
            [-1.0, -1.0,  6.0, -4.0,  0.0,  0.0],
            [ 0.0,  0.0, -4.0, 32.0, 16.0, 16.0],
            [-4.0,  0.0,  0.0, 16.0, 32.0, 16.0],
            [ 0.0, -4.0,  0.0, 16.0, 16.0, 32.0],
        ];
        let mass = element_mass(&nodes);
        for a in 0..6 {
            for b in 0..6 {
                let exact = area / 180.0 * expected[a][b];
                // The rule's constants carry 15 digits.
                assert!((mass[a][b] - exact).abs() < 1e-13, "m{a}{b}: {} {exact}", mass[a][b]);
            }
        }
    }

    /// One side bulges as y = 4 h x (1 - x): area 1/2 + 2 h / 3, and `∫ y dA` adds `∫ y^2 / 2 dx`,
    /// 4 h^2 / 15, taken off because the bulge lies below the axis.
    #[test]
    fn a_curved_element_has_the_area_and_first_moment_under_its_parabola() {
        let h = 0.1;
        let nodes = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, -h], [0.5, 0.5], [0.0, 0.5]];
        let mass = element_mass(&nodes);
        let area: f64 = mass.iter().flatten().sum();
        assert!((area - (0.5 + 2.0 * h / 3.0)).abs() < 1e-14, "{area}");
        let first: f64 =
            (0..6).map(|b| mass.iter().map(|row| row[b]).sum::<f64>() * nodes[b][1]).sum();
        let exact = 1.0 / 6.0 - 4.0 * h * h / 15.0;
        assert!((first - exact).abs() < 1e-14, "{first} {exact}");
    }
}
