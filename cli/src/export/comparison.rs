//! `compare.json` and `materials.csv`: every card against a part, as data.
//!
//! The fields of `compare.json` are a contract; names carry their units. `schema/compare.schema.json` in
//! this crate is made from these types, and a test keeps the two together.

use crate::analysis::{Axis, moving_regions};
use crate::case::Case;
use crate::comparison::{Band, Comparison, Method, Row, Throw};
use crate::remark::{LAUNCH_CAUTIONS, Remark};
use schemars::JsonSchema;
use serde::Serialize;
use withy_solver::PlaneState;

/// The whole comparison.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "Withy comparison of materials", deny_unknown_fields)]
pub struct Document {
    /// Always "withy-compare/1".
    pub format: &'static str,
    /// File name of the part file.
    pub part: String,
    /// Title of the part.
    pub title: String,
    /// Version of the program.
    pub withy: &'static str,
    /// "plane stress" or "plane strain", chosen in the part's own material.
    pub state: &'static str,
    /// The region whose travel and effort are listed.
    pub region: String,
    /// "mm" and "N", or "deg" and "N mm".
    pub units: DrawUnits,
    /// "scaled" by the modulus, or "apart": a solve for each card, because dead loads do not scale.
    pub method: &'static str,
    /// What Poisson's ratio, and with beads the shares of their moduli, change alone; empty if each card was solved apart.
    pub poisson: Vec<Poisson>,
    /// The cards in the order of the shelf.
    pub cards: Vec<CardRow>,
    /// Names by the same draw: those that stay whole first, each group by its energy.
    pub same_file: Vec<String>,
    /// Names by the energy at the largest safe draw.
    pub own_limit: Vec<String>,
    /// To be shown wherever speeds are; empty if nothing is thrown.
    pub cautions: Vec<&'static str>,
    /// What was assumed, decided or noticed.
    pub remarks: Vec<Remark>,
}

/// Units of travel and effort.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct DrawUnits {
    /// Of the travel.
    pub travel: &'static str,
    /// Of the effort.
    pub effort: &'static str,
}

/// One Poisson's ratio; with beads, one of each of their shares too.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Poisson {
    /// The ratio.
    pub poissons_ratio: f64,
    /// Modulus across beads by that along; absent without beads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub modulus_across_share: Option<f64>,
    /// Modulus of shear by that along; absent without beads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shear_modulus_share: Option<f64>,
    /// Force at full draw by modulus, relative to the part's own material, less one.
    pub effort_change: f64,
    /// The same of the largest von Mises stress.
    pub stress_change: f64,
}

/// A value and what the spreads of the card leave open.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct BandData {
    /// From the card's values.
    pub value: f64,
    /// Lowest over the corners of the spreads; null if the card has no spread.
    pub low: Option<f64>,
    /// Highest over the corners of the spreads; null if the card has no spread.
    pub high: Option<f64>,
}

/// One card.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct CardRow {
    /// Its name or path.
    pub card: String,
    /// For people.
    pub title: String,
    /// Whether it is the part file's own material.
    pub own: bool,
    /// Whether the solve reached the full draw.
    pub completed: bool,
    /// As used.
    #[serde(rename = "youngs_modulus_MPa")]
    pub youngs_modulus: f64,
    /// Whether the modulus is an estimate.
    pub modulus_estimated: bool,
    /// As used.
    pub poissons_ratio: f64,
    /// At full draw, by the linear law.
    pub full_draw: FullDraw,
    /// To its own limit.
    pub safe_draw: SafeDrawData,
    /// What it throws; absent without a launch in the part file or a density on the card.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub throws: Option<ThrowsData>,
}

/// Speeds of three projectiles.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ThrowsData {
    /// From full draw, whether the part stays whole there or not.
    pub full_draw: Vec<ThrowData>,
    /// From the largest safe draw.
    pub safe_draw: Vec<ThrowData>,
}

/// One projectile.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ThrowData {
    /// Its mass.
    pub mass_g: f64,
    /// Its speed; null where the carriage does not come to its stop.
    pub speed_m_per_s: Option<BandData>,
}

/// What a card does at full draw.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct FullDraw {
    /// Travel of the region.
    pub travel: BandData,
    /// Force or moment along it.
    pub effort: BandData,
    /// Stored energy.
    #[serde(rename = "strain_energy_mJ")]
    pub energy: BandData,
    /// Largest nominal strain over the draw.
    pub strain: BandData,
    /// Largest von Mises stress over the draw.
    #[serde(rename = "von_mises_MPa")]
    pub von_mises: BandData,
    /// Largest principal stress over the draw.
    #[serde(rename = "tension_MPa")]
    pub tension: BandData,
    /// Strain by yield strain; null if the card has none.
    pub of_yield_strain: Option<BandData>,
    /// Von Mises stress by yield strength; null if the card has none.
    pub of_yield: Option<BandData>,
    /// Tension by strength at break, or strain by strain at break; null if the card has neither.
    pub of_break: Option<BandData>,
    /// "fine", "takes a set" or "snaps"; null if no strength is known.
    pub fate: Option<&'static str>,
    /// The worst that the spreads leave open.
    pub worst_fate: Option<&'static str>,
    /// Whether the linear law is asked beyond yielding or breaking here.
    pub beyond_linear_range: bool,
}

/// How far a card's part may be drawn.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SafeDrawData {
    /// Fraction of the draw; the solved draw where the limit lies beyond it.
    pub fraction: BandData,
    /// Travel of the region there.
    pub travel: BandData,
    /// Energy stored there.
    #[serde(rename = "strain_energy_mJ")]
    pub energy: BandData,
    /// What ends it: "yield", "break", "guidance", "no-return" or "stability"; null if nothing does
    /// within the solved draw.
    pub ends: Option<&'static str>,
    /// Whether the limit lies beyond the solved draw, so that travel and energy are lower bounds.
    pub beyond_the_solved_draw: bool,
    /// Whether the upper ends of the bands do.
    pub high_beyond_the_solved_draw: bool,
}

fn band(band: &Band) -> BandData {
    BandData { value: band.value, low: band.range.map(|r| r[0]), high: band.range.map(|r| r[1]) }
}

impl Document {
    /// Gathers a comparison.
    #[must_use]
    pub fn new(case: &Case, comparison: &Comparison) -> Self {
        let region = moving_regions(case).first().copied().unwrap_or_default();
        let [travel, effort] = Axis::of(case, region).units();
        let names = |rows: Vec<&Row>| rows.iter().map(|r| r.card.name.clone()).collect();
        Self {
            format: "withy-compare/1",
            part: case.file_name(),
            title: case.title.clone(),
            withy: env!("CARGO_PKG_VERSION"),
            state: match comparison.base.solution.state {
                PlaneState::PlaneStress => "plane stress",
                PlaneState::PlaneStrain => "plane strain",
            },
            region: region.to_owned(),
            units: DrawUnits { travel, effort },
            method: match comparison.method {
                Method::Scaled => "scaled",
                Method::Apart => "apart",
            },
            poisson: comparison
                .poisson
                .iter()
                .map(|p| Poisson {
                    poissons_ratio: p.proportions.poissons_ratio,
                    modulus_across_share: p.proportions.beads.map(|b| b[0]),
                    shear_modulus_share: p.proportions.beads.map(|b| b[1]),
                    effort_change: p.effort,
                    stress_change: p.von_mises,
                })
                .collect(),
            cards: comparison.rows.iter().map(card_row).collect(),
            same_file: names(comparison.same_file()),
            own_limit: names(comparison.own_limit()),
            cautions: if comparison.rows.iter().any(|r| r.throws.is_some()) {
                LAUNCH_CAUTIONS.to_vec()
            } else {
                Vec::new()
            },
            remarks: comparison.remarks.clone(),
        }
    }

    /// As text, indented, with a newline at the end.
    ///
    /// # Errors
    /// Never for a document made by [`Document::new`]; the signature is the serialiser's.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

fn card_row(row: &Row) -> CardRow {
    let safe = &row.safe;
    CardRow {
        card: row.card.name.clone(),
        title: row.card.title.clone(),
        own: row.own,
        completed: row.completed,
        youngs_modulus: row.card.youngs_modulus.value,
        modulus_estimated: row.card.youngs_modulus.estimated,
        poissons_ratio: row.card.poissons_ratio.value,
        full_draw: FullDraw {
            travel: band(&row.travel),
            effort: band(&row.effort),
            energy: band(&row.energy),
            strain: band(&row.strain),
            von_mises: band(&row.von_mises),
            tension: band(&row.tension),
            of_yield_strain: row.of_yield_strain.as_ref().map(band),
            of_yield: row.of_yield.as_ref().map(band),
            of_break: row.of_break.as_ref().map(band),
            fate: row.fate.map(crate::comparison::Fate::words),
            worst_fate: row.worst_fate.map(crate::comparison::Fate::words),
            beyond_linear_range: row.is_beyond_linear(),
        },
        safe_draw: SafeDrawData {
            fraction: band(&safe.fraction),
            travel: band(&safe.travel),
            energy: band(&safe.energy),
            ends: safe.ends.map(crate::analysis::LimitKind::code),
            beyond_the_solved_draw: safe.ends.is_none(),
            high_beyond_the_solved_draw: safe.high_is_beyond,
        },
        throws: row.throws.as_ref().map(|t| ThrowsData {
            full_draw: t.full.iter().map(throw_data).collect(),
            safe_draw: t.safe.iter().map(throw_data).collect(),
        }),
    }
}

fn throw_data(throw: &Throw) -> ThrowData {
    ThrowData { mass_g: throw.mass, speed_m_per_s: throw.speed.as_ref().map(band) }
}

/// The JSON Schema of the comparison.
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Document).to_value()
}

/// One row a card, in the order of the energy to its own limit.
#[must_use]
pub fn materials_csv(case: &Case, comparison: &Comparison) -> String {
    let region = moving_regions(case).first().copied().unwrap_or_default();
    let [length, force] = Axis::of(case, region).units().map(|u| u.replace(' ', ""));
    let mut header: Vec<String> =
        ["card", "title", "youngs_modulus_MPa", "poissons_ratio"].map(str::to_owned).into();
    let banded = [
        format!("travel_{length}"),
        format!("effort_{force}"),
        "strain_energy_mJ".into(),
        "strain".into(),
        "von_mises_MPa".into(),
        "tension_MPa".into(),
        "of_yield_strain".into(),
        "of_yield".into(),
        "of_break".into(),
    ];
    let own = [format!("safe_travel_{length}"), "safe_energy_mJ".into()];
    for name in banded.iter().chain(&own) {
        header.extend([name.clone(), format!("{name}_low"), format!("{name}_high")]);
    }
    header.extend(["at_full_draw", "at_worst", "safe_draw_ends_by"].map(str::to_owned));
    let mut table = header.join(",") + "\n";
    for row in comparison.own_limit() {
        let mut cells =
            vec![super::curve::quote(&row.card.name), super::curve::quote(&row.card.title)];
        cells.extend(
            [row.card.youngs_modulus.value, row.card.poissons_ratio.value]
                .map(super::curve::shortest),
        );
        let bands =
            [&row.travel, &row.effort, &row.energy, &row.strain, &row.von_mises, &row.tension];
        let shares = [row.of_yield_strain.as_ref(), row.of_yield.as_ref(), row.of_break.as_ref()];
        let own = [&row.safe.travel, &row.safe.energy];
        for band in bands.map(Some).into_iter().chain(shares).chain(own.map(Some)) {
            let numbers = band.map_or([None; 3], |b| {
                [Some(b.value), b.range.map(|r| r[0]), b.range.map(|r| r[1])]
            });
            // An empty cell is a value that nobody knows.
            cells.extend(numbers.map(|n| n.map_or_else(String::new, super::curve::shortest)));
        }
        let word = |fate: Option<crate::comparison::Fate>| fate.map_or("unknown", |f| f.words());
        cells.push(word(row.fate).to_owned());
        cells.push(word(row.worst_fate).to_owned());
        cells.push(row.safe.ends.map_or("beyond the solved draw", |k| k.code()).to_owned());
        table += &(cells.join(",") + "\n");
    }
    table
}
