//! One piece of an outline: a straight line, a circular arc or a cubic Bezier curve.
//!
//! Arcs stay arcs, so that a fillet keeps its exact radius from the drawing to the mid-side nodes
//! and to the words that describe a hot spot. Every piece is a map from t in 0..=1 to the plane,
//! measured in millimetres.

use crate::number::max;
use kurbo::{
    CubicBez, ParamCurve, ParamCurveArclen, ParamCurveArea, ParamCurveCurvature, ParamCurveDeriv,
    ParamCurveNearest, Point, Rect, Shape, Vec2,
};

/// Accuracy of arc lengths and nearest points of cubic curves (mm): far below what a nozzle draws.
const CURVE_ACCURACY_MM: f64 = 1e-9;

/// At most this many chords a curve: a full circle within 1e-5 of the part needs about a thousand.
const MOST_CHORDS: u32 = 4096;

/// A smooth piece of an outline, traversed from t = 0 to t = 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curve {
    /// The straight line from the first to the second point.
    Line(Point, Point),
    /// A circular arc.
    Arc(Arc),
    /// A cubic Bezier curve.
    Cubic(CubicBez),
}

/// A circular arc: `center + radius (cos a, sin a)` for `a = start + t sweep`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Centre of the circle (mm).
    pub center: Point,
    /// Radius, positive (mm).
    pub radius: f64,
    /// Angle of the first point, counter-clockwise from x (rad).
    pub start: f64,
    /// Signed angle from the first to the last point, positive counter-clockwise (rad).
    pub sweep: f64,
}

impl Arc {
    fn at(&self, t: f64) -> Point {
        let (sin, cos) = (self.start + t * self.sweep).sin_cos();
        self.center + Vec2::new(cos, sin) * self.radius
    }

    /// The parameter of a direction seen from the centre, nearest within 0..=1.
    fn parameter_towards(&self, direction: Vec2) -> f64 {
        use std::f64::consts::TAU;
        let turn = (direction.atan2() - self.start) * self.sweep.signum();
        let t = turn.rem_euclid(TAU) / self.sweep.abs();
        // Beyond the far end: the nearer of the two ends in angle.
        let beyond_end = t - 1.0;
        let before_start = TAU / self.sweep.abs() - t;
        if t <= 1.0 {
            t
        } else if beyond_end < before_start {
            1.0
        } else {
            0.0
        }
    }
}

impl Curve {
    /// Position at parameter `t` (mm).
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        match self {
            Self::Line(a, b) => a.lerp(*b, t),
            Self::Arc(arc) => arc.at(t),
            Self::Cubic(c) => c.eval(t),
        }
    }

    /// The first point (mm).
    #[must_use]
    pub fn start(&self) -> Point {
        self.at(0.0)
    }

    /// The last point (mm).
    #[must_use]
    pub fn end(&self) -> Point {
        self.at(1.0)
    }

    /// Derivative of the position with respect to `t` (mm).
    #[must_use]
    pub fn derivative(&self, t: f64) -> Vec2 {
        match self {
            Self::Line(a, b) => *b - *a,
            Self::Arc(arc) => {
                let (sin, cos) = (arc.start + t * arc.sweep).sin_cos();
                Vec2::new(-sin, cos) * (arc.radius * arc.sweep)
            }
            Self::Cubic(c) => c.deriv().eval(t).to_vec2(),
        }
    }

    /// Unit tangent at `t`, well defined also where a cubic's end handle has no length.
    #[must_use]
    pub fn tangent(&self, t: f64) -> Vec2 {
        let d = self.derivative(t);
        if d.hypot() > 1e-9 {
            return d.normalize();
        }
        // A degenerate handle: the chord over a small step inwards has the tangent's direction.
        let step = 1e-4;
        let (from, to) = if t > 0.5 { (t - step, t) } else { (t, t + step) };
        (self.at(to) - self.at(from)).normalize()
    }

    /// Signed curvature at `t`, positive where the curve turns left (1/mm).
    #[must_use]
    pub fn curvature(&self, t: f64) -> f64 {
        match self {
            Self::Line(..) => 0.0,
            Self::Arc(arc) => arc.sweep.signum() / arc.radius,
            Self::Cubic(c) => {
                let k = c.curvature(t);
                if k.is_finite() { k } else { 0.0 }
            }
        }
    }

    /// Arc length (mm).
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Line(a, b) => a.distance(*b),
            Self::Arc(arc) => arc.radius * arc.sweep.abs(),
            Self::Cubic(c) => c.arclen(CURVE_ACCURACY_MM),
        }
    }

    /// The parameter halfway between `t0` and `t1` by arc length.
    #[must_use]
    pub fn middle(&self, t0: f64, t1: f64) -> f64 {
        match self {
            Self::Line(..) | Self::Arc(_) => 0.5 * (t0 + t1),
            Self::Cubic(c) => {
                let part = c.subsegment(t0..t1);
                let half = 0.5 * part.arclen(CURVE_ACCURACY_MM);
                t0 + (t1 - t0) * part.inv_arclen(half, CURVE_ACCURACY_MM)
            }
        }
    }

    /// The parameter of the nearest point of the curve, and its distance (mm).
    #[must_use]
    pub fn nearest(&self, p: Point) -> (f64, f64) {
        match self {
            Self::Line(a, b) => {
                let d = *b - *a;
                let t = ((p - *a).dot(d) / d.hypot2()).clamp(0.0, 1.0);
                (t, self.at(t).distance(p))
            }
            Self::Arc(arc) => {
                let t = arc.parameter_towards(p - arc.center);
                (t, self.at(t).distance(p))
            }
            Self::Cubic(c) => {
                let near = c.nearest(p, CURVE_ACCURACY_MM);
                (near.t, near.distance_sq.sqrt())
            }
        }
    }

    /// The piece between two parameters, traversed from `t0` to `t1`.
    #[must_use]
    pub fn part(&self, t0: f64, t1: f64) -> Self {
        match self {
            Self::Line(..) => Self::Line(self.at(t0), self.at(t1)),
            Self::Arc(arc) => Self::Arc(Arc {
                start: arc.start + t0 * arc.sweep,
                sweep: (t1 - t0) * arc.sweep,
                ..*arc
            }),
            Self::Cubic(c) => Self::Cubic(c.subsegment(t0..t1)),
        }
    }

    /// How many equal shares of the parameter keep their chords within `sag` of the curve (mm).
    #[must_use]
    pub fn chords(&self, sag: f64) -> u32 {
        let needed = match self {
            Self::Line(..) => 1.0,
            // r (1 - cos(step / 2)) = sag
            Self::Arc(arc) => arc.sweep.abs() / (8.0 * sag / arc.radius).sqrt(),
            // The sag of a chord over a step dt is at most |p''| dt^2 / 8, and |p''| is at most six
            // times the larger second difference of the control points.
            Self::Cubic(c) => {
                let bend = |a: Point, b: Point, c: Point| {
                    (a.to_vec2() - 2.0 * b.to_vec2() + c.to_vec2()).hypot()
                };
                let second = 6.0 * max(bend(c.p0, c.p1, c.p2), bend(c.p1, c.p2, c.p3));
                (second / (8.0 * sag)).sqrt()
            }
        };
        (1..MOST_CHORDS).find(|&n| f64::from(n) >= needed).unwrap_or(MOST_CHORDS)
    }

    /// The same points, traversed backwards.
    #[must_use]
    pub fn reversed(&self) -> Self {
        match self {
            Self::Line(a, b) => Self::Line(*b, *a),
            Self::Arc(arc) => {
                Self::Arc(Arc { start: arc.start + arc.sweep, sweep: -arc.sweep, ..*arc })
            }
            Self::Cubic(c) => Self::Cubic(CubicBez::new(c.p3, c.p2, c.p1, c.p0)),
        }
    }

    /// The smallest upright rectangle that holds the curve (mm).
    #[must_use]
    pub fn bounds(&self) -> Rect {
        match self {
            Self::Line(a, b) => Rect::from_points(*a, *b),
            Self::Arc(arc) => {
                use std::f64::consts::{FRAC_PI_2, TAU};
                let mut bounds = Rect::from_points(arc.at(0.0), arc.at(1.0));
                for quarter in 0..4 {
                    let angle = f64::from(quarter) * FRAC_PI_2;
                    let turn = (angle - arc.start) * arc.sweep.signum();
                    let t = turn.rem_euclid(TAU) / arc.sweep.abs();
                    if t <= 1.0 {
                        bounds = bounds.union_pt(arc.at(t));
                    }
                }
                bounds
            }
            Self::Cubic(c) => c.bounding_box(),
        }
    }

    /// Twice the signed area swept by the curve seen from the origin, `∮ x dy - y dx` (mm2).
    #[must_use]
    pub fn doubled_area(&self) -> f64 {
        match self {
            Self::Line(a, b) => a.to_vec2().cross(b.to_vec2()),
            Self::Arc(arc) => {
                let chord = arc.at(1.0) - arc.at(0.0);
                arc.center.to_vec2().cross(chord) + arc.radius * arc.radius * arc.sweep
            }
            Self::Cubic(c) => 2.0 * c.signed_area(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI, TAU};

    fn quarter() -> Curve {
        Curve::Arc(Arc { center: Point::new(1.0, 2.0), radius: 3.0, start: 0.0, sweep: FRAC_PI_2 })
    }

    #[test]
    fn a_quarter_circle_has_the_quantities_of_a_circle() {
        let c = quarter();
        assert!((c.length() - 1.5 * PI).abs() < 1e-14, "length {}", c.length());
        assert!((c.curvature(0.3) - 1.0 / 3.0).abs() < 1e-15, "curvature {}", c.curvature(0.3));
        assert!(c.end().distance(Point::new(1.0, 5.0)) < 1e-14, "end {:?}", c.end());
        let back = c.reversed();
        assert!(back.start().distance(c.end()) < 1e-14, "reversal swaps the ends");
        assert!((back.curvature(0.3) + 1.0 / 3.0).abs() < 1e-15, "reversal turns the other way");
    }

    #[test]
    fn a_full_circle_encloses_its_area() {
        let c =
            Curve::Arc(Arc { center: Point::new(7.0, -2.0), radius: 2.0, start: 0.4, sweep: TAU });
        assert!((0.5 * c.doubled_area() - 4.0 * PI).abs() < 1e-12, "{}", c.doubled_area());
        let b = c.bounds();
        assert!((b.width() - 4.0).abs() < 1e-12 && (b.height() - 4.0).abs() < 1e-12, "{b:?}");
    }

    #[test]
    fn the_nearest_point_of_an_arc_is_on_its_ray_or_at_an_end() {
        let c = quarter();
        let (t, d) = c.nearest(Point::new(1.0 + 5.0 * 0.25f64.cos(), 2.0 + 5.0 * 0.25f64.sin()));
        assert!((t - 0.25 / FRAC_PI_2).abs() < 1e-12 && (d - 2.0).abs() < 1e-12, "{t} {d}");
        assert!(c.nearest(Point::new(1.0, -9.0)).0.abs() < 1e-15, "below: the first end");
        assert!((c.nearest(Point::new(-9.0, 2.1)).0 - 1.0).abs() < 1e-15, "left: the last end");
    }
}
