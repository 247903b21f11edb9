//! Bending tests of slender strips at any deflection: what force belongs to what deflection.
//!
//! Inextensible, rigid in shear, linear between moment and curvature (the elastica). Lengths are by a: the half
//! span of a strip on two rollers, the length of a cantilever. Forces are P a^2 / EI.
//!
//! Both are quadratures of the first integral of EI psi'' = (lever of the force) (R. Frisch-Fay, Flexible Bars;
//! S. Timoshenko and J. M. Gere, Theory of Elastic Stability, art. 2.7; both from memory).

use std::f64::consts::FRAC_PI_2;

/// How a strip is tested.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BendingTest {
    /// On two rollers, pushed in the middle; it may slide over them, and they push at right angles to it.
    ThreePoint,
    /// Clamped at one end; a force of fixed direction at the other.
    Cantilever,
}

/// A bent strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bent {
    /// Deflection where it is pushed, by a.
    pub deflection: f64,
    /// P a^2 / EI.
    pub force: f64,
    /// Largest curvature, times a.
    pub curvature: f64,
}

/// Pieces of Simpson's rule; the integrands are smooth, so that they are exact to 1e-10.
const PIECES: u32 = 400;
/// Halvings of the slope until a deflection is met.
const HALVINGS: usize = 60;

impl BendingTest {
    /// Deflection by a up to which it is followed: on rollers a strip is pushed through not much later, and a
    /// cantilever that far bent has little left to tell.
    #[must_use]
    pub fn most(self) -> f64 {
        match self {
            Self::ThreePoint => 0.4,
            Self::Cantilever => 0.8,
        }
    }

    /// The state at a deflection by a, from 0 to [`Self::most`]; none beyond.
    #[must_use]
    pub fn at(self, deflection: f64) -> Option<Bent> {
        if !(0.0..=self.most()).contains(&deflection) {
            return None;
        }
        let of_slope = match self {
            Self::ThreePoint => on_rollers,
            Self::Cantilever => cantilever,
        };
        // The deflection grows with the slope all the way.
        let (mut low, mut high) = (0.0, FRAC_PI_2 * (1.0 - 1e-9));
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if of_slope(middle).deflection < deflection {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(of_slope(0.5 * (low + high)))
    }

    /// P a^3 / (EI deflection) while the deflection is small: 6 on rollers, 3 of a cantilever.
    #[must_use]
    pub fn stiffness(self) -> f64 {
        match self {
            Self::ThreePoint => 6.0,
            Self::Cantilever => 3.0,
        }
    }
}

/// By the slope at the rollers. Seen along the tangent there, the roller's force R is crosswise, so that
/// psi'^2 / 2 = (R/EI) sin psi: xi = sqrt(2 sin psi) and eta = integral sqrt(sin psi / 2) in units of sqrt(EI/R).
fn on_rollers(slope: f64) -> Bent {
    if slope <= 0.0 {
        return Bent { deflection: 0.0, force: 0.0, curvature: 0.0 };
    }
    let (s, c) = slope.sin_cos();
    let xi = (2.0 * s).sqrt();
    // With psi = w^2 the integrand has no root at its end.
    let eta = simpson(slope.sqrt(), |w| 2.0 * w * (0.5 * (w * w).sin()).sqrt());
    let half_span = xi * c + eta * s;
    Bent {
        deflection: (xi * s - eta * c) / half_span,
        force: 2.0 * c * half_span * half_span,
        curvature: half_span * (2.0 * s).sqrt(),
    }
}

/// By the slope at the tip: sin psi = sin slope (1 - u^2) makes ds = sqrt(2 sin slope) du / cos psi in units of
/// sqrt(EI/P).
fn cantilever(slope: f64) -> Bent {
    if slope <= 0.0 {
        return Bent { deflection: 0.0, force: 0.0, curvature: 0.0 };
    }
    let sine = slope.sin();
    let root = (2.0 * sine).sqrt();
    let of = |u: f64| {
        let s = sine * (1.0 - u * u);
        (s, root / (1.0 - s * s).sqrt())
    };
    let length = simpson(1.0, |u| of(u).1);
    let deflection = simpson(1.0, |u| {
        let (s, ds) = of(u);
        s * ds
    });
    Bent { deflection: deflection / length, force: length * length, curvature: root * length }
}

/// Simpson's rule from 0.
fn simpson(end: f64, f: impl Fn(f64) -> f64) -> f64 {
    let h = end / f64::from(PIECES);
    let inner: f64 =
        (1..PIECES).map(|k| f(h * f64::from(k)) * if k % 2 == 1 { 4.0 } else { 2.0 }).sum();
    h / 3.0 * (f(0.0) + inner + f(end))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_deflections_are_those_of_the_handbook() {
        // P L^3 / 48 EI with L = 2 a, P L^3 / 3 EI: to the square of the deflection.
        for test in [BendingTest::ThreePoint, BendingTest::Cantilever] {
            let bent = test.at(1e-4).unwrap();
            assert!((bent.force / (test.stiffness() * 1e-4) - 1.0).abs() < 1e-6, "{bent:?}");
            assert!((bent.deflection - 1e-4).abs() < 1e-15);
        }
        // Curvature in the middle: P L / 4 EI, that is P a / 2 EI.
        let bent = BendingTest::ThreePoint.at(1e-4).unwrap();
        assert!((bent.curvature / (0.5 * bent.force) - 1.0).abs() < 1e-6);
        assert!(BendingTest::ThreePoint.at(0.6).is_none());
        assert!(BendingTest::ThreePoint.at(f64::NAN).is_none());
    }

    #[test]
    fn forces_grow_to_the_last_deflection() {
        for test in [BendingTest::ThreePoint, BendingTest::Cantilever] {
            let forces: Vec<f64> = (0..=20)
                .map(|k| test.at(test.most() * f64::from(k) / 20.0).unwrap().force)
                .collect();
            assert!(forces.windows(2).all(|w| w[1] > w[0]), "{test:?}: {forces:?}");
        }
    }
}
