//! Gaps between edges that approach, and the part running into itself: places moved by known amounts.
//!
//! All values are elementary geometry. Distances between parabolas are exact, so straight edges allow
//! only rounding. A side on a circle is a parabola through three of its points and strays from it by
//! r phi^4/32 at most (phi its half angle, from the two's Taylor series): 2.9e-6 mm for r = 5 mm in 48 sides.

use std::f64::consts::TAU;
use withy_mesh::{Mesh, NodeId, Point};
use withy_solver::{Gaps, Narrowest};
use withy_tests::compare;
use withy_tests::grid::{cells, grid};

/// Several meshes as one; bodies that do not touch.
fn together(bodies: &[&Mesh]) -> Mesh {
    let (mut nodes, mut elements) = (Vec::new(), Vec::new());
    for body in bodies {
        let first = u32::try_from(nodes.len()).unwrap();
        nodes.extend_from_slice(body.nodes());
        elements.extend(body.elements().iter().map(|e| e.map(|n| NodeId(n.0 + first))));
    }
    Mesh::from_parts(nodes, elements, Vec::new()).unwrap()
}

fn leaf(x0: f64, y0: f64, wide: f64, high: f64) -> Mesh {
    grid(20, 2, |s, t| [x0 + s * wide, y0 + t * high])
}

/// The state in which each node is moved so.
fn moved(mesh: &Mesh, shift: impl Fn(Point) -> [f64; 2]) -> Narrowest {
    let displacements: Vec<[f64; 2]> = mesh.nodes().iter().map(|p| shift(*p)).collect();
    Gaps::new(mesh).at(&displacements)
}

#[test]
fn parallel_leaves_closing_have_the_gap_that_is_left() {
    let mesh = together(&[&leaf(0.0, 0.0, 20.0, 1.0), &leaf(0.7, 2.0, 20.0, 1.0)]);
    let lower = |by: f64| moved(&mesh, |p| if p.y > 1.5 { [0.0, -by] } else { [0.0; 2] });
    for by in [0.4, 0.9, 0.999] {
        let gap = lower(by).gap.unwrap();
        compare::absolute(&format!("leaves {by} mm nearer: gap (mm)"), 1.0 - by, gap.width, 1e-12);
        compare::absolute("their gap at rest (mm)", 1.0, gap.at_rest, 1e-12);
        assert!(lower(by).crossing.is_none(), "not yet through each other");
    }
    assert_eq!(lower(0.3).gap, None, "70 % of the gap at rest is no approach");
    for by in [1.001, 1.5, 2.9] {
        let state = lower(by);
        assert!(state.crossing.is_some() && state.width() == Some(0.0), "{by}: {state:?}");
    }
}

#[test]
fn what_turns_and_moves_as_one_approaches_nothing() {
    let mesh = together(&[&leaf(0.0, 0.0, 20.0, 1.0), &leaf(0.7, 1.2, 20.0, 1.0)]);
    let state = moved(&mesh, |p| {
        let (sin, cos) = 1.1f64.sin_cos();
        [cos * p.x - sin * p.y - p.x + 3.0, sin * p.x + cos * p.y - p.y]
    });
    assert_eq!(state, Narrowest { gap: None, crossing: None });
}

#[test]
fn a_leaf_thinner_than_the_gap_is_not_taken_for_it() {
    // 0.3 mm of material, squeezed to 0.15 mm, beside a gap of 1 mm that stays: nothing approaches.
    let mesh = together(&[&leaf(0.0, 0.0, 20.0, 0.3), &leaf(0.0, 1.3, 20.0, 1.0)]);
    let state = moved(&mesh, |p| if p.y < 0.31 { [0.0, 0.5 * (0.3 - p.y)] } else { [0.0; 2] });
    assert_eq!(state.gap, None);
}

#[test]
fn a_corner_comes_near_a_wall_at_its_tip() {
    // The leaf turns about its lower left corner; its lower right corner sinks by 20 sin(angle).
    let mesh = together(&[&leaf(0.0, 0.0, 20.0, 1.0), &leaf(-5.0, -6.0, 40.0, 1.0)]);
    for angle in [0.15, 0.2, 0.24_f64] {
        let (sin, cos) = (-angle).sin_cos();
        let gap = moved(&mesh, |p| {
            if p.y < -1.0 {
                return [0.0; 2];
            }
            [cos * p.x - sin * p.y - p.x, sin * p.x + cos * p.y - p.y]
        });
        let expected = 5.0 - 20.0 * angle.sin();
        let gap = gap.gap.unwrap();
        compare::absolute(&format!("corner at {angle} rad: gap (mm)"), expected, gap.width, 1e-12);
        let tip = if gap.rest[0][1] > -1.0 { gap.rest[0] } else { gap.rest[1] };
        compare::absolute("from the corner (mm)", 20.0, tip[0], 1e-9);
        compare::absolute("from the corner (mm)", 0.0, tip[1], 1e-9);
    }
}

/// A ring about the origin, closed: its last column is its first.
fn ring(sides: u32, inner: f64, outer: f64, from: f64) -> Mesh {
    let (columns, rows) = (2 * sides, 5);
    let place = |i: u32, j: u32| {
        let (sin, cos) = (from + TAU * f64::from(i) / f64::from(columns)).sin_cos();
        let r = inner + (outer - inner) * f64::from(j) / f64::from(rows - 1);
        Point::new(-r * cos, r * sin)
    };
    let nodes = (0..rows).flat_map(|j| (0..columns).map(move |i| (i, j)));
    let nodes = nodes.map(|(i, j)| place(i, j)).collect();
    let lattice = columns + 1;
    let closed = |n: NodeId| NodeId((n.0 / lattice) * columns + (n.0 % lattice) % columns);
    let elements = cells(sides, 2).into_iter().map(|e| e.map(closed)).collect();
    Mesh::from_parts(nodes, elements, Vec::new()).unwrap()
}

#[test]
fn a_circle_comes_near_a_wall_by_what_its_centre_moves() {
    let wall = leaf(-10.0, -9.0, 20.0, 1.0);
    // Turned so that neither a corner nor a mid-side node is lowest.
    let mesh = together(&[&ring(48, 3.0, 5.0, 0.03), &wall]);
    for by in [1.5, 2.5, 2.99] {
        let state = moved(&mesh, |p| if p.y > -7.0 { [0.4, -by] } else { [0.0; 2] });
        let gap = state.gap.unwrap();
        let what = format!("circle {by} mm lower: gap (mm)");
        compare::absolute(&what, 3.0 - by, gap.width, 2.9e-6);
        let foot = if gap.now[0][1] > gap.now[1][1] { gap.now[1] } else { gap.now[0] };
        compare::absolute("below its centre (mm)", 0.4, foot[0], 1e-2);
    }
    let inside = moved(&mesh, |p| if p.y > -7.0 { [0.0, -3.02] } else { [0.0; 2] });
    let at = inside.crossing.unwrap().now;
    // Half the chord at a depth d: sqrt(2 r d - d^2).
    let half = (2.0 * 5.0 * 0.02 - 0.02f64.powi(2)).sqrt();
    compare::absolute("the circle cuts the wall (mm)", half, at[0].abs(), 5e-3);
}

#[test]
fn a_hole_closes_between_its_own_sides() {
    // A ring pinched in its middle: the hole is 6 (1 - pinch) mm wide there, at a node, and nowhere less.
    let mesh = ring(48, 3.0, 5.0, 0.0);
    for pinch in [0.4, 0.8, 0.99] {
        let state = moved(&mesh, |p| [0.0, -pinch * p.y * (-p.x * p.x).exp()]);
        let gap = state.gap.unwrap();
        let what = format!("hole pinched by {pinch}: gap (mm)");
        compare::absolute(&what, 6.0 * (1.0 - pinch), gap.width, 1e-12);
        compare::absolute("across the middle (mm)", 0.0, gap.now[0][0], 1e-6);
        // Its sides face each other to within 18 degrees: 6 cos 18 degrees at least.
        compare::between("6 mm at rest (mm)", 5.7, 6.0, gap.at_rest);
        assert!(state.crossing.is_none(), "open still");
    }
    let state = moved(&mesh, |p| [0.0, -1.02 * p.y * (-p.x * p.x).exp()]);
    assert!(state.crossing.is_some(), "pinched through itself");
}
