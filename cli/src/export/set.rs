//! `set.json` and `set.csv`: what a part keeps when it is let down, as data.
//!
//! The fields of `set.json` are a contract; names carry their units. `schema/set.schema.json` in
//! this crate is made from these types, and a test keeps the two together.

use super::curve::shortest;
use crate::analysis::{Axis, SetAnalysis, moving_regions, travel_and_effort};
use crate::case::Case;
use crate::export::comparison::DrawUnits;
use crate::remark::Remark;
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt::Write as _;
use withy_mesh::number::largest;
use withy_solver::{Hardening, Stage};

/// The whole outcome.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "Withy permanent set", deny_unknown_fields)]
pub struct SetDocument {
    /// Always "withy-set/1".
    pub format: &'static str,
    /// File name of the part file.
    pub part: String,
    /// Title of the part.
    pub title: String,
    /// Version of the program.
    pub withy: &'static str,
    /// Whether all stages were followed.
    pub completed: bool,
    /// Where and why not; null if they were.
    pub stopped: Option<SetStopped>,
    /// What it was computed with.
    pub assumed: SetAssumed,
    /// The region whose travel and effort are listed.
    pub region: String,
    /// "mm" and "N", or "deg" and "N mm".
    pub units: DrawUnits,
    /// What was done: "draw to 100 %", "let down".
    pub stages: Vec<String>,
    /// Each draw and what came back.
    pub draws: Vec<DrawData>,
    /// Largest equivalent plastic strain in the end.
    pub most_plastic_strain: f64,
    /// All converged states in order; rest is not listed.
    pub states: Vec<SetState>,
    /// What was assumed, decided or noticed.
    pub remarks: Vec<Remark>,
}

/// A plastic strain at which no hardening is left to come.
const SATURATED: f64 = 1e3;

/// Where it ended early.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SetStopped {
    /// Stage, from 1.
    pub stage: usize,
    /// Last fraction of the draw at which equilibrium was found.
    pub fraction: f64,
    /// In words.
    pub cause: String,
}

/// The law.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SetAssumed {
    /// Name of the card.
    pub material: String,
    /// "plane stress" or "plane strain".
    pub state: &'static str,
    /// As used.
    #[serde(rename = "youngs_modulus_MPa")]
    pub youngs_modulus: f64,
    /// As used.
    pub poissons_ratio: f64,
    /// Stress of the first plastic strain.
    #[serde(rename = "first_yield_MPa")]
    pub first_yield: f64,
    /// Yield stress that hardening comes to.
    #[serde(rename = "saturated_yield_MPa")]
    pub saturated_yield: f64,
    /// Rate at which it does.
    pub hardening_rate: f64,
}

/// One draw.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct DrawData {
    /// Fraction of the full draw.
    pub fraction: f64,
    /// Travel at its end.
    pub travel: f64,
    /// Force or moment there.
    pub effort: f64,
    /// Work put in.
    #[serde(rename = "put_in_mJ")]
    pub put_in: f64,
    /// Largest equivalent plastic strain at its end.
    pub most_plastic_strain: f64,
    /// What came back; null if it was not let down.
    pub back: Option<BackData>,
}

/// The way back.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct BackData {
    /// Work given back.
    #[serde(rename = "returned_mJ")]
    pub returned: f64,
    /// Over the work put in.
    pub returned_share: f64,
    /// Travel at which it was left: the permanent set, where it is free.
    pub rest: f64,
    /// Force or moment there.
    pub effort: f64,
    /// Whether it lies there by itself.
    pub free: bool,
    /// For how long it was left alone then, if it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub alone_s: Option<f64>,
    /// Travel at which it rests after that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rest_later: Option<f64>,
}

/// One state.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SetState {
    /// Stage, from 1.
    pub stage: usize,
    /// Time since the first draw.
    pub time_s: f64,
    /// Fraction of the full draw.
    pub fraction: f64,
    /// Travel of the region.
    pub travel: f64,
    /// Its force or moment.
    pub effort: f64,
    /// Energy stored elastically.
    #[serde(rename = "elastic_energy_mJ")]
    pub elastic_energy: f64,
    /// Work done on plastic strain so far.
    #[serde(rename = "plastic_work_mJ")]
    pub plastic_work: f64,
    /// What relaxing has taken so far.
    #[serde(rename = "relaxed_mJ")]
    pub relaxed: f64,
    /// Largest equivalent plastic strain.
    pub most_plastic_strain: f64,
    /// Whether it resists every small disturbance.
    pub stable: bool,
}

impl SetDocument {
    /// Gathers everything; `estimates` are the remarks on the material.
    #[must_use]
    pub fn new(
        case: &Case,
        hardening: &Hardening,
        set: &SetAnalysis,
        estimates: &[Remark],
    ) -> Self {
        let region = moving_regions(case).first().copied().unwrap_or_default();
        let [travel, effort] = Axis::of(case, region).units();
        let (first, slope) = hardening.at(0.0);
        let (saturated, _) = hardening.at(SATURATED);
        let solution = &set.elastic.solution;
        let remarks = case.remarks.iter().chain(estimates).chain(&set.remarks).cloned().collect();
        let states = set.path.states.iter().map(|s| {
            let [travel, effort] = travel_and_effort(case, s);
            SetState {
                stage: s.stage + 1,
                time_s: s.time / 1e3,
                fraction: s.step.fraction,
                travel,
                effort,
                elastic_energy: s.step.strain_energy,
                plastic_work: s.plastic_work,
                relaxed: s.relaxed,
                most_plastic_strain: s.most_plastic,
                stable: s.step.is_stable(),
            }
        });
        Self {
            format: "withy-set/1",
            part: case.file_name(),
            title: case.title.clone(),
            withy: env!("CARGO_PKG_VERSION"),
            completed: set.stopped.is_none(),
            stopped: set.stopped.as_ref().map(|(stage, fraction, cause)| SetStopped {
                stage: stage + 1,
                fraction: *fraction,
                cause: cause.to_string(),
            }),
            assumed: SetAssumed {
                material: case.material.name.clone(),
                state: match solution.state {
                    withy_solver::PlaneState::PlaneStress => "plane stress",
                    withy_solver::PlaneState::PlaneStrain => "plane strain",
                },
                youngs_modulus: case.material.youngs_modulus.value,
                poissons_ratio: case.material.poissons_ratio.value,
                first_yield: first,
                saturated_yield: saturated,
                hardening_rate: if saturated > first { slope / (saturated - first) } else { 0.0 },
            },
            region: region.to_owned(),
            units: DrawUnits { travel, effort },
            stages: set.stages.iter().map(|s| words(*s)).collect(),
            draws: set.draws.iter().map(draw_data).collect(),
            most_plastic_strain: largest(0.0, set.path.states.iter().map(|s| s.most_plastic)),
            states: states.collect(),
            remarks,
        }
    }

    /// As text.
    ///
    /// # Errors
    /// Never, as far as the types go.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

fn draw_data(draw: &crate::analysis::DrawOutcome) -> DrawData {
    DrawData {
        fraction: draw.fraction,
        travel: draw.travel,
        effort: draw.effort,
        put_in: draw.put_in,
        most_plastic_strain: draw.most_plastic,
        back: draw.back.map(|back| BackData {
            returned: back.returned,
            returned_share: back.returned / draw.put_in,
            rest: back.rest,
            effort: back.effort,
            free: back.free,
            alone_s: back.later.map(|[time, _]| time / 1e3),
            rest_later: back.later.map(|[_, rest]| rest),
        }),
    }
}

/// A stage in words.
#[must_use]
pub fn words(stage: Stage) -> String {
    match stage {
        Stage::To(share) if share > 0.0 => format!("draw to {} %", shortest(100.0 * share)),
        Stage::To(_) => "let down to rest".to_owned(),
        Stage::Hold(time) => format!("hold {}", time_words(time)),
        Stage::Rest(time) => format!("rest {}", time_words(time)),
        Stage::LetDown => "let down".to_owned(),
    }
}

/// Units of time for people: name and ms, the longest first.
const UNITS: [(&str, f64); 4] = [("day", 8.64e7), ("h", 3.6e6), ("min", 6e4), ("s", 1e3)];

/// "1 h", "2.5 min".
#[must_use]
pub fn time_words(time: f64) -> String {
    let unit = UNITS.iter().find(|(_, of)| time >= *of * (1.0 - 1e-9));
    let (name, of) = unit.unwrap_or(&("ms", 1.0));
    let count = shortest(three_digits_of(time / of));
    let plural = if *name == "day" && count != "1" { "s" } else { "" };
    format!("{count} {name}{plural}")
}

fn three_digits_of(value: f64) -> f64 {
    let unit = 10f64.powf(value.abs().log10().floor() - 2.0);
    (value / unit).round() * unit
}

/// The table of states, rest first.
#[must_use]
pub fn set_csv(document: &SetDocument) -> String {
    let unit = |u: &str| u.replace(' ', "");
    let mut table = format!(
        "stage,time_s,fraction,travel_{},effort_{},elastic_energy_mJ,plastic_work_mJ,relaxed_mJ,most_plastic_strain,stable\n",
        unit(document.units.travel),
        unit(document.units.effort)
    );
    table += "0,0,0,0,0,0,0,0,0,true\n";
    for s in &document.states {
        let numbers = [
            s.time_s,
            s.fraction,
            s.travel,
            s.effort,
            s.elastic_energy,
            s.plastic_work,
            s.relaxed,
            s.most_plastic_strain,
        ];
        let text: Vec<String> = numbers.into_iter().map(shortest).collect();
        let _ = writeln!(table, "{},{},{}", s.stage, text.join(","), s.stable);
    }
    table
}

/// The JSON Schema of `set.json`.
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(SetDocument).to_value()
}
