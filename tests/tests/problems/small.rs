//! A cantilever at small deflection: Timoshenko's beam.
//!
//! v = F L^3/(3 EI) + F L/(k G A), k = 10 (1 + nu)/(12 + 11 nu): G. R. Cowper, "The shear coefficient in
//! Timoshenko's beam theory", J. Appl. Mech. 33 (1966) 335-340 (from memory). E = 2000 MPa, nu = 0.35,
//! 5 x 2 mm, L = 40 mm, F = 1 N: 3.2063 mm, 0.2 % of which is shear. With nu = 0 the clamp restrains nothing
//! and a tenth of the shear would be missed (2e-4). With nu = 0.35 it restrains the contraction of the root,
//! which shortens the beam by about 1 % of its depth: 3 x 0.01 h/L = 0.15 %; allowed is 0.2 %.

use withy_solver::load::edge_traction;
use withy_solver::{Model, Support};
use withy_tests::compare;
use withy_tests::pick::{ON_LINE, edges, nearest};
use withy_tests::solve::{at_full, plane_stress};
use withy_tests::strip::Strip;

#[test]
fn a_slender_cantilever_deflects_as_timoshenkos_beam() {
    let (e, b, h, length) = (2000.0, 5.0, 2.0, 40.0);
    for (nu, allowed) in [(0.0, 2e-4), (0.35, 2e-3)] {
        let got = tip_flexibility(e, nu, [b, h, length]);
        let shear_factor = 10.0 * (1.0 + nu) / (12.0 + 11.0 * nu);
        let modulus = e / (2.0 * (1.0 + nu));
        let bending = length.powi(3) / (3.0 * e * b * h.powi(3) / 12.0);
        let expected = bending + length / (shear_factor * modulus * b * h);
        let what = format!("cantilever 40 x 2 mm, nu = {nu}: mm per N");
        compare::relative(&what, expected, got, allowed);
    }
}

/// Deflection of the tip's middle per force (mm/N).
fn tip_flexibility(e: f64, nu: f64, [b, h, length]: [f64; 3]) -> f64 {
    let strip = Strip::layered(length, h, 60, 3);
    // Small enough for the response to be linear to 1e-6.
    let force = 1e-3;
    let end = edges(&strip.mesh, |p| p.x > length - ON_LINE);
    // Parabolic shear, as in the beam itself.
    let shear = |p: [f64; 2], _| [0.0, 1.5 * force / (b * h) * (1.0 - (2.0 * p[1] / h).powi(2))];
    let model = Model::new(&strip.mesh, plane_stress(e, nu), b)
        .unwrap()
        .support(Support::hold("root", strip.root()))
        .unwrap()
        .nodal_forces(&edge_traction(&strip.mesh, end, b, shear))
        .unwrap();
    let tip = nearest(&strip.mesh, length, 0.0);
    at_full(&model).displacements[tip.index()][1] / force
}
