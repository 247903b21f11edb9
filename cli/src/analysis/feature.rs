//! What a place of the part is, in words, and how deep the part is for its ribs.

use super::follow::Followed;
use crate::case::Case;
use crate::picture::three_digits;
use crate::remark::Remark;
use std::f64::consts::TAU;
use withy_mesh::{Arc, BoundaryEdge, Curve, Mesh, NodeId, Point, Vec2};
use withy_solver::PlaneState;

/// A place this close to an arc's end, in arc radii, belongs to the fillet: its stress peaks just
/// beyond the tangent point, on the straight side.
const FILLET_REACH: f64 = 0.35;

/// A corner's fillet turns by less than this (rad): 150 degrees; what turns farther is an arc in its own
/// right.
const FILLET_TURN: f64 = 2.62;

/// The feature of the outline that a node sits on.
pub(super) fn describe(mesh: &Mesh, node: NodeId) -> String {
    let at = mesh.nodes()[node.index()];
    let edges: Vec<&BoundaryEdge> =
        mesh.boundary().iter().filter(|e| e.nodes.contains(&node)).collect();
    let Some(own) = edges.first() else { return "inside the part".to_owned() };
    let arcs =
        mesh.boundary().iter().filter(|e| e.loop_index == own.loop_index).filter_map(
            |e| match mesh.curve(e) {
                Curve::Arc(arc) => {
                    let (_, distance) = mesh.curve(e).nearest(at);
                    (distance <= FILLET_REACH * arc.radius).then_some((distance, *arc))
                }
                Curve::Line(..) | Curve::Cubic(_) => None,
            },
        );
    if let Some((_, arc)) = arcs.min_by(|a, b| a.0.total_cmp(&b.0)) {
        return arc_words(mesh, own, &arc);
    }
    match mesh.curve(own) {
        Curve::Line(..) => "straight edge".to_owned(),
        curve => {
            let radius = 1.0 / curve.curvature(curve.nearest(at).0).abs();
            if radius.is_finite() && radius < 1e4 {
                format!("curved edge, local radius {} mm", three_digits(radius))
            } else {
                "curved edge".to_owned()
            }
        }
    }
}

/// An arc by what it is on this outline, whose material is on its left.
fn arc_words(mesh: &Mesh, edge: &BoundaryEdge, arc: &Arc) -> String {
    let same_circle = |c: &Curve| match c {
        Curve::Arc(a) => {
            a.center.distance(arc.center) < 1e-6 && (a.radius - arc.radius).abs() < 1e-6
        }
        Curve::Line(..) | Curve::Cubic(_) => false,
    };
    let turn: f64 = mesh
        .boundary()
        .iter()
        .filter(|e| e.loop_index == edge.loop_index && same_circle(mesh.curve(e)))
        .map(|e| match mesh.curve(e) {
            Curve::Arc(a) => (a.sweep * (e.parameters[1] - e.parameters[0])).abs(),
            Curve::Line(..) | Curve::Cubic(_) => 0.0,
        })
        .sum();
    let radius = format!("r={} mm", trimmed(arc.radius));
    if turn > TAU - 1e-6 {
        if arc.sweep < 0.0 { format!("hole {radius}") } else { format!("round rim {radius}") }
    } else if arc.sweep < 0.0 {
        let word = if turn <= FILLET_TURN { "fillet" } else { "inner arc" };
        format!("{word} {radius}")
    } else {
        format!("outer round {radius}")
    }
}

/// A length without needless zeros.
fn trimmed(mm: f64) -> String {
    let text = format!("{mm:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Searle's parameter below which a bent rib is a beam, and above which it is a plate.
const BEAM_BELOW: f64 = 1.0;
const PLATE_ABOVE: f64 = 100.0;

/// Plane stress or plane strain by Searle's parameter beta = t^2 / (R w), with w the rib's width in
/// the plane and R = w / (2 strain) its bending radius at the hot spot.
///
/// Source: D. G. Ashwell, "The anticlastic curvature of rectangular beams and plates", J. R.
/// Aeronaut. Soc. 54 (1950) 708-715, from memory.
pub(super) fn plane_state(case: &Case, followed: &Followed) -> (PlaneState, Option<Remark>) {
    let Some(width) = width_at(&followed.mesh, followed.hot_spot.at) else {
        return (PlaneState::PlaneStress, None);
    };
    let t = case.thickness;
    let beta = 2.0 * followed.hot_spot.strain * t * t / (width * width);
    let nu = case.material.poissons_ratio.value;
    let numbers = format!(
        "Searle's parameter is {} at the hot spot ({} mm wide there, {} mm deep)",
        three_digits(beta),
        three_digits(width),
        three_digits(t)
    );
    if beta > PLATE_ABOVE {
        let text = format!("{numbers}: the ribs bend as plates, so plane strain is assumed");
        (PlaneState::PlaneStrain, Some(Remark::note("plane-state", text)))
    } else if beta > BEAM_BELOW {
        let more = 100.0 * (1.0 / (1.0 - nu * nu) - 1.0);
        let text = format!(
            "{numbers}, between a beam and a plate: plane stress is assumed, and the real force may \
             be up to {more:.0} % higher (state = \"plane strain\" gives that end)"
        );
        (PlaneState::PlaneStress, Some(Remark::note("plane-state", text)))
    } else {
        (PlaneState::PlaneStress, None)
    }
}

/// Width of the part at a place of its outline: straight across to the other side (mm).
fn width_at(mesh: &Mesh, at: [f64; 2]) -> Option<f64> {
    let at = Point::new(at[0], at[1]);
    let place = |n: NodeId| mesh.nodes()[n.index()];
    let own = mesh
        .boundary()
        .iter()
        .min_by(|a, b| place(a.nodes[1]).distance(at).total_cmp(&place(b.nodes[1]).distance(at)))?;
    let along = place(own.nodes[2]) - place(own.nodes[0]);
    let inward = Vec2::new(-along.y, along.x).normalize();
    let across = mesh.boundary().iter().filter_map(|e| {
        let (a, b) = (place(e.nodes[0]), place(e.nodes[2]));
        let (d, r) = (b - a, a - at);
        let det = d.cross(inward);
        let (distance, s) = (r.cross(d) / -det, r.cross(inward) / -det);
        // Far enough from the start to be another side.
        (distance > 1e-3 * along.hypot() + 1e-6 && (0.0..=1.0).contains(&s)).then_some(distance)
    });
    across.min_by(f64::total_cmp)
}

#[cfg(test)]
mod tests {
    use super::trimmed;

    #[test]
    fn lengths_lose_needless_zeros_only() {
        assert_eq!([0.8, 12.0, 0.125, 100.0].map(trimmed), ["0.8", "12", "0.125", "100"]);
    }
}
