//! Patch recovery: a quadratic polynomial through the Gauss-point strains around each corner node.
//!
//! Source: O. C. Zienkiewicz and J. Z. Zhu, "The superconvergent patch recovery and a posteriori
//! error estimates", IJNME 33 (1992) 1331-1382 (from memory). A mid-side node takes the mean of the
//! polynomials of its two corners; a patch too small for a quadratic borrows the next ring of
//! elements, and falls back to a plane, then to a mean.

use super::weights::{Fit, MOST_TERMS, Weights, weight};
use crate::dofs::{elements_by_node, index};
use crate::quadrature::DEGREE_2;
use crate::triangle;
use rayon::prelude::*;
use withy_mesh::Mesh;

/// A quadratic has six terms; a patch needs some samples more than that to smooth.
const ENOUGH_ELEMENTS: usize = 4;

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
        // Corners of each mid-side node; a corner is its own pair.
        let mut corners: Vec<[u32; 2]> = (0..index(mesh.nodes().len())).map(|n| [n, n]).collect();
        for element in mesh.elements() {
            for k in 0..3 {
                corners[element[k + 3].index()] = [element[k].0, element[(k + 1) % 3].0];
            }
        }
        let patch_at = |(n, pair): (usize, &[u32; 2])| {
            let is_corner = *pair == [index(n); 2];
            is_corner.then(|| Patch::around(mesh, index(n), &around, &places)).flatten()
        };
        let patches: Vec<Option<Patch>> = corners.par_iter().enumerate().map(patch_at).collect();
        let of_node = |n: usize| {
            let [a, b] = corners[n];
            let ends = [Some(a), (b != a).then_some(b)].into_iter().flatten();
            ends.filter_map(|corner| patches[corner as usize].as_ref())
        };
        let lengths: Vec<usize> =
            (0..corners.len()).map(|n| of_node(n).map(Patch::samples).sum()).collect();
        let weights = Weights::filled(&lengths, |n, mut samples, mut weights| {
            let (at, count) = (mesh.nodes()[n], of_node(n).count());
            for patch in of_node(n) {
                let (here, others) = samples.split_at_mut(patch.samples());
                let (own, rest) = weights.split_at_mut(patch.samples());
                // At most two: the count is exact as a float.
                patch.weigh([at.x, at.y], 1.0 / count as f64, &places, here, own);
                (samples, weights) = (others, rest);
            }
        });
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

/// The elements around a corner node, and the polynomial through their Gauss points.
#[derive(Clone, Debug)]
struct Patch {
    center: [f64; 2],
    size: f64,
    elements: Vec<u32>,
    fit: Fit,
}

impl Patch {
    /// The patch of a corner node; `None` without elements.
    fn around<I: Iterator<Item = u32>>(
        mesh: &Mesh,
        node: u32,
        around: &impl Fn(u32) -> I,
        places: &[[[f64; 2]; 3]],
    ) -> Option<Self> {
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
        let samples = elements.iter().flat_map(|&e| places[e as usize]);
        let basis: Vec<_> = samples.map(|p| terms(p, center, size)).collect();
        let quadratic = if elements.len() >= 3 { 6 } else { 3 };
        let fit = [quadratic, 3, 1].into_iter().find_map(|n| Fit::new(&basis, n))?;
        Some(Self { center, size, elements, fit })
    }

    /// How many Gauss points it has.
    fn samples(&self) -> usize {
        3 * self.elements.len()
    }

    /// Its Gauss points, and a share of their weights in the polynomial's value at a place.
    fn weigh(
        &self,
        at: [f64; 2],
        share: f64,
        places: &[[[f64; 2]; 3]],
        samples: &mut [u32],
        weights: &mut [f64],
    ) {
        let at = self.fit.at(&terms(at, self.center, self.size));
        let own = self.elements.iter().flat_map(|&e| (0..3).map(move |g| (e, g)));
        for ((e, g), (sample, w)) in own.zip(samples.iter_mut().zip(weights)) {
            let place = places[e as usize][g];
            *sample = 3 * e + index(g);
            *w = share * weight(&at, &terms(place, self.center, self.size));
        }
    }
}

/// The terms of a quadratic polynomial at a place, in units of a patch.
fn terms(p: [f64; 2], center: [f64; 2], size: f64) -> [f64; MOST_TERMS] {
    let (x, y) = ((p[0] - center[0]) / size, (p[1] - center[1]) / size);
    [1.0, x, y, x * x, x * y, y * y]
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
