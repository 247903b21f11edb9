//! Where everything is: nodal displacements, rigid coordinates, load factor.

use crate::dofs::{Body, Dofs, Motion, NONE};

/// A deformed state in the solver's node order.
#[derive(Clone, Debug)]
pub(crate) struct Configuration {
    /// Displacement of each solver node (mm).
    pub(crate) u: Vec<[f64; 2]>,
    /// Coordinates of each rigid region (mm, mm, rad).
    pub(crate) q: Vec<[f64; 3]>,
    /// Load factor: 0 at rest, 1 at full draw.
    pub(crate) factor: f64,
}

impl Configuration {
    pub(crate) fn at_rest(dofs: &Dofs) -> Self {
        Self {
            u: vec![[0.0; 2]; dofs.motion.len()],
            q: vec![[0.0; 3]; dofs.bodies.len()],
            factor: 0.0,
        }
    }

    /// Puts everything prescribed where the load factor wants it.
    pub(crate) fn set_factor(&mut self, dofs: &Dofs, x: &[[f64; 2]], factor: f64) {
        self.factor = factor;
        for (n, motion) in dofs.motion.iter().enumerate() {
            if let Motion::Own(equations) = motion {
                for i in 0..2 {
                    if equations[i] == NONE {
                        self.u[n][i] = factor * dofs.prescribed[n][i];
                    }
                }
            }
        }
        for (body, q) in dofs.bodies.iter().zip(&mut self.q) {
            for k in 0..3 {
                if body.equations[k] == NONE {
                    q[k] = factor * body.driven[k];
                }
            }
        }
        self.carry_bodies(dofs, x);
    }

    /// Adds `scale` times an increment of the unknowns.
    pub(crate) fn advance(&mut self, dofs: &Dofs, x: &[[f64; 2]], increment: &[f64], scale: f64) {
        for (n, motion) in dofs.motion.iter().enumerate() {
            if let Motion::Own(equations) = motion {
                for i in 0..2 {
                    if equations[i] != NONE {
                        self.u[n][i] += scale * increment[equations[i] as usize];
                    }
                }
            }
        }
        for (body, q) in dofs.bodies.iter().zip(&mut self.q) {
            for k in 0..3 {
                if body.equations[k] != NONE {
                    q[k] += scale * increment[body.equations[k] as usize];
                }
            }
        }
        self.carry_bodies(dofs, x);
    }

    /// The values of the unknowns.
    pub(crate) fn unknowns(&self, dofs: &Dofs) -> Vec<f64> {
        let mut values = vec![0.0; dofs.count];
        let mut put = |equation: u32, value: f64| {
            if equation != NONE {
                values[equation as usize] = value;
            }
        };
        for (n, motion) in dofs.motion.iter().enumerate() {
            if let Motion::Own(equations) = motion {
                put(equations[0], self.u[n][0]);
                put(equations[1], self.u[n][1]);
            }
        }
        for (body, q) in dofs.bodies.iter().zip(&self.q) {
            for k in 0..3 {
                put(body.equations[k], q[k]);
            }
        }
        values
    }

    /// Moves the nodes of rigid regions with their regions.
    fn carry_bodies(&mut self, dofs: &Dofs, x: &[[f64; 2]]) {
        for (body, q) in dofs.bodies.iter().zip(&self.q) {
            for &n in &body.nodes {
                let r0 = arm(body, x[n as usize]);
                let r = rotate(q[2], r0);
                self.u[n as usize] = [q[0] + r[0] - r0[0], q[1] + r[1] - r0[1]];
            }
        }
    }
}

/// X - c: the place of a node seen from its region's centroid, at rest (mm).
fn arm(body: &Body, x: [f64; 2]) -> [f64; 2] {
    [x[0] - body.centroid[0], x[1] - body.centroid[1]]
}

/// R(turn) (X - c): the place of a node seen from its region's centroid, now (mm).
pub(crate) fn arm_now(body: &Body, turn: f64, x: [f64; 2]) -> [f64; 2] {
    rotate(turn, arm(body, x))
}

/// Velocity of a node that rides on a region whose coordinates move at `rates`.
pub(crate) fn rigid_velocity(body: &Body, turn: f64, x: [f64; 2], rates: [f64; 3]) -> [f64; 2] {
    let r = arm_now(body, turn, x);
    [rates[0] - rates[2] * r[1], rates[1] + rates[2] * r[0]]
}

/// R(angle) r.
fn rotate(angle: f64, r: [f64; 2]) -> [f64; 2] {
    let (sin, cos) = angle.sin_cos();
    [cos * r[0] - sin * r[1], sin * r[0] + cos * r[1]]
}

/// Nodal forces reduced to the equations: T' f.
pub(crate) fn reduce(dofs: &Dofs, x: &[[f64; 2]], q: &[[f64; 3]], nodal: &[[f64; 2]]) -> Vec<f64> {
    let mut reduced = vec![0.0; dofs.count];
    for (n, motion) in dofs.motion.iter().enumerate() {
        if let Motion::Own(equations) = motion {
            for i in 0..2 {
                if equations[i] != NONE {
                    reduced[equations[i] as usize] = nodal[n][i];
                }
            }
        }
    }
    for (body, q) in dofs.bodies.iter().zip(q) {
        let resultant = resultant(body, x, q[2], nodal);
        for k in 0..3 {
            if body.equations[k] != NONE {
                reduced[body.equations[k] as usize] = resultant[k];
            }
        }
    }
    reduced
}

/// Force and moment about the region's present centroid of nodal forces on a rigid region.
pub(crate) fn resultant(body: &Body, x: &[[f64; 2]], turn: f64, nodal: &[[f64; 2]]) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for &n in &body.nodes {
        let f = nodal[n as usize];
        let r = arm_now(body, turn, x[n as usize]);
        sum = [sum[0] + f[0], sum[1] + f[1], sum[2] + r[0] * f[1] - r[1] * f[0]];
    }
    sum
}
