//! Where two curves meet.
//!
//! Lines and circles by their closed formulas; pairs with a Bezier curve by halving both until
//! their chords are as good as the curves, and Newton's method from there. Curves that run along
//! each other meet at the ends of the common stretch, which are ends of one of the two.

use crate::curve::{Arc, Curve};
use kurbo::{Point, Rect};

/// Pairs of sub-curves looked at before two Bezier curves count as running along each other.
const MOST_PAIRS: usize = 4000;

/// Parameters `[on a, on b]` of the places where two curves are within `tolerance` (mm).
pub(crate) fn meetings(a: &Curve, b: &Curve, tolerance: f64) -> Vec<[f64; 2]> {
    let mut found: Vec<[f64; 2]> = Vec::new();
    let mut accept = |p: Point| {
        let ((ta, da), (tb, db)) = (a.nearest(p), b.nearest(p));
        if da <= tolerance && db <= tolerance {
            found.push([ta, tb]);
        }
    };
    [a.start(), a.end(), b.start(), b.end()].into_iter().for_each(&mut accept);
    match (a, b) {
        (Curve::Line(p, q), Curve::Line(r, s)) => {
            let (d, e) = (*q - *p, *s - *r);
            let t = (*r - *p).cross(e) / d.cross(e);
            if t.is_finite() {
                accept(p.lerp(*q, t));
            }
        }
        (Curve::Line(p, q), Curve::Arc(arc)) | (Curve::Arc(arc), Curve::Line(p, q)) => {
            line_circle(*p, *q, arc).into_iter().for_each(accept);
        }
        (Curve::Arc(one), Curve::Arc(other)) => {
            circle_circle(one, other).into_iter().for_each(accept);
        }
        _ => {
            let along = |k: u32| a.nearest(b.at(f64::from(k) / 8.0)).1 <= tolerance;
            let along_back = |k: u32| b.nearest(a.at(f64::from(k) / 8.0)).1 <= tolerance;
            if !(0..=8).all(along) && !(0..=8).all(along_back) {
                halve(a, b, tolerance).into_iter().for_each(accept);
            }
        }
    }
    found
}

/// The foot of the centre plus and minus the half chord; a tangent line touches at the foot.
fn line_circle(p: Point, q: Point, arc: &Arc) -> Vec<Point> {
    let direction = (q - p).normalize();
    let foot = p + direction * (arc.center - p).dot(direction);
    let half = (arc.radius.powi(2) - foot.distance_squared(arc.center)).sqrt();
    let mut points = vec![foot];
    if half.is_finite() {
        points.extend([foot - direction * half, foot + direction * half]);
    }
    points
}

/// The radical line's two points; touching circles meet on the line of centres.
fn circle_circle(a: &Arc, b: &Arc) -> Vec<Point> {
    let d = b.center - a.center;
    let distance = d.hypot();
    if distance == 0.0 {
        return Vec::new();
    }
    let along = 0.5 * (distance + (a.radius - b.radius) * (a.radius + b.radius) / distance);
    let unit = d / distance;
    let foot = a.center + unit * along;
    let half = (a.radius.powi(2) - along.powi(2)).sqrt();
    let side = kurbo::Vec2::new(-unit.y, unit.x);
    let mut points = vec![a.center + unit * a.radius, a.center - unit * a.radius];
    if half.is_finite() {
        points.extend([foot + side * half, foot - side * half]);
    }
    points
}

/// Meeting points of two curves by recursive halving.
fn halve(a: &Curve, b: &Curve, tolerance: f64) -> Vec<Point> {
    let mut points = Vec::new();
    let mut stack = vec![([0.0, 1.0], [0.0, 1.0])];
    let mut looked_at = 0;
    while let Some((ra, rb)) = stack.pop() {
        looked_at += 1;
        if looked_at > MOST_PAIRS {
            break;
        }
        let (pa, pb) = (a.part(ra[0], ra[1]), b.part(rb[0], rb[1]));
        let (ba, bb) = (pa.bounds().inflate(tolerance, tolerance), pb.bounds());
        if !boxes_meet(&ba, &bb) {
            continue;
        }
        let (sa, sb) = (sag(&pa), sag(&pb));
        if sa <= 0.1 * tolerance && sb <= 0.1 * tolerance {
            points.extend(polish(a, b, middle(ra), middle(rb)));
            continue;
        }
        if sa > sb {
            stack.extend([([ra[0], middle(ra)], rb), ([middle(ra), ra[1]], rb)]);
        } else {
            stack.extend([(ra, [rb[0], middle(rb)]), (ra, [middle(rb), rb[1]])]);
        }
    }
    points
}

fn middle(r: [f64; 2]) -> f64 {
    0.5 * (r[0] + r[1])
}

fn boxes_meet(a: &Rect, b: &Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

/// How far a short piece strays from its chord, measured at three places (mm).
fn sag(c: &Curve) -> f64 {
    let chord = Curve::Line(c.start(), c.end());
    if c.start() == c.end() {
        return c.length();
    }
    [0.25, 0.5, 0.75]
        .into_iter()
        .fold(0.0, |most, t| crate::number::max(most, chord.nearest(c.at(t)).1))
}

/// Newton's method on a(t) = b(u) from a good start.
fn polish(a: &Curve, b: &Curve, mut t: f64, mut u: f64) -> Option<Point> {
    for _ in 0..8 {
        let gap = b.at(u) - a.at(t);
        let (da, db) = (a.derivative(t), b.derivative(u));
        let determinant = da.cross(db);
        if determinant == 0.0 {
            break;
        }
        t = (t + gap.cross(db) / determinant).clamp(0.0, 1.0);
        u = (u + gap.cross(da) / determinant).clamp(0.0, 1.0);
    }
    let p = a.at(t);
    p.is_finite().then_some(p)
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::CubicBez;
    use std::f64::consts::PI;

    fn parameters(a: &Curve, b: &Curve) -> Vec<[f64; 2]> {
        let mut found = meetings(a, b, 1e-6);
        found.sort_by(|x, y| x[0].total_cmp(&y[0]));
        found.dedup_by(|x, y| (x[0] - y[0]).abs() < 1e-6);
        found
    }

    #[test]
    fn a_line_through_a_half_circle_meets_it_twice_and_a_tangent_once() {
        let arc = Curve::Arc(Arc { center: Point::ORIGIN, radius: 5.0, start: 0.0, sweep: PI });
        let secant = Curve::Line(Point::new(-9.0, 3.0), Point::new(9.0, 3.0));
        let found = parameters(&secant, &arc);
        assert_eq!(found.len(), 2, "{found:?}");
        // 3-4-5: the chord at height 3 ends at x = -4 and 4.
        assert!((secant.at(found[0][0]).x + 4.0).abs() < 1e-12, "{found:?}");
        let tangent = Curve::Line(Point::new(-9.0, 5.0), Point::new(9.0, 5.0));
        assert_eq!(parameters(&tangent, &arc).len(), 1, "touches at the top");
    }

    #[test]
    fn collinear_lines_meet_at_the_ends_of_the_common_stretch() {
        let a = Curve::Line(Point::ORIGIN, Point::new(10.0, 0.0));
        let b = Curve::Line(Point::new(4.0, 0.0), Point::new(14.0, 0.0));
        let found = parameters(&a, &b);
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(
            (found[0][0] - 0.4).abs() < 1e-12 && (found[1][0] - 1.0).abs() < 1e-12,
            "{found:?}"
        );
    }

    #[test]
    fn a_bezier_wave_meets_its_axis_three_times() {
        let wave = Curve::Cubic(CubicBez::new((0.0, 0.0), (3.0, 6.0), (6.0, -6.0), (9.0, 0.0)));
        let axis = Curve::Line(Point::new(-1.0, 0.0), Point::new(11.0, 0.0));
        let found = parameters(&wave, &axis);
        assert_eq!(found.len(), 3, "{found:?}");
        assert!((found[1][0] - 0.5).abs() < 1e-9, "by symmetry in the middle: {found:?}");
    }
}
