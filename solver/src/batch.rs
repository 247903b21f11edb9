//! Elements in batches of eight, each with its nodes and reference positions side by side.

use crate::lanes::{Lanes, WIDTH};

/// Up to eight elements; unused lanes repeat the first element and are never added.
#[derive(Clone, Debug)]
pub(crate) struct ElementBatch {
    /// Solver nodes, by local node and lane.
    pub(crate) nodes: [[u32; WIDTH]; 6],
    /// Reference positions by local dof (mm).
    pub(crate) x: [Lanes; 12],
    /// Mesh elements.
    pub(crate) element: [u32; WIDTH],
    /// Lanes in use.
    pub(crate) count: usize,
}

impl ElementBatch {
    /// Batches of the given elements, in order.
    pub(crate) fn of(x: &[[f64; 2]], elements: &[[u32; 6]], chosen: &[u32]) -> Vec<Self> {
        chosen
            .chunks(WIDTH)
            .map(|chunk| {
                let lane = |l: usize| chunk[if l < chunk.len() { l } else { 0 }];
                let element: [u32; WIDTH] = std::array::from_fn(lane);
                let nodes: [[u32; WIDTH]; 6] =
                    std::array::from_fn(|a| element.map(|e| elements[e as usize][a]));
                let x = std::array::from_fn(|i| Lanes(nodes[i / 2].map(|n| x[n as usize][i % 2])));
                Self { nodes, x, element, count: chunk.len() }
            })
            .collect()
    }
}

/// A nodal field by local dof and lane.
#[inline(always)]
pub(crate) fn gather(batch: &ElementBatch, field: &[[f64; 2]]) -> [Lanes; 12] {
    let mut u = [Lanes::ZERO; 12];
    for a in 0..6 {
        for l in 0..WIDTH {
            let v = field[batch.nodes[a][l] as usize];
            u[2 * a].0[l] = v[0];
            u[2 * a + 1].0[l] = v[1];
        }
    }
    u
}
