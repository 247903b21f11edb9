//! The part file's shapes by numbers and its printer as they are written.

use super::placed::Placed;
use crate::quantity::{Angle, Length, Mass};
use schemars::JsonSchema;
use serde::Deserialize;

/// `[spring]`: what is left out is chosen from what is given.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SpringTable {
    /// Ribs a bank and side.
    pub ribs: Placed<i64>,
    /// Banks, one behind the other: 1 if left out.
    pub banks: Option<Placed<i64>>,
    /// From rib to rib of a bank, along the draw (mm).
    pub pitch: Option<Placed<Length>>,
    /// From the last rib of a bank to the first of the next, along the draw (mm).
    pub bank_spacing: Option<Placed<Length>>,
    /// Of a rib, from root to root (mm).
    pub length: Placed<Length>,
    /// From the draw to the rib, seen from its root on the rail: below 90 deg it is stretched, above it
    /// folds first; 90 deg if left out.
    pub angle: Option<Placed<Angle>>,
    /// Of a rib, at its roots (mm).
    pub width: Placed<Length>,
    /// Of a rib in its middle; as at its roots if left out (mm).
    pub middle: Option<Placed<Length>>,
    /// How the width goes from root to middle.
    pub taper: Option<TaperWord>,
    /// Height of a rib's arc over its chord at rest, towards the front (mm).
    pub bow: Option<Placed<Length>>,
    /// Radius at the roots; as large as the rib is wide if left out (mm).
    pub fillet: Option<Placed<Length>>,
    /// The rails.
    #[serde(default)]
    pub frame: FrameTable,
    /// What moves.
    #[serde(default)]
    pub carriage: CarriageTable,
    /// A notch in the tail for a latch.
    pub latch: Option<Placed<LatchTable>>,
    /// A block for a finger, with a hole or without.
    pub pull: Option<Placed<PullTable>>,
    /// What is held of both rails.
    #[serde(default)]
    pub clamp: ClampTable,
    /// How far the carriage is drawn back (mm).
    pub draw: Placed<Length>,
}

/// How a rib's width goes from its roots to its middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum TaperWord {
    /// In proportion to the way.
    Straight,
    /// As a parabola, drawn as an arc.
    Curved,
}

/// `[spring.frame]`
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FrameTable {
    /// Width of each rail; three widths of a rib if left out (mm).
    pub rail: Option<Placed<Length>>,
    /// Of the rails before the first rib (mm).
    pub front: Option<Placed<Length>>,
    /// From the last rib to the cross rail, or to the rails' ends (mm).
    pub back: Option<Placed<Length>>,
    /// Width of the rail that joins both behind the carriage; as the rails if left out, 0 for none (mm).
    pub cross: Option<Placed<Length>>,
    /// Radius of the outer corners behind (mm).
    pub corner: Option<Placed<Length>>,
    /// Radius of the inner corners behind (mm).
    pub inner_corner: Option<Placed<Length>>,
}

/// `[spring.carriage]`
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CarriageTable {
    /// Between the ribs; five and a half widths of a rib if left out (mm).
    pub width: Option<Placed<Length>>,
    /// From the first rib to the front end (mm).
    pub nose: Option<Placed<Length>>,
    /// From the last rib to the back end (mm).
    pub tail: Option<Placed<Length>>,
    /// Radius of its corners (mm).
    pub corner: Option<Placed<Length>>,
    /// A wider front end.
    pub head: Option<Placed<HeadTable>>,
}

/// `head` of `[spring.carriage]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeadTable {
    /// Across the draw (mm).
    pub width: Placed<Length>,
    /// Along the draw (mm).
    pub height: Placed<Length>,
    /// Radius of a round cup in its front; flat if left out (mm).
    pub cup_radius: Option<Placed<Length>>,
    /// Width of the cup's mouth; two thirds of the head if left out (mm).
    pub cup_width: Option<Placed<Length>>,
}

/// A side of the carriage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum SideWord {
    /// Both.
    Both,
    /// At smaller x.
    Left,
    /// At larger x.
    Right,
}

/// `latch` of `[spring]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LatchTable {
    /// Where; on both sides if left out.
    pub side: Option<SideWord>,
    /// Into the carriage (mm).
    pub depth: Placed<Length>,
    /// Of its mouth along the draw; as deep as long if left out (mm).
    pub length: Option<Placed<Length>>,
    /// What is left of the carriage behind it; as its depth if left out (mm).
    pub behind: Option<Placed<Length>>,
}

/// `pull` of `[spring]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PullTable {
    /// Across the draw (mm).
    pub width: Placed<Length>,
    /// Along the draw (mm).
    pub height: Placed<Length>,
    /// Diameter of the hole; none if left out (mm).
    pub hole: Option<Placed<Length>>,
    /// From the first rib back to its middle; between the first two banks, or at the end of the tail, if
    /// left out (mm).
    pub at: Option<Placed<Length>>,
}

/// `clamp` of `[spring]`
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClampTable {
    /// Along the rail; 10 mm if left out (mm).
    pub length: Option<Placed<Length>>,
    /// From the first rib back to its middle; halfway along the ribs if left out (mm).
    pub at: Option<Placed<Length>>,
}

/// `[leaf]`: a foot, legs one over the other with a fold at either end in turn, a tab.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeafTable {
    /// How many.
    pub legs: Placed<i64>,
    /// Of a leg, from the end of one slot to that of the next (mm).
    pub length: Placed<Length>,
    /// Of the strip (mm).
    pub width: Placed<Length>,
    /// Between two legs (mm).
    pub gap: Placed<Length>,
    /// Height of the foot; three widths of the strip if left out (mm).
    pub foot: Option<Placed<Length>>,
    /// Height of the tab; three widths of the strip if left out (mm).
    pub tab: Option<Placed<Length>>,
    /// Radius of their corners; half a width of the strip if left out (mm).
    pub corner: Option<Placed<Length>>,
    /// How far the tab is moved, away from the foot; towards it if negative (mm).
    pub draw: Placed<Length>,
}

/// `[clip]`: a ring with a mouth, lips that lead in, and a foot.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClipTable {
    /// Diameter of what is pushed in (mm).
    pub rail: Placed<Length>,
    /// Diameter of the ring inside; that of the rail if left out (mm).
    pub bore: Option<Placed<Length>>,
    /// Between the lips (mm).
    pub mouth: Placed<Length>,
    /// Of the ring in its back (mm).
    pub width: Placed<Length>,
    /// Of the ring beside the lips, and of the lips; two thirds of the width if left out (mm).
    pub tip: Option<Placed<Length>>,
    /// Of a lip, outwards at 45 deg; three times its width if left out (mm).
    pub lip: Option<Placed<Length>>,
    /// Width of the foot; half the bore if left out (mm).
    pub foot_width: Option<Placed<Length>>,
    /// Of the foot, behind the ring; the width of the ring if left out (mm).
    pub foot_height: Option<Placed<Length>>,
    /// Radius between ring and foot, and between ring and lips; half the width if left out (mm).
    pub fillet: Option<Placed<Length>>,
}

/// `[printer]`
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PrinterTable {
    /// Its two sides (mm).
    pub bed: Option<Placed<[Length; 2]>>,
    /// Width of a line; 1.125 times the nozzle if left out (mm).
    pub extrusion_width: Option<Placed<Length>>,
    /// Diameter of the nozzle (mm).
    pub nozzle: Option<Placed<Length>>,
    /// Narrower gaps fuse; 0.3 mm if left out (mm).
    pub minimum_gap: Option<Placed<Length>>,
    /// Walls come out so much wider or narrower; 0.05 mm if left out (mm).
    pub wall_tolerance: Option<Placed<Length>>,
    /// The part comes out so much deeper or shallower; 0.1 mm if left out (mm).
    pub thickness_tolerance: Option<Placed<Length>>,
    /// Mass of a printed part, which tells how solid it is (g).
    pub weighed: Option<Placed<Mass>>,
}
