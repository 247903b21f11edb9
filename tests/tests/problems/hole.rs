//! A strip with a round hole, pulled: stress concentration at five widths.
//!
//! Gross factors K = peak / far stress for d/W = 0.1 to 0.5, computed by complex potentials fitted by least
//! squares on a finite strip (six digits, half-length 1.5 W) and by an independent plane-stress code
//! (half-length 3 W); the two agree to 1e-4. R. C. J. Howland, Phil. Trans. R. Soc. A 229 (1930) 49-86, has
//! 3.03, 3.14, 3.36, 3.74, 4.32 (from memory). The infinite plate is that of G. Kirsch, 1898, as in S.
//! Timoshenko and J. N. Goodier, Theory of Elasticity, 3rd ed., art. 35 (from memory).
//!
//! The part goes through the program's own mesher and the refinement that follows the error estimate;
//! 0.5 % is four times better than what users get by default.

use withy_mesh::Mesh;
use withy_mesh::number::max;
use withy_solver::adapt::Target;
use withy_solver::load::edge_traction;
use withy_solver::{Model, NodalForce};
use withy_tests::adapt::{Solved, adapted};
use withy_tests::compare;
use withy_tests::outline::{Piece, outline};
use withy_tests::pick::{ON_LINE, edges, nearest, nodes, on_x, on_y};
use withy_tests::solve::{along, plane_stress};

/// Half the width of the strip; it is 3 W long to either side (mm).
const HALF: f64 = 10.0;
/// Far stress: strains of 1e-6 (MPa).
const FAR: f64 = 1e-3;

/// A quarter of the strip.
fn quarter(radius: f64) -> withy_mesh::Outline {
    let end = 6.0 * HALF;
    outline(
        [radius, 0.0],
        &[
            Piece::To(end, 0.0),
            Piece::To(end, HALF),
            Piece::To(0.0, HALF),
            Piece::To(0.0, radius),
            Piece::Around([0.0, 0.0], [radius, 0.0]),
        ],
    )
}

fn pulled(mesh: &Mesh) -> Model<'_> {
    let end = edges(mesh, |p| p.x > 6.0 * HALF - ON_LINE);
    quarter_under(mesh, &edge_traction(mesh, end, 1.0, |_, _| [FAR, 0.0]))
}

/// A quarter of a plate between its symmetry lines, under nodal forces.
fn quarter_under<'m>(mesh: &'m Mesh, forces: &[NodalForce]) -> Model<'m> {
    Model::new(mesh, plane_stress(1000.0, 0.3), 1.0)
        .unwrap()
        .support(along("x = 0", on_x(mesh, 0.0), [Some(0.0), None]))
        .unwrap()
        .support(along("y = 0", on_y(mesh, 0.0), [None, Some(0.0)]))
        .unwrap()
        .nodal_forces(forces)
        .unwrap()
}

#[test]
fn a_hole_in_a_strip_raises_the_stress_by_its_known_factor() {
    let known =
        [(0.1, 3.03613), (0.2, 3.152571), (0.3, 3.374391), (0.4, 3.747171), (0.5, 4.347624)];
    for (ratio, factor) in known {
        let radius = ratio * HALF;
        let (mesh, solved) =
            adapted(&quarter(radius), Target { energy: 0.01, peak: 0.005 }, 3, pulled);
        let peak = solved.field.peak(&solved.artificial, |s| s.tension).unwrap();
        let what = format!("hole d/W = {ratio}: K (gross), {} elements", mesh.elements().len());
        compare::relative(&what, factor, peak.value / FAR, 5e-3);
        let at = mesh.nodes()[peak.node.index()];
        assert!(at.x.abs() < 0.1 * radius && (at.y - radius).abs() < 0.1 * radius, "{at:?}");
    }
}

#[test]
fn the_error_estimate_at_a_hole_is_of_the_right_size() {
    let part = quarter(3.0);
    let (_, fine) = adapted(&part, Target { energy: 0.001, peak: 0.001 }, 5, pulled);
    let mut last = f64::INFINITY;
    for passes in [0, 1] {
        let target = Target { energy: 0.008, peak: 0.02 };
        let (mesh, solved) = adapted(&part, target, passes, pulled);
        let (energy, best) = (solved.step.strain_energy, fine.step.strain_energy);
        // Under dead loads the energy comes from below; its deficit is the error's energy.
        let error = ((best - energy) / best).sqrt();
        let what = format!("hole, {} elements: estimated over true error", mesh.elements().len());
        compare::between(&what, 0.5, 2.0, solved.estimate / error);
        assert!(error < last, "refined where the estimate asks, the error falls: {error}");
        last = error;
    }
    assert!(Solved::peak_tension(&fine) > 3.0 * FAR, "it is the concentration that is resolved");
}

/// Kirsch's stresses around a hole of radius 1 in an infinite plate pulled by 1 along x:
/// (xx, yy, xy) at a place.
fn kirsch([x, y]: [f64; 2]) -> [f64; 3] {
    let (r2, double) = (x * x + y * y, 2.0 * y.atan2(x));
    let (i2, i4) = (1.0 / r2, 1.0 / (r2 * r2));
    let (cos, sin) = (double.cos(), double.sin());
    let radial = 0.5 * (1.0 - i2) + 0.5 * (1.0 - 4.0 * i2 + 3.0 * i4) * cos;
    let hoop = 0.5 * (1.0 + i2) - 0.5 * (1.0 + 3.0 * i4) * cos;
    let shear = -0.5 * (1.0 + 2.0 * i2 - 3.0 * i4) * sin;
    // Turned from the radius' axes into x and y: 2 theta is at hand.
    let (mean, half) = (0.5 * (radial + hoop), 0.5 * (radial - hoop));
    [mean + half * cos - shear * sin, mean - half * cos + shear * sin, half * sin + shear * cos]
}

/// The infinite plate: its stresses are applied where the model ends, at four radii, so that nothing is
/// lost by the finite size.
#[test]
fn a_hole_in_an_infinite_plate_has_the_stresses_of_kirsch() {
    let cut = 4.0;
    let part = outline(
        [1.0, 0.0],
        &[
            Piece::To(cut, 0.0),
            Piece::Around([0.0, 0.0], [0.0, cut]),
            Piece::To(0.0, 1.0),
            Piece::Around([0.0, 0.0], [1.0, 0.0]),
        ],
    );
    let pull = |mesh: &Mesh| {
        let end = edges(mesh, |p| p.to_vec2().hypot() > 0.9 * cut);
        let traction = |at: [f64; 2], n: [f64; 2]| {
            let [xx, yy, xy] = kirsch(at).map(|s| FAR * s);
            [xx * n[0] + xy * n[1], xy * n[0] + yy * n[1]]
        };
        edge_traction(mesh, end, 1.0, traction)
    };
    // The place beside the hole is far from the peak: only the whole's energy has it refined.
    let target = Target { energy: 0.003, peak: 0.005 };
    let (mesh, solved) = adapted(&part, target, 3, |mesh| quarter_under(mesh, &pull(mesh)));
    let stress = |x, y| solved.field.stress[nearest(&mesh, x, y).index()];
    compare::relative(
        "infinite plate: K above the hole",
        3.0,
        stress(0.0, 1.0).tension / FAR,
        5e-3,
    );
    let beside = stress(1.0, 0.0).compression / FAR;
    compare::relative("infinite plate: stress beside the hole", -1.0, beside, 1e-2);
    // All along the hole, the hoop stress is 1 - 2 cos 2 theta.
    let mut worst: f64 = 0.0;
    for n in nodes(&mesh, |p| (p.to_vec2().hypot() - 1.0).abs() < 1e-6) {
        let p = mesh.nodes()[n.index()];
        let exact = 1.0 - 2.0 * (2.0 * p.y.atan2(p.x)).cos();
        let found = solved.field.stress[n.index()];
        let hoop = if exact > 0.0 { found.tension } else { found.compression } / FAR;
        worst = max(worst, (hoop - exact).abs());
    }
    compare::absolute("infinite plate: hoop stress along the hole, worst node", 0.0, worst, 0.015);
}
