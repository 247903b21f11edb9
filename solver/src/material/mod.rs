//! Laws between strain and stress: elastic constants here, the laws made of them in `law`.
//!
//! | symbol | meaning | shape |
//! |---|---|---|
//! | `E` | Green-Lagrange strain (E11, E22, 2 E12) | 3 |
//! | `S` | second Piola-Kirchhoff stress (S11, S22, S12) (MPa) | 3 |
//! | `D` | tangent dS/dE (MPa), symmetric | 3 x 3 |
#![expect(non_snake_case, reason = "symbols of the textbook")]

mod law;
mod logarithmic;
mod orthotropic;
mod plastic;

pub use law::Law;
pub(crate) use law::Response;
pub(crate) use orthotropic::directions;
pub use orthotropic::{Beads, Orthotropic};
pub use plastic::{Hardening, PlasticState};

use crate::error::ModelError;

/// Which assumption closes the third direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlaneState {
    /// No stress out of the plane: a part thin in that direction, or a narrow rib.
    PlaneStress,
    /// No strain out of the plane: a part deep in that direction compared with its ribs.
    PlaneStrain,
}

/// An isotropic St. Venant-Kirchhoff solid: linear between `E` and `S`.
///
/// Plane stress: S33 = 0, so E33 = -nu / (1 - nu) (E11 + E22). Plane strain: E33 = 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elastic {
    youngs_modulus: f64,
    poissons_ratio: f64,
    state: PlaneState,
}

impl Elastic {
    /// A solid of Young's modulus (MPa) and Poisson's ratio.
    ///
    /// # Errors
    /// A modulus that is not positive and finite; a ratio outside -1 < nu < 0.5.
    pub fn new(
        youngs_modulus: f64,
        poissons_ratio: f64,
        state: PlaneState,
    ) -> Result<Self, ModelError> {
        if !(youngs_modulus > 0.0 && youngs_modulus.is_finite()) {
            return Err(ModelError::YoungsModulus { value: youngs_modulus });
        }
        if !(poissons_ratio > -1.0 && poissons_ratio < 0.5) {
            return Err(ModelError::PoissonsRatio { value: poissons_ratio });
        }
        Ok(Self { youngs_modulus, poissons_ratio, state })
    }

    /// Young's modulus (MPa).
    #[must_use]
    pub fn youngs_modulus(&self) -> f64 {
        self.youngs_modulus
    }

    /// Poisson's ratio.
    #[must_use]
    pub fn poissons_ratio(&self) -> f64 {
        self.poissons_ratio
    }

    /// Plane stress or plane strain.
    #[must_use]
    pub fn state(&self) -> PlaneState {
        self.state
    }

    /// The constant tangent as (D11 = D22, D12, D33 = shear modulus) (MPa).
    #[must_use]
    pub fn moduli(&self) -> [f64; 3] {
        let (e, nu) = (self.youngs_modulus, self.poissons_ratio);
        let shear = e / (2.0 * (1.0 + nu));
        match self.state {
            PlaneState::PlaneStress => {
                let d = e / (1.0 - nu * nu);
                [d, nu * d, shear]
            }
            PlaneState::PlaneStrain => {
                let d = e / ((1.0 + nu) * (1.0 - 2.0 * nu));
                [(1.0 - nu) * d, nu * d, shear]
            }
        }
    }

    /// The modulus of a strip pulled along its traction-free edge: E, or E / (1 - nu^2) in plane
    /// strain (MPa).
    #[must_use]
    pub fn edge_modulus(&self) -> f64 {
        match self.state {
            PlaneState::PlaneStress => self.youngs_modulus,
            PlaneState::PlaneStrain => {
                self.youngs_modulus / (1.0 - self.poissons_ratio * self.poissons_ratio)
            }
        }
    }

    /// Second Piola-Kirchhoff stress of a Green-Lagrange strain (MPa).
    #[must_use]
    pub fn stress(&self, E: [f64; 3]) -> [f64; 3] {
        let [d, c, g] = self.moduli();
        [d * E[0] + c * E[1], c * E[0] + d * E[1], g * E[2]]
    }

    /// Green-Lagrange strain of a second Piola-Kirchhoff stress.
    #[must_use]
    pub fn strain(&self, S: [f64; 3]) -> [f64; 3] {
        let [d, c, g] = self.moduli();
        let det = d * d - c * c;
        [(d * S[0] - c * S[1]) / det, (d * S[1] - c * S[0]) / det, S[2] / g]
    }

    /// Green-Lagrange strain out of the plane.
    #[must_use]
    pub fn thickness_strain(&self, E: [f64; 3]) -> f64 {
        match self.state {
            PlaneState::PlaneStress => {
                -self.poissons_ratio / (1.0 - self.poissons_ratio) * (E[0] + E[1])
            }
            PlaneState::PlaneStrain => 0.0,
        }
    }

    /// Second Piola-Kirchhoff stress out of the plane (MPa).
    #[must_use]
    pub fn thickness_stress(&self, S: [f64; 3]) -> f64 {
        match self.state {
            PlaneState::PlaneStress => 0.0,
            PlaneState::PlaneStrain => self.poissons_ratio * (S[0] + S[1]),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strain_inverts_stress_in_both_states() {
        for state in [PlaneState::PlaneStress, PlaneState::PlaneStrain] {
            let law = Elastic::new(2050.0, 0.39, state).unwrap();
            let E = [0.013, -0.004, 0.021];
            let back = law.strain(law.stress(E));
            for i in 0..3 {
                assert!((back[i] - E[i]).abs() < 1e-16, "{state:?} {i}: {}", back[i]);
            }
        }
    }

    #[test]
    fn plane_stress_pulled_one_way_has_youngs_modulus_and_poissons_ratio() {
        let law = Elastic::new(1000.0, 0.3, PlaneState::PlaneStress).unwrap();
        let E = law.strain([10.0, 0.0, 0.0]);
        assert!((E[0] - 0.01).abs() < 1e-16 && (E[1] + 0.003).abs() < 1e-16, "{E:?}");
        assert!((law.thickness_strain(E) + 0.003).abs() < 1e-16, "both transverse directions");
    }

    #[test]
    fn impossible_constants_are_refused() {
        for (e, nu) in [(0.0, 0.3), (-1.0, 0.3), (f64::NAN, 0.3), (1.0, 0.5), (1.0, f64::NAN)] {
            assert!(Elastic::new(e, nu, PlaneState::PlaneStress).is_err(), "E {e}, nu {nu}");
        }
    }
}
