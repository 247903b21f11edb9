//! Linear viscoelasticity: what a strained polymer forgets while it waits.
//!
//! The material relaxes in all directions alike (one relaxation function, Poisson's ratio kept), so that at a
//! kept shape every stress falls by the same factor, whatever the geometry:
//!
//! F(t) / F(0) = E(t) / E(0) = g_inf + sum g_i exp(-t / tau_i)
//!
//! (generalised Maxwell model, Prony series: J. C. Simo and T. J. R. Hughes, Computational Inelasticity,
//! section 10.2; N. W. Tschoegl, The Phenomenological Theory of Linear Viscoelastic Behavior; both from
//! memory). Any unit of time will do, as long as it is one.

use withy_mesh::number::max;

/// One Maxwell arm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// Its share of the modulus at the start.
    pub share: f64,
    /// Its relaxation time.
    pub time: f64,
}

/// A relaxation function.
#[derive(Clone, Debug, PartialEq)]
pub enum Relaxation {
    /// E(t) = E(0) (1 + t / since)^-exponent: for times much longer than `since`, the power law that polymers
    /// follow over many decades. E(0) is the modulus that a test of this duration finds.
    PowerLaw {
        /// Fall of the modulus by time, both as logarithms.
        exponent: f64,
        /// Duration of the test that gave the modulus.
        since: f64,
    },
    /// A Prony series; what is left of 1 stays for ever.
    Terms(Vec<Term>),
}

/// Arms by decade of time that stand for a power law: the sum over them is a trapezoid rule of a smooth
/// integrand, good to 1e-6 (see the tests).
const ARMS_BY_DECADE: i32 = 4;
/// Fewer that will do where many points carry them: the sum is good to 1e-4 for an
/// exponent of 0.1, and in proportion for others (see the tests).
const ARMS_BY_DECADE_OF_POINTS: i32 = 2;
/// Arms that relax so many times slower than anyone waits are taken for lasting ones.
const SLOWER: f64 = 1e4;
/// Arms of smaller shares are left out.
const NO_SHARE: f64 = 1e-9;
/// Decades of time, in units of `since`, over which a power law is followed: from a hundredth to 1e13.
const DECADES: [i32; 2] = [-2, 13];
/// Steps by decade of time in which creep and recovery are followed.
const STEPS_BY_DECADE: usize = 60;
/// Decades before the time that is asked for at which these steps begin.
const DECADES_BEFORE: i32 = 6;

impl Relaxation {
    /// The power law that loses `share` of the modulus within `time`.
    #[must_use]
    pub fn losing(share: f64, time: f64, since: f64) -> Self {
        let exponent = -(1.0 - share).ln() / (time / since).ln_1p();
        Self::PowerLaw { exponent, since }
    }

    /// What is left of modulus and force after `time` at a kept shape, E(t) / E(0).
    #[must_use]
    pub fn left(&self, time: f64) -> f64 {
        match self {
            Self::PowerLaw { exponent, since } => (1.0 + time / since).powf(-exponent),
            Self::Terms(terms) => {
                let lost = |term: &Term| -term.share * (-time / term.time).exp_m1();
                1.0 - terms.iter().map(lost).sum::<f64>()
            }
        }
    }

    /// The Prony series: itself, or that of the power law. With Euler's integral for the gamma function,
    /// (1 + t/s)^-n = 1/Gamma(n) integral x^(n-1) exp(-x (1 + t/s)) dx, whose trapezoid sum over ln x is a
    /// series of arms of times s/x.
    #[must_use]
    pub fn terms(&self) -> Vec<Term> {
        self.series(ARMS_BY_DECADE)
    }

    /// Fewer arms that do as well for times up to `within`: what each point of a part carries.
    #[must_use]
    pub fn arms(&self, within: f64) -> Vec<Term> {
        let mut terms = self.series(ARMS_BY_DECADE_OF_POINTS);
        terms.retain(|t| t.share > NO_SHARE && t.time < SLOWER * within);
        terms
    }

    /// Largest relative error of the modulus that [`Self::arms`] tell, at any time up to `within`.
    #[must_use]
    pub fn error_of_arms(&self, within: f64) -> f64 {
        let series = Self::Terms(self.arms(within));
        let times = steps(within, within * 10f64.powi(-DECADES_BEFORE), STEPS_BY_DECADE);
        let error = |time: f64| (series.left(time) / self.left(time) - 1.0).abs();
        let mut now = 0.0;
        times.fold(error(0.0), |worst, dt| {
            now += dt;
            max(worst, error(now))
        })
    }

    fn series(&self, arms_by_decade: i32) -> Vec<Term> {
        let (exponent, since) = match self {
            Self::PowerLaw { exponent, since } => (*exponent, *since),
            Self::Terms(terms) => return terms.clone(),
        };
        if exponent <= 0.0 {
            return Vec::new();
        }
        let width = std::f64::consts::LN_10 / f64::from(arms_by_decade);
        let first = DECADES[0] * arms_by_decade;
        let last = DECADES[1] * arms_by_decade;
        let arms = (first..=last).map(|k| {
            let x = (-width * f64::from(k)).exp();
            Term { share: width * x.powf(exponent) * (-x).exp(), time: since / x }
        });
        let arms: Vec<Term> = arms.collect();
        // The trapezoid sum of the integral from 0 to the last x, where exp(-x) is 1, in closed form: the
        // geometric series of all the slower arms. They hold for as long as anyone waits.
        let slow = {
            let x = (-width * f64::from(last + 1)).exp();
            width * x.powf(exponent) / -(-width * exponent).exp_m1()
        };
        let whole: f64 = arms.iter().map(|a| a.share).sum::<f64>() + slow;
        arms.iter().map(|a| Term { share: a.share / whole, time: a.time }).collect()
    }

    /// Strain after `time` under a kept stress by the strain at its start: creep, J(t) E(0). The creep modulus
    /// of ISO 899-1, stress by strain, is E(0) by this.
    #[must_use]
    pub fn creep(&self, time: f64) -> f64 {
        let mut arms = Arms::new(&self.terms());
        let mut strain = 1.0;
        arms.jump(strain);
        for dt in steps(time, time * 10f64.powi(-DECADES_BEFORE), STEPS_BY_DECADE) {
            // stress = 1 = stiffness * change + what is remembered
            let (stiffness, kept) = arms.after(dt, strain);
            let change = (1.0 - kept) / stiffness;
            arms.advance(change);
            strain += change;
        }
        strain
    }

    /// Where a straight spring that was kept drawn for `held` rests `waited` after it was let go at once, by the
    /// draw: 1 - E(held)/E(0) at first, less and less later.
    #[must_use]
    pub fn rest(&self, held: f64, waited: f64) -> f64 {
        self.rests(held, &[waited])[0]
    }

    /// The same for some times, ascending, in one walk through all of them.
    #[must_use]
    pub fn rests(&self, held: f64, waited: &[f64]) -> Vec<f64> {
        let mut arms = Arms::new(&self.terms());
        arms.jump(1.0);
        arms.relax(held);
        let mut strain = 1.0 - self.left(held);
        arms.jump(strain - 1.0);
        let first = waited.iter().find(|time| **time > 0.0).copied().unwrap_or(1.0);
        let first = first * 10f64.powi(-DECADES_BEFORE);
        let mut now = 0.0;
        let mut rest_at = |time: f64| {
            for dt in steps_from(now, time, first, STEPS_BY_DECADE) {
                let (stiffness, kept) = arms.after(dt, strain);
                let change = -kept / stiffness;
                arms.advance(change);
                strain += change;
            }
            now = max(now, time);
            strain
        };
        waited.iter().map(|time| rest_at(*time)).collect()
    }
}

/// Time steps that grow with time from a first one, up to `time` in all.
pub(crate) fn steps(time: f64, first: f64, by_decade: usize) -> impl Iterator<Item = f64> {
    steps_from(0.0, time, first, by_decade)
}

/// The same from a time on.
fn steps_from(start: f64, time: f64, first: f64, by_decade: usize) -> impl Iterator<Item = f64> {
    let ratio = 10f64.powf(1.0 / by_decade as f64);
    let mut now = start;
    std::iter::from_fn(move || {
        if now >= time {
            return None;
        }
        let next = max(now * ratio, first);
        let next = if next * ratio > time { time } else { next };
        let dt = next - now;
        now = next;
        Some(dt)
    })
}

/// Stresses of the Maxwell arms by the modulus at the start, for one strain.
///
/// Strain changes at a steady rate within a step: h <- exp(-dt/tau) h + g (1 - exp(-dt/tau)) tau/dt change
/// (R. L. Taylor, K. S. Pister and G. L. Goudreau, IJNME 2, 1970, from memory).
struct Arms {
    terms: Vec<Term>,
    stresses: Vec<f64>,
    forever: f64,
    /// Of each arm over the step asked for last: what is left of its stress, and of a strain that comes in steadily.
    decays: Vec<[f64; 2]>,
}

impl Arms {
    fn new(terms: &[Term]) -> Self {
        let forever = 1.0 - terms.iter().map(|t| t.share).sum::<f64>();
        let decays = vec![[1.0; 2]; terms.len()];
        Self { terms: terms.to_vec(), stresses: vec![0.0; terms.len()], forever, decays }
    }

    /// A change of strain at once.
    fn jump(&mut self, change: f64) {
        for (h, term) in self.stresses.iter_mut().zip(&self.terms) {
            *h += term.share * change;
        }
    }

    /// Time passes at a kept strain.
    fn relax(&mut self, time: f64) {
        for (h, term) in self.stresses.iter_mut().zip(&self.terms) {
            *h *= (-time / term.time).exp();
        }
    }

    /// Stress after `dt` as stiffness times the change of strain within it, and what it is without a change.
    fn after(&mut self, dt: f64, strain: f64) -> (f64, f64) {
        let mut stiffness = self.forever;
        let mut kept = self.forever * strain;
        for ((h, term), decays) in self.stresses.iter().zip(&self.terms).zip(&mut self.decays) {
            let x = dt / term.time;
            let lost = -(-x).exp_m1();
            *decays = [1.0 - lost, if x < 1e-12 { 1.0 } else { lost / x }];
            stiffness += term.share * decays[1];
            kept += h * decays[0];
        }
        (stiffness, kept)
    }

    /// The step asked for last, with a change of strain within it.
    fn advance(&mut self, change: f64) {
        for ((h, term), [left, mean]) in self.stresses.iter_mut().zip(&self.terms).zip(&self.decays)
        {
            *h = *h * left + term.share * mean * change;
        }
    }
}

/// (1 - exp(-x)) / x.
pub(crate) fn mean_decay(x: f64) -> f64 {
    if x < 1e-12 { 1.0 } else { -(-x).exp_m1() / x }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Standard linear solid: E_inf 1000, E_1 500, tau 10.
    fn solid() -> Relaxation {
        Relaxation::Terms(vec![Term { share: 1.0 / 3.0, time: 10.0 }])
    }

    #[test]
    fn standard_linear_solid_relaxes_as_the_closed_form() {
        for t in [0.0, 1.0, 5.0, 10.0, 30.0, 100.0_f64] {
            let exact = (1000.0 + 500.0 * (-t / 10.0).exp()) / 1500.0;
            assert!((solid().left(t) - exact).abs() < 1e-14);
        }
    }

    #[test]
    fn standard_linear_solid_creeps_and_recovers_as_the_closed_forms() {
        // J(t) = 1/E_inf - (1/E_inf - 1/(E_inf + E_1)) exp(-t/tau_c), tau_c = tau (E_inf + E_1)/E_inf.
        // Second order in steps of 4 % of the time: 1e-4 is ten times what is seen.
        for t in [1.0, 5.0, 10.0, 30.0, 100.0_f64] {
            let exact = 1500.0 * (1e-3 - (1e-3 - 1.0 / 1500.0) * (-t / 15.0_f64).exp());
            assert!((solid().creep(t) / exact - 1.0).abs() < 1e-4, "{t}: {}", solid().creep(t));
        }
        // Let go after 20: rest = (1 - E(20)/E(0)) exp(-t/tau_c).
        let first = 1.0 - solid().left(20.0);
        for t in [0.0, 2.0, 15.0, 60.0_f64] {
            let exact = first * (-t / 15.0_f64).exp();
            assert!((solid().rest(20.0, t) - exact).abs() < 1e-4 * first, "{t}");
        }
        let times = [0.0, 2.0, 2.0, 15.0, 60.0];
        for (t, found) in times.into_iter().zip(solid().rests(20.0, &times)) {
            let exact = first * (-t / 15.0_f64).exp();
            assert!((found - exact).abs() < 1e-4 * first, "{t}, in one walk");
        }
    }

    #[test]
    fn the_arms_of_a_power_law_sum_to_it() {
        for exponent in [0.01, 0.038, 0.1] {
            let law = Relaxation::PowerLaw { exponent, since: 10.0 };
            let terms = law.terms();
            assert!(terms.iter().all(|t| t.share > 0.0));
            let sum = Relaxation::Terms(terms);
            for t in [0.1, 1.0, 60.0, 3600.0, 6e5, 1e9] {
                let off = sum.left(t) / law.left(t) - 1.0;
                assert!(off.abs() < 2e-6, "{exponent} {t}: {off:e}");
            }
        }
    }

    #[test]
    fn fewer_arms_do_within_the_time_that_is_asked_for() {
        for exponent in [0.02, 0.038, 0.1, 0.3] {
            let law = Relaxation::PowerLaw { exponent, since: 10.0 };
            // One to four weeks by a test of ten seconds; slower arms are held for ever.
            for within in [6e4, 6e5, 2.4e6] {
                let error = law.error_of_arms(within);
                let few = law.arms(within).len() < 24;
                assert!(error < 1.5e-3 * exponent && few, "{exponent} {within}: {error:e}");
            }
        }
        assert!(solid().error_of_arms(1e3) < 1e-15, "a series is itself");
    }

    #[test]
    fn creep_of_a_power_law_follows_the_exact_interrelation() {
        // For E(t) = A t^-n: J(t) E(t) = sin(pi n) / (pi n) (Tschoegl, from memory: the Laplace transforms of J
        // and E are each other's inverse but for s^2). At 1e5 times `since` the two laws differ by n since / t.
        let n = 0.1;
        let law = Relaxation::PowerLaw { exponent: n, since: 1.0 };
        let t = 1e5;
        let exact = (std::f64::consts::PI * n).sin() / (std::f64::consts::PI * n);
        let found = law.creep(t) * law.left(t);
        assert!((found / exact - 1.0).abs() < 5e-4, "{found} {exact}");
    }

    #[test]
    fn a_loss_within_a_time_is_lost_then() {
        let law = Relaxation::losing(0.2, 3600.0, 10.0);
        assert!((law.left(3600.0) - 0.8).abs() < 1e-12);
    }
}
