//! Snap-through of the two-bar truss.
//!
//! P = EA/L0^3 w (w - h)(w - 2 h) for bars of Green-Lagrange strain: closed form; the classical problem is
//! R. von Mises' of 1923 (from memory). Half of the truss is one bar between two hinges. A hinge is a
//! rigid end that is free to turn about its middle; with Poisson's ratio 0 it restrains nothing else, so
//! that the solid bar is the bar of the formula exactly, and only rounding is allowed. The bar is 35 mm
//! deep: at 3 % of axial strain a slenderer one would buckle first (Euler: pi^2/12 (b/L)^2 = 9 %).

use withy_mesh::number::largest;
use withy_solver::{Coordinate, Model, Step};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};
use withy_tests::solve::{path, plane_stress, rigid};
use withy_tests::strip::Strip;

const DEPTH: f64 = 35.0;
const E: f64 = 100.0;

/// One bar, lying along x; the truss is turned so that the bar's axis is the x axis. The apex moves by
/// `w` at right angles to the span, or finds its place under half of the dead force `load`.
fn half_truss(strip: &Strip, thickness: f64, down: [f64; 2], w: f64) -> Vec<Step> {
    let apex = [Coordinate::Driven(w * down[0]), Coordinate::Driven(w * down[1]), Coordinate::Free];
    let foot = [Coordinate::Driven(0.0), Coordinate::Driven(0.0), Coordinate::Free];
    let model = Model::new(&strip.mesh, plane_stress(E, 0.0), thickness)
        .unwrap()
        .rigid_region(rigid("apex", strip.tip(), apex))
        .unwrap()
        .rigid_region(rigid("foot", strip.root(), foot))
        .unwrap();
    path(&model, 54)
}

#[test]
fn the_two_bar_truss_snaps_along_its_closed_form() {
    let truss = &exact()["truss"];
    let (span, rise) = (number(truss, "half_span"), number(truss, "rise"));
    let thickness = number(truss, "EA") / (E * DEPTH);
    let length = span.hypot(rise);
    let strip = Strip::layered(length, DEPTH, 6, 2);
    // Seen from the bar, down is turned by the bar's slope.
    let down = [-rise / length, -span / length];
    let last = 54.0;
    let steps = half_truss(&strip, thickness, down, last);
    let force = |step: &Step| {
        let r = step.reactions[0].force;
        2.0 * (r[0] * down[0] + r[1] * down[1])
    };
    for row in rows(&truss["curve"]) {
        let w = number(row, "w");
        let step = steps.iter().find(|s| (last * s.fraction - w).abs() < 1e-9).unwrap();
        let what = format!("truss 100 x 25, w = {w}: P (N)");
        compare::relative(&what, number(row, "P"), force(step), 1e-6);
    }
    // Up to 2 h; beyond that the truss pushes back again, harder and harder.
    let snapping = &steps[..50];
    let most = largest(0.0, snapping.iter().map(force));
    let least = -largest(0.0, snapping.iter().map(|s| -force(s)));
    // The curve is flat at its top: steps of 1 mm miss it by (0.5/w)^2 times a small factor.
    compare::relative("truss 100 x 25: limit load (N)", number(truss, "P_limit"), most, 2e-3);
    compare::relative("truss 100 x 25: lowest load (N)", -number(truss, "P_limit"), least, 2e-3);
    assert!(force(&steps[53]) > 0.0, "beyond 2 h the truss pushes back again");
}
