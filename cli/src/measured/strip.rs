//! A bending test of a printed strip: its modulus, at any deflection.
//!
//! ISO 178 takes E = L^3 / (4 b h^3) times the slope of force by deflection between surface strains of 0.05 and 0.25 %
//! (deflection = strain L^2 / 6 h). The whole curve tells more, if it is held against that of a strip at large
//! deflection: force = E I / a^2 g(deflection / a), g from [`BendingTest`].

use super::pull::{Computed, PROPORTIONAL, Pull, reconcile};
use withy_mesh::number::{largest, max};
use withy_solver::SmoothCurve;
use withy_solver::bending_test::BendingTest;

/// A strip and how it is bent.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// How.
    pub test: BendingTest,
    /// Between the rollers, or from the clamp to the force (mm).
    pub span: f64,
    /// Across the bending (mm).
    pub width: f64,
    /// In its direction (mm).
    pub thickness: f64,
}

/// What a test gives.
#[derive(Clone, Debug)]
pub struct Tested {
    /// Modulus (MPa) and half its interval of confidence.
    pub modulus: f64,
    /// MPa.
    pub half_width: f64,
    /// Between 0.05 and 0.25 % of surface strain only, if there are readings on both sides of each (MPa).
    pub chord: Option<f64>,
    /// The modulus that the small-deflection formula would give for the last reading (MPa).
    pub of_formula: f64,
    /// Surface strain at the last reading.
    pub largest_strain: f64,
    /// The fit; its scale is the modulus by [`UNIT`].
    pub pull: Pull,
}

/// The modulus of the curve that is fitted (MPa); the fit is linear in it, so that any would do.
pub const UNIT: f64 = 1000.0;
/// Pieces of the curve, by deflection.
const PIECES: u32 = 200;

impl Strip {
    /// The half span or the length.
    fn a(&self) -> f64 {
        match self.test {
            BendingTest::ThreePoint => 0.5 * self.span,
            BendingTest::Cantilever => self.span,
        }
    }

    /// Largest deflection that is followed (mm).
    #[must_use]
    pub fn most(&self) -> f64 {
        self.test.most() * self.a()
    }

    /// EI by the modulus (mm4).
    fn second_moment(&self) -> f64 {
        self.width * self.thickness.powi(3) / 12.0
    }

    /// Surface strain at a deflection.
    #[must_use]
    pub fn strain(&self, deflection: f64) -> Option<f64> {
        let bent = self.test.at(deflection / self.a())?;
        Some(0.5 * self.thickness * bent.curvature / self.a())
    }

    /// Force by deflection for a modulus of [`UNIT`], up to a deflection.
    fn curve(&self, end: f64) -> Option<SmoothCurve> {
        let a = self.a();
        let unit = UNIT * self.second_moment() / (a * a);
        let (mut x, mut y) = (Vec::new(), Vec::new());
        for k in 0..=PIECES {
            let deflection = end * f64::from(k) / f64::from(PIECES);
            x.push(deflection);
            y.push(unit * self.test.at(deflection / a)?.force);
        }
        SmoothCurve::through(x, y)
    }

    /// The modulus of readings of deflection and force; `yield_strength` tells where they may leave the straight
    /// line. None if they are too few, go too far or tell nothing.
    #[must_use]
    pub fn modulus(
        &self,
        deflections: &[f64],
        forces: &[f64],
        yield_strength: Option<f64>,
    ) -> Option<Tested> {
        let end = largest(0.0, deflections.iter().copied());
        let force = self.curve(end)?;
        let plain = Computed { force, proportional: None };
        // Where a strip yields depends on its modulus, which a first fit tells.
        let first = reconcile(&plain, deflections, forces)?;
        let proportional = yield_strength.and_then(|strength| {
            let limit = PROPORTIONAL * strength / (first.scale * UNIT);
            let steps = (1..=PIECES).map(|k| end * f64::from(k) / f64::from(PIECES));
            let mut beyond = steps.filter(|x| self.strain(*x).is_some_and(|e| e > limit));
            beyond.next()
        });
        // The clamp of the scale in `reconcile` is about the computed part's modulus: here it is the fitted one.
        let scaled = Computed { force: plain.force.times(first.scale), proportional };
        let mut pull = reconcile(&scaled, deflections, forces)?;
        pull.scale *= first.scale;
        pull.half_width *= first.scale;
        let last = deflections.iter().position(|x| *x >= end)?;
        let formula = self.test.stiffness() * self.second_moment() / self.a().powi(3);
        Some(Tested {
            modulus: UNIT * pull.scale,
            half_width: UNIT * pull.half_width,
            chord: self.chord(deflections, forces),
            of_formula: forces[last] / (formula * deflections[last]),
            largest_strain: self.strain(end)?,
            pull,
        })
    }

    /// ISO 178's chord.
    fn chord(&self, deflections: &[f64], forces: &[f64]) -> Option<f64> {
        let per_strain = match self.test {
            BendingTest::ThreePoint => self.span * self.span / (6.0 * self.thickness),
            // Root strain 3 h v / 2 L^2.
            BendingTest::Cantilever => 2.0 * self.span * self.span / (3.0 * self.thickness),
        };
        let mut sorted: Vec<[f64; 2]> =
            deflections.iter().zip(forces).map(|(x, f)| [*x, *f]).collect();
        sorted.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let at = |x: f64| {
            let pair = sorted.windows(2).find(|w| w[0][0] <= x && x <= w[1][0])?;
            let [[x0, f0], [x1, f1]] = [pair[0], pair[1]];
            Some(f0 + (f1 - f0) * (x - x0) / max(x1 - x0, f64::MIN_POSITIVE))
        };
        let [low, high] = [5e-4, 2.5e-3].map(|strain| strain * per_strain);
        let slope = (at(high)? - at(low)?) / (high - low);
        Some(slope * self.a().powi(3) / (self.test.stiffness() * self.second_moment()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measured::pull::Shape;

    fn iso() -> Strip {
        Strip { test: BendingTest::ThreePoint, span: 64.0, width: 10.0, thickness: 4.0 }
    }

    #[test]
    fn the_standard_bar_gives_the_modulus_of_its_formula() {
        // ISO 178: E = L^3 / (4 b h^3) dF/ds = 102.4 / mm times the slope; 20 N/mm is 2048 MPa by hand.
        let s: Vec<f64> = (1..=20).map(|k| 0.08 * f64::from(k)).collect();
        let f: Vec<f64> = s.iter().map(|s| 20.0 * s).collect();
        let tested = iso().modulus(&s, &f, None).unwrap();
        assert!((tested.chord.unwrap() - 2048.0).abs() < 1e-6, "{tested:?}");
        assert!((tested.of_formula - 2048.0).abs() < 1e-6);
        // 1.6 mm of 64 are nearly small: the elastica is a little softer.
        assert!((tested.modulus / 2048.0 - 1.0).abs() < 0.01, "{tested:?}");
    }

    #[test]
    fn large_deflections_give_the_modulus_that_made_them() {
        let strips = [
            Strip { thickness: 1.2, ..iso() },
            Strip { test: BendingTest::Cantilever, span: 60.0, width: 8.0, thickness: 1.2 },
        ];
        for strip in strips {
            let x: Vec<f64> = (1..=10).map(|k| 0.08 * f64::from(k) * strip.most()).collect();
            let a = strip.a();
            let unit = 1830.0 * strip.second_moment() / (a * a);
            let f: Vec<f64> =
                x.iter().map(|x| unit * strip.test.at(x / a).unwrap().force).collect();
            let tested = strip.modulus(&x, &f, Some(50.0)).unwrap();
            assert!((tested.modulus / 1830.0 - 1.0).abs() < 1e-4, "{tested:?}");
            let off = tested.of_formula / 1830.0 - 1.0;
            assert!(off.abs() > 0.03, "the formula is off by {off}");
            assert!(matches!(tested.pull.shape, Shape::AsComputed), "{tested:?}");
        }
    }
}
