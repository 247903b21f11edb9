//! Laws of scale and symmetry of the whole solve: turned, mirrored, larger, stiffer, deeper.
//!
//! Exact for a discrete solid, so on the same mesh only rounding and the last Newton step are
//! allowed: 1e-10, and 1e-9 for stiffnesses. Through the whole program the turned
//! drawing gets another mesh: 0.1 % of force and energy, the program's own error target, and 2 % of the
//! peak, as asked for.

use withy::analysis::Analysis;
use withy_mesh::{Mesh, NodeId};
use withy_solver::{Coordinate, Model, Step, Support};
use withy_tests::compare;
use withy_tests::grid::grid;
use withy_tests::part::analysed;
use withy_tests::solve::{path, plane_stress, rigid};

const CELLS: (u32, u32) = (40, 2);

/// How the same problem is put.
#[derive(Clone, Copy)]
struct Put {
    /// Where a point of the drawing goes, without the scale.
    place: fn([f64; 2]) -> [f64; 2],
    /// Whether that turns the drawing over.
    mirrored: bool,
    scale: f64,
    youngs_modulus: f64,
    thickness: f64,
}

const AS_DRAWN: Put =
    Put { place: |p| p, mirrored: false, scale: 1.0, youngs_modulus: 1000.0, thickness: 1.5 };

/// A bowed leaf whose end is moved and turned far.
fn solved(put: Put) -> Step {
    let at = |p: [f64; 2]| (put.place)(p).map(|x| put.scale * x);
    let mesh: Mesh = grid(CELLS.0, CELLS.1, |s, t| {
        // Turned over, the columns run the other way, or the triangles would be.
        let s = if put.mirrored { 1.0 - s } else { s };
        at([20.0 * s, 3.0 * s * s + t * (1.0 + 0.4 * s)])
    });
    let lattice = 2 * CELLS.0 as usize + 1;
    let column = |c: usize| -> Vec<NodeId> {
        let all = (0..mesh.nodes().len()).filter(|i| i % lattice == c);
        all.map(|i| NodeId(u32::try_from(i).unwrap())).collect()
    };
    let (first, last) = (column(0), column(lattice - 1));
    let (root, end) = if put.mirrored { (last, first) } else { (first, last) };
    let origin = at([0.0, 0.0]);
    let shift = at([-2.0, 7.0]);
    let turn = if put.mirrored { -0.4 } else { 0.4 };
    let motion = [shift[0] - origin[0], shift[1] - origin[1], turn].map(Coordinate::Driven);
    let model = Model::new(&mesh, plane_stress(put.youngs_modulus, 0.35), put.thickness)
        .unwrap()
        .support(Support::hold("root", root))
        .unwrap()
        .rigid_region(rigid("end", end, motion))
        .unwrap();
    path(&model, 4).pop().unwrap()
}

/// Compares force, moment, energy and stiffness with those as drawn, times their factors.
fn compare_with(what: &str, put: Put, factors: [f64; 3]) {
    let (drawn, got) = (solved(AS_DRAWN), solved(put));
    let [force, moment, energy] = factors;
    let sign = if put.mirrored { -1.0 } else { 1.0 };
    // The linear part of `place` carries vectors.
    let origin = (put.place)([0.0, 0.0]);
    let carried = (put.place)(drawn.reactions[0].force);
    let (f, m) = (got.reactions[0].force, got.reactions[0].moment);
    let size = force * drawn.reactions[0].force[0].hypot(drawn.reactions[0].force[1]);
    for i in 0..2 {
        let expected = force * (carried[i] - origin[i]) / size;
        compare::absolute(&format!("{what}: force / its size"), expected, f[i] / size, 1e-10);
    }
    let expected = sign * moment * drawn.reactions[0].moment;
    compare::relative(&format!("{what}: moment"), expected, m, 1e-10);
    let expected = energy * drawn.strain_energy;
    compare::relative(&format!("{what}: energy"), expected, got.strain_energy, 1e-10);
    let yaw = |s: &Step| s.stiffness[0][2][2];
    compare::relative(&format!("{what}: yaw stiffness"), moment * yaw(&drawn), yaw(&got), 1e-9);
}

#[test]
fn a_turned_and_moved_drawing_gives_the_turned_answer() {
    let place = |[x, y]: [f64; 2]| {
        let (sin, cos) = 0.7f64.sin_cos();
        [cos * x - sin * y + 30.0, sin * x + cos * y - 12.0]
    };
    compare_with("turned by 0.7 rad", Put { place, ..AS_DRAWN }, [1.0, 1.0, 1.0]);
}

#[test]
fn a_mirrored_drawing_gives_the_mirrored_answer() {
    let put = Put { place: |[x, y]| [-x, y], mirrored: true, ..AS_DRAWN };
    compare_with("mirrored", put, [1.0, 1.0, 1.0]);
}

#[test]
fn a_part_k_times_as_large_has_k2_the_force_and_k3_the_energy() {
    for k in [0.25, 3.0_f64] {
        let put = Put { scale: k, thickness: k * AS_DRAWN.thickness, ..AS_DRAWN };
        compare_with(&format!("{k} times as large"), put, [k.powi(2), k.powi(3), k.powi(3)]);
    }
}

#[test]
fn forces_go_with_the_modulus_and_the_thickness() {
    let stiffer = Put { youngs_modulus: 2.5 * AS_DRAWN.youngs_modulus, ..AS_DRAWN };
    compare_with("2.5 times as stiff", stiffer, [2.5; 3]);
    let deeper = Put { thickness: 4.0 * AS_DRAWN.thickness, ..AS_DRAWN };
    compare_with("4 times as deep", deeper, [4.0; 3]);
}

#[test]
fn a_turned_drawing_gives_the_same_curve_through_the_whole_program() {
    // A leaf between two pads, turned about the middle of the page; regions are circles and turn along.
    let solved = |turn: f64| {
        // Clockwise as seen, as SVG turns.
        let (sin, cos) = turn.to_radians().sin_cos();
        let shape = format!(
            r#"<path transform="rotate({turn:?} 50 50)" d="M 15 44 H 27 V 48.5 H 73 V 44 H 85 V 56 H 73
            V 51.5 H 27 V 56 H 15 Z"/>"#
        );
        let circle = |name: &str, x: f64| {
            let [x, y] = [50.0 + x * cos, 50.0 - x * sin];
            format!("{name} = {{ circle = [{x:?}, {y:?}, 4] }}\n")
        };
        let text = format!(
            "thickness = 4\nstate = \"plane stress\"\nfillet = 1.5\n[material]\ncard = \"pla\"\n\
             [regions]\n{}{}[[hold]]\nregion = \"root\"\n\
             [[drive]]\nregion = \"end\"\nmove = [{:?}, {:?}]\n[solve]\nsteps = 3\naccuracy = \"2 %\"\n",
            circle("root", -30.0),
            circle("end", 30.0),
            6.0 * sin,
            6.0 * cos
        );
        (analysed(&shape, &text), [sin, cos])
    };
    let (drawn, _) = solved(0.0);
    for turn in [33.0, 90.0] {
        let (turned, along) = solved(turn);
        for n in 0..3 {
            let of = |a: &Analysis, [x, y]: [f64; 2]| {
                let r = a.solution.path.steps[n].reactions[0].force;
                (r[0] * x + r[1] * y, a.solution.path.steps[n].strain_energy)
            };
            let (expected, got) = (of(&drawn, [0.0, 1.0]), of(&turned, along));
            let what = format!("drawing turned by {turn} deg, step {}", n + 1);
            compare::relative(&format!("{what}: force (N)"), expected.0, got.0, 1e-3);
            compare::relative(&format!("{what}: energy (mJ)"), expected.1, got.1, 1e-3);
        }
        let peak = |a: &Analysis| a.solution.hot_spot.von_mises;
        let what = format!("drawing turned by {turn} deg: peak von Mises (MPa)");
        compare::relative(&what, peak(&drawn), peak(&turned), 2e-2);
    }
}
