//! `withy seek`: the numbers of a spring that stores or throws most within limits.

use super::solve::{CHECK_FAILED, INTERRUPTED, REFUSED, SOLVED, Voice, results_folder};
use crate::args::SeekArgs;
use crate::design::{Model, Outcome};
use crate::error::Refusal;
use crate::export::drawing::drawing;
use crate::export::folder::{FolderError, WholeFile, remove_stale, write_whole};
use crate::picture::{ParetoPicture, pareto, three_digits};
use crate::remark::cautions;
use crate::seek::trial::{SeekStop, Trial, Trials};
use crate::seek::wish::{Correction, Goal};
use crate::seek::{Confirmed, Found, Seek, read, search};
use crate::sweep::journal::JournalError;
use crate::table::{Side, aligned};
use miette::Diagnostic;
use serde_json::{Value, json};
use std::sync::atomic::AtomicBool;
use thiserror::Error;

/// The part that was found, and its drawing.
const PART: &str = "found.toml";
const DRAWING: &str = "found.svg";

/// Why nothing was found.
#[derive(Debug, Error, Diagnostic)]
pub enum SeekError {
    /// The input.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Refused(#[from] Box<Refusal>),
    /// The search.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Stopped(#[from] SeekStop),
    /// The journal.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Journal(#[from] JournalError),
    /// The results folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The data.
    #[error("the results cannot be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

impl SeekError {
    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        match self {
            Self::Stopped(SeekStop::Interrupted) => INTERRUPTED,
            _ => REFUSED,
        }
    }
}

/// Searches; returns what goes to standard output and the exit status.
///
/// # Errors
/// A search that is refused or interrupted, a folder that cannot be written.
pub fn seek(
    args: &SeekArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SeekError> {
    let seek = read(&args.seek).map_err(Box::new)?;
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.seek));
    write_whole(&out, &[])?;
    let trials = Trials::open(&seek, &out.join("seek.journal"), args.afresh, interrupted)?;
    let found = search(&seek, &trials, interrupted, &mut |what| voice.progress(what))?;
    let best = found.best.map(|n| &found.confirmed[n]);
    let data = serde_json::to_string_pretty(&document(&seek, &trials, &found))? + "\n";
    let picture = front(&seek, &trials, &found);
    let mut files = vec![
        WholeFile { name: "seek.json", bytes: data.as_bytes() },
        WholeFile { name: "pareto.svg", bytes: picture.as_bytes() },
    ];
    let part = best.and_then(|b| trials.text(&b.point).ok().zip(trials.case(&b.point).ok()));
    let outline = part
        .as_ref()
        .map(|(text, case)| (text.clone(), drawing(&case.title, &case.outline, case.page)));
    match &outline {
        Some((text, svg)) => files.extend([
            WholeFile { name: PART, bytes: text.as_bytes() },
            WholeFile { name: DRAWING, bytes: svg.as_bytes() },
        ]),
        None => remove_stale(&out, &[PART, DRAWING])?,
    }
    write_whole(&out, &files)?;
    let names: Vec<&str> = files.iter().map(|f| f.name).collect();
    voice.say(&format!("results are in {}: {}", out.display(), names.join(", ")));
    let status = if best.is_some() { SOLVED } else { CHECK_FAILED };
    Ok((told(&seek, &trials, &found), status))
}

/// The answer in a table.
fn told(seek: &Seek, trials: &Trials, found: &Found) -> String {
    let goal = match seek.wish.goal {
        Goal::MostEnergy => "the most energy",
        Goal::MostSpeed => "the most speed",
        Goal::LeastForce => "the least force",
    };
    let beams = trials.rows().iter().filter(|row| row.contains(",beam,")).count();
    let mut text = format!(
        "{}: {goal}, {beams} designs by beams, {} in plane stress\n",
        seek.title,
        found.confirmed.len()
    );
    let best = found.best.map(|n| &found.confirmed[n]);
    let shown: Vec<(&str, &Confirmed)> = match best {
        Some(best) => vec![("as it is", &found.start), ("found", best)],
        None => {
            text += "no design of the last round is confirmed within the limits: widen them or the ranges, or give it more rounds\n";
            let last = found.confirmed.iter().rev().find(|c| c.plane.is_ok());
            std::iter::once(("as it is", &found.start))
                .chain(last.map(|c| ("nearest", c)))
                .collect()
        }
    };
    let mut rows = vec![vec!["in plane stress".to_owned()]];
    rows[0].extend(shown.iter().map(|(label, _)| (*label).to_owned()));
    rows[0].push("limit".to_owned());
    let wish = &seek.wish;
    let number = |v: Option<f64>| v.map_or_else(|| "-".to_owned(), three_digits);
    type Of = fn(&Outcome) -> Option<f64>;
    let lines: [(&str, Of, Option<f64>); 9] = [
        ("energy mJ", |o| Some(o.energy), (wish.energy > 0.0).then_some(wish.energy)),
        ("throws at m/s", |o| o.speed, None),
        ("draw mm", |o| Some(o.draw), None),
        ("largest force N", |o| Some(o.largest_effort), wish.force),
        ("strain %", |o| Some(100.0 * o.strain), wish.strain.map(|s| 100.0 * s)),
        ("stress MPa", |o| Some(o.stress), wish.stress),
        ("guidance across N/mm", |o| o.across, wish.across),
        ("guidance in turn N mm/deg", |o| o.in_turn, wish.in_turn),
        ("share of the bed %", |o| o.bed_share.map(|s| 100.0 * s), Some(100.0)),
    ];
    for (label, of, limit) in lines {
        let mut row = vec![label.to_owned()];
        row.extend(shown.iter().map(|(_, c)| number(c.plane.as_ref().ok().and_then(of))));
        row.push(number(limit));
        if row[1..=shown.len()].iter().any(|cell| cell != "-") {
            rows.push(row);
        }
    }
    for (n, variable) in seek.variables.iter().enumerate() {
        let mut row = vec![variable.key.to_string()];
        row.extend(shown.iter().map(|(_, c)| trials.values(&c.point)[n].words()));
        let [low, high] = [0.0, 1.0].map(|s| variable.values.at(s).bare());
        row.push(format!("{low} to {high}"));
        rows.push(row);
    }
    text += &aligned(&rows, &vec![Side::Left; shown.len() + 2]);
    if let Err(why) = &found.start.plane {
        text += &format!("the part as it is does not count: {why}\n");
    }
    for (label, one) in &shown {
        if !one.broken.is_empty() {
            let broken =
                one.broken.iter().map(|(name, by)| format!("{name} by {:.1} %", 100.0 * by));
            text += &format!("{label}: passes {}\n", broken.collect::<Vec<_>>().join(", "));
        }
    }
    if let Some(correction) = best.and_then(|b| b.plane.as_ref().ok().zip(b.beam.as_ref())) {
        let c = Correction::of(correction.0, correction.1);
        text += &format!(
            "beams against plane stress there: force {:+.1} %, energy {:+.1} %, strain {:+.1} %\n",
            100.0 * (1.0 / c.effort - 1.0),
            100.0 * (1.0 / c.energy - 1.0),
            100.0 * (1.0 / c.strain - 1.0)
        );
    }
    let throws = found.start.beam.as_ref().is_some_and(|o| o.speed.is_some());
    if throws { text + &cautions() } else { text }
}

/// Everything as data.
fn document(seek: &Seek, trials: &Trials, found: &Found) -> Value {
    let outcome = |o: &Outcome| {
        json!({
            "draw_mm": o.draw, "force_N": o.effort, "largest_force_N": o.largest_effort,
            "energy_mJ": o.energy, "peak_strain": o.strain, "peak_stress_MPa": o.stress,
            "safe_draw_mm": o.safe_draw, "ends_by": o.ends_by.map(|k| k.code()),
            "across_N_per_mm": o.across, "in_turn_Nmm_per_deg": o.in_turn, "stable": o.stable,
            "mass_g": o.mass, "bed_share": o.bed_share, "speed_m_per_s": o.speed, "thrown_mJ": o.thrown,
        })
    };
    let values = |point: &[f64]| -> Value {
        let values = trials.values(point);
        let pairs = seek.variables.iter().zip(values);
        pairs
            .map(|(v, w)| (v.key.to_string(), Value::from(w.words())))
            .collect::<serde_json::Map<_, _>>()
            .into()
    };
    let one = |c: &Confirmed| {
        json!({
            "round": c.round, "values": values(&c.point), "holds": c.holds(),
            "beam": c.beam.as_ref().map(outcome), "plane_stress": c.plane.as_ref().ok().map(outcome),
            "unsolved": c.plane.as_ref().err(),
            "broken": c.broken.iter().map(|(name, by)| json!({"condition": name, "by_share": by})).collect::<Vec<_>>(),
        })
    };
    let correction = |c: &Correction| {
        json!({"force": c.effort, "energy": c.energy, "strain": c.strain, "stress": c.stress,
               "across": c.across, "in_turn": c.in_turn, "speed": c.speed})
    };
    let wish = &seek.wish;
    json!({
        "format": "withy-seek/1", "title": seek.title, "withy": env!("CARGO_PKG_VERSION"), "goal": wish.goal,
        "within": {"force_N": wish.force, "strain": wish.strain, "stress_MPa": wish.stress,
                   "across_N_per_mm": wish.across, "in_turn_Nmm_per_deg": wish.in_turn,
                   "energy_mJ": (wish.energy > 0.0).then_some(wish.energy)},
        "designs_by_beams": trials.rows().iter().filter(|r| r.contains(",beam,")).count(),
        "start": one(&found.start),
        "confirmed": found.confirmed.iter().map(one).collect::<Vec<_>>(),
        "result": found.best,
        "plane_stress_by_beams": found.corrections.iter().map(correction).collect::<Vec<_>>(),
    })
}

/// What force buys.
fn front(seek: &Seek, trials: &Trials, found: &Found) -> String {
    let fast = seek.wish.goal == Goal::MostSpeed;
    let gain = |o: &Outcome| if fast { o.speed } else { Some(o.energy) };
    let place = |o: &Outcome| Some([o.largest_effort, gain(o)?]);
    let correction = found.corrections.last().copied().unwrap_or(Correction::NONE);
    let free = crate::seek::wish::Wish { force: None, energy: 0.0, ..seek.wish.clone() };
    let designs: Vec<[f64; 2]> = trials
        .known(Model::Beam)
        .iter()
        .filter_map(|trial| match trial {
            Trial::Solved(o) => Some(correction.apply(o)),
            Trial::Lacks(..) => None,
        })
        .filter(|o| free.conditions(o, Model::Beam, 0.0).iter().all(|g| *g >= 0.0))
        .filter_map(|o| place(&o))
        .collect();
    let plane = |c: &Confirmed| c.plane.as_ref().ok().and_then(place);
    let best = found.best.map(|n| &found.confirmed[n]);
    let others = found.confirmed.iter().filter(|c| c.holds());
    let confirmed: Vec<[f64; 2]> = best.into_iter().chain(others).filter_map(plane).collect();
    let subtitle = format!("{} designs by beams, corrected by plane stress", designs.len());
    pareto(&ParetoPicture {
        title: &seek.title,
        subtitle: &subtitle,
        label: if fast { "speed, m/s" } else { "stored energy, mJ" },
        designs: &designs,
        limit: seek.wish.force,
        start: plane(&found.start),
        confirmed: &confirmed,
    })
}
