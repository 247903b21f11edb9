//! Lee's frame: a column and a beam of 120 cm, both feet hinged, a load on the beam 24 cm from their corner.
//!
//! S. L. Lee, F. S. Manuel and E. C. Rossow, "Large deflections and stability of elastic frames", J. Eng. Mech.
//! Div. ASCE 94 (1968) 521-547 (geometry from memory: E 7.2e6 N/cm2, section 3 x 2 cm; often quoted with a
//! limit load of 18.55 kN). Values from Reissner's beam, `reference/make.py`. The solid is no beam at its
//! corner, of 2 cm in 120, and the law stiffens the bent surfaces: 0.5 %. Beyond that load the frame falls;
//! the second limit load lies behind a turn of the displacement, which a drive does not reach.

use withy_mesh::NodeId;
use withy_solver::{Coordinate, Model, Step};
use withy_tests::compare;
use withy_tests::grid::grid;
use withy_tests::pick;
use withy_tests::reference::{exact, number};
use withy_tests::solve::{path, plane_stress, rigid};

const CELLS: u32 = 120;
const ROWS: u32 = 2;

#[test]
fn lees_frame_has_its_first_limit_load() {
    // Along the column and the beam, cut at their corner by its diagonal.
    let mesh = grid(CELLS, ROWS, |s, t| {
        let (inner, outer) = if s <= 0.5 {
            let part = 2.0 * s;
            ([1.0, 119.0 * part], [-1.0, 121.0 * part])
        } else {
            let part = 2.0 * s - 1.0;
            ([1.0 + 119.0 * part, 119.0], [-1.0 + 121.0 * part, 121.0])
        };
        [0, 1].map(|i| inner[i] + t * (outer[i] - inner[i]))
    });
    let full = 52.0;
    let hinge = [Coordinate::Driven(0.0), Coordinate::Driven(0.0), Coordinate::Free];
    let foot = pick::on_y(&mesh, 0.0);
    let end = pick::on_x(&mesh, 120.0);
    let loaded: NodeId = pick::nearest(&mesh, 24.0, 120.0);
    // One node: it has no turn of its own.
    let motion = [Coordinate::Free, Coordinate::Driven(-full), Coordinate::Driven(0.0)];
    let model = Model::new(&mesh, plane_stress(7.2e6, 0.0), 3.0)
        .unwrap()
        .rigid_region(rigid("load", vec![loaded], motion))
        .unwrap()
        .rigid_region(rigid("foot", foot, hinge))
        .unwrap()
        .rigid_region(rigid("end", end, hinge))
        .unwrap();
    let steps = path(&model, 52);
    let force = |s: &Step| -s.reactions[0].force[1];
    let top = (1..steps.len() - 1).max_by(|&a, &b| force(&steps[a]).total_cmp(&force(&steps[b])));
    let top = top.unwrap();
    // The parabola through the highest three states, a centimetre apart.
    let [a, b, c] = [top - 1, top, top + 1].map(|n| force(&steps[n]));
    let shift = 0.5 * (a - c) / (a - 2.0 * b + c);
    let most = b - 0.25 * (a - c) * shift;
    let sunk = full * steps[top].fraction + shift;
    let aside = |n: usize| steps[n].rigid[0][0];
    let aside = aside(top) + 0.5 * shift * (aside(top + 1) - aside(top - 1));
    let lee = &exact()["lee"];
    let of = |key: &str| number(lee, key);
    compare::relative("Lee's frame: first limit load (N)", of("limit_load"), most, 5e-3);
    compare::relative("Lee's frame: under the load there (cm)", of("sunk"), sunk, 5e-3);
    compare::relative("Lee's frame: aside there (cm)", of("aside"), aside, 5e-3);
    assert!(steps.iter().all(Step::is_stable), "the drive keeps it stable");
}
