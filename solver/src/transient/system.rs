//! The equations of a part that moves freely: elements, masses, and the matrix of one time step.

use super::element::{Laid, Rate, Stepped};
use crate::dofs::{Dofs, Motion, NONE};
use crate::element::{PACKED, packed};
use crate::error::Failure;
use crate::linear::Factor;
use crate::mass::element_mass;
use crate::model::Model;
use crate::newton::groups;
use crate::pattern;
use nalgebra_sparse::CscMatrix;
use rayon::prelude::*;

/// Entries of a 12 x 12 lower triangle that have no place in the matrix.
const NOWHERE: u32 = u32::MAX;

/// A part without drives.
pub(super) struct Moving {
    pub(super) dofs: Dofs,
    elements: Vec<Laid>,
    /// By element, between its nodes (g).
    masses: Vec<[[f64; 6]; 6]>,
    matrix: CscMatrix<f64>,
    slots: Vec<[u32; PACKED]>,
    factor: Factor,
    moduli: [f64; 3],
}

/// Nodal forces of a step and its sums.
pub(super) struct Forces {
    /// Elastic and viscous force and rate of momentum, by solver node (N).
    pub(super) sum: Vec<[f64; 2]>,
    /// Sum of the squares of all element forces: what rounding is measured by (N2).
    pub(super) squares: f64,
    /// Strain energy at the end (mJ).
    pub(super) energy: f64,
    /// Work that the strain rate takes (mJ).
    pub(super) lost: f64,
}

impl Moving {
    /// `density` in g/mm3. The model's own drives and loads do not act.
    pub(super) fn new(model: &Model, density: f64) -> Self {
        let dofs = Dofs::new(model);
        let (x, nodes) = dofs.laid_out(model.mesh());
        let places = |e: &[u32; 6]| e.map(|n| x[n as usize]);
        let by_area = density * model.thickness();
        let elements = nodes.iter().map(|e| Laid::new(*e, &places(e), model.thickness())).collect();
        let masses = nodes
            .iter()
            .map(|e| element_mass(&places(e)).map(|row| row.map(|m| by_area * m)))
            .collect();
        let matrix = pattern::lower_triangle(&dofs, &nodes, &vec![false; nodes.len()]);
        let slots = nodes.iter().map(|e| slots(&dofs, &matrix, e)).collect();
        let (blocks, at) = groups(&dofs, &x);
        let factor = Factor::new(&matrix, &blocks, &at);
        let moduli = model.law().elastic().moduli();
        Self { dofs, elements, masses, matrix, slots, factor, moduli }
    }

    /// Forces of the step from `u0` to `u1`, with the acceleration that goes with it.
    pub(super) fn forces(
        &self,
        u0: &[[f64; 2]],
        u1: &[[f64; 2]],
        acceleration: &[[f64; 2]],
        damping: f64,
    ) -> Forces {
        let rate = Rate { moduli: self.moduli, damping };
        let each: Vec<Stepped> = self
            .elements
            .par_iter()
            .zip(&self.masses)
            .map(|(element, mass)| {
                let of = |field: &[[f64; 2]]| element.nodes.map(|n| field[n as usize]);
                let mut step = element.step(&of(u0), &of(u1), &rate);
                let a = of(acceleration);
                for (f, row) in step.f.iter_mut().zip(mass) {
                    for i in 0..2 {
                        f[i] += (0..6).map(|b| row[b] * a[b][i]).sum::<f64>();
                    }
                }
                step
            })
            .collect();
        let mut out =
            Forces { sum: vec![[0.0; 2]; u0.len()], squares: 0.0, energy: 0.0, lost: 0.0 };
        // One after the other: the sums do not depend on the number of threads.
        for (element, step) in self.elements.iter().zip(&each) {
            out.energy += step.energy;
            out.lost += step.lost;
            for (n, f) in element.nodes.iter().zip(&step.f) {
                let sum = &mut out.sum[*n as usize];
                for i in 0..2 {
                    sum[i] += f[i];
                    out.squares += f[i] * f[i];
                }
            }
        }
        out
    }

    /// Factors inertia M + tangent, the tangent of the step from `u0` to `u1`.
    ///
    /// # Errors
    /// A singular matrix.
    pub(super) fn factor(
        &mut self,
        u0: &[[f64; 2]],
        u1: &[[f64; 2]],
        damping: f64,
        inertia: f64,
    ) -> Result<(), Failure> {
        let rate = Rate { moduli: self.moduli, damping };
        self.fill(|element, mass| {
            let of = |field: &[[f64; 2]]| element.nodes.map(|n| field[n as usize]);
            let mut k = element.tangent(&of(u0), &of(u1), &rate);
            add_mass(&mut k, mass, inertia);
            k
        });
        self.factor.factor(&self.matrix).map(|_| ())
    }

    fn fill(&mut self, of: impl Fn(&Laid, &[[f64; 6]; 6]) -> [f64; PACKED] + Sync) {
        let each: Vec<[f64; PACKED]> =
            self.elements.par_iter().zip(&self.masses).map(|(e, m)| of(e, m)).collect();
        let values = self.matrix.values_mut();
        values.fill(0.0);
        for (slots, k) in self.slots.iter().zip(&each) {
            for (slot, k) in slots.iter().zip(k) {
                if *slot != NOWHERE {
                    values[*slot as usize] += k;
                }
            }
        }
    }

    /// Solves in place with the last factors.
    pub(super) fn solve(&mut self, right: &mut [f64]) {
        self.factor.solve(right);
    }

    /// Mass times a field of equations: `M x`, prescribed nodes at rest.
    pub(super) fn mass_times(&self, x: &[f64]) -> Vec<f64> {
        let field = self.spread(x);
        let mut sum = vec![[0.0; 2]; field.len()];
        for (element, mass) in self.elements.iter().zip(&self.masses) {
            for (a, row) in mass.iter().enumerate() {
                for i in 0..2 {
                    let own = &mut sum[element.nodes[a] as usize][i];
                    for b in 0..6 {
                        *own += row[b] * field[element.nodes[b] as usize][i];
                    }
                }
            }
        }
        self.gathered(&sum)
    }

    /// Kinetic energy (mJ) and momentum (mN s) of a nodal velocity field.
    pub(super) fn motion(&self, v: &[[f64; 2]]) -> (f64, [f64; 2]) {
        let (mut energy, mut momentum) = (0.0, [0.0; 2]);
        for (element, mass) in self.elements.iter().zip(&self.masses) {
            let v = element.nodes.map(|n| v[n as usize]);
            for a in 0..6 {
                for b in 0..6 {
                    for i in 0..2 {
                        energy += 0.5 * mass[a][b] * v[a][i] * v[b][i];
                        momentum[i] += mass[a][b] * v[b][i];
                    }
                }
            }
        }
        (energy, momentum)
    }

    /// A nodal field out of the equations; 0 where prescribed.
    pub(super) fn spread(&self, x: &[f64]) -> Vec<[f64; 2]> {
        let of = |e: u32| if e == NONE { 0.0 } else { x[e as usize] };
        self.equations().map(|[a, b]| [of(a), of(b)]).collect()
    }

    /// The equations' share of a nodal field.
    pub(super) fn gathered(&self, field: &[[f64; 2]]) -> Vec<f64> {
        let mut x = vec![0.0; self.dofs.count];
        for (equations, value) in self.equations().zip(field) {
            for i in 0..2 {
                if equations[i] != NONE {
                    x[equations[i] as usize] = value[i];
                }
            }
        }
        x
    }

    /// The equations of each solver node.
    pub(super) fn equations(&self) -> impl Iterator<Item = [u32; 2]> + '_ {
        self.dofs.motion.iter().map(|motion| match motion {
            Motion::Own(equations) => *equations,
            Motion::Rigid(_) => [NONE; 2],
        })
    }
}

/// Adds a multiple of the mass, the same along x and y.
fn add_mass(k: &mut [f64; PACKED], mass: &[[f64; 6]; 6], factor: f64) {
    for a in 0..6 {
        for b in 0..=a {
            for i in 0..2 {
                k[packed(2 * a + i, 2 * b + i)] += factor * mass[a][b];
            }
        }
    }
}

fn slots(dofs: &Dofs, matrix: &CscMatrix<f64>, element: &[u32; 6]) -> [u32; PACKED] {
    let equation = |n: usize| match dofs.motion[element[n / 2] as usize] {
        Motion::Own(equations) => equations[n % 2],
        Motion::Rigid(_) => NONE,
    };
    let mut slots = [NOWHERE; PACKED];
    for i in 0..12 {
        for j in 0..=i {
            let (a, b) = (equation(i), equation(j));
            if a != NONE && b != NONE {
                slots[packed(i, j)] = pattern::slot(matrix, a, b);
            }
        }
    }
    slots
}
