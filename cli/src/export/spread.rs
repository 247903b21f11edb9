//! What a print leaves open, as data.
//!
//! The fields of `spread.json` are a contract; names carry their units. `schema/spread.schema.json` in this crate is
//! made from these types, and a test keeps the two together.

use crate::case::Case;
use crate::remark::LAUNCH_CAUTIONS;
use crate::spread::{Input, Outcome, Spread};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// `spread.json`.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "Withy spread of a print", deny_unknown_fields)]
pub struct Document {
    /// Always "withy-spread/1".
    format: &'static str,
    /// File name of the part file.
    part: String,
    /// Title of the part.
    title: String,
    /// The part as solved.
    solved: OutcomeDocument,
    /// What a print leaves open, one by one.
    inputs: Vec<InputDocument>,
    /// Lowest and highest of "force" (N), or "moment" (N mm) where the part is turned, "energy" (mJ), "largest strain"
    /// (%) and "speed" (m/s) if all that are ranges are independent; null for what there is none of.
    together: BTreeMap<&'static str, Option<[f64; 2]>>,
    /// What was left out, and why.
    left_out: Vec<String>,
    /// To be shown wherever any of this is; null if nothing is thrown.
    cautions: Option<[&'static str; 6]>,
}

/// What is asked of a part at full draw.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct OutcomeDocument {
    /// Force or moment, N or N mm.
    effort: f64,
    /// Stored.
    #[serde(rename = "energy_mJ")]
    energy: f64,
    /// Over the draw.
    largest_strain: f64,
    /// Over the draw.
    #[serde(rename = "peak_von_mises_MPa")]
    stress: f64,
    /// Of what is thrown; null if nothing is.
    speed_m_per_s: Option<f64>,
}

/// One uncertain thing.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct InputDocument {
    /// "modulus", "thickness", "solid share", "walls" or "beads".
    what: &'static str,
    /// Its two ends in words.
    ends: [String; 2],
    /// Where they come from.
    source: String,
    /// Whether both ends are as likely as not and add up with others; a choice does not.
    range: bool,
    /// What each end does; the same twice where there is one end only.
    outcomes: [OutcomeDocument; 2],
}

impl OutcomeDocument {
    fn new(outcome: &Outcome) -> Self {
        Self {
            effort: outcome.effort,
            energy: outcome.energy,
            largest_strain: outcome.strain,
            stress: outcome.stress,
            speed_m_per_s: outcome.speed,
        }
    }
}

impl InputDocument {
    fn new(input: &Input) -> Self {
        Self {
            what: input.name,
            ends: input.ends.clone(),
            source: input.source.clone(),
            range: input.is_range,
            outcomes: input.outcomes.each_ref().map(OutcomeDocument::new),
        }
    }
}

impl Document {
    /// Of what was found.
    #[must_use]
    pub fn new(case: &Case, found: &Spread) -> Self {
        Self {
            format: "withy-spread/1",
            part: case.file_name(),
            title: case.title.clone(),
            solved: OutcomeDocument::new(&found.base),
            inputs: found.inputs.iter().map(InputDocument::new).collect(),
            together: found
                .told()
                .iter()
                .map(|(name, _, of)| (*name, found.together(of)))
                .collect(),
            left_out: found.left_out.clone(),
            cautions: found.base.speed.map(|_| LAUNCH_CAUTIONS),
        }
    }

    /// As text, indented.
    ///
    /// # Errors
    /// Never; the signature is the serialiser's.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

/// The JSON Schema of `spread.json`.
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Document).to_value()
}
