//! An element's edge as the parabola that it is: where it is, how near another one comes, whether
//! the two cross.
//!
//! x(s) = (1 - s)(1 - 2 s) a + 4 s (1 - s) m + s (2 s - 1) b for s from 0 to 1, m the mid-side node.
//! A chord over a part h of s strays from it by at most h^2/2 |a - 2 m + b|.

use withy_mesh::number::{max, min};
use withy_mesh::{Point, Rect, Vec2};

/// The first guess at the nearest points comes from chords that stray by this part of the edge.
const GUESS: f64 = 1e-2;
/// Chords that decide about a crossing stray by at most this part of the edge.
const CROSSING: f64 = 1e-4;
/// No edge of an element bends so much that it needs more chords.
const MOST_CHORDS: u32 = 32;
/// Newton steps on the nearest points: four or five are usual.
const MOST_STEPS: usize = 30;

/// A quadratic edge.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Parabola {
    a: Vec2,
    m: Vec2,
    b: Vec2,
}

/// The nearest points of two edges, by their parameters.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nearest {
    pub(crate) distance: f64,
    pub(crate) s: f64,
    pub(crate) t: f64,
}

impl Parabola {
    pub(crate) fn new([a, m, b]: [Point; 3]) -> Self {
        Self { a: a.to_vec2(), m: m.to_vec2(), b: b.to_vec2() }
    }

    pub(crate) fn at(&self, s: f64) -> Point {
        let r = 1.0 - s;
        let v = self.a * (r * (1.0 - 2.0 * s))
            + self.m * (4.0 * s * r)
            + self.b * (s * (2.0 * s - 1.0));
        v.to_point()
    }

    pub(crate) fn derivative(&self, s: f64) -> Vec2 {
        self.a * (4.0 * s - 3.0) + self.m * (4.0 - 8.0 * s) + self.b * (4.0 * s - 1.0)
    }

    pub(crate) fn second(&self) -> Vec2 {
        (self.a - self.m * 2.0 + self.b) * 4.0
    }

    pub(crate) fn chord(&self) -> Vec2 {
        self.b - self.a
    }

    /// How far the edge strays from its chord, at most.
    pub(crate) fn bulge(&self) -> f64 {
        self.second().hypot() / 8.0
    }

    /// Parameters within the edge at which it crosses the line through a place, square to a direction.
    pub(crate) fn crossings(&self, place: Point, square_to: Vec2) -> [Option<f64>; 2] {
        let constant = (self.a.to_point() - place).dot(square_to);
        let linear = self.derivative(0.0).dot(square_to);
        let quadratic = 0.5 * self.second().dot(square_to);
        let within = |s: f64| (s > 0.0 && s < 1.0).then_some(s);
        let root = linear * linear - 4.0 * quadratic * constant;
        if root.is_nan() || root < 0.0 {
            return [None, None];
        }
        // Without the difference of near numbers; a straight edge has one root, the other is infinite.
        let sum = -0.5 * (linear + root.sqrt().copysign(linear));
        [within(constant / sum), within(sum / quadratic)]
    }

    /// End points and the Bezier control point: the edge lies in their hull.
    pub(crate) fn hull(&self) -> [Point; 3] {
        let control = self.m * 2.0 - (self.a + self.b) * 0.5;
        [self.a.to_point(), control.to_point(), self.b.to_point()]
    }

    pub(crate) fn bounds(&self) -> Rect {
        let [a, c, b] = self.hull();
        Rect::from_points(a, b).union_pt(c)
    }

    fn chords(&self, tolerance: f64) -> u32 {
        let wanted = (self.bulge() / (tolerance * self.chord().hypot())).sqrt().ceil();
        (1..MOST_CHORDS).find(|n| f64::from(*n) >= wanted).unwrap_or(MOST_CHORDS)
    }

    /// The nearest points of two edges; `None` where their chords tell that none are nearer than `within`.
    pub(crate) fn nearest(&self, other: &Self, within: f64) -> Option<Nearest> {
        let (n, k) = (self.chords(GUESS), other.chords(GUESS));
        let stray = |edge: &Self, n: u32| edge.bulge() / f64::from(n * n);
        let strays = stray(self, n) + stray(other, k);
        let mut best = Nearest { distance: f64::INFINITY, s: 0.0, t: 0.0 };
        let mut least = f64::INFINITY;
        for i in 0..n {
            let s = [i, i + 1].map(|i| f64::from(i) / f64::from(n));
            let p = s.map(|s| self.at(s));
            for j in 0..k {
                let t = [j, j + 1].map(|j| f64::from(j) / f64::from(k));
                let q = t.map(|t| other.at(t));
                let (u, v) = between_chords(p, q);
                least = min(least, apart(p[0].lerp(p[1], u), q[0].lerp(q[1], v)) - strays);
                let (s, t) = (s[0] + u * (s[1] - s[0]), t[0] + v * (t[1] - t[0]));
                let distance = apart(self.at(s), other.at(t));
                if distance < best.distance {
                    best = Nearest { distance, s, t };
                }
            }
        }
        (least < within).then(|| self.polished(other, best))
    }

    /// Newton's method on half the squared distance, within both edges.
    fn polished(&self, other: &Self, mut best: Nearest) -> Nearest {
        for _ in 0..MOST_STEPS {
            let (s, t) = (best.s, best.t);
            let r = self.at(s) - other.at(t);
            let (p, q) = (self.derivative(s), other.derivative(t));
            let gradient = [r.dot(p), -r.dot(q)];
            let ends = |x: f64, g: f64| (x <= 0.0 && g > 0.0) || (x >= 1.0 && g < 0.0);
            let stays = [ends(s, gradient[0]), ends(t, gradient[1])];
            let slope = |g: f64, d: Vec2| g.abs() <= 1e-14 * d.hypot() * (r.hypot() + d.hypot());
            if (stays[0] || slope(gradient[0], p)) && (stays[1] || slope(gradient[1], q)) {
                break;
            }
            let full = [p.hypot2() + r.dot(self.second()), q.hypot2() - r.dot(other.second())];
            let plain = [p.hypot2(), q.hypot2()];
            let step = newton(gradient, full, -p.dot(q), stays)
                .or_else(|| newton(gradient, plain.map(|k| k * (1.0 + 1e-9)), -p.dot(q), stays));
            let Some(step) = step else { break };
            let mut scale = 1.0;
            let better = loop {
                let (s, t) =
                    ((s + scale * step[0]).clamp(0.0, 1.0), (t + scale * step[1]).clamp(0.0, 1.0));
                let distance = apart(self.at(s), other.at(t));
                if distance < best.distance {
                    break Some(Nearest { distance, s, t });
                }
                scale *= 0.5;
                if scale < 1e-3 {
                    break None;
                }
            };
            match better {
                Some(found) => best = found,
                None => break,
            }
        }
        best
    }

    /// Where two edges without a common node cross, to a ten-thousandth of their length.
    pub(crate) fn crossing(&self, other: &Self) -> Option<Point> {
        let (n, k) = (self.chords(CROSSING), other.chords(CROSSING));
        for i in 0..n {
            let p = [i, i + 1].map(|i| self.at(f64::from(i) / f64::from(n)));
            for j in 0..k {
                let q = [j, j + 1].map(|j| other.at(f64::from(j) / f64::from(k)));
                let (d, e, r) = (p[1] - p[0], q[1] - q[0], q[0] - p[0]);
                let det = d.cross(e);
                let (u, v) = (r.cross(e) / det, r.cross(d) / det);
                if (0.0..1.0).contains(&u) && (0.0..1.0).contains(&v) {
                    return Some(p[0] + d * u);
                }
            }
        }
        None
    }
}

/// Distance of two points; nothing here is near the ends of the number range, which `hypot` minds.
fn apart(a: Point, b: Point) -> f64 {
    (a - b).hypot2().sqrt()
}

/// The Newton step of two parameters, some of which stay; `None` where the curvature is not positive.
fn newton(
    gradient: [f64; 2],
    diagonal: [f64; 2],
    mixed: f64,
    stays: [bool; 2],
) -> Option<[f64; 2]> {
    let [g, h] = gradient;
    match stays {
        [true, true] => None,
        [true, false] => (diagonal[1] > 0.0).then(|| [0.0, -h / diagonal[1]]),
        [false, true] => (diagonal[0] > 0.0).then(|| [-g / diagonal[0], 0.0]),
        [false, false] => {
            let det = diagonal[0] * diagonal[1] - mixed * mixed;
            (diagonal[0] > 0.0 && det > 0.0)
                .then(|| [(mixed * h - diagonal[1] * g) / det, (mixed * g - diagonal[0] * h) / det])
        }
    }
}

/// Parameters of the nearest points of two straight pieces.
fn between_chords(p: [Point; 2], q: [Point; 2]) -> (f64, f64) {
    let (d, e, r) = (p[1] - p[0], q[1] - q[0], p[0] - q[0]);
    let (a, b, c) = (d.hypot2(), d.dot(e), e.hypot2());
    let unit = |x: f64| max(0.0, min(1.0, x));
    let det = a * c - b * b;
    // Parallel pieces: any pair will do, the ends are looked at by the clamping below.
    let s = if det > 1e-12 * a * c { unit((b * e.dot(r) - c * d.dot(r)) / det) } else { 0.5 };
    let t = unit((b * s + e.dot(r)) / c);
    let s = unit((b * t - d.dot(r)) / a);
    (s, unit((b * s + e.dot(r)) / c))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edge_crosses_a_line_where_it_lies_on_it() {
        let bent = Parabola::new([(0.0, 0.0), (1.0, 1.0), (2.0, 0.0)].map(Point::from));
        let found = bent.crossings(Point::new(9.0, 0.75), Vec2::new(0.0, 3.0));
        // y = 4 s (1 - s).
        let mut places: Vec<f64> = found.into_iter().flatten().collect();
        places.sort_by(f64::total_cmp);
        assert!((places[0] - 0.25).abs() < 1e-15 && (places[1] - 0.75).abs() < 1e-15, "{places:?}");
        let straight = Parabola::new([(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)].map(Point::from));
        assert_eq!(
            straight.crossings(Point::new(0.5, 7.0), Vec2::new(1.0, 0.0)),
            [Some(0.25), None]
        );
        assert_eq!(straight.crossings(Point::new(2.5, 0.0), Vec2::new(1.0, 0.0)), [None, None]);
        assert_eq!(bent.crossings(Point::new(0.0, 2.0), Vec2::new(0.0, 1.0)), [None, None]);
    }

    fn edge(p: [(f64, f64); 3]) -> Parabola {
        Parabola::new(p.map(Point::from))
    }

    /// y = x^2 from -1 to 1 against a point at (0, h), as a short edge: for h > 1/2 the nearest point
    /// is at x^2 = h - 1/2, at the distance sqrt(h - 1/4).
    #[test]
    fn a_point_over_a_parabola_has_its_known_distance() {
        let bowl = edge([(-1.0, 1.0), (0.0, 0.0), (1.0, 1.0)]);
        for h in [0.8, 1.0, 1.2] {
            let point = edge([(0.0, h), (0.0, h + 0.5), (0.0, h + 1.0)]);
            let found = bowl.nearest(&point, 9.0).unwrap();
            let exact = (h - 0.25_f64).sqrt();
            assert!((found.distance - exact).abs() < 1e-12, "{h}: {found:?} against {exact}");
            let x = bowl.at(found.s).x.abs();
            assert!((x - (h - 0.5_f64).sqrt()).abs() < 1e-6, "{h}: at x = {x}");
        }
    }

    /// y = x^2 against the line y = x - 1: parallel tangents at x = 1/2, distance 3/4 / sqrt(2).
    #[test]
    fn a_parabola_over_a_slanting_line_has_its_known_distance() {
        let bowl = edge([(-1.0, 1.0), (0.0, 0.0), (1.0, 1.0)]);
        let line = edge([(-1.0, -2.0), (0.5, -0.5), (2.0, 1.0)]);
        let found = bowl.nearest(&line, 9.0).unwrap();
        assert!((found.distance - 0.75 / 2f64.sqrt()).abs() < 1e-13, "{found:?}");
        assert!((found.s - 0.75).abs() < 1e-7, "x = 1/2 is s = 3/4: {found:?}");
    }

    /// y = x^2 and y = 2 - x^2 touch at nothing but cross at x = 1 and -1; moved apart they do not.
    #[test]
    fn parabolas_cross_where_they_do_and_not_just_beside() {
        let bowl = edge([(-1.2, 1.44), (0.0, 0.0), (1.2, 1.44)]);
        let dome = |top: f64| edge([(1.3, top - 1.69), (0.0, top), (-1.3, top - 1.69)]);
        let at = bowl.crossing(&dome(2.0)).unwrap();
        assert!((at.x.abs() - 1.0).abs() < 1e-3 && (at.y - 1.0).abs() < 2e-3, "{at:?}");
        assert!(bowl.crossing(&dome(-1e-3)).is_none(), "a micrometre below");
        assert!(bowl.crossing(&dome(1e-2)).is_some(), "a hundredth into it");
        let apart = bowl.nearest(&dome(-1e-3), 9.0).unwrap().distance;
        assert!((apart - 1e-3).abs() < 1e-12, "vertex to vertex: {apart}");
    }

    #[test]
    fn parallel_edges_are_as_far_apart_as_they_are() {
        let low = edge([(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)]);
        let high = edge([(5.0, 0.7), (3.0, 0.7), (1.0, 0.7)]);
        let found = low.nearest(&high, 9.0).unwrap();
        assert!((found.distance - 0.7).abs() < 1e-15, "{found:?}");
        let beside = edge([(5.0, 0.4), (4.0, 0.4), (3.0, 0.4)]);
        let found = low.nearest(&beside, 9.0).unwrap().distance;
        assert!((found - 1f64.hypot(0.4)).abs() < 1e-15, "corner to corner: {found}");
        assert!(low.nearest(&beside, 1.0).is_none(), "farther than asked for");
    }
}
