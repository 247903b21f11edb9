//! Whether the part has passed through something between two states.
//!
//! What lies wholly beyond a pin or beyond another rib is in equilibrium there too, and no depth tells: the way
//! between the two states does. Nodes are taken to go straight; a node that goes into the material over an edge and
//! stays there, or an edge that goes over the centre of a pin, has passed through. What lies inside something on
//! the way and outside again at its end has only grazed it: shorter steps tell how hard.

use super::Shape;
use super::border::{Border, Met, parabola};
use super::meeting::DRIVEN_THROUGH;
use crate::dofs::NONE;
use crate::gap::outward;
use crate::parabola::Parabola;
use std::collections::BTreeSet;
use withy_mesh::tree::BoxTree;
use withy_mesh::{Point, Rect, Vec2};

/// Places of the way that are looked at: an edge turns little between two of them.
const LOOKS: u32 = 8;

impl Border {
    /// Whether the part is inside something on the straight way between two states that none of them touches.
    pub(crate) fn grazes(
        &self,
        before: &[[f64; 2]],
        behind: &[[f64; 2]],
        touched: &BTreeSet<Met>,
    ) -> bool {
        (1..LOOKS).any(|k| {
            let places = on_the_way(before, behind, f64::from(k) / f64::from(LOOKS));
            let met = self.meetings(&places);
            met.iter().flatten().any(|m| !touched.contains(&m.partner.met()))
        })
    }

    /// The first edge that something has passed through.
    pub(crate) fn passed(&self, before: &[[f64; 2]], behind: &[[f64; 2]]) -> Option<usize> {
        let at = |t: f64| -> Vec<Parabola> {
            let places = on_the_way(before, behind, t);
            self.edges.iter().map(|e| parabola(e, &places)).collect()
        };
        let way: Vec<Vec<Parabola>> =
            (0..=LOOKS).map(|k| at(f64::from(k) / f64::from(LOOKS))).collect();
        let pins = self.obstacles.iter().enumerate().filter_map(|(k, o)| match o.shape {
            Shape::Pin { at, .. } => Some((k, Point::from((at[0], at[1])))),
            Shape::Rail { .. } => None,
        });
        for (k, centre) in pins {
            let mut edges = (0..self.edges.len()).filter(|&e| self.surface(k, e).is_some());
            if let Some(edge) = edges.find(|&e| goes_in(&way, e, 0.0, |_| centre)) {
                return Some(edge);
            }
        }
        if self.itself { self.passed_itself(&way) } else { None }
    }

    fn passed_itself(&self, way: &[Vec<Parabola>]) -> Option<usize> {
        let swept =
            |e: usize| way.iter().map(|edges| edges[e].bounds()).reduce(|a: Rect, b| a.union(b));
        let boxes: Vec<Rect> = (0..self.edges.len()).filter_map(swept).collect();
        let tree = BoxTree::new(&boxes);
        (0..self.edges.len()).find(|&own| {
            let before = self.beside[own][0];
            let mut passed = false;
            // The first node of each edge: all nodes but those in the middle of edges.
            tree.for_each_in(&boxes[own], |other| {
                let apart = other != own
                    && other != before
                    && (self.bodies[own] == NONE || self.bodies[own] != self.bodies[other]);
                if apart && !passed {
                    let shallow = DRIVEN_THROUGH * self.lengths[other];
                    passed = goes_in(way, other, shallow, |k| way[k][own].at(0.0));
                }
            });
            passed
        })
    }
}

/// The nodes' places at a share of the straight way between two states.
fn on_the_way(before: &[[f64; 2]], behind: &[[f64; 2]], share: f64) -> Vec<[f64; 2]> {
    let mix = |(a, b): (&[f64; 2], &[f64; 2])| [0, 1].map(|i| a[i] + share * (b[i] - a[i]));
    before.iter().zip(behind).map(mix).collect()
}

/// Whether a point, given at each place of the way, goes over an edge into the material by more than `shallow`,
/// and is there still at the end.
fn goes_in(
    way: &[Vec<Parabola>],
    edge: usize,
    shallow: f64,
    point: impl Fn(usize) -> Point,
) -> bool {
    // Depth behind the chord, and where along it.
    let seen = |k: usize| -> (f64, f64) {
        let (e, p) = (&way[k][edge], point(k));
        let (from, chord): (Vec2, Vec2) = (p - e.at(0.0), e.chord());
        (-from.dot(outward(chord)) - e.bulge(), from.dot(chord) / chord.hypot2())
    };
    let last = seen(way.len() - 1);
    if !(last.0 > shallow && (-1.0..=2.0).contains(&last.1)) {
        return false;
    }
    let on = |s: f64| (0.0..=1.0).contains(&s);
    (1..way.len()).any(|k| {
        let (a, b) = (seen(k - 1), seen(k));
        // Where along the edge it is when it crosses the chord.
        let share = a.0 / (a.0 - b.0);
        a.0 <= shallow && b.0 > shallow && on(a.1 + share.clamp(0.0, 1.0) * (b.1 - a.1))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The underside of a rib that comes down, its material above: one edge, from left to right.
    fn coming_down(to: f64) -> Vec<Vec<Parabola>> {
        let at = |y: f64| vec![Parabola::new([(0.0, y), (1.0, y), (2.0, y)].map(Point::from))];
        (0..=LOOKS).map(|k| at(1.0 + (to - 1.0) * f64::from(k) / f64::from(LOOKS))).collect()
    }

    #[test]
    fn an_edge_that_goes_over_a_point_has_passed_it_and_one_beside_it_has_not() {
        let point = |x: f64| move |_: usize| Point::new(x, 0.0);
        assert!(goes_in(&coming_down(-3.0), 0, 0.01, point(1.5)), "far beyond it");
        assert!(!goes_in(&coming_down(0.5), 0, 0.01, point(1.5)), "not there yet");
        assert!(!goes_in(&coming_down(-0.005), 0, 0.01, point(1.5)), "no deeper than it presses");
        assert!(!goes_in(&coming_down(-3.0), 0, 0.01, point(2.5)), "beside it");
        let up: Vec<_> = coming_down(-3.0).into_iter().rev().collect();
        assert!(!goes_in(&up, 0, 0.01, point(1.5)), "out of it");
    }
}
