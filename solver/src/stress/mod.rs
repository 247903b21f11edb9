//! Stress at the nodes, where it peaks, and how far it can be trusted.
//!
//! Strains are best at the Gauss points; `patch` fits them to the nodes by least squares, `edge`
//! does the same along free edges, where the traction vanishes and one tangential strain tells all.
//! `invariants` turns a recovered strain into true stresses, `error` compares the recovered
//! field with the computed one.

mod edge;
mod error;
mod invariants;
mod patch;
mod weights;

pub use error::ErrorEstimate;
pub use invariants::NodeStress;

use crate::material::{Law, directions};
use crate::model::Model;
use crate::path::Step;
use crate::quadrature::DEGREE_2;
use crate::triangle;
use edge::EdgeRecovery;
use patch::PatchRecovery;
use rayon::prelude::*;
use withy_mesh::{Mesh, NodeId};

/// Everything about a model's stress recovery that does not depend on the displacements.
#[derive(Clone, Debug)]
pub struct Recovery<'m> {
    model: &'m Model<'m>,
    /// Elements that can be strained: not wholly inside one rigid region or full hold.
    strained: Vec<bool>,
    artificial: Vec<bool>,
    patches: PatchRecovery,
    edges: EdgeRecovery,
    /// Along the beads, by node; empty if there are none.
    beads: Vec<[f64; 2]>,
}

/// Recovered strains and stresses at the nodes of a mesh.
#[derive(Clone, Debug, PartialEq)]
pub struct StressField {
    /// Green-Lagrange strain (E11, E22, 2 E12), by node.
    pub strain: Vec<[f64; 3]>,
    /// True stresses, by node.
    pub stress: Vec<NodeStress>,
}

/// A largest value and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// Its node.
    pub node: NodeId,
    /// The value (MPa, or a strain).
    pub value: f64,
}

impl<'m> Recovery<'m> {
    /// Prepares the recovery of a model's stresses.
    #[must_use]
    pub fn new(model: &'m Model<'m>) -> Self {
        Self::of_states(model, &[])
    }

    /// The same for some states: edges on which one of them pushes are not taken as free of traction.
    #[must_use]
    pub fn of_states(model: &'m Model<'m>, states: &[Step]) -> Self {
        let mesh = model.mesh();
        let owner = owners(model);
        let strained: Vec<bool> = mesh
            .elements()
            .iter()
            .map(|e| {
                let first = owner[e[0].index()];
                first == FREE || e.iter().any(|n| owner[n.index()] != first)
            })
            .collect();
        let artificial = near_clamps(mesh, &owner);
        let patches = PatchRecovery::new(mesh, &strained);
        let edges = EdgeRecovery::new(model, &owner, &pressed_edges(mesh, states));
        let beads = match model.law() {
            Law::Orthotropic(_, beads) => {
                let places: Vec<[f64; 2]> = mesh.nodes().iter().map(|p| [p.x, p.y]).collect();
                directions(mesh, *beads, &places)
            }
            Law::StVenantKirchhoff(_) | Law::Hencky(_) | Law::Elastoplastic(..) => Vec::new(),
        };
        Self { model, strained, artificial, patches, edges, beads }
    }

    /// Nodes of clamped and rigid regions and of the elements that touch them: peaks there are
    /// made by the clamping. A roller or symmetry line makes none and is not listed.
    #[must_use]
    pub fn artificial(&self) -> &[bool] {
        &self.artificial
    }

    /// Strains and stresses of a state (displacements by mesh node, mm).
    #[must_use]
    pub fn field(&self, displacements: &[[f64; 2]]) -> StressField {
        let points = self.gauss_strains(displacements);
        let mut strain = self.patches.nodal(&points);
        self.edges.overwrite(self.model, displacements, &self.beads, &mut strain);
        let law = self.model.law();
        let stress = strain
            .par_iter()
            .enumerate()
            .map(|(n, e)| NodeStress::of(law, *e, bead_at(&self.beads, n)))
            .collect();
        StressField { strain, stress }
    }

    /// Values at the nodes of values at the three Gauss points of each element, by patches.
    #[must_use]
    pub fn nodal(&self, points: &[[f64; 3]]) -> Vec<f64> {
        let vectors: Vec<_> = points.iter().map(|p| p.map(|v| [v, 0.0, 0.0])).collect();
        self.patches.nodal(&vectors).into_iter().map(|v| v[0]).collect()
    }

    /// Compares the recovered field with the computed one, element by element.
    #[must_use]
    pub fn error(&self, displacements: &[[f64; 2]], field: &StressField) -> ErrorEstimate {
        ErrorEstimate::new(self.model, &self.strained, displacements, field)
    }

    /// Green-Lagrange strains at the three Gauss points of each element.
    fn gauss_strains(&self, displacements: &[[f64; 2]]) -> Vec<[[f64; 3]; 3]> {
        let mesh = self.model.mesh();
        mesh.elements()
            .par_iter()
            .zip(&self.strained)
            .map(|(element, strained)| {
                if !strained {
                    return [[0.0; 3]; 3];
                }
                let x = triangle::places(mesh, element);
                let u = element.map(|n| displacements[n.index()]);
                DEGREE_2.map(|g| green_lagrange(&x, &u, g.xi, g.eta))
            })
            .collect()
    }
}

/// Edges of the outline that are under pressure in any of some states.
fn pressed_edges(mesh: &Mesh, states: &[Step]) -> Vec<bool> {
    let mut pressed = vec![false; mesh.boundary().len()];
    let touches = states.iter().flat_map(|s| &s.pushing.touches);
    for point in touches.flat_map(|t| &t.points) {
        if let Some(edge) = pressed.get_mut(point.edge) {
            *edge = true;
        }
    }
    pressed
}

impl StressField {
    /// The largest value of a measure over the nodes that `skip` does not mark.
    #[must_use]
    pub fn peak(&self, skip: &[bool], measure: impl Fn(&NodeStress) -> f64) -> Option<Peak> {
        let mut best: Option<Peak> = None;
        for (n, (stress, _)) in self.stress.iter().zip(skip).enumerate().filter(|(_, s)| !s.1) {
            let value = measure(stress);
            if best.is_none_or(|b| value > b.value || value.is_nan()) {
                best = Some(Peak { node: NodeId(crate::dofs::index(n)), value });
            }
        }
        best
    }
}

/// Nodes of clamped and rigid regions and of the elements that touch them.
pub(crate) fn artificial_nodes(model: &Model) -> Vec<bool> {
    near_clamps(model.mesh(), &owners(model))
}

fn near_clamps(mesh: &Mesh, owner: &[u32]) -> Vec<bool> {
    let mut artificial: Vec<bool> = owner.iter().map(|&o| o != FREE).collect();
    for element in mesh.elements() {
        if element.iter().any(|n| owner[n.index()] != FREE) {
            for n in element {
                artificial[n.index()] = true;
            }
        }
    }
    artificial
}

/// Along the beads at a node; any direction if there are none.
fn bead_at(beads: &[[f64; 2]], node: usize) -> [f64; 2] {
    beads.get(node).copied().unwrap_or([1.0, 0.0])
}

/// Not in any clamped or rigid region.
const FREE: u32 = u32::MAX;

/// Which rigid region each node belongs to, with all full holds as one more; [`FREE`] otherwise.
fn owners(model: &Model) -> Vec<u32> {
    let mut owner = vec![FREE; model.mesh().nodes().len()];
    for (b, region) in model.rigid_regions().iter().enumerate() {
        for n in &region.nodes {
            owner[n.index()] = crate::dofs::index(b);
        }
    }
    let clamps = model
        .supports()
        .iter()
        .filter(|s| s.displacement.iter().all(|d| d.is_some_and(|d| d.abs() <= 0.0)));
    for n in clamps.flat_map(|s| &s.nodes) {
        owner[n.index()] = crate::dofs::index(model.rigid_regions().len());
    }
    owner
}

/// Green-Lagrange strain (E11, E22, 2 E12) at a point of an element.
pub(crate) fn green_lagrange(x: &[[f64; 2]; 6], u: &[[f64; 2]; 6], xi: f64, eta: f64) -> [f64; 3] {
    let (gradients, _) = triangle::gradients(x, xi, eta);
    let mut h = [[0.0; 2]; 2];
    for a in 0..6 {
        for i in 0..2 {
            for j in 0..2 {
                h[i][j] += u[a][i] * gradients[a][j];
            }
        }
    }
    [
        h[0][0] + 0.5 * (h[0][0] * h[0][0] + h[1][0] * h[1][0]),
        h[1][1] + 0.5 * (h[0][1] * h[0][1] + h[1][1] * h[1][1]),
        h[0][1] + h[1][0] + h[0][0] * h[0][1] + h[1][0] * h[1][1],
    ]
}
