//! A part in every material: the same file in other filaments, and each drawn to its own limit.
//!
//! A part that is driven by displacements is solved once with its mesh, and once more on that mesh for
//! each other Poisson's ratio, and each other proportion of its moduli if it is taken as beads; every card of these
//! is read from it by its modulus ([`Response::scaled`]). A part under dead loads bends otherwise in each material and is solved apart
//! for each.

mod beads;
mod response;
mod row;
mod throws;

pub use beads::Proportions;
pub(crate) use beads::SAME_RATIO;
pub use response::Response;
pub use row::{Band, Fate, Row, SafeDraw};
pub use throws::{Throw, Throws};

use crate::analysis::{
    Analysis, AnalysisError, Ended, SpotKind, Watch, analyse, solve_again, way_of,
};
use crate::case::Case;
use crate::material::Card;
use crate::remark::Remark;
use rayon::prelude::*;
use row::Responses;
use withy_mesh::number::{max, min};
use withy_solver::StopCause;

/// How the cards were computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// One solve for each Poisson's ratio and proportion of the moduli of beads, scaled by the modulus.
    Scaled,
    /// A solve for each card, because dead loads do not scale.
    Apart,
}

/// What Poisson's ratio, and with beads the proportions of their moduli, change alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PoissonEffect {
    /// The ratio, and the proportions.
    pub proportions: Proportions,
    /// Force at full draw by modulus, relative to the part's own material, less one.
    pub effort: f64,
    /// The same of the largest von Mises stress.
    pub von_mises: f64,
}

/// Every card against a part.
#[derive(Debug)]
pub struct Comparison {
    /// The analysis of the part in its own material.
    pub base: Analysis,
    /// How the others were computed.
    pub method: Method,
    /// The cards in the order in which they were given.
    pub rows: Vec<Row>,
    /// What the proportions change; empty if each card was solved apart.
    pub poisson: Vec<PoissonEffect>,
    /// What was assumed, decided or noticed.
    pub remarks: Vec<Remark>,
}

/// What a comparison is working on.
#[derive(Clone, Copy, Debug)]
pub struct Stage<'a> {
    /// In words.
    pub what: &'a str,
    /// Which of how many.
    pub number: usize,
    /// Of how many.
    pub count: usize,
}

/// Strain up to which a straight line between stress and strain is a fair picture of a soft polymer
/// (common practice, no source).
const LARGEST_LINEAR_STRAIN: f64 = 0.05;

/// Compares cards on a part. `stage` is told what is worked on.
///
/// # Errors
/// The part cannot be solved at all, in its own material or in one of the cards.
pub fn compare(
    case: &Case,
    mut cards: Vec<Card>,
    watch: &mut Watch,
    stage: &mut dyn FnMut(Stage),
) -> Result<Comparison, AnalysisError> {
    let base = analyse(case, watch)?;
    let mut remarks = Vec::new();
    remark_on_base(case, &base, &mut remarks);
    if case.beads.is_some() {
        beads::fill(&mut cards, &case.material, &mut remarks);
    }
    let own = |card: &Card| *card == case.material;
    let mut list: Vec<(Card, bool)> = cards
        .into_iter()
        .map(|card| {
            let own = own(&card);
            (card, own)
        })
        .collect();
    if !list.iter().any(|(_, own)| *own) {
        let mut written = case.material.clone();
        // The card that it starts from may be on the list by that name.
        written.name = format!("{} (part file)", written.name);
        list.insert(0, (written, true));
    }
    let (rows, poisson, method) = if case.loads.is_empty() {
        let (rows, poisson) = scaled(case, &base, list, watch, stage)?;
        remarks.push(remark_on_scaling(&poisson, base.solution.state));
        (rows, poisson, Method::Scaled)
    } else {
        let text = "the part bears a dead load, so results do not go with the modulus: each card was \
                    solved apart, and again for each end of its modulus";
        remarks.push(Remark::note("solved-apart", text));
        let mut rows = apart(case, list, watch, stage)?;
        throws::throw(case, &base, &[], &mut rows);
        (rows, Vec::new(), Method::Apart)
    };
    remark_on_rows(&rows, &mut remarks);
    Ok(Comparison { base, method, rows, poisson, remarks })
}

/// Rows read from one analysis by the modulus alone, without another solve: exact for cards of the part's own
/// Poisson's ratio. `None` under dead loads, which do not scale, and where no state converged.
#[must_use]
pub fn rows_by_modulus(case: &Case, analysis: &Analysis, cards: Vec<Card>) -> Option<Vec<Row>> {
    if !case.loads.is_empty() {
        return None;
    }
    let response = Response::of(case, analysis)?;
    let mut rows: Vec<Row> = cards
        .into_par_iter()
        .map(|card| {
            let own = card == case.material;
            row_of(card, own, &response)
        })
        .collect();
    throws::throw(case, analysis, &[], &mut rows);
    Some(rows)
}

/// A card's row from a response of its proportions, over the spread of its modulus.
fn row_of(card: Card, own: bool, response: &Response) -> Row {
    let modulus = &card.youngs_modulus;
    let responses = Responses {
        usual: response.scaled(modulus.value),
        soft: modulus.low.map(|e| response.scaled(e)),
        stiff: modulus.high.map(|e| response.scaled(e)),
    };
    Row::new(card, own, &responses)
}

/// Rows by the scaling identity, and what Poisson's ratio and proportions of moduli change alone.
fn scaled(
    case: &Case,
    base: &Analysis,
    cards: Vec<(Card, bool)>,
    watch: &mut Watch,
    stage: &mut dyn FnMut(Stage),
) -> Result<(Vec<Row>, Vec<PoissonEffect>), AnalysisError> {
    let first = Response::of(case, base).ok_or_else(no_state)?;
    let mut kinds: Vec<Proportions> =
        cards.iter().map(|(card, _)| Proportions::of(case, card)).collect();
    kinds.sort_by(Proportions::order);
    kinds.dedup_by(|a, b| a.is_alike(b));
    let mut responses: Vec<Response> = Vec::new();
    let mut ways = Vec::new();
    for (n, kind) in kinds.iter().enumerate() {
        if kind.is_alike(&first.proportions) {
            responses.push(first.clone());
            continue;
        }
        let what = kind.words();
        stage(Stage { what: &what, number: n + 1, count: kinds.len() });
        let mut other = case.clone();
        kind.given_to(&mut other.material);
        let found = solve_again(&other, base, watch)?;
        let limits = first.limits.clone();
        let response = Response::new(&other, &found.path.steps, &found.peaks, limits);
        responses.push(response.ok_or_else(no_state)?);
        ways.push((*kind, way_of(&other, &base.mesh, &found.path.steps)));
    }
    let poisson = responses
        .iter()
        .map(|r| PoissonEffect {
            proportions: r.proportions,
            effort: r.full_effort() / first.full_effort() - 1.0,
            von_mises: r.worst(|p| p.von_mises) / first.worst(|p| p.von_mises) - 1.0,
        })
        .collect();
    let row = |(card, own): (Card, bool)| {
        let kind = Proportions::of(case, &card);
        let response = responses.iter().find(|r| r.proportions.is_alike(&kind)).unwrap_or(&first);
        row_of(card, own, response)
    };
    let mut rows: Vec<Row> = cards.into_iter().map(row).collect();
    throws::throw(case, base, &ways, &mut rows);
    Ok((rows, poisson))
}

/// Rows from a solve for each card.
fn apart(
    case: &Case,
    cards: Vec<(Card, bool)>,
    watch: &mut Watch,
    stage: &mut dyn FnMut(Stage),
) -> Result<Vec<Row>, AnalysisError> {
    let count = cards.len();
    let mut rows = Vec::new();
    for (n, (card, own)) in cards.into_iter().enumerate() {
        stage(Stage { what: &card.name, number: n + 1, count });
        let mut other = case.clone();
        other.material = card.clone();
        let analysis = analyse(&other, watch)?;
        let usual = Response::of(&other, &analysis).ok_or_else(no_state)?;
        let mut end_of_spread = |modulus: Option<f64>| -> Result<Option<Response>, AnalysisError> {
            let Some(modulus) = modulus else { return Ok(None) };
            beads::set_modulus(&mut other.material, modulus);
            let found = solve_again(&other, &analysis, watch)?;
            Ok(Response::new(&other, &found.path.steps, &found.peaks, usual.limits.clone()))
        };
        let soft = end_of_spread(card.youngs_modulus.low)?;
        let stiff = end_of_spread(card.youngs_modulus.high)?;
        rows.push(Row::new(card, own, &Responses { usual, soft, stiff }));
    }
    Ok(rows)
}

fn no_state() -> AnalysisError {
    AnalysisError::NothingConverged { reached: 0.0, cause: StopCause::Interrupted }
}

impl Comparison {
    /// Rows at the same draw: those that stay whole first, each group by its energy.
    #[must_use]
    pub fn same_file(&self) -> Vec<&Row> {
        let mut rows: Vec<&Row> = self.rows.iter().collect();
        // What has no strength on its card cannot be called fine.
        let rank = |row: &Row| row.fate.map_or(1, |f| 2 * f as usize);
        rows.sort_by(|a, b| {
            (rank(a).cmp(&rank(b))).then(b.energy.value.total_cmp(&a.energy.value))
        });
        rows
    }

    /// Rows by the energy at the largest safe draw.
    #[must_use]
    pub fn own_limit(&self) -> Vec<&Row> {
        let mut rows: Vec<&Row> = self.rows.iter().collect();
        rows.sort_by(|a, b| b.safe.energy.value.total_cmp(&a.safe.energy.value));
        rows
    }
}

fn remark_on_base(case: &Case, base: &Analysis, remarks: &mut Vec<Remark>) {
    if let Ended::Early(fraction, cause) = &base.solution.ended {
        remarks.push(Remark::caution(
            "stopped",
            format!(
                "the solve ended at {:.1} % of the draw ({cause}): all of this is up to there",
                100.0 * fraction
            ),
        ));
    }
    if base.solution.hot_spot.kind == SpotKind::SharpCorner {
        remarks.push(Remark::caution(
            "sharp-corner",
            "the part suffers most at a sharp re-entrant corner, where the stress has no finite value: \
             stresses, safe draws and what becomes of the part are those away from it, and too good",
        ));
    }
    remarks.extend(case.remarks.iter().cloned());
    let is_asked = |r: &&Remark| {
        [
            "unstable",
            "snap",
            "branch",
            "accuracy-not-reached",
            "plane-state",
            "no-launch",
            "launch-model",
            "launch-accuracy",
        ]
        .contains(&r.code)
    };
    remarks.extend(base.solution.remarks.iter().filter(is_asked).cloned());
}

fn remark_on_scaling(poisson: &[PoissonEffect], state: withy_solver::PlaneState) -> Remark {
    let span = |of: fn(&PoissonEffect) -> f64| {
        let range = poisson.iter().map(of).fold([0.0, 0.0], |[l, h], v| [min(l, v), max(h, v)]);
        range.map(|v| 100.0 * v)
    };
    let (effort, stress) = (span(|p| p.effort), span(|p| p.von_mises));
    let ratio = |p: Option<&PoissonEffect>| p.map_or(0.0, |p| p.proportions.poissons_ratio);
    let (first, last) = (ratio(poisson.first()), ratio(poisson.last()));
    let [one_for, alone] = if poisson.iter().any(|p| p.proportions.beads.is_some()) {
        [
            "pair of shares of the moduli across beads and of shear, and for each ",
            "They alone change",
        ]
    } else {
        ["", "The ratio alone changes"]
    };
    let state = match state {
        withy_solver::PlaneState::PlaneStress => "plane stress",
        withy_solver::PlaneState::PlaneStrain => "plane strain",
    };
    Remark::note(
        "scaling",
        format!(
            "force, energy and stress go with the modulus and strain stays: {} solves, one for each \
             {one_for}Poisson's ratio from {first} to {last}, serve all cards. {alone} force by \
             {:+.2} to {:+.2} % and stress by {:+.2} to {:+.2} % ({state}, as in the part's own material)",
            poisson.len(),
            effort[0],
            effort[1],
            stress[0],
            stress[1]
        ),
    )
}

fn remark_on_rows(rows: &[Row], remarks: &mut Vec<Remark>) {
    let past: Vec<&str> = rows
        .iter()
        .filter(|r| r.fate.is_some_and(|f| f > Fate::Fine))
        .map(|r| r.card.name.as_str())
        .collect();
    if !past.is_empty() {
        remarks.push(Remark::caution(
            "beyond-yield",
            format!(
                "at full draw {} {} past yielding or breaking: force, energy and stress there are those of \
                 the straight line of the linear law, and too high",
                past.join(", "),
                if past.len() == 1 { "is" } else { "are" }
            ),
        ));
    }
    if rows.iter().any(|r| r.safe.ends.is_none()) {
        remarks.push(Remark::note(
            "beyond-the-solved-draw",
            "where no limit is reached within the solved draw, the energy to its own limit is at least the \
             one given; draw or load it farther in the part file to see more",
        ));
    }
    let stretched: Vec<&str> = rows
        .iter()
        .filter(|r| r.strain.value > LARGEST_LINEAR_STRAIN)
        .map(|r| r.card.name.as_str())
        .collect();
    if !stretched.is_empty() {
        remarks.push(Remark::caution(
            "large-strain",
            format!(
                "{} strained by more than {:.0} %: the linear law is only a rough guide there",
                stretched.join(", ") + if stretched.len() == 1 { " is" } else { " are" },
                100.0 * LARGEST_LINEAR_STRAIN
            ),
        ));
    }
    let unknown: Vec<&str> =
        rows.iter().filter(|r| r.fate.is_none()).map(|r| r.card.name.as_str()).collect();
    if !unknown.is_empty() {
        remarks.push(Remark::caution(
            "no-strength",
            format!(
                "no strength is known of {}: nothing tells how far it may be drawn",
                unknown.join(", ")
            ),
        ));
    }
    let estimated: Vec<&str> = rows
        .iter()
        .filter(|r| r.card.youngs_modulus.estimated)
        .map(|r| r.card.name.as_str())
        .collect();
    if !estimated.is_empty() {
        remarks.push(Remark::caution(
            "estimated-youngs-modulus",
            format!(
                "the modulus of {} is estimated; its bands show what that leaves open",
                estimated.join(", ")
            ),
        ));
    }
}
