//! `withy sweep`: many designs of one part, one row each.

use super::solve::{INTERRUPTED, REFUSED, SOLVED, Voice, results_folder};
use crate::args::SweepArgs;
use crate::error::Refusal;
use crate::export::folder::{FolderError, WholeFile, write_whole};
use crate::picture::sweep_picture;
use crate::remark::cautions;
use crate::sweep::journal::JournalError;
use crate::sweep::run::{Ran, run};
use crate::sweep::shard::ShardChoice;
use crate::sweep::{Shard, Sweep, read};
use miette::Diagnostic;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;
use thiserror::Error;

/// Why there is no table.
#[derive(Debug, Error, Diagnostic)]
pub enum SweepError {
    /// The input.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Refused(#[from] Box<Refusal>),
    /// The shard.
    #[error("--shard: {0}")]
    Shard(String),
    /// The journal.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Journal(#[from] JournalError),
    /// The results folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
}

impl SweepError {
    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        REFUSED
    }
}

/// Computes a sweep or a shard of it; returns what goes to standard output and the exit status.
///
/// # Errors
/// A sweep that is refused, a folder that cannot be written.
pub fn sweep(
    args: &SweepArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SweepError> {
    let sweep = read(&args.sweep).map_err(Box::new)?;
    let variable = |name: &str| std::env::var(name).ok();
    let shard = match args.shard {
        Some(choice) => choice.resolve(&variable).map_err(SweepError::Shard)?,
        None => {
            if let Ok(found) = ShardChoice::Array(None).resolve(&variable) {
                let text = format!(
                    "this is task {} of an array job of {}, and computes the whole sweep: --shard array takes a slice",
                    found.index, found.count
                );
                voice.say(&format!("caution: {text}"));
            }
            Shard::WHOLE
        }
    };
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.sweep));
    // Makes the folder, and marks it as ours.
    write_whole(&out, &[])?;
    let journal = out.join(format!("{}.journal", shard.stem()));
    let started = Instant::now();
    let mut tell = |done: usize, wanted: usize| {
        let rate = done as f64 / started.elapsed().as_secs_f64();
        voice.progress(&format!("{done} of {wanted} designs, {rate:.0} a second"));
    };
    let ran = run(&sweep, shard, &journal, args.afresh, interrupted, &mut tell)?;
    if interrupted.load(Ordering::Relaxed) && ran.done < ran.wanted {
        let text = format!(
            "interrupted after {} of {} designs: the same command goes on from there\n",
            ran.done, ran.wanted
        );
        return Ok((text, INTERRUPTED));
    }
    let name = format!("{}.csv", shard.stem());
    let mut files = vec![WholeFile { name: &name, bytes: ran.table.as_bytes() }];
    let picture = (shard == Shard::WHOLE).then(|| sweep_picture(&sweep.title, &ran.table));
    if let Some(picture) = &picture {
        files.push(WholeFile { name: "sweep.svg", bytes: picture.as_bytes() });
    }
    write_whole(&out, &files)?;
    let names: Vec<&str> = files.iter().map(|f| f.name).collect();
    voice.say(&format!("results are in {}: {}", out.display(), names.join(", ")));
    Ok((told(&sweep, shard, &ran), SOLVED))
}

/// The table in short.
fn told(sweep: &Sweep, shard: Shard, ran: &Ran) -> String {
    let mut reader = csv::Reader::from_reader(ran.table.as_bytes());
    let headers = reader.headers().cloned().unwrap_or_default();
    let column = |name: &str| headers.iter().position(|h| h == name);
    let rows: Vec<csv::StringRecord> = reader.records().filter_map(Result::ok).collect();
    let cell = |row: &csv::StringRecord, name: &str| {
        column(name).and_then(|c| row.get(c)).unwrap_or_default().to_owned()
    };
    let number = |row: &csv::StringRecord, name: &str| cell(row, name).parse::<f64>().ok();
    let count = |word: &str| rows.iter().filter(|r| cell(r, "outcome") == word).count();
    let of = if shard == Shard::WHOLE { String::new() } else { format!(", {shard}") };
    let mut text = format!(
        "{}: {} designs by {}{of}\n  solved to full draw  {}\n",
        sweep.title,
        ran.wanted,
        sweep.model.name(),
        count("solved")
    );
    for (word, label) in [
        ("stopped early", "stopped early"),
        ("refused", "cannot be made"),
        ("unsolved", "not solved"),
    ] {
        if count(word) > 0 {
            text += &format!("  {label:<20} {}\n", count(word));
        }
    }
    if ran.known > 0 {
        text += &format!("  known from before    {}\n", ran.known);
    }
    let described = |row: &csv::StringRecord| {
        let values = sweep.varied.iter().map(|v| {
            let unit = v.values.unit().unwrap_or_default();
            let value = cell(row, &v.column);
            format!("{} {value} {unit}", v.key.short()).trim_end().to_owned()
        });
        format!("design {}: {}", cell(row, "design"), values.collect::<Vec<_>>().join(", "))
    };
    let whole =
        |r: &&csv::StringRecord| cell(r, "outcome") == "solved" && cell(r, "ends_by").is_empty();
    for (label, name, unit) in
        [("most energy", "energy_mJ", "mJ"), ("fastest", "speed_m_per_s", "m/s")]
    {
        let known = rows.iter().filter(whole).filter_map(|r| Some((number(r, name)?, r)));
        if let Some((value, row)) = known.max_by(|a, b| a.0.total_cmp(&b.0)) {
            let value = crate::picture::three_digits(value);
            text += &format!(
                "  {label:<20} {value} {unit} with no limit reached, {}\n",
                described(row)
            );
        }
    }
    if sweep.throws {
        text += &cautions();
    }
    text
}
