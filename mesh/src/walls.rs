//! How wide the walls of a part are, and the gaps between them.
//!
//! At samples of the outline a ball is fitted between a border and the opposite one (see
//! `thickness`): inside the material its diameter is the width of the wall, outside that of the
//! gap or hole. Wedges, where both borders meet in a corner, have no width of their own.

use crate::arrangement::{Strand, arrange};
use crate::curve::Curve;
use crate::outline::{Loop, Outline};
use crate::thickness::{Gauge, Side};
use kurbo::Point;
use std::f64::consts::PI;

/// The outline's size holds this many samples, and more where it is narrow.
const SAMPLES_ACROSS_PART: f64 = 200.0;
/// Samples stand closer than this part of the width.
const SPACING_PER_WIDTH: f64 = 0.25;
/// Spacings are halved this many times at most.
const HALVINGS: u32 = 18;

/// Arcs whose centres and radii agree this well (mm) lie on the same circle.
const SAME_CIRCLE_MM: f64 = 1e-6;

/// A place between two opposite borders.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Width {
    /// Halfway between the borders (mm).
    pub middle: Point,
    /// The distance between them (mm).
    pub width: f64,
}

/// Widths of the walls of a part, in the order of its outline.
#[must_use]
pub fn walls(outline: &Outline) -> Vec<Width> {
    widths(outline, Side::Left)
}

/// Widths of its gaps, notches and holes, in the order of its outline.
#[must_use]
pub fn gaps(outline: &Outline) -> Vec<Width> {
    let mut found = widths(outline, Side::Right);
    found.extend(outline.loops().iter().flat_map(round_openings));
    found
}

/// Circles that a border runs around by half a turn or more, seen from outside the material: holes and
/// the round ends of slots. A ball fills them whole, and touches no border opposite.
fn round_openings(border: &Loop) -> Vec<Width> {
    let mut circles: Vec<(Point, f64, f64)> = Vec::new();
    for curve in &border.curves {
        let Curve::Arc(arc) = curve else { continue };
        let same = |c: &&mut (Point, f64, f64)| {
            c.0.distance(arc.center) < SAME_CIRCLE_MM && (c.1 - arc.radius).abs() < SAME_CIRCLE_MM
        };
        match circles.iter_mut().find(same) {
            Some(circle) => circle.2 += arc.sweep,
            None => circles.push((arc.center, arc.radius, arc.sweep)),
        }
    }
    let open = circles.into_iter().filter(|c| c.2 < -PI + 0.1);
    open.map(|(middle, radius, _)| Width { middle, width: 2.0 * radius }).collect()
}

fn widths(outline: &Outline, side: Side) -> Vec<Width> {
    let arrangement = arrange(outline);
    let gauge = Gauge::new(outline, &arrangement);
    let longest = outline.size() / SAMPLES_ACROSS_PART;
    let mut found = Vec::new();
    let outlines = arrangement.strands.iter().enumerate().filter(|(_, s)| s.outline.is_some());
    for (index, strand) in outlines {
        let measure = |t: f64| {
            let ball =
                gauge.ball(index, strand, t, side, f64::INFINITY).filter(|b| b.tip.is_none())?;
            Some(Width { middle: ball.center, width: ball.thickness })
        };
        sample(strand, longest, &measure, &mut found);
    }
    found
}

/// Measures along a strand, closer where it is narrow.
fn sample(
    strand: &Strand,
    longest: f64,
    measure: &impl Fn(f64) -> Option<Width>,
    found: &mut Vec<Width>,
) {
    let mut stack = vec![(strand.range, 0)];
    while let Some(([t0, t1], halvings)) = stack.pop() {
        let middle = 0.5 * (t0 + t1);
        let spacing = strand.curve.derivative(middle).hypot() * (t1 - t0);
        let here = measure(middle);
        let wanted =
            here.map_or(longest, |w| crate::number::min(longest, SPACING_PER_WIDTH * w.width));
        if spacing > wanted && halvings < HALVINGS {
            stack.push(([middle, t1], halvings + 1));
            stack.push(([t0, middle], halvings + 1));
        } else {
            found.extend(here);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Arc;
    use std::f64::consts::TAU;

    fn polygon(p: &[(f64, f64)]) -> Loop {
        let at = |i: usize| Point::from(p[i % p.len()]);
        let curves = (0..p.len()).map(|i| Curve::Line(at(i), at(i + 1))).collect();
        Loop { curves, origin: "test".into() }
    }

    fn narrowest(widths: &[Width]) -> Width {
        *widths.iter().min_by(|a, b| a.width.total_cmp(&b.width)).unwrap()
    }

    #[test]
    fn a_comb_has_the_walls_and_gaps_that_were_drawn() {
        // Three teeth of 1.2 mm on a back of 3 mm; gaps of 0.5 and 0.8 mm.
        let comb = polygon(&[
            (0.0, 0.0),
            (4.9, 0.0),
            (4.9, 15.0),
            (3.7, 15.0),
            (3.7, 3.0),
            (2.9, 3.0),
            (2.9, 15.0),
            (1.7, 15.0),
            (1.7, 3.0),
            (1.2, 3.0),
            (1.2, 15.0),
            (0.0, 15.0),
        ]);
        let outline = Outline::new(vec![comb], Vec::new()).unwrap();
        let wall = narrowest(&walls(&outline));
        assert!((wall.width - 1.2).abs() < 2e-3, "{wall:?}");
        let gap = narrowest(&gaps(&outline));
        assert!((gap.width - 0.5).abs() < 1e-3 && (gap.middle.x - 1.45).abs() < 1e-2, "{gap:?}");
    }

    #[test]
    fn a_hole_near_an_edge_leaves_a_wall_and_is_a_gap_of_its_own() {
        let plate = polygon(&[(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)]);
        let circle = Arc { center: Point::new(12.0, 3.0), radius: 2.2, start: 0.0, sweep: -TAU };
        let hole = Loop { curves: vec![Curve::Arc(circle)], origin: "hole".into() };
        let outline = Outline::new(vec![plate, hole], Vec::new()).unwrap();
        let wall = narrowest(&walls(&outline));
        assert!((wall.width - 0.8).abs() < 0.01 && (wall.middle.x - 12.0).abs() < 0.2, "{wall:?}");
        let gap = narrowest(&gaps(&outline));
        assert!((gap.width - 4.4).abs() < 0.01, "{gap:?}");
    }
}
