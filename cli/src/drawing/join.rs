//! Loose pieces become closed loops: ends within 0.01 mm of each other are one corner.
//!
//! Ends are gathered in a grid of cells as wide as the tolerance, so each looks at its 3 x 3
//! neighbourhood only. At every corner exactly two ends must meet; then the pieces are walked end to
//! end and their ends moved exactly onto each other.

use super::error::DrawingCause;
use super::geometry::{JOIN_MM, with_ends};
use crate::error::{Refusal, Source};
use kurbo::Point;
use std::collections::HashMap;
use std::ops::Range;
use withy_mesh::{Curve, Loop};

/// An open chain of curves.
#[derive(Debug)]
pub(super) struct Chain<'a> {
    pub(super) curves: Vec<Curve>,
    pub(super) origin: &'a str,
    pub(super) span: &'a Range<usize>,
}

impl Chain<'_> {
    /// Where end 0 (first point) or end 1 (last point) lies.
    fn end(&self, which: usize) -> Point {
        match (which, self.curves.first(), self.curves.last()) {
            (0, Some(first), _) => first.start(),
            (_, _, Some(last)) => last.end(),
            _ => Point::ZERO,
        }
    }

    fn end_curve(&self, which: usize) -> Option<&Curve> {
        if which == 0 { self.curves.first() } else { self.curves.last() }
    }
}

/// Joins chains to loops, in the order of their first pieces.
///
/// # Errors
/// An end that meets nothing; more than two ends that meet.
pub(super) fn join(mut chains: Vec<Chain>, source: &Source) -> Result<Vec<Loop>, Refusal> {
    // A crumb shorter than the tolerance would meet itself; its neighbours are joined across it.
    chains.retain(|chain| chain.curves.iter().map(Curve::length).sum::<f64>() > JOIN_MM);
    // End number 2 c + w is end w of chain c.
    let corners = corners(&chains);
    check(&chains, &corners, source)?;
    let mut partner = vec![0; 2 * chains.len()];
    for corner in &corners {
        let (a, b) = (corner[0], corner[1]);
        (partner[a], partner[b]) = (b, a);
        meet(&mut chains, a, b);
    }
    Ok(walk(&chains, &partner))
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "coordinates are at most 10 m: a million cells"
)]
fn cell_number(coordinate: f64) -> i64 {
    (coordinate / JOIN_MM).floor() as i64
}

/// Groups of ends that lie within the tolerance of each other, by chains of neighbours, as far as the
/// first group of more than two.
fn corners(chains: &[Chain]) -> Vec<Vec<usize>> {
    let ends: Vec<Point> = chains.iter().flat_map(|chain| [chain.end(0), chain.end(1)]).collect();
    let cell = |p: Point| (cell_number(p.x), cell_number(p.y));
    let mut grid: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    for (number, end) in ends.iter().enumerate() {
        grid.entry(cell(*end)).or_default().push(number);
    }
    let neighbours = |number: usize| -> Vec<usize> {
        let (cx, cy) = cell(ends[number]);
        let cells = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (cx + dx, cy + dy)));
        let near = cells.filter_map(|key| grid.get(&key)).flatten().copied();
        near.filter(|other| ends[*other].distance(ends[number]) <= JOIN_MM).collect()
    };
    let mut taken = vec![false; ends.len()];
    let mut corners = Vec::new();
    for first in 0..ends.len() {
        if std::mem::replace(&mut taken[first], true) {
            continue;
        }
        let mut corner = vec![first];
        let mut next = 0;
        // More than two ends are refused whatever their number: a star of many is not walked through.
        while next < corner.len() && corner.len() <= 2 {
            for other in neighbours(corner[next]) {
                if !std::mem::replace(&mut taken[other], true) {
                    corner.push(other);
                }
            }
            next += 1;
        }
        let is_fork = corner.len() > 2;
        corners.push(corner);
        if is_fork {
            break;
        }
    }
    corners
}

fn check(chains: &[Chain], corners: &[Vec<usize>], source: &Source) -> Result<(), Refusal> {
    let place = |end: usize| chains[end / 2].end(end % 2);
    if let Some(corner) = corners.iter().find(|corner| corner.len() > 2) {
        let chain = &chains[corner[0] / 2];
        let mut what: Vec<&str> = corner.iter().map(|end| chains[end / 2].origin).collect();
        what.dedup();
        what.truncate(4);
        let at = place(corner[0]);
        let cause = DrawingCause::Branch { what: what.join(", "), ends: corner.len(), at };
        return Err(Refusal::at(source, chain.span.clone(), cause));
    }
    let free: Vec<usize> = corners.iter().filter(|c| c.len() == 1).map(|c| c[0]).collect();
    if let Some(end) = free.first().copied() {
        let distance = |other: &usize| place(*other).distance(place(end));
        let nearest = free[1..].iter().copied().min_by(|a, b| distance(a).total_cmp(&distance(b)));
        let gap = nearest.map(|other| (place(other), distance(&other)));
        let chain = &chains[end / 2];
        let cause = DrawingCause::Open { what: chain.origin.into(), at: place(end), gap };
        return Err(Refusal::at(source, chain.span.clone(), cause));
    }
    Ok(())
}

/// Moves two ends onto one point: an arc's end if there is one, since lines follow without harm.
fn meet(chains: &mut [Chain], a: usize, b: usize) {
    let is_arc = |end: usize| matches!(chains[end / 2].end_curve(end % 2), Some(Curve::Arc(_)));
    let keep = if is_arc(b) && !is_arc(a) { b } else { a };
    let point = chains[keep / 2].end(keep % 2);
    for end in [a, b] {
        let curves = &mut chains[end / 2].curves;
        if end % 2 == 0 {
            if let Some(first) = curves.first_mut() {
                *first = with_ends(first, point, first.end());
            }
        } else if let Some(last) = curves.last_mut() {
            *last = with_ends(last, last.start(), point);
        }
    }
}

fn walk(chains: &[Chain], partner: &[usize]) -> Vec<Loop> {
    let mut used = vec![false; chains.len()];
    let mut loops = Vec::new();
    for first in 0..chains.len() {
        let mut curves = Vec::new();
        let mut entry = 2 * first;
        while !std::mem::replace(&mut used[entry / 2], true) {
            let chain = &chains[entry / 2];
            if entry % 2 == 0 {
                curves.extend_from_slice(&chain.curves);
            } else {
                curves.extend(chain.curves.iter().rev().map(Curve::reversed));
            }
            // Leave by the other end, and enter the chain that meets it there.
            entry = partner[entry ^ 1];
        }
        if !curves.is_empty() {
            loops.push(Loop { curves, origin: chains[first].origin.to_owned() });
        }
    }
    loops
}
