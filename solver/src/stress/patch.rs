//! Patch recovery: a quadratic polynomial through the Gauss-point strains around each corner node.
//!
//! Source: O. C. Zienkiewicz and J. Z. Zhu, "The superconvergent patch recovery and a posteriori
//! error estimates", IJNME 33 (1992) 1331-1382 (from memory). A mid-side node takes the mean of the
//! polynomials of its two corners; a patch too small for a quadratic borrows the next ring of
//! elements, and falls back to a plane, then to a mean.

use super::weights::{Weights, fit_weights};
use crate::dofs::{elements_by_node, index};
use crate::quadrature::DEGREE_2;
use crate::triangle;
use rayon::prelude::*;
use withy_mesh::Mesh;

/// A quadratic has six terms; a patch needs some samples more than that to smooth.
const ENOUGH_ELEMENTS: usize = 4;

/// Rows of weights that are computed before they are packed.
const ROWS_AT_ONCE: usize = 4096;

/// Weights from Gauss points (3 element + point) to nodes.
#[derive(Clone, Debug)]
pub(crate) struct PatchRecovery {
    weights: Weights,
    nodes: usize,
}

impl PatchRecovery {
    pub(crate) fn new(mesh: &Mesh, strained: &[bool]) -> Self {
        let (offsets, elements_of) = elements_by_node(mesh);
        let around = |n: u32| {
            let range = offsets[n as usize] as usize..offsets[n as usize + 1] as usize;
            elements_of[range].iter().copied().filter(|&e| strained[e as usize])
        };
        let places = gauss_places(mesh);
        let mut patches: Vec<Option<Patch>> = vec![None; mesh.nodes().len()];
        // Corners of each mid-side node; a corner is its own pair.
        let mut corners: Vec<[u32; 2]> = (0..index(mesh.nodes().len())).map(|n| [n, n]).collect();
        for element in mesh.elements() {
            for k in 0..3 {
                let (a, b) = (element[k].0, element[(k + 1) % 3].0);
                corners[element[k + 3].index()] = [a, b];
                if patches[a as usize].is_none() {
                    patches[a as usize] = Some(Patch::around(mesh, a, &around, &places));
                }
            }
        }
        let row_of = |(n, pair): (usize, &[u32; 2])| {
            let at = mesh.nodes()[n];
            let mut row: Vec<(u32, f64)> = Vec::new();
            let ends = if pair[0] == pair[1] { &pair[..1] } else { &pair[..] };
            let rows: Vec<_> = ends
                .iter()
                .filter_map(|&c| patches[c as usize].as_ref())
                .filter_map(|p| p.weights_at([at.x, at.y], &places))
                .collect();
            for part in &rows {
                // At most two: the count is exact as a float.
                let share = if rows.len() == 2 { 0.5 } else { 1.0 };
                row.extend(part.iter().map(|(s, w)| (*s, share * w)));
            }
            row
        };
        let mut weights = Weights::new();
        let numbered: Vec<(usize, &[u32; 2])> = corners.iter().enumerate().collect();
        // Some at a time: all rows at once would double the memory.
        for some in numbered.chunks(ROWS_AT_ONCE) {
            let rows: Vec<_> = some.par_iter().copied().map(row_of).collect();
            rows.into_iter().for_each(|row| weights.push(row));
        }
        Self { weights, nodes: mesh.nodes().len() }
    }

    /// Nodal strains of Gauss-point strains.
    pub(crate) fn nodal(&self, points: &[[[f64; 3]; 3]]) -> Vec<[f64; 3]> {
        (0..self.nodes)
            .into_par_iter()
            .map(|n| {
                let mut sum = [0.0; 3];
                for (sample, weight) in self.weights.row(n) {
                    let strain = points[sample / 3][sample % 3];
                    for i in 0..3 {
                        sum[i] += weight * strain[i];
                    }
                }
                sum
            })
            .collect()
    }
}

/// The elements around a corner node.
#[derive(Clone, Debug)]
struct Patch {
    center: [f64; 2],
    size: f64,
    elements: Vec<u32>,
}

impl Patch {
    fn around<I: Iterator<Item = u32>>(
        mesh: &Mesh,
        node: u32,
        around: &impl Fn(u32) -> I,
        places: &[[[f64; 2]; 3]],
    ) -> Self {
        let mut elements: Vec<u32> = around(node).collect();
        if elements.len() < ENOUGH_ELEMENTS {
            let ring: Vec<u32> = elements
                .iter()
                .flat_map(|&e| mesh.elements()[e as usize][..3].to_vec())
                .flat_map(|n| around(n.0))
                .collect();
            elements.extend(ring);
            elements.sort_unstable();
            elements.dedup();
        }
        let p = mesh.nodes()[node as usize];
        let center = [p.x, p.y];
        let size = elements
            .iter()
            .flat_map(|&e| places[e as usize])
            .map(|g| (g[0] - center[0]).hypot(g[1] - center[1]))
            .fold(0.0, withy_mesh::number::max);
        Self { center, size, elements }
    }

    /// Weights of the patch's Gauss points in the fitted value at a place; `None` without elements.
    fn weights_at(&self, at: [f64; 2], places: &[[[f64; 2]; 3]]) -> Option<Vec<(u32, f64)>> {
        if self.elements.is_empty() {
            return None;
        }
        let samples: Vec<u32> =
            self.elements.iter().flat_map(|&e| [3 * e, 3 * e + 1, 3 * e + 2]).collect();
        let terms = |p: [f64; 2]| {
            let x = (p[0] - self.center[0]) / self.size;
            let y = (p[1] - self.center[1]) / self.size;
            [1.0, x, y, x * x, x * y, y * y]
        };
        let basis: Vec<[f64; 6]> =
            samples.iter().map(|&s| terms(places[s as usize / 3][s as usize % 3])).collect();
        let place = terms(at);
        let quadratic = if self.elements.len() >= 3 { 6 } else { 3 };
        let weights = [quadratic, 3, 1].into_iter().find_map(|n| fit_weights(&basis, n, &place))?;
        Some(samples.into_iter().zip(weights).collect())
    }
}

/// Reference places of the Gauss points (mm).
fn gauss_places(mesh: &Mesh) -> Vec<[[f64; 2]; 3]> {
    mesh.elements()
        .iter()
        .map(|element| {
            let x = triangle::places(mesh, element);
            DEGREE_2.map(|g| {
                let n = triangle::shape(g.xi, g.eta);
                let mut at = [0.0; 2];
                for a in 0..6 {
                    at[0] += n[a] * x[a][0];
                    at[1] += n[a] * x[a][1];
                }
                at
            })
        })
        .collect()
}
