//! Fillets in re-entrant corners.
//!
//! The fillet's centre lies in the void at distance r from both curves: where the curves offset
//! to their right by r meet, `A(s) + r n_A(s) = B(t) + r n_B(t)`. Newton's method solves this for
//! any two curves; for two lines the first guess, r / tan(void angle / 2) from the corner, is the
//! solution. The offset curve's derivative is `A'(s) (1 + r k)`, k the signed curvature.

use crate::corner::{SMOOTH_JOINT, turn_at};
use crate::curve::{Arc, Curve};
use crate::error::OutlineError;
use crate::number::max;
use crate::outline::{Loop, Outline};
use kurbo::{Point, Vec2};
use std::f64::consts::{PI, TAU};

/// Newton's method doubles the digits in each step; from a fair guess ten steps are plenty.
const NEWTON_STEPS: usize = 30;
/// Accepted error of the centre (mm).
const CENTER_MM: f64 = 1e-9;
/// Shares of the existing radius that count as the same radius.
const SAME_RADIUS: f64 = 1e-6;

/// The end of one curve, a fillet, and the start of the next.
#[derive(Clone, Copy)]
struct Fillet {
    end: f64,
    start: f64,
    arc: Arc,
}

impl Outline {
    /// The outline with every re-entrant corner rounded that is sharp or, between two lines,
    /// rounded with less than `radius` (mm).
    ///
    /// # Errors
    ///
    /// The radius is not positive, or does not fit one of the corners; nothing is rounded less
    /// than asked for.
    pub fn with_fillets(&self, radius: f64) -> Result<Self, OutlineError> {
        if !(radius > 0.0 && radius.is_finite()) {
            return Err(OutlineError::BadFillet { radius });
        }
        let loops = self.loops().iter().map(|one| round_loop(&sharpened(one, radius)?, radius));
        Self::new(loops.collect::<Result<Vec<_>, _>>()?, self.regions().to_vec())
    }
}

fn refuse(one: &Loop, at: Point, radius: f64) -> OutlineError {
    OutlineError::FilletDoesNotFit { origin: one.origin.clone(), radius, x: at.x, y: at.y }
}

/// The loop with the tight fillets between two lines turned back into sharp corners.
fn sharpened(one: &Loop, radius: f64) -> Result<Loop, OutlineError> {
    let n = one.curves.len();
    let mut curves: Vec<Option<Curve>> = one.curves.iter().copied().map(Some).collect();
    for i in 0..n {
        let (before, after) = ((i + n - 1) % n, (i + 1) % n);
        let Curve::Arc(arc) = one.curves[i] else { continue };
        let tight = arc.sweep < 0.0 && arc.radius < radius * (1.0 - SAME_RADIUS);
        let smooth =
            turn_at(one, i).abs() <= SMOOTH_JOINT && turn_at(one, after).abs() <= SMOOTH_JOINT;
        if !tight || !smooth || before == after {
            continue;
        }
        // Read the lines as they are by now: both ends of a line may have been extended.
        let (Some(Curve::Line(a, b)), Some(Curve::Line(c, d))) = (curves[before], curves[after])
        else {
            continue;
        };
        let (u, v) = (b - a, d - c);
        let s = (c - a).cross(v) / u.cross(v);
        let corner = a + u * s;
        // Parallel lines, or a turn of a half circle or more: there is no corner to go back to.
        if !(s >= 1.0 && corner.is_finite() && (corner - d).dot(v) < 0.0 && arc.sweep > -PI) {
            return Err(refuse(one, one.curves[i].at(0.5), radius));
        }
        curves[before] = Some(Curve::Line(a, corner));
        curves[after] = Some(Curve::Line(corner, d));
        curves[i] = None;
    }
    Ok(Loop { curves: curves.into_iter().flatten().collect(), origin: one.origin.clone() })
}

/// The loop with its sharp re-entrant corners rounded.
fn round_loop(one: &Loop, radius: f64) -> Result<Loop, OutlineError> {
    let sharp = |i: usize| turn_at(one, i) < -SMOOTH_JOINT;
    let radii: Vec<f64> =
        (0..one.curves.len()).map(|i| if sharp(i) { radius } else { 0.0 }).collect();
    round_corners(one, &radii).map_err(|i| refuse(one, one.curves[i].start(), radius))
}

/// The loop with each of its corners rounded by a radius of its own (mm): `radii[i]` is that of the
/// corner where curve `i` begins; 0 leaves it as it is, and so does a joint that is smooth already.
///
/// # Errors
///
/// The number of the first corner that its radius does not fit.
pub fn round_corners(one: &Loop, radii: &[f64]) -> Result<Loop, usize> {
    let n = one.curves.len();
    // The fillet at the start of each curve.
    let mut fillets: Vec<Option<Fillet>> = vec![None; n];
    for i in 0..n {
        let radius = radii.get(i).copied().unwrap_or(0.0);
        if radius == 0.0 {
            continue;
        }
        let turn = turn_at(one, i);
        if turn.abs() > SMOOTH_JOINT {
            let (a, b) = (&one.curves[(i + n - 1) % n], &one.curves[i]);
            let fillet = fillet_between(a, b, PI - turn.abs(), -turn.signum() * radius);
            fillets[i] = Some(fillet.ok_or(i)?);
        }
    }
    let mut curves = Vec::new();
    for i in 0..n {
        let from = fillets[i].map_or(0.0, |f| f.start);
        let next = fillets[(i + 1) % n];
        let to = next.map_or(1.0, |f| f.end);
        if !(from <= to) {
            return Err(if fillets[i].is_some() { i } else { (i + 1) % n });
        }
        curves.push(one.curves[i].part(from, to));
        curves.extend(next.map(|f| Curve::Arc(f.arc)));
    }
    Ok(Loop { curves, origin: one.origin.clone() })
}

fn right_normal(c: &Curve, t: f64) -> Vec2 {
    let d = c.tangent(t);
    Vec2::new(d.y, -d.x)
}

/// The fillet between the end of `a` and the start of `b`, which enclose the angle `void`; its centre
/// lies to their right where the radius is positive, to their left where it is negative.
fn fillet_between(a: &Curve, b: &Curve, void: f64, radius: f64) -> Option<Fillet> {
    let away = radius.abs() / (0.5 * max(void, 1e-3)).tan();
    let mut s = 1.0 - away / a.derivative(1.0).hypot();
    let mut t = away / b.derivative(0.0).hypot();
    // A Bezier curve ends where it ends; lines and arcs may be overshot on the way.
    let confine =
        |c: &Curve, t: f64| if matches!(c, Curve::Cubic(_)) { t.clamp(0.0, 1.0) } else { t };
    for _ in 0..NEWTON_STEPS {
        (s, t) = (confine(a, s), confine(b, t));
        let gap = (b.at(t) + right_normal(b, t) * radius) - (a.at(s) + right_normal(a, s) * radius);
        let da = a.derivative(s) * (1.0 + radius * a.curvature(s));
        let db = b.derivative(t) * (1.0 + radius * b.curvature(t));
        let determinant = da.cross(db);
        if gap.hypot() < 1e-3 * CENTER_MM || determinant == 0.0 {
            break;
        }
        s += gap.cross(db) / determinant;
        t += gap.cross(da) / determinant;
    }
    let (p, q) = (a.at(s), b.at(t));
    let center = p + right_normal(a, s) * radius;
    let error = center.distance(q + right_normal(b, t) * radius);
    let inside = (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t);
    if !(inside && error <= CENTER_MM) {
        return None;
    }
    let start = (p - center).atan2();
    let end = (q - center).atan2();
    let sweep =
        if radius > 0.0 { -((start - end).rem_euclid(TAU)) } else { (end - start).rem_euclid(TAU) };
    Some(Fillet { end: s, start: t, arc: Arc { center, radius: radius.abs(), start, sweep } })
}
