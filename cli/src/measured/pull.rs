//! A measured pull against the computed curve: modulus, zero of the draw, and what shape is left.
//!
//! F(x) = scale C(x - zero), C the computed force along the draw. The scale is that of the modulus, because forces
//! at the same draw go with it; a scale read off by hand rarely begins where the part does, hence the zero.

use super::fit::{Fit, fit};
use withy_solver::SmoothCurve;

/// Intervals hold with this probability.
pub const CONFIDENCE: f64 = 0.95;
/// A trend is called one only at this probability, and if it is worth telling.
const SURE: f64 = 0.99;
const WORTH_TELLING: f64 = 0.02;
/// Readings that a fit of its own needs.
const ENOUGH: usize = 4;
/// Polymers leave the straight line at about this share of the yield strength (common practice, no source).
pub const PROPORTIONAL: f64 = 0.6;

/// What is computed.
#[derive(Clone, Debug)]
pub struct Computed {
    /// Force by draw, rest first (N by mm; N mm by degrees).
    pub force: SmoothCurve,
    /// Draw at which the hot spot passes the limit of proportionality with the card's modulus, if within it.
    pub proportional: Option<f64>,
}

/// What the fit leaves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// Nothing but scatter.
    AsComputed,
    /// From this draw on the measured force falls below the computed one, by so much at the end.
    Softens {
        /// Draw (mm or degrees).
        from: f64,
        /// Measured by fitted, less one.
        at_end: f64,
    },
    /// All along, the measured curve rises more (above 0) or less (below) than the computed one: share at full
    /// draw.
    Bends {
        /// Of the force.
        at_end: f64,
    },
    /// Too few readings to tell.
    Unknown,
}

/// A pull reconciled.
#[derive(Clone, Debug)]
pub struct Pull {
    /// Measured by computed force, which is that of the moduli.
    pub scale: f64,
    /// Half its interval of confidence.
    pub half_width: f64,
    /// Draw by the readings at which the part begins to resist; 0 if the readings do not tell otherwise.
    pub zero: f64,
    /// Half its interval; 0 if it is not fitted.
    pub zero_half_width: f64,
    /// Standard deviation of the readings about the fit (N).
    pub scatter: f64,
    /// Readings that the scale rests on.
    pub used: usize,
    /// Readings beyond the computed draw, which are left out.
    pub beyond: usize,
    /// What is left.
    pub shape: Shape,
}

impl Computed {
    /// Force and its slope; straight on before rest.
    fn at(&self, x: f64) -> (f64, f64) {
        if x < 0.0 {
            let slope = self.force.slope_at(0.0);
            (slope * x, slope)
        } else {
            (self.force.at(x), self.force.slope_at(x))
        }
    }
}

/// Fits a pull: draws and forces. None if the readings within the computed draw are too few or tell nothing.
#[must_use]
pub fn reconcile(computed: &Computed, draws: &[f64], forces: &[f64]) -> Option<Pull> {
    let end = computed.force.places().last().copied()?;
    let within: Vec<[f64; 2]> = draws
        .iter()
        .zip(forces)
        .map(|(x, f)| [*x, *f])
        .filter(|[x, _]| *x <= end * (1.0 + 1e-9))
        .collect();
    let beyond = draws.len() - within.len();
    let all = scaled(computed, &within)?;
    let (mut used, mut shape) = (within.clone(), Shape::Unknown);
    let mut found = all.clone();
    // Proportionality is a stress, so that a softer part passes it later.
    let end_for = |fitted: &Scaled| {
        computed.proportional.map_or(f64::INFINITY, |x| x / fitted.0.value[0].clamp(0.5, 2.0))
    };
    let split = |end: f64| -> (Vec<[f64; 2]>, Vec<[f64; 2]>) {
        within.iter().partition(|[x, _]| *x <= end)
    };
    // What has softened pulls the scale of all down: the limit is that of the readings below a first one.
    let below = scaled(computed, &split(end_for(&all)).0);
    let elastic_end = end_for(below.as_ref().unwrap_or(&all));
    let (elastic, rest) = split(elastic_end);
    if elastic.len() > ENOUGH
        && rest.len() >= 2
        && let Some(own) = scaled(computed, &elastic)
        && let Some(fall) = fall(computed, &own, &rest)
        && !bends(computed, &elastic, &own).is_some_and(|b| b.abs() > WORTH_TELLING)
    {
        (used, found) = (elastic, own);
        shape = Shape::Softens { from: elastic_end, at_end: fall };
    } else if within.len() > ENOUGH {
        shape = match bends(computed, &within, &all) {
            Some(at_end) => Shape::Bends { at_end },
            None => Shape::AsComputed,
        };
    }
    let (fit, zero) = found;
    Some(Pull {
        scale: fit.value[0],
        half_width: fit.half_width(0, CONFIDENCE),
        zero: zero.map_or(0.0, |(value, _)| value),
        zero_half_width: zero.map_or(0.0, |(_, half)| half),
        scatter: fit.scatter,
        used: used.len(),
        beyond,
        shape,
    })
}

/// The scale, and with it the zero and half its interval if the readings tell it from 0.
type Scaled = (Fit<1>, Option<(f64, f64)>);

fn scaled(computed: &Computed, readings: &[[f64; 2]]) -> Option<Scaled> {
    let forces: Vec<f64> = readings.iter().map(|r| r[1]).collect();
    let plain = fit(&forces, [1.0], |k, p: &[f64; 1]| {
        let (c, _) = computed.at(readings[k][0]);
        (p[0] * c, [c])
    })?;
    if readings.len() < ENOUGH {
        return Some((plain, None));
    }
    let both = fit(&forces, [plain.value[0], 0.0], |k, p: &[f64; 2]| {
        let (c, slope) = computed.at(readings[k][0] - p[1]);
        (p[0] * c, [c, -p[0] * slope])
    });
    Some(match both {
        Some(both) if both.differs(1, 0.0, CONFIDENCE) => {
            let zero = (both.value[1], both.half_width(1, CONFIDENCE));
            let Fit { value, error, residuals, scatter } = both;
            // The widths of both are those of two fitted numbers: one freedom less is told by a wider error.
            let freedom = residuals.len() - 2;
            let widened = error[0] * super::fit::quantile(freedom, CONFIDENCE)
                / super::fit::quantile(freedom + 1, CONFIDENCE);
            (Fit { value: [value[0]], error: [widened], residuals, scatter }, Some(zero))
        }
        _ => (plain, None),
    })
}

/// Share of the force at the last reading that is missing against a fit of earlier ones, if it surely is and is
/// worth telling.
fn fall(computed: &Computed, fitted: &Scaled, rest: &[[f64; 2]]) -> Option<f64> {
    let (fit, zero) = fitted;
    let zero = zero.map_or(0.0, |(value, _)| value);
    let shares: Vec<f64> =
        rest.iter().map(|[x, f]| f / (fit.value[0] * computed.at(x - zero).0) - 1.0).collect();
    let last = *shares.last()?;
    let mean = shares.iter().sum::<f64>() / shares.len() as f64;
    let [x, _] = *rest.last()?;
    let force = fit.value[0] * computed.at(x - zero).0;
    let noise = fit.scatter / force * (1.0 / shares.len() as f64).sqrt()
        + fit.half_width(0, SURE) / fit.value[0];
    (last < -WORTH_TELLING && mean < -noise).then_some(last)
}

/// Share at full draw by which the readings bend away from the computed curve, if they surely do:
/// scale C(x - zero) (1 + bend x / full).
fn bends(computed: &Computed, readings: &[[f64; 2]], fitted: &Scaled) -> Option<f64> {
    let end = computed.force.places().last().copied()?;
    let forces: Vec<f64> = readings.iter().map(|r| r[1]).collect();
    let zero = fitted.1.map_or(0.0, |(value, _)| value);
    let found = if fitted.1.is_some() {
        let three = fit(&forces, [fitted.0.value[0], zero, 0.0], |k, p: &[f64; 3]| {
            let x = readings[k][0];
            let (c, slope) = computed.at(x - p[1]);
            let grown = 1.0 + p[2] * x / end;
            (p[0] * c * grown, [c * grown, -p[0] * slope * grown, p[0] * c * x / end])
        })?;
        three.differs(2, 0.0, SURE).then_some(three.value[2])
    } else {
        let two = fit(&forces, [fitted.0.value[0], 0.0], |k, p: &[f64; 2]| {
            let x = readings[k][0];
            let (c, _) = computed.at(x);
            let grown = 1.0 + p[1] * x / end;
            (p[0] * c * grown, [c * grown, p[0] * c * x / end])
        })?;
        two.differs(1, 0.0, SURE).then_some(two.value[1])
    };
    found.filter(|bend| bend.abs() > WORTH_TELLING)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stiffening spring: 5 x + 0.2 x^3, proportional up to 4.
    fn computed() -> Computed {
        let x: Vec<f64> = (0..=20).map(|k| 0.3 * f64::from(k)).collect();
        let y = x.iter().map(|x| 5.0 * x + 0.2 * x.powi(3)).collect();
        let slope = x.iter().map(|x| 5.0 + 0.6 * x * x).collect();
        let force = SmoothCurve::with_slopes(x, y, slope).unwrap();
        Computed { force, proportional: Some(4.0) }
    }

    /// Reproducible scatter of about unit size.
    fn noise(k: usize) -> f64 {
        let x = (k as f64 * 12.9898).sin() * 43758.5453;
        2.0 * (x - x.floor()) - 1.0
    }

    fn readings(of: impl Fn(f64) -> f64, amplitude: f64) -> (Vec<f64>, Vec<f64>) {
        let x: Vec<f64> = (1..=12).map(|k| 0.5 * f64::from(k)).collect();
        let f = x.iter().enumerate().map(|(k, x)| of(*x) + amplitude * noise(k)).collect();
        (x, f)
    }

    fn spring(x: f64) -> f64 {
        5.0 * x + 0.2 * x.powi(3)
    }

    #[test]
    fn modulus_and_zero_are_recovered_within_the_noise() {
        let (x, f) = readings(|x| 0.9 * spring(x), 0.2);
        let pull = reconcile(&computed(), &x, &f).unwrap();
        assert!((pull.scale - 0.9).abs() < pull.half_width, "{pull:?}");
        assert!(pull.half_width < 0.01, "and not by a wide interval: {pull:?}");
        assert_eq!((pull.shape, pull.zero), (Shape::AsComputed, 0.0));
        let (x, f) = readings(|x| 1.2 * spring(x - 0.3), 0.1);
        let pull = reconcile(&computed(), &x, &f).unwrap();
        assert!((pull.zero - 0.3).abs() < pull.zero_half_width && pull.zero_half_width < 0.1);
        assert!((pull.scale - 1.2).abs() < pull.half_width, "{pull:?}");
    }

    #[test]
    fn an_interval_holds_as_often_as_it_says() {
        // 95 % of 400 fits: 380, give or take 4 standard deviations of 4.4.
        let mut held = 0;
        for run in 0..400_usize {
            let x: Vec<f64> = (1..=6).map(f64::from).collect();
            let f: Vec<f64> = x
                .iter()
                .enumerate()
                .map(|(k, x)| {
                    // A sum of twelve uniform numbers is nearly normal.
                    let sum: f64 = (0..12).map(|i| noise(1000 * run + 20 * k + i)).sum();
                    spring(*x) + 0.5 * 0.5 * sum
                })
                .collect();
            let forces = f.clone();
            let one = fit(&forces, [1.0], |k, p: &[f64; 1]| (p[0] * spring(x[k]), [spring(x[k])]));
            let one = one.unwrap();
            held += usize::from((one.value[0] - 1.0).abs() < one.half_width(0, CONFIDENCE));
        }
        assert!((362..=398).contains(&held), "{held}");
    }

    #[test]
    fn yielding_and_geometry_are_told_apart() {
        // Beyond 4 mm it softens: 3 % of the force for each mm.
        let soft = |x: f64| spring(x) * if x > 4.0 { 1.0 - 0.05 * (x - 4.0) } else { 1.0 };
        let (x, f) = readings(soft, 0.02);
        let pull = reconcile(&computed(), &x, &f).unwrap();
        let Shape::Softens { from, at_end } = pull.shape else { panic!("{pull:?}") };
        assert!((from - 4.0).abs() < 0.1 && (at_end + 0.1).abs() < 0.02, "{pull:?}");
        assert!(
            (pull.scale - 1.0).abs() < 0.01,
            "the modulus is that of the elastic part: {pull:?}"
        );
        // Another shape all along: softer at first, stiffer later.
        let (x, f) = readings(|x| 4.0 * x + 0.3 * x.powi(3), 0.02);
        let pull = reconcile(&computed(), &x, &f).unwrap();
        assert!(matches!(pull.shape, Shape::Bends { at_end } if at_end > 0.1), "{pull:?}");
    }

    #[test]
    fn readings_beyond_the_computed_draw_are_left_out() {
        let (x, f) = ([1.0, 2.0, 3.0, 9.0], [5.2, 11.6, 20.4, 500.0]);
        let pull = reconcile(&computed(), &x, &f).unwrap();
        assert_eq!((pull.beyond, pull.used), (1, 3));
        assert!((pull.scale - 1.0).abs() < 1e-6);
        assert!(reconcile(&computed(), &[1.0], &[5.0]).is_none(), "one reading has no scatter");
    }
}
