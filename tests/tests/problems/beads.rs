//! Printed beads: an orthotropic solid, its beads aslant or round about.
//!
//! - Off-axis pull: 1/Ex = c^4/E1 + (1/G12 - 2 nu12/E1) c^2 s^2 + s^4/E2, and the shear it makes (R. M.
//!   Jones, "Mechanics of Composite Materials", ch. 2, from memory). The field is uniform: with S = Ex e
//!   along a strip pulled by 1e-6 the force is A0 S, up to parts of that size.
//! - Ring under internal pressure with beads along its outline: k = sqrt(E1/E2), hoop stress at the
//!   bore k p (b^2k + 1)/(b^2k - 1), radius 1 (S. G. Lekhnitskii, "Anisotropic Plates", from memory).

use std::f64::consts::PI;
use withy_mesh::{Arc, Curve, Loop, Mesh, Outline, Point, Sizing, mesh_outline};
use withy_solver::load::edge_traction;
use withy_solver::stress::Recovery;
use withy_solver::{Beads, Law, Model, Orthotropic, Support};
use withy_tests::compare;
use withy_tests::grid::grid;
use withy_tests::pick::{edges, nearest, on_x};
use withy_tests::solve::{along, at_full, path};

const ALONG: f64 = 2050.0;
const ACROSS: f64 = 1400.0;
const NU: f64 = 0.36;
const SHEAR: f64 = 600.0;
/// Strains of 1e-6 leave terms of that size.
const SMALL: f64 = 5e-6;

fn sheet(beads: Beads) -> Law {
    Law::Orthotropic(Orthotropic::new(ALONG, ACROSS, NU, SHEAR).unwrap(), beads)
}

#[test]
fn a_strip_with_beads_aslant_has_its_exact_force_shear_and_true_stress() {
    for degrees in [0.0, 30.0, 60.0, 90.0_f64] {
        let stretch = 1.0 + 1e-6;
        let (s, c) = degrees.to_radians().sin_cos();
        let mesh = grid(3, 2, |u, v| [4.0 * u, 2.0 * v]);
        let model = Model::new(&mesh, sheet(Beads::At(degrees.to_radians())), 0.5)
            .unwrap()
            .support(along("left", on_x(&mesh, 0.0), [Some(0.0), None]))
            .unwrap()
            .support(along("corner", vec![nearest(&mesh, 0.0, 0.0)], [Some(0.0), Some(0.0)]))
            .unwrap()
            .support(along("right", on_x(&mesh, 4.0), [Some(4.0 * (stretch - 1.0)), None]))
            .unwrap();
        let last = path(&model, 4).pop().unwrap();
        let middle = 1.0 / SHEAR - 2.0 * NU / ALONG;
        let modulus = 1.0 / (c.powi(4) / ALONG + middle * c * c * s * s + s.powi(4) / ACROSS);
        // The edges stay upright, so F12 = 0 and 2 E12 = F21.
        let corner = last.displacements[nearest(&mesh, 4.0, 0.0).index()];
        let top = last.displacements[nearest(&mesh, 0.0, 2.0).index()];
        let (shear, thinner) = (corner[1] / 4.0, top[1] / 2.0);
        let stress = modulus * 1e-6;
        let right = last.reactions.iter().find(|r| r.region == "right").unwrap();
        let what = format!("beads at {degrees} deg");
        compare::relative(&format!("{what}: force (N)"), stretch * stress, right.force[0], SMALL);
        let coupling = (2.0 / ALONG + 2.0 * NU / ALONG - 1.0 / SHEAR) * s * c.powi(3)
            - (2.0 / ACROSS + 2.0 * NU / ALONG - 1.0 / SHEAR) * c * s.powi(3);
        compare::absolute(
            &format!("{what}: shear by strain"),
            coupling * modulus,
            shear / 1e-6,
            SMALL,
        );
        let across = (s * s * c * c) * (1.0 / ALONG + 1.0 / ACROSS - 1.0 / SHEAR)
            - NU / ALONG * (c.powi(4) + s.powi(4));
        compare::absolute(
            &format!("{what}: strain across by strain"),
            across * modulus,
            thinner / 1e-6,
            SMALL,
        );
        let field = Recovery::new(&model).field(&last.displacements);
        for n in [nearest(&mesh, 2.0, 1.0), nearest(&mesh, 2.0, 2.0)] {
            let got = field.stress[n.index()].tension;
            compare::relative(&format!("{what}: stress (MPa)"), stress, got, SMALL);
        }
    }
}

fn circle(radius: f64, turn: f64) -> Loop {
    let half =
        |start: f64| Curve::Arc(Arc { center: Point::ORIGIN, radius, start, sweep: turn * PI });
    Loop { curves: vec![half(0.0), half(turn * PI)], origin: "a test".into() }
}

fn ring(b: f64) -> Mesh {
    let outline = Outline::new(vec![circle(b, 1.0), circle(1.0, -1.0)], Vec::new()).unwrap();
    let wish = Sizing { coarsest: Some(0.08), ..Sizing::default() };
    mesh_outline(&outline, &wish).unwrap()
}

#[test]
fn a_ring_with_beads_round_about_has_lekhnitskiis_stresses() {
    let (b, p) = (2.0_f64, 1e-3);
    let mesh = ring(b);
    let inner = edges(&mesh, |q| q.to_vec2().hypot() < 1.0 + 1e-9);
    let forces = edge_traction(&mesh, inner, 1.0, |_, n| n.map(|n| -p * n));
    let sides = vec![nearest(&mesh, b, 0.0), nearest(&mesh, -b, 0.0)];
    let model = Model::new(&mesh, sheet(Beads::AlongOutline), 1.0)
        .unwrap()
        .support(Support { name: "sides".into(), nodes: sides, displacement: [None, Some(0.0)] })
        .unwrap()
        .support(along("top", vec![nearest(&mesh, 0.0, b)], [Some(0.0), None]))
        .unwrap()
        .nodal_forces(&forces)
        .unwrap();
    let step = at_full(&model);
    let field = Recovery::new(&model).field(&step.displacements);
    let k = (ALONG / ACROSS).sqrt();
    let power = b.powf(2.0 * k);
    let a = p / (power - 1.0);
    let hoop = |r: f64| k * a * (r.powf(k - 1.0) + power * r.powf(-k - 1.0));
    for (r, tolerance) in [(1.0, 5e-3), (1.5, 5e-3), (2.0, 5e-3)] {
        let n = nearest(&mesh, r * 0.6, r * 0.8);
        let at = mesh.nodes()[n.index()].to_vec2().hypot();
        let got = field.stress[n.index()].tension;
        compare::relative(
            &format!("ring of beads, b/a = 2, r = {r}: hoop stress / p"),
            hoop(at) / p,
            got / p,
            tolerance,
        );
    }
    let u = |angle: f64| {
        let n = nearest(&mesh, angle.cos(), angle.sin());
        let (at, d) = (mesh.nodes()[n.index()], step.displacements[n.index()]);
        d[0] * at.x + d[1] * at.y
    };
    let exact = (hoop(1.0) + NU * p) / ALONG;
    // Opposite places: what the three held nodes leave of a rigid shift drops out.
    let mean = 0.25 * (0..4).map(|q| u(0.5 * PI * f64::from(q))).sum::<f64>();
    compare::relative("ring of beads: u(a) E1 / (p a)", exact * ALONG / p, mean * ALONG / p, 2e-3);
}
