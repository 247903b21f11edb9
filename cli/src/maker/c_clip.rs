//! A C-clip: a ring that is open in front, with lips that lead in what it holds, and a foot behind.
//!
//! Lengths in mm. Before it is placed on its page the bore's centre is the origin, and the mouth opens
//! towards +y. The inner border is a circle, the outer one the circle through the points that give the
//! ring its widths in the back and beside the lips.

use super::error::Side::{AtLeast, AtMost};
use super::pieces::{self, both_halves, box_region, center_of, corner, on_page, room, rounded};
use super::{Limits, Made, Unmakeable};
use crate::case::{Drive, Free, Held, Hold};
use std::f64::consts::FRAC_1_SQRT_2;
use withy_mesh::number::{max, min};
use withy_mesh::{Point, Rect, Vec2};

/// All numbers of a C-clip.
#[derive(Clone, Debug, PartialEq)]
pub struct CClip {
    /// Diameter of what is pushed in.
    pub rail: f64,
    /// Diameter of the ring inside, at rest.
    pub bore: f64,
    /// Between the lips, at rest.
    pub mouth: f64,
    /// Of the ring in its back.
    pub width: f64,
    /// Of the ring beside the lips, and of the lips.
    pub tip: f64,
    /// Of a lip, outwards at 45 degrees.
    pub lip: f64,
    /// Width of the foot.
    pub foot_width: f64,
    /// Of the foot, behind the ring.
    pub foot_height: f64,
    /// Radius between ring and foot, and between ring and lips.
    pub fillet: f64,
}

/// Names of its regions.
pub const BASE: &str = "base";
/// See [`BASE`].
pub const LIP_LEFT: &str = "lip-left";
/// See [`BASE`].
pub const LIP_RIGHT: &str = "lip-right";

/// A region reaches so far beyond the part (mm).
const BEYOND: f64 = 2.0;
/// Of a lip, what moves as one.
const MOVED_SHARE: f64 = 0.6;

/// Where its corners are, on the right.
struct Layout {
    /// Where the bore ends at the mouth.
    mouth: Point,
    /// The lip's end, inside and outside.
    tip: [Point; 2],
    /// Where the lip's outside leaves the ring.
    neck: Point,
    /// Centre and radius of the outer border.
    outer: (Point, f64),
    /// Where the foot's side leaves the ring.
    ankle: Point,
    /// The foot's face.
    ground: f64,
}

/// Makes the part.
///
/// # Errors
/// The first number that has to change, and to what.
pub fn c_clip(clip: &CClip, limits: &Limits) -> Result<Made, Unmakeable> {
    check(clip, limits)?;
    let l = layout(clip)?;
    let round = 0.45 * clip.tip;
    let (center, radius) = l.outer;
    // The outer arc from ankle to neck, by way of the point halfway between.
    let [from, to] = [l.ankle, l.neck].map(|p| (p - center).atan2());
    let halfway = center + Vec2::from_angle(0.5 * (from + to)) * radius;
    let back = Point::new(0.0, -0.5 * clip.bore);
    let right = [
        corner(0.5 * clip.foot_width, l.ground, min(0.5 * clip.foot_height, 1.0), "foot_height"),
        corner(l.ankle.x, l.ankle.y, clip.fillet, "fillet").through(halfway),
        corner(l.neck.x, l.neck.y, clip.fillet, "fillet"),
        corner(l.tip[1].x, l.tip[1].y, round, "tip"),
        corner(l.tip[0].x, l.tip[0].y, round, "tip"),
        corner(l.mouth.x, l.mouth.y, round, "tip").through(back),
    ];
    let loops = rounded(&[(both_halves(&right, &right), "the border".to_owned())])?;
    let low = l.mouth.y + (1.0 - MOVED_SHARE) * (l.tip[0].y - l.mouth.y);
    let (near, far) = (0.5 * l.mouth.x, l.tip[1].x + BEYOND);
    let high = l.tip[0].y + BEYOND;
    let half = 0.5 * clip.foot_width + BEYOND;
    let regions = vec![
        box_region(
            BASE,
            Rect::new(-half, l.ground - BEYOND, half, l.ground + 0.6 * clip.foot_height),
        ),
        box_region(LIP_LEFT, Rect::new(-far, low, -near, high)),
        box_region(LIP_RIGHT, Rect::new(near, low, far, high)),
    ];
    let (outline, page) = on_page(loops, regions)?;
    let aside = 0.5 * (clip.rail - clip.mouth);
    let free = Free { x: false, y: true, turn: true };
    let drive = |region: &str, x: f64| Drive {
        region: region.to_owned(),
        shift: [x, 0.0],
        turn: 0.0,
        free,
    };
    Ok(Made {
        outline,
        page,
        holds: vec![Hold { region: BASE.to_owned(), along: Held { x: true, y: true } }],
        drives: vec![drive(LIP_LEFT, -aside), drive(LIP_RIGHT, aside)],
    })
}

fn check(c: &CClip, limits: &Limits) -> Result<(), Unmakeable> {
    let above_zero = [
        ("rail", Some(c.rail)),
        ("bore", Some(c.bore)),
        ("mouth", Some(c.mouth)),
        ("width", Some(c.width)),
        ("tip", Some(c.tip)),
        ("lip", Some(c.lip)),
        ("foot_width", Some(c.foot_width)),
        ("foot_height", Some(c.foot_height)),
        ("fillet", Some(c.fillet)),
    ];
    pieces::check_lengths(&above_zero, &[])?;
    room("width", "the ring is", c.width, limits.wall, limits.wall, AtLeast)?;
    room("tip", "the lip is", c.tip, limits.wall, limits.wall, AtLeast)?;
    room("mouth", "the mouth is", c.mouth, limits.gap, limits.gap, AtLeast)?;
    // A wider mouth than this holds nothing, and its lips would not be beside the ring.
    let most = 0.95 * min(c.bore, c.rail);
    room("mouth", "what the mouth holds back of the rail is", most - c.mouth, 0.0, most, AtMost)?;
    let widest = 0.5 * c.bore;
    let what = "the bore's radius, beyond the ring's width, is";
    room("width", what, widest - c.width, 0.0, widest, AtMost)?;
    let what = "the ring, beyond its lips' width, is";
    room("tip", what, 1.5 * c.width - c.tip, 0.0, 1.5 * c.width, AtMost)?;
    let most = 0.85 * (c.bore + 2.0 * min(c.width, c.tip));
    room("foot_width", "the ring beside the foot is", most - c.foot_width, 0.0, most, AtMost)?;
    let least = c.tip;
    room("lip", "the lip, beyond its width, is", c.lip - least, 0.0, least, AtLeast)
}

fn layout(c: &CClip) -> Result<Layout, Unmakeable> {
    let r = 0.5 * c.bore;
    let half = 0.5 * c.mouth;
    let mouth = Point::new(half, ((r - half) * (r + half)).sqrt());
    let ray = mouth.to_vec2() / r;
    let beside = (ray * (r + c.tip)).to_point();
    let back = Point::new(0.0, -r - c.width);
    let center = center_of(Point::new(-beside.x, beside.y), back, beside);
    let radius = center.distance(back);
    let along = Vec2::new(FRAC_1_SQRT_2, FRAC_1_SQRT_2);
    let across = Vec2::new(FRAC_1_SQRT_2, -FRAC_1_SQRT_2);
    let inner = mouth + along * c.lip;
    let outside = inner + across * c.tip;
    // From the lip's outer corner back along it to the ring.
    let to_center = center - outside;
    let way = -to_center.dot(along);
    let off = to_center.cross(along).abs();
    let into = ((radius - off) * (radius + off)).sqrt();
    let neck = outside - along * (way - into);
    let too_long = !(into.is_finite() && way - into > 0.0);
    if too_long {
        let least = c.lip + max(into - way, 0.0) + c.tip;
        room("lip", "the lip outside of the ring is", way - into, 0.0, least, AtLeast)?;
    }
    let side = 0.5 * c.foot_width;
    let ankle = Point::new(side, center.y - ((radius - side) * (radius + side)).sqrt());
    let ground = back.y - c.foot_height;
    Ok(Layout { mouth, tip: [inner, outside], neck, outer: (center, radius), ankle, ground })
}
