//! Release: how fast a drawn spring throws what rides on its carriage.
//!
//! One coordinate is left, the draw x, and the spring runs back along the states of its solved path.
//! Its velocity field is that of the path, so that its kinetic energy at carriage speed v is M(x) v^2 / 2
//! with the effective mass
//!
//! M(x) = integral rho t |du/dx|^2 dA / |dc/dx|^2, c the carriage's centroid
//!
//! (Rayleigh's method with the static shape: Lord Rayleigh, The Theory of Sound, vol. 1, art. 88 to 89;
//! R. D. Blevins, Formulas for Natural Frequency and Mode Shape; both from memory). The work that is not
//! lost accelerates both:
//!
//! (m + M(x)) v^2 / 2 = W(x) = (1 - losses) (E(full) - E(x)) - friction s(x),
//!
//! s the way that the carriage has gone. The projectile is pushed, never pulled: it leaves where the
//! carriage ceases to accelerate, at the first maximum of v, or where the carriage meets its stop.
//!
//! A carriage whose way curves is taken as guided along it, with the projectile on it.
//!
//! What the reduction leaves out: vibration of ribs about the path, waves, air, spin and rolling of the
//! projectile, gravity, and the rate dependence of the material.

pub use crate::way_back::{DrawnStates, WayBack};

use thiserror::Error;
use withy_mesh::number::{largest, max};

/// What is thrown, and what is lost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shot {
    /// Mass of the projectile (g).
    pub mass: f64,
    /// Share of the released energy that is lost.
    pub losses: f64,
    /// Friction against the carriage (N).
    pub friction: f64,
    /// Draw at which the carriage meets its stop (mm); 0 at rest.
    pub stop: f64,
}

/// One moment of the way back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Draw (mm).
    pub draw: f64,
    /// Since the release (ms).
    pub time: f64,
    /// Of carriage and projectile (m/s).
    pub speed: f64,
    /// Still stored (mJ).
    pub spring_energy: f64,
    /// Of the projectile (mJ).
    pub projectile_energy: f64,
    /// Kinetic energy of the part (mJ).
    pub moving_energy: f64,
}

/// What a release does.
#[derive(Clone, Debug, PartialEq)]
pub struct Release {
    /// From the release to the launch.
    pub moments: Vec<Moment>,
    /// Speed of the projectile (m/s).
    pub speed: f64,
    /// Its energy (mJ).
    pub energy: f64,
    /// Its energy by the energy stored at full draw.
    pub efficiency: f64,
    /// From the release to the launch (ms).
    pub time: f64,
    /// Draw at which it leaves (mm).
    pub launched_at: f64,
    /// Still stored when it leaves (mJ).
    pub energy_left: f64,
    /// Kinetic energy of the part when it leaves, which the stop takes (mJ).
    pub moving_energy: f64,
    /// Lost on the way (mJ).
    pub lost: f64,
    /// Effective mass of the part when it leaves (g).
    pub effective_mass: f64,
    /// Highest speed of the carriage, also after the launch (m/s).
    pub peak_carriage_speed: f64,
    /// Momentum given to the frame and what holds it, against the throw (mN s).
    pub recoil: [f64; 2],
    /// Momentum of the part when the projectile leaves, which its stop takes (mN s).
    pub stop_impulse: [f64; 2],
    /// Largest force on what holds the frame on the way (N).
    pub frame_force: f64,
}

/// Why nothing is thrown.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum NoLaunch {
    /// The spring does not overcome friction, or pulls the other way.
    #[error("at {draw:.3} mm the spring no longer drives the carriage on: it stays there")]
    Stalls {
        /// Where (mm).
        draw: f64,
    },
    /// The stop is not on the way.
    #[error("the stop, at {stop} mm, is not between rest and the full draw of {full} mm")]
    StopOffTheWay {
        /// The stop (mm).
        stop: f64,
        /// The full draw (mm).
        full: f64,
    },
}

/// Moments on the way. The draw goes with the square of the moment's number, so that the time from
/// standstill is a smooth integrand; with two Gauss points a piece the time is exact to 1e-9 (see the
/// tests).
pub const USUAL_PIECES: usize = 200;
/// A speed is past its maximum when it has fallen by this share; less is rounding.
const PAST: f64 = 1e-10;
/// Golden-section steps to the maximum between neighbouring moments: 0.618^40 = 4e-9 of their distance.
const GOLDEN_STEPS: usize = 40;

/// Runs a spring back and finds what it throws, in so many pieces of the way.
///
/// # Errors
/// [`NoLaunch`] if the carriage does not get to its stop, or has none on its way.
pub fn release(path: &WayBack, shot: &Shot, pieces: usize) -> Result<Release, NoLaunch> {
    let full = path.full();
    if !(shot.stop >= 0.0 && shot.stop < full) {
        return Err(NoLaunch::StopOffTheWay { stop: shot.stop, full });
    }
    let run = Run { path, shot, full };
    let way = full - shot.stop;
    // Number of a moment, in 0..=1, to its draw.
    let place = |tau: f64| full - way * tau * tau;
    let end = run.leaves(&place, pieces)?;
    let mut moments = vec![run.moment(full, 0.0)?];
    let mut time = 0.0;
    let mut momenta = vec![[0.0; 2]];
    for n in 0..pieces {
        let at = |s: f64| end * (n as f64 + s) / pieces as f64;
        for (s, weight) in crate::quadrature::EDGE_DEGREE_3 {
            let tau = at(s);
            let x = place(tau);
            let dt = path.rate.at(x) * 2.0 * way * tau / run.speed(x)?;
            time += weight * dt * end / pieces as f64;
        }
        let moment = run.moment(place(at(1.0)), time)?;
        momenta.push(run.momentum(&moment));
        moments.push(moment);
    }
    let last = moments[moments.len() - 1];
    let stored = path.energy.at(full);
    let forces = moments
        .windows(2)
        .zip(momenta.windows(2))
        .map(|(m, p)| (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1]) / (m[1].time - m[0].time));
    let frame_force = largest(0.0, forces);
    let stop_impulse = [0, 1].map(|i| -path.momentum[i].at(last.draw) * last.speed);
    Ok(Release {
        speed: last.speed,
        energy: last.projectile_energy,
        efficiency: last.projectile_energy / stored,
        time,
        launched_at: last.draw,
        energy_left: last.spring_energy,
        moving_energy: last.moving_energy,
        lost: stored - last.spring_energy - last.projectile_energy - last.moving_energy,
        effective_mass: path.effective_mass.at(last.draw),
        peak_carriage_speed: run.peak_after(last, pieces),
        recoil: run.momentum(&last).map(|p| -p),
        stop_impulse,
        frame_force,
        moments,
    })
}

struct Run<'a> {
    path: &'a WayBack,
    shot: &'a Shot,
    full: f64,
}

impl Run<'_> {
    /// Work that went into motion on the way from full draw to x (mJ).
    fn work(&self, x: f64) -> f64 {
        let gone = self.path.length.at(self.full) - self.path.length.at(x);
        let released = self.path.energy.at(self.full) - self.path.energy.at(x);
        (1.0 - self.shot.losses) * released - self.shot.friction * gone
    }

    fn speed(&self, x: f64) -> Result<f64, NoLaunch> {
        let square = 2.0 * self.work(x) / (self.shot.mass + self.path.effective_mass.at(x));
        if square > 0.0 { Ok(square.sqrt()) } else { Err(NoLaunch::Stalls { draw: x }) }
    }

    fn moment(&self, x: f64, time: f64) -> Result<Moment, NoLaunch> {
        let speed = if x >= self.full { 0.0 } else { self.speed(x)? };
        Ok(Moment {
            draw: x,
            time,
            speed,
            spring_energy: self.path.energy.at(x),
            projectile_energy: 0.5 * self.shot.mass * speed * speed,
            moving_energy: 0.5 * self.path.effective_mass.at(x) * speed * speed,
        })
    }

    /// Momentum of projectile and part (mN s).
    fn momentum(&self, moment: &Moment) -> [f64; 2] {
        [0, 1].map(|i| {
            let mass = self.shot.mass * self.path.direction[i].at(moment.draw)
                + self.path.momentum[i].at(moment.draw);
            -mass * moment.speed
        })
    }

    /// The number of the moment at which the projectile leaves: the first maximum of its speed, or 1.
    fn leaves(&self, place: &impl Fn(f64) -> f64, pieces: usize) -> Result<f64, NoLaunch> {
        let speed = |tau: f64| self.speed(place(tau));
        let mut before = 0.0;
        for n in 1..=pieces {
            let now = speed(n as f64 / pieces as f64)?;
            if now < before * (1.0 - PAST) {
                let low = n.saturating_sub(2) as f64 / pieces as f64;
                return golden(&speed, low, n as f64 / pieces as f64);
            }
            before = now;
        }
        Ok(1.0)
    }

    /// Highest speed of the carriage from the launch on, the projectile being gone (m/s).
    fn peak_after(&self, launch: Moment, pieces: usize) -> f64 {
        let own = |x: f64| self.path.effective_mass.at(x);
        let kept = own(launch.draw) * launch.speed * launch.speed;
        let rest = (1..=pieces).map(|n| {
            let x = launch.draw + (self.shot.stop - launch.draw) * n as f64 / pieces as f64;
            let square = (kept + 2.0 * (self.work(x) - self.work(launch.draw))) / own(x);
            // Without a mass of its own the carriage has no speed of its own either.
            if square > 0.0 { square.sqrt() } else { 0.0 }
        });
        max(launch.speed, largest(0.0, rest))
    }
}

/// The place of the maximum of a function with a single one between two places.
fn golden(
    value: &impl Fn(f64) -> Result<f64, NoLaunch>,
    mut low: f64,
    mut high: f64,
) -> Result<f64, NoLaunch> {
    let ratio = 0.618_033_988_749_894_9;
    for _ in 0..GOLDEN_STEPS {
        let (a, b) = (high - ratio * (high - low), low + ratio * (high - low));
        // At standstill, where a low end may lie, there is no speed yet.
        let first = if a > 0.0 { value(a)? } else { 0.0 };
        if first < value(b)? {
            low = a;
        } else {
            high = b;
        }
    }
    Ok(0.5 * (low + high))
}
