//! The closed set of laws behind one interface: strain and what the point remembers go in; stress,
//! tangent, energy and what it remembers next come out.
#![expect(non_snake_case, reason = "symbols of the textbook")]

use super::logarithmic::{LogStrain, green_lagrange_of};
use super::plastic::{self, Hardening, PlasticState};
use super::{Elastic, PlaneState};

/// How a solid answers a strain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// Linear between Green-Lagrange strain and second Piola-Kirchhoff stress.
    StVenantKirchhoff(Elastic),
    /// Linear between logarithmic strain and its conjugate, the Kirchhoff stress turned back: the
    /// stress of a bar is E ln(stretch), pulled as well as pressed. After H. Hencky (1928).
    Hencky(Elastic),
    /// Hencky's law up to a yield stress that grows with plastic strain.
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

impl Law {
    /// The elastic constants of small strains.
    #[must_use]
    pub fn elastic(&self) -> &Elastic {
        match self {
            Self::StVenantKirchhoff(e) | Self::Hencky(e) | Self::Elastoplastic(e, _) => e,
        }
    }

    /// The law of the same solid while it does not yield.
    #[must_use]
    pub fn without_yield(&self) -> Self {
        match *self {
            Self::Elastoplastic(elastic, _) => Self::Hencky(elastic),
            law => law,
        }
    }

    /// Answer to a Green-Lagrange strain (E11, E22, 2 E12) at a point that remembers `before`.
    pub(crate) fn respond(&self, E: [f64; 3], before: &PlasticState) -> Response {
        let log = || LogStrain::of(E);
        match self {
            Self::StVenantKirchhoff(elastic) => {
                let [d, c, g] = elastic.moduli();
                let S = elastic.stress(E);
                let energy = 0.5 * (0..3).map(|i| S[i] * E[i]).sum::<f64>();
                Response { S, D: [[d, c, 0.0], [c, d, 0.0], [0.0, 0.0, g]], energy, state: *before }
            }
            Self::Hencky(elastic) => {
                let log = log();
                let [d, c, g] = elastic.moduli();
                // By the mean, half difference and shear: see the head of `logarithmic`.
                let moduli = [2.0 * (d + c), 2.0 * (d - c), 4.0 * g];
                let T: [f64; 3] = std::array::from_fn(|k| moduli[k] * log.e[k]);
                let mut tangent = [[0.0; 3]; 3];
                for k in 0..3 {
                    tangent[k][k] = moduli[k];
                }
                let (S, D) = log.pull_back(T, &tangent);
                let energy = 0.5 * (0..3).map(|k| T[k] * log.e[k]).sum::<f64>();
                Response { S, D, energy, state: *before }
            }
            Self::Elastoplastic(elastic, hardening) => {
                let log = log();
                let returned = plastic::respond(elastic, hardening, log.e, before);
                let (S, D) = log.pull_back(returned.T, &returned.D);
                Response { S, D, energy: returned.energy, state: returned.state }
            }
        }
    }

    /// Principal Cauchy stresses of principal Green-Lagrange strains, the third one out of the plane,
    /// and the stretches, without plastic strain.
    #[must_use]
    pub fn principal_stress(&self, first: f64, second: f64) -> ([f64; 3], [f64; 3]) {
        let elastic = self.elastic();
        match self {
            Self::StVenantKirchhoff(_) => {
                let third = elastic.thickness_strain([first, second, 0.0]);
                let stress = elastic.stress([first, second, 0.0]);
                let pk = [stress[0], stress[1], elastic.thickness_stress(stress)];
                let stretch = [first, second, third].map(|e| (1.0 + 2.0 * e).sqrt());
                let volume = stretch[0] * stretch[1] * stretch[2];
                (std::array::from_fn(|i| pk[i] * stretch[i] * stretch[i] / volume), stretch)
            }
            Self::Hencky(_) | Self::Elastoplastic(..) => {
                let plane = [first, second].map(|e| 0.5 * (2.0 * e).ln_1p());
                let strain = [plane[0], plane[1], 0.0];
                let kirchhoff = elastic.stress(strain);
                let third = elastic.thickness_strain(strain);
                let volume = (plane[0] + plane[1] + third).exp();
                let all = [kirchhoff[0], kirchhoff[1], elastic.thickness_stress(kirchhoff)];
                (all.map(|t| t / volume), [plane[0], plane[1], third].map(f64::exp))
            }
        }
    }

    /// Green-Lagrange strain (along, across) of a strip that is pulled along a free edge by a
    /// tangential strain, without plastic strain.
    #[must_use]
    pub fn uniaxial(&self, tangential: f64) -> [f64; 2] {
        let elastic = self.elastic();
        match self {
            Self::StVenantKirchhoff(_) => {
                // S = S_tt T T', so E follows from the law's inverse in the edge's own frame.
                let strain = elastic.strain([elastic.edge_modulus() * tangential, 0.0, 0.0]);
                [strain[0], strain[1]]
            }
            Self::Hencky(_) | Self::Elastoplastic(..) => {
                let along = 0.5 * (2.0 * tangential).ln_1p();
                let nu = elastic.poissons_ratio();
                let ratio = match elastic.state() {
                    PlaneState::PlaneStress => nu,
                    PlaneState::PlaneStrain => nu / (1.0 - nu),
                };
                [tangential, green_lagrange_of(-ratio * along)]
            }
        }
    }
}

#[cfg(test)]
mod tests;
