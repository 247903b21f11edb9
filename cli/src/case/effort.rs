//! How much is computed: reported steps, accuracy, and the budget for better meshes.

use super::CaseCause;
use super::Overrides;
use super::placed::Placed;
use super::written::PartFile;
use crate::error::{Refusal, Source};
use std::ops::Range;

/// Results are reported at so many equal parts of the draw, if the part file does not say.
const USUAL_STEPS: u32 = 20;
/// More steps than this are refused: they cost time and disk without showing more.
const MOST_STEPS: u32 = 1000;
/// Accuracy of the hot spot's stress, if the part file does not say.
const USUAL_ACCURACY: f64 = 0.02;
/// No mesh of a sensible size proves more than the first, and the last says nothing.
const ACCURACY_RANGE: (f64, f64) = (0.001, 0.5);
/// Elements of the largest mesh, if the part file does not say.
pub(super) const USUAL_ELEMENTS: usize = 400_000;
/// Fewer elements mesh nothing, more do not fit into memory.
const ELEMENTS_RANGE: (i64, i64) = (100, 4_000_000);

/// What `[solve]` and the command line ask for.
pub(super) struct Effort {
    pub(super) steps: u32,
    pub(super) accuracy: f64,
    pub(super) most_elements: usize,
    pub(super) most_time: Option<f64>,
}

/// Reads `[solve]`; the command line has the last word.
pub(super) fn read(
    file: &PartFile,
    source: &Source,
    overrides: &Overrides,
) -> Result<Effort, Refusal> {
    let table = &file.solve;
    let refuse =
        |what: &str, option: bool, span: Option<Range<usize>>, found: String, range: &str| {
            let (what, span) =
                if option { (format!("--{what}"), None) } else { (what.to_owned(), span) };
            let cause = CaseCause::OutOfRange { what, found, range: range.into() };
            Refusal::at_or_of(source, span, cause)
        };
    let written = table.steps.as_ref();
    let usual = written.map_or(i64::from(USUAL_STEPS), |steps| **steps);
    let count = overrides.steps.map_or(usual, i64::from);
    let steps =
        u32::try_from(count).ok().filter(|s| (1..=MOST_STEPS).contains(s)).ok_or_else(|| {
            let range = format!("from 1 to {MOST_STEPS}");
            let option = overrides.steps.is_some();
            refuse("steps", option, written.map(Placed::span), count.to_string(), &range)
        })?;
    let written = table.accuracy.as_ref();
    let usual = written.map_or(USUAL_ACCURACY, |ratio| ratio.value());
    let accuracy = overrides.accuracy.unwrap_or(usual);
    if !(accuracy >= ACCURACY_RANGE.0 && accuracy <= ACCURACY_RANGE.1) {
        let (found, range) = (format!("{} %", 100.0 * accuracy), "from \"0.1 %\" to \"50 %\"");
        let option = overrides.accuracy.is_some();
        return Err(refuse("accuracy", option, written.map(Placed::span), found, range));
    }
    let written = table.elements.as_ref();
    let count = overrides.elements.map(i64::from).or(written.map(|e| **e));
    let most_elements = match count {
        None => USUAL_ELEMENTS,
        Some(count) => usize::try_from(count)
            .ok()
            .filter(|_| (ELEMENTS_RANGE.0..=ELEMENTS_RANGE.1).contains(&count))
            .ok_or_else(|| {
                let range = format!("from {} to {}", ELEMENTS_RANGE.0, ELEMENTS_RANGE.1);
                let option = overrides.elements.is_some();
                refuse("elements", option, written.map(Placed::span), count.to_string(), &range)
            })?,
    };
    let written = table.time.as_ref();
    let most_time = overrides.time.or(written.map(|t| t.value()));
    if let Some(time) = most_time.filter(|t| *t <= 0.0) {
        let option = overrides.time.is_some();
        let found = format!("{time} ms");
        return Err(refuse("time", option, written.map(Placed::span), found, "above 0 ms"));
    }
    Ok(Effort { steps, accuracy, most_elements, most_time })
}
