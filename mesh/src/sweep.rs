//! One pass over the vertices that may move, each to a place that depends on its neighbours.
//!
//! A vertex sees the new places of the neighbours that were moved before it. Vertices are taken in blocks of
//! neighbouring numbers; those whose neighbours all are in their own block, most of them, are moved by as many
//! threads as there are, and the rest one by one afterwards. The order between neighbours, and with it the
//! result, depends on the blocks alone and not on the threads.

use crate::surface::Surface;
use kurbo::Point;
use rayon::prelude::*;

/// Vertices to a block: few are at its rim, and a small part still has work for two threads. Another number
/// changes the order of moves, and by that the mesh a little.
const BLOCK: usize = 2048;

/// The neighbours of a vertex, counter-clockwise, and where they are.
#[derive(Debug, Default)]
pub(crate) struct Ring {
    vertices: Vec<usize>,
    points: Vec<Point>,
}

impl Ring {
    fn around(&mut self, surface: &Surface, v: usize) {
        self.vertices.clear();
        self.vertices.extend(surface.spokes(v).map(|s| surface.to(s) as usize));
    }

    fn find(&mut self, points: &[Point], first: usize) {
        self.points.clear();
        self.points.extend(self.vertices.iter().map(|&v| points[v - first]));
    }

    /// The sides opposite the vertex, from point to point.
    pub(crate) fn sides(&self) -> impl Iterator<Item = (Point, Point)> {
        pairs(&self.points)
    }

    /// The vertices of those sides.
    pub(crate) fn vertices(&self) -> impl Iterator<Item = (usize, usize)> {
        pairs(&self.vertices)
    }
}

/// Every item with the one after it, the last one with the first.
fn pairs<T: Copy>(items: &[T]) -> impl Iterator<Item = (T, T)> {
    items.iter().copied().zip(items[1.min(items.len())..].iter().chain(items.first()).copied())
}

/// Moves every vertex that is not fixed to where `step` says, from its number, its place and its neighbours;
/// returns the vertices that have moved.
pub(crate) fn sweep(
    points: &mut [Point],
    fixed: &[bool],
    surface: &Surface,
    step: impl Fn(usize, Point, &Ring) -> Option<Point> + Sync,
) -> Vec<usize> {
    let blocks: Vec<(Vec<usize>, Vec<usize>)> = points
        .par_chunks_mut(BLOCK)
        .enumerate()
        .map(|(b, block)| {
            let first = b * BLOCK;
            let mut ring = Ring::default();
            let (mut moved, mut rim) = (Vec::new(), Vec::new());
            for v in (first..first + block.len()).filter(|&v| !fixed[v]) {
                ring.around(surface, v);
                if !ring.vertices.iter().all(|w| (first..first + block.len()).contains(w)) {
                    rim.push(v);
                    continue;
                }
                ring.find(block, first);
                if let Some(place) = step(v, block[v - first], &ring) {
                    block[v - first] = place;
                    moved.push(v);
                }
            }
            (moved, rim)
        })
        .collect();
    let mut ring = Ring::default();
    let (mut all_moved, mut rims) = (Vec::new(), Vec::new());
    for (moved, rim) in blocks {
        all_moved.extend(moved);
        rims.extend(rim);
    }
    for v in rims {
        ring.around(surface, v);
        ring.find(points, 0);
        if let Some(place) = step(v, points[v], &ring) {
            points[v] = place;
            all_moved.push(v);
        }
    }
    all_moved
}
