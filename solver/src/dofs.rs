//! Degrees of freedom: which node moves on its own, which rides on a rigid region, and in which
//! order the equations stand.
//!
//! Inside the solver nodes are renumbered by breadth-first levels over the elements: the nodes of
//! an element lie on one level or two neighbouring ones. Equations follow that order, so a strip of
//! levels owns a contiguous range of equations, and strips that are not neighbours can be assembled
//! at once.

use crate::model::{Coordinate, Model};
use crate::quadrature::{DEGREE_4, EDGE_DEGREE_5};
use crate::triangle;
use withy_mesh::{Mesh, NodeId};

/// Marks an equation number that does not exist: the dof is prescribed.
pub(crate) const NONE: u32 = u32::MAX;

/// How a node moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Motion {
    /// By its own equations; `NONE` where prescribed.
    Own([u32; 2]),
    /// With the rigid region of this index.
    Rigid(u32),
}

/// A rigid region's kinematics.
#[derive(Clone, Debug)]
pub(crate) struct Body {
    /// Centroid in the reference state (mm).
    pub(crate) centroid: [f64; 2],
    /// Equations of its three coordinates; `NONE` where driven.
    pub(crate) equations: [u32; 3],
    /// Values at load factor 1 where driven (mm, mm, rad), 0 where free.
    pub(crate) driven: [f64; 3],
    /// Dead force and moment at load factor 1 (N, N, N mm).
    pub(crate) load: [f64; 3],
    /// Its nodes, in the solver's order.
    pub(crate) nodes: Vec<u32>,
}

/// The numbering of one model.
#[derive(Clone, Debug)]
pub(crate) struct Dofs {
    /// Mesh node of each solver node.
    pub(crate) mesh_node: Vec<u32>,
    /// Solver node of each mesh node.
    pub(crate) solver_node: Vec<u32>,
    /// Level of each solver node, ascending.
    pub(crate) level: Vec<u32>,
    /// Motion of each solver node.
    pub(crate) motion: Vec<Motion>,
    /// Prescribed displacement at load factor 1 of each solver node (mm), 0 where free.
    pub(crate) prescribed: Vec<[f64; 2]>,
    /// Dead nodal force at load factor 1 of each solver node (N).
    pub(crate) force: Vec<[f64; 2]>,
    pub(crate) bodies: Vec<Body>,
    /// Centroid of each support's region at rest (mm).
    pub(crate) support_centroids: Vec<[f64; 2]>,
    /// Number of equations.
    pub(crate) count: usize,
}

impl Dofs {
    pub(crate) fn new(model: &Model) -> Self {
        let mesh = model.mesh();
        let (mesh_node, level) = levels(mesh);
        let mut solver_node = vec![0u32; mesh_node.len()];
        for (s, &m) in mesh_node.iter().enumerate() {
            solver_node[m as usize] = index(s);
        }
        let to_solver = |n: &NodeId| solver_node[n.index()];

        let nodes = mesh_node.len();
        let mut held = vec![[false; 2]; nodes];
        let mut prescribed = vec![[0.0; 2]; nodes];
        for support in model.supports() {
            for n in support.nodes.iter().map(to_solver) {
                for i in 0..2 {
                    if let Some(value) = support.displacement[i] {
                        held[n as usize][i] = true;
                        prescribed[n as usize][i] = value;
                    }
                }
            }
        }
        let mut force = vec![[0.0; 2]; nodes];
        for f in model.forces_on_nodes() {
            let n = to_solver(&f.node) as usize;
            force[n] = [force[n][0] + f.force[0], force[n][1] + f.force[1]];
        }
        let mut body_of = vec![NONE; nodes];
        for (b, region) in model.rigid_regions().iter().enumerate() {
            for n in region.nodes.iter().map(to_solver) {
                body_of[n as usize] = index(b);
            }
        }

        let mut count = 0u32;
        let mut next = || {
            count += 1;
            count - 1
        };
        let motion = (0..nodes)
            .map(|n| match body_of[n] {
                NONE => Motion::Own(held[n].map(|h| if h { NONE } else { next() })),
                b => Motion::Rigid(b),
            })
            .collect();
        let bodies = model
            .rigid_regions()
            .iter()
            .map(|region| Body {
                centroid: centroid(mesh, &region.nodes),
                equations: region.motion.map(|c| match c {
                    Coordinate::Driven(_) => NONE,
                    Coordinate::Free => next(),
                }),
                driven: region.motion.map(|c| match c {
                    Coordinate::Driven(value) => value,
                    Coordinate::Free => 0.0,
                }),
                load: [region.force[0], region.force[1], region.moment],
                nodes: region.nodes.iter().map(to_solver).collect(),
            })
            .collect();
        let count = count as usize;
        let support_centroids = model.supports().iter().map(|s| centroid(mesh, &s.nodes)).collect();
        Self {
            mesh_node,
            solver_node,
            level,
            motion,
            prescribed,
            force,
            bodies,
            support_centroids,
            count,
        }
    }

    /// Reference position of each solver node (mm), and the solver nodes of each mesh element.
    pub(crate) fn laid_out(&self, mesh: &Mesh) -> (Vec<[f64; 2]>, Vec<[u32; 6]>) {
        let place = |&n: &u32| {
            let p = mesh.nodes()[n as usize];
            [p.x, p.y]
        };
        let x = self.mesh_node.iter().map(place).collect();
        let elements = mesh.elements().iter();
        (x, elements.map(|e| e.map(|n| self.solver_node[n.index()])).collect())
    }
}

/// A node or equation number; the mesh counts its nodes in `u32` already.
pub(crate) fn index(i: usize) -> u32 {
    u32::try_from(i).expect("a mesh of u32 node numbers has fewer than 2^32 of anything we count")
}

/// Mesh nodes by breadth-first level, with their levels.
fn levels(mesh: &Mesh) -> (Vec<u32>, Vec<u32>) {
    let nodes = mesh.nodes().len();
    let (offsets, elements_of) = elements_by_node(mesh);
    let neighbours = |n: u32, visit: &mut dyn FnMut(u32)| {
        let range = offsets[n as usize] as usize..offsets[n as usize + 1] as usize;
        for &e in &elements_of[range] {
            for m in mesh.elements()[e as usize] {
                visit(m.0);
            }
        }
    };
    let mut level = vec![NONE; nodes];
    let mut order = Vec::with_capacity(nodes);
    let mut base = 0;
    for seed in 0..index(nodes) {
        if level[seed as usize] != NONE {
            continue;
        }
        // A first sweep finds a node at the far end: sweeping from there gives narrow levels.
        let start = order.len();
        sweep(seed, 0, &mut level, &mut order, &neighbours);
        let far = *order.last().expect("the sweep visits at least its seed");
        for &n in &order[start..] {
            level[n as usize] = NONE;
        }
        order.truncate(start);
        sweep(far, base, &mut level, &mut order, &neighbours);
        base = level[*order.last().expect("the sweep visits at least its seed") as usize] + 1;
    }
    let levels = order.iter().map(|&n| level[n as usize]).collect();
    (order, levels)
}

/// Calls back with each node that shares an element with the given one.
type Neighbours<'a> = dyn Fn(u32, &mut dyn FnMut(u32)) + 'a;

/// Breadth-first from `seed`, whose level is `base`; appends to `order`.
fn sweep(seed: u32, base: u32, level: &mut [u32], order: &mut Vec<u32>, neighbours: &Neighbours) {
    let mut head = order.len();
    level[seed as usize] = base;
    order.push(seed);
    while head < order.len() {
        let n = order[head];
        head += 1;
        let next = level[n as usize] + 1;
        neighbours(n, &mut |m| {
            if level[m as usize] == NONE {
                level[m as usize] = next;
                order.push(m);
            }
        });
    }
}

/// Which elements each mesh node belongs to, as offsets and a list.
pub(crate) fn elements_by_node(mesh: &Mesh) -> (Vec<u32>, Vec<u32>) {
    let mut offsets = vec![0u32; mesh.nodes().len() + 1];
    for n in mesh.elements().iter().flatten() {
        offsets[n.index() + 1] += 1;
    }
    for i in 1..offsets.len() {
        offsets[i] += offsets[i - 1];
    }
    let mut fill = offsets.clone();
    let mut list = vec![0u32; mesh.elements().len() * 6];
    for (e, element) in mesh.elements().iter().enumerate() {
        for n in element {
            list[fill[n.index()] as usize] = index(e);
            fill[n.index()] += 1;
        }
    }
    (offsets, list)
}

/// Centroid of the elements that a region holds wholly; of its outline edges if there are none; of
/// its nodes if there are none of these either (mm).
pub(crate) fn centroid(mesh: &Mesh, region: &[NodeId]) -> [f64; 2] {
    let mut inside = vec![false; mesh.nodes().len()];
    for n in region {
        inside[n.index()] = true;
    }
    let covers = |nodes: &[NodeId]| nodes.iter().all(|n| inside[n.index()]);

    let mut areas = FirstMoment::default();
    for element in mesh.elements().iter().filter(|e| covers(&e[..])) {
        let x = triangle::places(mesh, element);
        for g in DEGREE_4 {
            let (_, det) = triangle::gradients(&x, g.xi, g.eta);
            areas.add(g.weight * det, &triangle::shape(g.xi, g.eta), &x);
        }
    }
    let mut lengths = FirstMoment::default();
    for edge in mesh.boundary().iter().filter(|e| covers(&e.nodes)) {
        let x = triangle::places(mesh, &edge.nodes);
        for (s, weight) in EDGE_DEGREE_5 {
            let d = triangle::edge_derivatives(s);
            let slope = [0, 1].map(|i| (0..3).map(|a| d[a] * x[a][i]).sum::<f64>());
            let stretch = slope[0].hypot(slope[1]);
            lengths.add(weight * stretch, &triangle::edge_shape(s), &x);
        }
    }
    let mut points = FirstMoment::default();
    for n in region {
        points.add(1.0, &[1.0], &triangle::places(mesh, &[*n]));
    }
    [areas, lengths, points].into_iter().find_map(|m| m.centroid()).unwrap_or([0.0, 0.0])
}

/// A weight and its first moment.
#[derive(Clone, Copy, Default)]
struct FirstMoment {
    weight: f64,
    moment: [f64; 2],
}

impl FirstMoment {
    fn add(&mut self, weight: f64, shape: &[f64], x: &[[f64; 2]]) {
        self.weight += weight;
        for i in 0..2 {
            let at: f64 = shape.iter().zip(x).map(|(n, x)| n * x[i]).sum();
            self.moment[i] += weight * at;
        }
    }

    fn centroid(&self) -> Option<[f64; 2]> {
        (self.weight > 0.0).then(|| self.moment.map(|m| m / self.weight))
    }
}
