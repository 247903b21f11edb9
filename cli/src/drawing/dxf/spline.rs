//! Splines: B-splines, rational or not, to Bezier curves.
//!
//! Each span's Bezier points are values of the spline's polar form (Ramshaw, "Blossoms are polar
//! forms", 1989): point j of the span from a to b is the blossom of p - j times a and j times b,
//! computed by de Boor's scheme in homogeneous coordinates. Up to degree 3 without weights that is
//! exact. A rational quadratic that is a circular arc becomes that arc. Anything else is approximated
//! by cubics within 1e-6 of the drawing's unit, halved until they fit.

use super::pairs::Record;
use crate::error::Refusal;
use kurbo::{CubicBez, Point, QuadBez, Vec2};
use withy_mesh::{Arc, Curve};

/// How far cubics may stray from what they stand for (mm, for a drawing in mm).
const TOLERANCE: f64 = 1e-6;
/// A span may be halved so often: the error falls sixteenfold each time.
const MOST_HALVINGS: u32 = 14;
/// Splines of a higher degree are refused; programs draw with degree 3, rarely 5.
const HIGHEST_DEGREE: usize = 11;

/// A point times its weight, and the weight.
#[derive(Clone, Copy, Debug)]
struct Weighted {
    xy: Vec2,
    w: f64,
}

impl Weighted {
    fn between(self, other: Self, t: f64) -> Self {
        Self { xy: self.xy + t * (other.xy - self.xy), w: self.w + t * (other.w - self.w) }
    }

    fn point(self) -> Point {
        (self.xy / self.w).to_point()
    }
}

/// The curves of a `SPLINE`.
pub(super) fn curves(record: &Record) -> Result<Vec<Curve>, Refusal> {
    let (knots, control, degree) = checked(record)?;
    let mut curves = Vec::new();
    for span in degree..control.len() {
        let (a, b) = (knots[span], knots[span + 1]);
        if b <= a {
            continue;
        }
        let bezier: Vec<Weighted> = (0..=degree)
            .map(|j| {
                let arguments = (0..degree).map(|at| if at < degree - j { a } else { b });
                blossom(&knots, &control, span, degree, &arguments.collect::<Vec<_>>())
            })
            .collect();
        if !to_curves(&bezier, &mut curves) {
            return Err(record.refuse("it bends too sharply to be followed"));
        }
    }
    if curves.is_empty() { Err(record.refuse("it has no length")) } else { Ok(curves) }
}

/// Knots, weighted control points and degree, consistent with each other.
fn checked(record: &Record) -> Result<(Vec<f64>, Vec<Weighted>, usize), Refusal> {
    let degree = usize::try_from(record.integer_or(71, 3)?).unwrap_or(0);
    let (knots, weights) = (record.numbers(40)?, record.numbers(41)?);
    let (xs, ys) = (record.numbers(10)?, record.numbers(20)?);
    if xs.is_empty() && !record.numbers(11)?.is_empty() {
        return Err(
            record.refuse("it has fit points but no control points; export it with control points")
        );
    }
    if !(1..=HIGHEST_DEGREE).contains(&degree) || xs.len() != ys.len() || xs.len() <= degree {
        return Err(record.refuse("degree and control points do not fit together"));
    }
    for (code, count) in [(72, knots.len()), (73, xs.len())] {
        let stated = record.integer_or(code, 0)?;
        if stated != 0 && usize::try_from(stated) != Ok(count) {
            return Err(record
                .refuse(format!("it states {stated} knots or control points but has {count}")));
        }
    }
    if knots.len() != xs.len() + degree + 1 || knots.windows(2).any(|pair| pair[1] < pair[0]) {
        return Err(record.refuse("its knots do not fit its control points"));
    }
    if !(weights.is_empty() || weights.len() == xs.len()) || weights.iter().any(|w| *w <= 0.0) {
        return Err(record.refuse("its weights are not all above zero, one for each control point"));
    }
    let zs = record.numbers(30)?;
    if zs.iter().any(|z| (z - zs[0]).abs() > 1e-9) {
        return Err(record.refuse("its points differ in z: it does not lie in the x-y plane"));
    }
    let weight = |at: usize| weights.get(at).copied().unwrap_or(1.0);
    let control = xs.iter().zip(&ys).enumerate();
    let control =
        control.map(|(at, (x, y))| Weighted { xy: Vec2::new(*x, *y) * weight(at), w: weight(at) });
    Ok((knots, control.collect(), degree))
}

/// The polar form of the piece over `knots[span] .. knots[span + 1]` at `degree` arguments.
fn blossom(
    knots: &[f64],
    control: &[Weighted],
    span: usize,
    degree: usize,
    arguments: &[f64],
) -> Weighted {
    let first = span - degree;
    let mut d = control[first..=span].to_vec();
    for (level, argument) in (1..=degree).zip(arguments) {
        for j in (level..=degree).rev() {
            let (low, high) = (knots[first + j], knots[span + 1 + j - level]);
            d[j] = d[j - 1].between(d[j], (argument - low) / (high - low));
        }
    }
    d[degree]
}

/// Appends the curves of one rational Bezier piece; false if it cannot be followed.
fn to_curves(bezier: &[Weighted], curves: &mut Vec<Curve>) -> bool {
    let w = bezier[0].w;
    let polynomial = bezier.iter().all(|point| (point.w - w).abs() <= 1e-12 * w);
    let p: Vec<Point> = bezier.iter().map(|point| point.point()).collect();
    match p.as_slice() {
        [a, b] => curves.push(Curve::Line(*a, *b)),
        [a, b, c] if polynomial => curves.push(Curve::Cubic(QuadBez::new(*a, *b, *c).raise())),
        [a, b, c, d] if polynomial => curves.push(Curve::Cubic(CubicBez::new(*a, *b, *c, *d))),
        _ => match circular(bezier) {
            Some(arc) => curves.push(Curve::Arc(arc)),
            None => return approximate(bezier, (0.0, 1.0), MOST_HALVINGS, curves),
        },
    }
    true
}

/// A rational quadratic with equal legs is a circular arc if its normalised middle weight is the cosine
/// of half its angle, which is the angle between a leg and the chord.
fn circular(bezier: &[Weighted]) -> Option<Arc> {
    let [a, b, c] = bezier else { return None };
    let weight = b.w / (a.w * c.w).sqrt();
    let (p, q, r) = (a.point(), b.point(), c.point());
    let (out, back, chord) = (q - p, r - q, r - p);
    let size = out.hypot();
    let cosine = out.dot(chord) / (size * chord.hypot());
    let turn = out.cross(back);
    let fits = (size - back.hypot()).abs() <= 1e-9 * size && (weight - cosine).abs() <= 1e-9;
    if !fits || turn == 0.0 {
        return None;
    }
    let half = cosine.acos();
    let radius = size * cosine / half.sin();
    let left = Vec2::new(-out.y, out.x) / size * turn.signum();
    let center = p + left * radius;
    Some(Arc { center, radius, start: (p - center).atan2(), sweep: 2.0 * half * turn.signum() })
}

/// Position and derivative of a rational Bezier piece, by de Casteljau's scheme.
fn evaluate(bezier: &[Weighted], t: f64) -> (Point, Vec2) {
    let mut d = bezier.to_vec();
    while d.len() > 2 {
        d = d.windows(2).map(|pair| pair[0].between(pair[1], t)).collect();
    }
    let (degree, at) = ((bezier.len() - 1) as f64, d[0].between(d[1], t));
    let (dxy, dw) = ((d[1].xy - d[0].xy) * degree, (d[1].w - d[0].w) * degree);
    let p = at.point();
    (p, (dxy - p.to_vec2() * dw) / at.w)
}

/// Cubics with the ends and end derivatives of the piece, halved until they follow it.
fn approximate(
    bezier: &[Weighted],
    (t0, t1): (f64, f64),
    halvings: u32,
    curves: &mut Vec<Curve>,
) -> bool {
    let (p0, d0) = evaluate(bezier, t0);
    let (p3, d3) = evaluate(bezier, t1);
    let third = (t1 - t0) / 3.0;
    let cubic = CubicBez::new(p0, p0 + d0 * third, p3 - d3 * third, p3);
    let stray = |step: u32| {
        let s = f64::from(step) / 8.0;
        let (p, _) = evaluate(bezier, t0 + s * (t1 - t0));
        let q = kurbo::ParamCurve::eval(&cubic, s);
        p.distance(q)
    };
    if (1..8).map(stray).all(|distance| distance <= TOLERANCE) {
        curves.push(Curve::Cubic(cubic));
        return true;
    }
    let middle = 0.5 * (t0 + t1);
    halvings > 0
        && approximate(bezier, (t0, middle), halvings - 1, curves)
        && approximate(bezier, (middle, t1), halvings - 1, curves)
}
