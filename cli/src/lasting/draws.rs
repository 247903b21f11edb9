//! How often a part may be drawn, as a band.

use crate::analysis::{Solution, SpotKind};
use crate::case::Case;
use crate::material::{Card, Datum};
use withy_mesh::number::{max, min};
use withy_solver::endurance::{Cycle, StrainLife};

/// Lives of polymers scatter by this factor either way where the card tells the spread of its strain
/// (common practice, no source: a factor of 3 to 10 in all).
const SCATTER: f64 = 3.0;
/// By this one where it does not.
const SCATTER_WITHOUT_SPREAD: f64 = 10.0;
/// The cards' factors hold for so many draws; far beyond them a line says nothing.
pub(super) const MOST_DRAWS: f64 = 1e6;

/// What the hot spot's strain does to a part that is drawn again and again.
#[derive(Clone, Debug, PartialEq)]
pub struct Draws {
    /// The strain that goes to and fro.
    pub cycle: Cycle,
    /// What happens beyond rest when it is let go.
    pub swing: Swing,
    /// What that comes to.
    pub endured: Endured,
    /// Which of the card's values it rests on.
    pub rule: &'static str,
    /// Their source.
    pub source: String,
}

/// What a release does to the strain besides drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Swing {
    /// Nothing is let go.
    None,
    /// How far a straight spring swings beyond rest if nothing stops it, by the draw.
    Straight(f64),
    /// Followed in time: how far the carriage swings beyond rest, by the draw; the hot spot's strain to and fro is that
    /// of the whole motion.
    InTime(f64),
}

impl Swing {
    /// By the draw.
    #[must_use]
    pub fn share(self) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Straight(share) | Self::InTime(share) => share,
        }
    }

    /// As data.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Straight(_) => "straight spring",
            Self::InTime(_) => "release in time",
        }
    }

    /// After what is said of the strain; nothing where nothing swings.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::None => String::new(),
            Self::Straight(share) => format!(
                " and a swing of {:.0} % of the draw beyond rest, that of a straight spring which nothing stops (withy \
                 release follows it in time)",
                100.0 * share
            ),
            Self::InTime(share) => format!(
                " to and fro as the release in time strains the hot spot; the carriage swings {:.0} % of the draw beyond \
                 rest",
                100.0 * share
            ),
        }
    }
}

/// Draws before cracks are to be expected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Endured {
    /// Between these two.
    Band([f64; 2]),
    /// The first draw goes beyond what the card allows for one.
    NotOne,
}

/// A card's line of lives, those at the ends of its spread, and the strain that is borne once.
struct Line {
    usual: StrainLife,
    ends: Option<[StrainLife; 2]>,
    once: Option<f64>,
    rule: &'static str,
    source: String,
}

fn line(card: &Card) -> Option<Line> {
    let once = card.yield_strain.as_ref().or(card.elongation_at_break.as_ref());
    if let (Some(c), Some(b)) = (&card.strain_life_coefficient, &card.strain_life_exponent)
        && b.value > 0.0
    {
        let of = |coefficient| StrainLife { coefficient, exponent: b.value };
        return Some(Line {
            usual: of(c.value),
            ends: c.low.zip(c.high).map(|(low, high)| [of(low), of(high)]),
            once: once.map(|d| d.value),
            rule: "strain_life_coefficient and strain_life_exponent",
            source: c.source.clone(),
        });
    }
    let once: &Datum = once?;
    let [f3, f4] = [card.fatigue_factor_1e3.as_ref()?, card.fatigue_factor_1e4.as_ref()?];
    let of = |strain: f64| StrainLife::through([1e3, f3.value * strain], [1e4, f4.value * strain]);
    Some(Line {
        usual: of(once.value)?,
        ends: once.low.and_then(of).zip(once.high.and_then(of)).map(|(low, high)| [low, high]),
        once: Some(once.value),
        rule: "the factors on the allowed strain for 1000 and 10 000 draws",
        source: f3.source.clone(),
    })
}

/// How often a solved part may be drawn; none where the card or the hot spot does not tell.
#[must_use]
pub fn draws(case: &Case, solution: &Solution) -> Option<Draws> {
    // Of a straight spring: what still moves when the projectile has left swings it beyond rest.
    let swing = solution.launched.as_ref().map_or(Swing::None, |l| {
        let stored = l.release.moments.first().map_or(f64::NAN, |m| m.spring_energy);
        let left = l.release.moving_energy + l.release.energy_left;
        let share = (left / stored).sqrt();
        Swing::Straight(if share.is_finite() { min(share, 1.0) } else { 0.0 })
    });
    let cycle = Cycle::drawn(solution.hot_spot.strain, swing.share());
    swung(case, solution, cycle, swing)
}

/// The same of a cycle of strain that is known otherwise.
#[must_use]
pub fn swung(case: &Case, solution: &Solution, cycle: Cycle, swing: Swing) -> Option<Draws> {
    let spot = &solution.hot_spot;
    let sound = cycle.largest > 0.0 && cycle.amplitude > 0.0;
    if spot.kind != SpotKind::Finite || !sound {
        return None;
    }
    let line = line(&case.material)?;
    let endured = if line.once.is_some_and(|once| cycle.largest >= once) {
        Endured::NotOne
    } else {
        let [low, high, scatter] = match &line.ends {
            Some([low, high]) => [low.draws(cycle), high.draws(cycle), SCATTER],
            None => {
                let usual = line.usual.draws(cycle);
                [usual, usual, SCATTER_WITHOUT_SPREAD]
            }
        };
        Endured::Band([max(low / scatter, 1.0), max(high * scatter, 1.0)])
    };
    Some(Draws { cycle, swing, endured, rule: line.rule, source: line.source })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::card;

    #[test]
    fn the_shelf_gives_the_draws_of_its_factors() {
        let (petg, _) = card("petg").unwrap();
        let line = line(&petg).unwrap();
        // 0.65 of 4 % is borne a thousand times, 0.5 of it ten thousand times.
        let n = line.usual.draws(Cycle::drawn(0.65 * 0.04, 0.0));
        assert!((n / 1e3 - 1.0).abs() < 1e-9, "{n}");
        let [low, high] = line.ends.unwrap();
        let cycle = Cycle::drawn(0.02, 0.0);
        assert!(low.draws(cycle) < 1e4 && high.draws(cycle) > 1e4);
    }

    #[test]
    fn a_measured_line_of_lives_goes_before_the_factors() {
        let (mut pc, _) = card("pc").unwrap();
        let datum = |value| {
            Some(Datum { value, low: None, high: None, source: "test".into(), estimated: false })
        };
        pc.strain_life_coefficient = datum(0.1);
        pc.strain_life_exponent = datum(0.1);
        assert_eq!(line(&pc).unwrap().usual, StrainLife { coefficient: 0.1, exponent: 0.1 });
    }
}
