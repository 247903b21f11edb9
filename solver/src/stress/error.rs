//! Error estimate: the recovered strain field against the computed one, in energy.
//!
//! eta_e^2 = integral over the element of t (E* - E_h) : D : (E* - E_h) / 2, E* interpolated from the
//! recovered nodal strains with the element's own shape functions; the strain energy is the scale.
//! Source: O. C. Zienkiewicz and J. Z. Zhu, "A simple error estimator and adaptive procedure for
//! practical engineering analysis", IJNME 24 (1987) 337-357 (from memory).

use super::{StressField, green_lagrange};
use crate::material::Elastic;
use crate::model::Model;
use crate::quadrature::DEGREE_4;
use crate::triangle;
use withy_mesh::Mesh;

/// Estimated errors of one state.
#[derive(Clone, Debug, PartialEq)]
pub struct ErrorEstimate {
    /// Error energy of each element (mJ).
    pub element_error: Vec<f64>,
    /// Strain energy of each element (mJ).
    pub element_energy: Vec<f64>,
}

impl ErrorEstimate {
    pub(crate) fn new(
        model: &Model,
        strained: &[bool],
        displacements: &[[f64; 2]],
        field: &StressField,
    ) -> Self {
        let mesh = model.mesh();
        let (mut element_error, mut element_energy) = (Vec::new(), Vec::new());
        for (element, strained) in mesh.elements().iter().zip(strained) {
            let (mut error, mut energy) = (0.0, 0.0);
            if *strained {
                let x = triangle::places(mesh, element);
                let u = element.map(|n| displacements[n.index()]);
                for g in DEGREE_4 {
                    let (_, det) = triangle::gradients(&x, g.xi, g.eta);
                    let weight = model.thickness() * g.weight * det;
                    let computed = green_lagrange(&x, &u, g.xi, g.eta);
                    let n = triangle::shape(g.xi, g.eta);
                    let mut difference = computed.map(|e| -e);
                    for a in 0..6 {
                        for i in 0..3 {
                            difference[i] += n[a] * field.strain[element[a].index()][i];
                        }
                    }
                    error += weight * density(model.law().elastic(), difference);
                    energy += weight * density(model.law().elastic(), computed);
                }
            }
            element_error.push(error);
            element_energy.push(energy);
        }
        Self { element_error, element_energy }
    }

    /// Relative error of the whole field in energy norm, sqrt(sum eta^2 / energy).
    #[must_use]
    pub fn relative(&self) -> f64 {
        let error: f64 = self.element_error.iter().sum();
        let energy: f64 = self.element_energy.iter().sum();
        if energy > 0.0 { (error / energy).sqrt() } else { 0.0 }
    }

    /// Relative error in energy norm around each node: of the elements that touch it.
    #[must_use]
    pub fn around_nodes(&self, mesh: &Mesh) -> Vec<f64> {
        let mut sums = vec![[0.0; 2]; mesh.nodes().len()];
        for (e, nodes) in mesh.elements().iter().enumerate() {
            for n in nodes {
                sums[n.index()][0] += self.element_error[e];
                sums[n.index()][1] += self.element_energy[e];
            }
        }
        let relative = |[error, energy]: [f64; 2]| (error / energy).sqrt();
        sums.into_iter().map(|s| if s[1] > 0.0 { relative(s) } else { 0.0 }).collect()
    }
}

/// Energy of a strain (mJ/mm3).
fn density(law: &Elastic, strain: [f64; 3]) -> f64 {
    let stress = law.stress(strain);
    0.5 * (0..3).map(|i| stress[i] * strain[i]).sum::<f64>()
}
