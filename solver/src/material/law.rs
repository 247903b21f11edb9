//! The closed set of laws behind one interface: strain and what the point remembers go in; stress,
//! tangent, energy and what it remembers next come out.
#![expect(non_snake_case, reason = "symbols of the textbook")]

use super::logarithmic::{LogStrain, green_lagrange_of};
use super::orthotropic::{Beads, Orthotropic};
use super::plastic::{self, Hardening, PlasticState};
use super::{Elastic, PlaneState};
use crate::viscous::{Borne, Kept};

/// How a solid answers a strain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// Linear between Green-Lagrange strain and second Piola-Kirchhoff stress.
    StVenantKirchhoff(Elastic),
    /// Linear between logarithmic strain and its conjugate, the Kirchhoff stress turned back: the
    /// stress of a bar is E ln(stretch), pulled as well as pressed. After H. Hencky (1928).
    Hencky(Elastic),
    /// Linear as the first one, stiffer along printed beads than across; plane stress.
    Orthotropic(Orthotropic, Beads),
    /// Hencky's law up to a yield stress that grows with plastic strain. Only
    /// [`crate::follow_stages`] remembers plastic strain from state to state; elsewhere every state is
    /// that of a part which comes from rest in one step.
    Elastoplastic(Elastic, Hardening),
}

impl From<Elastic> for Law {
    fn from(elastic: Elastic) -> Self {
        Self::StVenantKirchhoff(elastic)
    }
}

/// What a law answers at a point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Response {
    /// Second Piola-Kirchhoff stress (S11, S22, S12) (MPa).
    pub(crate) S: [f64; 3],
    /// dS/dE (MPa).
    pub(crate) D: [[f64; 3]; 3],
    /// Stored energy (mJ/mm3).
    pub(crate) energy: f64,
    /// What the point remembers if this strain becomes a converged state.
    pub(crate) state: PlasticState,
}

/// Conjugate stress by logarithmic strain, by the mean, half difference and shear: see the head of `logarithmic` (MPa).
fn conjugate_moduli(elastic: &Elastic) -> [f64; 3] {
    let [d, c, g] = elastic.moduli();
    [2.0 * (d + c), 2.0 * (d - c), 4.0 * g]
}

impl Law {
    /// The elastic constants of small strains; of beads those along them.
    #[must_use]
    pub fn elastic(&self) -> &Elastic {
        match self {
            Self::StVenantKirchhoff(e) | Self::Hencky(e) | Self::Elastoplastic(e, _) => e,
            Self::Orthotropic(beads, _) => beads.like(),
        }
    }

    /// Answer to a Green-Lagrange strain (E11, E22, 2 E12) at a point that remembers `before`, whose beads, if there
    /// are any, lie along the unit vector `bead`, and which keeps some strain without stress. The energy is the one
    /// whose slope the stress is.
    pub(crate) fn respond(
        &self,
        E: [f64; 3],
        bead: [f64; 2],
        before: &PlasticState,
        kept: &Kept,
    ) -> Response {
        let log = || LogStrain::of(E);
        let share = kept.share;
        // What is without stress is taken off; nothing is, of a solid that forgets nothing.
        let off = |e: [f64; 3]| -> [f64; 3] { std::array::from_fn(|k| e[k] - kept.strain[k]) };
        match self {
            Self::StVenantKirchhoff(elastic) => {
                let [d, c, g] = elastic.moduli().map(|m| share * m);
                let E = off(E);
                let S = elastic.stress(E).map(|s| share * s);
                let energy = 0.5 * (0..3).map(|i| S[i] * E[i]).sum::<f64>();
                Response { S, D: [[d, c, 0.0], [c, d, 0.0], [0.0, 0.0, g]], energy, state: *before }
            }
            Self::Orthotropic(orthotropic, _) => {
                let E = off(E);
                let (S, D) = orthotropic.respond(E, bead);
                let (S, D) = (S.map(|s| share * s), D.map(|row| row.map(|d| share * d)));
                let energy = 0.5 * (0..3).map(|i| S[i] * E[i]).sum::<f64>();
                Response { S, D, energy, state: *before }
            }
            Self::Hencky(elastic) => {
                let log = log();
                let e = off(log.e);
                let moduli = conjugate_moduli(elastic).map(|m| share * m);
                let T: [f64; 3] = std::array::from_fn(|k| moduli[k] * e[k]);
                let mut tangent = [[0.0; 3]; 3];
                for k in 0..3 {
                    tangent[k][k] = moduli[k];
                }
                let (S, D) = log.pull_back(T, &tangent);
                let energy = 0.5 * (0..3).map(|k| T[k] * e[k]).sum::<f64>();
                Response { S, D, energy, state: *before }
            }
            Self::Elastoplastic(elastic, hardening) => {
                let log = log();
                let returned = plastic::respond(elastic, hardening, log.e, before, kept);
                let (S, D) = log.pull_back(returned.T, &returned.D);
                Response { S, D, energy: returned.energy, state: returned.state }
            }
        }
    }

    /// The strain that the springs bear at a Green-Lagrange strain, in the measure in which the law is linear: that
    /// strain itself, or the logarithmic one less the plastic one; in plane strain deviator and mean are apart.
    pub(crate) fn borne(&self, E: [f64; 3], state: &PlasticState) -> Borne {
        match self {
            Self::StVenantKirchhoff(_) | Self::Orthotropic(..) => [E[0], E[1], E[2], 0.0],
            Self::Hencky(_) => {
                let [m, d, w] = LogStrain::of(E).e;
                [m, d, w, 0.0]
            }
            Self::Elastoplastic(elastic, _) => plastic::borne(elastic, LogStrain::of(E).e, state),
        }
    }

    /// Energy of a strain that the springs bear (mJ/mm3).
    pub(crate) fn density(&self, borne: &Borne, bead: [f64; 2]) -> f64 {
        let strain = [borne[0], borne[1], borne[2]];
        let twice: f64 = match self {
            Self::StVenantKirchhoff(elastic) => {
                elastic.stress(strain).iter().zip(strain).map(|(s, e)| s * e).sum()
            }
            Self::Orthotropic(orthotropic, _) => {
                orthotropic.respond(strain, bead).0.iter().zip(strain).map(|(s, e)| s * e).sum()
            }
            Self::Hencky(elastic) => {
                conjugate_moduli(elastic).iter().zip(strain).map(|(m, e)| m * e * e).sum()
            }
            Self::Elastoplastic(elastic, _) => 2.0 * plastic::density(elastic, borne),
        };
        0.5 * twice
    }

    /// Cauchy stresses of a Green-Lagrange strain without plastic strain: the principal ones of the
    /// plane, the larger first, and the one out of the plane (MPa); and the principal stretches of
    /// the plane.
    pub(crate) fn true_stress(&self, E: [f64; 3], bead: [f64; 2]) -> ([f64; 3], [f64; 2]) {
        let [first, second] = principal(E);
        let elastic = self.elastic();
        match self {
            Self::StVenantKirchhoff(_) => {
                let third = elastic.thickness_strain([first, second, 0.0]);
                let stress = elastic.stress([first, second, 0.0]);
                let pk = [stress[0], stress[1], elastic.thickness_stress(stress)];
                let stretch = [first, second, third].map(|e| (1.0 + 2.0 * e).sqrt());
                let volume = stretch[0] * stretch[1] * stretch[2];
                let cauchy = std::array::from_fn(|i| pk[i] * stretch[i] * stretch[i] / volume);
                (cauchy, [stretch[0], stretch[1]])
            }
            Self::Hencky(_) | Self::Elastoplastic(..) => {
                let plane = [first, second].map(|e| 0.5 * (2.0 * e).ln_1p());
                let strain = [plane[0], plane[1], 0.0];
                let kirchhoff = elastic.stress(strain);
                let third = elastic.thickness_strain(strain);
                let volume = (plane[0] + plane[1] + third).exp();
                let all = [kirchhoff[0], kirchhoff[1], elastic.thickness_stress(kirchhoff)];
                (all.map(|t| t / volume), plane.map(f64::exp))
            }
            Self::Orthotropic(beads, _) => {
                // Stress and strain have different axes: sigma = U S U / J, turned by nothing.
                let (S, _) = beads.respond(E, bead);
                let stretch = [first, second].map(|e| (1.0 + 2.0 * e).sqrt());
                let plane = stretch[0] * stretch[1];
                let sum = stretch[0] + stretch[1];
                // U = (C + sqrt(det C) I) / tr U.
                let U = [
                    (1.0 + 2.0 * E[0] + plane) / sum,
                    (1.0 + 2.0 * E[1] + plane) / sum,
                    E[2] / sum,
                ];
                let third = (1.0 + 2.0 * beads.thickness_strain(S, bead)).sqrt();
                let row = [
                    [U[0] * S[0] + U[2] * S[2], U[0] * S[2] + U[2] * S[1]],
                    [U[2] * S[0] + U[1] * S[2], U[2] * S[2] + U[1] * S[1]],
                ];
                let volume = plane * third;
                let sigma = [
                    (row[0][0] * U[0] + row[0][1] * U[2]) / volume,
                    (row[1][0] * U[2] + row[1][1] * U[1]) / volume,
                    2.0 * (row[0][0] * U[2] + row[0][1] * U[1]) / volume,
                ];
                let [a, b] = principal(sigma);
                ([a, b, 0.0], stretch)
            }
        }
    }

    /// Green-Lagrange strain of a strip that is pulled along a free edge's unit tangent, by the strain
    /// along it, without plastic strain.
    pub(crate) fn edge_strain(
        &self,
        tangential: f64,
        tangent: [f64; 2],
        bead: [f64; 2],
    ) -> [f64; 3] {
        let elastic = self.elastic();
        let across = match self {
            // S = S_tt T T', so E follows from the law's inverse in the edge's own frame.
            Self::StVenantKirchhoff(_) => {
                elastic.strain([elastic.edge_modulus() * tangential, 0.0, 0.0])[1]
            }
            Self::Hencky(_) | Self::Elastoplastic(..) => {
                let nu = elastic.poissons_ratio();
                let ratio = match elastic.state() {
                    PlaneState::PlaneStress => nu,
                    PlaneState::PlaneStrain => nu / (1.0 - nu),
                };
                green_lagrange_of(-ratio * 0.5 * (2.0 * tangential).ln_1p())
            }
            Self::Orthotropic(beads, _) => return beads.edge_strain(tangential, tangent, bead),
        };
        let [c, s] = tangent;
        [
            tangential * c * c + across * s * s,
            tangential * s * s + across * c * c,
            2.0 * (tangential - across) * c * s,
        ]
    }
}

/// Principal values of a plane tensor (11, 22, twice 12), the larger first.
fn principal([xx, yy, twice_xy]: [f64; 3]) -> [f64; 2] {
    let mean = 0.5 * (xx + yy);
    let radius = (0.5 * (xx - yy)).hypot(0.5 * twice_xy);
    [mean + radius, mean - radius]
}

#[cfg(test)]
mod tests;
