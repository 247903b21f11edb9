//! The condensed stiffness of a rigid region against differences of whole solves.
//!
//! A strip 20 x 1 mm clamped at one end, its other end a rigid region taken far off line. The
//! stiffness is the derivative of the reaction by the region's coordinates, so central differences
//! of solves at neighbouring coordinates must agree; and it must not matter which of the coordinates
//! the drive prescribes.

#![expect(clippy::unwrap_used, reason = "a strip that cannot be set up is a failed test")]

use std::ops::ControlFlow;
use withy_mesh::{Mesh, NodeId, Point};
use withy_solver::Coordinate::{Driven, Free};
use withy_solver::{
    Coordinate, Elastic, Model, PathOptions, PlaneState, RigidRegion, Step, Support, follow_path,
    stiffness_about,
};

const LENGTH: f64 = 20.0;
const COLUMNS: u32 = 40;
const ROWS: u32 = 2;

/// A strip of 2 x COLUMNS x ROWS triangles, its lower edge at y = -1/2.
fn strip() -> Mesh {
    let (wide, high) = (2 * COLUMNS + 1, 2 * ROWS + 1);
    let place = |i: u32, j: u32| {
        let x = LENGTH * f64::from(i) / f64::from(wide - 1);
        Point::new(x, f64::from(j) / f64::from(high - 1) - 0.5)
    };
    let nodes = (0..high).flat_map(|j| (0..wide).map(move |i| place(i, j))).collect();
    let id = |i: u32, j: u32| NodeId(j * wide + i);
    let mut elements = Vec::new();
    for j in (0..2 * ROWS).step_by(2) {
        for i in (0..2 * COLUMNS).step_by(2) {
            let (far, middle) = ([i + 2, j + 2], [i + 1, j + 1]);
            elements.push([
                id(i, j),
                id(far[0], j),
                id(far[0], far[1]),
                id(middle[0], j),
                id(far[0], middle[1]),
                id(middle[0], middle[1]),
            ]);
            elements.push([
                id(i, j),
                id(far[0], far[1]),
                id(i, far[1]),
                id(middle[0], middle[1]),
                id(middle[0], far[1]),
                id(i, middle[1]),
            ]);
        }
    }
    Mesh::from_parts(nodes, elements, Vec::new()).unwrap()
}

/// The state at full draw of the strip with its end driven so.
fn drawn(mesh: &Mesh, motion: [Coordinate; 3]) -> Step {
    let at = |x: f64| -> Vec<NodeId> {
        let all = (0u32..).map(NodeId).zip(mesh.nodes());
        all.filter(|(_, p)| (p.x - x).abs() < 1e-9).map(|(n, _)| n).collect()
    };
    let law = Elastic::new(1000.0, 0.3, PlaneState::PlaneStress).unwrap();
    let end =
        RigidRegion { name: "end".into(), nodes: at(LENGTH), motion, force: [0.0; 2], moment: 0.0 };
    let model = Model::new(mesh, law, 1.0).unwrap();
    let model = model.support(Support::hold("root", at(0.0))).unwrap();
    let model = model.rigid_region(end).unwrap();
    let options = PathOptions { steps: 6, ..PathOptions::default() };
    let path = follow_path(&model, &options, &mut |_| ControlFlow::Continue(())).unwrap();
    path.steps.last().unwrap().clone()
}

fn effort(step: &Step) -> [f64; 3] {
    let reaction = &step.reactions[0];
    [reaction.force[0], reaction.force[1], reaction.moment]
}

#[test]
fn it_is_the_derivative_of_the_reaction() {
    let mesh = strip();
    let place = [-0.1, 3.0, 0.3];
    let stiffness = drawn(&mesh, place.map(Driven)).stiffness[0];
    for k in 0..3 {
        let step = 1e-4;
        let beside = |sign: f64| {
            let mut q = place;
            q[k] += sign * step;
            effort(&drawn(&mesh, q.map(Driven)))
        };
        let (above, below) = (beside(1.0), beside(-1.0));
        for j in 0..3 {
            let difference = (above[j] - below[j]) / (2.0 * step);
            // Second order in a step of 1e-4 mm, on stiffnesses of order 1 to 50.
            assert!(
                (stiffness[j][k] - difference).abs() < 1e-5 * stiffness[j][j].abs() + 1e-6,
                "{j}{k}: {} against {difference}",
                stiffness[j][k]
            );
        }
    }
}

#[test]
fn it_does_not_depend_on_which_coordinates_are_driven() {
    let mesh = strip();
    let free = drawn(&mesh, [Free, Driven(3.0), Free]);
    let driven = drawn(&mesh, free.rigid[0].map(Driven));
    for j in 0..3 {
        for k in 0..3 {
            let (a, b) = (free.stiffness[0][j][k], driven.stiffness[0][j][k]);
            // The two states agree to the tolerance of equilibrium.
            assert!((a - b).abs() < 1e-6 * (1.0 + a.abs()), "{j}{k}: {a} against {b}");
        }
    }
}

/// The region's shift is taken at a point off its centroid: force and moment there, by shift and turn
/// there.
#[test]
fn about_another_point_it_is_the_derivative_of_the_reaction_there() {
    let mesh = strip();
    let arm = [1.5, -4.0];
    let place = [-0.1, 3.0, 0.3_f64];
    let now = |turn: f64| {
        let (sin, cos) = turn.sin_cos();
        [cos * arm[0] - sin * arm[1], sin * arm[0] + cos * arm[1]]
    };
    let start = drawn(&mesh, place.map(Driven));
    let force = start.reactions[0].force;
    let about = stiffness_about(&start.stiffness[0], force, place[2], arm);
    for k in 0..3 {
        let step = 1e-4;
        let beside = |sign: f64| {
            let mut q = place;
            q[k] += sign * step;
            // The point's shift stays where only the turn changes.
            let (r, before) = (now(q[2]), now(place[2]));
            let moved = [q[0] - r[0] + before[0], q[1] - r[1] + before[1], q[2]];
            let [fx, fy, moment] = effort(&drawn(&mesh, moved.map(Driven)));
            [fx, fy, moment - r[0] * fy + r[1] * fx]
        };
        let (above, below) = (beside(1.0), beside(-1.0));
        for j in 0..3 {
            let difference = (above[j] - below[j]) / (2.0 * step);
            // As about the centroid.
            assert!(
                (about[j][k] - difference).abs() < 1e-5 * about[j][j].abs() + 1e-6,
                "{j}{k}: {} against {difference}",
                about[j][k]
            );
        }
    }
    let back = stiffness_about(&about, force, place[2], arm.map(|a| -a));
    for j in 0..3 {
        for k in 0..3 {
            let gap = (back[j][k] - start.stiffness[0][j][k]).abs();
            assert!(gap < 1e-9 * (1.0 + about[j][k].abs()), "and back again: {gap}");
        }
    }
}
