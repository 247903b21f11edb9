//! Laws that every equilibrium path obeys: force is the slope of energy, reactions balance, mixed
//! stiffnesses are equal, and the number of threads changes nothing.
//!
//! No outside value is needed: the laws are exact for a discrete solid with a strain energy.

use withy_mesh::NodeId;
use withy_solver::{Coordinate, Model, NodalForce, Step, Support};
use withy_tests::compare;
use withy_tests::grid::grid;
use withy_tests::pick::nearest;
use withy_tests::solve::{at_full, path, plane_stress, rigid};
use withy_tests::strip::Strip;

const E: f64 = 1000.0;

fn driven(strip: &Strip, to: [f64; 3]) -> Model<'_> {
    Model::new(&strip.mesh, plane_stress(E, 0.35), 1.5)
        .unwrap()
        .support(Support::hold("root", strip.root()))
        .unwrap()
        .rigid_region(rigid("head", strip.tip(), to.map(Coordinate::Driven)))
        .unwrap()
}

#[test]
fn the_force_of_the_drive_is_the_slope_of_the_strain_energy() {
    // A strongly stiffening beam that is also turned: force and moment both work.
    let strip = Strip::new(20.0, 1.0, 20);
    let to = [-0.4, 2.4, 0.3];
    let count = 120;
    let steps = path(&driven(&strip, to), count);
    let slope_of = |n: usize, apart: usize| {
        let rise = steps[n + apart].strain_energy - steps[n - apart].strain_energy;
        rise * f64::from(count) / (2.0 * apart as f64)
    };
    for n in [20, 50, 80, 110] {
        // Central differences, their h^2 and h^4 errors removed (Richardson).
        let (one, two, four) = (slope_of(n, 1), slope_of(n, 2), slope_of(n, 4));
        let (fine, coarse) = ((4.0 * one - two) / 3.0, (4.0 * two - four) / 3.0);
        let slope = (16.0 * fine - coarse) / 15.0;
        let head = &steps[n].reactions[0];
        let work = head.force[0] * to[0] + head.force[1] * to[1] + head.moment * to[2];
        let what = format!("force against slope of energy at {:.2} of the draw", steps[n].fraction);
        // The step's sixth power is 1e-12; energies carry about ten digits of a difference of steps.
        compare::relative(&what, slope, work, 1e-7);
    }
}

#[test]
fn mixed_stiffnesses_are_equal_at_large_deflection() {
    // Maxwell's and Betti's law on the condensed tangent: dF_i/dq_j = dF_j/dq_i. A term missing in
    // forces or in their reduction to a turning region breaks it.
    let strip = Strip::new(20.0, 1.0, 20);
    let base = [-1.5, 6.0, 0.5];
    let forces = |j: usize, change: f64| {
        let mut to = base;
        to[j] += change;
        let last = path(&driven(&strip, to), 10).pop().unwrap();
        let head = &last.reactions[0];
        [head.force[0], head.force[1], head.moment]
    };
    let h = 1e-3;
    let columns: Vec<[f64; 3]> = (0..3)
        .map(|j| {
            let (more, less) = (forces(j, h), forces(j, -h));
            [0, 1, 2].map(|i| (more[i] - less[i]) / (2.0 * h))
        })
        .collect();
    for (i, j) in [(0, 1), (0, 2), (1, 2)] {
        let (a, b) = (columns[i][j], columns[j][i]);
        // Central differences over 1e-3 mm: 1e-6 of the curvature of the forces.
        compare::relative(&format!("mixed stiffness {i}{j} against {j}{i}"), a, b, 1e-5);
        assert!(a.abs() > 0.1, "not a comparison of zeros: {a}");
    }
}

/// A strip clamped at its root, its tip turned and moved, with a dead force on its middle.
fn loaded_in_all_ways(strip: &Strip) -> (Step, NodeId, [f64; 2]) {
    let middle = nearest(&strip.mesh, 12.0, 0.5);
    let force = [3.0, -7.0];
    let model =
        driven(strip, [-1.0, 4.0, -0.6]).nodal_forces(&[NodalForce { node: middle, force }]);
    (path(&model.unwrap(), 8).pop().unwrap(), middle, force)
}

#[test]
fn all_forces_and_moments_on_the_part_balance() {
    let strip = Strip::new(20.0, 1.0, 40);
    let (last, middle, force) = loaded_in_all_ways(&strip);
    let place = |n: NodeId| {
        let (p, u) = (strip.mesh.nodes()[n.index()], last.displacements[n.index()]);
        [p.x + u[0], p.y + u[1]]
    };
    // The centroid of a straight end is its middle.
    let [q_x, q_y, _] = last.rigid[0];
    let at = [("head", [20.0 + q_x, q_y]), ("root", [0.0, 0.0])];
    let mut sum = [force[0], force[1], 0.0];
    let arm = place(middle);
    sum[2] += arm[0] * force[1] - arm[1] * force[0];
    let mut scale = 0.0;
    for (name, arm) in at {
        let r = last.reactions.iter().find(|r| r.region == name).unwrap();
        sum[0] += r.force[0];
        sum[1] += r.force[1];
        sum[2] += r.moment + arm[0] * r.force[1] - arm[1] * r.force[0];
        scale = withy_mesh::number::max(scale, r.force[0].hypot(r.force[1]));
    }
    // Newton's residual is 1e-9 of the element forces, which exceed the reactions tenfold.
    for (name, value) in ["x", "y"].iter().zip(sum) {
        compare::absolute(
            &format!("sum of forces along {name} / largest"),
            0.0,
            value / scale,
            1e-7,
        );
    }
    compare::absolute("sum of moments / (largest force 20 mm)", 0.0, sum[2] / (20.0 * scale), 1e-7);
}

#[test]
fn the_carriage_of_a_symmetric_part_is_not_pushed_sideways() {
    // Two arms rising to a carriage between them; the mesh itself is symmetric about x = 0.
    let mesh = grid(40, 2, |s, t| {
        let x = 40.0 * (s - 0.5);
        [x, 0.12 * (20.0 - x.abs()) + 1.2 * t]
    });
    let tips = withy_tests::pick::nodes(&mesh, |p| p.x.abs() > 20.0 - 1e-9);
    let carriage = withy_tests::pick::nodes(&mesh, |p| p.x.abs() < 3.0 + 1e-9);
    let motion = [Coordinate::Driven(0.0), Coordinate::Driven(-1.5), Coordinate::Driven(0.0)];
    let model = Model::new(&mesh, plane_stress(E, 0.35), 4.0)
        .unwrap()
        .support(Support::hold("feet", tips))
        .unwrap()
        .rigid_region(rigid("carriage", carriage, motion))
        .unwrap();
    for step in path(&model, 6) {
        let r = &step.reactions[0];
        let what = format!("symmetric part, {:.2} of the draw", step.fraction);
        // Diagonals alternate cell by cell, which is symmetric for an even number of cells but for
        // the two layers' parity: mirrored cells carry mirrored diagonals only up to that.
        compare::absolute(
            &format!("{what}: lateral / draw force"),
            0.0,
            r.force[0] / r.force[1],
            1e-3,
        );
    }
}

#[test]
fn newton_converges_in_few_iterations_with_its_consistent_tangent() {
    // One step of a third of the strip's length: an inconsistent tangent converges linearly and needs
    // dozens of solutions to 1e-9, or the path would have to halve its steps.
    let strip = Strip::new(60.0, 1.0, 60);
    let to = [Coordinate::Free, Coordinate::Driven(20.0), Coordinate::Free];
    let model = Model::new(&strip.mesh, plane_stress(E, 0.35), 1.0)
        .unwrap()
        .support(Support::hold("root", strip.root()))
        .unwrap()
        .rigid_region(rigid("head", strip.tip(), to))
        .unwrap();
    for step in path(&model, 10) {
        let each = step.iterations as f64 / step.internal_steps as f64;
        assert!(step.internal_steps == 1 && each <= 5.0, "{step:?}", step = (step.fraction, each));
    }
}

#[test]
fn one_thread_and_two_give_the_same_bits() {
    let strip = Strip::layered(20.0, 1.0, 160, 8);
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| path(&driven(&strip, [-0.4, 2.4, 0.3]), 3))
    };
    let (one, two, three) = (with(1), with(2), with(3));
    assert!(strip.mesh.elements().len() > 2000, "enough elements to be shared out");
    assert!(one == two && one == three, "bit by bit the same");
}

#[test]
fn a_small_load_gives_a_small_answer_in_proportion() {
    // Linear response far below any printed load: a tolerance that is absolute somewhere shows here.
    let strip = Strip::new(20.0, 1.0, 20);
    let energy = |scale: f64| at_full(&driven(&strip, [0.0, scale, 0.0])).strain_energy;
    let (small, tiny) = (energy(1e-4), energy(1e-7));
    // Stretching adds (d/h)^2 = 1e-8 of the larger one.
    compare::relative("strain energy at 1e-7 mm against 1e-4 mm", small * 1e-6, tiny, 1e-6);
}
