//! Strands divided into edges as long as the size field asks for.
//!
//! The number of edges of a strand is the integral of ds/h, rounded up, and its nodes lie at equal
//! shares of that integral. The ends of every strand are nodes.

use crate::arrangement::{Arrangement, Strand};
use crate::curve::Curve;
use crate::error::MeshError;
use crate::sizing::SizeField;
use crate::tip::Tips;
use kurbo::Point;

/// No edge of an arc turns by more than this (rad), however coarse: the 6-node triangle on it
/// must be convex enough to be mapped.
const MOST_TURN: f64 = 0.8;
/// Steps of the integral are this fraction of the element size.
const STEP_PER_SIZE: f64 = 0.25;
/// A strand an inch over a whole number of edges is not worth one more.
const ROUND_UP_FROM: f64 = 0.1;

/// A straight edge of the triangulation that stands for a piece of a strand.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    /// First and second vertex.
    pub(crate) ends: [usize; 2],
    pub(crate) strand: usize,
    /// Curve parameters at the two ends.
    pub(crate) range: [f64; 2],
}

/// Vertices of all strands and the edges between them.
pub(crate) fn divide(
    arrangement: &Arrangement,
    field: &SizeField,
    tips: &Tips,
    most_elements: usize,
) -> Result<(Vec<Point>, Vec<Edge>), MeshError> {
    let mut points = arrangement.vertices.clone();
    let mut edges = Vec::new();
    for (index, strand) in arrangement.strands.iter().enumerate() {
        let Some(whole) = late_range(strand, tips.late(index)) else { continue };
        let inner = parameters(strand, whole, field, tips, most_elements)?;
        let place = |end: usize, points: &mut Vec<Point>| {
            if is_late(tips, index, end) {
                points.push(strand.curve.at(whole[end]));
                points.len() - 1
            } else {
                strand.ends[end]
            }
        };
        let mut last = (place(0, &mut points), whole[0]);
        for t in inner {
            points.push(strand.curve.at(t));
            let next = (points.len() - 1, t);
            edges.push(Edge { ends: [last.0, next.0], strand: index, range: [last.1, t] });
            last = next;
        }
        let end = place(1, &mut points);
        edges.push(Edge { ends: [last.0, end], strand: index, range: [last.1, whole[1]] });
        // Every edge of the outline belongs to an element of its own.
        if edges.len() > most_elements.saturating_mul(2) {
            let estimate = edges.len() as f64;
            return Err(MeshError::TooManyElements { estimate, limit: most_elements });
        }
    }
    Ok((points, edges))
}

fn is_late(tips: &Tips, strand: usize, end: usize) -> bool {
    tips.late(strand)[end] > 0.0
}

/// The parameters between which a strand is followed; none if it never parts from another one.
fn late_range(strand: &Strand, late: [f64; 2]) -> Option<[f64; 2]> {
    let [from, to] = strand.range;
    if !(late[0] + late[1] > 0.0) {
        return Some(strand.range);
    }
    if late[0] + late[1] >= 0.9 * strand.length() {
        return None;
    }
    let start = if late[0] > 0.0 { parameter_at(&strand.curve, from, to, late[0]) } else { from };
    let end = if late[1] > 0.0 { parameter_at(&strand.curve, to, from, late[1]) } else { to };
    (start < end).then_some([start, end])
}

/// Curve parameters of the nodes inside a strand; first edges at sharp tips have their length.
fn parameters(
    strand: &Strand,
    [mut from, mut to]: [f64; 2],
    field: &SizeField,
    tips: &Tips,
    most: usize,
) -> Result<Vec<f64>, MeshError> {
    let curve = &strand.curve;
    // A strand that begins late has left its tip.
    let reach = |end: usize, t: f64| {
        if (t - strand.range[end]).abs() > 0.0 { 0.0 } else { tips.reach(strand.ends[end]) }
    };
    let (first, last) = (reach(0, from), reach(1, to));
    let mut nodes = Vec::new();
    if first > 0.0 {
        from = parameter_at(curve, from, to, first);
        nodes.push(from);
    }
    if last > 0.0 {
        to = parameter_at(curve, to, from, last);
    }
    nodes.extend(inner_parameters(strand, [from, to], field, most)?);
    if last > 0.0 {
        nodes.push(to);
    }
    Ok(nodes)
}

/// The parameter at a distance from the start, by bisection: near a tip distances only grow.
fn parameter_at(curve: &Curve, start: f64, end: f64, distance: f64) -> f64 {
    let origin = curve.at(start);
    let (mut near, mut far) = (0.0, 1.0);
    for _ in 0..54 {
        let middle = 0.5 * (near + far);
        if curve.at(start + middle * (end - start)).distance(origin) < distance {
            near = middle;
        } else {
            far = middle;
        }
    }
    start + far * (end - start)
}

fn inner_parameters(
    strand: &Strand,
    [from, to]: [f64; 2],
    field: &SizeField,
    most: usize,
) -> Result<Vec<f64>, MeshError> {
    // Cumulated integral of ds/h at parameters.
    let mut table = vec![(from, 0.0)];
    let mut t = from;
    let mut h = field.at(strand.curve.at(from));
    while t < to {
        let speed = strand.curve.derivative(t).hypot();
        let step = STEP_PER_SIZE * h / speed;
        // A degenerate handle has no speed: never more than a sixteenth of the strand at once.
        let step = crate::number::min(step, (to - from) / 16.0);
        let next = if t + step * 1.01 >= to { to } else { t + step };
        let h_next = field.at(strand.curve.at(next));
        let way = strand.curve.at(next).distance(strand.curve.at(t));
        let (_, sum) = table[table.len() - 1];
        table.push((next, sum + 2.0 * way / (h + h_next)));
        (t, h) = (next, h_next);
        if table.len() > most.saturating_mul(16) || next.is_nan() {
            return Err(MeshError::TooManyElements { estimate: sum, limit: most });
        }
    }
    let total = table[table.len() - 1].1;
    let closed = strand.ends[0] == strand.ends[1];
    let least = crate::number::max(turn(strand) / MOST_TURN, if closed { 3.0 } else { 1.0 });
    let n = crate::number::max((total - ROUND_UP_FROM).ceil(), least.ceil());
    let mut inner = Vec::new();
    let mut row = 1;
    let mut k = 1.0;
    while k < n - 0.5 {
        let share = total * k / n;
        while row + 1 < table.len() && table[row].1 < share {
            row += 1;
        }
        let ((t0, s0), (t1, s1)) = (table[row - 1], table[row]);
        inner.push(t0 + (t1 - t0) * (share - s0) / (s1 - s0));
        k += 1.0;
    }
    Ok(inner)
}

/// How far the tangent turns along a strand (rad).
fn turn(strand: &Strand) -> f64 {
    let [from, to] = strand.range;
    match strand.curve {
        Curve::Line(..) => 0.0,
        Curve::Arc(arc) => arc.sweep.abs() * (to - from),
        Curve::Cubic(_) => {
            let tangent = |k: u32| strand.curve.tangent(from + (to - from) * f64::from(k) / 16.0);
            let between =
                |k| tangent(k).cross(tangent(k + 1)).atan2(tangent(k).dot(tangent(k + 1)));
            (0..16).map(|k| between(k).abs()).sum()
        }
    }
}
