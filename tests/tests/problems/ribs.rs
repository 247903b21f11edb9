//! An inclined rib, both ends kept from turning and from moving sideways, stretched along the draw.
//!
//! Values from Reissner's beam, `reference/make.py` (L/h = 20, nu = 0.3). The solid's clamped ends restrain
//! its contraction over a length of about h/4 each, worth up to (1 - 1/(1 - nu^2)) h/(2 L), 0.3 %, and its law
//! stiffens by 3/2 of the axial strain, 0.5 to 1.5 % at these draws; both add: the allowance is 0.5 % plus
//! 1.5 times the draw, and the solid lies above.

use withy_solver::{Coordinate, Model, Support};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};
use withy_tests::solve::{path, plane_stress, rigid};
use withy_tests::strip::Strip;

#[test]
fn stretched_ribs_pull_as_beams_do_along_and_across_the_draw() {
    let strip = Strip::layered(20.0, 1.0, 80, 4);
    for degrees in [60.0, 75.0_f64] {
        let (d, c) = degrees.to_radians().sin_cos();
        let full = 0.03 * strip.length;
        let motion = [full * c, full * d, 0.0].map(Coordinate::Driven);
        let model = Model::new(&strip.mesh, plane_stress(1000.0, 0.3), 1.0)
            .unwrap()
            .support(Support::hold("root", strip.root()))
            .unwrap()
            .rigid_region(rigid("carriage", strip.tip(), motion))
            .unwrap();
        let steps = path(&model, 3);
        let of_this = |row: &&serde_json::Value| (number(row, "degrees") - degrees).abs() < 1e-9;
        let exact = exact();
        for (row, step) in rows(&exact["ribs"]).iter().filter(of_this).zip(&steps) {
            let fraction = number(row, "fraction");
            let [h, p] = step.reactions[0].force;
            let allowed = 0.005 + 1.5 * fraction;
            let what =
                |name: &str| format!("rib at {degrees} degrees, draw {fraction} L: {name} (N)");
            compare::relative(&what("along"), number(row, "along"), h * c + p * d, allowed);
            compare::relative(&what("across"), number(row, "across"), h * d - p * c, allowed);
        }
    }
}
