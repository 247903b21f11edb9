//! What the user's hand can give.

use super::CaseCause;
use super::acts::Acts;
use super::placed::Placed;
use super::written::PartFile;
use crate::error::{Refusal, Source};

/// The largest efforts of a hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hand {
    /// Along a line (N).
    pub force: Option<f64>,
    /// In a turn (N mm).
    pub moment: Option<f64>,
}

/// Reads `[hand]`, and refuses what would be compared with nothing.
pub(super) fn read(file: &PartFile, acts: &Acts, source: &Source) -> Result<Option<Hand>, Refusal> {
    let Some(table) = &file.hand else { return Ok(None) };
    let force = match &table.force {
        Some(force) => Some(positive(source, "the hand's force", force, force.value(), "N")?),
        None => None,
    };
    let moment = match &table.moment {
        Some(m) => Some(positive(source, "the hand's moment", m, m.value(), "N mm")?),
        None => None,
    };
    if force.is_none() && moment.is_none() {
        return Err(Refusal::at(source, table.span(), CaseCause::EmptyHand));
    }
    // As the draw's axis is chosen: a region that is shifted or pushed counts by that, else by its turn.
    let shifted = |region: &str| {
        let drive = acts.drives.iter().filter(|d| d.region == region).map(|d| d.shift);
        let load = acts.loads.iter().filter(|l| l.region == region).map(|l| l.force);
        drive.chain(load).any(|v| v[0].hypot(v[1]) > 0.0)
    };
    let regions: Vec<&str> = acts
        .drives
        .iter()
        .map(|d| d.region.as_str())
        .chain(acts.loads.iter().map(|l| l.region.as_str()))
        .collect();
    let idle = |span, what, why| Err(Refusal::at(source, span, CaseCause::IdleHand { what, why }));
    if let Some(force) = table.force.as_ref().filter(|_| !regions.iter().any(|r| shifted(r))) {
        return idle(force.span(), "force", "nothing is drawn or pushed along a line");
    }
    if let Some(moment) = table.moment.as_ref().filter(|_| regions.iter().all(|r| shifted(r))) {
        return idle(moment.span(), "moment", "everything is drawn or pushed along a line");
    }
    Ok(Some(Hand { force, moment }))
}

fn positive<T>(
    source: &Source,
    what: &str,
    place: &Placed<T>,
    value: f64,
    unit: &str,
) -> Result<f64, Refusal> {
    if value > 0.0 && value.is_finite() {
        return Ok(value);
    }
    let cause = CaseCause::OutOfRange {
        what: what.into(),
        found: format!("{value} {unit}"),
        range: "above 0".into(),
    };
    Err(Refusal::at(source, place.span(), cause))
}
