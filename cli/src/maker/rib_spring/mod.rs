//! A rib spring: two rails, a carriage between them, and banks of ribs from the one to the other.
//!
//! The carriage is drawn towards -y, the back. Lengths in mm, angles in rad. Both sides are mirror images, but for a latch
//! on one side alone. Before it is placed on its page the axis of the carriage is x = 0, and y = 0 where
//! the axis of the first rib meets the rail.

mod borders;
mod room;

use super::pieces::{self, circle_loop, on_page};
use super::rib_axis::{RibAxis, Taper};
use super::{Limits, Made, Unmakeable};
use crate::case::{Drive, Free, Held, Hold};
use std::f64::consts::{FRAC_PI_2, PI};
use withy_mesh::Point;

/// All numbers of a rib spring.
#[derive(Clone, Debug, PartialEq)]
pub struct RibSpring {
    /// Ribs a bank and side.
    pub ribs: u32,
    /// Banks, the first in front.
    pub banks: u32,
    /// From rib to rib of a bank, along the draw.
    pub pitch: f64,
    /// From the last rib of a bank to the first of the next, along the draw.
    pub bank_spacing: f64,
    /// Of a rib, from root to root.
    pub length: f64,
    /// From the draw to the rib, seen from its root on the rail: a rib of less than a right angle is
    /// stretched by the draw, one of more folds first.
    pub angle: f64,
    /// Of a rib at its roots.
    pub width: f64,
    /// Of a rib in its middle.
    pub middle: f64,
    /// How it goes from the one to the other.
    pub taper: Taper,
    /// Height of a rib's axis over its chord at rest, towards the front.
    pub bow: f64,
    /// Radius of the fillets at the roots.
    pub fillet: f64,
    /// The rails and what joins them.
    pub frame: Frame,
    /// What moves.
    pub carriage: Carriage,
    /// Where a latch catches it.
    pub latch: Option<Latch>,
    /// Where a finger pulls it.
    pub pull: Option<Pull>,
    /// What is held.
    pub clamp: Clamp,
    /// How far the carriage is drawn.
    pub draw: f64,
}

/// Two rails, joined behind the carriage or not.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// Width of a rail.
    pub rail: f64,
    /// Of the rail before the first rib.
    pub front: f64,
    /// From the last rib to the cross rail, or to the rail's end.
    pub back: f64,
    /// Width of the rail that joins both behind the carriage; none if 0.
    pub cross: f64,
    /// Radius of the outer corners.
    pub corner: f64,
    /// Radius of the inner corners, between rail and cross rail.
    pub inner_corner: f64,
}

/// The part that moves.
#[derive(Clone, Debug, PartialEq)]
pub struct Carriage {
    /// Between the ribs.
    pub width: f64,
    /// From the first rib to the front end.
    pub nose: f64,
    /// From the last rib to the back end.
    pub tail: f64,
    /// Radius of its corners.
    pub corner: f64,
    /// A wider front end.
    pub head: Option<Head>,
}

/// A front end wider than the carriage.
#[derive(Clone, Debug, PartialEq)]
pub struct Head {
    /// Across the draw.
    pub width: f64,
    /// Along the draw.
    pub height: f64,
    /// Radius of a round cup in its front; flat if 0.
    pub cup_radius: f64,
    /// Width of the cup's mouth.
    pub cup_width: f64,
}

impl Head {
    /// Of the cup's bottom behind the rim.
    pub(super) fn cup_depth(&self) -> f64 {
        let half = 0.5 * self.cup_width;
        self.cup_radius - ((self.cup_radius - half) * (self.cup_radius + half)).sqrt()
    }
}

/// On which sides of the carriage a latch catches it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LatchSide {
    /// On both.
    #[default]
    Both,
    /// At smaller x.
    Left,
    /// At larger x.
    Right,
}

/// A notch in the tail; its back wall is square to the draw and bears the latch.
#[derive(Clone, Debug, PartialEq)]
pub struct Latch {
    /// On which side.
    pub side: LatchSide,
    /// Into the carriage.
    pub depth: f64,
    /// Of its mouth, along the draw.
    pub length: f64,
    /// What is left behind it.
    pub behind: f64,
}

/// A block across the carriage, with a hole for a finger or without.
#[derive(Clone, Debug, PartialEq)]
pub struct Pull {
    /// Across the draw.
    pub width: f64,
    /// Along the draw.
    pub height: f64,
    /// Diameter of the hole; none if 0.
    pub hole: f64,
    /// From the first rib back to the block's middle; where there is room if `None`.
    pub at: Option<f64>,
}

/// A stretch of both rails that is held.
#[derive(Clone, Debug, PartialEq)]
pub struct Clamp {
    /// Along the rail.
    pub length: f64,
    /// From the first rib back to its middle; halfway along the ribs if `None`.
    pub at: Option<f64>,
}

/// Names of the regions that it offers.
pub const CLAMP_LEFT: &str = "clamp-left";
/// See [`CLAMP_LEFT`].
pub const CLAMP_RIGHT: &str = "clamp-right";
/// What is driven.
pub const GRIP: &str = "grip";

/// Ribs in all, more than any bed holds.
const MOST_RIBS: u32 = 200;
/// A rib no steeper than this against the square of the draw, its bow included (rad).
const STEEPEST: f64 = 1.2;

/// Where things are, before the page.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// Half the carriage.
    pub(super) c: f64,
    /// Inner face of the right rail.
    pub(super) a: f64,
    /// Outer face of the right rail.
    pub(super) b: f64,
    /// From the root on the rail to the root on the carriage, along y.
    pub(super) rise: f64,
    /// Where the ribs meet the rail.
    pub(super) roots: Vec<f64>,
    /// Half of a root on its face, at most.
    pub(super) half_root: f64,
    /// Front end of the rails.
    pub(super) rail_front: f64,
    /// Inner face of the cross rail, or the rails' back end.
    pub(super) rail_back: f64,
    /// Front and back end of the carriage.
    pub(super) ends: [f64; 2],
    /// The pull's block, front and back.
    pub(super) block: Option<[f64; 2]>,
    /// The clamp, front and back.
    pub(super) clamp: [f64; 2],
}

impl RibSpring {
    pub(super) fn axis(&self, layout: &Layout, rib: usize) -> RibAxis {
        let y = layout.roots[rib];
        RibAxis {
            ends: [Point::new(layout.a, y), Point::new(layout.c, y + layout.rise)],
            bow: self.bow,
            root: self.width,
            middle: self.middle,
            taper: self.taper,
        }
    }

    /// How much the axis turns from its chord to its ends: sagitta = L/2 tan(turn/2).
    fn tilt(&self) -> f64 {
        2.0 * (2.0 * self.bow.abs() / self.length).atan()
    }

    /// What a latch takes of the tail, with the room before it.
    pub(super) fn notch(&self) -> f64 {
        self.latch.as_ref().map_or(0.0, |latch| latch.behind + latch.length + self.fillet)
    }

    /// Places of everything, if the numbers are numbers.
    pub(super) fn layout(&self) -> Result<Layout, Unmakeable> {
        self.check_ranges()?;
        let (sin, cos) = self.angle.sin_cos();
        let c = 0.5 * self.carriage.width;
        let a = c + self.length * sin;
        let rise = -self.length * cos;
        let bank = f64::from(self.ribs - 1) * self.pitch + self.bank_spacing;
        let roots: Vec<f64> = (0..self.banks)
            .flat_map(|k| (0..self.ribs).map(move |i| (k, i)))
            .map(|(k, i)| -(f64::from(k) * bank + f64::from(i) * self.pitch))
            .collect();
        let last = roots.last().copied().unwrap_or(0.0);
        let steep = (self.angle - FRAC_PI_2).abs() + self.tilt();
        let ends = [rise + self.carriage.nose, last + rise - self.carriage.tail];
        let block = self.pull.as_ref().map(|pull| {
            let middle = match pull.at {
                Some(at) => rise - at,
                None if self.banks > 1 => {
                    rise - f64::from(self.ribs - 1) * self.pitch - 0.5 * self.bank_spacing
                }
                None => ends[1] + self.notch() + 0.5 * pull.height,
            };
            [middle + 0.5 * pull.height, middle - 0.5 * pull.height]
        });
        let middle = self.clamp.at.map_or(0.5 * last, |at| -at);
        Ok(Layout {
            c,
            a,
            b: a + self.frame.rail,
            rise,
            half_root: 0.5 * self.width / steep.cos(),
            rail_front: self.frame.front,
            rail_back: last - self.frame.back,
            ends,
            block,
            clamp: [middle + 0.5 * self.clamp.length, middle - 0.5 * self.clamp.length],
            roots,
        })
    }

    fn check_ranges(&self) -> Result<(), Unmakeable> {
        let latch = self.latch.as_ref();
        let (pull, head) = (self.pull.as_ref(), self.carriage.head.as_ref());
        let above_zero = [
            ("pitch", Some(self.pitch)),
            ("bank_spacing", Some(self.bank_spacing)),
            ("length", Some(self.length)),
            ("width", Some(self.width)),
            ("middle", Some(self.middle)),
            ("fillet", Some(self.fillet)),
            ("draw", Some(self.draw)),
            ("frame.rail", Some(self.frame.rail)),
            ("frame.front", Some(self.frame.front)),
            ("frame.back", Some(self.frame.back)),
            ("carriage.width", Some(self.carriage.width)),
            ("carriage.nose", Some(self.carriage.nose)),
            ("carriage.tail", Some(self.carriage.tail)),
            ("carriage.head.width", head.map(|h| h.width)),
            ("carriage.head.height", head.map(|h| h.height)),
            ("latch.depth", latch.map(|l| l.depth)),
            ("latch.length", latch.map(|l| l.length)),
            ("latch.behind", latch.map(|l| l.behind)),
            ("pull.width", pull.map(|p| p.width)),
            ("pull.height", pull.map(|p| p.height)),
            ("clamp.length", Some(self.clamp.length)),
        ];
        let zero_or_more = [
            ("frame.cross", Some(self.frame.cross)),
            ("frame.corner", Some(self.frame.corner)),
            ("frame.inner_corner", Some(self.frame.inner_corner)),
            ("carriage.corner", Some(self.carriage.corner)),
            ("carriage.head.cup_radius", head.map(|h| h.cup_radius)),
            ("carriage.head.cup_width", head.map(|h| h.cup_width)),
            ("pull.hole", pull.map(|p| p.hole)),
        ];
        pieces::check_lengths(&above_zero, &zero_or_more)?;
        let whole = |key, found: u32, most: u32| {
            let sound = (1..=most).contains(&found);
            pieces::within(sound, key, found.to_string(), format!("from 1 to {most}"))
        };
        whole("banks", self.banks, MOST_RIBS)?;
        whole("ribs", self.ribs, MOST_RIBS / self.banks)?;
        let degrees = self.angle.to_degrees();
        let sound = self.angle > 0.0 && self.angle < PI;
        let flat = FRAC_PI_2 - STEEPEST + self.tilt();
        let range = format!(
            "from {:.0} to {:.0} deg with this bow",
            flat.to_degrees().ceil(),
            (PI - flat).to_degrees().floor()
        );
        let sound = sound && (self.angle - FRAC_PI_2).abs() + self.tilt() <= STEEPEST;
        let bowed = self.bow.abs() <= 0.25 * self.length;
        let most = format!(
            "from {0:.2} to {1:.2} mm, a quarter of the rib's length",
            -0.25 * self.length,
            0.25 * self.length
        );
        pieces::within(bowed, "bow", format!("{} mm", self.bow), most)?;
        pieces::within(sound, "angle", format!("{degrees:.2} deg"), range)
    }
}

/// Makes the part.
///
/// # Errors
/// The first number that has to change, and to what.
pub fn rib_spring(spring: &RibSpring, limits: &Limits) -> Result<Made, Unmakeable> {
    let layout = spring.layout()?;
    room::check(spring, &layout, limits)?;
    let mut loops = borders::borders(spring, &layout)?;
    if let (Some(pull), Some([front, back])) = (&spring.pull, layout.block)
        && pull.hole > 0.0
    {
        let middle = Point::new(0.0, 0.5 * (front + back));
        loops.push(circle_loop(middle, 0.5 * pull.hole, "the pull's hole"));
    }
    let (outline, page) = on_page(loops, borders::regions(spring, &layout))?;
    let held = |region: &str| Hold { region: region.to_owned(), along: Held { x: true, y: true } };
    let free = Free { x: true, y: false, turn: true };
    Ok(Made {
        outline,
        page,
        holds: vec![held(CLAMP_LEFT), held(CLAMP_RIGHT)],
        drives: vec![Drive {
            region: GRIP.to_owned(),
            shift: [0.0, -spring.draw],
            turn: 0.0,
            free,
        }],
    })
}
