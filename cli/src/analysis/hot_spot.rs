//! The place that suffers most over the whole surface and the whole draw.

use super::{Pass, StepPeaks, feature};
use crate::case::Case;
use crate::picture::three_digits;
use crate::remark::Remark;
use withy_mesh::number::max;
use withy_mesh::{Mesh, NodeId};
use withy_solver::stress::{NodeStress, Recovery};
use withy_solver::{EquilibriumPath, Step};

/// A joint of two pieces of the outline counts as sharp when it turns inwards by more than this
/// (rad). Below it the singularity is so weak (exponent under 0.1) that a facetted curve, as some
/// drawing programs write it, is meant.
const SHARP_TURN: f64 = 0.35;

/// A sharp re-entrant corner: the elastic stress there has no finite value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Place at rest (mm).
    pub at: [f64; 2],
    /// Interior angle (rad).
    pub angle: f64,
    /// Stresses closer than this are left out of peaks (mm).
    pub radius: f64,
}

/// Whether the hot spot has a finite stress.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpotKind {
    /// It has.
    Finite,
    /// A sharp corner suffers more than any other place; its stress has no finite value.
    SharpCorner,
}

/// The place that suffers most.
#[derive(Clone, Debug, PartialEq)]
pub struct HotSpot {
    /// Place at rest (mm).
    pub at: [f64; 2],
    /// Place when it suffers most (mm).
    pub now: [f64; 2],
    /// Fraction of the draw at which it suffers most.
    pub fraction: f64,
    /// Von Mises stress (MPa); at a sharp corner the largest value away from corners.
    pub von_mises: f64,
    /// Largest principal stress at the same place (MPa).
    pub tension: f64,
    /// Largest nominal strain at the same place.
    pub strain: f64,
    /// Estimated relative error of the stress.
    pub estimated_error: f64,
    /// The feature it sits on, in words.
    pub near: String,
    /// Whether its stress is finite.
    pub kind: SpotKind,
}

/// Sharp re-entrant corners of a case's part, with the zone around each that the first mesh gives it.
///
/// Corners inside or on a held, driven or loaded region are not listed: stress there is artificial
/// anyway.
pub(super) fn corners(case: &Case, mesh: &Mesh) -> Vec<Corner> {
    let acting: Vec<&str> = case
        .holds
        .iter()
        .map(|h| h.region.as_str())
        .chain(case.drives.iter().map(|d| d.region.as_str()))
        .chain(case.loads.iter().map(|l| l.region.as_str()))
        .collect();
    let regions = mesh.regions().iter().filter(|r| acting.contains(&r.name.as_str()));
    let mut taken = vec![false; mesh.nodes().len()];
    for n in regions.flat_map(|r| &r.nodes) {
        taken[n.index()] = true;
    }
    case.outline
        .sharp_reentrant_corners()
        .into_iter()
        .filter(|c| c.angle > std::f64::consts::PI + SHARP_TURN)
        .filter_map(|c| {
            let node = nearest_node(mesh, [c.at.x, c.at.y])?;
            let radius = longest_edge_at(mesh, node);
            (!taken[node.index()]).then_some(Corner {
                at: [c.at.x, c.at.y],
                angle: c.angle,
                radius,
            })
        })
        .collect()
}

fn nearest_node(mesh: &Mesh, at: [f64; 2]) -> Option<NodeId> {
    let distance = |n: &NodeId| {
        let p = mesh.nodes()[n.index()];
        (p.x - at[0]).hypot(p.y - at[1])
    };
    let on_border = mesh.boundary().iter().map(|e| e.nodes[0]);
    on_border.min_by(|a, b| distance(a).total_cmp(&distance(b)))
}

fn longest_edge_at(mesh: &Mesh, node: NodeId) -> f64 {
    let place = |n: NodeId| mesh.nodes()[n.index()];
    let around = mesh.elements().iter().filter(|e| e[..3].contains(&node));
    around.flat_map(|e| e[..3].iter()).map(|n| place(*n).distance(place(node))).fold(0.0, max)
}

/// Nodes whose stress is artificial or singular.
pub(super) fn left_out(mesh: &Mesh, artificial: &[bool], corners: &[Corner]) -> Vec<bool> {
    let near = |i: usize, c: &Corner| {
        let p = mesh.nodes()[i];
        (p.x - c.at[0]).hypot(p.y - c.at[1]) <= c.radius
    };
    (0..artificial.len()).map(|i| artificial[i] || corners.iter().any(|c| near(i, c))).collect()
}

/// Watches the states of a path for the largest stress.
pub(super) struct Tracker<'a> {
    recovery: &'a Recovery<'a>,
    mesh: &'a Mesh,
    left_out: &'a [bool],
    corners: &'a [Corner],
    best: Option<Best>,
    /// Largest stress around each corner over the draw (MPa).
    around: Vec<f64>,
    /// How many states were looked at.
    seen: usize,
    shown: Vec<NodeStress>,
}

/// The worst so far.
struct Best {
    node: NodeId,
    /// Which of the states seen.
    step: usize,
    stress: NodeStress,
}

impl<'a> Tracker<'a> {
    pub(super) fn new(
        recovery: &'a Recovery<'a>,
        mesh: &'a Mesh,
        left_out: &'a [bool],
        corners: &'a [Corner],
    ) -> Self {
        let around = vec![0.0; corners.len()];
        Self { recovery, mesh, left_out, corners, best: None, around, seen: 0, shown: Vec::new() }
    }

    /// Looks at the states of a path in order, and stops before the first one without a finite
    /// stress: such a state balances its forces, but the law gives it no true stress, and its NaN
    /// would read as no stress at all.
    pub(super) fn walk(&mut self, steps: &[Step]) -> Vec<StepPeaks> {
        steps.iter().map_while(|step| self.add(step)).collect()
    }

    /// Looks at one more state; takes nothing from it if its stress is not finite.
    fn add(&mut self, step: &Step) -> Option<StepPeaks> {
        let field = self.recovery.field(&step.displacements);
        let peak = |measure: fn(&NodeStress) -> f64| {
            field.peak(self.left_out, measure).map_or(0.0, |p| p.value)
        };
        let peaks = StepPeaks {
            von_mises: peak(|s| s.von_mises),
            tension: peak(|s| s.tension),
            strain: peak(|s| s.strain),
        };
        if ![peaks.von_mises, peaks.tension, peaks.strain].iter().all(|p| p.is_finite()) {
            return None;
        }
        self.look_at_corners(&field.stress);
        let worst = field.peak(self.left_out, |s| s.von_mises);
        let before = self.best.as_ref().map_or(0.0, |b| b.stress.von_mises);
        if let Some(worst) = worst.filter(|w| w.value >= before) {
            let stress = field.stress[worst.node.index()];
            self.best = Some(Best { node: worst.node, step: self.seen, stress });
        }
        self.seen += 1;
        self.shown = field.stress;
        Some(peaks)
    }

    /// Estimated relative error in energy norm of the elements around a node.
    fn local_error(&self, node: NodeId, step: &Step) -> f64 {
        let field = self.recovery.field(&step.displacements);
        let error = self.recovery.error(&step.displacements, &field);
        let touching: Vec<usize> = (0..self.mesh.elements().len())
            .filter(|&e| self.mesh.elements()[e].contains(&node))
            .collect();
        error.relative_over(&touching)
    }

    fn look_at_corners(&mut self, stress: &[NodeStress]) {
        let artificial = self.recovery.artificial();
        for (corner, highest) in self.corners.iter().zip(&mut self.around) {
            for (i, p) in self.mesh.nodes().iter().enumerate().filter(|(i, _)| !artificial[*i]) {
                if (p.x - corner.at[0]).hypot(p.y - corner.at[1]) <= corner.radius {
                    *highest = max(*highest, stress[i].von_mises);
                }
            }
        }
    }

    /// The hot spot, and the stresses of the last state, of the path that was walked.
    pub(super) fn finish(
        self,
        path: &EquilibriumPath,
        passes: &[Pass],
    ) -> (HotSpot, Vec<NodeStress>) {
        let (place, now, fraction, stress, local_error, near) = match &self.best {
            Some(best) => {
                let (p, step) = (self.mesh.nodes()[best.node.index()], &path.steps[best.step]);
                let u = step.displacements[best.node.index()];
                let (at, now) = ([p.x, p.y], [p.x + u[0], p.y + u[1]]);
                let error = self.local_error(best.node, step);
                let near = feature::describe(self.mesh, best.node);
                (at, now, step.fraction, best.stress, error, near)
            }
            // Every node is clamped, rigid or next to it: there is no free surface to look at.
            None => {
                let zero =
                    NodeStress { von_mises: 0.0, tension: 0.0, compression: 0.0, strain: 0.0 };
                ([0.0; 2], [0.0; 2], 0.0, zero, 0.0, "no free surface".to_owned())
            }
        };
        let mut spot = HotSpot {
            at: place,
            now,
            fraction,
            von_mises: stress.von_mises,
            tension: stress.tension,
            strain: stress.strain,
            estimated_error: estimated_error(passes, local_error),
            near,
            kind: SpotKind::Finite,
        };
        let worst = (0..self.corners.len())
            .max_by(|&a, &b| self.around[a].total_cmp(&self.around[b]))
            .filter(|&c| self.around[c] > spot.von_mises);
        if let Some(c) = worst {
            let corner = self.corners[c];
            let degrees = corner.angle.to_degrees();
            spot.kind = SpotKind::SharpCorner;
            spot.at = corner.at;
            spot.now = moved(self.mesh, path, corner.at);
            spot.near = format!("sharp re-entrant corner of {degrees:.0} deg");
        }
        (spot, self.shown)
    }
}

/// Where a point of the outline is in the last state.
fn moved(mesh: &Mesh, path: &EquilibriumPath, at: [f64; 2]) -> [f64; 2] {
    match (nearest_node(mesh, at), path.steps.last()) {
        (Some(n), Some(step)) => {
            let u = step.displacements[n.index()];
            [at[0] + u[0], at[1] + u[1]]
        }
        _ => at,
    }
}

/// The peak's change over the last two meshes, or what the recovered stress misses locally (half of
/// the energy-norm error of the elements there: recovered stresses converge faster than raw ones).
fn estimated_error(passes: &[Pass], local: f64) -> f64 {
    let local = 0.5 * local;
    match passes {
        [.., before, last] => {
            max(((last.von_mises - before.von_mises) / last.von_mises).abs(), local)
        }
        _ => local,
    }
}

/// Says where the outline's own corners make the stress unbounded.
pub(super) fn remark_on_corners(spot: &HotSpot, corners: &[Corner], remarks: &mut Vec<Remark>) {
    if corners.is_empty() {
        return;
    }
    let places: Vec<String> = corners
        .iter()
        .map(|c| format!("({}, {})", three_digits(c.at[0]), three_digits(c.at[1])))
        .collect();
    let places = places.join(", ");
    remarks.push(match spot.kind {
        SpotKind::SharpCorner => Remark::caution(
            "sharp-corner",
            format!(
                "the part suffers most at a sharp re-entrant corner, where the stress has no finite \
                 value: it grows with every finer mesh, and cracks start there. Round it in the \
                 drawing, or with fillet in [outline]. Corners at {places} mm"
            ),
        ),
        SpotKind::Finite => Remark::note(
            "sharp-corner",
            format!(
                "no stress is given at sharp re-entrant corners, where it has no finite value; they \
                 suffer less than the hot spot here. Corners at {places} mm"
            ),
        ),
    });
}
