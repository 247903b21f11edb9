//! Rotations without strain: a body that turns as a whole carries neither energy nor force.
//!
//! Exact: the Green-Lagrange strain of a rotation is zero, and the true stress of a strained body
//! that is turned does not change. A code whose strain is linear in the displacements stretches a body
//! turned by 90 degrees by 100 %.

use std::f64::consts::{FRAC_PI_2, PI};
use withy_solver::stress::Recovery;
use withy_solver::{Coordinate, Model};
use withy_tests::compare;
use withy_tests::grid::ring;
use withy_tests::pick::on_y;
use withy_tests::solve::{path, plane_stress, rigid};

const E: f64 = 1000.0;

#[test]
fn a_free_body_turned_by_its_end_stays_unstrained() {
    for (turn, steps) in [(FRAC_PI_2, 4), (PI, 8)] {
        let mesh = ring(2, 8, 10.0, 13.0, FRAC_PI_2);
        let motion = [Coordinate::Driven(5.0), Coordinate::Driven(-3.0), Coordinate::Driven(turn)];
        let model = Model::new(&mesh, plane_stress(E, 0.3), 2.0)
            .unwrap()
            .rigid_region(rigid("end", on_y(&mesh, 0.0), motion))
            .unwrap();
        let last = path(&model, steps).pop().unwrap();
        let what = format!("ring turned by {:.0} degrees", turn.to_degrees());
        // A strain of 1e-11 in every element: rounding.
        let energy = E * mesh.area() * 2.0;
        compare::absolute(&format!("{what}: energy"), 0.0, last.strain_energy / energy, 1e-20);
        let force = last.reactions[0].force[0].hypot(last.reactions[0].force[1]);
        compare::absolute(&format!("{what}: force (N)"), 0.0, force / (E * 3.0 * 2.0), 1e-10);
    }
}

#[test]
fn turning_a_strained_body_does_not_change_its_stress() {
    let mesh = ring(2, 6, 10.0, 13.0, FRAC_PI_2);
    let model = Model::new(&mesh, plane_stress(E, 0.3), 2.0).unwrap();
    let recovery = Recovery::new(&model);
    // Any smooth deformation.
    let bent: Vec<[f64; 2]> = mesh
        .nodes()
        .iter()
        .map(|p| [0.02 * p.x + 0.004 * p.y * p.y, 0.05 * p.x - 0.002 * p.x * p.y])
        .collect();
    let before = recovery.field(&bent);
    for turn in [FRAC_PI_2, 2.0, PI] {
        let (sin, cos) = turn.sin_cos();
        let turned: Vec<[f64; 2]> = mesh
            .nodes()
            .iter()
            .zip(&bent)
            .map(|(p, u)| {
                let now = [p.x + u[0], p.y + u[1]];
                [cos * now[0] - sin * now[1] - p.x, sin * now[0] + cos * now[1] - p.y]
            })
            .collect();
        let after = recovery.field(&turned);
        for (a, b) in before.stress.iter().zip(&after.stress) {
            // Ten digits below the stresses of about 100 MPa.
            assert!((a.von_mises - b.von_mises).abs() < 1e-8, "turned by {turn}: {a:?} {b:?}");
            assert!((a.tension - b.tension).abs() < 1e-8, "turned by {turn}: {a:?} {b:?}");
        }
    }
}
