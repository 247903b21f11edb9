//! The search file, checked.

use super::wish::{Goal, Wish};
use crate::case::{CaseCause, Overrides, Placed, toml_text};
use crate::design::{Key, Model};
use crate::error::{Refusal, Source};
use crate::printing::Look;
use crate::quantity::{Energy, Force, Ratio, Stress};
use crate::sweep::SweepCause;
use crate::sweep::description::{chosen_model, fingerprint, leaves, open_part, try_key};
use crate::sweep::values::Values;
use schemars::JsonSchema;
use serde::Deserialize;
use std::path::{Path, PathBuf};
use toml_edit::{DocumentMut, Item};
use withy_mesh::number::min;

/// Searches from so many starts, if nothing is said.
const USUAL_STARTS: i64 = 6;
/// Designs of each, if nothing is said.
const USUAL_DESIGNS: i64 = 200;
/// Designs that are confirmed in each round, if nothing is said.
const USUAL_CONFIRMED: i64 = 2;
/// Rounds, if nothing is said.
const USUAL_ROUNDS: i64 = 3;

/// A search file as it is written.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeekFile {
    /// What it is for, for people.
    pub title: Option<String>,
    /// The part file with `[spring]`, relative to this file.
    pub part: Placed<String>,
    /// What is wanted.
    pub goal: Placed<Goal>,
    /// What must be stored at least, where the least force is wanted (mJ).
    pub energy: Option<Placed<Energy>>,
    /// Shifts the starts; 1 if left out.
    pub seed: Option<Placed<i64>>,
    /// From how many starts, the part as it is being the first.
    pub starts: Option<Placed<i64>>,
    /// Designs that each start may try in a round.
    pub designs: Option<Placed<i64>>,
    /// Designs that are confirmed in plane stress in each round.
    pub confirm: Option<Placed<i64>>,
    /// Rounds of searching and confirming.
    pub rounds: Option<Placed<i64>>,
    /// The numbers that may change, by their keys in the part file, each { from = .., to = .. }.
    #[schemars(with = "std::collections::BTreeMap<String, serde_json::Value>")]
    pub vary: Placed<toml::Table>,
    /// What must be kept, besides what holds always: no limit of the part file reached, on the bed, makeable.
    #[serde(default)]
    pub within: WithinTable,
}

/// `[within]`
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WithinTable {
    /// The largest force along the draw (N).
    pub force: Option<Placed<Force>>,
    /// The largest strain of the whole surface along the whole draw.
    pub strain: Option<Placed<Ratio>>,
    /// The largest von Mises stress (MPa).
    pub stress: Option<Placed<Stress>>,
    /// The least stiffness across the draw, along it (N/mm).
    pub across: Option<Placed<f64>>,
    /// The least stiffness against turning, along the draw (N mm/deg).
    pub in_turn: Option<Placed<f64>>,
}

/// A number that may change.
#[derive(Clone, Debug)]
pub struct Variable {
    /// Where it stands in the part file.
    pub key: Key,
    /// Its range.
    pub values: Values,
    /// Where the part as it is stands in it, from 0 to 1; the middle if the part file does not say.
    pub start: f64,
    /// The name of its column.
    pub column: String,
}

/// A search, checked.
#[derive(Debug)]
pub struct Seek {
    /// For people.
    pub title: String,
    /// The part file.
    pub part: PathBuf,
    /// Its text as a document.
    pub base: DocumentMut,
    /// What may change.
    pub variables: Vec<Variable>,
    /// What is wanted, within what.
    pub wish: Wish,
    /// Shifts the starts.
    pub seed: u64,
    /// How many.
    pub starts: usize,
    /// Designs of each in a round.
    pub designs: usize,
    /// Confirmed in each round.
    pub confirm: usize,
    /// How many rounds.
    pub rounds: usize,
    /// For beams: what a printer looks at.
    pub overrides: Overrides,
    /// Stands for the files.
    pub fingerprint: String,
}

/// Reads a search file and the part that it names.
///
/// # Errors
/// What cannot be read or understood, at its place.
pub fn read(path: &Path) -> Result<Seek, Refusal> {
    let source = toml_text::open(path)?;
    let file: SeekFile = toml_text::parse(&source)?;
    let part = path.parent().unwrap_or(Path::new("")).join(file.part.as_str());
    let (base, case, text) = open_part(&part, &file.part, &source)?;
    if chosen_model(None, &case, &source)? != Model::Beam {
        return Err(Refusal::at(&source, file.part.span(), SweepCause::NoBeams));
    }
    let other = |span, what: &str, mend: &str| {
        let cause = SweepCause::Other { what: what.into(), mend: mend.into() };
        Err(Refusal::at(&source, span, cause))
    };
    if *file.goal == Goal::MostSpeed && case.launch.is_none() {
        let mend = "add [launch] to the part file, or seek the most energy";
        return other(file.goal.span(), "the part throws nothing, so it has no speed", mend);
    }
    match (&file.energy, *file.goal) {
        (None, Goal::LeastForce) => {
            let mend = "add energy = \"200 mJ\"";
            return other(file.goal.span(), "the least force for no energy is none", mend);
        }
        (Some(energy), Goal::MostEnergy | Goal::MostSpeed) => {
            let mend = "take it out, or seek the least force";
            return other(energy.span(), "'energy' does nothing where it is the goal", mend);
        }
        _ => {}
    }
    let positive = |what: &str, value: Option<&Placed<f64>>| {
        positive(&source, what, value.map(|v| (**v, v.span())))
    };
    let within = &file.within;
    let at = |v: f64, span| Some((v, span));
    // The part file's own limits, as conditions that the search sees coming.
    let and = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => Some(min(a, b)),
        (a, b) => a.or(b),
    };
    let hand = case.hand.and_then(|hand| hand.force);
    let yields = case.material.yield_strength.as_ref().map(|d| d.value);
    let wish = Wish {
        goal: *file.goal,
        energy: match &file.energy {
            Some(e) => positive_at(&source, "energy", e.value(), e.span())?,
            None => 0.0,
        },
        force: and(
            self::positive(
                &source,
                "force",
                within.force.as_ref().and_then(|f| at(f.value(), f.span())),
            )?,
            hand,
        ),
        strain: self::positive(
            &source,
            "strain",
            within.strain.as_ref().and_then(|f| at(f.value(), f.span())),
        )?,
        stress: and(
            self::positive(
                &source,
                "stress",
                within.stress.as_ref().and_then(|f| at(f.value(), f.span())),
            )?,
            yields,
        ),
        across: positive("across", within.across.as_ref())?,
        in_turn: positive("in_turn", within.in_turn.as_ref())?,
    };
    let count = |what: &str, value: Option<&Placed<i64>>, usual: i64, most: i64| {
        let (number, span) = value.map_or((usual, 0..0), |v| (**v, v.span()));
        usize::try_from(number).ok().filter(|_| (1..=most).contains(&number)).ok_or_else(|| {
            let cause = CaseCause::OutOfRange {
                what: what.into(),
                found: number.to_string(),
                range: format!("from 1 to {most}"),
            };
            Refusal::at(&source, span, cause)
        })
    };
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    Ok(Seek {
        title: file.title.clone().unwrap_or_else(|| name.into_owned()),
        variables: variables(&source, &file.vary, &base, &part)?,
        wish,
        seed: u64::try_from(count("seed", file.seed.as_ref(), 1, i64::MAX)?).unwrap_or(1),
        starts: count("starts", file.starts.as_ref(), USUAL_STARTS, 1000)?,
        designs: count("designs", file.designs.as_ref(), USUAL_DESIGNS, 100_000)?,
        confirm: count("confirm", file.confirm.as_ref(), USUAL_CONFIRMED, 100)?,
        rounds: count("rounds", file.rounds.as_ref(), USUAL_ROUNDS, 20)?,
        overrides: Overrides { look: Look::Bed, ..Overrides::default() },
        // A budget may be raised and the search gone on with: what was computed stays true.
        fingerprint: fingerprint(&[
            &format!("{:?}", file.vary),
            &text,
            &format!("{:?}", case.material),
        ]),
        part,
        base,
    })
}

fn positive(
    source: &Source,
    what: &str,
    value: Option<(f64, std::ops::Range<usize>)>,
) -> Result<Option<f64>, Refusal> {
    value.map(|(value, span)| positive_at(source, what, value, span)).transpose()
}

fn positive_at(
    source: &Source,
    what: &str,
    value: f64,
    span: std::ops::Range<usize>,
) -> Result<f64, Refusal> {
    if value > 0.0 && value.is_finite() {
        return Ok(value);
    }
    let cause = CaseCause::OutOfRange {
        what: what.into(),
        found: value.to_string(),
        range: "above 0".into(),
    };
    Err(Refusal::at(source, span, cause))
}

fn variables(
    source: &Source,
    vary: &Placed<toml::Table>,
    base: &DocumentMut,
    part: &Path,
) -> Result<Vec<Variable>, Refusal> {
    let document = toml_edit::Document::parse(source.text()).map_err(|e| {
        Refusal::of_text(source, CaseCause::BadToml { why: e.message().to_owned() })
    })?;
    let nothing = || Refusal::at(source, vary.span(), SweepCause::NothingVaried);
    let table = document.get("vary").and_then(Item::as_table_like).ok_or_else(nothing)?;
    let mut found = Vec::new();
    leaves(table, &mut Vec::new(), &mut found);
    let mut variables = Vec::new();
    for (key, item, span) in found {
        let span = span.unwrap_or(vary.span());
        let bad = |why: String| {
            let cause = SweepCause::BadValues { key: key.to_string(), why };
            Refusal::at(source, span.clone(), cause)
        };
        let values = Values::of(item).map_err(bad)?;
        let Values::Range { from, to, unit, count: None, whole: false } = &values else {
            let why = "is not a range { from = \"1 mm\", to = \"2 mm\" }: a search goes through all values between".into();
            return Err(bad(why));
        };
        if from >= to {
            return Err(bad("does not go up".into()));
        }
        try_key(base, part, &key, &values.at(0.0))
            .map_err(|cause| Refusal::at(source, span.clone(), cause))?;
        let written = key.get(base).and_then(Item::as_value).and_then(crate::design::Written::of);
        let known = written.filter(|w| w.unit() == unit).and_then(|w| w.number());
        let start = known.map_or(0.5, |v| ((v - from) / (to - from)).clamp(0.0, 1.0));
        let column = if unit.is_empty() { key.to_string() } else { format!("{key}_{unit}") };
        variables.push(Variable { key, values, start, column });
    }
    if variables.is_empty() { Err(nothing()) } else { Ok(variables) }
}
