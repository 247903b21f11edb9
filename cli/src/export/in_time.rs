//! A release in time, as data.
//!
//! The fields of `release.json` are a contract; names carry their units. `schema/release.schema.json` in this crate is
//! made from these types, and a test keeps the two together.

use crate::analysis::{InTime, Launched};
use crate::case::Case;
use crate::lasting::{Draws, DrawsSummary};
use crate::remark::LAUNCH_CAUTIONS;
use schemars::JsonSchema;
use serde::Serialize;

/// `release.json`.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "Withy release in time", deny_unknown_fields)]
pub struct Document {
    /// Always "withy-release/1".
    format: &'static str,
    /// File name of the part file.
    part: String,
    /// Title of the part.
    title: String,
    /// 6-node triangles of the mesh that moves.
    elements: usize,
    /// Of the projectile.
    mass_g: f64,
    /// Of the projectile when it leaves.
    speed_m_per_s: f64,
    /// The same along the solved path, as `withy solve` tells it.
    speed_by_the_solved_path_m_per_s: f64,
    /// From the release until the projectile leaves for good.
    leaves_ms: f64,
    /// Whether it is let go for moments before that.
    let_go_and_caught_again: bool,
    /// How far the carriage swings beyond rest.
    overshoot_mm: f64,
    /// Largest strain on the way by the drawn one.
    #[serde(skip_serializing_if = "Option::is_none")]
    strain_factor: Option<f64>,
    /// That of the drawn hot spot times the factor.
    #[serde(skip_serializing_if = "Option::is_none")]
    largest_strain: Option<f64>,
    /// Largest force on what holds the part.
    #[serde(rename = "frame_force_N")]
    frame_force: f64,
    /// At which it rings, the lowest first.
    #[serde(rename = "frequencies_Hz")]
    frequencies: Vec<f64>,
    /// Taken by friction until the end.
    #[serde(rename = "friction_mJ")]
    friction: f64,
    /// How often the part may be let go so, where the card tells.
    #[serde(skip_serializing_if = "Option::is_none")]
    draws: Option<DrawsSummary>,
    /// Of the damping that takes the losses: relaxation time of the strain rate's stress.
    damping_time_ms: f64,
    /// Largest gap in the balance of energies, by what was stored.
    energy_error: f64,
    /// Steps in time.
    time_steps: usize,
    /// To be shown wherever any of this is.
    cautions: [&'static str; 6],
}

impl Document {
    /// `strain` is the drawn hot spot's.
    #[must_use]
    pub fn new(
        case: &Case,
        launched: &Launched,
        found: &InTime,
        strain: f64,
        draws: Option<&Draws>,
    ) -> Self {
        let factor = found.strain.map(|[factor, _]| factor);
        Self {
            format: "withy-release/1",
            part: case.file_name(),
            title: case.title.clone(),
            elements: found.mesh.elements().len(),
            mass_g: case.launch.as_ref().map_or(f64::NAN, |l| l.mass),
            speed_m_per_s: found.speed,
            speed_by_the_solved_path_m_per_s: launched.release.speed,
            leaves_ms: found.leaves,
            let_go_and_caught_again: found.caught_again,
            overshoot_mm: found.overshoot,
            strain_factor: factor,
            largest_strain: factor.map(|f| f * strain),
            frame_force: found.frame_force[0],
            frequencies: found.frequencies.clone(),
            friction: found.rubbed,
            draws: draws.map(DrawsSummary::new),
            damping_time_ms: found.damping,
            energy_error: found.energy_error,
            time_steps: found.instants.len() - 1,
            cautions: LAUNCH_CAUTIONS,
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

/// `release.csv`: every time step.
#[must_use]
pub fn csv(found: &InTime) -> String {
    let mut text = "time_ms,place_mm,speed_m_per_s,projectile_place_mm,projectile_speed_m_per_s,push_N,frame_x_N,\
                    frame_y_N,strain_energy_mJ,kinetic_mJ,projectile_mJ,touch_mJ,lost_mJ,friction_mJ\n"
        .to_owned();
    for i in &found.instants {
        let row = [
            i.time,
            i.place,
            i.speed,
            i.projectile_place,
            i.projectile_speed,
            i.push,
            i.frame_force[0],
            i.frame_force[1],
            i.strain_energy,
            i.kinetic,
            i.projectile_energy,
            i.touch,
            i.lost,
            i.rubbed,
        ];
        let cells: Vec<String> = row.iter().map(|v| format!("{v:.6e}")).collect();
        text += &(cells.join(",") + "\n");
    }
    text
}

/// The JSON Schema of `release.json`.
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Document).to_value()
}
