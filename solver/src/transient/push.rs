//! What the carriage pushes: a projectile that it can only push, and a stop that can only hold.
//!
//! Both touch the mean place s of a region along the throw by a stiff spring that bears no tension, V(g) = k g^2 / 2
//! where the gap g is below 0. Over a step its force is -(V(g_1) - V(g_0)) / (g_1 - g_0), so that it neither makes nor
//! takes energy (O. Gonzalez, "Exact energy and momentum conserving algorithms", 2000, from memory).

/// One that is pushed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pushed {
    /// Its mass (g); none for a stop, which stays.
    mass: Option<f64>,
    /// Stiffness of the touch (N/mm).
    stiffness: f64,
    /// Place and speed along the throw (mm, mm/ms).
    pub(super) place: f64,
    pub(super) speed: f64,
}

/// What a step with a region's place does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Touch {
    /// Mean force of the step on the one that is pushed (N), 0 or more.
    pub(super) force: f64,
    /// Its derivative by the region's place at the end (N/mm), 0 or more.
    pub(super) slope: f64,
    /// Place at the end (mm).
    pub(super) place: f64,
    /// Speed at the end (mm/ms).
    pub(super) speed: f64,
    /// Energy in the touch at the end (mJ).
    pub(super) stored: f64,
}

/// Newton steps on one place; the force is monotone, three are usual.
const MOST_STEPS: usize = 40;

impl Pushed {
    pub(super) fn projectile(mass: f64, stiffness: f64) -> Self {
        Self { mass: Some(mass), stiffness, place: 0.0, speed: 0.0 }
    }

    pub(super) fn stop(place: f64, stiffness: f64) -> Self {
        Self { mass: None, stiffness, place, speed: 0.0 }
    }

    /// The step of a region from `s0` to `s1` in `dt`.
    pub(super) fn step(&self, s0: f64, s1: f64, dt: f64) -> Touch {
        let g0 = self.place - s0;
        let Some(mass) = self.mass else {
            let (force, slope) = self.mean_force(g0, self.place - s1);
            let place = self.place;
            return Touch { force, slope, place, speed: 0.0, stored: self.energy(place - s1) };
        };
        // Half-way rule: m (2 (p - p0) / dt^2 - 2 v / dt) = force.
        let inertia = 2.0 * mass / (dt * dt);
        let free = self.place + self.speed * dt;
        let mut place = free;
        let (mut force, mut by_gap) = self.mean_force(g0, place - s1);
        for _ in 0..MOST_STEPS {
            let left = inertia * (place - free) - force;
            if left.abs() <= 1e-14 * (inertia * free.abs() + force) {
                break;
            }
            place -= left / (inertia + by_gap);
            (force, by_gap) = self.mean_force(g0, place - s1);
        }
        Touch {
            force,
            slope: by_gap * inertia / (by_gap + inertia),
            place,
            speed: 2.0 * (place - self.place) / dt - self.speed,
            stored: self.energy(place - s1),
        }
    }

    /// Takes the step.
    pub(super) fn take(&mut self, touch: &Touch) {
        self.place = touch.place;
        self.speed = touch.speed;
    }

    /// Of the one that is pushed (mJ).
    pub(super) fn kinetic(&self) -> f64 {
        self.mass.map_or(0.0, |m| 0.5 * m * self.speed * self.speed)
    }

    fn energy(&self, gap: f64) -> f64 {
        if gap < 0.0 { 0.5 * self.stiffness * gap * gap } else { 0.0 }
    }

    /// Mean force over a change of the gap, and minus its derivative by the gap at the end.
    fn mean_force(&self, g0: f64, g1: f64) -> (f64, f64) {
        let k = self.stiffness;
        match (g0 < 0.0, g1 < 0.0) {
            (true, true) => (-0.5 * k * (g0 + g1), 0.5 * k),
            (false, false) => (0.0, 0.0),
            // (V1 - V0) / (g1 - g0) with one of both 0.
            (false, true) => {
                let d = g1 - g0;
                (-0.5 * k * g1 * g1 / d, 0.5 * k * (2.0 * g1 * d - g1 * g1) / (d * d))
            }
            (true, false) => {
                let d = g1 - g0;
                (0.5 * k * g0 * g0 / d, 0.5 * k * g0 * g0 / (d * d))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ball_that_meets_a_moving_wall_keeps_the_energy_that_is_given() {
        // The wall comes at 2 mm/ms: the ball leaves at 4 (elastic), in any step.
        for dt in [0.001, 0.003] {
            let mut ball = Pushed::projectile(5.0, 1000.0);
            let (mut s, mut work) = (0.0, 0.0);
            for _ in 0..2000 {
                let next = s + 2.0 * dt;
                let touch = ball.step(s, next, dt);
                work += touch.force * (next - s);
                ball.take(&touch);
                let energy = ball.kinetic() + touch.stored;
                assert!((energy - work).abs() < 1e-9 * (1.0 + work), "{energy} {work}");
                s = next;
            }
            assert!((ball.speed - 4.0).abs() < 1e-3, "{dt}: {}", ball.speed);
        }
    }

    #[test]
    fn the_slope_is_that_of_the_force() {
        let mut ball = Pushed::projectile(5.0, 1000.0);
        ball.place = 0.01;
        for (s0, s1) in [(0.02, 0.03), (0.0, 0.05), (0.05, 0.0), (0.0, 0.005)] {
            for pushed in [ball, Pushed::stop(0.01, 500.0)] {
                let h = 1e-7;
                let force = |s: f64| pushed.step(s0, s, 0.01).force;
                let slope = (force(s1 + h) - force(s1 - h)) / (2.0 * h);
                let found = pushed.step(s0, s1, 0.01).slope;
                assert!((slope - found).abs() < 1e-3, "{s0} {s1}: {slope} {found}");
            }
        }
    }
}
