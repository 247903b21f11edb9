//! One rib: its axis, a line or an arc from rail to carriage, and its two edges.
//!
//! The edges are the axis, offset square to it by half the width. A rib of one width has edges parallel to its
//! axis, exactly. A taper is either straight (each half of an edge runs straight from root to middle) or
//! curved: then an edge is the arc through its points at root, middle and root, which leaves the parabola
//! w(s) = w_m + (w_r - w_m) (2 s/L - 1)^2 by less than a thousandth of the taper for any slender rib.

use super::pieces::{Corner, Edge, center_of, through};
use withy_mesh::{Curve, Point, Vec2};

/// How the width goes from the roots to the middle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Taper {
    /// In proportion to the way.
    Straight,
    /// As a parabola.
    #[default]
    Curved,
}

/// A rib from a point on the rail's face to one on the carriage's.
#[derive(Clone, Copy, Debug)]
pub(super) struct RibAxis {
    pub(super) ends: [Point; 2],
    /// Height of the axis over its chord, towards the front (mm).
    pub(super) bow: f64,
    pub(super) root: f64,
    pub(super) middle: f64,
    pub(super) taper: Taper,
}

impl RibAxis {
    /// The axis as a curve.
    fn curve(&self) -> Curve {
        let [a, b] = self.ends;
        through(a, a.midpoint(b) + self.chord_normal() * self.bow, b)
    }

    fn chord_normal(&self) -> Vec2 {
        front(self.ends[1] - self.ends[0])
    }

    /// A point of the axis, 0 at the rail and 1 at the carriage.
    pub(super) fn at(&self, t: f64) -> Point {
        self.curve().at(t)
    }

    /// The width there (mm).
    pub(super) fn width(&self, t: f64) -> f64 {
        let from_middle = (2.0 * t - 1.0).abs();
        let share = match self.taper {
            Taper::Straight => from_middle,
            Taper::Curved => from_middle * from_middle,
        };
        self.middle + (self.root - self.middle) * share
    }

    /// A point of the front edge (side +1) or the back edge (side -1).
    fn edge_at(&self, t: f64, side: f64) -> Point {
        let axis = self.curve();
        axis.at(t) + front(axis.tangent(t)) * (0.5 * side * self.width(t))
    }

    /// An edge from the rail's face to the carriage's, as corners: their radius and key are those of the
    /// root's fillet; the last corner's own edge is straight.
    pub(super) fn edge(&self, side: f64, fillet: f64, key: &'static str) -> Vec<Corner> {
        let [a, b] = self.ends;
        let corner = |at, radius, edge| Corner { at, radius, key, edge };
        let [start, q1, half, q3, end] = [0.0, 0.25, 0.5, 0.75, 1.0].map(|t| self.edge_at(t, side));
        let bent = self.taper == Taper::Straight && (self.root - self.middle).abs() > 0.0;
        if bent {
            let first = on_face([start, q1, half], a.x, start);
            let last = on_face([half, q3, end], b.x, end);
            return vec![
                corner(first, fillet, Edge::Through(q1)),
                corner(half, 0.0, Edge::Through(q3)),
                corner(last, fillet, Edge::Straight),
            ];
        }
        let first = on_face([start, half, end], a.x, start);
        let last = on_face([start, half, end], b.x, end);
        vec![corner(first, fillet, Edge::Through(half)), corner(last, fillet, Edge::Straight)]
    }
}

/// The normal of a direction that points to the front (y up).
fn front(direction: Vec2) -> Vec2 {
    let normal = Vec2::new(-direction.y, direction.x).normalize();
    if normal.y < 0.0 { -normal } else { normal }
}

/// Where the curve through three points, or its continuation, meets the face at `x` near one of them.
fn on_face([a, p, b]: [Point; 3], x: f64, near: Point) -> Point {
    match through(a, p, b) {
        Curve::Arc(_) => {
            let center = center_of(a, p, b);
            let radius = a.distance(center);
            let away = x - center.x;
            let up = (radius - away.abs()) * (radius + away.abs());
            let up = if up > 0.0 { up.sqrt() } else { 0.0 };
            let high = near.y > center.y;
            Point::new(x, if high { center.y + up } else { center.y - up })
        }
        _ => {
            let slope = (b.y - a.y) / (b.x - a.x);
            Point::new(x, near.y + slope * (x - near.x))
        }
    }
}
