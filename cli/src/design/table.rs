//! Outcomes as columns of a table.

use super::Outcome;
use crate::export::curve::shortest;

/// Names of the columns, for a part that is drawn along a line or turned.
#[must_use]
pub fn columns(turned: bool) -> Vec<String> {
    let [draw, effort] = if turned { ["deg", "Nmm"] } else { ["mm", "N"] };
    let effort_word = if turned { "moment" } else { "force" };
    [
        "outcome".to_owned(),
        format!("draw_{draw}"),
        format!("{effort_word}_{effort}"),
        format!("largest_{effort_word}_{effort}"),
        "energy_mJ".to_owned(),
        "peak_strain".to_owned(),
        "peak_stress_MPa".to_owned(),
        format!("safe_draw_{draw}"),
        "ends_by".to_owned(),
        "across_N_per_mm".to_owned(),
        "in_turn_Nmm_per_deg".to_owned(),
        "stable".to_owned(),
        "mass_g".to_owned(),
        "bed_share".to_owned(),
        "speed_m_per_s".to_owned(),
        "thrown_mJ".to_owned(),
        "note".to_owned(),
    ]
    .to_vec()
}

/// The cells of a design with an outcome.
#[must_use]
pub fn cells(o: &Outcome) -> Vec<String> {
    let maybe = |value: Option<f64>| value.map_or_else(String::new, shortest);
    let note = if o.complete { "" } else { "no equilibrium was found beyond this draw" };
    vec![
        if o.complete { "solved" } else { "stopped early" }.to_owned(),
        shortest(o.draw),
        shortest(o.effort),
        shortest(o.largest_effort),
        shortest(o.energy),
        shortest(o.strain),
        shortest(o.stress),
        shortest(o.safe_draw),
        o.ends_by.map_or("", |kind| kind.code()).to_owned(),
        maybe(o.across),
        maybe(o.in_turn),
        o.stable.to_string(),
        maybe(o.mass),
        maybe(o.bed_share),
        maybe(o.speed),
        maybe(o.thrown),
        note.to_owned(),
    ]
}

/// The cells of a design without one: a word for it and the reason, on one line.
#[must_use]
pub fn cells_without(word: &str, why: &str) -> Vec<String> {
    let mut cells = vec![String::new(); columns(false).len()];
    word.clone_into(&mut cells[0]);
    if let Some(note) = cells.last_mut() {
        *note = why.split_whitespace().collect::<Vec<_>>().join(" ");
    }
    cells
}
