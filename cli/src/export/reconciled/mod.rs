//! What was reconciled, as data and in [`words`].
//!
//! The fields of `reconcile.json` are a contract; names carry their units. `schema/reconcile.schema.json` in this crate
//! is made from these types, and a test keeps the two together.

pub mod words;

use crate::analysis::{Analysis, Axis, moving_regions, shot};
use crate::case::Case;
use crate::measured::pull::{Pull, Shape};
use crate::measured::speeds::{Losses, Measured, Meters};
use crate::remark::LAUNCH_CAUTIONS;
use schemars::JsonSchema;
use serde::Serialize;
use withy_mesh::number::max;
use withy_solver::release::{Shot, USUAL_PIECES, release};

/// All that is known.
#[derive(Clone, Copy, Debug)]
pub struct Found<'a> {
    /// The part.
    pub case: &'a Case,
    /// Its solution with the card's modulus.
    pub analysis: &'a Analysis,
    /// Its pull, if it was measured.
    pub pull: Option<&'a Pull>,
    /// The file of its readings.
    pub pull_file: Option<&'a str>,
    /// How many there are.
    pub readings: usize,
    /// Uncertainty of the scale itself, as a share.
    pub force_error: f64,
    /// Its speeds, if they were measured.
    pub speeds: Option<(&'a Losses, &'a [Measured])>,
    /// Uncertainty of the meters.
    pub meters: Meters,
}

/// `reconcile.json`.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "Withy measured against computed", deny_unknown_fields)]
pub struct Document {
    /// Always "withy-reconcile/1".
    format: &'static str,
    /// File name of the part file.
    part: String,
    /// Title of the part.
    title: String,
    /// What the pull tells; absent if none was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pull: Option<PullDocument>,
    /// What the speeds tell; absent if none were measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    losses: Option<LossDocument>,
    /// The part's numbers at full draw with what was found.
    pub corrected: Corrected,
}

/// What a measured pull tells.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct PullDocument {
    /// Lines of the file.
    readings: usize,
    /// Those that the modulus rests on.
    used: usize,
    /// Those that nothing is computed for.
    beyond_the_computed_draw: usize,
    /// That which fits the readings best.
    #[serde(rename = "youngs_modulus_MPa")]
    modulus: f64,
    /// With 95 % confidence, the scale's own uncertainty added in quadrature.
    #[serde(rename = "youngs_modulus_range_MPa")]
    range: [f64; 2],
    /// The modulus by the card's.
    by_the_card: f64,
    /// Draw of the readings at which the part begins to resist, in the unit of travel.
    zero: f64,
    /// Half of its interval of 95 % confidence.
    zero_half_width: f64,
    /// Standard deviation about the reconciled curve, in the unit of effort.
    scatter: f64,
    /// "as computed", "softens", "bends" or "unknown".
    shape: &'static str,
    /// What is missing or too much at the end of the draw, by the curve.
    #[serde(skip_serializing_if = "Option::is_none")]
    shape_share_at_end: Option<f64>,
    /// Draw from which on it softens, in the unit of travel.
    #[serde(skip_serializing_if = "Option::is_none")]
    softens_from: Option<f64>,
}

/// What measured speeds tell.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct LossDocument {
    /// Lines of the file.
    shots: usize,
    /// Share of the released energy.
    loss: f64,
    /// Half of its interval of 95 % confidence; absent for a single shot.
    #[serde(skip_serializing_if = "Option::is_none")]
    loss_half_width: Option<f64>,
    /// What the meters leave open of it.
    of_meters: f64,
    /// By how much it grows for each doubling of the mass, if it surely does.
    #[serde(skip_serializing_if = "Option::is_none")]
    growth_by_doubled_mass: Option<f64>,
}

/// The part's numbers at full draw with what was found.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Corrected {
    /// Force or moment.
    pub effort: f64,
    /// "N" or "N mm".
    pub effort_unit: &'static str,
    /// Full draw.
    pub travel: f64,
    /// "mm" or "deg".
    pub travel_unit: &'static str,
    /// Stored.
    #[serde(rename = "energy_mJ")]
    pub energy: f64,
    /// In the hot spot.
    #[serde(rename = "peak_von_mises_MPa")]
    pub von_mises: f64,
    /// Of the projectile; absent if nothing is thrown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed_m_per_s: Option<f64>,
    /// Of the projectile.
    #[serde(rename = "projectile_energy_mJ", skip_serializing_if = "Option::is_none")]
    pub projectile: Option<f64>,
    /// To be shown wherever any of this is; absent if nothing is thrown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cautions: Option<[&'static str; 6]>,
}

impl Found<'_> {
    fn scale(&self) -> f64 {
        self.pull.map_or(1.0, |p| p.scale)
    }

    /// Modulus and half the width of its interval, the scale's own uncertainty added in quadrature (MPa).
    #[must_use]
    pub fn modulus(&self, pull: &Pull) -> [f64; 2] {
        let card = self.case.material.youngs_modulus.value;
        let value = pull.scale * card;
        [value, (pull.half_width * card).hypot(self.force_error * value)]
    }
}

impl Document {
    /// Of what was found.
    #[must_use]
    pub fn new(found: &Found) -> Self {
        let case = found.case;
        let axis = Axis::of(case, moving_regions(case).first().copied().unwrap_or_default());
        let [travel_unit, effort_unit] = axis.units();
        let solution = &found.analysis.solution;
        let scale = found.scale();
        let last = solution.path.steps.last();
        let thrown =
            solution.launched.as_ref().zip(case.launch.as_ref()).and_then(|(l, launch)| {
                let losses =
                    found.speeds.map_or(launch.losses, |(losses, _)| max(losses.loss, 0.0));
                let shot = Shot { losses, ..shot(launch) };
                release(&l.way.scaled(scale, 1.0), &shot, USUAL_PIECES).ok()
            });
        Self {
            format: "withy-reconcile/1",
            part: case.file_name(),
            title: case.title.clone(),
            pull: found.pull.map(|pull| {
                let [modulus, half] = found.modulus(pull);
                let (shape, share, from) = match pull.shape {
                    Shape::AsComputed => ("as computed", None, None),
                    Shape::Unknown => ("unknown", None, None),
                    Shape::Softens { from, at_end } => ("softens", Some(at_end), Some(from)),
                    Shape::Bends { at_end } => ("bends", Some(at_end), None),
                };
                PullDocument {
                    readings: found.readings,
                    used: pull.used,
                    beyond_the_computed_draw: pull.beyond,
                    modulus,
                    range: [modulus - half, modulus + half],
                    by_the_card: pull.scale,
                    zero: pull.zero,
                    zero_half_width: pull.zero_half_width,
                    scatter: pull.scatter,
                    shape,
                    shape_share_at_end: share,
                    softens_from: from,
                }
            }),
            losses: found.speeds.map(|(losses, shots)| LossDocument {
                shots: shots.len(),
                loss: losses.loss,
                loss_half_width: losses.half_width.is_finite().then_some(losses.half_width),
                of_meters: losses.of_meters,
                growth_by_doubled_mass: losses.trend,
            }),
            corrected: Corrected {
                effort: last.map_or(f64::NAN, |s| scale * axis.effort(&s.reactions[0])),
                effort_unit,
                travel: last.map_or(f64::NAN, |s| axis.travel(s.rigid[0])),
                travel_unit,
                energy: last.map_or(f64::NAN, |s| scale * s.strain_energy),
                von_mises: scale * solution.hot_spot.von_mises,
                speed_m_per_s: thrown.as_ref().map(|r| r.speed),
                projectile: thrown.as_ref().map(|r| r.energy),
                cautions: thrown.as_ref().map(|_| LAUNCH_CAUTIONS),
            },
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

/// The JSON Schema of `reconcile.json`.
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Document).to_value()
}
