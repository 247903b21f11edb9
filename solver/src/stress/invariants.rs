//! True stresses from a recovered strain.
//!
//! For an isotropic law S and E share their axes, so with principal stretches
//! lambda_i = sqrt(1 + 2 E_i) the principal Cauchy stresses are
//! sigma_i = S_i lambda_i^2 / (lambda_1 lambda_2 lambda_3): sigma = F S F' / J without the rotation.

use crate::material::Law;
use withy_mesh::number::{largest, max};

/// True stress and strain at a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NodeStress {
    /// Von Mises equivalent of the Cauchy stress (MPa).
    pub von_mises: f64,
    /// Largest principal Cauchy stress (MPa); negative where all are compressive.
    pub tension: f64,
    /// Smallest principal Cauchy stress (MPa).
    pub compression: f64,
    /// Largest principal nominal strain by magnitude, |lambda - 1|.
    pub strain: f64,
}

impl NodeStress {
    /// The stresses of a Green-Lagrange strain (E11, E22, 2 E12), beads along a unit vector.
    pub(crate) fn of(law: &Law, strain: [f64; 3], bead: [f64; 2]) -> Self {
        let (cauchy, stretch) = law.true_stress(strain, bead);
        let [a, b, c] = cauchy;
        let squares = (a - b) * (a - b) + (b - c) * (b - c) + (c - a) * (c - a);
        Self {
            von_mises: (0.5 * squares).sqrt(),
            tension: max(a, b),
            compression: -max(-a, -b),
            strain: largest(0.0, stretch.iter().map(|l| (l - 1.0).abs())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{Elastic, PlaneState};

    /// A direction that isotropic laws pass over.
    const NO_BEADS: [f64; 2] = [1.0, 0.0];

    /// Closed form of a bar of St. Venant-Kirchhoff material pulled to a stretch: S = E E_GL along
    /// the bar, transverse stretch^2 = 1 - 2 nu E_GL both ways, sigma = S stretch / transverse^2.
    #[test]
    fn a_stretched_bar_has_its_closed_form_true_stress() {
        let law = Law::from(Elastic::new(1000.0, 0.3, PlaneState::PlaneStress).unwrap());
        for (stretch, sigma) in [(1.05, 55.519_73), (1.1, 123.265_7), (1.2, 304.147_5)] {
            let axial: f64 = 0.5 * (stretch * stretch - 1.0);
            let (c, s) = (0.8, 0.6);
            let strain = law.edge_strain(axial, [c, s], NO_BEADS);
            let stress = NodeStress::of(&law, strain, NO_BEADS);
            // The values carry seven digits: half of the last one is 4e-7.
            assert!((stress.von_mises / sigma - 1.0).abs() < 4e-7, "{stretch}: {stress:?}");
            assert!((stress.tension / sigma - 1.0).abs() < 4e-7, "{stretch}: {stress:?}");
            assert!((stress.strain - (stretch - 1.0)).abs() < 1e-12, "{stretch}: {stress:?}");
        }
    }

    #[test]
    fn a_compressed_bar_has_no_tension() {
        let law = Law::from(Elastic::new(1000.0, 0.3, PlaneState::PlaneStress).unwrap());
        let strain = law.edge_strain(0.5 * (0.81 - 1.0), [1.0, 0.0], NO_BEADS);
        let stress = NodeStress::of(&law, strain, NO_BEADS);
        assert!((stress.compression + 80.889_31).abs() < 1e-5, "{stress:?}");
        assert!(stress.tension.abs() < 1e-10, "{stress:?}");
    }

    #[test]
    fn plane_strain_counts_the_stress_across_the_plane() {
        // Small equal strain e both ways: S = e E / ((1 + nu)(1 - 2 nu)), S33 = 2 nu S.
        let (e, nu) = (1e-6, 0.3);
        let law = Law::from(Elastic::new(1000.0, nu, PlaneState::PlaneStrain).unwrap());
        let stress = NodeStress::of(&law, [e, e, 0.0], NO_BEADS);
        let in_plane = 1000.0 * e / ((1.0 + nu) * (1.0 - 2.0 * nu));
        let expected = in_plane * (1.0 - 2.0 * nu);
        // First order in e.
        assert!((stress.von_mises / expected - 1.0).abs() < 1e-5, "{stress:?}");
    }
}
