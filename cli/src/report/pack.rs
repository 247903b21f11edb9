//! The part and its states in few bytes, for a page that draws them itself.
//!
//! Drawn are the corner nodes of the mesh and the mid-side nodes of its border: each element is split at
//! its border mid-side nodes, so that curved edges stay curved and no triangle's side ends inside
//! another's (no T-junctions). By state there are displacements in 16 bits and stress in three times 8:
//! not the von Mises stress itself but a vector whose length it is,
//!
//! ```text
//! v = (m - S33, sqrt(3) d, sqrt(3) S12),  m = (S11 + S22) / 2,  d = (S11 - S22) / 2
//! ```
//!
//! because its components run almost straight through a bent rib, where the von Mises stress has a kink
//! at the neutral line that no straight side between two nodes follows. |v|^2 is the von Mises stress
//! squared: (m - S33)^2 + 3 d^2 + 3 S12^2 is half the sum of the squared differences of the normal stresses plus
//! 3 S12^2. S is the second Piola-Kirchhoff stress, in axes that turn with the material; v is scaled so
//! that its length is the true (Cauchy) value at each node.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::Serialize;
use std::collections::BTreeSet;
use withy_mesh::number::largest;
use withy_mesh::{Mesh, NodeId};
use withy_solver::Elastic;
use withy_solver::stress::StressField;

/// Bytes of packed numbers that a page may carry; as base64 they take a third more.
pub(super) const BUDGET: usize = 1_150_000;

/// Displacements are whole multiples of their largest component by this.
const DISPLACEMENT_LEVELS: f64 = 32_767.0;
/// Stress components are whole multiples of the scale's end by this.
const STRESS_LEVELS: f64 = 127.0;
/// Places at rest are whole multiples of the part's larger side by this.
const PLACE_LEVELS: f64 = 65_535.0;
/// Bytes of a point in a state: two displacements, three stress components.
const BYTES_BY_STATE: usize = 7;

/// The drawn net: packed points and the triangles between them.
#[derive(Clone, Debug)]
pub(super) struct Net {
    /// The mesh node of each point.
    pub(super) nodes: Vec<NodeId>,
    /// Counter-clockwise triangles of points.
    pub(super) triangles: Vec<[u32; 3]>,
    /// The element that each triangle is a piece of.
    pub(super) element: Vec<usize>,
    /// The point of each mesh node that is drawn.
    point: Vec<Option<u32>>,
}

impl Net {
    /// The net of a mesh.
    pub(super) fn of(mesh: &Mesh) -> Self {
        let mut drawn = vec![false; mesh.nodes().len()];
        let mut on_border = vec![false; mesh.nodes().len()];
        for edge in mesh.boundary() {
            on_border[edge.nodes[1].index()] = true;
            drawn[edge.nodes[1].index()] = true;
        }
        for element in mesh.elements() {
            for node in &element[..3] {
                drawn[node.index()] = true;
            }
        }
        let mut point = vec![None; drawn.len()];
        let mut nodes = Vec::new();
        for (n, _) in drawn.iter().enumerate().filter(|(_, d)| **d) {
            // A mesh numbers its nodes in 32 bits.
            let (Ok(node), Ok(number)) = (u32::try_from(n), u32::try_from(nodes.len())) else {
                break;
            };
            point[n] = Some(number);
            nodes.push(NodeId(node));
        }
        let mut net = Self { nodes, triangles: Vec::new(), element: Vec::new(), point };
        for (e, element) in mesh.elements().iter().enumerate() {
            let n = element.map(NodeId::index);
            let at = |k: usize| net.point[n[k]].unwrap_or(0);
            let split = [3, 4, 5].map(|k| on_border[n[k]].then(|| at(k)));
            let pieces = pieces([at(0), at(1), at(2)], split);
            net.element.extend(pieces.iter().map(|_| e));
            net.triangles.extend(pieces);
        }
        net
    }

    /// The point of a mesh node, if it is drawn.
    pub(super) fn point(&self, node: NodeId) -> Option<u32> {
        self.point[node.index()]
    }

    /// Closed loops around the triangles of the chosen elements, material on the left.
    pub(super) fn loops(&self, chosen: impl Fn(usize) -> bool) -> Vec<Vec<u32>> {
        let mut sides: BTreeSet<(u32, u32)> = BTreeSet::new();
        let picked = self.triangles.iter().zip(&self.element).filter(|(_, e)| chosen(**e));
        for (t, _) in picked {
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                if !sides.remove(&(b, a)) {
                    sides.insert((a, b));
                }
            }
        }
        let mut loops = Vec::new();
        while let Some((start, mut at)) = sides.pop_first() {
            let mut ring = vec![start];
            while at != start {
                ring.push(at);
                let next = sides.range((at, 0)..=(at, u32::MAX)).next().copied();
                let Some(side) = next else { break };
                sides.remove(&side);
                at = side.1;
            }
            loops.push(ring);
        }
        loops
    }
}

/// An element cut at the mid-side points it is given; side k lies between corners k and k + 1.
fn pieces(c: [u32; 3], m: [Option<u32>; 3]) -> Vec<[u32; 3]> {
    match m {
        [None, None, None] => vec![c],
        [Some(a), Some(b), Some(d)] => {
            vec![[c[0], a, d], [a, c[1], b], [d, b, c[2]], [a, b, d]]
        }
        _ => {
            // Turned so that side 0 is cut, and side 2 is not.
            let k = (0..3).find(|k| m[*k].is_some() && m[(k + 2) % 3].is_none()).unwrap_or(0);
            let [p, q, r] = [0, 1, 2].map(|i| c[(k + i) % 3]);
            match (m[k], m[(k + 1) % 3]) {
                (Some(a), None) => vec![[p, a, r], [a, q, r]],
                (Some(a), Some(b)) => vec![[p, a, r], [a, q, b], [a, b, r]],
                _ => vec![c],
            }
        }
    }
}

/// The stress vector of each point of a net in a state (MPa).
pub(super) fn vectors(net: &Net, law: &Elastic, field: &StressField) -> Vec<[f64; 3]> {
    net.nodes
        .iter()
        .map(|node| {
            let n = node.index();
            stress_vector(law, field.strain[n], field.stress[n].von_mises)
        })
        .collect()
}

/// The vector of a strain, see the head of this file; its length is the von Mises stress of S.
fn of_strain(law: &Elastic, strain: [f64; 3]) -> [f64; 3] {
    let s = law.stress(strain);
    let (mean, half) = (0.5 * (s[0] + s[1]), 0.5 * (s[0] - s[1]));
    let root = 3f64.sqrt();
    [mean - law.thickness_stress(s), root * half, root * s[2]]
}

/// The same with the length of the true stress.
fn stress_vector(law: &Elastic, strain: [f64; 3], von_mises: f64) -> [f64; 3] {
    let v = of_strain(law, strain);
    let size = v.iter().map(|c| c * c).sum::<f64>().sqrt();
    if size > 0.0 && von_mises.is_finite() { v.map(|c| c * von_mises / size) } else { [0.0; 3] }
}

/// A net as the page reads it.
#[derive(Debug, Serialize)]
pub(super) struct PackedNet {
    /// Points.
    points: usize,
    /// Lower left corner of the part at rest (mm).
    corner: [f64; 2],
    /// Millimetres of one level of a place.
    place_mm: f64,
    /// Places at rest: x, y by point, 16 bits without sign.
    places: String,
    /// Whether triangles have 32 bits a corner, or 16.
    wide: bool,
    /// Three points by triangle.
    triangles: String,
    /// Loops of the outline.
    loops: Vec<Vec<u32>>,
}

/// A state as the page reads it.
#[derive(Debug, Serialize)]
pub(super) struct PackedState {
    /// Number of the reported state, rest being 0.
    state: usize,
    /// Millimetres of one level of displacement.
    level_mm: f64,
    /// Displacements: x, y by point, 16 bits with sign.
    displacements: String,
    /// Stress vectors: three components by point, 8 bits with sign, in 127ths of the scale's end.
    stress: String,
}

/// Packs a net.
pub(super) fn pack_net(mesh: &Mesh, net: &Net) -> PackedNet {
    let at = |n: &NodeId| {
        let p = mesh.nodes()[n.index()];
        [p.x, p.y]
    };
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for p in net.nodes.iter().map(at) {
        for i in 0..2 {
            low[i] = if p[i] < low[i] { p[i] } else { low[i] };
            high[i] = if p[i] > high[i] { p[i] } else { high[i] };
        }
    }
    let place_mm = largest(0.0, (0..2).map(|i| high[i] - low[i])) / PLACE_LEVELS;
    let places = net.nodes.iter().map(at).flat_map(|p| [0, 1].map(|i| (p[i] - low[i]) / place_mm));
    let wide = net.nodes.len() > usize::from(u16::MAX) + 1;
    let corners = net.triangles.iter().flatten();
    let triangles: Vec<u8> = if wide {
        corners.flat_map(|p| p.to_le_bytes()).collect()
    } else {
        corners.flat_map(|p| u16::try_from(*p).unwrap_or(u16::MAX).to_le_bytes()).collect()
    };
    PackedNet {
        points: net.nodes.len(),
        corner: low,
        place_mm,
        places: STANDARD
            .encode(places.flat_map(|v| level_u16(v).to_le_bytes()).collect::<Vec<u8>>()),
        wide,
        triangles: STANDARD.encode(triangles),
        loops: net.loops(|_| true),
    }
}

/// Packs a state: displacements by mesh node (mm), stress vectors by point, `highest` the end of the scale.
pub(super) fn pack_state(
    net: &Net,
    state: usize,
    displacements: &[[f64; 2]],
    vectors: &[[f64; 3]],
    highest: f64,
) -> PackedState {
    let moved = || net.nodes.iter().flat_map(|n| displacements[n.index()]);
    let size = largest(0.0, moved().map(f64::abs));
    let level_mm = if size > 0.0 { size / DISPLACEMENT_LEVELS } else { 1.0 };
    let bytes: Vec<u8> = moved().flat_map(|u| level_i16(u / level_mm).to_le_bytes()).collect();
    let stress: Vec<u8> = vectors
        .iter()
        .flat_map(|v| {
            let size = v.iter().map(|c| c * c).sum::<f64>().sqrt();
            // Artificial peaks of clamps and drives are painted as the end of the scale.
            let shown = if size > highest { highest / size } else { 1.0 };
            v.map(|c| level_i8(c * shown / highest * STRESS_LEVELS).to_le_bytes()[0])
        })
        .collect();
    PackedState {
        state,
        level_mm,
        displacements: STANDARD.encode(bytes),
        stress: STANDARD.encode(stress),
    }
}

#[expect(clippy::cast_possible_truncation, reason = "rounded and clamped to the type's range")]
#[expect(clippy::cast_sign_loss, reason = "rounded and clamped to the type's range")]
fn level_u16(v: f64) -> u16 {
    v.round().clamp(0.0, f64::from(u16::MAX)) as u16
}

#[expect(clippy::cast_possible_truncation, reason = "rounded and clamped to the type's range")]
fn level_i16(v: f64) -> i16 {
    v.round().clamp(f64::from(i16::MIN), f64::from(i16::MAX)) as i16
}

#[expect(clippy::cast_possible_truncation, reason = "rounded and clamped to the type's range")]
fn level_i8(v: f64) -> i8 {
    v.round().clamp(f64::from(i8::MIN), f64::from(i8::MAX)) as i8
}

/// Which of `count` reported states (numbered from 1) fit into the budget beside the net: evenly spread,
/// and always the worst one and the last.
pub(super) fn chosen(net: &Net, count: usize, worst: usize, budget: usize) -> Vec<usize> {
    let index = if net.nodes.len() > usize::from(u16::MAX) + 1 { 4 } else { 2 };
    let fixed = 4 * net.nodes.len() + 3 * index * net.triangles.len();
    let fits = budget.saturating_sub(fixed) / (BYTES_BY_STATE * net.nodes.len().max(1));
    let fits = fits.clamp(1, count.max(1));
    let mut list: Vec<usize> = (1..=fits).map(|k| (k * count).div_ceil(fits)).collect();
    if !list.contains(&worst) && worst > 0 {
        // In place of its nearest neighbour, if that is not the last one.
        let nearest = (0..list.len().saturating_sub(1)).min_by_key(|&k| list[k].abs_diff(worst));
        match nearest {
            Some(k) => list[k] = worst,
            None => list.insert(0, worst),
        }
    }
    list.sort_unstable();
    list.dedup();
    list
}

#[cfg(test)]
mod tests;
