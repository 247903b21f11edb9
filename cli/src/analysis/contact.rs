//! The part pushing rails, pins and itself: where it begins, how hard it pushes.

use super::limits::{Limit, LimitKind};
use super::modelled::nodes_of;
use crate::case::{Case, Obstacle, SelfContact};
use crate::picture::three_digits;
use crate::remark::Remark;
use withy_mesh::number::{largest, min};
use withy_mesh::{Curve, Mesh, NodeId, Point};
use withy_solver::{Narrowest, Shape, Step, outward};

/// The overlap that pushing surfaces keep may hold this share of the energy; more is no longer nothing.
const MOST_OVERLAP: f64 = 0.01;

/// The remark that pressure is lost in an overlap.
pub const OVERLAP: &str = "overlap";
/// The remark that edges have run through each other in spite of contact.
pub const RUNS_THROUGH: &str = "runs-through";

/// Where the part begins to push.
#[derive(Clone, Debug, PartialEq)]
pub struct Meeting {
    /// The rail or pin; `None` where it pushes itself.
    pub obstacle: Option<String>,
    /// Fraction of the draw.
    pub fraction: f64,
    /// Travel of the first moving region there, along its draw (mm or degrees).
    pub travel: Option<f64>,
    /// Where in the part, at rest (mm).
    pub place: Option<[f64; 2]>,
}

/// How a rail or pin stands to the part at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// The way to the nearest edge that it may meet (mm), 0 where that lies flush; none if it may meet nothing.
    pub gap: Option<f64>,
    /// Whether some of the part lies in it: in a pin, or just behind a rail. That never meets it.
    pub covers: bool,
}

/// Nodes this far within a rail or pin still lie on it (mm): rounding of a drawing.
const FLUSH: f64 = 1e-6;

/// How an obstacle stands to the part at rest, by the nodes of the part's border.
#[must_use]
pub fn standing(obstacle: &Obstacle, mesh: &Mesh) -> Standing {
    let chosen = obstacle.region.as_ref().map(|name| nodes_of(mesh, name));
    let counts = |n: NodeId| chosen.as_ref().is_none_or(|list| list.contains(&n));
    let edges = mesh.boundary().iter().map(|e| e.nodes).filter(|e| e.iter().all(|n| counts(*n)));
    let (mut gap, mut covers) = (None, false);
    for edge in edges {
        let places = edge.map(|n| mesh.nodes()[n.index()]);
        let shape = &obstacle.shape;
        covers |= places.iter().any(|p| shape.depth_in(*p) > FLUSH);
        let depths = places.map(|p| shape.depth_below(p));
        let nearest = places.iter().map(|p| distance(shape, *p)).fold(f64::INFINITY, min);
        // What lies flush with its back to it has the part behind it.
        let [start, middle, end] = places;
        let faces = outward(end - start).dot(shape.normal(middle)) < 0.0;
        if depths.iter().all(|d| *d <= FLUSH) && (faces || depths.iter().any(|d| *d < -FLUSH)) {
            gap = Some(gap.map_or(nearest, |before| min(before, nearest)));
        }
    }
    Standing { gap, covers }
}

/// The way from a place to the nearest one of an obstacle's surface (mm).
fn distance(shape: &Shape, place: Point) -> f64 {
    match *shape {
        Shape::Pin { .. } => shape.depth_below(place).abs(),
        Shape::Rail { from, to } => {
            let [from, to] = [from, to].map(|p| Point::new(p[0], p[1]));
            Curve::Line(from, to).nearest(place).1
        }
    }
}

/// Says which rails and pins the part can never meet.
pub(super) fn remark_on_standing(case: &Case, mesh: &Mesh, remarks: &mut Vec<Remark>) {
    for obstacle in &case.obstacles {
        let name = &obstacle.name;
        let Standing { gap, covers } = standing(obstacle, mesh);
        let of = obstacle.region.as_ref().map_or_else(String::new, |r| format!(" in {r}"));
        match obstacle.shape {
            Shape::Rail { .. } if gap.is_none() => remarks.push(Remark::caution(
                "meets-nothing",
                format!(
                    "no edge{of} lies on the left of {name} as it goes from its first end to the second: it meets \
                     nothing. If it is the other way round, change `from` and `to`"
                ),
            )),
            Shape::Pin { .. } if covers => remarks.push(Remark::caution(
                "pin-in-part",
                format!(
                    "{name} lies in the part at rest: edges{of} that are in it never meet it. Move it, or make it \
                     smaller"
                ),
            )),
            Shape::Pin { .. } if gap.is_none() => remarks.push(Remark::caution(
                "meets-nothing",
                format!("there is no edge{of} that {name} could meet"),
            )),
            _ => {}
        }
    }
}

/// A case whose edges push on each other where they touch.
#[must_use]
pub fn in_contact(case: &Case) -> Case {
    let mut case = case.clone();
    case.self_contact = SelfContact::On;
    case
}

/// Parts what is met and pushes back from what ends the draw.
pub(super) fn told_apart(case: &Case, limits: Vec<Limit>) -> (Vec<Meeting>, Vec<Limit>) {
    let itself = case.self_contact == SelfContact::On;
    let meets = |l: &Limit| l.kind == LimitKind::Meets || (l.kind == LimitKind::Touch && itself);
    let (met, left): (Vec<Limit>, Vec<Limit>) = limits.into_iter().partition(meets);
    let meeting = |l: Limit| Meeting {
        obstacle: l.region,
        fraction: l.fraction,
        travel: l.travel,
        place: l.place,
    };
    (met.into_iter().map(meeting).collect(), left)
}

/// Sum of the forces of a state on a rail or pin, or of the part on itself (N).
#[must_use]
pub fn push(step: &Step, obstacle: Option<&str>) -> f64 {
    let of = step.pushing.touches.iter().filter(|t| t.obstacle.as_deref() == obstacle);
    of.map(|t| t.force[0].hypot(t.force[1])).sum()
}

/// Says what contact was computed, and where it is not to be trusted.
pub(super) fn remark_on_contact(
    case: &Case,
    steps: &[Step],
    states: &[Narrowest],
    meetings: &[Meeting],
    remarks: &mut Vec<Remark>,
) {
    if case.self_contact == SelfContact::On
        && let Some(first) = meetings.iter().find(|m| m.obstacle.is_none())
    {
        let place = first.place.map_or_else(String::new, |[x, y]| {
            format!(", near ({}, {}) mm at rest", three_digits(x), three_digits(y))
        });
        remarks.push(Remark::note(
            "contact",
            format!(
                "from {:.1} % of the draw on the part touches itself{place}: its edges push on each \
                 other there, without friction",
                100.0 * first.fraction
            ),
        ));
    }
    let own = |s: &Step| s.pushing.touches.iter().any(|t| t.obstacle.is_none());
    let through =
        steps.iter().zip(states).find(|(step, state)| state.crossing.is_some() && !own(step));
    if case.self_contact == SelfContact::On
        && let Some((step, _)) = through
    {
        remarks.push(Remark::error(
            RUNS_THROUGH,
            format!(
                "at {:.1} % of the draw edges have run through each other: no number from there on is \
                 that of a real part. Solve it in more steps",
                100.0 * step.fraction
            ),
        ));
    }
    let share = |s: &Step| s.pushing.overlap_energy / s.strain_energy;
    let pushing = steps.iter().filter(|s| !s.pushing.touches.is_empty());
    let overlap = largest(0.0, pushing.map(share));
    if overlap > MOST_OVERLAP {
        remarks.push(Remark::caution(
            OVERLAP,
            format!(
                "surfaces that push overlap a little in the computation, and {:.1} % of the energy is in \
                 that overlap: forces are that much too small",
                100.0 * overlap
            ),
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use withy_mesh::{Loop, Outline, Sizing, mesh_outline};

    /// A bar from (0, 0) to (20, 2).
    fn bar() -> Mesh {
        let corners =
            [[0.0, 0.0], [20.0, 0.0], [20.0, 2.0], [0.0, 2.0]].map(|[x, y]| Point::new(x, y));
        let line = |k: usize| Curve::Line(corners[k], corners[(k + 1) % 4]);
        let outline = Loop { curves: (0..4).map(line).collect(), origin: "a bar".into() };
        mesh_outline(&Outline::new(vec![outline], Vec::new()).unwrap(), &Sizing::default()).unwrap()
    }

    fn standing_of(shape: Shape) -> Standing {
        standing(&Obstacle { name: "it".into(), shape, region: None }, &bar())
    }

    #[test]
    fn rails_and_pins_are_told_by_how_they_stand() {
        let rail = |from: [f64; 2], to: [f64; 2]| standing_of(Shape::Rail { from, to });
        let pin = |at: [f64; 2], radius: f64| standing_of(Shape::Pin { at, radius });
        let none = Standing { gap: None, covers: true };
        assert_eq!(rail([2.0, 0.0], [8.0, 0.0]).gap, Some(0.0), "flush");
        assert_eq!(rail([8.0, 0.0], [2.0, 0.0]), none, "flush from the wrong side");
        let below = rail([2.0, -0.5], [8.0, -0.5]);
        assert!(!below.covers && (below.gap.unwrap() - 0.5).abs() < 1e-12, "{below:?}");
        assert_eq!(rail([8.0, -0.5], [2.0, -0.5]), none, "all of the part is behind it");
        // 3 and 4 away from the corner at (20, 2), in front of its line.
        let far = rail([23.0, 6.0], [23.0, 9.0]);
        assert!(!far.covers && (far.gap.unwrap() - 5.0).abs() < 1e-12, "{far:?}");
        let above = pin([10.0, 4.0], 1.5);
        assert!(!above.covers && (above.gap.unwrap() - 0.5).abs() < 0.1, "{above:?}");
        assert!(pin([10.0, 2.2], 0.5).covers, "in the part");
    }
}
