//! Williams' toggle frame: two slender beams, clamped feet, stiff apex, a shallow dip after the limit.
//!
//! F. W. Williams, "An approach to the non-linear behaviour of the members of a rigid jointed plane
//! framework with finite deflections", QJMAM 17 (1964) 451-469 (geometry from memory); loads from Reissner's
//! beam, `reference/make.py`. Inches and pounds as in the source. The strip's ends are rigid and at right
//! angles to its axis, Poisson's ratio is 0; the solid then differs from the beam by its law's curvature
//! at 0.2 % of strain and the mesh. The load near its dip is a small difference of large thrusts
//! (600 lb at a slope of 0.03), which magnifies both: 0.5 %.

use withy_solver::{Coordinate, Model, Step, Support};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};
use withy_tests::solve::{path, plane_stress, rigid};
use withy_tests::strip::Strip;

#[test]
fn the_toggle_follows_its_beams_through_both_limit_points() {
    let (span, rise, e, breadth, depth) = (12.943_f64, 0.386, 1.03e7, 0.753, 0.243);
    let length = span.hypot(rise);
    let strip = Strip::new(length, depth, 54);
    let down = [-rise / length, -span / length];
    let motion = [0.6 * down[0], 0.6 * down[1], 0.0].map(Coordinate::Driven);
    let model = Model::new(&strip.mesh, plane_stress(e, 0.0), breadth)
        .unwrap()
        .support(Support::hold("foot", strip.root()))
        .unwrap()
        .rigid_region(rigid("apex", strip.tip(), motion))
        .unwrap();
    let steps = path(&model, 12);
    let load = |s: &Step| {
        let r = s.reactions[0].force;
        2.0 * (r[0] * down[0] + r[1] * down[1])
    };
    for row in rows(&exact()["toggle"]) {
        let w = number(row, "w");
        let step = steps.iter().find(|s| (0.6 * s.fraction - w).abs() < 1e-9).unwrap();
        compare::relative(
            &format!("toggle, w = {w} in: P (lb)"),
            number(row, "P"),
            load(step),
            5e-3,
        );
    }
    let falls = steps.windows(2).filter(|w| load(&w[1]) < load(&w[0])).count();
    assert!(falls >= 2, "the load falls between the two limit points");
    assert!(steps.iter().all(Step::is_stable), "the driven frame is stable all the way");
}
