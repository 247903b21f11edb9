//! The part file as it is written: every key, its type and its place; no meaning yet.

use super::placed::Placed;
use super::written_shapes::{ClipTable, LeafTable, PrinterTable, SpringTable};
use crate::material::Written as Material;
use crate::quantity::{Angle, Energy, EnergyDensity, Force, Length, Mass, Moment, Ratio, Time};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// A whole part file.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartFile {
    /// What the part is, for people.
    pub title: Option<String>,
    /// What is printed.
    pub outline: Placed<OutlineTable>,
    /// What it is printed from.
    pub material: Placed<Material>,
    /// Areas that the drawing does not name already.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, RegionTable>")]
    pub regions: BTreeMap<Placed<String>, Placed<RegionTable>>,
    /// What is kept still.
    #[serde(default)]
    pub hold: Vec<HoldTable>,
    /// What is moved as one rigid body.
    #[serde(default)]
    pub drive: Vec<DriveTable>,
    /// Forces on what is otherwise free.
    #[serde(default)]
    pub load: Vec<LoadTable>,
    /// Straight rails and stops that the part meets.
    #[serde(default)]
    pub rail: Vec<RailTable>,
    /// Round pins that the part meets.
    #[serde(default)]
    pub pin: Vec<PinTable>,
    /// What the user's hand can give.
    pub hand: Option<Placed<HandTable>>,
    /// Where stiffness and guidance are wanted besides the centroid.
    pub guidance: Option<GuidanceTable>,
    /// How finely and how exactly.
    #[serde(default)]
    pub solve: SolveTable,
    /// A departure of the printed part from its drawing.
    pub imperfection: Option<ImperfectionTable>,
    /// What the part throws when it is let go at full draw.
    pub launch: Option<Placed<LaunchTable>>,
    /// What `withy set` does with the part, in order: drawn, let down, drawn again and let down if left out.
    #[serde(default)]
    pub stage: Vec<Placed<StageTable>>,
    /// Instead of a drawing: banks of ribs between two rails and a carriage, by numbers.
    pub spring: Option<Placed<SpringTable>>,
    /// Instead of a drawing: a strip folded to and fro, by numbers.
    pub leaf: Option<Placed<LeafTable>>,
    /// Instead of a drawing: a ring with a mouth, by numbers.
    pub clip: Option<Placed<ClipTable>>,
    /// What prints it.
    pub printer: Option<Placed<PrinterTable>>,
}

/// `[outline]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutlineTable {
    /// An SVG or DXF file, relative to the part file; none if the outline is made of numbers.
    pub drawing: Option<Placed<String>>,
    /// Out of the drawing's plane (mm).
    pub thickness: Placed<Length>,
    /// Rounds every re-entrant corner tighter than this radius (mm).
    pub fillet: Option<Placed<Length>>,
    /// Plane stress or plane strain; chosen by the part's proportions if left out.
    pub state: Option<StateWord>,
    /// Printed beads, stiffer along than across, lie along the nearest place of the outline.
    pub beads: Option<Placed<BeadsWord>>,
    /// Printed beads all lie at this angle to x, counter-clockwise.
    pub bead_angle: Option<Placed<Angle>>,
}

/// Where printed beads lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum BeadsWord {
    /// Along the outline, as perimeters are printed.
    Outline,
}

/// Which stresses or strains out of the plane vanish.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum StateWord {
    /// A thin part: free to bulge.
    #[serde(rename = "plane stress")]
    PlaneStress,
    /// A thick part: kept from bulging.
    #[serde(rename = "plane strain")]
    PlaneStrain,
}

/// An area by numbers: exactly one of its keys.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RegionTable {
    /// Two opposite corners: x0, y0, x1, y1 (mm).
    #[serde(rename = "box")]
    pub rectangle: Option<[Length; 4]>,
    /// Centre x, y and radius (mm).
    pub circle: Option<[Length; 3]>,
}

/// A direction of the plane.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Axis {
    /// To the right.
    X,
    /// Up.
    Y,
}

/// A motion of a rigid body in the plane.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Freedom {
    /// To the right.
    X,
    /// Up.
    Y,
    /// About its centroid.
    Turn,
}

/// `[[hold]]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldTable {
    /// What is held.
    pub region: Placed<String>,
    /// Only these directions are held; both if left out.
    pub along: Option<Placed<Vec<Placed<Axis>>>>,
}

/// `[[drive]]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DriveTable {
    /// What is moved.
    pub region: Placed<String>,
    /// Where it is at full draw, from rest (mm).
    #[serde(rename = "move")]
    pub shift: Option<Placed<[Length; 2]>>,
    /// How far it is turned at full draw, counter-clockwise.
    pub turn: Option<Placed<Angle>>,
    /// Directions left to find their own equilibrium.
    #[serde(default)]
    pub free: Vec<Placed<Freedom>>,
}

/// `[[load]]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LoadTable {
    /// What is loaded.
    pub region: Placed<String>,
    /// In x and y, at full draw (N).
    pub force: Option<Placed<[Force; 2]>>,
    /// About the region's centroid, counter-clockwise, at full draw (N mm).
    pub moment: Option<Placed<Moment>>,
}

/// `[[rail]]`: a straight rail or stop that keeps still; the part slides on it without friction.
///
/// Edges that lie behind it at rest do not meet it.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RailTable {
    /// What it is called in results; "rail 1", "rail 2" if left out.
    pub name: Option<String>,
    /// First end (mm).
    pub from: Placed<[Length; 2]>,
    /// Second end: on the way there the part is on the left (mm).
    pub to: Placed<[Length; 2]>,
    /// Only edges in this region meet it; all if left out.
    pub region: Option<Placed<String>>,
}

/// `[[pin]]`: a round pin that keeps still; the part slides on it without friction.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PinTable {
    /// What it is called in results; "pin 1", "pin 2" if left out.
    pub name: Option<String>,
    /// Its centre (mm).
    pub at: [Length; 2],
    /// Its radius (mm).
    pub radius: Placed<Length>,
    /// Only edges in this region meet it; all if left out.
    pub region: Option<Placed<String>>,
}

/// `[hand]`: at least one of its keys.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandTable {
    /// The largest pull; compared with everything that is drawn along a line (N).
    pub force: Option<Placed<Force>>,
    /// The largest twist; compared with everything that is turned (N mm).
    pub moment: Option<Placed<Moment>>,
}

/// `[guidance]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GuidanceTable {
    /// A point that moves with what is driven, where it is at rest: a slider's middle, a nose (mm).
    pub at: [Length; 2],
}

/// `[solve]`
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SolveTable {
    /// Results are reported at this many equal parts of the draw: 1 to 1000, 20 if left out.
    pub steps: Option<Placed<i64>>,
    /// The hot spot's stress is refined until it moves less than this: 0.1 % to 50 %, 2 % if left out.
    pub accuracy: Option<Placed<Ratio>>,
    /// No mesh of more elements than this: 100 to 4 000 000, 400 000 if left out.
    pub elements: Option<Placed<i64>>,
    /// No better mesh is begun after this time: "1 min"; no limit if left out.
    pub time: Option<Placed<Time>>,
    /// Whether edges of the part that touch push on each other: `true` from the start, `false` never. If
    /// left out, the part is solved again with contact if it touches itself.
    pub contact: Option<bool>,
    /// Between which strain and stress the material is linear; St. Venant-Kirchhoff's if left out.
    pub law: Option<LawWord>,
}

/// An elastic law.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum LawWord {
    /// Green-Lagrange strain.
    #[serde(rename = "St. Venant-Kirchhoff")]
    StVenantKirchhoff,
    /// Logarithmic strain: softer than the other one when pulled far, stiffer when pressed.
    #[serde(rename = "Hencky")]
    Hencky,
}

/// `[[stage]]`: exactly one of its keys.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StageTable {
    /// Drawn to this part of the full draw: "100 %".
    pub draw: Option<Placed<Ratio>>,
    /// How it is let down.
    pub let_down: Option<LetDownWord>,
    /// Kept where it is for this long: "1 h". The card tells what is lost meanwhile.
    pub hold: Option<Placed<Time>>,
    /// Let go and left alone for this long: "1 d". The card tells what comes back meanwhile.
    pub rest: Option<Placed<Time>>,
}

/// How a part is let down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum LetDownWord {
    /// Until nothing is needed to keep it there any more: as the hand lets go.
    Free,
    /// To its place before the first draw, pushed if need be.
    Rest,
}

/// `[imperfection]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ImperfectionTable {
    /// Largest departure from the drawing (mm).
    pub amplitude: Placed<Length>,
}

/// `[launch]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LaunchTable {
    /// Of what is thrown (g).
    pub mass: Placed<Mass>,
    /// The driven region that it rides on.
    pub region: Placed<String>,
    /// Width of what hits first, for the energy by area (mm).
    pub tip_diameter: Option<Placed<Length>>,
    /// Share of the released energy that is lost; none if left out.
    pub losses: Option<Placed<Ratio>>,
    /// Friction against the carriage; none if left out (N).
    pub friction: Option<Placed<Force>>,
    /// Draw at which the carriage meets its stop; rest if left out (mm).
    pub stop: Option<Placed<Length>>,
    /// What is allowed, by whose rule.
    #[serde(default)]
    pub limit: Vec<Placed<LaunchLimitTable>>,
}

/// `[[launch.limit]]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LaunchLimitTable {
    /// Whose rule it is.
    pub name: String,
    /// Highest energy (mJ).
    pub energy: Option<Placed<Energy>>,
    /// Highest energy by area of the tip (J/m2).
    pub energy_per_area: Option<Placed<EnergyDensity>>,
    /// Where it is written: a standard, a law, "from memory".
    pub source: Placed<String>,
}
