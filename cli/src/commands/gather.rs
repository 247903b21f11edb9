//! `withy gather`: the shards of a sweep as one table.

use super::solve::{REFUSED, SOLVED, STOPPED};
use crate::args::GatherArgs;
use crate::export::folder::{FolderError, WholeFile, write_whole};
use crate::picture::sweep_picture;
use crate::sweep::gather::{GatherError as Cause, Gathered, gather as join, runs, tables_in};
use miette::Diagnostic;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why nothing was joined.
#[derive(Debug, Error, Diagnostic)]
pub enum GatherError {
    /// The tables.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Tables(#[from] Cause),
    /// The folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
}

impl GatherError {
    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        REFUSED
    }
}

/// Joins the shards; returns what goes to standard output and the exit status.
///
/// # Errors
/// Tables that are none, that contradict each other or are of two sweeps; a folder that cannot be written.
pub fn gather(args: &GatherArgs) -> Result<(String, u8), GatherError> {
    let mut files: Vec<PathBuf> = Vec::new();
    for place in &args.tables {
        if place.is_dir() {
            files.extend(tables_in(place)?);
        } else {
            files.push(place.clone());
        }
    }
    files.sort();
    files.dedup();
    let first = &args.tables[0];
    let folder = args.out.clone().unwrap_or_else(|| match first.is_dir() {
        true => first.clone(),
        false => first.parent().unwrap_or(Path::new("")).to_path_buf(),
    });
    let gathered = join(&files)?;
    let mut text = format!(
        "{} of {} designs from {} tables\n",
        gathered.designs - gathered.missing.len(),
        gathered.designs,
        gathered.files
    );
    if gathered.repeated > 0 {
        text += &format!("  told twice, alike    {} rows\n", gathered.repeated);
    }
    if !gathered.missing.is_empty() {
        text += &missing(&gathered);
        if !args.partial {
            text += "nothing was written: compute what is missing, or ask for --partial\n";
            return Ok((text, STOPPED));
        }
    }
    let (table, picture) = if gathered.missing.is_empty() {
        ("sweep.csv", "sweep.svg")
    } else {
        ("sweep-partial.csv", "sweep-partial.svg")
    };
    let drawn = sweep_picture("Sweep, gathered", &gathered.table);
    let files = [
        WholeFile { name: table, bytes: gathered.table.as_bytes() },
        WholeFile { name: picture, bytes: drawn.as_bytes() },
    ];
    write_whole(&folder, &files)?;
    text += &format!("written to {}: {table}, {picture}\n", folder.display());
    let status = if gathered.missing.is_empty() { SOLVED } else { STOPPED };
    Ok((text, status))
}

/// What is missing, and which shards have it.
fn missing(gathered: &Gathered) -> String {
    let mut text = format!("  missing              designs {}\n", runs(&gathered.missing));
    if let Some(count) = gathered.shards {
        let shards: BTreeSet<usize> =
            gathered.missing.iter().map(|d| (d - 1) % count + 1).collect();
        let shards: Vec<usize> = shards.into_iter().collect();
        text += &format!(
            "  of shards            {} of {count}; for example: withy sweep SWEEP.toml --shard {}/{count}\n",
            runs(&shards),
            shards[0]
        );
    }
    text
}
