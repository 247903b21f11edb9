//! `withy scale`: the part at other sizes, by the laws of similarity.
//!
//! A drawing k times as large in the plane and in thickness, of the same material and drawn k times as far, has the
//! same strains and stresses everywhere. So its stiffness goes with k, its force with k^2, its energy with k^3, its
//! mass with k^3; what is thrown, if it is k^3 as heavy, is as fast as before, k times as late. Drawn in the plane alone,
//! thickness as it is, force and stiffness have one k less, energy and mass likewise, and the speed stays if the
//! projectile weighs k^2 as much. (Dimensional analysis; exact for the elastic part under any displacement, since the
//! equations know no length of their own. Viscosity, gravity, air and the printer know one.)

use super::solve::{SOLVED, SolveError, Voice, run};
use crate::analysis::{Axis, LimitKind, moving_regions};
use crate::args::ScaleArgs;
use crate::case::{self, Case, Overrides};
use crate::design::plane::of_analysis;
use crate::picture::three_digits;
use crate::printing::bed;
use crate::table::{Side, aligned};
use std::sync::atomic::AtomicBool;
use withy_mesh::number::min;
use withy_mesh::walls;

/// Factors that are shown if none is asked for.
const USUAL_FACTORS: [f64; 6] = [0.5, 0.75, 1.0, 1.25, 1.5, 2.0];
/// Walls of fewer lines than this are weak: common practice, no source.
const FEWEST_LINES: f64 = 2.0;

/// Solves the part once and tells of its other sizes; returns what goes to standard output and the exit status.
///
/// # Errors
/// A part that is refused or that nothing is known of.
pub fn scale(
    args: &ScaleArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SolveError> {
    let overrides =
        Overrides { accuracy: args.accuracy.map(|a| a.value()), ..Overrides::default() };
    let case = case::read(&args.part, &overrides).map_err(Box::new)?;
    let analysis = run(&case, interrupted, voice)?;
    let Some(base) = of_analysis(&case, &analysis) else { return Err(SolveError::Interrupted) };
    let factors = if args.factor.is_empty() { USUAL_FACTORS.to_vec() } else { args.factor.clone() };
    let moving = moving_regions(&case);
    let turned = moving.first().is_some_and(|name| matches!(Axis::of(&case, name), Axis::Turn(_)));
    // Powers of k in the plane; one more where the thickness grows too.
    let depth = if args.keep_thickness { 0.0 } else { 1.0 };
    let plane = if turned { 2.0 } else { 1.0 };
    let [travel, effort] = if turned { ["turn deg", "moment Nmm"] } else { ["draw mm", "force N"] };
    let mut header =
        vec!["scale".to_owned(), "size mm".to_owned(), travel.to_owned(), effort.to_owned()];
    header.extend(["energy mJ", "strain %", "guidance N/mm"].map(str::to_owned));
    if base.mass.is_some() {
        header.push("weight g".to_owned());
    }
    if let Some(launch) = &case.launch {
        header.push("throws g".to_owned());
        // A force of friction stays as it is: what is thrown is then not similar.
        header
            .push(if launch.friction > 0.0 { "at m/s (no friction)" } else { "at m/s" }.to_owned());
    }
    header.extend(["wall mm", "printer"].map(str::to_owned));
    let sides = vec![Side::Left; header.len()];
    let mut rows = vec![header];
    let narrowest = walls(&case.outline).iter().map(|w| w.width).reduce(min);
    for k in &factors {
        let bounds = case.outline.bounds();
        let thick = case.thickness * if args.keep_thickness { 1.0 } else { *k };
        let power = |value: f64, power: f64| three_digits(value * k.powf(power));
        let mut row = vec![
            format!("{k}"),
            format!(
                "{} x {} x {}",
                three_digits(k * bounds.width()),
                three_digits(k * bounds.height()),
                three_digits(thick)
            ),
            power(base.draw, if turned { 0.0 } else { 1.0 }),
            power(base.effort, plane + depth),
            power(base.energy, 2.0 + depth),
            format!("{:.2}", 100.0 * base.strain),
            base.across.map_or_else(|| "-".to_owned(), |a| power(a, depth)),
        ];
        if let Some(mass) = base.mass {
            row.push(power(mass, 2.0 + depth));
        }
        if let Some(launch) = &case.launch {
            row.push(power(launch.mass, 2.0 + depth));
            row.push(base.speed.map_or_else(|| "-".to_owned(), three_digits));
        }
        row.push(narrowest.map_or_else(|| "-".to_owned(), |w| three_digits(k * w)));
        row.push(printer(&case, *k, narrowest));
        rows.push(row);
    }
    let kept = if args.keep_thickness { ", thickness kept" } else { "" };
    let mut text = format!("{} at other sizes{kept}\n", case.title);
    text += &aligned(&rows, &sides);
    text += &laws(&case, args.keep_thickness, turned);
    text += &limits(&case, &base, k_to_bed(&case));
    if case.launch.is_some() {
        text += &crate::remark::cautions();
    }
    Ok((text, SOLVED))
}

/// What the table goes by.
fn laws(case: &Case, flat: bool, turned: bool) -> String {
    let powers = match (flat, turned) {
        (false, false) => "draw k, force k^2, energy and weight k^3, guidance across k",
        (false, true) => "turn as it is, moment, energy and weight k^3, guidance across k",
        (true, false) => "draw k, force k, energy and weight k^2, guidance across as it is",
        (true, true) => "turn as it is, moment, energy and weight k^2, guidance across as it is",
    };
    let mut text = format!("\n{powers}; strain and stress as they are\n");
    if case.launch.is_some() {
        text += "as fast as before with a projectile that grows with the part; with the same one a larger part throws faster\n";
    }
    text += "drawn only as far as before, a part k times as large needs about k times the force and stores about k times the \
             energy, not k^3\n";
    text
}

/// The largest scale that the bed takes.
fn k_to_bed(case: &Case) -> Option<f64> {
    case.printer
        .as_ref()
        .and_then(|p| p.bed)
        .map(|sides| 1.0 / bed::fit(&case.outline, sides).share)
}

fn limits(case: &Case, base: &crate::design::Outcome, bed: Option<f64>) -> String {
    let mut text = String::new();
    if let Some(k) = bed {
        text += &format!("the bed takes it up to a scale of {}\n", three_digits(k));
    }
    if let Some(hand) = case.hand.and_then(|hand| hand.force) {
        let k = (hand / base.largest_effort).sqrt();
        text += &format!(
            "the hand's {} N are reached at a scale of {}\n",
            three_digits(hand),
            three_digits(k)
        );
    }
    match base.ends_by {
        Some(kind) if kind != LimitKind::Hand => {
            text += &format!(
                "at any size it is safe up to {} % of its draw: {}\n",
                three_digits(100.0 * base.safe_draw / base.draw),
                kind.words()
            );
        }
        _ => {}
    }
    text
}

/// What the printer makes of the part at a scale.
fn printer(case: &Case, k: f64, narrowest: Option<f64>) -> String {
    let Some(printer) = &case.printer else { return "not told".into() };
    let mut words = Vec::new();
    if let Some(largest) = k_to_bed(case)
        && k > largest * (1.0 + 1e-9)
    {
        words.push("off the bed".to_owned());
    }
    if let (Some(line), Some(wall)) = (printer.extrusion_width, narrowest) {
        let lines = k * wall / line;
        if lines < FEWEST_LINES * (1.0 - 1e-3) {
            words.push(format!("walls of {lines:.1} lines"));
        }
    }
    if words.is_empty() { "prints".into() } else { words.join(", ") }
}
