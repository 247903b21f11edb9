//! The sweep file, checked.

use super::sampling::Sampling;
use super::values::Values;
use crate::analysis::{Axis, moving_regions};
use crate::case::{self, Case, CaseCause, Overrides, PartFile, Placed, toml_text};
use crate::design::{self, Key, Model, Written};
use crate::error::{Cause, Refusal, Source};
use crate::printing::Look;
use crate::quantity::Ratio;
use schemars::JsonSchema;
use serde::Deserialize;
use std::ops::Range;
use std::path::{Path, PathBuf};
use thiserror::Error;
use toml_edit::{DocumentMut, Item, TableLike};

/// More designs than this no cluster finishes.
const MOST_DESIGNS: usize = 10_000_000;

/// A sweep file as it is written.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SweepFile {
    /// What it is for, for people.
    pub title: Option<String>,
    /// The part file, relative to this file.
    pub part: Placed<String>,
    /// How designs are computed: beams for a rib spring of numbers if left out, else plane stress.
    pub model: Option<Placed<Model>>,
    /// So many samples that fill the space evenly, instead of every value with every other.
    pub samples: Option<Placed<i64>>,
    /// Shifts the samples; 0 if left out.
    pub seed: Option<Placed<i64>>,
    /// Steps of each draw, instead of those of the part file.
    pub steps: Option<u32>,
    /// Of the hot spot's stress in plane stress, instead of that of the part file.
    pub accuracy: Option<Ratio>,
    /// The numbers to vary, by their keys in the part file.
    #[schemars(with = "std::collections::BTreeMap<String, serde_json::Value>")]
    pub vary: Placed<toml::Table>,
}

/// What is wrong with a sweep or a search.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum SweepCause {
    /// Nothing to vary.
    #[error("[vary] names no number of the part")]
    NothingVaried,
    /// The values of a number.
    #[error("{key} {why}")]
    BadValues {
        /// The number.
        key: String,
        /// What is wrong, in words that follow it.
        why: String,
    },
    /// A key that the part file does not take.
    #[error("the part file does not take {key}: {why}")]
    BadKey {
        /// The key.
        key: String,
        /// Why not.
        why: String,
        /// What the part file's own complaint advises.
        mend: Option<String>,
    },
    /// More designs than can be computed, or none.
    #[error("{found} designs are asked for, but there must be from 1 to {MOST_DESIGNS}")]
    BadCount {
        /// How many.
        found: String,
    },
    /// Beams of a part that has none.
    #[error("beams need a part of numbers with [spring]")]
    NoBeams,
    /// Something else, in a sentence.
    #[error("{what}")]
    Other {
        /// What is wrong.
        what: String,
        /// What to do.
        mend: String,
    },
}

impl SweepCause {
    /// What to do about it.
    #[must_use]
    pub fn mend(&self) -> Option<String> {
        Some(match self {
            Self::NothingVaried => {
                "write for example spring.width = { from = \"1.2 mm\", to = \"2 mm\", count = 5 }".into()
            }
            Self::BadValues { .. } => {
                "write a list such as [\"1.2 mm\", \"1.6 mm\"], or { from = \"1.2 mm\", to = \"2 mm\", count = 5 }; \
                 with samples the count is left out"
                    .into()
            }
            Self::BadKey { mend, .. } => return mend.clone(),
            Self::BadCount { .. } => "take fewer values, or give samples = 1000".into(),
            Self::NoBeams => "write model = \"plane stress\"".into(),
            Self::Other { mend, .. } => mend.clone(),
        })
    }
}

/// A number that is varied.
#[derive(Clone, Debug)]
pub struct Varied {
    /// Where it stands in the part file.
    pub key: Key,
    /// What it may be.
    pub values: Values,
    /// The name of its column: its key and unit.
    pub column: String,
}

/// A sweep, checked.
#[derive(Debug)]
pub struct Sweep {
    /// For people.
    pub title: String,
    /// The sweep file.
    pub path: PathBuf,
    /// The part file.
    pub part: PathBuf,
    /// Its text as a document.
    pub base: DocumentMut,
    /// What is varied.
    pub varied: Vec<Varied>,
    /// Which values a design has.
    pub sampling: Sampling,
    /// How many designs there are.
    pub designs: usize,
    /// How they are computed.
    pub model: Model,
    /// What the sweep says instead of the part file.
    pub overrides: Overrides,
    /// Whether the part is turned, not drawn along a line.
    pub turned: bool,
    /// Whether something is thrown.
    pub throws: bool,
    /// Stands for the files: tables of other files are told apart by it.
    pub fingerprint: String,
}

/// Reads a sweep file and the part that it names.
///
/// # Errors
/// What cannot be read or understood, at its place.
pub fn read(path: &Path) -> Result<Sweep, Refusal> {
    let source = toml_text::open(path)?;
    let file: SweepFile = toml_text::parse(&source)?;
    let part = path.parent().unwrap_or(Path::new("")).join(file.part.as_str());
    let (base, case, part_text) = open_part(&part, &file.part, &source)?;
    let model = chosen_model(file.model.as_ref(), &case, &source)?;
    let varied = varied(&source, &file.vary, &base, &part)?;
    let sampling = sampling(&file, &varied, &source)?;
    let values: Vec<Values> = varied.iter().map(|v| v.values.clone()).collect();
    let designs = sampling.designs(&values).filter(|n| (1..=MOST_DESIGNS).contains(n));
    let designs = designs.ok_or_else(|| {
        let found = sampling.designs(&values).map_or("too many".into(), |n| n.to_string());
        Refusal::at(&source, file.vary.span(), SweepCause::BadCount { found })
    })?;
    let overrides = Overrides {
        steps: file.steps,
        accuracy: file.accuracy.map(|a| a.value()),
        look: Look::Bed,
        ..Overrides::default()
    };
    let moving = moving_regions(&case);
    let turned = moving.first().is_some_and(|name| matches!(Axis::of(&case, name), Axis::Turn(_)));
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    Ok(Sweep {
        title: file.title.clone().unwrap_or_else(|| name.into_owned()),
        path: path.to_path_buf(),
        fingerprint: fingerprint(&[source.text(), &part_text, &named_files(&case)]),
        part,
        base,
        varied,
        sampling,
        designs,
        model,
        overrides,
        turned,
        throws: case.launch.is_some(),
    })
}

impl Sweep {
    /// The values of a design, counted from 0.
    #[must_use]
    pub fn values(&self, design: usize) -> Vec<Written> {
        let values: Vec<Values> = self.varied.iter().map(|v| v.values.clone()).collect();
        self.sampling.values(design, &values)
    }
}

/// The part file as a document and as a case; one that is not there is a mistake of the file that names it.
///
/// # Errors
/// A part that is refused.
pub fn open_part(
    part: &Path,
    name: &Placed<String>,
    source: &Source,
) -> Result<(DocumentMut, Case, String), Refusal> {
    if !part.is_file() {
        let why = format!("{} is not there", part.display());
        return Err(Refusal::at(source, name.span(), CaseCause::Unreadable { why }));
    }
    let overrides = Overrides { look: Look::Bed, ..Overrides::default() };
    let case = case::read(part, &overrides)?;
    let text = toml_text::open(part)?.text().to_owned();
    let base: DocumentMut = text.parse().map_err(|e: toml_edit::TomlError| {
        Refusal::of_file(part, CaseCause::BadToml { why: e.message().to_owned() })
    })?;
    Ok((base, case, text))
}

/// The model that is asked for, or that suits the part.
///
/// # Errors
/// Beams of a part that has none.
pub fn chosen_model(
    asked: Option<&Placed<Model>>,
    case: &Case,
    source: &Source,
) -> Result<Model, Refusal> {
    match asked {
        Some(model) if **model == Model::Beam && case.spring.is_none() => {
            Err(Refusal::at(source, model.span(), SweepCause::NoBeams))
        }
        Some(model) => Ok(**model),
        None if case.spring.is_some() => Ok(Model::Beam),
        None => Ok(Model::PlaneStress),
    }
}

fn sampling(file: &SweepFile, varied: &[Varied], source: &Source) -> Result<Sampling, Refusal> {
    let whole = |what: &str, value: &Placed<i64>, low: i64| {
        u64::try_from(**value).ok().filter(|_| **value >= low).ok_or_else(|| {
            let cause = CaseCause::OutOfRange {
                what: what.into(),
                found: value.to_string(),
                range: format!("{low} or more"),
            };
            Refusal::at(source, value.span(), cause)
        })
    };
    let Some(samples) = &file.samples else {
        if let Some(seed) = &file.seed {
            let what = "'seed' does nothing on a grid".into();
            let mend = "add samples = 200, or take it out".into();
            return Err(Refusal::at(source, seed.span(), SweepCause::Other { what, mend }));
        }
        if let Some(open) = varied.iter().find(|v| v.values.count().is_none()) {
            let why = "has no count".into();
            let cause = SweepCause::BadValues { key: open.key.to_string(), why };
            return Err(Refusal::at(source, file.vary.span(), cause));
        }
        return Ok(Sampling::Grid);
    };
    let is_range = |v: &&Varied| matches!(v.values, Values::Range { count: Some(_), .. });
    if let Some(one) = varied.iter().find(is_range) {
        let why = "has a count, which does nothing beside samples".into();
        let cause = SweepCause::BadValues { key: one.key.to_string(), why };
        return Err(Refusal::at(source, file.vary.span(), cause));
    }
    let count = usize::try_from(whole("samples", samples, 1)?).unwrap_or(usize::MAX);
    let seed = file.seed.as_ref().map_or(Ok(0), |seed| whole("seed", seed, 0))?;
    Ok(Sampling::Samples { count, seed })
}

/// The numbers of `[vary]` in the order in which they stand there, each tried on the part file.
fn varied(
    source: &Source,
    vary: &Placed<toml::Table>,
    base: &DocumentMut,
    part: &Path,
) -> Result<Vec<Varied>, Refusal> {
    let document = toml_edit::Document::parse(source.text()).map_err(|e| {
        Refusal::of_text(source, CaseCause::BadToml { why: e.message().to_owned() })
    })?;
    let Some(table) = document.get("vary").and_then(Item::as_table_like) else {
        return Err(Refusal::at(source, vary.span(), SweepCause::NothingVaried));
    };
    let mut found = Vec::new();
    leaves(table, &mut Vec::new(), &mut found);
    let mut varied = Vec::new();
    for (key, item, span) in found {
        let span = span.unwrap_or(vary.span());
        let bad = |why| {
            let cause = SweepCause::BadValues { key: key.to_string(), why };
            Refusal::at(source, span.clone(), cause)
        };
        let values = Values::of(item).map_err(bad)?;
        let unit = values.unit().map_err(bad)?;
        try_key(base, part, &key, &values.at(0.0))
            .map_err(|cause| Refusal::at(source, span.clone(), cause))?;
        let column = if unit.is_empty() { key.to_string() } else { format!("{key}_{unit}") };
        varied.push(Varied { key, values, column });
    }
    if varied.is_empty() {
        return Err(Refusal::at(source, vary.span(), SweepCause::NothingVaried));
    }
    Ok(varied)
}

/// Whether the part file takes a value there: its key is known and its kind is right.
///
/// # Errors
/// Why not.
pub fn try_key(
    base: &DocumentMut,
    part: &Path,
    key: &Key,
    value: &Written,
) -> Result<(), SweepCause> {
    let bad = |why, mend| SweepCause::BadKey { key: key.to_string(), why, mend };
    let text = design::text_with(base, &[(key, value)]).map_err(|why| bad(why, None))?;
    match toml_text::parse::<PartFile>(&Source::new(part, text)) {
        Ok(_) => Ok(()),
        Err(refusal) => {
            let why = match refusal.cause() {
                Cause::Case(cause) => cause.to_string(),
                other => other.to_string(),
            };
            Err(bad(why, refusal.mend()))
        }
    }
}

/// All values under a table, with their keys and places: lists, tables with `from`, and whatever else is no table.
pub fn leaves<'a>(
    table: &'a dyn TableLike,
    way: &mut Vec<String>,
    found: &mut Vec<(Key, &'a Item, Option<Range<usize>>)>,
) {
    for (step, item) in table.iter() {
        // A key in quotes may hold the whole way.
        let steps: Vec<String> = step.split('.').map(str::to_owned).collect();
        let count = steps.len();
        way.extend(steps);
        match item.as_table_like() {
            Some(inner) if !inner.contains_key("from") && !inner.contains_key("to") => {
                leaves(inner, way, found);
            }
            _ => found.push((Key::new(way.clone()), item, item.span())),
        }
        way.truncate(way.len() - count);
    }
}

/// What the part file names: its drawing's text and its card.
fn named_files(case: &Case) -> String {
    let drawing = std::fs::read(&case.drawing).unwrap_or_default();
    format!("{}\n{:?}", String::from_utf8_lossy(&drawing), case.material)
}

/// Sixteen digits that stand for texts and for the version of the program, by FNV-1a (G. Fowler, L. C. Noll,
/// K.-P. Vo; from memory): against mistakes, not against malice.
#[must_use]
pub fn fingerprint(texts: &[&str]) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325u64;
    for text in texts.iter().chain(&[env!("CARGO_PKG_VERSION")]) {
        // The length keeps texts apart.
        for byte in text.bytes().chain(text.len().to_le_bytes()) {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
    format!("{hash:016x}")
}
