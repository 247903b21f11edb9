//! What was reconciled, as data and in words.
//!
//! The fields of `reconcile.json` are a contract; names carry their units. `schema/reconcile.schema.json` in this crate
//! is made from these types, and a test keeps the two together.

use crate::analysis::{Analysis, Axis, moving_regions, shot};
use crate::case::Case;
use crate::measured::pull::{Pull, Shape};
use crate::measured::speeds::{Losses, Measured, Meters};
use crate::picture::three_digits;
use crate::remark::{LAUNCH_CAUTIONS, cautions};
use crate::verdict::aligned;
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
    corrected: Corrected,
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
struct Corrected {
    /// Force or moment.
    effort: f64,
    /// "N" or "N mm".
    effort_unit: &'static str,
    /// Full draw.
    travel: f64,
    /// "mm" or "deg".
    travel_unit: &'static str,
    /// Stored.
    #[serde(rename = "energy_mJ")]
    energy: f64,
    /// In the hot spot.
    #[serde(rename = "peak_von_mises_MPa")]
    von_mises: f64,
    /// Of the projectile; absent if nothing is thrown.
    #[serde(skip_serializing_if = "Option::is_none")]
    speed_m_per_s: Option<f64>,
    /// Of the projectile.
    #[serde(rename = "projectile_energy_mJ", skip_serializing_if = "Option::is_none")]
    projectile: Option<f64>,
    /// To be shown wherever any of this is; absent if nothing is thrown.
    #[serde(skip_serializing_if = "Option::is_none")]
    cautions: Option<[&'static str; 6]>,
}

impl Found<'_> {
    fn scale(&self) -> f64 {
        self.pull.map_or(1.0, |p| p.scale)
    }

    /// Modulus and half the width of its interval, the scale's own uncertainty added in quadrature (MPa).
    fn modulus(&self, pull: &Pull) -> [f64; 2] {
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

/// What a person reads.
#[must_use]
pub fn text(found: &Found, document: &Document) -> String {
    let mut lines: Vec<(String, String)> = Vec::new();
    if let Some(pull) = found.pull {
        lines.extend(of_pull(found, pull));
    } else {
        lines.push(("pull".into(), "not measured: the card's modulus is taken".into()));
    }
    if let Some((losses, shots)) = found.speeds {
        lines.extend(of_speeds(found, losses, shots));
    }
    let c = &document.corrected;
    let mut corrected = format!(
        "{} {} at {} {}, {} mJ stored, {} MPa in the hot spot",
        three_digits(c.effort),
        c.effort_unit,
        three_digits(c.travel),
        c.travel_unit,
        three_digits(c.energy),
        three_digits(c.von_mises)
    );
    if let Some(strength) = &found.case.material.yield_strength {
        corrected += &format!(" ({:.0} % of yield)", 100.0 * c.von_mises / strength.value);
    }
    lines.push(("corrected".into(), corrected));
    if let (Some(speed), Some(energy), Some(launch)) =
        (c.speed_m_per_s, c.projectile, &found.case.launch)
    {
        let fact = format!(
            "{} g at {} m/s, {} mJ",
            three_digits(launch.mass),
            three_digits(speed),
            three_digits(energy)
        );
        lines.push(("throws".into(), fact));
    }
    let mut text = aligned(&found.case.title, &lines);
    text += "\nFor the part file\n";
    if let (Some(pull), Some(file)) = (found.pull, found.pull_file) {
        let [modulus, half] = found.modulus(pull);
        text += &format!(
            "  [material]\n  youngs_modulus = {{ value = \"{:.0} MPa\", low = \"{:.0} MPa\", high = \"{:.0} MPa\", \
             source = \"pull of this part, {file}\" }}\n",
            modulus,
            modulus - half,
            modulus + half
        );
    }
    if let Some((losses, _)) = found.speeds
        && losses.loss >= 0.0
    {
        text += &format!("  [launch]\n  losses = \"{:.0} %\"\n", 100.0 * losses.loss);
    }
    if c.cautions.is_some() {
        text += &cautions();
    }
    text
}

fn of_pull(found: &Found, pull: &Pull) -> Vec<(String, String)> {
    let axis =
        Axis::of(found.case, moving_regions(found.case).first().copied().unwrap_or_default());
    let [length, force] = axis.units();
    let [modulus, half] = found.modulus(pull);
    let mut readings = format!("{} readings, {} used", found.readings, pull.used);
    if pull.beyond > 0 {
        readings +=
            &format!("; {} lie beyond the computed draw: solve farther to use them", pull.beyond);
    }
    let thicker = 100.0 * (pull.scale.cbrt() - 1.0);
    let mut lines = vec![
        ("pull".into(), readings),
        (
            "modulus".into(),
            format!(
                "{modulus:.0} MPa, {:.0} to {:.0} with 95 % confidence: {:.2} times the card's",
                modulus - half,
                modulus + half,
                pull.scale
            ),
        ),
        (
            "or the width".into(),
            format!(
                "ribs {:.1} % {} than drawn would do the same: measure one",
                thicker.abs(),
                if thicker < 0.0 { "narrower" } else { "wider" }
            ),
        ),
        (
            "scatter".into(),
            format!("{} {force} about the reconciled curve", three_digits(pull.scatter)),
        ),
    ];
    if pull.zero != 0.0 {
        let fact = format!(
            "the part begins to resist at {} {length} of the readings, give or take {}",
            three_digits(pull.zero),
            three_digits(pull.zero_half_width)
        );
        lines.push(("zero".into(), fact));
    }
    let shape = match pull.shape {
        Shape::AsComputed => "as computed: only scatter is left".to_owned(),
        Shape::Unknown => "too few readings to tell".to_owned(),
        Shape::Softens { from, at_end } => format!(
            "falls below the computed curve beyond {} {length}, {:.0} % at the end: it yields (or creeps while it is \
             pulled). The modulus is that of the readings below",
            three_digits(from),
            100.0 * at_end
        ),
        Shape::Bends { at_end } => format!(
            "bends away from the computed curve all along, {:+.0} % at full draw: geometry. Look at widths, fillets \
             and what holds the part",
            100.0 * at_end
        ),
    };
    lines.push(("shape".into(), shape));
    lines
}

fn of_speeds(found: &Found, losses: &Losses, shots: &[Measured]) -> Vec<(String, String)> {
    let percent = |v: f64| format!("{:.1}", 100.0 * v);
    let mut fact = format!("{} % of the released energy", percent(losses.loss));
    if losses.half_width.is_finite() {
        fact += &format!(", give or take {} with 95 % confidence", percent(losses.half_width));
    }
    let meters = found.meters;
    let mut lines = vec![
        ("speeds".to_owned(), format!("{} shots", shots.len())),
        ("losses".to_owned(), fact),
        (
            "meters".to_owned(),
            format!(
                "speeds to {} % and masses to {} % leave an energy open by {} %, 2 dv/v + dm/m",
                percent(meters.speed),
                percent(meters.mass),
                percent(2.0 * meters.speed + meters.mass)
            ),
        ),
    ];
    if losses.loss < -losses.of_meters {
        let fact = "the shots have more energy than is computed: the modulus of a fast release is higher than that \
                    of a slow pull, or the part is stiffer than taken";
        lines.push(("beware".to_owned(), fact.to_owned()));
    }
    if let Some(trend) = losses.trend {
        let fact = format!(
            "{:+.1} % for each doubling of the mass: losses by friction grow with mass, a wrong moving mass makes them \
             fall",
            100.0 * trend
        );
        lines.push(("losses grow".to_owned(), fact));
    }
    if found.pull.is_none() {
        let fact = "without a pull, losses and a wrong modulus cannot be told apart";
        lines.push(("beware".to_owned(), fact.to_owned()));
    }
    lines
}
