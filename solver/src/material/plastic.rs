//! J2 elastoplasticity in logarithmic strain with isotropic hardening.
//!
//! Elastic and plastic logarithmic strains add; the elastic one gives the conjugate stress by Hooke's
//! law, so that the return to the yield surface keeps the form it has for small strains:
//!
//! | symbol | meaning | shape |
//! |---|---|---|
//! | `e`, `T` | logarithmic strain and conjugate stress, see [`super::logarithmic`] | 3 |
//! | `p` | plastic part of `e`; out of the plane -2 p0 | 3 |
//! | `q` | von Mises stress of `T` (MPa) | |
//! | `alpha` | equivalent plastic strain | |
//! | `lambda` | increment of alpha over q (1/MPa) | |
//!
//! Yield: q <= y(alpha) = s0 + Q (1 - exp(-b alpha)) + H alpha. Flow: increments of p are
//! lambda dq2/dT / 2. Plane stress by the projected return of J. C. Simo and R. L. Taylor, "A return
//! mapping algorithm for plane stress elastoplasticity", IJNME 22 (1986); plane strain by the radial
//! return; the saturating curve after E. Voce (1948). Both in J. C. Simo, T. J. R. Hughes,
//! "Computational Inelasticity", ch. 3 (from memory). The equation for lambda falls monotonically.
#![expect(non_snake_case, reason = "symbols of the textbook")]

use super::{Elastic, PlaneState};
use crate::error::ModelError;
use crate::viscous::{Borne, Kept};

/// A yield stress that grows with equivalent plastic strain: s0 + Q (1 - exp(-b alpha)) + H alpha.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hardening {
    first: f64,
    gain: f64,
    rate: f64,
    slope: f64,
}

impl Hardening {
    /// `first` yield stress s0 (MPa), `gain` Q until saturation (MPa), `rate` b, and a lasting
    /// `slope` H (MPa). Gain, rate and slope may be zero: perfectly plastic.
    ///
    /// # Errors
    /// A first yield stress that is not positive; another number that is negative or not finite.
    pub fn new(first: f64, gain: f64, rate: f64, slope: f64) -> Result<Self, ModelError> {
        let what = |w: &str| format!("the {w} of the hardening curve");
        if !(first > 0.0 && first.is_finite()) {
            return Err(ModelError::NotPositive {
                what: what("first yield stress (MPa)"),
                value: first,
            });
        }
        for (word, value) in [("gain (MPa)", gain), ("rate", rate), ("slope (MPa)", slope)] {
            if !(value >= 0.0 && value.is_finite()) {
                return Err(ModelError::NotPositive { what: what(word), value });
            }
        }
        Ok(Self { first, gain, rate, slope })
    }

    /// Yield stress (MPa) at an equivalent plastic strain, and its slope (MPa).
    #[must_use]
    pub fn at(&self, alpha: f64) -> (f64, f64) {
        let left = (-self.rate * alpha).exp();
        let grown = -self.gain * (-self.rate * alpha).exp_m1();
        (self.first + grown + self.slope * alpha, self.gain * self.rate * left + self.slope)
    }
}

/// What a point of an elastoplastic solid remembers.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PlasticState {
    /// Plastic logarithmic strain: mean, half difference, shear in the plane.
    pub strain: [f64; 3],
    /// Equivalent plastic strain.
    pub equivalent: f64,
    /// Work done on plastic strain (mJ/mm3), hardening included.
    pub work: f64,
    /// Conjugate stress when this was stored (MPa): the trapezoid of the work begins there.
    stress: [f64; 3],
}

/// Outcome of a strain at a point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Returned {
    pub(crate) T: [f64; 3],
    pub(crate) D: [[f64; 3]; 3],
    /// Stored elastic energy (mJ/mm3).
    pub(crate) energy: f64,
    pub(crate) state: PlasticState,
}

/// The yield function must be met to this part of the yield stress: rounding of a few operations.
const ON_YIELD: f64 = 1e-13;
/// A state this little outside is still on the surface: the last step ended there, and the next may
/// unload (the yield stress itself is known to rounding only).
const STILL_ELASTIC: f64 = 1e-10;
const MOST_ITERATIONS: usize = 60;

/// The strain that the springs bear: deviatoric part, and mean strain of the plane where that is apart.
pub(super) fn borne(law: &Elastic, e: [f64; 3], state: &PlasticState) -> Borne {
    let (part, mean) = parts(law.state());
    let [a, b, c] = std::array::from_fn(|k| part[k] * e[k] - state.strain[k]);
    [a, b, c, mean * e[0]]
}

/// Energy of it (mJ/mm3).
pub(super) fn density(law: &Elastic, borne: &Borne) -> f64 {
    let surface = Surface::new(law, [0.0; 3], &PlasticState::default(), &Kept::NOTHING);
    let own: f64 = (0..3).map(|k| surface.share[k] * surface.moduli[k] * borne[k] * borne[k]).sum();
    0.5 * (own + surface.bulk * borne[3] * borne[3])
}

/// Deviatoric strain by strain, and the mean strain that is apart from it by the mean strain: in plane stress the
/// strain is taken as a whole.
fn parts(state: PlaneState) -> ([f64; 3], f64) {
    match state {
        PlaneState::PlaneStress => ([1.0; 3], 0.0),
        // The mean of the plane's deviator is a third of the mean strain, out of the plane it is the
        // opposite of the sum.
        PlaneState::PlaneStrain => ([1.0 / 3.0, 1.0, 1.0], 1.0),
    }
}

/// The return to the yield surface from a total logarithmic strain.
pub(crate) fn respond(
    law: &Elastic,
    hardening: &Hardening,
    e: [f64; 3],
    before: &PlasticState,
    kept: &Kept,
) -> Returned {
    let surface = Surface::new(law, e, before, kept);
    let (y, _) = hardening.at(before.equivalent);
    let (lambda, q) = if surface.q(0.0) <= y * (1.0 + STILL_ELASTIC) {
        (0.0, surface.q(0.0))
    } else {
        surface.lambda(hardening, before.equivalent)
    };
    let deviator = surface.deviator(lambda);
    let mut state = *before;
    let mut flow = [0.0; 3];
    for k in 0..3 {
        flow[k] = lambda * surface.flow[k] * deviator[k];
        state.strain[k] += flow[k];
    }
    state.equivalent += lambda * q;
    let mut T = deviator;
    T[0] += surface.pressure;
    for k in 0..3 {
        state.work += 0.5 * (before.stress[k] + deviator[k]) * flow[k] * surface.share[k];
    }
    state.stress = deviator;
    let D = surface.tangent(lambda, q, hardening.at(state.equivalent).1, &deviator);
    Returned { T, D, energy: surface.energy(&deviator), state }
}

/// The trial state, in which the deviator shrinks component by component as lambda grows.
struct Surface {
    /// Deviatoric stress without plastic flow in this step (MPa); in plane stress the whole stress.
    trial: [f64; 3],
    /// What returns to no flow: mean stress that yields nothing (MPa).
    pressure: f64,
    /// Component k shrinks by 1 + shrink lambda (MPa).
    shrink: [f64; 3],
    /// q^2 = sum of weight x component^2.
    weight: [f64; 3],
    /// Plastic strain increment = lambda x flow x component.
    flow: [f64; 3],
    /// Plastic work of component k by component: what flows out of the plane is counted with the mean.
    share: [f64; 3],
    /// Elastic moduli of the deviator by its own strain (MPa), and of the pressure by the mean strain.
    moduli: [f64; 3],
    bulk: f64,
    /// Mean strain that the pressure is of.
    mean: f64,
    /// Deviatoric strain by strain.
    part: [f64; 3],
}

impl Surface {
    fn new(law: &Elastic, e: [f64; 3], before: &PlasticState, kept: &Kept) -> Self {
        let (E, nu) = (kept.share * law.youngs_modulus(), law.poissons_ratio());
        let G = E / (2.0 * (1.0 + nu));
        let [a, b, c, mean] = borne(law, e, before);
        let elastic: [f64; 3] = std::array::from_fn(|k| [a, b, c][k] - kept.strain[k]);
        let mean = mean - kept.strain[3];
        let (part, _) = parts(law.state());
        let quarters = [0.75; 3];
        match law.state() {
            PlaneState::PlaneStress => {
                let moduli = [2.0 * E / (1.0 - nu), 4.0 * G, 4.0 * G];
                let weight = [0.25, 0.75, 0.75];
                Self {
                    trial: std::array::from_fn(|k| moduli[k] * elastic[k]),
                    pressure: 0.0,
                    shrink: std::array::from_fn(|k| moduli[k] * weight[k]),
                    weight,
                    flow: weight,
                    share: [1.0; 3],
                    moduli,
                    bulk: 0.0,
                    mean,
                    part,
                }
            }
            PlaneState::PlaneStrain => {
                let moduli = [4.0 * G; 3];
                let bulk = 4.0 * E / (3.0 * (1.0 - 2.0 * nu));
                Self {
                    trial: std::array::from_fn(|k| moduli[k] * elastic[k]),
                    pressure: bulk * mean,
                    shrink: [3.0 * G; 3],
                    weight: [2.25, 0.75, 0.75],
                    flow: quarters,
                    share: [3.0, 1.0, 1.0],
                    moduli,
                    bulk,
                    mean,
                    part,
                }
            }
        }
    }

    fn deviator(&self, lambda: f64) -> [f64; 3] {
        std::array::from_fn(|k| self.trial[k] / (1.0 + self.shrink[k] * lambda))
    }

    fn q(&self, lambda: f64) -> f64 {
        let s = self.deviator(lambda);
        (0..3).map(|k| self.weight[k] * s[k] * s[k]).sum::<f64>().sqrt()
    }

    /// dq/dlambda.
    fn q_slope(&self, lambda: f64) -> f64 {
        let s = self.deviator(lambda);
        let sum: f64 = (0..3)
            .map(|k| {
                self.weight[k] * s[k] * s[k] * self.shrink[k] / (1.0 + self.shrink[k] * lambda)
            })
            .sum();
        -sum / self.q(lambda)
    }

    /// The root of q - y(alpha + lambda q), by Newton's method kept inside a bracket.
    fn lambda(&self, hardening: &Hardening, alpha: f64) -> (f64, f64) {
        let (mut low, mut high) = (0.0, f64::INFINITY);
        let mut lambda = 0.0;
        for _ in 0..MOST_ITERATIONS {
            let q = self.q(lambda);
            let (y, h) = hardening.at(alpha + lambda * q);
            let miss = q - y;
            if miss.abs() <= ON_YIELD * y || miss.is_nan() {
                break;
            }
            if miss > 0.0 {
                low = lambda
            } else {
                high = lambda
            }
            let q1 = self.q_slope(lambda);
            let next = lambda - miss / (q1 - h * (q + lambda * q1));
            lambda = if next > low && next < high {
                next
            } else if high.is_finite() {
                0.5 * (low + high)
            } else {
                2.0 * low + 1.0 / self.shrink[1]
            };
        }
        (lambda, self.q(lambda))
    }

    /// Consistent tangent dT/de.
    fn tangent(&self, lambda: f64, q: f64, h: f64, s: &[f64; 3]) -> [[f64; 3]; 3] {
        // ds = X (part de) - N' dlambda, where X = moduli / (1 + shrink lambda) and N' = X flow s.
        let X: [f64; 3] = std::array::from_fn(|k| self.moduli[k] / (1.0 + self.shrink[k] * lambda));
        let N: [f64; 3] = std::array::from_fn(|k| X[k] * self.flow[k] * s[k]);
        let mut D = [[0.0; 3]; 3];
        for k in 0..3 {
            D[k][k] = X[k] * self.part[k];
        }
        D[0][0] += self.bulk;
        if lambda > 0.0 {
            // dq = sum weight s ds / q = h (q dlambda + lambda dq).
            let gain: [f64; 3] =
                std::array::from_fn(|k| self.weight[k] * s[k] * X[k] * self.part[k]);
            let own: f64 = (0..3).map(|k| self.weight[k] * s[k] * N[k]).sum();
            let below = own + h * q * q / (1.0 - h * lambda);
            for i in 0..3 {
                for j in 0..3 {
                    D[i][j] -= N[i] * gain[j] / below;
                }
            }
        }
        D
    }

    /// Elastic energy of a deviator and, in plane strain, the mean strain (mJ/mm3).
    fn energy(&self, s: &[f64; 3]) -> f64 {
        // In plane strain the deviator out of the plane, -s0, adds to the mean's own.
        let own: f64 = (0..3).map(|k| self.share[k] * s[k] * s[k] / self.moduli[k]).sum();
        0.5 * (own + self.bulk * self.mean * self.mean)
    }
}
