//! What makers have in common: borders of points with radii, mirror images, boxes, rings, pages.
//!
//! A border is a list of corners. Each has the radius that rounds it and the key of the number that
//! asked for the radius, and an edge to the next corner: straight, or the arc through a third point.
//! Three points are all that a mirror image or the way back has to move.

use super::error::{Side, Unmakeable};
use crate::drawing;
use withy_mesh::{Arc, Curve, Loop, Outline, Point, Rect, Region, Vec2, round_corners};

/// White space around a part on its page (mm).
const MARGIN_MM: f64 = 5.0;
/// Corners nearer than this are one (mm).
const SAME_MM: f64 = 1e-9;
/// An arc that leaves its chord by less than this is straight (mm).
const FLAT_MM: f64 = 1e-6;
/// Halvings of the interval in which the largest radius lies.
const HALVINGS: u32 = 24;

/// The way from a corner to the next.
#[derive(Clone, Copy, Debug)]
pub(super) enum Edge {
    Straight,
    /// The arc through this point.
    Through(Point),
}

/// A corner of a border.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    pub(super) at: Point,
    /// What rounds it; 0 leaves it sharp (mm).
    pub(super) radius: f64,
    /// The number that asked for the radius.
    pub(super) key: &'static str,
    pub(super) edge: Edge,
}

/// A corner with a straight edge after it.
pub(super) fn corner(x: f64, y: f64, radius: f64, key: &'static str) -> Corner {
    Corner { at: Point::new(x, y), radius, key, edge: Edge::Straight }
}

impl Corner {
    /// The same corner, with an arc after it.
    pub(super) fn through(self, p: Point) -> Self {
        Self { edge: Edge::Through(p), ..self }
    }

    fn moved(self, map: impl Fn(Point) -> Point) -> Self {
        let edge = match self.edge {
            Edge::Straight => Edge::Straight,
            Edge::Through(p) => Edge::Through(map(p)),
        };
        Self { at: map(self.at), edge, ..self }
    }
}

/// A chain of corners, from its far end back; `last` is the edge after what was its first corner.
pub(super) fn reversed(chain: &[Corner], last: Edge) -> Vec<Corner> {
    let n = chain.len();
    (0..n)
        .rev()
        .map(|i| Corner { edge: if i > 0 { chain[i - 1].edge } else { last }, ..chain[i] })
        .collect()
}

/// The mirror image of a chain in the y axis, in the same order.
pub(super) fn mirrored(chain: &[Corner]) -> Vec<Corner> {
    chain.iter().map(|c| c.moved(|p| Point::new(-p.x, p.y))).collect()
}

/// The border of a right half and of its mirror image; both are joined by the edge of the half's last
/// corner at its end, and by a straight one at its start.
pub(super) fn both_halves(right: &[Corner], left: &[Corner]) -> Vec<Corner> {
    let mut all = right.to_vec();
    all.extend(reversed(&mirrored(left), Edge::Straight));
    all
}

/// The curve from a point through a second to a third.
pub(super) fn through(a: Point, p: Point, b: Point) -> Curve {
    let chord = b - a;
    let height = (p - a).cross(chord) / chord.hypot();
    // A NaN is no straight line: it is refused with the outline.
    if height.abs() <= FLAT_MM {
        return Curve::Line(a, b);
    }
    let center = center_of(a, p, b);
    let radius = a.distance(center);
    let (start, end) = ((a - center).atan2(), (b - center).atan2());
    // Seen from the chord, the point on its right is on an arc that turns left.
    let sweep = if height > 0.0 {
        (end - start).rem_euclid(std::f64::consts::TAU)
    } else {
        -((start - end).rem_euclid(std::f64::consts::TAU))
    };
    Curve::Arc(Arc { center, radius, start, sweep })
}

/// The centre of the circle through three points that are not in line.
pub(super) fn center_of(a: Point, p: Point, b: Point) -> Point {
    let (u, v) = (p - a, b - a);
    let twice = 2.0 * u.cross(v);
    let (uu, vv) = (u.hypot2(), v.hypot2());
    a + Vec2::new(v.y * uu - u.y * vv, u.x * vv - v.x * uu) / twice
}

/// The sharp loop of a border, without its corners of no extent, and those that are left.
fn sharp(border: &[Corner], origin: &str) -> (Loop, Vec<Corner>) {
    let n = border.len();
    let next = |i: usize| border[(i + 1) % n].at;
    let kept: Vec<Corner> =
        (0..n).filter(|&i| border[i].at.distance(next(i)) > SAME_MM).map(|i| border[i]).collect();
    let curves = kept.iter().enumerate().map(|(i, c)| {
        let end = kept[(i + 1) % kept.len()].at;
        match c.edge {
            Edge::Straight => Curve::Line(c.at, end),
            Edge::Through(p) => through(c.at, p, end),
        }
    });
    (Loop { curves: curves.collect(), origin: origin.to_owned() }, kept)
}

/// A border and what it is called in complaints.
pub(super) type Named = (Vec<Corner>, String);

/// The rounded loops of borders.
///
/// # Errors
/// A radius that does not fit, with the largest that would fit all corners of its key.
pub(super) fn rounded(borders: &[Named]) -> Result<Vec<Loop>, Unmakeable> {
    let sharp: Vec<(Loop, Vec<Corner>)> =
        borders.iter().map(|(border, origin)| sharp(border, origin)).collect();
    let round = |(sharp, corners): &(Loop, Vec<Corner>), instead: Option<(&str, f64)>| {
        let radius = |c: &Corner| match instead {
            Some((key, radius)) if key == c.key => radius,
            _ => c.radius,
        };
        let radii: Vec<f64> = corners.iter().map(radius).collect();
        round_corners(sharp, &radii)
    };
    let mut loops = Vec::with_capacity(sharp.len());
    for one in &sharp {
        loops.push(round(one, None).map_err(|i| {
            let Corner { at, radius, key, .. } = one.1[i];
            let asking: Vec<_> =
                sharp.iter().filter(|s| s.1.iter().any(|c| c.key == key)).collect();
            let fits = |radius: f64| asking.iter().all(|s| round(s, Some((key, radius))).is_ok());
            let mut span = [0.0, radius];
            for _ in 0..HALVINGS {
                let middle = 0.5 * (span[0] + span[1]);
                span[usize::from(!fits(middle))] = middle;
            }
            let largest = (span[0] > 1e-3 * radius).then_some(span[0]);
            Unmakeable::Radius { key, radius, at: [at.x, at.y], largest }
        })?);
    }
    Ok(loops)
}

/// A box with sharp corners.
pub(super) fn box_loop(rect: Rect, origin: &str) -> Loop {
    Loop { curves: drawing::rectangle(rect), origin: origin.to_owned() }
}

/// A circle.
pub(super) fn circle_loop(center: Point, radius: f64, origin: &str) -> Loop {
    Loop { curves: drawing::circle(center, radius), origin: origin.to_owned() }
}

/// A region that is a box.
pub(super) fn box_region(name: &str, rect: Rect) -> Region {
    Region { name: name.to_owned(), loops: vec![box_loop(rect, name)] }
}

/// The checked outline, moved onto its page, and the page's size (mm).
///
/// # Errors
/// Loops that bound no part.
pub(super) fn on_page(
    loops: Vec<Loop>,
    regions: Vec<Region>,
) -> Result<(Outline, [f64; 2]), Unmakeable> {
    let mut bounds: Option<Rect> = None;
    for curve in loops.iter().flat_map(|l| &l.curves) {
        let of_curve = curve.bounds();
        bounds = Some(bounds.map_or(of_curve, |b| b.union(of_curve)));
    }
    let bounds = bounds.unwrap_or(Rect::ZERO);
    let shift = Vec2::new(MARGIN_MM - bounds.x0, MARGIN_MM - bounds.y0);
    let moved = |l: Loop| Loop {
        curves: l.curves.iter().map(|c| shifted(c, shift)).collect(),
        origin: l.origin,
    };
    let loops = loops.into_iter().map(moved).collect();
    let regions = regions
        .into_iter()
        .map(|r| Region { name: r.name, loops: r.loops.into_iter().map(moved).collect() });
    let outline = Outline::new(loops, regions.collect()).map_err(Unmakeable::Outline)?;
    let page = [bounds.width() + 2.0 * MARGIN_MM, bounds.height() + 2.0 * MARGIN_MM];
    Ok((outline, page))
}

fn shifted(curve: &Curve, by: Vec2) -> Curve {
    match *curve {
        Curve::Line(a, b) => Curve::Line(a + by, b + by),
        Curve::Arc(arc) => Curve::Arc(Arc { center: arc.center + by, ..arc }),
        Curve::Cubic(c) => Curve::Cubic(kurbo::Affine::translate(by) * c),
    }
}

/// Refuses a number outside its range.
///
/// # Errors
/// It is not `sound`.
pub(super) fn within(
    sound: bool,
    key: &'static str,
    found: String,
    range: String,
) -> Result<(), Unmakeable> {
    if sound { Ok(()) } else { Err(Unmakeable::OutOfRange { key, found, range }) }
}

/// Nothing larger than this (mm).
const LARGEST_MM: f64 = 2_000.0;

/// Refuses lengths that are none; those that are not given are skipped.
///
/// # Errors
/// The first that is not above zero (or, in the second list, below it), or larger than any bed.
pub(super) fn check_lengths(
    above_zero: &[(&'static str, Option<f64>)],
    zero_or_more: &[(&'static str, Option<f64>)],
) -> Result<(), Unmakeable> {
    let given = |list: &[(&'static str, Option<f64>)], lowest: &'static str| {
        let given = list.iter().filter_map(|(key, value)| Some((*key, (*value)?)));
        given.map(|(key, value)| (key, value, lowest)).collect::<Vec<_>>()
    };
    for (key, value, lowest) in
        given(above_zero, "above").into_iter().chain(given(zero_or_more, "not below"))
    {
        let low = if lowest == "above" { value > 0.0 } else { value >= 0.0 };
        let range = format!("{lowest} 0 mm and at most 2 m");
        within(low && value <= LARGEST_MM, key, format!("{value} mm"), range)?;
    }
    Ok(())
}

/// Refuses a width below the least, with the value of `key` that would do.
///
/// # Errors
/// It is narrower, or no number.
pub(super) fn room(
    key: &'static str,
    what: &'static str,
    found: f64,
    least: f64,
    would_do: f64,
    side: Side,
) -> Result<(), Unmakeable> {
    // What rounding leaves of a width that is just enough.
    if found >= least - 1e-9 {
        return Ok(());
    }
    Err(Unmakeable::Narrow { key, what, found, least, would_do, side })
}
