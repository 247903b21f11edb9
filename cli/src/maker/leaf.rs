//! A folded leaf: legs one over the other between a foot and a tab, joined by round folds at either end
//! in turn.
//!
//! The tab is moved along y, away from the foot or towards it. Lengths in mm. Before it is placed on its
//! page, the slots end at x = 0 and x = length, and y = 0 is the face of the foot. Around a slot's round end the
//! strip keeps its width exactly: both arcs of a fold have one centre.

use super::error::Side::{AtLeast, AtMost};
use super::pieces::{self, Corner, box_region, corner, on_page, room, rounded};
use super::{Limits, Made, Unmakeable};
use crate::case::{Drive, Free, Held, Hold};
use withy_mesh::Rect;
use withy_mesh::number::min;

/// All numbers of a folded leaf.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaf {
    /// How many legs.
    pub legs: u32,
    /// Of a leg, from the end of one slot to that of the next.
    pub length: f64,
    /// Of the strip.
    pub width: f64,
    /// Between two legs.
    pub gap: f64,
    /// Height of the block at the bottom.
    pub foot: f64,
    /// Height of the block at the top.
    pub tab: f64,
    /// Radius of the blocks' corners.
    pub corner: f64,
    /// How far the tab is moved; away from the foot, or towards it if below zero.
    pub draw: f64,
}

/// Names of its regions.
pub const FOOT: &str = "foot";
/// See [`FOOT`].
pub const TAB: &str = "tab";

const MOST_LEGS: u32 = 200;
/// Two radii that share an edge are this part smaller than its half, so that rounding leaves them room.
const ROUNDING: f64 = 1e-9;
/// A region reaches so far beyond the part (mm).
const BEYOND: f64 = 2.0;

/// Makes the part.
///
/// # Errors
/// The first number that has to change, and to what.
pub fn leaf(leaf: &Leaf, limits: &Limits) -> Result<Made, Unmakeable> {
    check(leaf, limits)?;
    let border = border(leaf);
    let loops = rounded(&[(border, "the border".to_owned())])?;
    let (xl, xr) = (-leaf.width - BEYOND, leaf.length + leaf.width + BEYOND);
    let top = top(leaf, leaf.legs + 1);
    // Half of each block is left elastic before what is held or moved.
    let regions = vec![
        box_region(FOOT, Rect::new(xl, -leaf.foot - BEYOND, xr, -0.5 * leaf.foot)),
        box_region(TAB, Rect::new(xl, top - 0.5 * leaf.tab, xr, top + BEYOND)),
    ];
    let (outline, page) = on_page(loops, regions)?;
    Ok(Made {
        outline,
        page,
        holds: vec![Hold { region: FOOT.to_owned(), along: Held { x: true, y: true } }],
        drives: vec![Drive {
            region: TAB.to_owned(),
            shift: [0.0, leaf.draw],
            turn: 0.0,
            free: Free::default(),
        }],
    })
}

fn check(l: &Leaf, limits: &Limits) -> Result<(), Unmakeable> {
    let above_zero = [
        ("length", Some(l.length)),
        ("width", Some(l.width)),
        ("gap", Some(l.gap)),
        ("foot", Some(l.foot)),
        ("tab", Some(l.tab)),
    ];
    pieces::check_lengths(&above_zero, &[("corner", Some(l.corner))])?;
    let sound = (1..=MOST_LEGS).contains(&l.legs);
    pieces::within(sound, "legs", l.legs.to_string(), format!("from 1 to {MOST_LEGS}"))?;
    let moved = l.draw.is_finite() && l.draw.abs() > 0.0 && l.draw.abs() <= 2000.0;
    let range = "away from 0 mm, by 2 m at most".to_owned();
    pieces::within(moved, "draw", format!("{} mm", l.draw), range)?;
    room("width", "the strip is", l.width, limits.wall, limits.wall, AtLeast)?;
    room("gap", "the gap between two legs is", l.gap, limits.gap, limits.gap, AtLeast)?;
    room("foot", "the foot is", l.foot, l.width, l.width, AtLeast)?;
    room("tab", "the tab is", l.tab, l.width, l.width, AtLeast)?;
    // Shorter than this a leg is all fold.
    let least = 2.0 * (l.gap + l.width);
    room("length", "a leg is", l.length, least, least, AtLeast)?;
    let most = 0.5 * min(l.foot, l.tab);
    room(
        "corner",
        "what the corners leave of foot and tab is",
        2.0 * (most - l.corner),
        0.0,
        most,
        AtMost,
    )?;
    // Together, the slots shut where the draw is as long as they are high.
    let slots = f64::from(l.legs + 1) * l.gap;
    room("draw", "what is left of the slots at full draw is", slots + l.draw, 0.0, -slots, AtLeast)
}

/// Upper face of the foot (0), a leg (1 to legs) or the tab.
fn top(l: &Leaf, item: u32) -> f64 {
    let legs = f64::from(item) * (l.gap + l.width);
    if item > l.legs { legs - l.width + l.tab } else { legs }
}

/// Lower face of a leg or the tab.
fn bottom(l: &Leaf, item: u32) -> f64 {
    f64::from(item) * l.gap + f64::from(item - 1) * l.width
}

/// Counter-clockwise, from the right end of the foot's bottom. Slot s lies between item s and the next;
/// even ones are open to the left, odd ones to the right.
fn border(l: &Leaf) -> Vec<Corner> {
    let (xl, xr) = (-l.width, l.length + l.width);
    let fold = (0.5 * l.gap + l.width) * (1.0 - ROUNDING);
    let end = 0.5 * l.gap * (1.0 - ROUNDING);
    // The outside of a fold, or the corner of a block.
    let outer = |x, y, item| match item {
        0 => corner(x, y, l.corner, "corner"),
        item if item > l.legs => corner(x, y, l.corner, "corner"),
        _ => corner(x, y, fold, "gap"),
    };
    let mut border = vec![outer(xr, -l.foot, 0)];
    for slot in (0..=l.legs).filter(|slot| slot % 2 == 1) {
        let (low, high) = (top(l, slot), bottom(l, slot + 1));
        border.push(outer(xr, low, slot));
        border.extend([corner(0.0, low, end, "gap"), corner(0.0, high, end, "gap")]);
        border.push(outer(xr, high, slot + 1));
    }
    border.push(outer(xr, top(l, l.legs + 1), l.legs + 1));
    border.push(outer(xl, top(l, l.legs + 1), l.legs + 1));
    for slot in (0..=l.legs).rev().filter(|slot| slot % 2 == 0) {
        let (low, high) = (top(l, slot), bottom(l, slot + 1));
        border.push(outer(xl, high, slot + 1));
        border.extend([corner(l.length, high, end, "gap"), corner(l.length, low, end, "gap")]);
        border.push(outer(xl, low, slot));
    }
    border.push(outer(xl, -l.foot, 0));
    border
}
