//! Bending tests at any deflection: elliptic integrals for the cantilever, the strip on rollers integrated in
//! arc length by scipy (`reference/make.py`), and the standard's own correction of the stress.

use withy_solver::bending_test::BendingTest;
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};

#[test]
fn a_cantilever_is_that_of_elliptic_integrals() {
    for row in rows(&exact()["elastica"]) {
        let (alpha, v) = (number(row, "alpha"), number(row, "v"));
        if v > BendingTest::Cantilever.most() {
            continue;
        }
        // Simpson's rule on a smooth integrand against thirty digits.
        let bent = BendingTest::Cantilever.at(v).unwrap();
        compare::relative(&format!("v/L = {v:.3}: P L2/EI"), alpha, bent.force, 1e-8);
        compare::relative(
            &format!("v/L = {v:.3}: root moment"),
            number(row, "root_moment"),
            bent.curvature,
            1e-8,
        );
    }
}

#[test]
fn a_strip_on_rollers_is_that_of_its_differential_equation() {
    for row in rows(&exact()["on_rollers"]) {
        let deflection = number(row, "deflection");
        let bent = BendingTest::ThreePoint.at(deflection).unwrap();
        let what = |w: &str| format!("deflection {deflection:.3} of the half span: {w}");
        // The reference keeps ten digits.
        compare::relative(&what("P a2/EI"), number(row, "force"), bent.force, 1e-8);
        compare::relative(&what("curvature a"), number(row, "curvature"), bent.curvature, 1e-8);
    }
}

/// ASTM D790 corrects the surface stress of a slender strip for large deflections D of a span L by the factor
/// 1 + 6 (D/L)^2 (from memory; its last term is that of a thick one): good to 1 % up to D/L = 0.15.
#[test]
fn the_stress_follows_the_correction_of_the_standard() {
    for ratio in [0.05, 0.1, 0.15] {
        let bent = BendingTest::ThreePoint.at(2.0 * ratio).unwrap();
        // Stress by 3 P L / 2 b h^2 is curvature a by P a^2 / 2 EI.
        let factor = bent.curvature / (0.5 * bent.force);
        let standard = 1.0 + 6.0 * ratio * ratio;
        compare::relative(
            &format!("D/L = {ratio}: stress by the small one"),
            standard,
            factor,
            0.01,
        );
    }
}
