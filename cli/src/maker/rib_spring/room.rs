//! Whether everything has the room that it needs, and the number that would give it.

use super::super::error::Side::{AtLeast, AtMost};
use super::super::pieces::room;
use super::super::{Limits, Unmakeable};
use super::{LatchSide, Layout, RibSpring};
use std::f64::consts::FRAC_PI_2;
use withy_mesh::number::{largest, max, min};

/// The gaps and walls that are known before anything is drawn.
pub(super) fn check(s: &RibSpring, l: &Layout, limits: &Limits) -> Result<(), Unmakeable> {
    let wall = |key, what, found: f64, extra: f64, side| {
        let would_do = if side == AtLeast { limits.wall + extra } else { extra - limits.wall };
        room(key, what, found, limits.wall, would_do, side)
    };
    wall("width", "the root of a rib is", s.width, 0.0, AtLeast)?;
    wall("middle", "the middle of a rib is", s.middle, 0.0, AtLeast)?;
    wall("frame.rail", "the rail is", s.frame.rail, 0.0, AtLeast)?;
    if s.frame.cross > 0.0 {
        wall("frame.cross", "the cross rail is", s.frame.cross, 0.0, AtLeast)?;
    }
    let gap = |key, what, found: f64, would_do: f64, side| {
        room(key, what, found, limits.gap, would_do, side)
    };
    // A gap along the draw between parallel ribs narrows with their slope.
    let slope = ((s.angle - FRAC_PI_2).abs() + s.tilt()).cos();
    let widest = max(s.width, s.middle);
    let least = (limits.gap + widest) / slope;
    if s.ribs > 1 {
        let found = s.pitch * slope - widest;
        gap("pitch", "the gap between two ribs is", found, least, AtLeast)?;
    }
    if s.banks > 1 {
        let found = s.bank_spacing * slope - widest;
        gap("bank_spacing", "the gap between two banks is", found, least, AtLeast)?;
    }
    let root = l.half_root + s.fillet;
    let before =
        |key, what, found: f64| room(key, what, found - l.half_root, s.fillet, root, AtLeast);
    before("frame.front", "the rail before the first rib is", s.frame.front)?;
    before("frame.back", "the rail behind the last rib is", s.frame.back)?;
    before("carriage.nose", "the carriage before the first rib is", s.carriage.nose)?;
    before("carriage.tail", "the carriage behind the last rib is", s.carriage.tail)?;
    check_head(s, l, limits)?;
    check_latch(s, l, limits)?;
    check_pull(s, l, limits)?;
    if s.frame.cross > 0.0 {
        let found = l.ends[1] - s.draw - l.rail_back;
        let what = "the gap between carriage and cross rail at full draw is";
        gap("frame.back", what, found, s.frame.back + limits.gap - found, AtLeast)?;
    }
    let rail = l.rail_front - l.rail_back;
    let what = "the rail beyond the clamp is";
    let clamped = [l.rail_front - l.clamp[0], l.clamp[1] - l.rail_back];
    let key = if s.clamp.at.is_some() { "clamp.at" } else { "clamp.length" };
    for (found, sign) in clamped.into_iter().zip([1.0, -1.0]) {
        let (would_do, side) = match s.clamp.at {
            Some(at) => (at - sign * found, if sign > 0.0 { AtLeast } else { AtMost }),
            None => (min(s.clamp.length + 2.0 * found, rail), AtMost),
        };
        room(key, what, found, 0.0, would_do, side)?;
    }
    Ok(())
}

/// The head has room before the ribs, and its cup within it.
fn check_head(s: &RibSpring, l: &Layout, limits: &Limits) -> Result<(), Unmakeable> {
    let Some(head) = &s.carriage.head else { return Ok(()) };
    let least = s.carriage.width;
    room(
        "carriage.head.width",
        "the head, beyond the carriage, is",
        head.width - least,
        0.0,
        least,
        AtLeast,
    )?;
    let most = 2.0 * (l.a - limits.gap);
    let beside = l.a - 0.5 * head.width;
    let what = "the gap between head and rail is";
    room("carriage.head.width", what, beside, limits.gap, most, AtMost)?;
    if head.cup_radius > 0.0 {
        let most = min(2.0 * head.cup_radius, head.width);
        let found = most - head.cup_width;
        let what = "the rim beside the cup is";
        room("carriage.head.cup_width", what, found, 0.0, most, AtMost)?;
        let wall = head.height - head.cup_depth();
        let least = head.cup_depth() + limits.wall;
        let what = "the wall behind the cup is";
        room("carriage.head.height", what, wall, limits.wall, least, AtLeast)?;
    }
    // Between the underside of the head and the front edge of the first rib.
    let under = l.ends[0] - head.height;
    let found = under - front_of_rib(s, l, 0, 0.5 * head.width);
    let would_do = s.carriage.nose + limits.gap - found;
    let what = "the gap between head and first rib is";
    room("carriage.nose", what, found, limits.gap, would_do, AtLeast)?;
    Ok(())
}

/// The latch has room in the tail, and leaves a wall beside it and behind it.
fn check_latch(s: &RibSpring, l: &Layout, limits: &Limits) -> Result<(), Unmakeable> {
    let Some(latch) = &s.latch else { return Ok(()) };
    let sides = if latch.side == LatchSide::Both { 2.0 } else { 1.0 };
    let left = s.carriage.width - sides * latch.depth;
    let would_do = (s.carriage.width - limits.wall) / sides;
    let what = "the carriage beside the latch is";
    room("latch.depth", what, left, limits.wall, would_do, AtMost)?;
    room(
        "latch.behind",
        "the wall behind the latch is",
        latch.behind,
        limits.wall,
        limits.wall,
        AtLeast,
    )?;
    room(
        "latch.length",
        "the mouth of the latch is",
        latch.length,
        limits.gap,
        limits.gap,
        AtLeast,
    )?;
    let needed = latch.behind + latch.length + l.half_root + s.fillet;
    let what = "the carriage between latch and last rib is";
    room("carriage.tail", what, s.carriage.tail - needed + s.fillet, s.fillet, needed, AtLeast)?;
    Ok(())
}

/// The pull has room between the ribs, and a wall around its hole.
fn check_pull(s: &RibSpring, l: &Layout, limits: &Limits) -> Result<(), Unmakeable> {
    let (Some(pull), Some([front, back])) = (&s.pull, l.block) else { return Ok(()) };
    let side = min(pull.width, pull.height);
    let wall = 0.5 * (side - pull.hole);
    let would_do = side - 2.0 * limits.wall;
    if pull.hole > 0.0 {
        room("pull.hole", "the wall around the hole is", wall, limits.wall, would_do, AtMost)?;
        room("pull.hole", "the hole is", pull.hole, limits.gap, limits.gap, AtLeast)?;
    }
    let span = l.a - 0.5 * pull.width;
    let most = 2.0 * (l.a - limits.gap);
    room("pull.width", "the gap between pull and rail is", span, limits.gap, most, AtMost)?;
    // The ribs next to the block, in front of it and behind it.
    let middle = 0.5 * (front + back) - l.rise;
    let half = max(0.5 * pull.width, l.c);
    let next = l.roots.iter().position(|y| *y < middle);
    let behind = next.map(|k| back - front_of_rib(s, l, k, half));
    let before =
        next.unwrap_or(l.roots.len()).checked_sub(1).map(|k| back_of_rib(s, l, k, half) - front);
    for (found, towards) in [(before, 1.0), (behind, -1.0)] {
        let Some(found) = found else { continue };
        let what = "the gap between pull and next rib is";
        let (key, would_do, side) = match (pull.at, s.banks) {
            (Some(at), _) if towards > 0.0 => ("pull.at", at + limits.gap - found, AtLeast),
            (Some(at), _) => ("pull.at", at - limits.gap + found, AtMost),
            (None, 1) => ("carriage.tail", s.carriage.tail + limits.gap - found, AtLeast),
            (None, _) => ("bank_spacing", s.bank_spacing + 2.0 * (limits.gap - found), AtLeast),
        };
        room(key, what, found, limits.gap, would_do, side)?;
    }
    let notch = l.ends[1] + s.notch();
    if s.latch.is_some() && front > l.ends[1] {
        let found = back - notch;
        let (key, would_do, side) = match pull.at {
            Some(at) => ("pull.at", at + found, AtMost),
            None => ("carriage.tail", s.carriage.tail - found, AtLeast),
        };
        room(key, "the carriage between pull and latch is", found, 0.0, would_do, side)?;
    }
    if l.ends[1] - back > 1e-9 {
        let would_do = s.carriage.tail + l.ends[1] - back;
        room(
            "carriage.tail",
            "the carriage behind the pull is",
            back - l.ends[1],
            0.0,
            would_do,
            AtLeast,
        )?;
    }
    Ok(())
}

/// The frontmost y of a rib's front edge between the carriage and a distance from the axis.
fn front_of_rib(s: &RibSpring, l: &Layout, rib: usize, x: f64) -> f64 {
    extreme(s, l, rib, x, 1.0)
}

/// The backmost y of a rib's back edge between the carriage and a distance from the axis.
fn back_of_rib(s: &RibSpring, l: &Layout, rib: usize, x: f64) -> f64 {
    extreme(s, l, rib, x, -1.0)
}

fn extreme(s: &RibSpring, l: &Layout, rib: usize, x: f64, side: f64) -> f64 {
    const SAMPLES: u32 = 32;
    let axis = s.axis(l, rib);
    let points = (0..=SAMPLES).map(|k| axis.at(f64::from(k) / f64::from(SAMPLES)));
    let near = points.filter(|p| p.x <= x + s.width).map(|p| side * p.y);
    side * (largest(f64::NEG_INFINITY, near) + l.half_root)
}
