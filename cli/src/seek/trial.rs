//! One design by one model, from the journal or computed.
//!
//! Numbers go through the nine digits of the journal's row, so that a search that goes on after a stop is the search
//! that was not stopped.

use super::Seek;
use crate::analysis::SpotKind;
use crate::case::{Case, CaseCause, Overrides};
use crate::design::outcome::NoOutcome;
use crate::design::table::{cells, cells_without, columns};
use crate::design::{self, Model, Outcome, Written, beam, plane};
use crate::error::{Cause, Refusal};
use crate::export::curve::quote;
use crate::maker::Unmakeable;
use crate::sweep::journal::{Journal, JournalError};
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::AtomicBool;

/// A length that is lacking counts by this (mm).
const LACK_MM: f64 = 10.0;
/// What any other refusal counts.
const REFUSED: f64 = -0.1;

/// What became of a design.
#[derive(Clone, Debug, PartialEq)]
pub enum Trial {
    /// It was solved.
    Solved(Outcome),
    /// It cannot be made or solved: by how much, below zero, and why.
    Lacks(f64, String),
}

/// Why a search ends without an answer.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum SeekStop {
    /// Ctrl-C.
    #[error("interrupted: the same command goes on from there")]
    Interrupted,
    /// The journal.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Journal(#[from] JournalError),
    /// The part as it is.
    #[error("the part as it is cannot be solved: {0}")]
    #[diagnostic(help("begin with a part that withy solve takes to full draw"))]
    NoStart(String),
}

/// Designs that are known.
#[derive(Debug)]
pub struct Trials<'a> {
    seek: &'a Seek,
    journal: Mutex<Journal<String>>,
    interrupted: &'a AtomicBool,
}

impl<'a> Trials<'a> {
    /// Opens the journal of a search, or begins it.
    ///
    /// # Errors
    /// A journal that cannot be gone on with.
    pub fn open(
        seek: &'a Seek,
        path: &Path,
        afresh: bool,
        interrupted: &'a AtomicBool,
    ) -> Result<Self, JournalError> {
        let names = seek.variables.iter().map(|v| v.column.clone());
        let first = ["seek", "model"].map(str::to_owned);
        let header: Vec<String> = first.into_iter().chain(names).chain(columns(false)).collect();
        let of = |line: &str| {
            let cells: Vec<&str> = line.split(',').collect();
            let own = cells.get(..seek.variables.len() + 2)?;
            Some(if own[0] == seek.fingerprint { Ok(own[1..].join(",")) } else { Err(()) })
        };
        let journal = Mutex::new(Journal::open(path, &line(&header), afresh, &of)?);
        Ok(Self { seek, journal, interrupted })
    }

    /// All that is known, as a table in an order of its own.
    #[must_use]
    pub fn rows(&self) -> Vec<String> {
        let Ok(journal) = self.journal.lock() else { return Vec::new() };
        journal.rows.values().cloned().collect()
    }

    /// Known designs of a model, in an order of their own.
    #[must_use]
    pub fn known(&self, model: Model) -> Vec<Trial> {
        let of = format!("{},{},", self.seek.fingerprint, model.name());
        self.rows().iter().filter(|row| row.starts_with(&of)).map(|row| trial_of(row)).collect()
    }

    /// The design at a point of the unit cube.
    ///
    /// # Errors
    /// Interrupted, or the journal cannot be written.
    pub fn at(&self, point: &[f64], model: Model) -> Result<Trial, SeekStop> {
        let values = self.values(point);
        let bare: Vec<String> = values.iter().map(Written::bare).collect();
        let key = format!("{},{}", model.name(), bare.join(","));
        let known = self.journal.lock().ok().and_then(|j| j.rows.get(&key).cloned());
        if let Some(row) = known {
            return Ok(trial_of(&row));
        }
        let found = match self.case(point) {
            Err(refusal) => {
                // Not worth a row: it is found in a moment.
                return Ok(Trial::Lacks(lack(&refusal), refusal.cause().to_string()));
            }
            Ok(case) => match model {
                Model::Beam => beam::outcome(&case).map_err(NoOutcome::Because),
                Model::PlaneStress => confirmed(&case, self.interrupted),
            },
        };
        let own = match found {
            Ok(outcome) => cells(&outcome),
            Err(NoOutcome::Interrupted) => return Err(SeekStop::Interrupted),
            Err(NoOutcome::Because(why)) => cells_without("unsolved", &why),
        };
        let first = [self.seek.fingerprint.clone(), model.name().to_owned()];
        let all: Vec<String> = first.into_iter().chain(bare).chain(own).collect();
        let row = line(&all);
        let trial = trial_of(&row);
        if let Ok(mut journal) = self.journal.lock() {
            journal.add(key, row)?;
        }
        Ok(trial)
    }

    /// The values at a point of the unit cube.
    #[must_use]
    pub fn values(&self, point: &[f64]) -> Vec<Written> {
        let variables = self.seek.variables.iter().zip(point);
        variables.map(|(v, share)| v.values.at(share.clamp(0.0, 1.0))).collect()
    }

    /// The part file at a point.
    ///
    /// # Errors
    /// In words.
    pub fn text(&self, point: &[f64]) -> Result<String, String> {
        let values = self.values(point);
        let pairs: Vec<_> = self.seek.variables.iter().map(|v| &v.key).zip(&values).collect();
        design::text_with(&self.seek.base, &pairs)
    }

    /// The part at a point.
    ///
    /// # Errors
    /// As of any part file.
    pub fn case(&self, point: &[f64]) -> Result<Case, Refusal> {
        let part = &self.seek.part;
        let text =
            self.text(point).map_err(|why| Refusal::of_file(part, CaseCause::BadToml { why }))?;
        design::read(part, text, &self.seek.overrides)
    }
}

/// A design in plane stress; its printer looks closely, and its hot spot has converged.
fn confirmed(case: &Case, interrupted: &AtomicBool) -> Result<Outcome, NoOutcome> {
    let because = |why: String| Err(NoOutcome::Because(why));
    let close = Overrides::default();
    let again = case.again(&close).map_err(|r| NoOutcome::Because(r.cause().to_string()))?;
    let cautions = ["bed", "narrow-wall", "narrow-gap"];
    let caution = |r: &&crate::remark::Remark| {
        r.level != crate::remark::Level::Note && cautions.contains(&r.code)
    };
    if let Some(remark) = again.printability.remarks.iter().find(caution) {
        return because(remark.text.clone());
    }
    let analysis = plane::solved(&again, interrupted)?;
    let spot = &analysis.solution.hot_spot;
    if spot.kind == SpotKind::SharpCorner {
        return because(format!("a sharp corner governs: {}", spot.near));
    }
    if spot.estimated_error.is_nan() || spot.estimated_error > again.accuracy {
        return because("the hot spot's stress has not settled".into());
    }
    plane::of_analysis(&again, &analysis).ok_or_else(|| NoOutcome::Because("nothing moves".into()))
}

/// By how much a design cannot be made, below zero.
fn lack(refusal: &Refusal) -> f64 {
    match refusal.cause() {
        Cause::Case(CaseCause::BadShape {
            cause: Unmakeable::Narrow { found, least, .. }, ..
        }) => (found - least) / LACK_MM - 1e-3,
        _ => REFUSED,
    }
}

/// A row of the journal as a trial.
fn trial_of(row: &str) -> Trial {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(row.as_bytes());
    let record = reader.records().next().and_then(Result::ok).unwrap_or_default();
    let names = columns(false);
    let from = record.len().saturating_sub(names.len());
    let text = |name: &str| {
        let at = names.iter().position(|n| n == name).unwrap_or(0);
        record.get(from + at).unwrap_or_default().to_owned()
    };
    let number = |name: &str| text(name).parse::<f64>().ok();
    let or_nan = |name: &str| number(name).unwrap_or(f64::NAN);
    let outcome = text("outcome");
    if outcome != "solved" && outcome != "stopped early" {
        return Trial::Lacks(REFUSED, text("note"));
    }
    Trial::Solved(Outcome {
        complete: outcome == "solved",
        draw: or_nan("draw_mm"),
        effort: or_nan("force_N"),
        largest_effort: or_nan("largest_force_N"),
        energy: or_nan("energy_mJ"),
        strain: or_nan("peak_strain"),
        stress: or_nan("peak_stress_MPa"),
        safe_draw: or_nan("safe_draw_mm"),
        ends_by: crate::analysis::LimitKind::of_code(&text("ends_by")),
        across: number("across_N_per_mm"),
        in_turn: number("in_turn_Nmm_per_deg"),
        stable: text("stable") == "true",
        mass: number("mass_g"),
        bed_share: number("bed_share"),
        speed: number("speed_m_per_s"),
        thrown: number("thrown_mJ"),
    })
}

fn line(cells: &[String]) -> String {
    cells.iter().map(|c| quote(c)).collect::<Vec<_>>().join(",") + "\n"
}
