//! From elements to the sparse tangent and the nodal internal forces.
//!
//! The pattern and the place of every element entry are found once; each assembly only adds
//! numbers. Elements are sorted into strips of breadth-first levels ([`crate::dofs`]). Strips of
//! equal parity share no node, so they are assembled at once, first the even, then the odd ones:
//! the sum of every entry is taken in the same order whatever the number of threads.

use crate::batch::{ElementBatch, gather};
use crate::configuration::{Configuration, reduce, resultant, rigid_velocity};
use crate::contact::{Contact, Met, Pushing, places};
use crate::coupled::CoupledElements;
use crate::dofs::{Body, Dofs, Motion, NONE, index};
use crate::element::{BatchResult, PACKED, packed};
use crate::lanes::WIDTH;
use crate::model::Model;
use crate::pattern;
use crate::pointwise::{Places, Pointwise, Solid};
use crate::simd;
use crate::viscous::{Borne, Viscous};
use nalgebra_sparse::CscMatrix;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::ops::Range;

/// Fewer elements than this are not worth a strip of their own (tuning; only speed depends on it).
const ELEMENTS_PER_STRIP: usize = 1024;
/// More strips than this only add overhead (tuning). Never the number of threads: the order of
/// summation must not depend on the machine.
const MOST_STRIPS: usize = 32;

/// What an assembly found besides the tangent and the forces.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Outcome {
    /// Strain energy (mJ).
    pub(crate) energy: f64,
    /// Sum of the squares of the element forces, before they cancel between elements (N2): what
    /// the rounding errors of the residual are measured by.
    pub(crate) squares: f64,
    /// The smallest det F and the mesh element where it is.
    pub(crate) worst: (f64, u32),
}

impl Outcome {
    pub(crate) const NONE: Self = Self { energy: 0.0, squares: 0.0, worst: (f64::INFINITY, 0) };

    pub(crate) fn join(self, other: Self) -> Self {
        let worse = other.worst.0 < self.worst.0 || other.worst.0.is_nan();
        Self {
            energy: self.energy + other.energy,
            squares: self.squares + other.squares,
            worst: if worse { other.worst } else { self.worst },
        }
    }

    pub(crate) fn add_batch(&mut self, batch: &ElementBatch, result: &BatchResult) {
        for l in 0..batch.count {
            let squares = result.f.iter().map(|f| f.0[l] * f.0[l]).sum();
            let worst = (result.det_F.0[l], batch.element[l]);
            *self = self.join(Self { energy: result.energy.0[l], squares, worst });
        }
    }
}

/// A run of batches whose nodes and equations are contiguous.
#[derive(Clone, Debug)]
struct Strip {
    batches: Range<usize>,
    nodes: Range<usize>,
    equations: Range<usize>,
}

/// What a batch adds into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Want {
    /// Energy and internal forces.
    Force,
    /// And the tangent.
    Tangent,
}

/// The assembled equations of one model.
#[derive(Clone, Debug)]
pub(crate) struct Assembly {
    pub(crate) dofs: Dofs,
    /// Reference positions in the solver's node order (mm).
    pub(crate) x: Vec<[f64; 2]>,
    pub(crate) solid: Solid,
    /// Lower triangle of the tangent stiffness.
    pub(crate) tangent: CscMatrix<f64>,
    /// Internal force on each solver node (N), prescribed ones included.
    pub(crate) internal: Vec<[f64; 2]>,
    batches: Vec<ElementBatch>,
    slots: Vec<[[u32; WIDTH]; PACKED]>,
    strips: Vec<Strip>,
    coupled: CoupledElements,
    /// What a new pattern is made from: nodes of the elements, which of them are rigid, which are coupled.
    elements: Vec<[u32; 6]>,
    rigid: Vec<bool>,
    coupled_elements: Vec<u32>,
    /// Reference centre of each mesh element, for complaints (mm).
    centers: Vec<[f64; 2]>,
    /// Elements with a node whose displacement the load factor prescribes.
    moved: Vec<ElementBatch>,
    pub(crate) contact: Option<Box<Contact>>,
    /// Whether the tangent's pattern has grown since [`Self::take_grown`].
    grown: bool,
}

impl Assembly {
    pub(crate) fn new(model: &Model) -> Self {
        let dofs = Dofs::new(model);
        let mesh = model.mesh();
        let (x, elements) = dofs.laid_out(mesh);
        let sorted = SortedElements::new(&dofs, &elements);
        let tangent = pattern::lower_triangle(&dofs, &elements, &sorted.rigid);
        let (batches, strips) = strips(&dofs, &x, &elements, &sorted.regular);
        let slots = batches.par_iter().map(|b| slots_of(&dofs, &tangent, b)).collect();
        let coupled = CoupledElements::new(&dofs, &x, &elements, &sorted.coupled, &tangent);
        let moved: Vec<u32> = (0..index(elements.len()))
            .filter(|&e| elements[e as usize].iter().any(|&n| is_moved(&dofs, n)))
            .collect();
        let moved = ElementBatch::of(&x, &elements, &moved);
        let centers = elements
            .iter()
            .map(|e| [0, 1].map(|i| e[..3].iter().map(|&n| x[n as usize][i]).sum::<f64>() / 3.0))
            .collect();
        let solid = Solid::of(model);
        let contact = Contact::of(model, &dofs, &x, solid.moduli[0]);
        Self {
            centers,
            internal: vec![[0.0; 2]; x.len()],
            solid,
            dofs,
            x,
            tangent,
            batches,
            slots,
            strips,
            coupled,
            elements,
            rigid: sorted.rigid,
            coupled_elements: sorted.coupled,
            moved,
            contact,
            grown: false,
        }
    }

    /// Computes the internal forces, and the tangent if wanted, of a configuration.
    pub(crate) fn assemble(&mut self, at: &Configuration, want: Want) -> Outcome {
        self.find_contact(at, want);
        self.internal.fill([0.0; 2]);
        if want == Want::Tangent {
            self.tangent.values_mut().fill(0.0);
        }
        let even = self.assemble_strips(at, want, 0);
        let odd = self.assemble_strips(at, want, 1);
        let coupled = self.coupled.add(
            &self.dofs,
            &self.x,
            at,
            &self.solid,
            want,
            &mut self.internal,
            self.tangent.values_mut(),
        );
        let mut all = even.join(odd).join(coupled);
        if let Some(contact) = &self.contact {
            let tangent = (want == Want::Tangent).then_some(&mut self.tangent);
            all.squares += contact.add(&self.dofs, &self.x, at, &mut self.internal, tangent);
        }
        all
    }

    /// Finds what touches, and lets the tangent's pattern grow for it.
    fn find_contact(&mut self, at: &Configuration, want: Want) {
        let Some(contact) = &mut self.contact else { return };
        contact.find(&places(&self.x, at));
        if want == Want::Force || !contact.takes_new_pairs() {
            return;
        }
        let mut cliques = self.elements.clone();
        cliques.extend(contact.coupled_nodes());
        let mut rigid = self.rigid.clone();
        rigid.resize(cliques.len(), false);
        let (dofs, x) = (&self.dofs, &self.x);
        self.tangent = pattern::lower_triangle(dofs, &cliques, &rigid);
        let tangent = &self.tangent;
        self.slots = self.batches.par_iter().map(|b| slots_of(dofs, tangent, b)).collect();
        self.coupled =
            CoupledElements::new(dofs, x, &self.elements, &self.coupled_elements, tangent);
        self.grown = true;
    }

    /// Whether the pattern has grown since this was asked last: its analysis is out of date then.
    pub(crate) fn take_grown(&mut self) -> bool {
        std::mem::take(&mut self.grown)
    }

    /// Whether the state that was assembled last pushes anything.
    pub(crate) fn touches(&self) -> bool {
        self.contact.as_ref().is_some_and(|c| !c.meetings.is_empty())
    }

    /// What the state that was assembled last pushes.
    pub(crate) fn met(&self) -> BTreeSet<Met> {
        self.contact.as_ref().map_or_else(BTreeSet::new, |c| c.met())
    }

    /// Whether the part is inside something on the way between two configurations that none of them, each given with
    /// what it pushes, touches.
    pub(crate) fn grazes(
        &self,
        (from, before): (&Configuration, &BTreeSet<Met>),
        (to, behind): (&Configuration, &BTreeSet<Met>),
    ) -> bool {
        let touched = before.union(behind).copied().collect();
        self.contact.as_ref().is_some_and(|c| {
            c.border.grazes(&places(&self.x, from), &places(&self.x, to), &touched)
        })
    }

    /// Whether a configuration lies deeper in what the part meets than any equilibrium.
    pub(crate) fn lies_deep(&self, at: &Configuration) -> bool {
        self.contact.as_ref().is_some_and(|c| c.lies_deep(&places(&self.x, at)))
    }

    /// Whether the state that was assembled last is none of a part: an iteration has left, and what touches was not
    /// looked for.
    pub(crate) fn is_wild(&self) -> bool {
        self.contact.as_ref().is_some_and(|c| c.is_wild())
    }

    /// Where at rest the part passes through something on the way from one configuration to another (mm).
    pub(crate) fn passes(&self, from: &Configuration, to: &Configuration) -> Option<[f64; 2]> {
        let border = &self.contact.as_ref()?.border;
        let edge = border.passed(&places(&self.x, from), &places(&self.x, to))?;
        let place = border.rest[edge].at(0.5);
        Some([place.x, place.y])
    }

    /// What pushes in the state that was assembled last.
    pub(crate) fn pushing(&self, at: &Configuration) -> Pushing {
        self.contact.as_ref().map_or_else(Pushing::default, |c| c.pushing(&self.x, at))
    }

    fn assemble_strips(&mut self, at: &Configuration, want: Want, parity: usize) -> Outcome {
        let (pattern, values) = {
            let (offsets, _, values) = self.tangent.csc_data_mut();
            (offsets, values)
        };
        let mut values = &mut values[..];
        let mut internal = &mut self.internal[..];
        let (mut values_from, mut nodes_from) = (0, 0);
        let mut jobs = Vec::new();
        for strip in self.strips.iter().skip(parity).step_by(2) {
            let entries = pattern[strip.equations.start]..pattern[strip.equations.end];
            let (_, rest) = values.split_at_mut(entries.start - values_from);
            let (own_values, rest) = rest.split_at_mut(entries.len());
            values = rest;
            let (_, rest) = internal.split_at_mut(strip.nodes.start - nodes_from);
            let (own_internal, rest) = rest.split_at_mut(strip.nodes.len());
            internal = rest;
            (values_from, nodes_from) = (entries.end, strip.nodes.end);
            jobs.push(StripJob {
                batches: &self.batches[strip.batches.clone()],
                slots: &self.slots[strip.batches.clone()],
                at,
                solid: &self.solid,
                want,
                values: own_values,
                first_value: index(entries.start),
                internal: own_internal,
                first_node: index(strip.nodes.start),
            });
        }
        let outcomes: Vec<Outcome> = jobs.into_par_iter().map(simd::run).collect();
        outcomes.into_iter().fold(Outcome::NONE, Outcome::join)
    }

    /// Takes a configuration for a converged state: what its points have become is remembered.
    pub(crate) fn commit(&mut self, model: &Model, at: &Configuration) {
        if let Some(pointwise) = &mut self.solid.pointwise {
            pointwise.commit(places_of(model, &self.dofs, &self.x, at));
        }
    }

    /// The strain that the springs of a law's points bear in a configuration.
    pub(crate) fn borne(&self, model: &Model, at: &Configuration) -> Vec<[Borne; 3]> {
        let borne = |p: &Pointwise| p.borne(places_of(model, &self.dofs, &self.x, at));
        self.solid.pointwise.as_ref().map_or_else(Vec::new, borne)
    }

    /// What time does to the points from now on; the linear law leaves its own kernel for it.
    pub(crate) fn set_viscous(&mut self, model: &Model, viscous: Viscous) {
        self.solid.pointwise.get_or_insert_with(|| Pointwise::any(model)).set_viscous(viscous);
    }

    /// Begins a step of this time: what the points remember relaxes in it.
    pub(crate) fn begin(&mut self, dt: f64) {
        if let Some(pointwise) = &mut self.solid.pointwise {
            pointwise.begin(dt);
        }
    }

    /// Reference centre of a mesh element (mm).
    pub(crate) fn place_of(&self, element: u32) -> [f64; 2] {
        self.centers[element as usize]
    }

    /// Residual of the equations: internal minus external forces (N, N mm).
    pub(crate) fn residual(&self, at: &Configuration) -> Vec<f64> {
        let nodal: Vec<[f64; 2]> = self
            .internal
            .iter()
            .zip(&self.dofs.force)
            .map(|(f, p)| [f[0] - at.factor * p[0], f[1] - at.factor * p[1]])
            .collect();
        let mut residual = reduce(&self.dofs, &self.x, &at.q, &nodal);
        for body in &self.dofs.bodies {
            for k in 0..3 {
                if body.equations[k] != NONE {
                    residual[body.equations[k] as usize] -= at.factor * body.load[k];
                }
            }
        }
        residual
    }

    /// Work of the drives by load factor in the state that was assembled last, what loads do left out (mJ).
    pub(crate) fn effort(&self, at: &Configuration) -> f64 {
        self.work_of_drives(at, &self.internal, at.factor)
    }

    /// Its derivative by the load factor with the unknowns kept, but for what turning the drives' own arms adds (mJ).
    pub(crate) fn effort_rate(&self, at: &Configuration) -> f64 {
        let rate = self.force_rate_at_bodies(at, |n| self.prescribed_rate(&at.q, n));
        self.work_of_drives(at, &rate, 0.0)
    }

    /// Work by load factor of nodal forces on what is driven, less that of so much of the loads (mJ).
    fn work_of_drives(&self, at: &Configuration, forces: &[[f64; 2]], loaded: f64) -> f64 {
        let of = |(body, q): (&Body, &[f64; 3])| {
            let all = resultant(body, &self.x, q[2], forces);
            (0..3).map(|k| (all[k] - loaded * body.load[k]) * body.driven[k]).sum::<f64>()
        };
        self.dofs.bodies.iter().zip(&at.q).map(of).sum()
    }

    /// Derivative of the residual by the load factor, unknowns kept.
    pub(crate) fn residual_rate(&self, at: &Configuration) -> Vec<f64> {
        let mut rate = self.force_rate(&self.moved, at, |n| self.prescribed_rate(&at.q, n));
        if let Some(contact) = &self.contact {
            contact.add_rate(&self.x, at, |n| self.prescribed_rate(&at.q, n), &mut rate);
        }
        for (rate, force) in rate.iter_mut().zip(&self.dofs.force) {
            *rate = [rate[0] - force[0], rate[1] - force[1]];
        }
        let mut reduced = reduce(&self.dofs, &self.x, &at.q, &rate);
        for body in &self.dofs.bodies {
            for k in 0..3 {
                if body.equations[k] != NONE {
                    reduced[body.equations[k] as usize] -= body.load[k];
                }
            }
        }
        reduced
    }

    /// Rate of the nodal internal forces under nodal velocities, from the elements that touch rigid
    /// regions: complete on the nodes of those regions, and on all nodes if only they move.
    pub(crate) fn force_rate_at_bodies(
        &self,
        at: &Configuration,
        velocity: impl Fn(u32) -> [f64; 2],
    ) -> Vec<[f64; 2]> {
        let mut rate = self.force_rate(self.coupled.batches(), at, &velocity);
        if let Some(contact) = &self.contact {
            contact.add_rate(&self.x, at, velocity, &mut rate);
        }
        rate
    }

    /// K v over some elements.
    fn force_rate(
        &self,
        batches: &[ElementBatch],
        at: &Configuration,
        velocity: impl Fn(u32) -> [f64; 2],
    ) -> Vec<[f64; 2]> {
        let mut rate = vec![[0.0; 2]; self.x.len()];
        let mut result = BatchResult::new();
        for batch in batches {
            let u = gather(batch, &at.u);
            self.solid.batch::<false>(batch, &u, Want::Tangent, &mut result);
            for l in 0..batch.count {
                let nodes: [u32; 6] = std::array::from_fn(|a| batch.nodes[a][l]);
                let v: [[f64; 2]; 6] = nodes.map(&velocity);
                for i in 0..12 {
                    let mut sum = 0.0;
                    for j in 0..12 {
                        let k = if i >= j { packed(i, j) } else { packed(j, i) };
                        sum += result.K[k].0[l] * v[j / 2][j % 2];
                    }
                    rate[nodes[i / 2] as usize][i % 2] += sum;
                }
            }
        }
        rate
    }

    /// d u / d factor of a node's prescribed displacement (mm); a driven turn makes it depend on
    /// the angle.
    fn prescribed_rate(&self, q: &[[f64; 3]], n: u32) -> [f64; 2] {
        match self.dofs.motion[n as usize] {
            Motion::Own(_) => self.dofs.prescribed[n as usize],
            Motion::Rigid(b) => {
                let body = &self.dofs.bodies[b as usize];
                rigid_velocity(body, q[b as usize][2], self.x[n as usize], body.driven)
            }
        }
    }
}

/// Places and displacements of a mesh element's nodes in a configuration.
fn places_of<'a>(
    model: &'a Model,
    dofs: &'a Dofs,
    x: &'a [[f64; 2]],
    at: &'a Configuration,
) -> impl Fn(usize) -> Places + Sync + 'a {
    let elements = model.mesh().elements();
    |e| {
        let nodes = elements[e].map(|n| dofs.solver_node[n.index()] as usize);
        (nodes.map(|n| x[n]), nodes.map(|n| at.u[n]))
    }
}

/// Whether the load factor moves a node.
fn is_moved(dofs: &Dofs, n: u32) -> bool {
    match dofs.motion[n as usize] {
        Motion::Own(_) => dofs.prescribed[n as usize].iter().any(|&v| v.abs() > 0.0),
        Motion::Rigid(b) => dofs.bodies[b as usize].driven.iter().any(|&v| v.abs() > 0.0),
    }
}

/// Elements by how they are assembled.
struct SortedElements {
    /// Every node moves on its own; sorted by level.
    regular: Vec<u32>,
    /// Some node rides on a rigid region.
    coupled: Vec<u32>,
    /// Wholly inside one rigid region: no strain.
    rigid: Vec<bool>,
}

impl SortedElements {
    fn new(dofs: &Dofs, elements: &[[u32; 6]]) -> Self {
        let (mut regular, mut coupled) = (Vec::new(), Vec::new());
        let mut rigid = vec![false; elements.len()];
        for (e, nodes) in elements.iter().enumerate() {
            let motions = nodes.map(|n| dofs.motion[n as usize]);
            let same_body = match motions[0] {
                Motion::Rigid(_) => motions.iter().all(|m| *m == motions[0]),
                Motion::Own(_) => false,
            };
            if same_body {
                rigid[e] = true;
            } else if motions.iter().all(|m| matches!(m, Motion::Own(_))) {
                regular.push(index(e));
            } else {
                coupled.push(index(e));
            }
        }
        regular.sort_by_key(|&e| level_of(dofs, &elements[e as usize]));
        Self { regular, coupled, rigid }
    }
}

/// The lowest level among an element's nodes.
fn level_of(dofs: &Dofs, nodes: &[u32; 6]) -> u32 {
    nodes.iter().map(|&n| dofs.level[n as usize]).min().unwrap_or(0)
}

/// Cuts the sorted elements into strips of whole levels.
fn strips(
    dofs: &Dofs,
    x: &[[f64; 2]],
    elements: &[[u32; 6]],
    sorted: &[u32],
) -> (Vec<ElementBatch>, Vec<Strip>) {
    let target = ELEMENTS_PER_STRIP.max(sorted.len().div_ceil(MOST_STRIPS));
    let (mut batches, mut strips) = (Vec::new(), Vec::new());
    let mut from = 0;
    while from < sorted.len() {
        let mut to = (from + target).min(sorted.len());
        while to < sorted.len()
            && level_of(dofs, &elements[sorted[to] as usize])
                == level_of(dofs, &elements[sorted[to - 1] as usize])
        {
            to += 1;
        }
        let own = &sorted[from..to];
        let first = batches.len();
        batches.extend(ElementBatch::of(x, elements, own));
        let nodes = own.iter().flat_map(|&e| elements[e as usize]);
        let low = nodes.clone().min().unwrap_or(0) as usize;
        let high = nodes.max().unwrap_or(0) as usize + 1;
        let equations = (low..high).filter_map(|n| match dofs.motion[n] {
            Motion::Own(e) => Some(e.into_iter().filter(|&e| e != NONE)),
            Motion::Rigid(_) => None,
        });
        let equations = equations.flatten();
        let first_equation = equations.clone().min().map_or(0, |e| e as usize);
        let last_equation = equations.max().map_or(0, |e| e as usize + 1);
        strips.push(Strip {
            batches: first..batches.len(),
            nodes: low..high,
            equations: first_equation..last_equation,
        });
        from = to;
    }
    (batches, strips)
}

/// Where each entry of a batch's packed tangents stands in the sparse values.
fn slots_of(dofs: &Dofs, tangent: &CscMatrix<f64>, batch: &ElementBatch) -> [[u32; WIDTH]; PACKED] {
    let mut slots = [[NONE; WIDTH]; PACKED];
    for l in 0..batch.count {
        let equations: [u32; 12] =
            std::array::from_fn(|i| match dofs.motion[batch.nodes[i / 2][l] as usize] {
                Motion::Own(e) => e[i % 2],
                Motion::Rigid(_) => NONE,
            });
        for i in 0..12 {
            for j in 0..=i {
                if equations[i] != NONE && equations[j] != NONE {
                    slots[packed(i, j)][l] = pattern::slot(tangent, equations[i], equations[j]);
                }
            }
        }
    }
    slots
}

/// One strip's share of an assembly.
struct StripJob<'a> {
    batches: &'a [ElementBatch],
    slots: &'a [[[u32; WIDTH]; PACKED]],
    at: &'a Configuration,
    solid: &'a Solid,
    want: Want,
    values: &'a mut [f64],
    first_value: u32,
    internal: &'a mut [[f64; 2]],
    first_node: u32,
}

impl simd::Job for StripJob<'_> {
    type Output = Outcome;

    #[inline(always)]
    fn run<const FUSED: bool>(self) -> Outcome {
        let mut outcome = Outcome::NONE;
        let mut result = BatchResult::new();
        for (batch, slots) in self.batches.iter().zip(self.slots) {
            let u = gather(batch, &self.at.u);
            self.solid.batch::<FUSED>(batch, &u, self.want, &mut result);
            if self.want == Want::Tangent {
                for k in 0..PACKED {
                    for l in 0..batch.count {
                        let slot = slots[k][l];
                        if slot != NONE {
                            self.values[(slot - self.first_value) as usize] += result.K[k].0[l];
                        }
                    }
                }
            }
            for a in 0..6 {
                for l in 0..batch.count {
                    let f = &mut self.internal[(batch.nodes[a][l] - self.first_node) as usize];
                    f[0] += result.f[2 * a].0[l];
                    f[1] += result.f[2 * a + 1].0[l];
                }
            }
            outcome.add_batch(batch, &result);
        }
        outcome
    }
}
