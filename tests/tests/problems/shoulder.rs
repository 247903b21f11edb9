//! Shoulder fillets between a wide and a narrow strip, pulled and bent.
//!
//! Factors on the narrow strip's nominal stress for radius r and widths d < D, wide part 2.5 D long, computed
//! with an independent plane-stress code on graded meshes; its last mesh change was 0.1 % or less. Fits in
//! handbooks (W. C. Young, Roark's Formulas, Table 17.1; Peterson's charts) lie within 6 % of them. Allowed
//! is 1 %: the two meshes' errors together.
//!
//! Half of the strip is modelled: pulled, its middle line is a symmetry line (v = 0); bent, it is an
//! antisymmetry line (u = 0). Both ends carry the nominal tractions, in balance.

use withy_mesh::{Mesh, Outline};
use withy_solver::Model;
use withy_solver::adapt::Target;
use withy_solver::load::edge_traction;
use withy_tests::adapt::adapted;
use withy_tests::compare;
use withy_tests::outline::{Piece, outline};
use withy_tests::pick::{ON_LINE, edges, nearest, on_y};
use withy_tests::solve::{along, plane_stress};

/// Width of the narrow strip, which is three times as long (mm).
const NARROW: f64 = 10.0;
/// Nominal stress in it: strains of 1e-6 (MPa).
const NOMINAL: f64 = 1e-3;

#[derive(Clone, Copy)]
enum Load {
    Pulled,
    Bent,
}

/// The upper half: narrow to the left of the fillet, wide to the right of x = 0.
fn half(radius: f64, wide: f64) -> Outline {
    let (low, high) = (NARROW / 2.0, wide / 2.0);
    let (left, right) = (-3.0 * NARROW - radius, 2.5 * wide);
    outline(
        [left, 0.0],
        &[
            Piece::To(right, 0.0),
            Piece::To(right, high),
            Piece::To(0.0, high),
            Piece::To(0.0, low + radius),
            Piece::Around([-radius, low + radius], [-radius, low]),
            Piece::To(left, low),
            Piece::To(left, 0.0),
        ],
    )
}

fn model(mesh: &Mesh, load: Load, radius: f64, wide: f64) -> Model<'_> {
    let (left, right) = (-3.0 * NARROW - radius, 2.5 * wide);
    // Same force and same moment at both ends.
    let traction = |width: f64, sense: f64| {
        move |p: [f64; 2], _| match load {
            Load::Pulled => [sense * NOMINAL * NARROW / width, 0.0],
            Load::Bent => [sense * NOMINAL * (NARROW / width).powi(2) * 2.0 * p[1] / width, 0.0],
        }
    };
    let ends = |at: f64| edges(mesh, move |p| (p.x - at).abs() < ON_LINE);
    let mut forces = edge_traction(mesh, ends(left), 1.0, traction(NARROW, -1.0));
    forces.extend(edge_traction(mesh, ends(right), 1.0, traction(wide, 1.0)));
    // What the line leaves free: a shift along x; a shift along y and a turn.
    let corner = nearest(mesh, right, 0.0);
    let (line, place, corners) = match load {
        Load::Pulled => ([None, Some(0.0)], [Some(0.0), None], vec![corner]),
        Load::Bent => {
            ([Some(0.0), None], [None, Some(0.0)], vec![corner, nearest(mesh, left, 0.0)])
        }
    };
    Model::new(mesh, plane_stress(1000.0, 0.3), 1.0)
        .unwrap()
        .support(along("middle line", on_y(mesh, 0.0), line))
        .unwrap()
        .support(along("place", corners, place))
        .unwrap()
        .nodal_forces(&forces)
        .unwrap()
}

#[test]
fn shoulder_fillets_raise_the_stress_by_their_known_factors() {
    for (r, wide, pulled, bent) in [
        (0.05, 2.0, 3.2313, 2.476_577),
        (0.1, 1.5, 2.294_87, 1.897_355),
        (0.2, 3.0, 2.059_163, 1.575_178),
        (0.3, 2.0, 1.748_903, 1.417_517),
    ] {
        for (load, name, factor) in [(Load::Pulled, "pulled", pulled), (Load::Bent, "bent", bent)] {
            let (radius, wide) = (r * NARROW, wide * NARROW);
            let target = Target { energy: 0.015, peak: 0.007 };
            let (mesh, solved) =
                adapted(&half(radius, wide), target, 3, |mesh| model(mesh, load, radius, wide));
            let what = format!(
                "shoulder r/d = {r}, D/d = {}, {name}: K, {} elements",
                wide / NARROW,
                mesh.elements().len()
            );
            compare::relative(&what, factor, solved.peak_principal() / NOMINAL, 1e-2);
        }
    }
}
