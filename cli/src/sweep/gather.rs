//! Shards joined again: what is missing, what contradicts itself, what belongs to another sweep.

use super::rows::FIRST;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why tables cannot be joined.
#[derive(Debug, Error, miette::Diagnostic)]
pub enum GatherError {
    /// Nothing to join.
    #[error("there is no table of a sweep in {}", .0.display())]
    #[diagnostic(help("withy sweep SWEEP.toml --shard 1/4 writes sweep-1-of-4.csv"))]
    Nothing(PathBuf),
    /// A file that cannot be read.
    #[error("{} cannot be read: {why}", path.display())]
    Unreadable {
        /// Which.
        path: PathBuf,
        /// The operating system's words.
        why: String,
    },
    /// A file that is no table of a sweep.
    #[error("{} is no table of a sweep: line {line} {why}", path.display())]
    #[diagnostic(help("take it out of the list, or compute that shard again with --afresh"))]
    NoTable {
        /// Which.
        path: PathBuf,
        /// Counted from 1.
        line: usize,
        /// What is wrong there.
        why: &'static str,
    },
    /// Two sweeps.
    #[error("{} and {} are of two sweeps, or of two states of one", first.display(), second.display())]
    #[diagnostic(help(
        "the sweep file, its part, drawing, card and the version of withy must be the same on all machines"
    ))]
    OfTwoSweeps {
        /// A table.
        first: PathBuf,
        /// One that does not fit it.
        second: PathBuf,
    },
    /// Two rows of one design that differ.
    #[error("design {design} is told in two ways, in {} and in {}", first.display(), second.display())]
    #[diagnostic(help(
        "compute one of these shards again with --afresh; if they still differ, the machines do not compute alike"
    ))]
    Contradiction {
        /// Which, from 1.
        design: usize,
        /// A table.
        first: PathBuf,
        /// One that differs.
        second: PathBuf,
    },
}

/// Tables joined.
#[derive(Debug)]
pub struct Gathered {
    /// The whole table, as far as it is known.
    pub table: String,
    /// How many designs it should have.
    pub designs: usize,
    /// Designs without a row, from 1.
    pub missing: Vec<usize>,
    /// Rows that are there more than once, alike.
    pub repeated: usize,
    /// How many files.
    pub files: usize,
    /// In how many shards it was cut, if the files' names tell one number.
    pub shards: Option<usize>,
}

/// The tables of sweeps in a folder; a journal where its shard is not finished.
///
/// # Errors
/// The folder cannot be read.
pub fn tables_in(folder: &Path) -> Result<Vec<PathBuf>, GatherError> {
    let unreadable = |e: std::io::Error| GatherError::Unreadable {
        path: folder.to_path_buf(),
        why: e.to_string(),
    };
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if shards_of(&path).is_some() && ending_is(&path, "csv") {
            found.push(path);
        } else if shards_of(&path).is_some() && ending_is(&path, "journal") {
            let table = path.with_extension("csv");
            if !table.exists() {
                found.push(path);
            }
        }
    }
    found.sort();
    if found.is_empty() { Err(GatherError::Nothing(folder.to_path_buf())) } else { Ok(found) }
}

fn ending_is(path: &Path, ending: &str) -> bool {
    path.extension().is_some_and(|e| e == ending)
}

/// N of "sweep-I-of-N".
fn shards_of(path: &Path) -> Option<usize> {
    let stem = path.file_stem()?.to_str()?;
    let (index, count) = stem.strip_prefix("sweep-")?.split_once("-of-")?;
    index.parse::<usize>().ok()?;
    count.parse().ok()
}

/// Joins tables. Half a line at the end of a journal does not count.
///
/// # Errors
/// See [`GatherError`].
pub fn gather(files: &[PathBuf]) -> Result<Gathered, GatherError> {
    let mut header: Option<(String, PathBuf)> = None;
    let mut same: Option<(String, usize, PathBuf)> = None;
    let mut rows: BTreeMap<usize, (String, PathBuf)> = BTreeMap::new();
    let mut repeated = 0;
    for path in files {
        let text = std::fs::read_to_string(path)
            .map_err(|e| GatherError::Unreadable { path: path.clone(), why: e.to_string() })?;
        let two = |first: &PathBuf| GatherError::OfTwoSweeps {
            first: first.clone(),
            second: path.clone(),
        };
        for (at, line) in text.split_inclusive('\n').enumerate() {
            let wrong = |why| GatherError::NoTable { path: path.clone(), line: at + 1, why };
            if !line.ends_with('\n') {
                if ending_is(path, "journal") {
                    continue;
                }
                return Err(wrong("is not whole"));
            }
            if at == 0 {
                if !line.starts_with(&(FIRST.join(",") + ",")) {
                    return Err(wrong("is not the header"));
                }
                match &header {
                    None => header = Some((line.to_owned(), path.clone())),
                    Some((known, _)) if known == line => {}
                    Some((_, first)) => return Err(two(first)),
                }
                continue;
            }
            let (sweep, designs, design) =
                numbers(line).ok_or_else(|| wrong("does not begin with sweep, designs, design"))?;
            match &same {
                None => same = Some((sweep.to_owned(), designs, path.clone())),
                Some((known, count, _)) if known == sweep && *count == designs => {}
                Some((.., first)) => return Err(two(first)),
            }
            if !(1..=designs).contains(&design) {
                return Err(wrong("is of a design that the sweep does not have"));
            }
            match rows.get(&design) {
                None => {
                    rows.insert(design, (line.to_owned(), path.clone()));
                }
                Some((known, _)) if known == line => repeated += 1,
                Some((_, first)) => {
                    let (first, second) = (first.clone(), path.clone());
                    return Err(GatherError::Contradiction { design, first, second });
                }
            }
        }
    }
    let (Some((header, path)), designs) = (header, same.map_or(0, |s| s.1)) else {
        return Err(GatherError::Nothing(files.first().cloned().unwrap_or_default()));
    };
    if designs == 0 {
        return Err(GatherError::Nothing(path));
    }
    let counts: BTreeSet<usize> = files.iter().filter_map(|f| shards_of(f)).collect();
    let table: String = rows.values().map(|(line, _)| line.as_str()).collect();
    Ok(Gathered {
        table: header + &table,
        designs,
        missing: (1..=designs).filter(|d| !rows.contains_key(d)).collect(),
        repeated,
        files: files.len(),
        shards: counts.first().copied().filter(|_| counts.len() == 1),
    })
}

/// Sweep, designs and design of a row.
fn numbers(line: &str) -> Option<(&str, usize, usize)> {
    let mut cells = line.split(',');
    Some((cells.next()?, cells.next()?.parse().ok()?, cells.next()?.parse().ok()?))
}

/// "3 to 7, 9": ascending numbers in runs.
#[must_use]
pub fn runs(numbers: &[usize]) -> String {
    let mut words: Vec<String> = Vec::new();
    let mut from = 0;
    while from < numbers.len() {
        let run = numbers[from..].iter().enumerate().take_while(|(k, n)| **n == numbers[from] + k);
        let last = from + run.count() - 1;
        words.push(match last - from {
            0 => numbers[from].to_string(),
            _ => format!("{} to {}", numbers[from], numbers[last]),
        });
        from = last + 1;
    }
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_told_in_runs() {
        assert_eq!(runs(&[1, 2, 3, 5, 8, 9]), "1 to 3, 5, 8 to 9");
        assert_eq!(runs(&[]), "");
    }
}
