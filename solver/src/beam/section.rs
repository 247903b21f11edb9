//! Stiffnesses of a cross section, linear between section forces and the strains of the axis.
//!
//! N = EA e, Q = kGA g, M = EI k. For a rectangle, A = b h and I = b h^3 / 12; the shear factor of a
//! rectangle is k = (10 + 10 nu) / (12 + 11 nu) (G. R. Cowper, "The shear coefficient in Timoshenko's
//! beam theory", J. Appl. Mech. 33 (1966) 335-340, from memory), 5/6 for nu = 0.

use crate::error::ModelError;
use crate::material::Elastic;

/// A cross section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    pub(super) axial: f64,
    pub(super) shear: f64,
    pub(super) bending: f64,
    pub(super) half_width: f64,
}

impl Section {
    /// A section of given stiffnesses EA (N), kGA (N), EI (N mm2), and width in the plane (mm).
    ///
    /// # Errors
    /// One of them is not positive and finite.
    pub fn new(axial: f64, shear: f64, bending: f64, width: f64) -> Result<Self, ModelError> {
        for (what, value) in [
            ("the axial stiffness (N)", axial),
            ("the shear stiffness (N)", shear),
            ("the bending stiffness (N mm2)", bending),
            ("the width (mm)", width),
        ] {
            if !(value > 0.0 && value.is_finite()) {
                return Err(ModelError::NotPositive { what: what.into(), value });
            }
        }
        Ok(Self { axial, shear, bending, half_width: 0.5 * width })
    }

    /// A rectangle of a width in the plane and a depth out of it (mm).
    ///
    /// # Errors
    /// A side that is not positive and finite.
    pub fn rectangle(law: &Elastic, width: f64, depth: f64) -> Result<Self, ModelError> {
        let (e, nu) = (law.edge_modulus(), law.poissons_ratio());
        let area = width * depth;
        let shear_modulus = law.youngs_modulus() / (2.0 * (1.0 + nu));
        let factor = (10.0 + 10.0 * nu) / (12.0 + 11.0 * nu);
        let inertia = area * width * width / 12.0;
        Self::new(e * area, factor * shear_modulus * area, e * inertia, width)
    }

    /// EA (N).
    #[must_use]
    pub fn axial(&self) -> f64 {
        self.axial
    }

    /// kGA (N).
    #[must_use]
    pub fn shear(&self) -> f64 {
        self.shear
    }

    /// EI (N mm2).
    #[must_use]
    pub fn bending(&self) -> f64 {
        self.bending
    }

    /// Width in the plane (mm).
    #[must_use]
    pub fn width(&self) -> f64 {
        2.0 * self.half_width
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::PlaneState;

    #[test]
    fn a_rectangle_has_the_textbook_stiffnesses() {
        let law = Elastic::new(2000.0, 0.35, PlaneState::PlaneStress).unwrap();
        let s = Section::rectangle(&law, 2.0, 5.0).unwrap();
        // Cowper's factor for nu = 0.35: 13.5 / 15.85 = 0.851735.
        assert!((s.axial() - 20_000.0).abs() < 1e-9, "EA {}", s.axial());
        assert!((s.bending() - 2000.0 * 5.0 * 8.0 / 12.0).abs() < 1e-9, "EI {}", s.bending());
        let expected = 0.851_735 * 2000.0 / 2.7 * 10.0;
        assert!((s.shear() / expected - 1.0).abs() < 1e-6, "kGA {}", s.shear());
    }

    #[test]
    fn a_section_without_size_is_refused() {
        for (axial, width) in [(0.0, 1.0), (1.0, -1.0), (f64::NAN, 1.0), (1.0, f64::INFINITY)] {
            let refused = Section::new(axial, 1.0, 1.0, width);
            assert!(matches!(refused, Err(ModelError::NotPositive { .. })), "{axial}, {width}");
        }
    }
}
