//! What keeps a carriage on its line: one bank of three leading ribs a side, two such banks, one of six.
//!
//! The trade knows it (common practice, no source): one short bank lets the carriage turn and go aside as it
//! is drawn, a second bank behind it cures it, and so does a longer bank. Ribs of 36 x 1.2 mm, 6 mm deep, 70
//! degrees off the draw, a pitch of 8 mm, E 2100 MPa, 3.3 mm of draw towards folding. Qualitative: the sign of
//! the smallest stiffness is compared. Its block is checked against differences of whole solves in the
//! solver's own tests; a symmetric part must have no coupling of its draw with shift and turn.

use withy::analysis::Guidance;
use withy_mesh::number::{largest, max};
use withy_mesh::{Curve, Loop, Outline, Point, Region, Sizing, mesh_outline};
use withy_solver::{Coordinate, Model, Step, Support};
use withy_tests::compare;
use withy_tests::pick;
use withy_tests::solve::{path, plane_stress, rigid};

const RIB: f64 = 36.0;
const WIDTH: f64 = 1.2;
const PITCH: f64 = 8.0;
const HALF_CARRIAGE: f64 = 4.0;
const DRAW: f64 = 3.3;

fn polygon(points: &[(f64, f64)]) -> Loop {
    let p: Vec<Point> = points.iter().copied().map(Point::from).collect();
    let curves = (0..p.len()).map(|i| Curve::Line(p[i], p[(i + 1) % p.len()])).collect();
    Loop { curves, origin: "a bank".into() }
}

/// A carriage along y with ribs to both sides at these heights of their roots. They fall outwards, so
/// that a draw downwards folds them.
fn bank(roots: &[f64]) -> Outline {
    let (d, c) = 70f64.to_radians().sin_cos();
    let (out, up) = (RIB * d, RIB * c);
    // Height of a rib cut upright.
    let half = 0.5 * WIDTH / d;
    let (low, high) = (roots[0] - 3.0, roots[roots.len() - 1] + 3.0);
    let side = |sign: f64| -> Vec<(f64, f64)> {
        let rib = |y: &f64| {
            let x = sign * HALF_CARRIAGE;
            let end = x + sign * out;
            [(x, y - half), (end, y - up - half), (end, y - up + half), (x, y + half)]
        };
        roots.iter().flat_map(rib).collect()
    };
    let mut border = vec![(-HALF_CARRIAGE, low), (HALF_CARRIAGE, low)];
    border.extend(side(1.0));
    border.extend([(HALF_CARRIAGE, high), (-HALF_CARRIAGE, high)]);
    border.extend(side(-1.0).into_iter().rev());
    let (x, y) = (HALF_CARRIAGE, [low, high]);
    let carriage = polygon(&[(-x, y[0]), (x, y[0]), (x, y[1]), (-x, y[1])]);
    let region = Region { name: "carriage".into(), loops: vec![carriage] };
    Outline::new(vec![polygon(&border)], vec![region]).unwrap()
}

/// States along the draw, the carriage kept in line by the drive, and its guidance in each.
fn drawn(roots: &[f64]) -> Vec<(Step, Guidance)> {
    let mesh = mesh_outline(&bank(roots), &Sizing::default()).unwrap();
    let end = HALF_CARRIAGE + RIB * 70f64.to_radians().sin();
    let model = Model::new(&mesh, plane_stress(2100.0, 0.38), 6.0)
        .unwrap()
        .support(Support::hold("rails", pick::nodes(&mesh, |p| p.x.abs() > end - 1e-6)))
        .unwrap()
        .rigid_region(rigid(
            "carriage",
            mesh.regions()[0].nodes.clone(),
            [0.0, -DRAW, 0.0].map(Coordinate::Driven),
        ))
        .unwrap();
    let guided = |s: Step| {
        let guidance = Guidance::new(&s.stiffness[0], [0.0, -1.0], 20.0);
        (s, guidance)
    };
    path(&model, 6).into_iter().map(guided).collect()
}

#[test]
fn one_bank_of_three_loses_its_guidance_two_banks_and_a_bank_of_six_do_not() {
    let bank = |first: f64, count: u32| (0..count).map(move |n| first + PITCH * f64::from(n));
    let one: Vec<f64> = bank(0.0, 3).collect();
    let two: Vec<f64> = bank(0.0, 3).chain(bank(50.0, 3)).collect();
    let six: Vec<f64> = bank(0.0, 6).collect();
    for (name, roots, is_lost) in
        [("of three", one, true), ("of twice three", two, false), ("of six", six, false)]
    {
        let states = drawn(&roots);
        let smallest: Vec<f64> = states.iter().map(|(_, g)| g.smallest).collect();
        assert!(smallest[0] > 0.0, "{name}: guided at first: {smallest:?}");
        assert_eq!(smallest[5] < 0.0, is_lost, "{name}: lost at full draw: {smallest:?}");
        // Symmetric but for the mesh: its two sides are not meshed in the same order, and their errors differ by up
        // to 2e-5 of the stiffness.
        let coupling = |(step, guidance): &(Step, Guidance)| {
            let [[_, xy, _], [_, _, yt], _] = step.stiffness[0];
            let scale = guidance.axial.abs() + guidance.lateral.abs();
            max(xy.abs(), yt.abs() / 20.0) / scale
        };
        let worst = largest(0.0, states.iter().map(coupling));
        let what = format!("bank {name}: coupling of its draw with shift and turn / stiffness");
        compare::absolute(&what, 0.0, worst, 5e-5);
    }
}
