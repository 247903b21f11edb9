//! A solid of printed beads: stiff along them, softer across, in plane stress.
//!
//! Linear between Green-Lagrange strain and second Piola-Kirchhoff stress in the axes of the beads, 1
//! along and 2 across: E11 = S11 / E1 - nu12 S22 / E1, E22 = -nu12 S11 / E1 + S22 / E2,
//! 2 E12 = S12 / G12. Out of the plane E33 = -nu12 S11 / E1 - nu12 S22 / E2: how a bead thins when it
//! is pulled across is taken as when it is pulled along, which only the true stress depends on.
//!
//! Source: R. M. Jones, "Mechanics of Composite Materials", ch. 2 (from memory).
#![expect(non_snake_case, reason = "symbols of the textbook")]

use super::{Elastic, PlaneState};
use crate::error::ModelError;
use withy_mesh::tree::BoxTree;
use withy_mesh::{Mesh, Point, Rect};

/// Four constants of a sheet of parallel beads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Orthotropic {
    along: f64,
    across: f64,
    ratio: f64,
    shear: f64,
    /// Isotropic constants of the same size.
    like: Elastic,
}

/// Where the beads lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Beads {
    /// All of them at this angle to x (rad).
    At(f64),
    /// Along the nearest place of the outline, as perimeters are printed.
    AlongOutline,
}

impl Orthotropic {
    /// Young's moduli `along` and `across` the beads, shear modulus (MPa), and Poisson's `ratio` of a
    /// pull along the beads.
    ///
    /// # Errors
    /// A modulus that is not positive and finite; a ratio outside -1 < nu < 0.5 or so large that
    /// the solid would not be stable: nu^2 must stay below `along` / `across`.
    pub fn new(along: f64, across: f64, ratio: f64, shear: f64) -> Result<Self, ModelError> {
        let like = Elastic::new(along, ratio, PlaneState::PlaneStress)?;
        for (what, value) in [("the modulus across", across), ("the shear modulus", shear)] {
            if !(value > 0.0 && value.is_finite()) {
                return Err(ModelError::NotPositive { what: format!("{what} (MPa)"), value });
            }
        }
        if ratio * ratio >= along / across {
            return Err(ModelError::PoissonsRatio { value: ratio });
        }
        Ok(Self { along, across, ratio, shear, like })
    }

    /// Isotropic constants of the same size: those along the beads.
    #[must_use]
    pub fn like(&self) -> &Elastic {
        &self.like
    }

    /// Tangent in the axes of the beads.
    fn moduli(&self) -> [[f64; 3]; 3] {
        let minor = self.ratio * self.across / self.along;
        let below = 1.0 - self.ratio * minor;
        let [a, b, c] = [self.along / below, self.across / below, minor * self.along / below];
        [[a, c, 0.0], [c, b, 0.0], [0.0, 0.0, self.shear]]
    }

    /// Stress (S11, S22, S12) (MPa) and tangent of a strain (E11, E22, 2 E12), beads along a unit vector.
    pub(crate) fn respond(&self, E: [f64; 3], bead: [f64; 2]) -> ([f64; 3], [[f64; 3]; 3]) {
        let T = to_beads(bead);
        let Q = self.moduli();
        let D: [[f64; 3]; 3] = std::array::from_fn(|i| {
            std::array::from_fn(|j| {
                let terms = (0..9).map(|k| T[k / 3][i] * Q[k / 3][k % 3] * T[k % 3][j]);
                terms.sum()
            })
        });
        let S = D.map(|row| (0..3).map(|j| row[j] * E[j]).sum());
        (S, D)
    }

    /// Strain (E11, E22, 2 E12) of a strip that is pulled along a unit tangent, by the strain along it.
    pub(crate) fn edge_strain(&self, along: f64, tangent: [f64; 2], bead: [f64; 2]) -> [f64; 3] {
        let [c, s] = tangent;
        // A unit stress along the tangent, in the axes of the beads.
        let [u, v] = [c * bead[0] + s * bead[1], s * bead[0] - c * bead[1]];
        let stress = [u * u, v * v, u * v];
        let strain = [
            stress[0] / self.along - self.ratio * stress[1] / self.along,
            stress[1] / self.across - self.ratio * stress[0] / self.along,
            stress[2] / self.shear,
        ];
        // Back from the axes of the beads: turned by the opposite angle.
        let back = to_beads([bead[0], -bead[1]]);
        let unit: [f64; 3] = std::array::from_fn(|i| (0..3).map(|j| back[i][j] * strain[j]).sum());
        let own = unit[0] * c * c + unit[1] * s * s + unit[2] * c * s;
        unit.map(|e| e * along / own)
    }

    /// Green-Lagrange strain out of the plane of a stress (S11, S22, S12).
    pub(crate) fn thickness_strain(&self, S: [f64; 3], bead: [f64; 2]) -> f64 {
        let [c, s] = bead;
        let first = S[0] * c * c + S[1] * s * s + 2.0 * S[2] * c * s;
        let second = S[0] + S[1] - first;
        -self.ratio * (first / self.along + second / self.across)
    }
}

/// Strains (E11, E22, 2 E12) in axes turned to the beads.
fn to_beads([c, s]: [f64; 2]) -> [[f64; 3]; 3] {
    [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2.0 * c * s, 2.0 * c * s, c * c - s * s]]
}

/// Unit vector along the beads at places of a mesh at rest.
pub(crate) fn directions(mesh: &Mesh, beads: Beads, places: &[[f64; 2]]) -> Vec<[f64; 2]> {
    match beads {
        Beads::At(angle) => vec![[angle.cos(), angle.sin()]; places.len()],
        Beads::AlongOutline => {
            let edges = mesh.boundary();
            let boxes: Vec<Rect> = edges
                .iter()
                .map(|e| {
                    let [a, b, c] = e.nodes.map(|n| mesh.nodes()[n.index()]);
                    Rect::from_points(a, b).union_pt(c)
                })
                .collect();
            let tree = BoxTree::new(&boxes);
            let tangent = |p: &[f64; 2]| {
                let p = Point::new(p[0], p[1]);
                let nearest = |e: usize| mesh.curve(&edges[e]).nearest(p);
                let found = tree.least(p, 1.0, f64::INFINITY, |e| nearest(e).1);
                // Without an outline there would be no mesh.
                found.1.map_or([1.0, 0.0], |e| {
                    let d = mesh.curve(&edges[e]).derivative(nearest(e).0).normalize();
                    [d.x, d.y]
                })
            };
            places.iter().map(tangent).collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn petg() -> Orthotropic {
        Orthotropic::new(2050.0, 1500.0, 0.39, 560.0).unwrap()
    }

    /// Jones: 1/Ex = c^4/E1 + (1/G12 - 2 nu12/E1) c^2 s^2 + s^4/E2, and the shear that a pull makes.
    #[test]
    fn a_strip_cut_aslant_has_its_modulus_and_shears() {
        for degrees in [0.0, 15.0, 30.0, 45.0, 70.0, 90.0_f64] {
            let (s, c) = degrees.to_radians().sin_cos();
            let law = petg();
            let strain = law.edge_strain(0.01, [1.0, 0.0], [c, s]);
            let (stress, _) = law.respond(strain, [c, s]);
            let middle = 1.0 / 560.0 - 2.0 * 0.39 / 2050.0;
            let exact = 1.0 / (c.powi(4) / 2050.0 + middle * c * c * s * s + s.powi(4) / 1500.0);
            assert!((stress[0] / 0.01 / exact - 1.0).abs() <= 1e-13, "{degrees}: {stress:?}");
            assert!(stress[1].abs() <= 1e-12 && stress[2].abs() <= 1e-12, "alone: {stress:?}");
            let shear = (2.0 / 2050.0 + 2.0 * 0.39 / 2050.0 - 1.0 / 560.0) * s * c.powi(3)
                - (2.0 / 1500.0 + 2.0 * 0.39 / 2050.0 - 1.0 / 560.0) * c * s.powi(3);
            let found = strain[2] / stress[0];
            assert!((found - shear).abs() <= 1e-15, "{degrees}: {found} {shear}");
        }
    }

    #[test]
    fn the_tangent_is_symmetric_and_that_of_an_isotropic_solid_is_no_matter_of_direction() {
        let (_, D) = petg().respond([0.01, -0.02, 0.03], [0.6, 0.8]);
        for i in 0..3 {
            for j in 0..3 {
                assert!((D[i][j] - D[j][i]).abs() <= 1e-12, "{D:?}");
            }
        }
        let E = 2050.0;
        let same = Orthotropic::new(E, E, 0.39, E / (2.0 * 1.39)).unwrap();
        let strain = [0.01, -0.02, 0.03];
        let (stress, _) = same.respond(strain, [0.6, 0.8]);
        for (a, b) in stress.into_iter().zip(same.like().stress(strain)) {
            assert!((a - b).abs() <= 1e-12, "{a} {b}");
        }
        let across = same.thickness_strain(stress, [0.6, 0.8]);
        assert!((across - same.like().thickness_strain(strain)).abs() <= 1e-15, "{across}");
    }

    #[test]
    fn a_solid_that_would_not_be_stable_is_refused() {
        assert!(Orthotropic::new(100.0, 1500.0, 0.39, 560.0).is_err(), "0.39^2 > 100/1500");
        assert!(Orthotropic::new(2050.0, f64::NAN, 0.39, 560.0).is_err(), "NaN");
        assert!(Orthotropic::new(2050.0, 1500.0, 0.39, 0.0).is_err(), "no shear modulus");
    }
}
