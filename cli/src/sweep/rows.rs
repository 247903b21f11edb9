//! The table of a sweep: its columns, and the row of a design.

use super::Sweep;
use crate::design::outcome::NoOutcome;
use crate::design::table::{cells, cells_without, columns};
use crate::design::{self, Written, evaluate};
use crate::export::curve::quote;
use std::sync::atomic::AtomicBool;

/// Columns before the varied numbers: the files' fingerprint, how many designs, which one, its model.
pub const FIRST: [&str; 4] = ["sweep", "designs", "design", "model"];

/// The first line.
#[must_use]
pub fn header(sweep: &Sweep) -> String {
    let own = sweep.varied.iter().map(|v| v.column.clone());
    let all: Vec<String> =
        FIRST.iter().map(|s| (*s).to_owned()).chain(own).chain(columns(sweep.turned)).collect();
    line(&all)
}

/// The line of a design, counted from 0; `None` if it was interrupted. A design that is refused has its reason
/// in its row.
#[must_use]
pub fn row(sweep: &Sweep, number: usize, interrupted: &AtomicBool) -> Option<String> {
    let values = sweep.values(number);
    let pairs: Vec<_> = sweep.varied.iter().map(|v| &v.key).zip(&values).collect();
    let read = design::text_with(&sweep.base, &pairs).and_then(|text| {
        design::read(&sweep.part, text, &sweep.overrides)
            // The place is one of the design's own text, which nobody sees.
            .map_err(|refusal| refusal.cause().to_string())
    });
    let own = match read {
        Err(why) => cells_without("refused", &why),
        Ok(case) => match evaluate(&case, sweep.model, interrupted) {
            Ok(outcome) => cells(&outcome),
            Err(NoOutcome::Interrupted) => return None,
            Err(NoOutcome::Because(why)) => cells_without("unsolved", &why),
        },
    };
    let first = [
        sweep.fingerprint.clone(),
        sweep.designs.to_string(),
        (number + 1).to_string(),
        sweep.model.name().to_owned(),
    ];
    let values = values.iter().map(Written::bare);
    let all: Vec<String> = first.into_iter().chain(values).chain(own).collect();
    Some(line(&all))
}

fn line(cells: &[String]) -> String {
    let quoted: Vec<String> = cells.iter().map(|c| quote(c)).collect();
    quoted.join(",") + "\n"
}
