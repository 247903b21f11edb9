//! A bar of St. Venant-Kirchhoff material, pulled and pushed: exact at any stretch.
//!
//! With stretch l and Green-Lagrange strain e = (l^2 - 1)/2 the bar's second Piola-Kirchhoff stress is
//! S = E e, its force A0 l S. In plane stress both transverse stretches are sqrt(1 - 2 nu e), so the true
//! stress is S l / (1 - 2 nu e). In plane strain S = E e/(1 - nu^2), the transverse stretch in the plane
//! is sqrt(1 - 2 nu/(1 - nu) e), the other one 1; the stress across the plane, nu S, makes part of the
//! von Mises stress: S l / b along the bar, nu S / (l b) across the plane, b the
//! transverse stretch.
//!
//! The field is uniform, so any mesh is exact: only rounding is allowed.

use withy_solver::stress::Recovery;
use withy_solver::{Elastic, PlaneState};
use withy_tests::bar;
use withy_tests::compare;
use withy_tests::solve::path;

const E: f64 = 1000.0;
const NU: f64 = 0.3;
/// Newton stops at a residual of 1e-9 of the element forces.
const ROUNDING: f64 = 1e-8;

/// Force (N) on 1 mm2, and (tension, compression, von Mises) anywhere (MPa).
fn pulled(stretch: f64, state: PlaneState) -> (f64, [f64; 3]) {
    let mesh = bar::mesh();
    let law = Elastic::new(E, NU, state).unwrap();
    let model = bar::stretched(&mesh, law, stretch);
    let last = path(&model, 4).pop().unwrap();
    let field = Recovery::new(&model).field(&last.displacements);
    let first = field.stress[0];
    for s in &field.stress {
        assert!((s.von_mises / first.von_mises - 1.0).abs() < ROUNDING, "uniform: {s:?}");
    }
    let force = bar::force(&last);
    (force, [first.tension, first.compression, first.von_mises])
}

#[test]
fn a_bar_in_plane_stress_has_its_exact_force_and_true_stress() {
    for stretch in [1.05, 1.1, 1.2, 0.9] {
        let strain = 0.5 * (stretch * stretch - 1.0);
        let (force, stress) = pulled(stretch, PlaneState::PlaneStress);
        let true_stress = E * strain * stretch / (1.0 - 2.0 * NU * strain);
        let what = format!("bar, stretch {stretch}");
        compare::relative(&format!("{what}: force (N)"), stretch * E * strain, force, ROUNDING);
        let axial = if stretch > 1.0 { stress[0] } else { stress[1] };
        compare::relative(&format!("{what}: true stress (MPa)"), true_stress, axial, ROUNDING);
    }
}

#[test]
fn a_bar_in_plane_strain_is_stiffer_and_stressed_across_the_plane() {
    for stretch in [1.1, 0.9_f64] {
        let strain = 0.5 * (stretch * stretch - 1.0);
        let (force, stress) = pulled(stretch, PlaneState::PlaneStrain);
        let pk = E * strain / (1.0 - NU * NU);
        let transverse = (1.0 - 2.0 * NU / (1.0 - NU) * strain).sqrt();
        let axial = pk * stretch / transverse;
        let across = NU * pk / (stretch * transverse);
        let von_mises = (axial * axial - axial * across + across * across).sqrt();
        let what = format!("bar in plane strain, stretch {stretch}");
        compare::relative(&format!("{what}: force (N)"), stretch * pk, force, ROUNDING);
        compare::relative(&format!("{what}: von Mises (MPa)"), von_mises, stress[2], ROUNDING);
    }
}
