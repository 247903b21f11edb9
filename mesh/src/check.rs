//! The checks that make an outline out of loops: closed, one piece, nowhere crossing or too thin.
//!
//! Crossings and thin places are looked for on chords that stay within a quarter of the thin
//! limit of their curves, pair by pair through a search tree. Chords that are neighbours along
//! their loop are close without being thin: a pair counts as thin only if the way along the loop
//! between its nearest points is long compared with their distance.

use crate::border::Border;
use crate::curve::{Arc, Curve};
use crate::error::OutlineError;
use crate::number::{largest, max, min};
use crate::outline::{Loop, THIN_FRACTION};
use crate::tree::BoxTree;
use kurbo::{Point, Rect, Vec2};

/// Gaps up to this width are shut, pieces up to this length are dropped (mm).
const SHUT_MM: f64 = 1e-6;
/// The largest part, and the smallest (mm).
const LARGEST_MM: f64 = 10_000.0;
const SMALLEST_MM: f64 = 1e-3;
/// Ways along the loop up to this many thin limits are the neighbourhood of a point: a wedge is
/// refused as a thin place only if its sides open by less than about 3 degrees.
const NEIGHBOURHOOD: f64 = 20.0;

/// One loop with its gaps shut, tiny pieces dropped and long arcs cut.
pub(crate) fn close(given: &Loop) -> Result<Loop, OutlineError> {
    let origin = &given.origin;
    let mut curves = Vec::with_capacity(given.curves.len());
    for curve in &given.curves {
        check_numbers(curve, origin)?;
        if curve.length() > SHUT_MM {
            curves.extend(short_arcs(curve));
        }
    }
    if curves.is_empty() {
        let at = given.curves.first().map_or(Point::ORIGIN, Curve::start);
        return Err(OutlineError::NoArea { origin: origin.clone(), x: at.x, y: at.y });
    }
    let n = curves.len();
    for i in 0..n {
        let (end, start) = (curves[i].end(), curves[(i + 1) % n].start());
        let gap = end.distance(start);
        // Dropped pieces may have left a gap each: twice the width is still shut.
        if !(gap <= 2.0 * SHUT_MM) {
            return Err(OutlineError::Open { origin: origin.clone(), gap, x: end.x, y: end.y });
        }
        shut(&mut curves, i, (i + 1) % n);
    }
    Ok(Loop { curves, origin: origin.clone() })
}

fn check_numbers(curve: &Curve, origin: &str) -> Result<(), OutlineError> {
    let finite = match curve {
        Curve::Line(a, b) => a.is_finite() && b.is_finite(),
        Curve::Arc(a) => a.center.is_finite() && (a.radius * a.sweep * a.start).is_finite(),
        Curve::Cubic(c) => c.is_finite(),
    };
    if !finite {
        return Err(OutlineError::NotFinite { origin: origin.to_owned() });
    }
    if let Curve::Arc(Arc { radius, sweep, .. }) = *curve {
        let whole = std::f64::consts::TAU * (1.0 + 1e-9);
        if !(radius > 0.0 && sweep.abs() <= whole) {
            return Err(OutlineError::BadArc { origin: origin.to_owned(), radius, sweep });
        }
    }
    Ok(())
}

/// An arc of more than a half circle as two or three equal ones; other curves as they are.
fn short_arcs(curve: &Curve) -> Vec<Curve> {
    let pieces = match curve {
        Curve::Arc(arc) if arc.sweep.abs() > 1.5 * std::f64::consts::PI => 3u32,
        Curve::Arc(arc) if arc.sweep.abs() > 1.01 * std::f64::consts::PI => 2,
        _ => return vec![*curve],
    };
    let t = |k: u32| f64::from(k) / f64::from(pieces);
    (0..pieces).map(|k| curve.part(t(k), t(k + 1))).collect()
}

/// Makes the end of curve `a` and the start of curve `b` the same point.
///
/// An arc's end is where its angle says; so a line or a Bezier curve follows the arc, and between
/// two arcs the second is refitted through the end of the first, keeping its turn.
fn shut(curves: &mut [Curve], a: usize, b: usize) {
    let (end, start) = (curves[a].end(), curves[b].start());
    match (curves[a], curves[b]) {
        (Curve::Arc(_), Curve::Arc(second)) => {
            if end.distance(start) > 1e-12 && a != b {
                curves[b] = Curve::Arc(refit(&second, end, curves[b].end()));
            }
        }
        (_, Curve::Arc(_)) => set_end(&mut curves[a], start),
        _ => set_start(&mut curves[b], end),
    }
}

fn set_start(curve: &mut Curve, p: Point) {
    match curve {
        Curve::Line(a, _) => *a = p,
        Curve::Cubic(c) => c.p0 = p,
        Curve::Arc(_) => {}
    }
}

fn set_end(curve: &mut Curve, p: Point) {
    match curve {
        Curve::Line(_, b) => *b = p,
        Curve::Cubic(c) => c.p3 = p,
        Curve::Arc(_) => {}
    }
}

/// The arc of the same turn from `a` to `b`.
fn refit(arc: &Arc, a: Point, b: Point) -> Arc {
    let half = 0.5 * arc.sweep;
    let chord = b - a;
    let normal = Vec2::new(-chord.y, chord.x);
    let center = a.midpoint(b) + normal * (0.5 / half.tan());
    let start = (a - center).atan2();
    Arc { center, radius: a.distance(center), start, sweep: arc.sweep }
}

/// A straight piece of a loop, for the search of crossings and thin places.
struct Chord {
    a: Point,
    b: Point,
    loop_index: usize,
    /// Way along the loop at `a` (mm).
    way: f64,
}

/// Orders and orients closed loops: the outer one first, material on the left.
pub(crate) fn arrange(loops: Vec<Loop>) -> Result<Vec<Loop>, OutlineError> {
    let bounds: Vec<Rect> = loops.iter().map(bounds_of).collect();
    let all = bounds.iter().skip(1).fold(bounds[0], |all, one| all.union(*one));
    let size = max(all.width(), all.height());
    if !(size <= LARGEST_MM) {
        return Err(OutlineError::TooLarge { size });
    }
    if !(size >= SMALLEST_MM) {
        return Err(OutlineError::TooSmall { size });
    }
    for (one, b) in loops.iter().zip(&bounds) {
        let perimeter: f64 = one.curves.iter().map(Curve::length).sum();
        if !(one.area().abs() > 1e-9 * perimeter * b.width().hypot(b.height())) {
            let at = one.curves[0].start();
            return Err(OutlineError::NoArea { origin: one.origin.clone(), x: at.x, y: at.y });
        }
    }
    check_twins(&loops, &bounds, THIN_FRACTION * size)?;
    check_distances(&loops, THIN_FRACTION * size)?;
    nest(loops, &bounds)
}

fn bounds_of(one: &Loop) -> Rect {
    let first = one.curves[0].bounds();
    one.curves.iter().skip(1).fold(first, |all, c| all.union(c.bounds()))
}

/// Refuses the same loop drawn twice; other loops that touch are found by their distance.
fn check_twins(loops: &[Loop], bounds: &[Rect], limit: f64) -> Result<(), OutlineError> {
    let mut order: Vec<usize> = (0..loops.len()).collect();
    order.sort_by(|&i, &j| bounds[i].x0.total_cmp(&bounds[j].x0));
    for (k, &i) in order.iter().enumerate() {
        for &j in order[k + 1..].iter().take_while(|&&j| bounds[j].x0 - bounds[i].x0 <= limit) {
            let (a, b) = (bounds[i], bounds[j]);
            let apart = [a.x0 - b.x0, a.y0 - b.y0, a.x1 - b.x1, a.y1 - b.y1];
            let areas = loops[i].area().abs() - loops[j].area().abs();
            let alike = areas.abs() <= limit * (a.width() + a.height());
            if largest(0.0, apart.map(f64::abs)) <= limit && alike {
                let (first, second) = (i.min(j), i.max(j));
                let at = loops[second].curves[0].start();
                return Err(OutlineError::DrawnTwice {
                    origin: loops[second].origin.clone(),
                    other: loops[first].origin.clone(),
                    x: at.x,
                    y: at.y,
                });
            }
        }
    }
    Ok(())
}

/// Chords of all loops within `sag` of the curves, and the perimeter of each loop (mm).
fn chords(loops: &[Loop], sag: f64) -> (Vec<Chord>, Vec<f64>) {
    let mut chords = Vec::new();
    let mut perimeters = Vec::new();
    for (loop_index, one) in loops.iter().enumerate() {
        let mut way = 0.0;
        for (i, curve) in one.curves.iter().enumerate() {
            let n = curve.chords(sag);
            let joint = one.curves[(i + 1) % one.curves.len()].start();
            let mut a = curve.start();
            for k in 1..=n {
                let b = if k == n { joint } else { curve.at(f64::from(k) / f64::from(n)) };
                chords.push(Chord { a, b, loop_index, way });
                way += a.distance(b);
                a = b;
            }
        }
        perimeters.push(way);
    }
    (chords, perimeters)
}

fn check_distances(loops: &[Loop], limit: f64) -> Result<(), OutlineError> {
    let (chords, perimeters) = chords(loops, 0.25 * limit);
    let boxes: Vec<Rect> = chords.iter().map(|c| Rect::from_points(c.a, c.b)).collect();
    let tree = BoxTree::new(&boxes);
    // The worst complaint wins: a crossing before a thin place, then the first along the outline.
    let mut worst: Option<(bool, OutlineError)> = None;
    for (i, one) in chords.iter().enumerate() {
        tree.for_each_in(&boxes[i].inflate(limit, limit), |j| {
            let crossing_known = worst.as_ref().is_some_and(|(crossing, _)| *crossing);
            if j > i && !crossing_known {
                let other = &chords[j];
                if let Some(found) = complaint(one, other, loops, &perimeters, limit)
                    && (worst.is_none() || found.0)
                {
                    worst = Some(found);
                }
            }
        });
        if worst.as_ref().is_some_and(|(crossing, _)| *crossing) {
            break;
        }
    }
    worst.map_or(Ok(()), |(_, error)| Err(error))
}

/// What is wrong between two chords, and whether it is a crossing.
fn complaint(
    one: &Chord,
    other: &Chord,
    loops: &[Loop],
    perimeters: &[f64],
    limit: f64,
) -> Option<(bool, OutlineError)> {
    let origin = loops[one.loop_index].origin.clone();
    let other_origin = loops[other.loop_index].origin.clone();
    let same = one.loop_index == other.loop_index;
    let (gap, at, [u, v]) = segment_distance(one.a, one.b, other.a, other.b);
    let joined = same && (one.b == other.a || other.b == one.a);
    if gap == 0.0 && !joined {
        let error = if same {
            OutlineError::CrossesItself { origin, x: at.x, y: at.y }
        } else {
            OutlineError::LoopsMeet { origin, other: other_origin, x: at.x, y: at.y }
        };
        return Some((true, error));
    }
    if joined && folds_back(one, other) {
        let at = if one.b == other.a { one.b } else { one.a };
        return Some((true, OutlineError::CrossesItself { origin, x: at.x, y: at.y }));
    }
    if gap >= limit {
        return None;
    }
    if same {
        let a = one.way + u * one.a.distance(one.b);
        let b = other.way + v * other.a.distance(other.b);
        let way = (a - b).abs();
        if min(way, perimeters[one.loop_index] - way) <= NEIGHBOURHOOD * limit {
            return None;
        }
    }
    let error = OutlineError::TooThin { origin, other: other_origin, gap, limit, x: at.x, y: at.y };
    Some((false, error))
}

/// Whether two chords that share a point run back over each other.
fn folds_back(one: &Chord, other: &Chord) -> bool {
    let (before, after) = if one.b == other.a { (one, other) } else { (other, one) };
    let (d, e) = (before.b - before.a, after.b - after.a);
    d.dot(e) < 0.0 && d.cross(e).abs() <= 1e-6 * d.hypot() * e.hypot()
}

/// Distance between two segments, the place on the first, and the parameters of both (0..=1).
fn segment_distance(a: Point, b: Point, c: Point, d: Point) -> (f64, Point, [f64; 2]) {
    let (r, s) = (b - a, d - c);
    let denominator = r.cross(s);
    if denominator != 0.0 {
        let (u, v) = ((c - a).cross(s) / denominator, (c - a).cross(r) / denominator);
        if (0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v) {
            return (0.0, a.lerp(b, u), [u, v]);
        }
    }
    let foot = |p: Point, a: Point, r: Vec2| {
        let length2 = r.hypot2();
        if length2 > 0.0 { ((p - a).dot(r) / length2).clamp(0.0, 1.0) } else { 0.0 }
    };
    let candidates =
        [(0.0, foot(a, c, s)), (1.0, foot(b, c, s)), (foot(c, a, r), 0.0), (foot(d, a, r), 1.0)];
    let mut best = (f64::INFINITY, a, [0.0; 2]);
    for (u, v) in candidates {
        let (p, q) = (a.lerp(b, u), c.lerp(d, v));
        if p.distance(q) < best.0 {
            best = (p.distance(q), p, [u, v]);
        }
    }
    best
}

/// Finds the one outer loop, refuses further pieces, and orients all loops.
fn nest(loops: Vec<Loop>, bounds: &[Rect]) -> Result<Vec<Loop>, OutlineError> {
    let borders: Vec<Border> = loops.iter().map(|l| Border::new(std::slice::from_ref(l))).collect();
    let tree = BoxTree::new(bounds);
    let mut depth = vec![0usize; loops.len()];
    for (i, one) in loops.iter().enumerate() {
        let p = one.curves[0].start();
        tree.for_each_in(&Rect::from_points(p, p), |j| {
            if i != j && borders[j].contains(p) {
                depth[i] += 1;
            }
        });
    }
    // The main piece is the largest loop that lies in no other.
    let mut main = None;
    for i in (0..loops.len()).filter(|&i| depth[i] == 0) {
        if main.is_none_or(|m: usize| loops[i].area().abs() > loops[m].area().abs()) {
            main = Some(i);
        }
    }
    let Some(main) = main else { return Err(OutlineError::Empty) };
    for (i, one) in loops.iter().enumerate() {
        if i != main && depth[i].is_multiple_of(2) {
            let at = one.curves[0].start();
            return Err(OutlineError::SeparatePiece {
                origin: one.origin.clone(),
                other: loops[main].origin.clone(),
                x: at.x,
                y: at.y,
            });
        }
    }
    let turned = |one: &Loop, left: bool| {
        if (one.area() > 0.0) == left { one.clone() } else { one.reversed() }
    };
    let openings = (0..loops.len()).filter(|&i| i != main).map(|i| turned(&loops[i], false));
    Ok(std::iter::once(turned(&loops[main], true)).chain(openings).collect())
}
