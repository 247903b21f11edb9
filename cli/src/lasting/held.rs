//! Kept drawn: force, energy and speed left, and where it rests afterwards.

use super::recovery::Recovery;
use crate::analysis::{Axis, Solution, SpotKind, moving_regions, shot};
use crate::case::Case;
use crate::comparison::Band;
use crate::material::{Card, Datum};
use withy_mesh::number::{max, min};
use withy_solver::relaxation::{Relaxation, Term};
use withy_solver::release::{USUAL_PIECES, release};

/// How long a part may be forgotten in its latch, and left alone afterwards: name and ms.
pub const TIMES: [(&str, f64); 4] =
    [("1 min", 6e4), ("1 h", 3.6e6), ("1 day", 8.64e7), ("1 week", 6.048e8)];
/// A tensile test reaches its modulus after some ten seconds, ms (common practice, no source).
pub(super) const TEST_MS: f64 = 1e4;
/// An hour, ms.
const HOUR_MS: f64 = 3.6e6;

/// The relaxation of a card.
#[derive(Clone, Debug, PartialEq)]
pub struct Law {
    /// By the card's values.
    pub usual: Relaxation,
    /// With the least and the largest loss of the card's spread, if it has one.
    pub ends: Option<[Relaxation; 2]>,
    /// Which of the card's values it rests on.
    pub rule: &'static str,
    /// Their source.
    pub source: String,
}

/// What is left after a time.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldFor {
    /// "1 h".
    pub name: &'static str,
    /// ms.
    pub time: f64,
    /// Of the force.
    pub left: Band,
    /// Force or moment (N or N mm).
    pub effort: f64,
    /// Energy that a quick release gives back (mJ).
    pub energy: f64,
    /// Speed of what is thrown (m/s), if anything is.
    pub speed: Option<f64>,
    /// Where it rests at once when let go, and after each of [`TIMES`], by the draw.
    pub rests: [Band; 5],
    /// Travel by the travel at once, where a load is kept instead of a draw.
    pub creep: f64,
}

/// A part kept drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// The law.
    pub law: Law,
    /// Whether a dead load is kept instead of a draw: then it creeps.
    pub loaded: bool,
    /// Where it rests by how much of its drawn strain its springs keep.
    pub recovery: Recovery,
    /// Whether the hot spot is beyond half the yield strain, where more is lost than the card says.
    pub beyond_half_yield: bool,
    /// After which time what is left.
    pub after: Vec<HeldFor>,
}

impl Law {
    /// What follows from the law, with what its two ends leave open.
    fn band(&self, of: &dyn Fn(&Relaxation) -> f64) -> Band {
        self.bands(&|law| vec![of(law)])[0]
    }

    /// The same of several quantities.
    fn bands(&self, of: &dyn Fn(&Relaxation) -> Vec<f64>) -> Vec<Band> {
        let ends = self.ends.as_ref().map(|ends| [of(&ends[0]), of(&ends[1])]);
        let range = |n: usize| ends.as_ref().map(|[a, b]| [min(a[n], b[n]), max(a[n], b[n])]);
        let usual = of(&self.usual).into_iter().enumerate();
        usual.map(|(n, value)| Band { value, range: range(n) }).collect()
    }
}

impl Held {
    /// Where it rests by the draw, kept for a time and left alone for some others, ascending (ms).
    #[must_use]
    pub fn rests(&self, held: f64, alone: &[f64]) -> Vec<Band> {
        rests_of(&self.law, &self.recovery, held, alone)
    }
}

fn rests_of(law: &Law, recovery: &Recovery, held: f64, alone: &[f64]) -> Vec<Band> {
    law.bands(&|law| law.rests(held, alone).into_iter().map(|share| recovery.rest(share)).collect())
}

/// The relaxation that a card tells of, if any.
#[must_use]
pub fn law(card: &Card) -> Option<Law> {
    let law = |usual, ends, rule, source: String| Some(Law { usual, ends, rule, source });
    if !card.relaxation_terms.is_empty() {
        let terms =
            card.relaxation_terms.iter().map(|t| Term { share: t.share, time: t.time }).collect();
        return law(Relaxation::Terms(terms), None, "relaxation_terms", card.name.clone());
    }
    let power = |exponent: f64| Relaxation::PowerLaw { exponent, since: TEST_MS };
    if let Some(n) = &card.relaxation_exponent {
        return law(power(n.value), ends(n, power), "relaxation_exponent", n.source.clone());
    }
    if let (Some(early), Some(late)) = (&card.creep_modulus_1h, &card.creep_modulus_1000h)
        && late.value < early.value
    {
        // Creep moduli fall with time as the modulus does (their ratio is a constant near 1).
        let exponent = (early.value / late.value).log10() / 3.0;
        return law(power(exponent), None, "creep moduli of 1 h and 1000 h", late.source.clone());
    }
    if let Some(creep) = &card.creep_modulus_1h
        && creep.value < card.youngs_modulus.value
    {
        let usual =
            Relaxation::losing(1.0 - creep.value / card.youngs_modulus.value, HOUR_MS, TEST_MS);
        return law(usual, None, "creep modulus of 1 h by the modulus", creep.source.clone());
    }
    let lost = card.relaxation_one_hour.as_ref().filter(|lost| lost.value < 1.0)?;
    let losing = |share: f64| Relaxation::losing(min(share, 0.999), HOUR_MS, TEST_MS);
    law(losing(lost.value), ends(lost, losing), "relaxation_one_hour", lost.source.clone())
}

fn ends(datum: &Datum, of: impl Fn(f64) -> Relaxation) -> Option<[Relaxation; 2]> {
    Some([of(datum.low?), of(datum.high?)])
}

/// What a part that was solved to full draw loses while it is kept there, and where it rests afterwards by its
/// `recovery`; none if the card does not tell.
#[must_use]
pub fn held(case: &Case, recovery: Recovery, solution: &Solution) -> Option<Held> {
    let law = law(&case.material)?;
    let last = solution.path.steps.last()?;
    let name = *moving_regions(case).first()?;
    let effort = Axis::of(case, name).effort(&last.reactions[0]);
    let speed_left = |left: f64| {
        let launched = solution.launched.as_ref()?;
        let way = launched.way.scaled(left * left, 1.0);
        release(&way, &shot(case.launch.as_ref()?), USUAL_PIECES).ok().map(|r| r.speed)
    };
    let after = TIMES.map(|(name, time)| {
        let left = law.usual.left(time);
        let [a, b, c, d] = TIMES.map(|(_, waited)| waited);
        let rests = rests_of(&law, &recovery, time, &[0.0, a, b, c, d]);
        HeldFor {
            name,
            time,
            left: law.band(&|law| law.left(time)),
            effort: left * effort,
            energy: left * left * last.strain_energy,
            speed: speed_left(left),
            rests: std::array::from_fn(|n| rests[n]),
            creep: law.usual.creep(time),
        }
    });
    let spot = &solution.hot_spot;
    let beyond_half_yield = spot.kind == SpotKind::Finite
        && case.material.yield_strain.as_ref().is_some_and(|y| spot.strain > 0.5 * y.value);
    let loaded = case.drives.is_empty();
    Some(Held { law, loaded, recovery, beyond_half_yield, after: after.to_vec() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::card;

    #[test]
    fn each_value_of_a_card_gives_its_law() {
        let (mut petg, _) = card("petg").unwrap();
        let one_hour = law(&petg).unwrap();
        assert_eq!(one_hour.rule, "relaxation_one_hour");
        assert!((one_hour.usual.left(HOUR_MS) - 0.8).abs() < 1e-12);
        let [least, most] = one_hour.ends.unwrap();
        assert!((least.left(HOUR_MS) - 0.88).abs() < 1e-12);
        assert!((most.left(HOUR_MS) - 0.75).abs() < 1e-12);
        let datum = |value| {
            Some(Datum { value, low: None, high: None, source: "test".into(), estimated: false })
        };
        petg.creep_modulus_1h = datum(1640.0);
        assert!((law(&petg).unwrap().usual.left(HOUR_MS) - 0.8).abs() < 1e-12);
        // A fall to a tenth within three decades is an exponent of 1/3.
        petg.creep_modulus_1000h = datum(164.0);
        let Relaxation::PowerLaw { exponent, .. } = law(&petg).unwrap().usual else { panic!() };
        assert!((exponent - 1.0 / 3.0).abs() < 1e-12);
        petg.relaxation_exponent = datum(0.03);
        assert_eq!(law(&petg).unwrap().rule, "relaxation_exponent");
        petg.relaxation_terms = vec![crate::material::RelaxationTerm { share: 0.25, time: 1000.0 }];
        assert!((law(&petg).unwrap().usual.left(1e9) - 0.75).abs() < 1e-12);
    }
}
