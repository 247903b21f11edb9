//! Outlines from corners and arcs.

use std::f64::consts::{PI, TAU};
use withy_mesh::{Arc, Curve, Loop, Outline, Point};

/// One piece of a closed border, from where the piece before ends.
#[derive(Clone, Copy, Debug)]
pub enum Piece {
    /// Straight to a point.
    To(f64, f64),
    /// Along the shorter arc about a centre to a point.
    Around([f64; 2], [f64; 2]),
}

/// A part with one border. `start` is also where the last piece must end.
#[must_use]
pub fn outline(start: [f64; 2], pieces: &[Piece]) -> Outline {
    let mut at = Point::from((start[0], start[1]));
    let mut curves = Vec::new();
    for piece in pieces {
        let curve = match *piece {
            Piece::To(x, y) => Curve::Line(at, Point::new(x, y)),
            Piece::Around(center, end) => {
                let center = Point::from((center[0], center[1]));
                let (from, to) = (at - center, Point::from((end[0], end[1])) - center);
                let turn = (to.atan2() - from.atan2() + PI).rem_euclid(TAU) - PI;
                let (radius, start) = (from.hypot(), from.atan2());
                Curve::Arc(Arc { center, radius, start, sweep: turn })
            }
        };
        at = curve.end();
        curves.push(curve);
    }
    Outline::new(vec![Loop { curves, origin: "a test".into() }], Vec::new()).unwrap()
}
