//! Snap-through of the two-bar truss.
//!
//! P = EA/L0^3 w (w - h)(w - 2 h) for bars of Green-Lagrange strain: closed form; the classical problem is
//! R. von Mises' of 1923 (from memory). Half of the truss is one bar between two hinges. A hinge is a
//! rigid end that is free to turn about its middle; with Poisson's ratio 0 it restrains nothing else, so
//! that the solid bar is the bar of the formula exactly, and only rounding is allowed. The bar is 35 mm
//! deep: at 3 % of axial strain a slenderer one would buckle first (Euler: pi^2/12 (b/L)^2 = 9 %).

use withy_mesh::number::largest;
use withy_mesh::{Mesh, Point};
use withy_solver::{Coordinate, Model, Step};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};
use withy_tests::solve::{path, plane_stress, rigid};
use withy_tests::strip::Strip;

const DEPTH: f64 = 35.0;
const E: f64 = 100.0;

/// Half of the truss, turned so that the bar lies along x. The apex moves by `w` along `down`.
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

/// The dead force grows to so many limit loads in ten steps. With 1.25 the eighth step asks for the
/// limit load itself, where the tangent is singular; that once kept the solver busy for ever.
#[test]
fn under_a_dead_force_the_truss_snaps_at_its_limit_load() {
    for times in [1.3, 1.25] {
        snap(times);
    }
}

/// Half of the truss as it stands: the bar rises from the foot to the apex, which may only move down.
pub(crate) fn standing() -> Mesh {
    let truss = &exact()["truss"];
    let (span, rise) = (number(truss, "half_span"), number(truss, "rise"));
    withy_tests::grid::grid(6, 2, |s, t| {
        let length = span.hypot(rise);
        let (across, c, d) = ((t - 0.5) * DEPTH, span / length, rise / length);
        [s * span - across * d, s * rise + across * c]
    })
}

/// The standing truss under a dead force on its apex.
pub(crate) fn under_dead_force(mesh: &Mesh, full: f64) -> Model<'_> {
    let truss = &exact()["truss"];
    let (span, rise) = (number(truss, "half_span"), number(truss, "rise"));
    let thickness = number(truss, "EA") / (E * DEPTH);
    let end = span.hypot(rise);
    let along = |p: Point| (p.x * span + p.y * rise) / end;
    let mut apex = rigid(
        "apex",
        withy_tests::pick::nodes(mesh, |p| along(p) > end - 1e-9),
        [Coordinate::Driven(0.0), Coordinate::Free, Coordinate::Free],
    );
    apex.force = [0.0, -0.5 * full];
    let foot = [Coordinate::Driven(0.0), Coordinate::Driven(0.0), Coordinate::Free];
    Model::new(mesh, plane_stress(E, 0.0), thickness)
        .unwrap()
        .rigid_region(apex)
        .unwrap()
        .rigid_region(rigid("foot", withy_tests::pick::nodes(mesh, |p| along(p) < 1e-9), foot))
        .unwrap()
}

fn snap(times: f64) {
    let truss = &exact()["truss"];
    let (span, rise) = (number(truss, "half_span"), number(truss, "rise"));
    let limit = number(truss, "P_limit");
    let full = times * limit;
    let mesh = standing();
    let model = under_dead_force(&mesh, full);
    let steps = path(&model, 10);
    let snaps: Vec<f64> = steps.iter().flat_map(|s| s.snaps.clone()).collect();
    assert_eq!(snaps.len(), 1, "one snap: {snaps:?}");
    // The fold is located to the arc's step.
    compare::relative("truss under dead force: snap at (N)", limit, snaps[0] * full, 5e-4);
    // Below the limit the apex has sunk less than w_limit, beyond it hangs below the feet.
    let sunk = |s: &Step| -s.rigid[0][1];
    assert!(sunk(&steps[6]) < number(truss, "w_limit"), "before the limit load");
    assert!(sunk(&steps[9]) > 2.0 * rise, "beyond the limit load it hangs: {}", sunk(&steps[9]));
    // P(w) = P holds there too.
    let w = sunk(&steps[9]);
    let load = number(truss, "EA") / span.hypot(rise).powi(3) * w * (w - rise) * (w - 2.0 * rise);
    compare::relative("truss hanging: P (N)", full, load, 1e-6);
}
