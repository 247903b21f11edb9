//! Beams whose ends keep their slope: the ribs of a spring.
//!
//! Free to shorten: two elasticas back to back (elliptic integrals). Blocked: the stretch makes the
//! force many times the 12 EI d/L^3 of beam theory. Values from `reference/make.py`; for the blocked one
//! also a two-dimensional solid of the same law, computed with an independent plane-stress code.

use withy_solver::Step;
use withy_solver::{Coordinate, Model, Support};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};
use withy_tests::solve::{path, plane_stress, rigid};
use withy_tests::strip::Strip;

const E: f64 = 1000.0;

fn guided(strip: &Strip, nu: f64, motion: [Coordinate; 3], steps: u32) -> Vec<Step> {
    let model = Model::new(&strip.mesh, plane_stress(E, nu), 1.0)
        .unwrap()
        .support(Support::hold("root", strip.root()))
        .unwrap()
        .rigid_region(rigid("guide", strip.tip(), motion))
        .unwrap();
    path(&model, steps)
}

#[test]
fn a_guided_strip_that_may_shorten_follows_its_elastica() {
    let strip = Strip::new(100.0, 1.0, 100);
    let motion = [Coordinate::Free, Coordinate::Driven(50.0), Coordinate::Driven(0.0)];
    let steps = guided(&strip, 0.0, motion, 10);
    for row in rows(&exact()["guided"]) {
        let delta = number(row, "delta");
        let step = steps.iter().find(|s| (0.5 * s.fraction - delta).abs() < 1e-9).unwrap();
        let guide = &step.reactions[0];
        let unit = E * strip.inertia() / strip.length;
        let what = |quantity: &str| format!("guided, d/L = {delta}: {quantity}");
        // Shear takes 12 EI/(k GA L^2) = 2.4 (h/L)^2 = 2.4e-4 off the stiffness at first, and more as the
        // shear force of the bent beam grows.
        let force = guide.force[1] * strip.length / unit;
        compare::relative(&what("P L2/EI"), number(row, "force"), force, 1e-3);
        let shortening = -step.rigid[0][0] / strip.length;
        compare::relative(&what("shortening/L"), number(row, "shortening"), shortening, 1e-3);
        compare::relative(
            &what("M L/EI"),
            number(row, "end_moment"),
            guide.moment.abs() / unit,
            1e-3,
        );
        compare::absolute(&what("axial force (N)"), 0.0, guide.force[0], 1e-8);
    }
}

#[test]
fn a_guided_strip_that_may_not_shorten_stiffens_as_beam_and_solid_do() {
    let strip = Strip::layered(20.0, 1.0, 80, 4);
    let motion = [0.0, 3.0, 0.0].map(Coordinate::Driven);
    let steps = guided(&strip, 0.3, motion, 6);
    // The solid's law stiffens with the axial strain (1.1 % at d = 3, by 3/2 of it) and its clamped
    // ends restrain the transverse contraction (2 (1 - nu^2) of a length of about h/4): the allowance
    // grows from 0.5 to 3 % of the beam's forces, and the solid always lies above.
    for (row, step) in rows(&exact()["blocked"]).iter().zip(&steps) {
        let draw = number(row, "draw");
        let [h, p] = step.reactions[0].force;
        for (name, got) in [("P", p), ("H", h)] {
            let what = format!("blocked, L/h = 20, d = {draw}: {name} (N), beam");
            let allowed = 0.005 + 0.01 * draw;
            compare::relative(&what, number(row, name), got, allowed);
            assert!(got > number(row, name), "{what}: the solid is stiffer");
        }
    }
    // Printed to five digits; sharp clamped corners leave a few 1e-4 to any mesh.
    for (n, p, h) in [(1, 0.21228, 1.4757), (3, 0.91762, 5.7133), (5, 2.5224, 12.480)] {
        let got = steps[n].reactions[0].force;
        let draw = f64::from(u32::try_from(n).unwrap() + 1) / 2.0;
        compare::relative(&format!("blocked, d = {draw}: P (N), solid"), p, got[1], 1e-3);
        compare::relative(&format!("blocked, d = {draw}: H (N), solid"), h, got[0], 1e-3);
    }
}
