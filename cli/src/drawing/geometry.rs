//! Curves as drawings give them: elliptical arcs, transforms, ends to be moved a little.
//!
//! Every circle and ellipse is the unit circle under an affine map `A`. Where `A` is a similarity
//! (rotation, uniform scale, mirror, shift) its image is a circular arc and stays one, exactly.
//! Otherwise it becomes cubics: on the unit circle a piece of angle θ with handles
//! `4/3 tan(θ/4)` deviates by `4/27 sin⁶(θ/4) / cos²(θ/4)` (Goldapp, "Approximation of circular
//! arcs by cubic polynomials", 1991), and `A` magnifies that by at most its largest stretch.

use kurbo::{Affine, CubicBez, Point, Vec2};
use std::f64::consts::FRAC_PI_2;
use withy_mesh::{Arc, Curve};

/// Ends closer than this are the same point (mm): the contract of part files.
pub(super) const JOIN_MM: f64 = 0.01;
/// Points closer than this differ by rounding alone (mm).
pub(super) const SAME_MM: f64 = 1e-9;
/// How far cubics may stray from the ellipse that they stand for (mm).
pub(super) const ELLIPSE_MM: f64 = 1e-7;
/// No coordinate may be farther from the origin than this (mm): 10 m.
pub(super) const LARGEST_MM: f64 = 10_000.0;
/// Relative departure from a similarity below which a map keeps circles: 0.1 nm on 100 mm.
const SIMILARITY: f64 = 1e-9;

/// The image under `map` of the unit circle's arc from angle `start` over `sweep` (rad).
pub(super) fn unit_arc(map: Affine, start: f64, sweep: f64) -> Vec<Curve> {
    if let Some(arc) = as_circle(map, start, sweep) {
        return vec![Curve::Arc(arc)];
    }
    let pieces = ellipse_pieces(largest_stretch(map), sweep.abs());
    let step = sweep / f64::from(pieces);
    let handle = 4.0 / 3.0 * (step / 4.0).tan();
    (0..pieces)
        .map(|piece| {
            let (a, b) = (start + f64::from(piece) * step, start + f64::from(piece + 1) * step);
            let (p, q) = (Vec2::from_angle(a).to_point(), Vec2::from_angle(b).to_point());
            let (out, back) = (Vec2::new(-p.y, p.x) * handle, Vec2::new(-q.y, q.x) * handle);
            Curve::Cubic(map * CubicBez::new(p, p + out, q - back, q))
        })
        .collect()
}

/// A whole ellipse as four quarters (exact arcs where it is a circle), counter-clockwise before `map`.
pub(super) fn whole_ellipse(map: Affine) -> Vec<Curve> {
    (0..4).flat_map(|quarter| unit_arc(map, f64::from(quarter) * FRAC_PI_2, FRAC_PI_2)).collect()
}

fn as_circle(map: Affine, start: f64, sweep: f64) -> Option<Arc> {
    let [a, b, c, d, e, f] = map.as_coeffs();
    let (u, v) = (Vec2::new(a, b), Vec2::new(c, d));
    let size = u.hypot2() + v.hypot2();
    let similar =
        (u.hypot2() - v.hypot2()).abs() <= SIMILARITY * size && u.dot(v).abs() <= SIMILARITY * size;
    if !similar {
        return None;
    }
    let turn = map.determinant().signum();
    let radius = map.determinant().abs().sqrt();
    Some(Arc {
        center: Point::new(e, f),
        radius,
        start: u.atan2() + turn * start,
        sweep: turn * sweep,
    })
}

/// The larger singular value of a map's linear part.
pub(super) fn largest_stretch(map: Affine) -> f64 {
    let [a, b, c, d, ..] = map.as_coeffs();
    let (sum, difference) = ((a + d).hypot(b - c), (a - d).hypot(b + c));
    0.5 * (sum + difference)
}

fn ellipse_pieces(radius: f64, sweep: f64) -> u32 {
    let enough = |pieces: u32| {
        let quarter = sweep / f64::from(pieces) / 4.0;
        radius * 4.0 / 27.0 * quarter.sin().powi(6) / quarter.cos().powi(2) <= ELLIPSE_MM
    };
    // At the largest size allowed, 10 m, 128 pieces of a whole turn are already enough.
    (1..=128)
        .find(|pieces| sweep / f64::from(*pieces) <= FRAC_PI_2 + 1e-9 && enough(*pieces))
        .unwrap_or(128)
}

/// A curve under an affine map; an arc may become several cubics.
pub(super) fn mapped(curve: &Curve, map: Affine) -> Vec<Curve> {
    match curve {
        Curve::Line(a, b) => vec![Curve::Line(map * *a, map * *b)],
        Curve::Cubic(c) => vec![Curve::Cubic(map * *c)],
        Curve::Arc(arc) => {
            let unit = map * Affine::translate(arc.center.to_vec2()) * Affine::scale(arc.radius);
            unit_arc(unit, arc.start, arc.sweep)
        }
    }
}

/// The curve with its ends moved to `start` and `end`, which must be near them.
///
/// A cubic's handles go with its ends; an arc keeps its sweep and is turned, scaled and shifted as a
/// whole, unless its ends differ by rounding alone.
pub(super) fn with_ends(curve: &Curve, start: Point, end: Point) -> Curve {
    match curve {
        Curve::Line(..) => Curve::Line(start, end),
        Curve::Cubic(c) => {
            let (out, back) = (c.p1 - c.p0, c.p2 - c.p3);
            Curve::Cubic(CubicBez::new(start, start + out, end + back, end))
        }
        Curve::Arc(arc) => {
            let (old_start, old_end) = (curve.start(), curve.end());
            if old_start.distance(start) <= SAME_MM && old_end.distance(end) <= SAME_MM {
                return *curve;
            }
            let (old, new) = (old_end - old_start, end - start);
            if old.hypot() <= JOIN_MM || new.hypot() <= JOIN_MM {
                // All but a full turn: the chord says nothing about scale or direction.
                return Curve::Arc(Arc { center: arc.center + (start - old_start), ..*arc });
            }
            let scale = new.hypot() / old.hypot();
            let turn = new.atan2() - old.atan2();
            let spoke = Affine::rotate(turn) * ((arc.center - old_start) * scale).to_point();
            let center = start + spoke.to_vec2();
            Curve::Arc(Arc { center, radius: arc.radius * scale, start: arc.start + turn, ..*arc })
        }
    }
}

/// Whether a curve has no extent at all.
pub(super) fn is_point(curve: &Curve) -> bool {
    match curve {
        Curve::Line(a, b) => a.distance(*b) <= SAME_MM,
        Curve::Arc(arc) => arc.radius * arc.sweep.abs() <= SAME_MM,
        Curve::Cubic(c) => [c.p1, c.p2, c.p3].iter().all(|p| p.distance(c.p0) <= SAME_MM),
    }
}

/// Whether a curve is made of finite numbers no larger than [`LARGEST_MM`].
pub(super) fn is_within_limits(curve: &Curve) -> bool {
    let near = |p: Point| p.x.abs() <= LARGEST_MM && p.y.abs() <= LARGEST_MM;
    match curve {
        Curve::Line(a, b) => near(*a) && near(*b),
        Curve::Arc(arc) => {
            let angles = arc.start.is_finite() && arc.sweep.is_finite();
            near(curve.start()) && near(curve.end()) && arc.radius <= 1e3 * LARGEST_MM && angles
        }
        Curve::Cubic(c) => near(c.p0) && near(c.p1) && near(c.p2) && near(c.p3),
    }
}
