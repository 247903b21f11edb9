//! Stress along free edges from the tangential stretch.
//!
//! On an edge without traction S N = 0, so S = S_tt T T' and everything follows from one number,
//! E_tt = (|dx/ds|^2 / |dX/ds|^2 - 1) / 2, which only needs the edge's own nodes. It is most accurate
//! at the two Gauss points of each 3-node edge; a quadratic fitted to the nearest of them gives the
//! nodes. Fits run through tangent-continuous joints and stop at corners. Where an edge meets a line of symmetry at a
//! right angle, they run on into its mirror image: an edge that ends there has neighbours on both sides, too.

use super::weights::{Fit, Weights, weight};
use super::{FREE, bead_at};
use crate::material::Law;
use crate::model::Model;
use crate::quadrature::EDGE_DEGREE_3;
use crate::triangle::{edge_derivatives, places};
use withy_mesh::{BoundaryEdge, Mesh, NodeId};

/// The direction may turn by this much between neighbouring edges of one smooth stretch (rad): more
/// than a drawn-over joint of two curves, less than a corner that changes the stress field.
const SMOOTH_TURN: f64 = 0.2;

/// An edge meets a line of symmetry at a right angle if the cosine between its tangent and the line's normal is no less
/// (2.6 degrees; meshes follow curves better than that).
const RIGHT_ANGLE: f64 = 0.999;

/// Weights from edge Gauss points (2 edge + point) to nodes on free edges.
#[derive(Clone, Debug)]
pub(crate) struct EdgeRecovery {
    edges: Vec<BoundaryEdge>,
    /// Mesh node and unit tangent of each row.
    rows: Vec<(u32, [f64; 2])>,
    weights: Weights,
}

impl EdgeRecovery {
    pub(crate) fn new(model: &Model, owner: &[u32], pressed: &[bool]) -> Self {
        let mesh = model.mesh();
        let loaded = not_traction_free(model, owner);
        let edges: Vec<BoundaryEdge> = mesh
            .boundary()
            .iter()
            .zip(pressed)
            .filter(|(e, pressed)| !**pressed && !e.nodes.iter().all(|n| loaded[n.index()]))
            .map(|(e, _)| *e)
            .collect();
        let mut recovery = Self { edges, rows: Vec::new(), weights: Weights::new() };
        let lines = lines_of_symmetry(model, owner);
        for mut chain in chains(mesh, &recovery.edges) {
            chain.mirrors = recovery.mirrors(mesh, &chain, &lines);
            recovery.add_chain(mesh, &chain);
        }
        recovery
    }

    /// Replaces the strains of nodes on free edges by the edge's own.
    pub(crate) fn overwrite(
        &self,
        model: &Model,
        displacements: &[[f64; 2]],
        beads: &[[f64; 2]],
        strain: &mut [[f64; 3]],
    ) {
        let mesh = model.mesh();
        let samples: Vec<f64> = self
            .edges
            .iter()
            .flat_map(|e| EDGE_DEGREE_3.map(|(s, _)| tangential_strain(mesh, e, displacements, s)))
            .collect();
        for (row, (node, tangent)) in self.rows.iter().enumerate() {
            let value = self.weights.row(row).map(|(k, w)| w * samples[k]).sum();
            let bead = bead_at(beads, *node as usize);
            strain[*node as usize] = model.law().edge_strain(value, *tangent, bead);
        }
    }

    /// Whether each end of a chain lies on a line of symmetry that it meets at a right angle.
    fn mirrors(&self, mesh: &Mesh, chain: &Chain, lines: &[[bool; 2]]) -> [bool; 2] {
        let count = chain.edges.len();
        let ends = [(0, 0, 0.0), (count - 1, 2, 1.0)];
        ends.map(|(i, node, s)| {
            let edge = &self.edges[chain.edges[i]];
            let along = tangent(mesh, edge, s);
            let normal = lines[edge.nodes[node].index()];
            (0..2).any(|d| normal[d] && along[d].abs() >= RIGHT_ANGLE)
        })
    }

    fn add_chain(&mut self, mesh: &Mesh, chain: &Chain) {
        let lengths: Vec<f64> =
            chain.edges.iter().map(|&e| chord_length(mesh, &self.edges[e])).collect();
        let count = chain.edges.len();
        for i in 0..count {
            // Mid-side node from its edge and both neighbours, end node from two edges each side.
            self.add_node(mesh, chain, &lengths, i, 0.5, [1, 1]);
            if i + 1 < count || chain.closed {
                self.add_node(mesh, chain, &lengths, i, 1.0, [1, 2]);
            }
        }
        if !chain.closed {
            // Samples that lie alike on both sides need no more: their odd terms cancel.
            let [first, last] = chain.mirrors;
            let reach = [if first { [1, 0] } else { [0, 2] }, if last { [0, 1] } else { [2, 0] }];
            self.add_node(mesh, chain, &lengths, 0, 0.0, reach[0]);
            self.add_node(mesh, chain, &lengths, count - 1, 1.0, reach[1]);
        }
    }

    /// Adds the node at `s` of edge `i` of a chain, fitted over `reach` edges before and after it.
    fn add_node(
        &mut self,
        mesh: &Mesh,
        chain: &Chain,
        lengths: &[f64],
        i: usize,
        s: f64,
        reach: [usize; 2],
    ) {
        let window = chain.window(i, reach);
        // Positions along the chain measured from the node, in units of the own edge.
        let unit = lengths[i];
        let mut basis = Vec::new();
        let mut samples = Vec::new();
        let mut start = -s * unit - window.before.iter().map(|place| lengths[place.0]).sum::<f64>();
        for &(k, side) in window.before.iter().chain([&(i, Side::Own)]).chain(&window.after) {
            for (point, (t, _)) in EDGE_DEGREE_3.into_iter().enumerate() {
                let t = if side == Side::Mirrored { 1.0 - t } else { t };
                let x = (start + t * lengths[k]) / unit;
                basis.push([1.0, x, x * x, 0.0, 0.0, 0.0]);
                samples.push(crate::dofs::index(2 * chain.edges[k] + point));
            }
            start += lengths[k];
        }
        let place = [1.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        if let Some(fit) = [3, 2, 1].into_iter().find_map(|terms| Fit::new(&basis, terms)) {
            let at = fit.at(&place);
            let weights = basis.iter().map(|sample| weight(&at, sample));
            let edge = &self.edges[chain.edges[i]];
            let local = if s < 0.25 {
                0
            } else if s < 0.75 {
                1
            } else {
                2
            };
            self.rows.push((edge.nodes[local].0, tangent(mesh, edge, s)));
            self.weights.push(samples.into_iter().zip(weights));
        }
    }
}

/// A run of edges along which the outline is smooth.
struct Chain {
    /// Indices into the free edges.
    edges: Vec<usize>,
    closed: bool,
    /// Whether it goes on in its mirror image before its first edge, and behind its last one.
    mirrors: [bool; 2],
}

/// On which side of a line of symmetry an edge is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Own,
    Mirrored,
}

/// Positions in a chain before and after an edge, in order.
struct Window {
    before: Vec<(usize, Side)>,
    after: Vec<(usize, Side)>,
}

impl Chain {
    fn window(&self, i: usize, [before, after]: [usize; 2]) -> Window {
        let n = self.edges.len();
        if self.closed && n > before + after {
            let own = |k: usize| (k % n, Side::Own);
            return Window {
                before: (1..=before).rev().map(|k| own(i + n - k)).collect(),
                after: (1..=after).map(|k| own(i + k)).collect(),
            };
        }
        // A mirror image is as long as the chain.
        let room = [(i, self.mirrors[0]), (n - 1 - i, self.mirrors[1])];
        let room = room.map(|(own, goes_on)| if goes_on { own + n } else { own });
        // At an end the window is shifted inwards, so that it keeps its number of samples.
        let (low, high) = (room[0].min(before), room[1].min(after));
        let low = (low + after - high).min(room[0]);
        let high = (high + before.saturating_sub(low.min(before))).min(room[1]);
        let back = |k: usize| if k <= i { (i - k, Side::Own) } else { (k - i - 1, Side::Mirrored) };
        let forth = |k: usize| {
            if i + k < n { (i + k, Side::Own) } else { (2 * n - 1 - i - k, Side::Mirrored) }
        };
        Window {
            before: (1..=low).rev().map(back).collect(),
            after: (1..=high).map(forth).collect(),
        }
    }
}

/// Splits the free edges, which come in order along each loop, into smooth runs.
fn chains(mesh: &Mesh, edges: &[BoundaryEdge]) -> Vec<Chain> {
    let mut chains: Vec<Chain> = Vec::new();
    let joined = |a: &BoundaryEdge, b: &BoundaryEdge| {
        let (ta, tb) = (tangent(mesh, a, 1.0), tangent(mesh, b, 0.0));
        let turn = (ta[0] * tb[1] - ta[1] * tb[0]).atan2(ta[0] * tb[0] + ta[1] * tb[1]);
        a.nodes[2] == b.nodes[0] && turn.abs() <= SMOOTH_TURN
    };
    for e in 0..edges.len() {
        match chains.last_mut() {
            Some(chain) if joined(&edges[e - 1], &edges[e]) => chain.edges.push(e),
            _ => chains.push(Chain { edges: vec![e], closed: false, mirrors: [false; 2] }),
        }
    }
    close_loops(&joined, edges, &mut chains);
    chains
}

/// Joins the last run of a loop to its first where the loop is smooth there too.
fn close_loops(
    joined: &impl Fn(&BoundaryEdge, &BoundaryEdge) -> bool,
    edges: &[BoundaryEdge],
    chains: &mut Vec<Chain>,
) {
    let mut first = 0;
    while first < chains.len() {
        let same_loop =
            |c: &Chain| edges[c.edges[0]].loop_index == edges[chains[first].edges[0]].loop_index;
        let last = (first..chains.len()).rfind(|&k| same_loop(&chains[k])).unwrap_or(first);
        let head = chains[first].edges[0];
        let tail = chains[last].edges[chains[last].edges.len() - 1];
        if joined(&edges[tail], &edges[head]) {
            if last == first {
                chains[first].closed = true;
            } else {
                let mut run = std::mem::take(&mut chains[last].edges);
                run.append(&mut chains[first].edges);
                chains[first].edges = run;
                chains.remove(last);
                first = last;
                continue;
            }
        }
        first = last + 1;
    }
}

/// Nodes at which an edge cannot be taken as free: clamped, rigid, on a roller, or under a force.
fn not_traction_free(model: &Model, owner: &[u32]) -> Vec<bool> {
    let mut loaded: Vec<bool> = owner.iter().map(|&o| o != FREE).collect();
    let forced = model.forces_on_nodes().iter().map(|f| &f.node);
    for n in model.supports().iter().flat_map(|s| &s.nodes).chain(forced) {
        loaded[n.index()] = true;
    }
    loaded
}

/// Nodes at the ends of straight lines that may only slide along themselves, by the direction across: a part of an
/// isotropic law is one half of a symmetric one there.
fn lines_of_symmetry(model: &Model, owner: &[u32]) -> Vec<[bool; 2]> {
    let mesh = model.mesh();
    let mut lines = vec![[false; 2]; mesh.nodes().len()];
    if matches!(model.law(), Law::Orthotropic(..)) {
        return lines;
    }
    let mut held = vec![[false; 2]; mesh.nodes().len()];
    for support in model.supports() {
        for n in &support.nodes {
            for d in 0..2 {
                held[n.index()][d] |= support.displacement[d].is_some();
            }
        }
    }
    for edge in mesh.boundary() {
        for d in 0..2 {
            let slides = |n: &NodeId| {
                owner[n.index()] == FREE && held[n.index()][d] && !held[n.index()][1 - d]
            };
            if edge.nodes.iter().all(slides) {
                lines[edge.nodes[0].index()][d] = true;
                lines[edge.nodes[2].index()][d] = true;
            }
        }
    }
    lines
}

fn derivative(x: &[[f64; 2]; 3], s: f64) -> [f64; 2] {
    let d = edge_derivatives(s);
    [0, 1].map(|i| (0..3).map(|a| d[a] * x[a][i]).sum())
}

fn tangent(mesh: &Mesh, edge: &BoundaryEdge, s: f64) -> [f64; 2] {
    let d = derivative(&places(mesh, &edge.nodes), s);
    let length = d[0].hypot(d[1]);
    d.map(|d| d / length)
}

/// Arc length of an edge by its Gauss points (mm).
fn chord_length(mesh: &Mesh, edge: &BoundaryEdge) -> f64 {
    let x = places(mesh, &edge.nodes);
    EDGE_DEGREE_3
        .into_iter()
        .map(|(s, w)| {
            let d = derivative(&x, s);
            w * d[0].hypot(d[1])
        })
        .sum()
}

fn tangential_strain(mesh: &Mesh, edge: &BoundaryEdge, u: &[[f64; 2]], s: f64) -> f64 {
    let x = places(mesh, &edge.nodes);
    let dx = derivative(&x, s);
    let du = derivative(&edge.nodes.map(|n| u[n.index()]), s);
    // (|X' + u'|^2 - |X'|^2) / (2 |X'|^2), expanded so that small strains keep their digits.
    (dx[0] * du[0] + dx[1] * du[1] + 0.5 * (du[0] * du[0] + du[1] * du[1]))
        / (dx[0] * dx[0] + dx[1] * dx[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_keep_their_size_at_the_ends_of_a_chain() {
        let chain = Chain { edges: (0..6).collect(), closed: false, mirrors: [false; 2] };
        for i in 0..6 {
            for reach in [[1, 1], [1, 2], [0, 2], [2, 0]] {
                let w = chain.window(i, reach);
                let size = w.before.len() + w.after.len();
                assert_eq!(size, reach[0] + reach[1], "edge {i}, reach {reach:?}");
            }
        }
        let ring = Chain { edges: (0..6).collect(), closed: true, mirrors: [false; 2] };
        let (own, image) = (|k| (k, Side::Own), |k| (k, Side::Mirrored));
        assert_eq!(ring.window(0, [1, 2]).before, vec![own(5)], "a closed chain wraps");
        assert_eq!(ring.window(5, [1, 2]).after, vec![own(0), own(1)], "a closed chain wraps");
        let half = Chain { edges: (0..6).collect(), closed: false, mirrors: [true, false] };
        assert_eq!(half.window(0, [2, 1]).before, vec![image(1), image(0)], "its mirror image");
        assert_eq!(half.window(0, [2, 1]).after, vec![own(1)], "and itself");
        assert_eq!(half.window(5, [1, 2]).after, vec![], "no image at the other end");
    }
}
