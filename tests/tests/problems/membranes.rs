//! Two membranes of plane stress: the elliptic one and Cook's.
//!
//! Elliptic membrane: test LE1 of The Standard NAFEMS Benchmarks (1990) (from memory): quarter of an
//! elliptic plate with an elliptic hole, 10 MPa outwards on its outer edge; hoop stress at D (2, 0):
//! 92.7 MPa published to three digits, 92.66 MPa converged. Cook's tapered panel: R. D. Cook, "Improved
//! two-dimensional finite element", J. Struct. Div. ASCE 100 (1974) 1851-1863 (from memory): 23.96 at the
//! middle of the loaded edge, converged 23.967; stresses at the middles of the long edges 0.2368 and
//! -0.2035.
//!
//! Both are linear problems: loads are scaled down until strains are 1e-5, and results up.

use std::f64::consts::FRAC_PI_2;
use withy_mesh::Mesh;
use withy_solver::load::edge_traction;
use withy_solver::{Model, Support};
use withy_tests::adapt::Solved;
use withy_tests::compare;
use withy_tests::grid::grid;
use withy_tests::pick::{ON_LINE, edges, nearest, on_x, on_y};
use withy_tests::solve::{along, plane_stress};

/// The share of the published load that is applied.
const SMALL: f64 = 1e-2;

/// The elliptic membrane; lengths in m as published.
fn elliptic(mesh: &Mesh) -> Solved {
    let outer = edges(mesh, |p| (p.x / 3.25).powi(2) + (p.y / 2.75).powi(2) > 1.0 - 1e-9);
    let forces = edge_traction(mesh, outer, 0.1, |_, n| n.map(|n| SMALL * 10.0 * n));
    let model = Model::new(mesh, plane_stress(210_000.0, 0.3), 0.1)
        .unwrap()
        .support(along("AB", on_x(mesh, 0.0), [Some(0.0), None]))
        .unwrap()
        .support(along("CD", on_y(mesh, 0.0), [None, Some(0.0)]))
        .unwrap()
        .nodal_forces(&forces)
        .unwrap();
    Solved::new(&model)
}

fn elliptic_mesh(across: u32, around: u32) -> Mesh {
    grid(across, around, |s, t| {
        let (sin, cos) = (t * FRAC_PI_2).sin_cos();
        // Finer towards the hole.
        let s = s * (0.5 + 0.5 * s);
        [cos * (2.0 + 1.25 * s), sin * (1.0 + 1.75 * s)]
    })
}

#[test]
fn the_elliptic_membrane_has_its_published_stress() {
    let mesh = elliptic_mesh(16, 32);
    let solved = elliptic(&mesh);
    let d = nearest(&mesh, 2.0, 0.0).index();
    let got = solved.field.stress[d].tension / SMALL;
    // Half of the last digit of the converged value, and an order of 2.5 from the coarser mesh.
    compare::relative("elliptic membrane: stress at D (MPa)", 92.66, got, 6e-4);
    let u = solved.step.displacements[d][0] / SMALL;
    // Computed with an independent plane-stress code, seven digits.
    compare::relative("elliptic membrane: ux at D (m)", -1.022_152e-4, u, 1e-3);
}

/// D lies where the free edge of the hole meets a line of symmetry: what is known of one side alone gave 0.54 % there.
#[test]
fn the_elliptic_membrane_has_its_published_stress_on_a_coarse_mesh() {
    let mesh = elliptic_mesh(8, 16);
    let d = nearest(&mesh, 2.0, 0.0).index();
    let got = elliptic(&mesh).field.stress[d].tension / SMALL;
    // An edge takes 5.6 degrees of the ellipse.
    compare::relative("elliptic membrane, 8 cells across: stress at D (MPa)", 92.66, got, 3e-3);
}

#[test]
fn the_error_estimate_of_the_elliptic_membrane_is_of_the_right_size() {
    let fine = elliptic(&elliptic_mesh(32, 64)).step.strain_energy;
    for n in [3, 6, 12] {
        let coarse = elliptic(&elliptic_mesh(n, 2 * n));
        let error = ((fine - coarse.step.strain_energy) / fine).sqrt();
        let what = format!("elliptic membrane, {n} cells across: estimated over true error");
        compare::between(&what, 0.5, 2.0, coarse.estimate / error);
    }
}

#[test]
fn cooks_membrane_has_its_published_deflection_and_stresses() {
    let mesh = grid(24, 24, |s, t| {
        let (low, high) = (44.0 * s, 44.0 + 16.0 * s);
        [48.0 * s, low + t * (high - low)]
    });
    let small = 1e-5;
    let end = edges(&mesh, |p| p.x > 48.0 - ON_LINE);
    let forces = edge_traction(&mesh, end, 1.0, |_, _| [0.0, small / 16.0]);
    let model = Model::new(&mesh, plane_stress(1.0, 1.0 / 3.0), 1.0)
        .unwrap()
        .support(Support::hold("left", on_x(&mesh, 0.0)))
        .unwrap()
        .nodal_forces(&forces)
        .unwrap();
    let solved = Solved::new(&model);
    let at = |x: f64, y: f64| nearest(&mesh, x, y).index();
    let uy = solved.step.displacements[at(48.0, 52.0)][1] / small;
    compare::relative("Cook's membrane: uy at the end's middle", 23.967, uy, 1e-3);
    let bottom = solved.field.stress[at(24.0, 22.0)].tension / small;
    let top = solved.field.stress[at(24.0, 52.0)].compression / small;
    compare::relative("Cook's membrane: stress below", 0.2368, bottom, 3e-3);
    compare::relative("Cook's membrane: stress above", -0.2035, top, 3e-3);
}
