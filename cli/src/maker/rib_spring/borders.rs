//! The borders of a rib spring, corner by corner, and its regions.

use super::super::Unmakeable;
use super::super::pieces::{self, Corner, Edge, Named, both_halves, box_region, corner, rounded};
use super::{CLAMP_LEFT, CLAMP_RIGHT, GRIP, LatchSide, Layout, Pull, RibSpring};
use withy_mesh::number::{max, min};
use withy_mesh::{Loop, Point, Rect, Region};

/// Room around the grip inside its block (mm).
const GRIP_MARGIN: f64 = 1.0;
/// A region reaches so far beyond the part (mm).
const BEYOND: f64 = 2.0;

/// Every loop of the part but the hole.
pub(super) fn borders(s: &RibSpring, l: &Layout) -> Result<Vec<Loop>, Unmakeable> {
    let front = |rib: usize| s.axis(l, rib).edge(1.0, s.fillet, "fillet");
    let back = |rib: usize| s.axis(l, rib).edge(-1.0, s.fillet, "fillet");
    let last = l.roots.len() - 1;
    let mut loops: Vec<Named> = Vec::new();
    // Windows between one rib and the next: down the rail's face, along the edges, up the carriage's.
    for rib in 0..last {
        let to = back(rib);
        let mut right = front(rib + 1);
        let along = [right[right.len() - 1].at.y, to[to.len() - 1].at.y];
        right.extend(pieces::reversed(&block_side(s, l, along), Edge::Straight));
        right.extend(pieces::reversed(&to, Edge::Straight));
        for (border, side) in [(right.clone(), "right"), (pieces::mirrored(&right), "left")] {
            loops.push((border, format!("the {side} window behind rib {}", rib + 1)));
        }
    }
    // Around the front: up the rail, back along its face, along the first rib, up to the nose.
    let rails = min(2.0, 0.42 * s.frame.rail);
    let mut head = vec![
        corner(l.b, l.rail_front, rails, "frame.rail"),
        corner(l.a, l.rail_front, rails, "frame.rail"),
    ];
    head.extend(front(0));
    head.extend(nose(s, l));
    // Around the back: along the last rib to the rail's face, from the axis of the tail.
    let tail = |side: LatchSide| {
        let mut chain = pieces::reversed(&tail(s, l, side), Edge::Straight);
        chain.extend(pieces::reversed(&back(last), Edge::Straight));
        chain
    };
    let (right, left) = (tail(LatchSide::Right), tail(LatchSide::Left));
    if s.frame.cross > 0.0 {
        let inner = corner(l.a, l.rail_back, s.frame.inner_corner, "frame.inner_corner");
        let half = |mut chain: Vec<Corner>| {
            chain.push(inner);
            chain
        };
        let window = both_halves(&half(right), &half(left));
        loops.push((window, "the window behind the ribs".to_owned()));
        let outer = corner(l.b, l.rail_back - s.frame.cross, s.frame.corner, "frame.corner");
        let mut chain = vec![outer];
        chain.extend(head);
        loops.push((both_halves(&chain, &chain), "the outer border".to_owned()));
    } else {
        let ends = [
            corner(l.a, l.rail_back, rails, "frame.rail"),
            corner(l.b, l.rail_back, rails, "frame.rail"),
        ];
        let half = |tail: Vec<Corner>| {
            let mut chain = tail;
            chain.extend(ends);
            chain.extend(head.clone());
            chain
        };
        let border = both_halves(&half(right), &half(left));
        loops.push((border, "the border".to_owned()));
    }
    rounded(&loops)
}

/// The pull's block on the right side of the carriage between two ribs, from front to back.
fn block_side(s: &RibSpring, l: &Layout, [front, back]: [f64; 2]) -> Vec<Corner> {
    let (Some(pull), Some(block)) = (&s.pull, l.block) else { return Vec::new() };
    let half = 0.5 * pull.width;
    let (front, back) = (max(front, back), min(front, back));
    let inside = block[0] < front && block[1] > back;
    if !inside || half <= l.c {
        return Vec::new();
    }
    let round = block_corner(s, pull);
    vec![
        corner(l.c, block[0], s.fillet, "fillet"),
        corner(half, block[0], round, "pull.height"),
        corner(half, block[1], round, "pull.height"),
        corner(l.c, block[1], s.fillet, "fillet"),
    ]
}

/// Radius of the block's outer corners: what the fillet beside the carriage leaves.
fn block_corner(s: &RibSpring, pull: &Pull) -> f64 {
    let beside = 0.5 * (pull.width - s.carriage.width);
    let left = if beside > s.fillet { 0.9 * (beside - s.fillet) } else { 0.5 * pull.width };
    min(2.0, min(0.25 * pull.height, left))
}

/// The right side of the carriage from the first rib to the axis of its nose.
fn nose(s: &RibSpring, l: &Layout) -> Vec<Corner> {
    let front = l.ends[0];
    let Some(head) = &s.carriage.head else {
        return vec![corner(l.c, front, s.carriage.corner, "carriage.corner")];
    };
    let half = 0.5 * head.width;
    let round = min(1.2, 0.27 * head.height);
    let mut chain = Vec::new();
    if half > l.c {
        let neck = min(1.0, min(half - l.c, s.fillet));
        chain.push(corner(l.c, front - head.height, neck, "carriage.nose"));
        chain.push(corner(half, front - head.height, round, "carriage.head.height"));
    }
    let rim = half - 0.5 * head.cup_width;
    chain.push(corner(half, front, min(round, 0.5 * rim), "carriage.head.cup_width"));
    if head.cup_radius > 0.0 {
        let bottom = Point::new(0.0, front - head.cup_depth());
        let lip = corner(0.5 * head.cup_width, front, 0.0, "carriage.head.cup_width");
        chain.push(lip.through(bottom));
    }
    chain
}

/// The right side of the carriage from the last rib to the axis of its tail, with the latch if it is on
/// `side` (mirrored for the left one).
fn tail(s: &RibSpring, l: &Layout, side: LatchSide) -> Vec<Corner> {
    let end = l.ends[1];
    let mut chain = Vec::new();
    let last = l.roots[l.roots.len() - 1] + l.rise;
    let at_end = l.block.filter(|b| b[1] - end <= 1e-9);
    match (&s.pull, at_end) {
        (Some(pull), Some(block)) if 0.5 * pull.width > l.c => {
            let (half, round) = (0.5 * pull.width, block_corner(s, pull));
            chain.push(corner(l.c, block[0], s.fillet, "fillet"));
            chain.push(corner(half, block[0], round, "pull.height"));
            chain.push(corner(half, end, round, "pull.height"));
            return chain;
        }
        _ => chain.extend(block_side(s, l, [last, end])),
    }
    if let Some(latch) = s.latch.as_ref().filter(|l| l.side == LatchSide::Both || l.side == side) {
        let bears = end + latch.behind;
        let inner = l.c - latch.depth;
        let (root, lip) = (0.4 * latch.depth, 0.2 * latch.depth);
        let slant = min(0.25 * latch.depth, 0.25 * latch.length);
        chain.push(corner(l.c, bears + latch.length, lip, "latch.length"));
        chain.push(corner(inner, bears + latch.length - slant, root, "latch.length"));
        chain.push(corner(inner, bears, root, "latch.length"));
        chain.push(corner(l.c, bears, lip, "latch.length"));
    }
    chain.push(corner(l.c, end, s.carriage.corner, "carriage.corner"));
    chain
}

pub(super) fn regions(s: &RibSpring, l: &Layout) -> Vec<Region> {
    let [front, back] = l.clamp;
    // Between the ribs all of the rail is clamped; beside a root its outer half, so that the root can give way.
    let reach = l.half_root + s.fillet;
    let beside_root = l.roots.iter().any(|y| y + reach > back && y - reach < front);
    let inner = if beside_root { 0.5 * (l.a + l.b) } else { l.a - BEYOND };
    let outer = l.b + BEYOND;
    let grip = match (&s.pull, l.block) {
        (Some(pull), Some([front, back])) => {
            let aside = max(0.5 * pull.width - block_corner(s, pull) - 0.5, 0.5 * pull.hole + 0.5);
            let aside = min(aside, 0.5 * pull.width - 0.25);
            let margin = min(GRIP_MARGIN, 0.1 * pull.height);
            Rect::new(-aside, back + margin, aside, front - margin)
        }
        _ => {
            let end = l.ends[1];
            Rect::new(
                -l.c - BEYOND,
                end - BEYOND,
                l.c + BEYOND,
                end + 0.5 * (s.carriage.tail - l.half_root - s.fillet),
            )
        }
    };
    vec![
        box_region(CLAMP_LEFT, Rect::new(-outer, back, -inner, front)),
        box_region(CLAMP_RIGHT, Rect::new(inner, back, outer, front)),
        box_region(GRIP, grip),
    ]
}
