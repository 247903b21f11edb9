//! The way back of a drawn spring: energy, effective mass and momentum by its draw, from solved states.
//!
//! M(x) = integral rho t |du/dx|^2 dA / |dc/dx|^2, with u the displacements and c the carriage's
//! centroid; the derivatives by the draw x are those of quartics through neighbouring states. See
//! [`crate::release`] for what is made of it.

use crate::curve::{SmoothCurve, stencil};
use crate::mass::ConsistentMass;

/// A spring's way back, by its draw, rest first.
#[derive(Clone, Debug, PartialEq)]
pub struct WayBack {
    /// Stored energy (mJ).
    pub energy: SmoothCurve,
    /// Effective mass at the carriage (g).
    pub effective_mass: SmoothCurve,
    /// Way of the carriage by draw, 1 where it goes straight (mm/mm).
    pub rate: SmoothCurve,
    /// Way of the carriage from rest (mm).
    pub length: SmoothCurve,
    /// Direction of the carriage's way with growing draw, x and y.
    pub direction: [SmoothCurve; 2],
    /// Momentum of the part with growing draw by carriage speed, x and y (g).
    pub momentum: [SmoothCurve; 2],
    /// Mass of what moves as one with the carriage at rest (g).
    pub carriage_mass: f64,
}

/// States of a path, as a release needs them: rest first, draws increasing.
#[derive(Clone, Debug)]
pub struct DrawnStates<'a> {
    /// Draw (mm).
    pub draw: Vec<f64>,
    /// Stored energy (mJ).
    pub energy: Vec<f64>,
    /// Force along the draw, the slope of the energy (N).
    pub force: Vec<f64>,
    /// Shift of the carriage's centroid (mm).
    pub carriage: Vec<[f64; 2]>,
    /// Displacement of each mesh node (mm).
    pub displacements: Vec<&'a [[f64; 2]]>,
}

/// States that the derivative by the draw is taken from: a quartic through the nearest five.
const STENCIL: usize = 5;
/// What moves with the carriage within this share of its speed counts as a part of it.
const WITH_CARRIAGE: f64 = 0.01;

impl WayBack {
    /// The way back along solved states; `None` if there are fewer than two, draws do not increase, or
    /// the carriage stands still somewhere.
    #[must_use]
    pub fn new(states: &DrawnStates, mass: &ConsistentMass) -> Option<Self> {
        let x = &states.draw;
        let count = x.len();
        let lengths = [
            states.energy.len(),
            states.force.len(),
            states.carriage.len(),
            states.displacements.len(),
        ];
        if count < 2 || lengths.iter().any(|n| *n != count) || !x.windows(2).all(|w| w[1] > w[0]) {
            return None;
        }
        let mut lists: [Vec<f64>; 6] = Default::default();
        let mut carriage_mass = 0.0;
        for i in 0..count {
            let weights = stencil(x, i, STENCIL);
            let mut velocity = vec![[0.0; 2]; states.displacements[i].len()];
            let mut carriage = [0.0; 2];
            for &(k, w) in &weights {
                for (v, u) in velocity.iter_mut().zip(states.displacements[k]) {
                    v[0] += w * u[0];
                    v[1] += w * u[1];
                }
                for j in 0..2 {
                    carriage[j] += w * states.carriage[k][j];
                }
            }
            let rate = carriage[0].hypot(carriage[1]);
            if rate.is_nan() || rate <= 0.0 {
                return None;
            }
            if i == 0 {
                carriage_mass = mass.moving_with(&velocity, carriage, WITH_CARRIAGE);
            }
            let momentum = mass.momentum(&velocity);
            let values = [
                mass.square(&velocity) / (rate * rate),
                rate,
                carriage[0] / rate,
                carriage[1] / rate,
                momentum[0] / rate,
                momentum[1] / rate,
            ];
            for (list, value) in lists.iter_mut().zip(values) {
                list.push(value);
            }
        }
        let mut length = vec![0.0];
        for i in 1..count {
            let rates = lists[1][i - 1] + lists[1][i];
            length.push(length[i - 1] + 0.5 * rates * (x[i] - x[i - 1]));
        }
        let [effective_mass, rate, dx, dy, px, py] = lists;
        let curve = |y| SmoothCurve::through(x.clone(), y);
        Some(Self {
            energy: SmoothCurve::with_slopes(
                x.clone(),
                states.energy.clone(),
                states.force.clone(),
            )?,
            effective_mass: curve(effective_mass)?,
            length: SmoothCurve::with_slopes(x.clone(), length, rate.clone())?,
            rate: curve(rate)?,
            direction: [curve(dx)?, curve(dy)?],
            momentum: [curve(px)?, curve(py)?],
            carriage_mass,
        })
    }

    /// A carriage that goes straight along y, with given energy and effective mass by draw; the mass
    /// moves as one with the carriage.
    #[must_use]
    pub fn straight(energy: SmoothCurve, effective_mass: SmoothCurve) -> Option<Self> {
        let x = energy.places().to_vec();
        let constant = |v: f64| SmoothCurve::through(x.clone(), vec![v; x.len()]);
        Some(Self {
            rate: constant(1.0)?,
            length: SmoothCurve::with_slopes(x.clone(), x.clone(), vec![1.0; x.len()])?,
            direction: [constant(0.0)?, constant(1.0)?],
            momentum: [constant(0.0)?, effective_mass.clone()],
            carriage_mass: effective_mass.at(0.0),
            energy,
            effective_mass,
        })
    }

    /// The same part of another stiffness and density, as factors: shapes stay.
    #[must_use]
    pub fn scaled(&self, stiffness: f64, density: f64) -> Self {
        Self {
            energy: self.energy.times(stiffness),
            effective_mass: self.effective_mass.times(density),
            carriage_mass: density * self.carriage_mass,
            momentum: [self.momentum[0].times(density), self.momentum[1].times(density)],
            ..self.clone()
        }
    }

    /// The way back from a shorter draw (mm); `None` if it is not within the solved one.
    #[must_use]
    pub fn from_draw(&self, draw: f64) -> Option<Self> {
        let pair =
            |curves: &[SmoothCurve; 2]| Some([curves[0].until(draw)?, curves[1].until(draw)?]);
        Some(Self {
            energy: self.energy.until(draw)?,
            effective_mass: self.effective_mass.until(draw)?,
            rate: self.rate.until(draw)?,
            length: self.length.until(draw)?,
            direction: pair(&self.direction)?,
            momentum: pair(&self.momentum)?,
            carriage_mass: self.carriage_mass,
        })
    }

    /// How heavy what moves as one, with a projectile of a mass (g), is against what bends and could ring.
    ///
    /// Against all modes of uniform beams in time, guided or free to turn at their end, speeds are
    /// within 0.5 % from 3 on and within 3 % from 1.5 on; below, a projectile may be let go early and caught again.
    #[must_use]
    pub fn heaviness(&self, projectile: f64) -> f64 {
        let bending = self.effective_mass.at(0.0) - self.carriage_mass;
        if bending > 0.0 { (projectile + self.carriage_mass) / bending } else { f64::INFINITY }
    }

    /// The full draw (mm).
    #[must_use]
    pub fn full(&self) -> f64 {
        let places = self.energy.places();
        places[places.len() - 1]
    }
}
