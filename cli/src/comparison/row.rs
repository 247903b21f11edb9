//! One card against a part: what its filament would do in the same file, and how far it may be drawn.

use super::response::Response;
use super::throws::Throws;
use crate::analysis::{LimitKind, StepPeaks};
use crate::material::{Card, Datum};
use withy_mesh::number::{max, min};

/// A value with the range that the spreads of the card leave open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// From the card's values.
    pub value: f64,
    /// Lowest and highest over the corners of the spreads; none if the card has no spread.
    pub range: Option<[f64; 2]>,
}

/// What becomes of the part, from bad to worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// Nothing is left behind.
    Fine,
    /// It yields.
    TakesASet,
    /// It breaks.
    Snaps,
}

impl Fate {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::TakesASet => "takes a set",
            Self::Snaps => "snaps",
        }
    }
}

/// How far a card's part may be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct SafeDraw {
    /// Fraction of the draw; the solved draw where the limit lies beyond it.
    pub fraction: Band,
    /// Travel of the first moving region (mm or degrees).
    pub travel: Band,
    /// Stored energy there (mJ).
    pub energy: Band,
    /// What ends it; none where the limit lies beyond the solved draw.
    pub ends: Option<LimitKind>,
    /// Whether the upper end of the band lies beyond the solved draw.
    pub high_is_beyond: bool,
    /// Modulus (MPa) and fraction of the draw over the corners of the spreads, the card's values first.
    pub corners: Vec<[f64; 2]>,
}

/// A card against the part.
#[derive(Clone, Debug)]
pub struct Row {
    /// The card.
    pub card: Card,
    /// Whether it is the part file's own material.
    pub own: bool,
    /// Whether the solve reached the full draw.
    pub completed: bool,
    /// Force or moment at the last state (N or N mm).
    pub effort: Band,
    /// Travel there (mm or degrees).
    pub travel: Band,
    /// Energy there (mJ).
    pub energy: Band,
    /// Largest strain over the draw, by the linear law.
    pub strain: Band,
    /// Largest von Mises stress over the draw, by the linear law (MPa).
    pub von_mises: Band,
    /// Largest principal stress over the draw, by the linear law (MPa).
    pub tension: Band,
    /// Strain by the yield strain, if the card has one.
    pub of_yield_strain: Option<Band>,
    /// Von Mises stress by the yield strength, if the card has one.
    pub of_yield: Option<Band>,
    /// Tension by the strength at break, or strain by the strain at break, if the card has one.
    pub of_break: Option<Band>,
    /// What becomes of it; none if the card has no strength.
    pub fate: Option<Fate>,
    /// The worst that the spreads leave open.
    pub worst_fate: Option<Fate>,
    /// How far it may be drawn.
    pub safe: SafeDraw,
    /// What it throws, if the part file has a launch and the card a density.
    pub throws: Option<Throws>,
}

/// The same draw with the card's modulus, and with the ends of its spread.
#[derive(Debug)]
pub(super) struct Responses {
    pub(super) usual: Response,
    pub(super) soft: Option<Response>,
    pub(super) stiff: Option<Response>,
}

impl Responses {
    fn all(&self) -> impl Iterator<Item = &Response> {
        std::iter::once(&self.usual).chain(&self.soft).chain(&self.stiff)
    }

    fn has_spread(&self) -> bool {
        self.soft.is_some() || self.stiff.is_some()
    }

    fn band(&self, of: impl Fn(&Response) -> f64) -> Band {
        let values: Vec<f64> = self.all().map(&of).collect();
        Band { value: values[0], range: self.has_spread().then(|| span(&values)) }
    }

    /// A demand by an allowance, over all corners.
    fn share(&self, demand: impl Fn(&Response) -> f64, allowed: &Datum) -> Band {
        let corners: Vec<f64> = self
            .all()
            .flat_map(|r| ends(allowed).into_iter().map(|a| demand(r) / a).collect::<Vec<_>>())
            .collect();
        let spread = self.has_spread() || has_spread(allowed);
        Band { value: corners[0], range: spread.then(|| span(&corners)) }
    }
}

pub(super) fn span(values: &[f64]) -> [f64; 2] {
    values.iter().fold([values[0]; 2], |[low, high], v| [min(low, *v), max(high, *v)])
}

fn has_spread(datum: &Datum) -> bool {
    datum.low.is_some() || datum.high.is_some()
}

/// The value first, then the ends of its spread.
fn ends(datum: &Datum) -> Vec<f64> {
    std::iter::once(datum.value).chain(datum.low).chain(datum.high).collect()
}

impl Row {
    pub(super) fn new(card: Card, own: bool, responses: &Responses) -> Self {
        let von_mises = |r: &Response| r.worst(|p| p.von_mises);
        let tension = |r: &Response| r.worst(|p| p.tension);
        let strain = |r: &Response| r.worst(|p| p.strain);
        let of_yield = card.yield_strength.as_ref().map(|s| responses.share(von_mises, s));
        let of_break = match (&card.ultimate_strength, &card.elongation_at_break) {
            (Some(strength), _) => Some(responses.share(tension, strength)),
            (None, Some(elongation)) => Some(responses.share(strain, elongation)),
            (None, None) => None,
        };
        let high = |band: &Band| band.range.map_or(band.value, |r| r[1]);
        let known = of_yield.is_some() || of_break.is_some();
        let fate_of = |level: &dyn Fn(&Band) -> f64| {
            // A share that is no number counts as over.
            let over = |share: &Option<Band>| {
                share.as_ref().is_some_and(|b| level(b).is_nan() || level(b) >= 1.0)
            };
            known.then(|| match (over(&of_break), over(&of_yield)) {
                (true, _) => Fate::Snaps,
                (false, true) => Fate::TakesASet,
                (false, false) => Fate::Fine,
            })
        };
        Self {
            own,
            completed: responses.usual.reached() >= 1.0,
            effort: responses.band(Response::full_effort),
            travel: responses.band(|r| r.travel_at(r.reached())),
            energy: responses.band(|r| r.energy.at(r.reached())),
            strain: responses.band(strain),
            von_mises: responses.band(von_mises),
            tension: responses.band(tension),
            of_yield_strain: card.yield_strain.as_ref().map(|s| responses.share(strain, s)),
            fate: fate_of(&|b| b.value),
            worst_fate: fate_of(&high),
            of_yield,
            of_break,
            safe: safe_draw(&card, responses),
            throws: None,
            card,
        }
    }
}

impl Row {
    /// Whether the linear law is asked beyond yielding or breaking at full draw.
    #[must_use]
    pub fn is_beyond_linear(&self) -> bool {
        self.fate.is_some_and(|fate| fate > Fate::Fine)
    }
}

/// Where a draw ends, and whether that is on the solved path.
#[derive(Clone, Copy)]
struct End {
    modulus: f64,
    fraction: f64,
    travel: f64,
    energy: f64,
    by: Option<LimitKind>,
}

/// The draw at which the first limit is reached, as a solve finds it.
fn end(response: &Response, yields: Option<f64>, breaks: Option<f64>) -> End {
    type Measure = fn(&StepPeaks) -> f64;
    let strengths: [(Option<f64>, Measure, LimitKind); 2] =
        [(yields, |p| p.von_mises, LimitKind::Yield), (breaks, |p| p.tension, LimitKind::Break)];
    let stress = strengths.into_iter().filter_map(|(strength, measure, kind)| {
        Some((response.first_at(measure, strength?)?, kind))
    });
    let others = response.limits.iter().map(|l| (l.fraction, l.kind));
    let hand = response.beyond_hand().map(|fraction| (fraction, LimitKind::Hand));
    let first = stress.chain(hand).chain(others).min_by(|a, b| a.0.total_cmp(&b.0));
    let fraction = first.map_or(response.reached(), |f| f.0);
    End {
        modulus: response.youngs_modulus,
        fraction,
        travel: response.travel_at(fraction),
        energy: response.energy.at(fraction),
        by: first.map(|f| f.1),
    }
}

/// Strengths to be tried: the card's, then the ends of the spread; one `None` without a strength.
fn strengths(datum: Option<&Datum>) -> Vec<Option<f64>> {
    datum.map_or_else(|| vec![None], |d| ends(d).into_iter().map(Some).collect())
}

fn safe_draw(card: &Card, responses: &Responses) -> SafeDraw {
    let mut corners = Vec::new();
    for response in responses.all() {
        for yields in strengths(card.yield_strength.as_ref()) {
            for breaks in strengths(card.ultimate_strength.as_ref()) {
                corners.push(end(response, yields, breaks));
            }
        }
    }
    let spread = responses.has_spread() || corners.len() > 1;
    let band = |of: fn(&End) -> f64| {
        let values: Vec<f64> = corners.iter().map(of).collect();
        Band { value: values[0], range: spread.then(|| span(&values)) }
    };
    SafeDraw {
        fraction: band(|e| e.fraction),
        travel: band(|e| e.travel),
        energy: band(|e| e.energy),
        ends: corners[0].by,
        corners: corners.iter().map(|e| [e.modulus, e.fraction]).collect(),
        high_is_beyond: corners.iter().any(|e| e.by.is_none()),
    }
}
