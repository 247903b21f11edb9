//! Elements that touch a rigid region: their nodes ride on three coordinates.
//!
//! With x_a = c + q + R(theta) r_a on the region, T = dx/dq maps the element's 12 dofs to its
//! equations: K becomes T' K T, and theta-theta gains the second derivative -(R r_a) . f_a.

use crate::assembly::{Outcome, Want};
use crate::batch::{ElementBatch, gather};
use crate::configuration::{Configuration, arm_now};
use crate::dofs::{Dofs, Motion, NONE};
use crate::element::{BatchResult, packed};
use crate::pattern;
use crate::pointwise::Solid;
use nalgebra_sparse::CscMatrix;

/// Row of T: up to two equations of the element (local numbers) with their factors.
type TRow = [(u8, f64); 2];
/// Marks an unused entry of a row of T.
const UNUSED: u8 = u8::MAX;

/// One coupled element's equations and their places in the sparse matrix.
#[derive(Clone, Debug)]
pub(crate) struct Links {
    /// Local equation number (into `equations`) of each dof of each node; for a node of a rigid
    /// region the three numbers of the region's coordinates.
    local: [[u8; 3]; 6],
    /// Places of the lower triangle of the local equations, by rows.
    slots: Vec<u32>,
    count: usize,
}

/// All elements that touch a rigid region.
#[derive(Clone, Debug)]
pub(crate) struct CoupledElements {
    batches: Vec<ElementBatch>,
    links: Vec<Links>,
}

impl CoupledElements {
    pub(crate) fn new(
        dofs: &Dofs,
        x: &[[f64; 2]],
        elements: &[[u32; 6]],
        chosen: &[u32],
        tangent: &CscMatrix<f64>,
    ) -> Self {
        let links =
            chosen.iter().map(|&e| Links::new(dofs, &elements[e as usize], tangent)).collect();
        Self { batches: ElementBatch::of(x, elements, chosen), links }
    }

    /// The elements, in batches.
    pub(crate) fn batches(&self) -> &[ElementBatch] {
        &self.batches
    }

    /// Adds the elements' forces to the nodes and their tangents to the sparse values.
    #[expect(
        clippy::too_many_arguments,
        reason = "one call site; a struct would only pass through"
    )]
    pub(crate) fn add(
        &self,
        dofs: &Dofs,
        x: &[[f64; 2]],
        at: &Configuration,
        solid: &Solid,
        want: Want,
        internal: &mut [[f64; 2]],
        values: &mut [f64],
    ) -> Outcome {
        let mut outcome = Outcome::NONE;
        let mut result = BatchResult::new();
        for (b, batch) in self.batches.iter().enumerate() {
            let u = gather(batch, &at.u);
            solid.batch::<false>(batch, &u, want, &mut result);
            outcome.add_batch(batch, &result);
            for l in 0..batch.count {
                let nodes: [u32; 6] = std::array::from_fn(|a| batch.nodes[a][l]);
                for (a, &n) in nodes.iter().enumerate() {
                    internal[n as usize][0] += result.f[2 * a].0[l];
                    internal[n as usize][1] += result.f[2 * a + 1].0[l];
                }
                if want == Want::Tangent {
                    let links = &self.links[b * crate::lanes::WIDTH + l];
                    let force: [f64; 12] = std::array::from_fn(|i| result.f[i].0[l]);
                    let entry = |k: usize| result.K[k].0[l];
                    links.add_tangent(dofs, x, at, &nodes, &force, entry, values);
                }
            }
        }
        outcome
    }
}

impl Links {
    /// Numbers an element's equations and finds their places.
    pub(crate) fn new(dofs: &Dofs, nodes: &[u32; 6], tangent: &CscMatrix<f64>) -> Self {
        let mut equations: Vec<u32> = Vec::with_capacity(12);
        let mut number = |e: u32| -> u8 {
            if e == NONE {
                return UNUSED;
            }
            let at = equations.iter().position(|&k| k == e).unwrap_or_else(|| {
                equations.push(e);
                equations.len() - 1
            });
            u8::try_from(at).expect("an element has at most 18 equations")
        };
        let local = nodes.map(|n| match dofs.motion[n as usize] {
            Motion::Own([x, y]) => [number(x), number(y), UNUSED],
            Motion::Rigid(b) => dofs.bodies[b as usize].equations.map(&mut number),
        });
        let mut slots = Vec::new();
        for i in 0..equations.len() {
            for j in 0..=i {
                slots.push(pattern::slot(tangent, equations[i], equations[j]));
            }
        }
        Self { local, slots, count: equations.len() }
    }

    /// Adds T' K T of an element whose packed tangent is `entry`, with what turning the arms of its forces
    /// adds.
    #[expect(
        clippy::too_many_arguments,
        reason = "two call sites; a struct would only pass through"
    )]
    pub(crate) fn add_tangent(
        &self,
        dofs: &Dofs,
        x: &[[f64; 2]],
        at: &Configuration,
        nodes: &[u32; 6],
        force: &[f64; 12],
        entry: impl Fn(usize) -> f64,
        values: &mut [f64],
    ) {
        let mut rows: [TRow; 12] = [[(UNUSED, 0.0); 2]; 12];
        let mut reduced = vec![0.0; self.count * self.count];
        for (a, &n) in nodes.iter().enumerate() {
            let local = self.local[a];
            match dofs.motion[n as usize] {
                Motion::Own(_) => {
                    rows[2 * a][0] = (local[0], 1.0);
                    rows[2 * a + 1][0] = (local[1], 1.0);
                }
                Motion::Rigid(b) => {
                    let body = &dofs.bodies[b as usize];
                    let r = arm_now(body, at.q[b as usize][2], x[n as usize]);
                    rows[2 * a] = [(local[0], 1.0), (local[2], -r[1])];
                    rows[2 * a + 1] = [(local[1], 1.0), (local[2], r[0])];
                    if local[2] != UNUSED {
                        let turn = local[2] as usize;
                        let f = [force[2 * a], force[2 * a + 1]];
                        reduced[turn * self.count + turn] -= r[0] * f[0] + r[1] * f[1];
                    }
                }
            }
        }
        for i in 0..12 {
            for j in 0..12 {
                let k = entry(if i >= j { packed(i, j) } else { packed(j, i) });
                for (p, tp) in rows[i].into_iter().filter(|r| r.0 != UNUSED) {
                    for (q, tq) in rows[j].into_iter().filter(|r| r.0 != UNUSED) {
                        reduced[p as usize * self.count + q as usize] += tp * k * tq;
                    }
                }
            }
        }
        let mut slots = self.slots.iter();
        for p in 0..self.count {
            for (q, slot) in (0..=p).zip(&mut slots) {
                values[*slot as usize] += reduced[p * self.count + q];
            }
        }
    }
}
