//! Cantilevers in very large deflection: dead force at the tip, and end moment.
//!
//! Dead force: K. E. Bisshopp and D. C. Drucker, "Large deflection of cantilever beams", Quart. Appl.
//! Math. 3 (1945) 272-275; K. Mattiasson, "Numerical results from large deflection beam and frame
//! problems analysed by means of elliptic integrals", IJNME 17 (1981) 145-153; values from
//! `reference/make.py`. End moment: the axis becomes an arc of curvature M/EI.
//!
//! The elastica neither stretches nor shears. A strip of L/h = 100 with Poisson's ratio 0 does: by
//! (h/L)^2 times a small factor, some 1e-4 of L; bent into a circle (L/h = 200) its surface strain of
//! 1.6 % adds 3e-4 by the law's curvature. Allowed is 5e-4; a sixth of the linear theory's error at
//! alpha = 0.25 would already fail.

use std::f64::consts::PI;
use withy_solver::{Coordinate, Model, RigidRegion, Support};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};
use withy_tests::solve::{path, plane_stress};
use withy_tests::strip::Strip;

const E: f64 = 1000.0;
/// Of the length, or rad.
const ALLOWED: f64 = 5e-4;

fn cantilever(strip: &Strip, force: [f64; 2], moment: f64) -> Model<'_> {
    let tip = RigidRegion {
        name: "tip".into(),
        nodes: strip.tip(),
        motion: [Coordinate::Free; 3],
        force,
        moment,
    };
    Model::new(&strip.mesh, plane_stress(E, 0.0), 1.0)
        .unwrap()
        .support(Support::hold("root", strip.root()))
        .unwrap()
        .rigid_region(tip)
        .unwrap()
}

#[test]
fn a_dead_force_bends_a_strip_into_the_elastica() {
    let strip = Strip::new(100.0, 1.0, 100);
    let load = 10.0 * E * strip.inertia() / (strip.length * strip.length);
    let steps = path(&cantilever(&strip, [0.0, load], 0.0), 10);
    for row in rows(&exact()["elastica"]) {
        let alpha = number(row, "alpha");
        let step = steps.iter().find(|s| (10.0 * s.fraction - alpha).abs() < 1e-9).unwrap();
        let [x, y, turn] = step.rigid[0];
        let what = |quantity: &str| format!("elastica, PL2/EI = {alpha}: {quantity}");
        compare::absolute(&what("v/L"), number(row, "v"), y / strip.length, ALLOWED);
        compare::absolute(&what("u/L"), number(row, "u"), -x / strip.length, ALLOWED);
        compare::absolute(&what("tip angle (rad)"), number(row, "angle"), turn, ALLOWED);
        let root = step.reactions.iter().find(|r| r.region == "root").unwrap();
        let moment = root.moment * strip.length / (E * strip.inertia());
        compare::relative(&what("root moment"), number(row, "root_moment"), moment.abs(), ALLOWED);
        assert!(step.is_stable(), "a cantilever under a dead force is stable");
    }
}

#[test]
fn an_end_moment_bends_a_strip_into_an_arc_and_closes_the_circle() {
    let strip = Strip::new(200.0, 1.0, 200);
    let moment = 2.0 * PI * E * strip.inertia() / strip.length;
    let steps = path(&cantilever(&strip, [0.0; 2], moment), 4);
    for (step, quarter) in steps.iter().zip([1.0, 2.0, 3.0, 4.0]) {
        let angle = 0.5 * PI * quarter;
        let [x, y, turn] = step.rigid[0];
        let what = |quantity: &str| format!("end moment, ML/EI = {quarter} pi/2: {quantity}");
        compare::absolute(&what("x/L"), angle.sin() / angle, 1.0 + x / strip.length, ALLOWED);
        compare::absolute(&what("y/L"), (1.0 - angle.cos()) / angle, y / strip.length, ALLOWED);
        compare::relative(&what("tip angle (rad)"), angle, turn, ALLOWED);
    }
}
