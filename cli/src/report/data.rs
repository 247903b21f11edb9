//! What the page's script works with: the packed part, its states, and the numbers of each state.

use super::pack::{self, Net, PackedNet, PackedState};
use crate::analysis::{Analysis, Axis, marks, model, moving_regions};
use crate::case::Case;
use crate::picture::{Mark, Role, heat_colours};
use serde::Serialize;
use withy_mesh::number::{largest, max};
use withy_mesh::{Mesh, NodeId};
use withy_solver::stress::Recovery;
use withy_solver::{ModelError, Step};

/// Colours of the heat scale that the page is given; between them it interpolates.
const COLOURS: u32 = 64;
/// Half of the close-up's width by the part's diagonal.
const CLOSE: f64 = 0.05;

/// All of it.
#[derive(Debug, Serialize)]
pub(super) struct Data {
    /// The numbers of each state, rest first.
    pub(super) rows: Vec<Numbers>,
    pub(super) moving: Vec<Moving>,
    net: PackedNet,
    states: Vec<PackedState>,
    /// End of the stress scale (MPa).
    pub(super) highest: f64,
    heat: Vec<String>,
    /// What all states together cover: x, y of the lower left corner, then of the upper right one (mm).
    pub(super) bounds: [f64; 4],
    marks: Vec<PackedMark>,
    hot: Hot,
}

/// The numbers of a state.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Numbers {
    pub(super) fraction: f64,
    /// By moving region (mm or degrees).
    pub(super) travel: Vec<f64>,
    /// By moving region (N or N mm).
    pub(super) effort: Vec<f64>,
    pub(super) energy: f64,
    pub(super) stress: f64,
    pub(super) strain: f64,
    pub(super) lateral: Option<f64>,
    pub(super) yaw: Option<f64>,
    pub(super) gap: Option<f64>,
    pub(super) stable: bool,
    /// Whether the part snaps between the state before and this one: nothing lies between them.
    pub(super) snaps: bool,
}

/// A moving region.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Moving {
    pub(super) name: String,
    pub(super) units: [&'static str; 2],
}

#[derive(Debug, Serialize)]
struct PackedMark {
    driven: bool,
    /// Borders of the area that the region covers.
    areas: Vec<Vec<u32>>,
    /// Border edges of the part in the region: ends and middle.
    edges: Vec<[u32; 3]>,
    /// Where it goes (mm), and the point nearest to its middle.
    arrow: Option<([f64; 2], u32)>,
}

#[derive(Debug, Serialize)]
struct Hot {
    /// The drawn point nearest to the hot spot.
    point: usize,
    /// Half of the close-up's width (mm).
    half: f64,
}

impl Data {
    /// Gathers it from an analysis.
    ///
    /// # Errors
    /// Never for a model that was solved; the signature is the model's.
    pub(super) fn new(case: &Case, analysis: &Analysis) -> Result<Self, ModelError> {
        let (mesh, solution) = (&analysis.mesh, &analysis.solution);
        let model = model(case, mesh, solution.state)?;
        let recovery = Recovery::of_states(&model, &solution.path.steps);
        let net = Net::of(mesh);
        let steps = &solution.path.steps;
        let highest = largest(0.0, solution.peaks.iter().map(|p| p.von_mises));
        let highest = if highest > 0.0 { highest } else { 1.0 };
        let worst = steps
            .iter()
            .position(|s| s.fraction >= solution.hot_spot.fraction)
            .map_or(0, |n| n + 1);
        let states = pack::chosen(&net, steps.len(), worst, pack::BUDGET)
            .into_iter()
            .filter_map(|n| {
                let step = steps.get(n.checked_sub(1)?)?;
                let field = recovery.field(&step.displacements);
                let vectors = pack::vectors(&net, model.law().elastic(), &field);
                Some(pack::pack_state(&net, n, &step.displacements, &vectors, highest))
            })
            .collect();
        let box_ = case.outline.bounds();
        Ok(Self {
            rows: rows(case, analysis),
            moving: moving_regions(case)
                .into_iter()
                .map(|name| Moving { name: name.to_owned(), units: Axis::of(case, name).units() })
                .collect(),
            bounds: bounds(mesh, steps),
            states,
            highest,
            heat: heat_colours(COLOURS),
            marks: marks(case, mesh).iter().map(|m| packed_mark(mesh, &net, m)).collect(),
            hot: Hot {
                point: nearest(mesh, &net, solution.hot_spot.at),
                half: CLOSE * box_.width().hypot(box_.height()),
            },
            net: pack::pack_net(mesh, &net),
        })
    }
}

fn rows(case: &Case, analysis: &Analysis) -> Vec<Numbers> {
    let solution = &analysis.solution;
    let moving = moving_regions(case);
    let rest = Numbers {
        fraction: 0.0,
        travel: vec![0.0; moving.len()],
        effort: vec![0.0; moving.len()],
        energy: 0.0,
        stress: 0.0,
        strain: 0.0,
        lateral: None,
        yaw: None,
        gap: None,
        stable: true,
        snaps: false,
    };
    let states = solution.path.steps.iter().enumerate().map(|(n, step)| {
        let axes = || moving.iter().map(|name| Axis::of(case, name)).enumerate();
        let guidance = solution.guidance.first().and_then(|g| g.get(n).copied().flatten());
        Numbers {
            fraction: step.fraction,
            travel: axes().map(|(k, axis)| axis.travel(step.rigid[k])).collect(),
            effort: axes().map(|(k, axis)| axis.effort(&step.reactions[k])).collect(),
            energy: step.strain_energy,
            stress: solution.peaks[n].von_mises,
            strain: solution.peaks[n].strain,
            lateral: guidance.map(|g| g.lateral),
            yaw: guidance.map(|g| g.yaw * 1f64.to_radians()),
            gap: solution.narrowest.get(n).and_then(withy_solver::Narrowest::width),
            stable: step.is_stable(),
            snaps: !step.snaps.is_empty(),
        }
    });
    std::iter::once(rest).chain(states).collect()
}

/// Lower left and upper right corner of all states together.
fn bounds(mesh: &Mesh, steps: &[Step]) -> [f64; 4] {
    let rest = vec![[0.0; 2]; mesh.nodes().len()];
    // The largest of the negatives is the negative of the smallest.
    let mut reach = [f64::NEG_INFINITY; 4];
    let moved = steps.iter().map(|s| s.displacements.as_slice());
    for displacements in std::iter::once(rest.as_slice()).chain(moved) {
        for (p, u) in mesh.nodes().iter().zip(displacements) {
            let [x, y] = [p.x + u[0], p.y + u[1]];
            reach = [max(reach[0], -x), max(reach[1], -y), max(reach[2], x), max(reach[3], y)];
        }
    }
    [-reach[0], -reach[1], reach[2], reach[3]]
}

fn packed_mark(mesh: &Mesh, net: &Net, mark: &Mark) -> PackedMark {
    let mut inside = vec![false; mesh.nodes().len()];
    for node in &mark.nodes {
        inside[node.index()] = true;
    }
    let is_inside = |n: &NodeId| inside[n.index()];
    let count = mark.nodes.len() as f64;
    let middle = |i: usize| {
        let place = |n: &NodeId| [mesh.nodes()[n.index()].x, mesh.nodes()[n.index()].y][i];
        mark.nodes.iter().map(place).sum::<f64>() / count
    };
    PackedMark {
        driven: mark.role != Role::Held,
        areas: net.loops(|e| mesh.elements()[e].iter().all(is_inside)),
        edges: mesh
            .boundary()
            .iter()
            .filter(|edge| edge.nodes.iter().all(is_inside))
            .filter_map(|edge| {
                let [a, m, b] = edge.nodes.map(|n| net.point(n));
                Some([a?, m?, b?])
            })
            .collect(),
        arrow: mark.arrow.filter(|_| !mark.nodes.is_empty()).and_then(|motion| {
            let at = u32::try_from(nearest(mesh, net, [middle(0), middle(1)])).ok()?;
            Some((motion, at))
        }),
    }
}

/// The drawn point nearest to a place of the part at rest.
fn nearest(mesh: &Mesh, net: &Net, at: [f64; 2]) -> usize {
    let distance = |n: &NodeId| {
        let p = mesh.nodes()[n.index()];
        (p.x - at[0]).hypot(p.y - at[1])
    };
    let best = net.nodes.iter().enumerate().min_by(|a, b| distance(a.1).total_cmp(&distance(b.1)));
    best.map_or(0, |(n, _)| n)
}
