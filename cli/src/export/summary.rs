//! `summary.json`: everything a program may want to know about a solved case.
//!
//! The fields are a contract; names carry their units. `schema/summary.schema.json` in this crate
//! is made from these types, and a test keeps the two together.

use super::release::ReleaseSummary;
use crate::analysis::{Analysis, Ended, Guidance, Meeting, SpotKind, moving_regions};
use crate::case::Case;
use crate::lasting::{DrawsSummary, HeldSummary};
use crate::remark::Remark;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;
use withy_mesh::quality;
use withy_solver::{PlaneState, Step, Touch};

/// The whole summary.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "Withy summary", deny_unknown_fields)]
pub struct Summary {
    /// Always "withy-summary/1".
    pub format: &'static str,
    /// File name of the part file.
    pub part: String,
    /// Title of the part.
    pub title: String,
    /// Version of the program.
    pub withy: &'static str,
    /// Whether the full draw was reached.
    pub completed: bool,
    /// Why the solve ended before the full draw, if it did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stopped: Option<StoppedSummary>,
    /// What was assumed.
    pub assumed: Assumed,
    /// The mesh that the reported states were solved on.
    pub mesh: MeshSummary,
    /// The meshes before it, and it.
    pub meshes: Vec<PassSummary>,
    /// Reported states, in order of the draw; rest is not listed.
    pub steps: Vec<StepSummary>,
    /// The place that suffers most over the whole draw.
    pub hot_spot: HotSpotSummary,
    /// What is reached within the draw, the first one first.
    pub limits: Vec<LimitSummary>,
    /// Where the part begins to push rails, pins or itself; absent if it does not.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    pub meetings: Vec<MeetingSummary>,
    /// What is thrown when the part is let go; absent if nothing is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub release: Option<ReleaseSummary>,
    /// What is left after it was kept at full draw; absent if the card does not tell.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held: Option<Vec<HeldSummary>>,
    /// How often it may be drawn; absent if the card does not tell.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub draws: Option<DrawsSummary>,
    /// The perfect part's path, where `steps` are those of a part a little off its drawing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub perfect: Option<PerfectSummary>,
    /// What was assumed, decided or noticed.
    pub remarks: Vec<Remark>,
}

/// Where a solve stopped.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct StoppedSummary {
    /// Fraction of the draw up to which equilibrium was found.
    pub fraction: f64,
    /// Why it ended there.
    pub cause: String,
}

/// What the numbers rest on.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Assumed {
    /// "plane stress" or "plane strain".
    pub state: &'static str,
    /// Elastic law: "St. Venant-Kirchhoff, isotropic", "Hencky, isotropic", or with the beads of the print.
    pub law: String,
    /// Out of the plane.
    pub thickness_mm: f64,
    /// The material's card.
    pub material: String,
    /// As used.
    #[serde(rename = "youngs_modulus_MPa")]
    pub youngs_modulus: f64,
    /// As used.
    pub poissons_ratio: f64,
}

/// The mesh in numbers.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct MeshSummary {
    /// 6-node triangles.
    pub elements: usize,
    /// Corner and mid-side nodes.
    pub nodes: usize,
    /// Smallest angle of any element.
    pub min_angle_deg: f64,
    /// Area of the mesh.
    pub area_mm2: f64,
}

/// One mesh on the way.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct PassSummary {
    /// Its elements.
    pub elements: usize,
    /// The hot spot's stress on it.
    #[serde(rename = "peak_von_mises_MPa")]
    pub peak_von_mises: f64,
    /// Estimated relative error of the strain field in energy norm.
    pub estimated_energy_norm_error: f64,
}

/// One reported state.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct StepSummary {
    /// Fraction of the full draw.
    pub fraction: f64,
    /// Shift of each driven or loaded region.
    pub travel_mm: BTreeMap<String, [f64; 2]>,
    /// Turn of each driven or loaded region, counter-clockwise.
    pub turn_deg: BTreeMap<String, f64>,
    /// Force that each support or drive exerts on the part.
    #[serde(rename = "reaction_N")]
    pub reaction: BTreeMap<String, [f64; 2]>,
    /// Moment about each driven or loaded region's centroid, counter-clockwise.
    #[serde(rename = "moment_Nmm")]
    pub moment: BTreeMap<String, f64>,
    /// Elastic energy stored in the part.
    #[serde(rename = "strain_energy_mJ")]
    pub strain_energy: f64,
    /// Largest von Mises stress away from clamped and driven regions.
    #[serde(rename = "peak_von_mises_MPa")]
    pub peak_von_mises: f64,
    /// Largest principal stress away from clamped and driven regions.
    #[serde(rename = "peak_tension_MPa")]
    pub peak_tension: f64,
    /// Largest nominal strain away from clamped and driven regions.
    pub peak_strain: f64,
    /// Whether the part resists every small disturbance while the drive is kept.
    pub stable: bool,
    /// Linear solutions since the state before.
    pub newton_iterations: usize,
    /// Load steps taken since the state before.
    pub internal_steps: usize,
    /// Fractions of the draw since the state before at which the part snapped to another shape.
    pub snaps_at: Vec<f64>,
    /// Smallest gap between edges that have come closer than two thirds of their gap at rest; 0 where the
    /// part runs into itself, absent if no edges have come so close.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub smallest_gap_mm: Option<f64>,
    /// What the part pushes; absent if nothing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    pub contacts: Vec<ContactSummary>,
    /// What holds each moving region in line that is drawn along one; absent if none is.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(default)]
    pub guidance: BTreeMap<String, GuidanceSummary>,
}

/// A surface that the part pushes in one state, without friction.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ContactSummary {
    /// The rail or pin; absent where the part pushes itself.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub obstacle: Option<String>,
    /// Force on the part; where it pushes itself, on one of the two sides.
    #[serde(rename = "force_N")]
    pub force: [f64; 2],
    /// Highest pressure at a computed point: a coarse edge presses unevenly.
    #[serde(rename = "peak_pressure_MPa")]
    pub peak_pressure: f64,
    /// Where that is, at rest.
    pub rest_mm: [f64; 2],
    /// Where that is now.
    pub now_mm: [f64; 2],
}

/// Where the part begins to push.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct MeetingSummary {
    /// The rail or pin; absent where the part pushes itself.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub obstacle: Option<String>,
    /// Fraction of the draw.
    pub fraction: f64,
    /// Travel of the first moving region there, along its draw: mm, or degrees if it is turned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub travel: Option<f64>,
    /// Where in the part, at rest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place_mm: Option<[f64; 2]>,
}

/// Something that ends a draw.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct LimitSummary {
    /// "yield", "break", "hand", "touch", "guidance", "no-return" or "stability".
    pub code: &'static str,
    /// Whether it is the one that ends the draw: the first.
    pub governs: bool,
    /// The driven or loaded region that it is about, if it is about one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region: Option<String>,
    /// Fraction of the draw at which it is reached.
    pub fraction: f64,
    /// Travel of the first moving region there, along its draw: mm, or degrees if it is turned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub travel: Option<f64>,
    /// Where in the part, at rest: the place of the stress, or of the gap.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place_mm: Option<[f64; 2]>,
    /// The quantity in the state solved there; absent where it is a change of sign.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// What the quantity reaches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// Unit of both.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<&'static str>,
    /// Whether a state solved at this draw bears it out; if not, it lies between two solved states.
    pub confirmed: bool,
    /// In words.
    pub text: &'static str,
}

/// The perfect part's path, solved on the first mesh.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct PerfectSummary {
    /// How far the part that `steps` tells of is off its drawing.
    pub imperfection_mm: f64,
    /// Fractions of the draw at which the perfect part gains or loses stability.
    pub critical_fractions: Vec<f64>,
    /// Its states.
    pub steps: Vec<PerfectStep>,
}

/// One state of the perfect part.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct PerfectStep {
    /// Fraction of the full draw.
    pub fraction: f64,
    /// Force that each support or drive exerts on the part.
    #[serde(rename = "reaction_N")]
    pub reaction: BTreeMap<String, [f64; 2]>,
    /// Elastic energy stored in the part.
    #[serde(rename = "strain_energy_mJ")]
    pub strain_energy: f64,
    /// Whether it resists every small disturbance.
    pub stable: bool,
}

/// What holds a moving region in line, about its draw.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct GuidanceSummary {
    /// Force along the draw by travel.
    #[serde(rename = "axial_N_per_mm")]
    pub axial: f64,
    /// Force across by shift across, turn kept.
    #[serde(rename = "lateral_N_per_mm")]
    pub lateral: f64,
    /// Moment by turn, shift kept.
    #[serde(rename = "yaw_Nmm_per_deg")]
    pub yaw: f64,
    /// Moment by a shift across.
    #[serde(rename = "coupling_N")]
    pub coupling: f64,
    /// Smallest eigenvalue over shift and turn together; negative where nothing holds it in line.
    #[serde(rename = "smallest_N_per_mm")]
    pub smallest: f64,
    /// Lever by which turns count as shifts in it.
    pub lever_mm: f64,
    /// The same at the point of `[guidance]` in the part file; absent without one.
    #[serde(rename = "at_point", skip_serializing_if = "Option::is_none")]
    pub elsewhere: Option<ElsewhereSummary>,
}

/// Stiffness at a point that moves with the region.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ElsewhereSummary {
    /// The point at rest.
    pub at_mm: [f64; 2],
    /// Force along the draw by travel.
    #[serde(rename = "axial_N_per_mm")]
    pub axial: f64,
    /// Force across by shift of the point across, turn kept.
    #[serde(rename = "lateral_N_per_mm")]
    pub lateral: f64,
    /// Moment about the point by turn about it.
    #[serde(rename = "yaw_Nmm_per_deg")]
    pub yaw: f64,
    /// Moment by a shift across.
    #[serde(rename = "coupling_N")]
    pub coupling: f64,
}

/// The hot spot. Stress and error are null at a sharp re-entrant corner, where they have no finite
/// value.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct HotSpotSummary {
    /// Place at rest.
    pub x_mm: f64,
    /// Place at rest.
    pub y_mm: f64,
    /// Von Mises stress.
    #[serde(rename = "von_mises_MPa")]
    pub von_mises: Option<f64>,
    /// Largest principal stress at the same place.
    #[serde(rename = "tension_MPa")]
    pub tension: Option<f64>,
    /// Largest nominal strain at the same place.
    pub strain: Option<f64>,
    /// Estimated relative error of the stress.
    pub estimated_error: Option<f64>,
    /// Fraction of the draw at which it is worst.
    pub fraction: f64,
    /// The feature it sits on.
    pub near: String,
}

impl Summary {
    /// Gathers the summary of an analysis.
    #[must_use]
    pub fn new(case: &Case, analysis: &Analysis) -> Self {
        let solution = &analysis.solution;
        let quality = quality(&analysis.mesh);
        let spot = &solution.hot_spot;
        let finite = |v: f64| (spot.kind == SpotKind::Finite).then_some(v);
        Self {
            format: "withy-summary/1",
            part: case.file_name(),
            title: case.title.clone(),
            withy: env!("CARGO_PKG_VERSION"),
            completed: solution.ended == Ended::Complete,
            stopped: match &solution.ended {
                Ended::Complete => None,
                Ended::Early(fraction, cause) => {
                    Some(StoppedSummary { fraction: *fraction, cause: cause.to_string() })
                }
            },
            assumed: Assumed {
                state: match solution.state {
                    PlaneState::PlaneStress => "plane stress",
                    PlaneState::PlaneStrain => "plane strain",
                },
                law: case.law_words(),
                thickness_mm: case.thickness,
                material: case.material.name.clone(),
                youngs_modulus: case.material.youngs_modulus.value,
                poissons_ratio: case.material.poissons_ratio.value,
            },
            mesh: MeshSummary {
                elements: quality.elements,
                nodes: quality.nodes,
                min_angle_deg: quality.min_angle_deg,
                area_mm2: quality.area_mm2,
            },
            meshes: solution
                .passes
                .iter()
                .map(|p| PassSummary {
                    elements: p.elements,
                    peak_von_mises: p.von_mises,
                    estimated_energy_norm_error: p.energy_error,
                })
                .collect(),
            steps: (0..solution.path.steps.len())
                .map(|n| step_summary(case, analysis, n))
                .collect(),
            hot_spot: HotSpotSummary {
                x_mm: spot.at[0],
                y_mm: spot.at[1],
                von_mises: finite(spot.von_mises),
                tension: finite(spot.tension),
                strain: finite(spot.strain),
                estimated_error: finite(spot.estimated_error),
                fraction: spot.fraction,
                near: spot.near.clone(),
            },
            meetings: meetings(&solution.meetings),
            limits: solution
                .limits
                .iter()
                .enumerate()
                .map(|(n, l)| LimitSummary {
                    code: l.kind.code(),
                    governs: n == 0,
                    region: l.region.clone(),
                    fraction: l.fraction,
                    travel: l.travel,
                    place_mm: l.place,
                    value: l.quantity.map(|q| q.value),
                    limit: l.quantity.map(|q| q.limit),
                    unit: l.quantity.map(|q| q.unit),
                    confirmed: l.confirmed,
                    text: l.kind.words(),
                })
                .collect(),
            release: solution.launched.as_ref().and_then(|l| ReleaseSummary::new(case, l)),
            held: solution.held.as_ref().map(HeldSummary::list),
            draws: solution.draws.as_ref().map(DrawsSummary::new),
            perfect: solution.perfect.as_ref().map(|perfect| PerfectSummary {
                imperfection_mm: perfect.amplitude,
                critical_fractions: perfect.path.critical.iter().map(|c| c.fraction).collect(),
                steps: perfect
                    .path
                    .steps
                    .iter()
                    .map(|s| PerfectStep {
                        fraction: s.fraction,
                        reaction: reactions(s),
                        strain_energy: s.strain_energy,
                        stable: s.is_stable(),
                    })
                    .collect(),
            }),
            remarks: case.remarks.iter().chain(&solution.remarks).cloned().collect(),
        }
    }

    /// As text, indented, with a newline at the end.
    ///
    /// # Errors
    /// Never for a summary made by [`Summary::new`]; the signature is the serialiser's.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

fn step_summary(case: &Case, analysis: &Analysis, n: usize) -> StepSummary {
    let step: &Step = &analysis.solution.path.steps[n];
    let peaks = analysis.solution.peaks[n];
    let moving = moving_regions(case);
    let by_name = |value: &dyn Fn(&[f64; 3]) -> [f64; 2]| {
        moving.iter().zip(&step.rigid).map(|(r, q)| ((*r).to_owned(), value(q))).collect()
    };
    StepSummary {
        fraction: step.fraction,
        travel_mm: by_name(&|q| [q[0], q[1]]),
        turn_deg: moving
            .iter()
            .zip(&step.rigid)
            .map(|(r, q)| ((*r).to_owned(), q[2].to_degrees()))
            .collect(),
        reaction: reactions(step),
        moment: step
            .reactions
            .iter()
            .filter(|r| moving.contains(&r.region.as_str()))
            .map(|r| (r.region.clone(), r.moment))
            .collect(),
        strain_energy: step.strain_energy,
        peak_von_mises: peaks.von_mises,
        peak_tension: peaks.tension,
        peak_strain: peaks.strain,
        stable: step.is_stable(),
        newton_iterations: step.iterations,
        internal_steps: step.internal_steps,
        snaps_at: step.snaps.clone(),
        smallest_gap_mm: analysis.solution.narrowest[n].width(),
        contacts: step.pushing.touches.iter().filter_map(contact_summary).collect(),
        guidance: moving
            .iter()
            .zip(&analysis.solution.guidance)
            .filter_map(|(name, states)| {
                let guidance = states.get(n).copied().flatten()?;
                Some(((*name).to_owned(), guidance_summary(&guidance)))
            })
            .collect(),
    }
}

fn guidance_summary(g: &Guidance) -> GuidanceSummary {
    GuidanceSummary {
        axial: g.axial,
        lateral: g.lateral,
        yaw: g.yaw * 1f64.to_radians(),
        coupling: g.coupling,
        smallest: g.smallest,
        lever_mm: g.lever,
        elsewhere: g.elsewhere.map(|e| ElsewhereSummary {
            at_mm: e.at,
            axial: e.axial,
            lateral: e.lateral,
            yaw: e.yaw * 1f64.to_radians(),
            coupling: e.coupling,
        }),
    }
}

fn meetings(meetings: &[Meeting]) -> Vec<MeetingSummary> {
    meetings
        .iter()
        .map(|m| MeetingSummary {
            obstacle: m.obstacle.clone(),
            fraction: m.fraction,
            travel: m.travel,
            place_mm: m.place,
        })
        .collect()
}

fn contact_summary(touch: &Touch) -> Option<ContactSummary> {
    let peak = touch.peak()?;
    Some(ContactSummary {
        obstacle: touch.obstacle.clone(),
        force: touch.force,
        peak_pressure: peak.pressure,
        rest_mm: peak.rest,
        now_mm: peak.now,
    })
}

fn reactions(step: &Step) -> BTreeMap<String, [f64; 2]> {
    step.reactions.iter().map(|r| (r.region.clone(), r.force)).collect()
}

/// The JSON Schema of the summary.
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Summary).to_value()
}
