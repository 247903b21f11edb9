//! `withy compare`: a part in every material.

use super::solve::{
    SOLVED, STOPPED, SolveError, Voice, go_on, progress_line, results_folder, unsolvable,
};
use crate::analysis::{Axis, Ended, Progress, moving_regions};
use crate::args::CompareArgs;
use crate::case::{self, Case};
use crate::comparison::{Band, Comparison, Row, Stage, Throw, compare as compare_cards};
use crate::export::comparison::{Document, materials_csv};
use crate::export::{ResultFile, write_results};
use crate::material::{card, shelf};
use crate::picture::{self, EnergyBar, MaterialsPicture, three_digits};
use crate::remark::{Remark, cautions};
use crate::table::{Side, aligned};
use std::cell::RefCell;
use std::sync::atomic::AtomicBool;
use withy_solver::StopCause;

/// Compares, writes the results, and returns what goes to standard output and the exit status.
///
/// # Errors
/// Only if there are no results.
pub fn compare(
    args: &CompareArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SolveError> {
    let case = case::read(&args.part, &args.fineness.overrides()).map_err(Box::new)?;
    let names: Vec<&str> = shelf().collect();
    let names = names.into_iter().chain(args.cards.iter().map(String::as_str));
    let mut cards = Vec::new();
    let mut estimates = Vec::new();
    for name in names {
        let (card, remarks) = card(name).map_err(Box::new)?;
        if !cards.contains(&card) {
            estimates.extend(
                remarks
                    .into_iter()
                    .map(|r| Remark { text: format!("{}: {}", card.name, r.text), ..r }),
            );
            cards.push(card);
        }
    }
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    let mut comparison = run(&case, cards, interrupted, voice)?;
    comparison.remarks.extend(estimates);
    let document = Document::new(&case, &comparison);
    let json = document.to_json()?;
    write_results(&out, &results(&case, &comparison, &json))?;
    for remark in &document.remarks {
        voice.say(&format!("{}: {}", remark.level.word(), remark.text));
    }
    voice.say(&format!(
        "results are in {}: compare.json, materials.csv, materials.svg",
        out.display()
    ));
    let text = if args.json { json } else { tables(&case, &comparison) };
    let status = match &comparison.base.solution.ended {
        Ended::Early(..) => STOPPED,
        Ended::Complete => SOLVED,
    };
    Ok((text, status))
}

fn run(
    case: &Case,
    cards: Vec<crate::material::Card>,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<Comparison, SolveError> {
    // Both the stages and the progress within them are told in the same place.
    let (voice, stage) = (RefCell::new(voice), RefCell::new(String::new()));
    let mut pass = 1;
    let mut watch = |progress: Progress| {
        if let Some(line) = progress_line(progress, case.steps, &mut pass) {
            voice.borrow_mut().progress(&format!("{}{line}", stage.borrow()));
        }
        go_on(interrupted)
    };
    let mut tell = |s: Stage| {
        *stage.borrow_mut() = format!("{} ({} of {}), ", s.what, s.number, s.count);
    };
    let found = compare_cards(case, cards, &mut watch, &mut tell);
    let stopped = SolveError::Interrupted;
    match found {
        // A comparison with some of the cards would read as one with all of them.
        _ if go_on(interrupted).is_break() => Err(stopped),
        Ok(comparison) => match comparison.base.solution.ended {
            Ended::Early(_, StopCause::Interrupted) => Err(stopped),
            Ended::Early(..) | Ended::Complete => Ok(comparison),
        },
        Err(cause) => Err(unsolvable(case, cause)),
    }
}

fn results(case: &Case, comparison: &Comparison, json: &str) -> Vec<ResultFile> {
    let region = moving_regions(case).first().copied().unwrap_or_default();
    let [unit, _] = Axis::of(case, region).units();
    let bars: Vec<EnergyBar> = comparison.own_limit().into_iter().map(|r| bar(r, unit)).collect();
    let subtitle =
        "What each material stores, drawn to its own limit; the range is what its card leaves open";
    let picture = MaterialsPicture { title: &case.title, subtitle, bars: &bars };
    vec![
        ResultFile { name: "compare.json", text: json.to_owned() },
        ResultFile { name: "materials.csv", text: materials_csv(case, comparison) },
        ResultFile { name: "materials.svg", text: picture::materials(&picture) },
    ]
}

fn bar(row: &Row, unit: &str) -> EnergyBar {
    let safe = &row.safe;
    let [travel, energy] = [safe.travel.value, safe.energy.value].map(three_digits);
    EnergyBar {
        name: row.card.name.clone(),
        own: row.own,
        energy: safe.energy.value,
        range: safe.energy.range,
        at_least: safe.ends.is_none(),
        high_at_least: safe.high_is_beyond,
        words: match safe.ends {
            Some(kind) => format!("{energy} mJ, {travel} {unit}: {}", kind.words()),
            None => format!("{energy} mJ, {travel} {unit}: none so far"),
        },
    }
}

/// Both rankings, and what is best in each.
fn tables(case: &Case, comparison: &Comparison) -> String {
    let region = moving_regions(case).first().copied().unwrap_or_default();
    let [length, force] = Axis::of(case, region).units();
    let mut text = format!("{}: {} materials\n", case.title, comparison.rows.len());
    text += &format!("\nSame file, other filament: {region} at full draw\n");
    text += &same_file(comparison, length, force);
    text += "\nDrawn to its own limit\n";
    text += &own_limit(comparison, length);
    text += &thrown(comparison);
    text += "\nIn brackets: what the spreads of the cards leave open, the ends of each taken together in every way\n";
    if comparison.rows.iter().any(Row::is_beyond_linear) {
        text += "* past yielding or breaking: the numbers are those of the straight line, and too high\n";
    }
    text += "\n";
    text += &verdict(comparison, length);
    if comparison.rows.iter().any(|r| r.throws.is_some()) {
        text += &cautions();
    }
    text
}

/// Speeds of three masses from full draw, and of each from the safe one.
fn thrown(comparison: &Comparison) -> String {
    let own_limit = comparison.own_limit();
    let Some(first) = own_limit.iter().find_map(|r| r.throws.as_ref()) else {
        return String::new();
    };
    let mut header = vec!["card".to_owned()];
    header.extend(first.full.iter().map(|t| format!("{} g, full draw", three_digits(t.mass))));
    header.extend(first.safe.iter().map(|t| format!("{} g, safe draw", three_digits(t.mass))));
    let sides = vec![Side::Left; header.len()];
    let mut rows = vec![header];
    for row in own_limit {
        let Some(throws) = &row.throws else { continue };
        let star = if row.is_beyond_linear() { "*" } else { "" };
        let speed = |t: &Throw, words: &dyn Fn(&Band) -> String| {
            t.speed.as_ref().map_or_else(|| "-".to_owned(), words)
        };
        let mut cells = vec![name(row)];
        cells.extend(throws.full.iter().map(|t| speed(t, &|band| shown(band, 1.0) + star)));
        cells.extend(throws.safe.iter().map(|t| speed(t, &|band| open(band, row))));
        rows.push(cells);
    }
    format!("\nThrown at, m/s\n{}", aligned(&rows, &sides))
}

/// A value with its range in brackets.
fn shown(band: &Band, factor: f64) -> String {
    let value = three_digits(factor * band.value);
    match band.range {
        Some([low, high]) => {
            format!("{value} ({}-{})", three_digits(factor * low), three_digits(factor * high))
        }
        None => value,
    }
}

/// A value at the safe draw: the upper end of a range that leaves the solved draw is a lower bound.
fn open(band: &Band, row: &Row) -> String {
    let text = shown(band, 1.0);
    match text.strip_suffix(')') {
        Some(closed) if row.safe.high_is_beyond => format!("{closed}+)"),
        _ => text,
    }
}

/// A share in whole per cent.
fn percent(band: Option<&Band>) -> String {
    let Some(band) = band else { return "-".to_owned() };
    let number = |v: f64| format!("{:.0}", 100.0 * v);
    match band.range {
        Some([low, high]) => {
            format!("{} ({}-{})", number(band.value), number(low), number(high))
        }
        None => number(band.value),
    }
}

fn name(row: &Row) -> String {
    if row.own { format!("{} <- this part", row.card.name) } else { row.card.name.clone() }
}

fn same_file(comparison: &Comparison, length: &str, force: &str) -> String {
    let varied = comparison.method == crate::comparison::Method::Apart;
    let mut header = vec!["card".to_owned(), format!("effort {force}")];
    if varied {
        header.push(format!("travel {length}"));
    }
    header.extend(
        [
            "energy mJ",
            "strain % of yield",
            "stress MPa",
            "of yield %",
            "of break %",
            "at full draw",
        ]
        .map(str::to_owned),
    );
    let mut sides = vec![Side::Left; header.len()];
    sides[0] = Side::Left;
    let mut rows = vec![header];
    for row in comparison.same_file() {
        let star = if row.is_beyond_linear() { "*" } else { "" };
        let mut cells = vec![name(row), shown(&row.effort, 1.0) + star];
        if varied {
            cells.push(shown(&row.travel, 1.0) + star);
        }
        cells.push(shown(&row.energy, 1.0) + star);
        let limit = row.card.yield_strain.as_ref().map(|s| format!(" of {:.1}", 100.0 * s.value));
        cells.push(format!("{:.2}{}", 100.0 * row.strain.value, limit.unwrap_or_default()));
        cells.push(three_digits(row.von_mises.value) + star);
        cells.push(percent(row.of_yield.as_ref()));
        cells.push(percent(row.of_break.as_ref()));
        cells.push(fate(row));
        rows.push(cells);
    }
    aligned(&rows, &sides)
}

/// What becomes of the part, and what it may come to.
fn fate(row: &Row) -> String {
    let mut text = match (row.fate, row.worst_fate) {
        (None, _) => "no strength known".to_owned(),
        (Some(usual), Some(worst)) if worst > usual => {
            format!("{}, at worst {}", usual.words(), worst.words())
        }
        (Some(usual), _) => usual.words().to_owned(),
    };
    if !row.completed {
        text += " (solved in part)";
    }
    text
}

fn own_limit(comparison: &Comparison, length: &str) -> String {
    let safe_draw = format!("safe draw {length}");
    let header = ["card", "energy mJ", &safe_draw, "ends by"].map(str::to_owned);
    let mut rows = vec![header.to_vec()];
    for row in comparison.own_limit() {
        let safe = &row.safe;
        let least = if safe.ends.is_none() { ">= " } else { "" };
        let ends = safe.ends.map_or("beyond the solved draw", |kind| kind.words());
        rows.push(vec![
            name(row),
            format!("{least}{}", open(&safe.energy, row)),
            open(&safe.travel, row),
            ends.to_owned(),
        ]);
    }
    aligned(&rows, &[Side::Left; 4])
}

/// What is best in each ranking, in a sentence each.
fn verdict(comparison: &Comparison, length: &str) -> String {
    let mut text = String::new();
    let whole = |r: &&&Row| r.fate == Some(crate::comparison::Fate::Fine);
    match comparison.same_file().iter().find(whole) {
        Some(best) => {
            text += &format!(
                "In the same file {} stores most of those that stay whole: {} mJ\n",
                best.card.name,
                three_digits(best.energy.value)
            );
        }
        None => text += "In the same file none stays whole: draw less, or make the ribs longer\n",
    }
    if let Some(best) = comparison.own_limit().first() {
        let least = if best.safe.ends.is_none() { "at least " } else { "" };
        text += &format!(
            "To its own limit {} stores most: {least}{} mJ at {} {length}\n",
            best.card.name,
            three_digits(best.safe.energy.value),
            three_digits(best.safe.travel.value)
        );
    }
    text
}
