//! What the points of a viscoelastic solid remember: a generalised Maxwell model at each of them.
//!
//! The solid relaxes in all directions alike (see [`crate::relaxation`]), so that each arm's stress is the law's own
//! moduli C on a strain `q` of its own, in the measure in which the law is linear (Green-Lagrange or logarithmic:
//! neither is touched by a turn). With `d` for the strain that the springs bear,
//!
//! dq/dt + q / tau = g dd/dt,  stress = C (g_inf d + sum q).
//!
//! Within a step `d` changes at a steady rate, and the hereditary integral is exact:
//! q <- exp(-x) q + g (1 - exp(-x)) / x (change of d), x = dt / tau (R. L. Taylor, K. S. Pister, G. L. Goudreau, IJNME 2,
//! 1970; J. C. Simo and T. J. R. Hughes, Computational Inelasticity, section 10.3; both from memory). So in a step the
//! solid is an elastic one, softer by `share`, whose springs are at rest in a strain that is `kept`:
//!
//! stress = C share (d - kept),  share = g_inf + sum g (1 - exp(-x)) / x.
//!
//! In plane strain a plastic strain stretches the springs out of the plane too: hence a fourth component, see
//! [`crate::material::Law::borne`].

use crate::relaxation::{Term, mean_decay};

/// A strain as the springs of a law bear it: three components, and the mean one where it is apart.
pub(crate) type Borne = [f64; 4];

/// What is left of a law's stiffness in a step, and the strain without stress.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kept {
    /// Of the moduli.
    pub(crate) share: f64,
    /// Without stress.
    pub(crate) strain: Borne,
}

impl Kept {
    /// A solid that forgets nothing.
    pub(crate) const NOTHING: Self = Self { share: 1.0, strain: [0.0; 4] };
}

/// One point.
#[derive(Clone, Debug)]
struct Point {
    /// When it was stored.
    strain: Borne,
    /// Of each arm.
    arms: Vec<Borne>,
    /// In the step that is being taken.
    kept: Borne,
    /// Energy in the springs (mJ/mm3).
    stored: f64,
    /// What the arms have taken so far (mJ/mm3).
    lost: f64,
}

/// All points, by mesh element and Gauss point.
#[derive(Clone, Debug)]
pub(crate) struct Viscous {
    terms: Vec<Term>,
    forever: f64,
    /// The step that is being taken: its time and what is left of the moduli in it.
    dt: f64,
    share: f64,
    points: Vec<[Point; 3]>,
}

/// Steps shorter than this part of a relaxation time are integrated by Simpson's rule, whose error there is below
/// 1e-7: the closed form is a difference of large numbers.
const SHORT: f64 = 0.1;

impl Viscous {
    pub(crate) fn new(terms: Vec<Term>, elements: usize) -> Self {
        let forever = 1.0 - terms.iter().map(|t| t.share).sum::<f64>();
        let arms = vec![[0.0; 4]; terms.len()];
        let point = Point { strain: [0.0; 4], arms, kept: [0.0; 4], stored: 0.0, lost: 0.0 };
        let points = vec![std::array::from_fn(|_| point.clone()); elements];
        Self { terms, forever, dt: 0.0, share: 1.0, points }
    }

    /// A solid without arms whose points keep a share of a strain.
    pub(crate) fn keeping(strains: &[[Borne; 3]], share: f64) -> Self {
        let mut all = Self::new(Vec::new(), strains.len());
        for (points, strains) in all.points.iter_mut().zip(strains) {
            for (point, strain) in points.iter_mut().zip(strains) {
                point.kept = strain.map(|e| share * e);
            }
        }
        all
    }

    /// Begins a step of this time; 0 for one at once.
    pub(crate) fn begin(&mut self, dt: f64) {
        let decays: Vec<Decay> = self.terms.iter().map(|t| Decay::of(t, dt)).collect();
        let share = self.forever + decays.iter().map(|d| d.gain).sum::<f64>();
        (self.dt, self.share) = (dt, share);
        for point in self.points.iter_mut().flatten() {
            let Point { strain, arms, kept, .. } = point;
            for i in 0..4 {
                let mut sum = 0.0;
                for (q, Decay { left, gain }) in arms.iter().zip(&decays) {
                    sum += gain * strain[i] - left * q[i];
                }
                kept[i] = sum / share;
            }
        }
    }

    /// What a point is in the step that is being taken.
    pub(crate) fn kept(&self, element: usize, q: usize) -> Kept {
        Kept { share: self.share, strain: self.points[element][q].kept }
    }

    /// Ends the step: by element, Gauss point and the kept strain in it, the strain borne at its end, and the law's
    /// energy density of a strain.
    pub(crate) fn take(
        &mut self,
        borne: &[[Borne; 3]],
        density: impl Fn(usize, usize, &Borne) -> f64,
    ) {
        let (dt, forever) = (self.dt, self.forever);
        // By arm, for all points: over the step, and over half of it.
        let arm = |t: &Term| (*t, [dt, 0.5 * dt].map(|dt| Decay::of(t, dt)));
        let terms: Vec<(Term, [Decay; 2])> = self.terms.iter().map(arm).collect();
        for (e, (points, borne)) in self.points.iter_mut().zip(borne).enumerate() {
            for (n, (point, now)) in points.iter_mut().zip(borne).enumerate() {
                let of = |strain: &Borne| density(e, n, strain);
                let change: Borne = std::array::from_fn(|i| now[i] - point.strain[i]);
                point.stored = forever * of(now);
                for (q, (term, [whole, half])) in point.arms.iter_mut().zip(&terms) {
                    let after = whole.stepped(q, &change);
                    let middle = || half.stepped(q, &change.map(|c| 0.5 * c));
                    point.lost += taken(q, &after, middle, &change, term, dt, &of);
                    *q = after;
                    point.stored += of(q) / term.share;
                }
                point.strain = *now;
            }
        }
    }

    /// Energy in the springs of a point and what its arms have taken (mJ/mm3).
    pub(crate) fn energies(&self, element: usize, q: usize) -> [f64; 2] {
        let point = &self.points[element][q];
        [point.stored, point.lost]
    }
}

/// What a step of some time does to an arm.
#[derive(Clone, Copy, Debug)]
struct Decay {
    /// Of its strain, exp(-x).
    left: f64,
    /// Of the change of what the springs bear, g (1 - exp(-x)) / x.
    gain: f64,
}

impl Decay {
    fn of(term: &Term, dt: f64) -> Self {
        let x = dt / term.time;
        Self { left: (-x).exp(), gain: term.share * mean_decay(x) }
    }

    /// An arm's strain behind the step.
    fn stepped(&self, q: &Borne, change: &Borne) -> Borne {
        std::array::from_fn(|i| self.left * q[i] + self.gain * change[i])
    }
}

/// What an arm's dashpot takes in a step, the integral of q C q / (g tau) (mJ/mm3).
fn taken(
    before: &Borne,
    after: &Borne,
    middle: impl Fn() -> Borne,
    change: &Borne,
    term: &Term,
    dt: f64,
    density: &impl Fn(&Borne) -> f64,
) -> f64 {
    let (x, by) = (dt / term.time, 2.0 / term.share);
    if x < SHORT {
        return by * x * (density(before) + 4.0 * density(&middle()) + density(after)) / 6.0;
    }
    // q = a exp(-t / tau) + b.
    let b = change.map(|c| term.share * c / x);
    let a: Borne = std::array::from_fn(|i| before[i] - b[i]);
    let sum: Borne = std::array::from_fn(|i| a[i] + b[i]);
    let (aa, bb) = (density(&a), density(&b));
    let ab = density(&sum) - aa - bb;
    by * (-0.5 * (-2.0 * x).exp_m1() * aa - (-x).exp_m1() * ab + x * bb)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One number that is strained at will, of modulus 1.
    fn solid() -> Viscous {
        Viscous::new(vec![Term { share: 0.3, time: 2.0 }, Term { share: 0.2, time: 50.0 }], 1)
    }

    fn strain(viscous: &mut Viscous, dt: f64, e: f64) -> f64 {
        viscous.begin(dt);
        let kept = viscous.kept(0, 0);
        viscous.take(&[[[e, 0.0, 0.0, 0.0]; 3]], |_, _, s| 0.5 * s[0] * s[0]);
        kept.share * (e - kept.strain[0])
    }

    #[test]
    fn a_ramp_has_the_stress_of_the_hereditary_integral_in_any_steps() {
        // Rate r: sigma = r (g_inf t + sum g tau (1 - exp(-t / tau))).
        let exact = |t: f64| {
            let arm = |g: f64, tau: f64| g * tau * -(-t / tau).exp_m1();
            0.01 * (0.5 * t + arm(0.3, 2.0) + arm(0.2, 50.0))
        };
        let mut viscous = solid();
        let mut time = 0.0;
        for dt in [0.003, 0.1, 1.0, 7.0, 90.0] {
            time += dt;
            let found = strain(&mut viscous, dt, 0.01 * time);
            assert!((found / exact(time) - 1.0).abs() < 1e-13, "{time}: {found}");
        }
    }

    #[test]
    fn work_is_stored_or_taken() {
        // Work of a stress that is known at a thousand places of each ramp, by Simpson's rule.
        let mut viscous = solid();
        let (mut work, mut e, mut before) = (0.0, 0.0, 0.0);
        let mut last_lost = 0.0;
        for (time, target) in [(0.0, 0.02), (5.0, 0.02), (3.0, -0.01), (40.0, 0.015), (0.0, 0.0)] {
            let n = 1000;
            for k in 0..n {
                let next = e + (target - e) / f64::from(n - k);
                let half = {
                    let mut copy = viscous.clone();
                    strain(&mut copy, 0.5 * time / f64::from(n), 0.5 * (e + next))
                };
                // A jump's first stress is that before it, whatever came of the time.
                let after = strain(&mut viscous, time / f64::from(n), next);
                work += (next - e) * (before + 4.0 * half + after) / 6.0;
                (e, before) = (next, after);
            }
            let [stored, lost] = viscous.energies(0, 0);
            assert!((stored + lost - work).abs() < 1e-9 * work.abs(), "{stored} {lost} {work}");
            assert!(lost >= last_lost, "never given back");
            last_lost = lost;
        }
    }
}
