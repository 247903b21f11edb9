//! The `release` of `summary.json`: what is thrown when the part is let go.

use crate::analysis::{Launched, energy_per_area};
use crate::case::Case;
use crate::remark::LAUNCH_CAUTIONS;
use schemars::JsonSchema;
use serde::Serialize;

/// What is thrown, how fast, and what is left behind.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ReleaseSummary {
    /// The region that the projectile rides on.
    pub region: String,
    /// Of the projectile.
    pub mass_g: f64,
    /// Share of the released energy that was taken as lost.
    pub losses: f64,
    /// Friction against the carriage, as taken.
    #[serde(rename = "friction_N")]
    pub friction: f64,
    /// Draw at which the carriage meets its stop.
    pub stop_mm: f64,
    /// Of the projectile when it leaves.
    pub speed_m_per_s: f64,
    /// Lowest and highest over the spread of the card's modulus; null if it has none.
    pub speed_range_m_per_s: Option<[f64; 2]>,
    /// Of the projectile.
    #[serde(rename = "energy_mJ")]
    pub energy: f64,
    /// By area of the tip; null if its diameter is not given.
    #[serde(rename = "energy_per_area_J_per_m2")]
    pub energy_per_area: Option<f64>,
    /// Energy of the projectile by the energy stored at full draw.
    pub efficiency: f64,
    /// From the release to the launch.
    pub time_ms: f64,
    /// Draw at which the projectile leaves.
    pub launched_at_mm: f64,
    /// Mass of the whole part.
    pub part_mass_g: f64,
    /// What moves as one with the carriage.
    pub carriage_mass_g: f64,
    /// What of it the spring has to move as if it sat on the carriage: at full draw, and at the launch.
    pub effective_mass_g: [f64; 2],
    /// Still stored when the projectile leaves.
    #[serde(rename = "energy_left_mJ")]
    pub energy_left: f64,
    /// Kinetic energy of the part then, which its stop takes.
    #[serde(rename = "moving_energy_mJ")]
    pub moving_energy: f64,
    /// Lost on the way.
    #[serde(rename = "lost_mJ")]
    pub lost: f64,
    /// Highest speed of the carriage, also after the launch.
    pub peak_carriage_speed_m_per_s: f64,
    /// Momentum given to what holds the part, against the throw.
    #[serde(rename = "recoil_mNs")]
    pub recoil: [f64; 2],
    /// Momentum of the part when the projectile leaves, which its stop takes.
    #[serde(rename = "stop_impulse_mNs")]
    pub stop_impulse: [f64; 2],
    /// Largest force on what holds the part, on the way.
    #[serde(rename = "frame_force_N")]
    pub frame_force: f64,
    /// Other projectiles.
    pub other_masses: Vec<ThrownSummary>,
    /// The part file's limits against it.
    pub limits: Vec<LimitCheck>,
    /// The way back, from the release to the launch.
    pub way_back: Vec<MomentSummary>,
    /// To be shown wherever any of this is.
    pub cautions: [&'static str; 6],
}

/// Another projectile.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ThrownSummary {
    /// Its mass.
    pub mass_g: f64,
    /// Its speed.
    pub speed_m_per_s: f64,
    /// Its energy.
    #[serde(rename = "energy_mJ")]
    pub energy: f64,
}

/// A limit against what is thrown.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct LimitCheck {
    /// Whose rule.
    pub name: String,
    /// Where it is written, in the user's words.
    pub source: String,
    /// Energy by the limit; null if it limits none.
    pub of_energy: Option<f64>,
    /// Energy by area by the limit; null if it limits none.
    pub of_energy_per_area: Option<f64>,
    /// Whether either is above 1.
    pub exceeded: bool,
    /// Whether either is above 1 at the upper end of the card's modulus.
    pub may_be_exceeded: bool,
}

/// One moment of the way back.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct MomentSummary {
    /// Draw.
    pub draw_mm: f64,
    /// Since the release.
    pub time_ms: f64,
    /// Of carriage and projectile.
    pub speed_m_per_s: f64,
    /// Still stored.
    #[serde(rename = "spring_energy_mJ")]
    pub spring: f64,
    /// Of the projectile.
    #[serde(rename = "projectile_energy_mJ")]
    pub projectile: f64,
    /// Of the part.
    #[serde(rename = "moving_energy_mJ")]
    pub moving: f64,
}

/// One in so many moments is written.
const WRITTEN_MOMENTS: usize = 10;

impl ReleaseSummary {
    /// The release of a launched case.
    #[must_use]
    pub fn new(case: &Case, launched: &Launched) -> Option<Self> {
        let launch = case.launch.as_ref()?;
        let r = &launched.release;
        Some(Self {
            region: launch.region.clone(),
            mass_g: launch.mass,
            losses: launch.losses,
            friction: launch.friction,
            stop_mm: launch.stop,
            speed_m_per_s: r.speed,
            speed_range_m_per_s: launched.speed_range,
            energy: r.energy,
            // 1 mJ/mm2 is 1000 J/m2.
            energy_per_area: energy_per_area(launch, r.energy).map(|e| 1e3 * e),
            efficiency: r.efficiency,
            time_ms: r.time,
            launched_at_mm: r.launched_at,
            part_mass_g: launched.part_mass,
            carriage_mass_g: launched.way.carriage_mass,
            effective_mass_g: [launched.effective_mass_at_full, r.effective_mass],
            energy_left: r.energy_left,
            moving_energy: r.moving_energy,
            lost: r.lost,
            peak_carriage_speed_m_per_s: r.peak_carriage_speed,
            recoil: r.recoil,
            stop_impulse: r.stop_impulse,
            frame_force: r.frame_force,
            other_masses: launched
                .others
                .iter()
                .map(|t| ThrownSummary { mass_g: t.mass, speed_m_per_s: t.speed, energy: t.energy })
                .collect(),
            limits: launched
                .limits
                .iter()
                .map(|l| LimitCheck {
                    name: l.name.clone(),
                    source: l.source.clone(),
                    of_energy: l.of_energy,
                    of_energy_per_area: l.of_energy_per_area,
                    exceeded: l.is_exceeded(),
                    may_be_exceeded: l.may_be_exceeded(),
                })
                .collect(),
            way_back: r
                .moments
                .iter()
                .step_by(WRITTEN_MOMENTS)
                .map(|m| MomentSummary {
                    draw_mm: m.draw,
                    time_ms: m.time,
                    speed_m_per_s: m.speed,
                    spring: m.spring_energy,
                    projectile: m.projectile_energy,
                    moving: m.moving_energy,
                })
                .collect(),
            cautions: LAUNCH_CAUTIONS,
        })
    }
}
