//! Curved beams that snap: a clamped shallow arch and a bistable beam, driven through both limit points.
//!
//! Values from Reissner's beam with its own curvature, `reference/make.py`. The drive keeps the apex from
//! turning, as the second beam of a bistable pair does (J. Qiu, J. H. Lang and A. H. Slocum, "A
//! curved-beam bistable mechanism", J. MEMS 13 (2004) 137-146, from memory), so half of each is enough.
//! Poisson's ratio is 0 and the ends are rigid cross-sections. The solid differs by its law (0.5 % of strain)
//! and by the beam's straight normals (h/R = 1 %); the force is a small difference of bending and thrust, which
//! magnifies both: 0.8 % of the largest force up to the second limit point. Beyond it the arch is
//! stretched by 1 %, where the law of the solid is stiffer by 1.5 times that: 2 % of the force.
//!
//! The cosine's bistable path is not one that a lone perfect beam keeps to: where its thrust is that of the
//! third mode it may branch. The place is a check of the stability count: 1.5 %, as shear takes 0.3 % off the thrust, which grows slowly there.

use serde_json::Value;
use std::ops::ControlFlow;
use withy_mesh::Mesh;
use withy_mesh::number::largest;
use withy_solver::{Coordinate, EquilibriumPath, Model, PathOptions, Step, Support, follow_path};
use withy_tests::compare;
use withy_tests::grid::grid;
use withy_tests::pick;
use withy_tests::reference::{exact, number, rows};
use withy_tests::solve::{plane_stress, rigid};

/// Half a beam about the axis y(x) from -half_span to 0, its cells normal to the axis.
fn half_beam(half_span: f64, depth: f64, axis: impl Fn(f64) -> (f64, f64)) -> Mesh {
    grid(60, 2, |s, t| {
        let x = half_span * (s - 1.0);
        let (y, slope) = axis(x);
        let (length, off) = (1f64.hypot(slope), (t - 0.5) * depth);
        [x - off * slope / length, y + off / length]
    })
}

/// The path of a half beam whose apex is pushed down by `full`.
fn pushed(
    mesh: &Mesh,
    half_span: f64,
    youngs_modulus: f64,
    full: f64,
    steps: u32,
) -> EquilibriumPath {
    // The foot's cross-section is slanting where the beam is: the first column of the lattice.
    let lattice = 2 * 60 + 1;
    let foot = (0..mesh.nodes().len()).filter(|i| i % lattice == 0);
    let foot = foot.map(|i| withy_mesh::NodeId(u32::try_from(i).unwrap())).collect();
    let apex = pick::nodes(mesh, |p| p.x.abs() < 1e-9 * half_span);
    let motion = [0.0, -full, 0.0].map(Coordinate::Driven);
    let model = Model::new(mesh, plane_stress(youngs_modulus, 0.0), 1.0)
        .unwrap()
        .support(Support::hold("foot", foot))
        .unwrap()
        .rigid_region(rigid("apex", apex, motion))
        .unwrap();
    let options = PathOptions { steps, ..PathOptions::default() };
    follow_path(&model, &options, &mut |_| ControlFlow::Continue(())).unwrap()
}

fn compare_curve(what: &str, curve: &Value, full: f64, steps: &[Step], beyond: f64) {
    let force = |s: &Step| -s.reactions[0].force[1];
    let soft = rows(curve).iter().filter(|r| number(r, "w") < beyond);
    let most = largest(0.0, soft.map(|r| number(r, "P").abs()));
    for row in rows(curve) {
        let w = number(row, "w");
        let step = steps.iter().find(|s| (full * s.fraction - w).abs() < 1e-9).unwrap();
        let label = format!("{what}, w = {w} mm: P (N)");
        if w < beyond {
            compare::absolute(&label, number(row, "P"), force(step), 8e-3 * most);
        } else {
            compare::relative(&label, number(row, "P"), force(step), 2e-2);
        }
    }
}

#[test]
fn a_clamped_shallow_arch_snaps_along_its_beams_curve() {
    let arch = &exact()["arch"];
    let (half_span, rise) = (number(arch, "half_span"), number(arch, "rise"));
    let radius = (half_span * half_span + rise * rise) / (2.0 * rise);
    let mesh = half_beam(half_span, number(arch, "depth"), |x| {
        let root = (radius * radius - x * x).sqrt();
        (root - radius + rise, -x / root)
    });
    let steps = pushed(&mesh, half_span, number(arch, "E"), 10.0, 20).steps;
    compare_curve("shallow arch", &arch["curve"], 10.0, &steps, 8.5);
    assert!(steps.iter().all(Step::is_stable), "the drive keeps it stable all the way");
    let force: Vec<f64> = steps.iter().map(|s| -s.reactions[0].force[1]).collect();
    let falls = force.windows(2).filter(|w| w[1] < w[0]).count();
    assert!(falls >= 4, "falls between the limit points: {force:?}");
}

#[test]
fn a_bistable_beam_comes_to_its_second_rest() {
    let beam = &exact()["bistable"];
    let (span, height) = (number(beam, "span"), number(beam, "height"));
    let w = std::f64::consts::TAU / span;
    let mesh = half_beam(0.5 * span, number(beam, "depth"), |x| {
        (0.5 * height * (1.0 + (w * x).cos()), -0.5 * height * w * (w * x).sin())
    });
    let path = pushed(&mesh, 0.5 * span, number(beam, "E"), 5.5, 22);
    let critical = path.critical.first().unwrap();
    let third = number(beam, "third_mode_w");
    let what = "bistable beam: third mode at w (mm)";
    compare::relative(what, third, 5.5 * critical.fraction, 1.5e-2);
    let steps = path.steps;
    compare_curve("bistable beam", &beam["curve"], 5.5, &steps, f64::INFINITY);
    let signs: Vec<bool> = steps.iter().map(|s| s.reactions[0].force[1] < 0.0).collect();
    let changes = signs.windows(2).filter(|w| w[0] != w[1]).count();
    assert_eq!(changes, 2, "resists, pulls itself over, resists again");
}
