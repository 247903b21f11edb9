//! Measured speeds against the computed launch: what share of the energy is lost.
//!
//! Without losses the projectile would have the energy E_0; with them it has (1 - loss) E_0, friction apart. So each
//! shot tells a loss of its own, 1 - (v / v_0)^2, and their mean and scatter tell the part's.

use super::fit::{fit, quantile};
use super::pull::CONFIDENCE;
use withy_solver::release::{Shot, USUAL_PIECES, WayBack, release};

/// One shot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// Of the projectile (g).
    pub mass: f64,
    /// Of the projectile (m/s).
    pub speed: f64,
    /// From which it was let go, if not from full draw (mm).
    pub draw: Option<f64>,
}

/// What the speeds say.
#[derive(Clone, Debug, PartialEq)]
pub struct Losses {
    /// Share of the released energy.
    pub loss: f64,
    /// Half its interval of confidence from the scatter of the shots; infinite for a single one.
    pub half_width: f64,
    /// What the meters' own uncertainty adds to it: dE/E = 2 dv/v + dm/m, as a share of the energy.
    pub of_meters: f64,
    /// By how much the loss grows for each doubling of the mass, if it surely does.
    pub trend: Option<f64>,
    /// Each shot's speed without losses (m/s).
    pub lossless: Vec<f64>,
}

/// Uncertainty of the meters, as shares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meters {
    /// Of a speed.
    pub speed: f64,
    /// Of a mass.
    pub mass: f64,
}

/// Fits the losses of shots; None if one cannot come about by the computed launch.
#[must_use]
pub fn losses(way: &WayBack, shot: &Shot, shots: &[Measured], meters: Meters) -> Option<Losses> {
    let mut lossless = Vec::new();
    for one in shots {
        let free = Shot { mass: one.mass, losses: 0.0, ..*shot };
        let shorter = match one.draw {
            Some(draw) => Some(way.from_draw(draw)?),
            None => None,
        };
        lossless.push(release(shorter.as_ref().unwrap_or(way), &free, USUAL_PIECES).ok()?.speed);
    }
    let each: Vec<f64> =
        shots.iter().zip(&lossless).map(|(one, free)| 1.0 - (one.speed / free).powi(2)).collect();
    let count = each.len() as f64;
    let loss = each.iter().sum::<f64>() / count;
    let squares: f64 = each.iter().map(|e| (e - loss).powi(2)).sum();
    let half_width = if each.len() > 1 {
        quantile(each.len() - 1, CONFIDENCE) * (squares / (count - 1.0) / count).sqrt()
    } else {
        f64::INFINITY
    };
    let trend = fit(&each, [loss, 0.0], |k, p: &[f64; 2]| {
        let doublings = (shots[k].mass / shots[0].mass).log2();
        (p[0] + p[1] * doublings, [1.0, doublings])
    });
    let trend = trend.filter(|t| t.differs(1, 0.0, CONFIDENCE)).map(|t| t.value[1]);
    let of_meters = (1.0 - loss) * (2.0 * meters.speed + meters.mass);
    Some(Losses { loss, half_width, of_meters, trend, lossless })
}

#[cfg(test)]
mod tests {
    use super::*;
    use withy_solver::SmoothCurve;

    /// 2 N/mm, 10 mm, 3 g on the carriage: 100 mJ.
    fn way() -> WayBack {
        let x: Vec<f64> = (0..=10).map(f64::from).collect();
        let energy = x.iter().map(|x| x * x).collect();
        let force = x.iter().map(|x| 2.0 * x).collect();
        let mass = SmoothCurve::through(x.clone(), vec![3.0; 11]).unwrap();
        WayBack::straight(SmoothCurve::with_slopes(x, energy, force).unwrap(), mass).unwrap()
    }

    const SHOT: Shot = Shot { mass: 1.0, losses: 0.1, friction: 0.0, stop: 0.0 };

    #[test]
    fn the_losses_of_exact_speeds_are_found() {
        // (m + 3) v^2 / 2 = 0.8 * 100 mJ, by hand.
        let shots: Vec<Measured> = [2.0, 5.0, 9.0]
            .map(|mass: f64| Measured { mass, speed: (160.0 / (mass + 3.0)).sqrt(), draw: None })
            .to_vec();
        let found = losses(&way(), &SHOT, &shots, Meters { speed: 0.01, mass: 0.002 }).unwrap();
        assert!((found.loss - 0.2).abs() < 1e-9, "{found:?}");
        assert!(found.half_width < 1e-8 && found.trend.is_none());
        // Half the draw stores a quarter of the energy.
        let half = Measured { mass: 5.0, speed: (0.25 * 160.0 / 8.0_f64).sqrt(), draw: Some(5.0) };
        let found_half = losses(&way(), &SHOT, &[half], Meters { speed: 0.0, mass: 0.0 }).unwrap();
        assert!((found_half.loss - 0.2).abs() < 1e-6, "{found_half:?}");
        // dE/E = 2 dv/v + dm/m = 2.2 %, of the 80 % that are left.
        assert!((found.of_meters - 0.8 * 0.022).abs() < 1e-9);
    }

    #[test]
    fn a_loss_that_grows_with_the_mass_is_told() {
        let shots: Vec<Measured> = [(2.0, 0.10), (4.0, 0.151), (8.0, 0.199), (16.0, 0.25)]
            .map(|(mass, loss): (f64, f64)| Measured {
                mass,
                speed: (200.0 * (1.0 - loss) / (mass + 3.0)).sqrt(),
                draw: None,
            })
            .to_vec();
        let found = losses(&way(), &SHOT, &shots, Meters { speed: 0.0, mass: 0.0 }).unwrap();
        assert!((found.trend.unwrap() - 0.05).abs() < 2e-3, "{found:?}");
        let one = losses(&way(), &SHOT, &shots[..1], Meters { speed: 0.01, mass: 0.0 }).unwrap();
        assert!(one.half_width.is_infinite() && one.trend.is_none());
    }
}
