//! Closed loops prepared for questions: is a point inside, and where is the nearest border point?
//!
//! Each curve is cut at its extremes in y and into short turns, so that every part is monotone in
//! y. Inside is decided by the even-odd rule: the number of parts that a ray towards +x crosses.
//! Neighbouring parts share the very same y at their joint, and a part counts from its lower end
//! (included) to its upper one (excluded): a ray through a joint is counted once or twice
//! correctly, whatever the rounding.

use crate::curve::Curve;
use crate::outline::Loop;
use crate::tree::BoxTree;
use kurbo::{ParamCurveDeriv, Point, Rect};

/// Bisection steps that shrink a parameter interval below rounding.
const BISECTIONS: u32 = 54;

#[derive(Clone, Debug)]
struct Part {
    loop_index: usize,
    curve_index: usize,
    range: [f64; 2],
    y: [f64; 2],
    ends: [Point; 2],
    curve: Curve,
}

/// The nearest point of a border.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Near {
    /// Distance from the point asked about (mm).
    pub(crate) distance: f64,
    pub(crate) at: Point,
    pub(crate) loop_index: usize,
    pub(crate) curve_index: usize,
    /// Parameter of the curve.
    pub(crate) t: f64,
}

/// The loops with their search tree.
#[derive(Clone, Debug)]
pub(crate) struct Border {
    parts: Vec<Part>,
    tree: BoxTree,
    bounds: Rect,
}

impl Border {
    /// Prepares closed loops.
    pub(crate) fn new(loops: &[Loop]) -> Self {
        let mut parts = Vec::new();
        for (loop_index, one) in loops.iter().enumerate() {
            let n = one.curves.len();
            for (curve_index, curve) in one.curves.iter().enumerate() {
                let joint = one.curves[(curve_index + 1) % n].start().y;
                let cuts = monotone_cuts(curve);
                let mut y0 = curve.start().y;
                for (k, pair) in cuts.windows(2).enumerate() {
                    let y1 = if k + 2 == cuts.len() { joint } else { curve.at(pair[1]).y };
                    let curve = curve.part(pair[0], pair[1]);
                    let range = [pair[0], pair[1]];
                    let ends = [curve.start(), curve.end()];
                    parts.push(Part { loop_index, curve_index, range, y: [y0, y1], ends, curve });
                    y0 = y1;
                }
            }
        }
        let boxes: Vec<Rect> = parts
            .iter()
            .map(|p| {
                // The shared y of a joint may lie outside the part's own box by rounding.
                let b = p.curve.bounds();
                Rect::new(
                    b.x0,
                    least(b.y0, least(p.y[0], p.y[1])),
                    b.x1,
                    most(b.y1, most(p.y[0], p.y[1])),
                )
            })
            .collect();
        let bounds = boxes
            .iter()
            .skip(1)
            .fold(boxes.first().copied().unwrap_or(Rect::ZERO), |all, one| all.union(*one));
        Self { tree: BoxTree::new(&boxes), parts, bounds }
    }

    /// The smallest upright rectangle that holds the loops (mm).
    pub(crate) fn bounds(&self) -> Rect {
        self.bounds
    }

    /// Whether a point is inside, by the even-odd rule. On the border itself either answer comes.
    pub(crate) fn contains(&self, p: Point) -> bool {
        let ray = Rect::new(p.x, p.y, f64::INFINITY, p.y);
        let mut inside = false;
        self.tree.for_each_in(&ray, |i| {
            if self.parts[i].crosses_ray(p) {
                inside = !inside;
            }
        });
        inside
    }

    /// The nearest border point closer than `within` (mm).
    pub(crate) fn nearest(&self, p: Point, within: f64) -> Option<Near> {
        let (distance, found) = self.tree.least(p, 1.0, within, |i| self.parts[i].distance(p));
        found.map(|i| {
            let part = &self.parts[i];
            let (t, _) = part.curve.nearest(p);
            Near {
                distance,
                at: part.curve.at(t),
                loop_index: part.loop_index,
                curve_index: part.curve_index,
                t: part.range[0] + t * (part.range[1] - part.range[0]),
            }
        })
    }

    /// Visits the curves (loop, curve) that have a part in the rectangle, some of them repeatedly.
    pub(crate) fn for_each_curve_in(&self, rect: &Rect, mut visit: impl FnMut(usize, usize)) {
        self.tree.for_each_in(rect, |i| visit(self.parts[i].loop_index, self.parts[i].curve_index));
    }
}

use crate::number::{max as most, min as least};

/// Distance between two points (mm).
fn away(p: Point, q: Point) -> f64 {
    (p - q).hypot2().sqrt()
}

impl Part {
    /// Distance from a point (mm). This is asked far more often than which point is nearest, and needs no angles.
    fn distance(&self, p: Point) -> f64 {
        let [start, end] = self.ends;
        match &self.curve {
            Curve::Line(..) => {
                let d = end - start;
                let t = ((p - start).dot(d) / d.hypot2()).clamp(0.0, 1.0);
                away(p, start + d * t)
            }
            Curve::Arc(arc) => {
                // Less than a half turn: between its ends is left of one radius and right of the other.
                let (d, turn) = (p - arc.center, arc.sweep.signum());
                let is_after = (start - arc.center).cross(d) * turn >= 0.0;
                if is_after && d.cross(end - arc.center) * turn >= 0.0 {
                    (d.hypot2().sqrt() - arc.radius).abs()
                } else {
                    least(away(p, start), away(p, end))
                }
            }
            Curve::Cubic(_) => self.curve.nearest(p).1,
        }
    }

    fn crosses_ray(&self, p: Point) -> bool {
        if (self.y[0] <= p.y) == (self.y[1] <= p.y) {
            return false;
        }
        let bounds = self.curve.bounds();
        if p.x < bounds.x0 || p.x > bounds.x1 {
            return p.x < bounds.x0;
        }
        if let Curve::Line(a, b) = self.curve {
            let left_of_upward = (b - a).cross(p - a) > 0.0;
            return left_of_upward == (b.y > a.y);
        }
        let rises = self.y[1] > self.y[0];
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..BISECTIONS {
            let t = 0.5 * (low + high);
            if (self.curve.at(t).y <= p.y) == rises {
                low = t;
            } else {
                high = t;
            }
        }
        p.x < self.curve.at(0.5 * (low + high)).x
    }
}

/// Parameters that cut a curve into parts monotone in y, each turning by less than 50 degrees.
fn monotone_cuts(curve: &Curve) -> Vec<f64> {
    use std::f64::consts::{FRAC_PI_4, PI};
    let mut cuts = vec![0.0, 1.0];
    match curve {
        Curve::Line(..) => {}
        Curve::Arc(arc) => {
            // Extremes of y are at odd multiples of a quarter turn.
            let turn = |t: f64| (arc.start + t * arc.sweep) / PI - 0.5;
            let (low, high) = (least(turn(0.0), turn(1.0)), most(turn(0.0), turn(1.0)));
            let mut k = low.ceil();
            while k <= high {
                cuts.push(((k + 0.5) * PI - arc.start) / arc.sweep);
                k += 1.0;
            }
            even_cuts(&mut cuts, arc.sweep.abs() / FRAC_PI_4);
        }
        Curve::Cubic(c) => {
            let d = c.deriv();
            let (a, b, c) = (d.p0.y, d.p1.y, d.p2.y);
            cuts.extend(kurbo::common::solve_quadratic(a, 2.0 * (b - a), a - 2.0 * b + c));
            even_cuts(&mut cuts, 8.0);
        }
    }
    cuts.retain(|t| (0.0..=1.0).contains(t));
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|b, a| *b - *a < 1e-12);
    if let Some(last) = cuts.last_mut() {
        *last = 1.0;
    }
    cuts
}

/// Adds the ends of `pieces` (rounded up, at most 64) equal shares of 0..=1.
fn even_cuts(cuts: &mut Vec<f64>, pieces: f64) {
    let n = (1u32..64).find(|&n| f64::from(n) >= pieces).unwrap_or(64);
    cuts.extend((1..n).map(|k| f64::from(k) / f64::from(n)));
}
