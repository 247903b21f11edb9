//! A release in time: the whole part with its mass, what it throws, and what is felt where it is held.
//!
//! The half-way rule with Simo and Tarnow's force (`element`): momentum and energy are kept to rounding in any step,
//! but for what the strain rate takes (Kelvin and Voigt's solid, S = D (E + tau dE/dt), which a turn does not load) and
//! what the touch of the projectile holds for a moment. Each step is found by Newton's method with factors that are
//! kept as long as they serve. Friction against the carriage is Coulomb's: a force R of at most its size that opposes the
//! motion of the region's mean place s over a step. In each iteration the rest of the equations make s_1 fall by c R, so that
//! R = clamp((s_1 at R = 0 - s_0) / c) slides or sticks exactly (an update as of J. J. Moreau's sweeping process, from memory).
//!
//! The material is St. Venant and Kirchhoff's of the model's elastic constants; drives and loads of the model do not act:
//! the part has been let go.

mod element;
mod modes;
mod push;
mod system;

pub use modes::frequencies;

use crate::dofs::NONE;
use crate::error::Failure;
use crate::model::Model;
use push::{Pushed, Touch};
use std::ops::ControlFlow;
use system::Moving;
use withy_mesh::NodeId;
use withy_mesh::number::max;

/// What the carriage throws.
#[derive(Clone, Debug, PartialEq)]
pub struct Throw {
    /// Nodes of the region that pushes; its mean place counts.
    pub nodes: Vec<NodeId>,
    /// Unit vector of the throw.
    pub direction: [f64; 2],
    /// Mass of the projectile (g).
    pub mass: f64,
    /// Mean displacement of the region along the throw at which a stop holds it (mm), if there is one.
    pub stop: Option<f64>,
    /// Stiffness of the touch of projectile and stop (N/mm).
    pub stiffness: f64,
    /// Force of the guide against any motion of the region's mean place along the throw (N), 0 or more.
    pub friction: f64,
}

/// How a release is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Time step (ms).
    pub step: f64,
    /// Until then (ms).
    pub end: f64,
    /// Relaxation time tau of the strain rate's stress by the elastic one (ms).
    pub damping: f64,
}

/// One moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instant {
    /// Since the release (ms).
    pub time: f64,
    /// Mean displacement of the pushing region along the throw (mm).
    pub place: f64,
    /// Its speed (m/s).
    pub speed: f64,
    /// Place of the projectile along the throw, where the region was when it was let go counted as its place (mm).
    pub projectile_place: f64,
    /// Speed of the projectile (m/s).
    pub projectile_speed: f64,
    /// Force on the projectile over the step before (N).
    pub push: f64,
    /// Force of the part on what holds it and on its guide, over the step before (N).
    pub frame_force: [f64; 2],
    /// Stored in the part (mJ).
    pub strain_energy: f64,
    /// Kinetic energy of the part (mJ).
    pub kinetic: f64,
    /// Of the projectile (mJ).
    pub projectile_energy: f64,
    /// In the touches (mJ).
    pub touch: f64,
    /// Taken by the strain rate so far (mJ).
    pub lost: f64,
    /// Taken by friction so far (mJ).
    pub rubbed: f64,
    /// Momentum of part and projectile (mN s).
    pub momentum: [f64; 2],
}

impl Instant {
    /// All energies together (mJ): constant but for rounding.
    #[must_use]
    pub fn total(&self) -> f64 {
        let kept = self.strain_energy + self.kinetic + self.projectile_energy + self.touch;
        kept + self.lost + self.rubbed
    }
}

/// Residuals below this share of the largest forces on the way, which they are sums of, are as good as rounding.
const TOLERANCE: f64 = 3e-11;
/// Newton steps with old factors before new ones are made, and with new ones before the time step is halved.
const OLD_FACTORS: usize = 8;
const MOST_ITERATIONS: usize = 30;
/// Halvings of a time step before the release is given up.
const MOST_HALVINGS: u32 = 6;

/// What moves.
struct Flight {
    moving: Moving,
    u: Vec<[f64; 2]>,
    v: Vec<[f64; 2]>,
    /// The pushing region's mean along the throw, by equation.
    along: Vec<f64>,
    pushed: Vec<Pushed>,
    damping: f64,
    lost: f64,
    /// Largest friction (N), that of the last step, and what it has taken (mJ).
    friction: f64,
    resisting: f64,
    rubbed: f64,
    /// Root of the sum of squares of the element forces, its largest so far (N).
    scale: f64,
    /// Time step that the factors belong to, and A^-1 `along`.
    factored: Option<(f64, Vec<f64>)>,
}

/// What a step did besides moving.
struct Done {
    strain_energy: f64,
    touch: f64,
    push: f64,
    frame: [f64; 2],
}

/// Told each moment and the displacement of each mesh node; may end the release.
pub type Observe<'a> = dyn FnMut(&Instant, &[[f64; 2]]) -> ControlFlow<()> + 'a;

/// Lets a part go from a drawn state (displacement of each mesh node) and follows it in time. `observe` is told each
/// moment and the displacements, and may end it.
///
/// `density` in g/mm3.
///
/// # Errors
/// A time step that cannot be solved even when it is halved again and again.
pub fn let_go(
    model: &Model,
    drawn: &[[f64; 2]],
    density: f64,
    throw: &Throw,
    pace: &Pace,
    observe: &mut Observe,
) -> Result<(), Failure> {
    let moving = Moving::new(model, density);
    let u: Vec<[f64; 2]> = moving.dofs.mesh_node.iter().map(|&n| drawn[n as usize]).collect();
    let share = 1.0 / throw.nodes.len() as f64;
    let mut mean = vec![[0.0; 2]; u.len()];
    for node in &throw.nodes {
        let own = &mut mean[moving.dofs.solver_node[node.index()] as usize];
        for i in 0..2 {
            own[i] += share * throw.direction[i];
        }
    }
    let along = moving.gathered(&mean);
    let mut pushed = vec![Pushed::projectile(throw.mass, throw.stiffness)];
    pushed.extend(throw.stop.map(|place| Pushed::stop(place, throw.stiffness)));
    let mut flight = Flight {
        v: vec![[0.0; 2]; u.len()],
        u,
        along,
        pushed,
        damping: pace.damping,
        lost: 0.0,
        friction: throw.friction,
        resisting: 0.0,
        rubbed: 0.0,
        scale: 0.0,
        factored: None,
        moving,
    };
    flight.pushed[0].place = flight.place(&flight.u);
    let still = vec![[0.0; 2]; flight.u.len()];
    let first = flight.moving.forces(&flight.u, &flight.u, &still, 0.0);
    let mut done = Done { strain_energy: first.energy, touch: 0.0, push: 0.0, frame: [0.0; 2] };
    let mut time = 0.0;
    loop {
        let now = flight.instant(time, &done, throw);
        let shown: Vec<[f64; 2]> =
            flight.moving.dofs.solver_node.iter().map(|&n| flight.u[n as usize]).collect();
        if observe(&now, &shown).is_break() || time >= pace.end * (1.0 - 1e-9) {
            return Ok(());
        }
        done = flight.advance(pace.step, throw.direction, 0)?;
        time += pace.step;
    }
}

impl Flight {
    /// The region's mean place along the throw.
    fn place(&self, u: &[[f64; 2]]) -> f64 {
        self.moving.gathered(u).iter().zip(&self.along).map(|(x, w)| x * w).sum()
    }

    /// One time step, in halves if it does not converge.
    fn advance(&mut self, dt: f64, direction: [f64; 2], halvings: u32) -> Result<Done, Failure> {
        match self.step(dt, direction) {
            Ok(done) => Ok(done),
            Err(failure) if halvings >= MOST_HALVINGS => Err(failure),
            Err(_) => {
                self.factored = None;
                let first = self.advance(0.5 * dt, direction, halvings + 1)?;
                let second = self.advance(0.5 * dt, direction, halvings + 1)?;
                self.factored = None;
                let mean = |a: f64, b: f64| 0.5 * (a + b);
                Ok(Done {
                    push: mean(first.push, second.push),
                    frame: [0, 1].map(|i| mean(first.frame[i], second.frame[i])),
                    ..second
                })
            }
        }
    }

    fn step(&mut self, dt: f64, direction: [f64; 2]) -> Result<Done, Failure> {
        let damping = self.damping / dt;
        let inertia = 2.0 / (dt * dt);
        let s0 = self.place(&self.u);
        let mut u1: Vec<[f64; 2]> = self
            .moving
            .equations()
            .zip(self.u.iter().zip(&self.v))
            .map(|(equations, (u, v))| {
                [0, 1].map(|i| if equations[i] == NONE { u[i] } else { u[i] + dt * v[i] })
            })
            .collect();
        let (mut before, mut relative) = (f64::INFINITY, f64::NAN);
        let mut resisting = self.resisting;
        for iteration in 0..MOST_ITERATIONS {
            let acceleration: Vec<[f64; 2]> = (0..u1.len())
                .map(|n| {
                    [0, 1].map(|i| inertia * (u1[n][i] - self.u[n][i]) - 2.0 / dt * self.v[n][i])
                })
                .collect();
            let forces = self.moving.forces(&self.u, &u1, &acceleration, damping);
            let s1 = self.place(&u1);
            let touches: Vec<Touch> = self.pushed.iter().map(|p| p.step(s0, s1, dt)).collect();
            let force: f64 = touches.iter().map(|t| t.force).sum();
            let slope: f64 = touches.iter().map(|t| t.slope).sum();
            let mut residual = self.moving.gathered(&forces.sum);
            for (r, w) in residual.iter_mut().zip(&self.along) {
                *r += (force + resisting) * w;
            }
            let size = residual.iter().map(|r| r * r).sum::<f64>().sqrt();
            let scale = (forces.squares + force * force + resisting * resisting).sqrt();
            if !size.is_finite() {
                return Err(Failure::NotConverged { residual: size / scale });
            }
            // Only an iteration brings the friction and the motion together.
            let rubs = iteration > 0 || self.friction <= 0.0;
            if rubs && size <= TOLERANCE * max(self.scale, scale) {
                self.scale = max(self.scale, scale);
                let held = self.on_frame(&forces.sum);
                let frame = [0, 1].map(|i| held[i] + resisting * direction[i]);
                self.rubbed += resisting * (s1 - s0);
                self.resisting = resisting;
                for (pushed, touch) in self.pushed.iter_mut().zip(&touches) {
                    pushed.take(touch);
                }
                for (n, u) in u1.iter().enumerate() {
                    for i in 0..2 {
                        self.v[n][i] = 2.0 / dt * (u[i] - self.u[n][i]) - self.v[n][i];
                    }
                }
                self.u = u1;
                self.lost += forces.lost;
                return Ok(Done {
                    strain_energy: forces.energy,
                    touch: touches.iter().map(|t| t.stored).sum(),
                    push: touches[0].force,
                    frame,
                });
            }
            // Old factors serve while they bring the residual down.
            let stale = self.factored.as_ref().is_none_or(|(of, _)| (of - dt).abs() > 1e-12 * dt)
                || (iteration > 2 && size > 0.3 * before)
                || iteration == OLD_FACTORS;
            if stale {
                self.moving.factor(&self.u, &u1, damping, inertia)?;
                let mut z = self.along.clone();
                self.moving.solve(&mut z);
                self.factored = Some((dt, z));
            }
            before = size;
            relative = size / scale;
            self.moving.solve(&mut residual);
            // The touch adds slope times along along' to the matrix: Sherman and Morrison.
            if let Some((_, z)) = &self.factored {
                let of = |x: &[f64]| -> f64 { x.iter().zip(&self.along).map(|(x, w)| x * w).sum() };
                let softer = 1.0 + slope * of(z);
                let gives = of(z) / softer;
                let change = of(&residual) / softer;
                let free = s1 - change + gives * resisting - s0;
                let most = self.friction;
                let next = if most > 0.0 { (free / gives).clamp(-most, most) } else { 0.0 };
                let factor = (slope * of(&residual) - (next - resisting)) / softer;
                resisting = next;
                for (r, z) in residual.iter_mut().zip(z) {
                    *r -= factor * z;
                }
            }
            for (u, change) in u1.iter_mut().zip(self.moving.spread(&residual)) {
                for i in 0..2 {
                    u[i] -= change[i];
                }
            }
        }
        Err(Failure::NotConverged { residual: relative })
    }

    /// Force of the part on what holds it: minus what the supports exert (N).
    fn on_frame(&self, sum: &[[f64; 2]]) -> [f64; 2] {
        let mut force = [0.0; 2];
        for (equations, f) in self.moving.equations().zip(sum) {
            for i in 0..2 {
                if equations[i] == NONE {
                    force[i] -= f[i];
                }
            }
        }
        force
    }

    fn instant(&self, time: f64, done: &Done, throw: &Throw) -> Instant {
        let (kinetic, mut momentum) = self.moving.motion(&self.v);
        let projectile = self.pushed[0];
        for i in 0..2 {
            momentum[i] += throw.mass * projectile.speed * throw.direction[i];
        }
        Instant {
            time,
            place: self.place(&self.u),
            speed: self.place(&self.v),
            projectile_place: projectile.place,
            projectile_speed: projectile.speed,
            push: done.push,
            frame_force: done.frame,
            strain_energy: done.strain_energy,
            kinetic,
            projectile_energy: projectile.kinetic(),
            touch: done.touch,
            lost: self.lost,
            rubbed: self.rubbed,
            momentum,
        }
    }
}
