//! Equilibrium of a structure of beams: assembly, Newton's method, tangents of the path.

use super::condense::{Chain, Condensed, Start, Sums, forces};
use super::joints::Joints;
use super::model::{BeamModel, JointId, Member};
use crate::error::Failure;
use crate::linear::Inertia;
use crate::model::Coordinate;
use crate::simd::{self, Job};
use crate::stability::RegionStiffness;
use withy_mesh::number::{largest, max};

/// Residual relative to the element forces (root of the sum of squares) that counts as equilibrium:
/// forces are then good for six digits and more where the rib's thrust is a thousand times its pull.
const TOLERANCE: f64 = 1e-9;
/// Displacements carry this relative rounding, and EA over the element's length turns it into force.
const ROUNDING: f64 = 4.0 * f64::EPSILON;
/// Newton converges in 2 to 5 iterations or not at all (tuning: a larger limit only wastes time).
const MOST_ITERATIONS: usize = 12;
/// A residual that grows by this factor has left for good (tuning).
const DIVERGED: f64 = 1e8;

/// Joints, then the nodes of each member: displacement (mm, mm) and turn (rad).
pub(super) type Places = Vec<[f64; 3]>;

/// A state of a structure.
#[derive(Clone, Debug)]
pub(super) struct State {
    pub(super) factor: f64,
    pub(super) x: Places,
}

/// An equilibrium and what it took.
#[derive(Clone, Copy, Debug)]
pub(super) struct Equilibrium {
    pub(super) energy: f64,
    pub(super) iterations: usize,
}

/// The equations of a model.
#[derive(Debug)]
pub(super) struct System<'m> {
    pub(super) model: &'m BeamModel,
    /// First node of each member in the states.
    pub(super) begin: Vec<usize>,
    nodes: usize,
    chains: Vec<Chain>,
    starts: Vec<Start>,
    joints: Joints,
    fixed: Vec<bool>,
    /// Residual of the joints' coordinates, the inner nodes eliminated.
    residual: Vec<f64>,
    /// Internal forces on the joints' coordinates.
    internal: Vec<f64>,
    /// Length that moments are divided by where they are compared with forces (mm).
    pub(super) arm: f64,
    /// Root of the sum of squares of EA over the length of each element (N/mm).
    stretching: f64,
}

/// What an assembly found.
#[derive(Clone, Copy, Debug)]
struct Outcome {
    energy: f64,
    squares: f64,
    residual: f64,
    inertia: Inertia,
}

impl<'m> System<'m> {
    pub(super) fn new(model: &'m BeamModel) -> Self {
        let count = model.joints().len();
        let mut begin = Vec::new();
        let mut nodes = count;
        for member in model.chains() {
            begin.push(nodes);
            nodes += member.places.len();
        }
        let pairs: Vec<[usize; 2]> = model.chains().iter().map(|m| m.joints).collect();
        let driven = |c: &Coordinate| matches!(c, Coordinate::Driven(_));
        let fixed: Vec<bool> =
            model.joints().iter().flat_map(|j| j.motion.each_ref().map(driven)).collect();
        let starts = model.chains().iter().map(|m| {
            if model.joints()[m.joints[0]].is_clamped() { Start::Keeps } else { Start::Moves }
        });
        let apart = |a: [f64; 2], b: [f64; 2]| (b[0] - a[0]).hypot(b[1] - a[1]);
        let length = |m: &Member| m.places.windows(2).map(|p| apart(p[0], p[1])).sum::<f64>();
        let squares = model.chains().iter().flat_map(|m| {
            let ends = m.places.iter().step_by(2).zip(m.places.iter().skip(2).step_by(2));
            ends.zip(&m.sections).map(move |((a, b), s)| (s.axial() / apart(*a, *b)).powi(2))
        });
        let stretching = squares.sum::<f64>().sqrt();
        Self {
            begin,
            nodes,
            chains: model.chains().iter().map(Chain::new).collect(),
            starts: starts.collect(),
            joints: Joints::new(count, &pairs),
            fixed,
            residual: vec![0.0; 3 * count],
            internal: vec![0.0; 3 * count],
            arm: largest(0.0, model.chains().iter().map(length)),
            stretching,
            model,
        }
    }

    pub(super) fn at_rest(&self) -> State {
        State { factor: 0.0, x: vec![[0.0; 3]; self.nodes] }
    }

    /// Moves the driven coordinates to a load factor, and members' ends with their joints.
    pub(super) fn set_factor(&self, state: &mut State, factor: f64) {
        state.factor = factor;
        for (joint, q) in self.model.joints().iter().zip(&mut state.x) {
            for k in 0..3 {
                if let Coordinate::Driven(to) = joint.motion[k] {
                    q[k] = to * factor;
                }
            }
        }
        self.take_ends_along(state);
    }

    fn take_ends_along(&self, state: &mut State) {
        for (member, &begin) in self.model.chains().iter().zip(&self.begin) {
            let last = begin + member.places.len() - 1;
            for (end, node) in [begin, last].into_iter().enumerate() {
                let [u, v, turn] = state.x[member.joints[end]];
                let [x, y] = member.offsets[end];
                let (s2, c2) = (0.5 * turn).sin_cos();
                let (s, less) = (2.0 * s2 * c2, -2.0 * s2 * s2);
                state.x[node] = [u + less * x - s * y, v + s * x + less * y, turn];
            }
        }
    }

    /// From a joint to the end of a member as it is now (mm).
    fn arm_now(&self, state: &State, member: &Member, end: usize) -> [f64; 2] {
        let (s, c) = state.x[member.joints[end]][2].sin_cos();
        let [x, y] = member.offsets[end];
        [c * x - s * y, s * x + c * y]
    }

    /// Assembles tangent and residual, the inner nodes eliminated, and factors.
    fn assemble(&mut self, state: &State) -> Result<Outcome, Failure> {
        self.joints.clear();
        self.internal.fill(0.0);
        self.residual.fill(0.0);
        let mut found =
            Outcome { energy: 0.0, squares: 0.0, residual: 0.0, inertia: Inertia::NONE };
        for m in 0..self.chains.len() {
            let member = &self.model.chains()[m];
            let (begin, start) = (self.begin[m], self.starts[m]);
            let u = &state.x[begin..begin + member.places.len()];
            let chain = &mut self.chains[m];
            let condensed = simd::run(Condensing { chain, member, u, arm: self.arm, start })?;
            found.inertia.join(&condensed.inertia);
            found.take(&condensed.sums);
            let arms = [0, 1].map(|end| self.arm_now(state, member, end));
            self.scatter(m, &condensed, arms, start);
        }
        found.residual = self.balance(state, found.residual);
        found.inertia.join(&self.joints.factor(&self.fixed)?);
        Ok(found)
    }

    /// Adds a condensed member to the joints' matrix and residual.
    fn scatter(&mut self, m: usize, condensed: &Condensed, arms: [[f64; 2]; 2], start: Start) {
        let joints = self.model.chains()[m].joints;
        let k = &condensed.stiffness;
        // Start and end in their joints' coordinates: the turn also moves the end.
        let full = |i: usize, j: usize| if i <= j { k[i][j] } else { k[j][i] };
        match start {
            Start::Moves => {
                for (p, q) in [(0, 0), (0, 1), (1, 1)] {
                    let block = std::array::from_fn(|i| {
                        std::array::from_fn(|j| full(3 * p + i, 3 * q + j))
                    });
                    let mut block = carried(&block, arms[p], arms[q]);
                    if p != q && joints[p] == joints[q] {
                        // A member back to its own joint couples that joint with itself.
                        block = std::array::from_fn(|i| {
                            std::array::from_fn(|j| block[i][j] + block[j][i])
                        });
                    }
                    self.add_block([joints[p], joints[q]], &block);
                }
                self.add_residual(joints[0], &condensed.residual, 0, arms[0]);
                self.add_residual(joints[1], &condensed.residual, 3, arms[1]);
            }
            Start::Keeps => {
                let block = std::array::from_fn(|i| std::array::from_fn(|j| full(3 + i, 3 + j)));
                self.add_block([joints[1]; 2], &carried(&block, arms[1], arms[1]));
                self.add_residual(joints[1], &condensed.residual, 3, arms[1]);
            }
        }
        for end in 0..2 {
            let f = condensed.sums.ends[end];
            let arm = arms[end];
            let turn = 3 * joints[end] + 2;
            // The arm turns with the joint: its second derivative is minus itself.
            self.joints.add(turn, turn, -(arm[0] * f[0] + arm[1] * f[1]));
            self.add_internal(joints[end], &f, arm);
        }
    }

    fn add_block(&mut self, [a, b]: [usize; 2], block: &[[f64; 3]; 3]) {
        for i in 0..3 {
            for j in 0..3 {
                if a != b || j <= i {
                    self.joints.add(3 * a + i, 3 * b + j, block[i][j]);
                }
            }
        }
    }

    fn add_residual(&mut self, joint: usize, r: &[f64; 6], from: usize, arm: [f64; 2]) {
        let f = [r[from], r[from + 1], r[from + 2]];
        add_moved(&mut self.residual, joint, &f, arm);
    }

    fn add_internal(&mut self, joint: usize, f: &[f64; 3], arm: [f64; 2]) {
        add_moved(&mut self.internal, joint, f, arm);
    }

    /// Subtracts the loads; the size of what is out of balance (N).
    fn balance(&mut self, state: &State, inner: f64) -> f64 {
        let mut unbalanced = inner;
        for (j, joint) in self.model.joints().iter().enumerate() {
            let load = [joint.force[0], joint.force[1], joint.moment];
            for k in 0..3 {
                let i = 3 * j + k;
                let now = state.factor * load[k];
                self.residual[i] -= now;
                if !self.fixed[i] {
                    let open = (self.internal[i] - now) / if k == 2 { self.arm } else { 1.0 };
                    unbalanced += open * open;
                }
            }
        }
        unbalanced.sqrt()
    }

    /// Changes of all places for `balance` times the residual at hand and `load` times the change of loads
    /// and drives by the load factor.
    fn changes(&self, balance: f64, load: f64) -> Places {
        let mut q = vec![0.0; self.residual.len()];
        for (j, joint) in self.model.joints().iter().enumerate() {
            let loads = [joint.force[0], joint.force[1], joint.moment];
            for k in 0..3 {
                q[3 * j + k] = match joint.motion[k] {
                    Coordinate::Driven(to) => load * to,
                    Coordinate::Free => load * loads[k] - balance * self.residual[3 * j + k],
                };
            }
        }
        self.joints.solve(&mut q);
        let mut x = vec![[0.0; 3]; self.nodes];
        for (j, moved) in q.chunks_exact(3).enumerate() {
            x[j] = [moved[0], moved[1], moved[2]];
        }
        x
    }

    /// Completes changes of the joints by those of the members.
    fn carry_on(&self, state: &State, x: &mut Places, balance: f64) {
        for (m, member) in self.model.chains().iter().enumerate() {
            let (begin, count) = (self.begin[m], member.places.len());
            for (end, node) in [begin, begin + count - 1].into_iter().enumerate() {
                let [u, v, turn] = x[member.joints[end]];
                let [ax, ay] = self.arm_now(state, member, end);
                x[node] = [u - ay * turn, v + ax * turn, turn];
            }
            self.chains[m].back(&mut x[begin..begin + count], balance, self.starts[m]);
        }
    }

    /// Newton's correction at the assembled state.
    fn correction(&self, state: &State) -> Places {
        let mut x = self.changes(1.0, 0.0);
        self.carry_on(state, &mut x, 1.0);
        x
    }

    /// Change of all places by the load factor at the assembled state.
    fn rate(&self, state: &State) -> Places {
        let mut x = self.changes(0.0, 1.0);
        self.carry_on(state, &mut x, 0.0);
        x
    }

    /// Adds changes; members' ends follow their joints exactly.
    fn advance(&self, state: &mut State, x: &[[f64; 3]], scale: f64) {
        for (now, change) in state.x.iter_mut().zip(x) {
            for k in 0..3 {
                now[k] += scale * change[k];
            }
        }
        self.take_ends_along(state);
    }

    /// Size of the residual from the forces alone.
    fn look(&self, state: &State) -> Outcome {
        let mut found =
            Outcome { energy: 0.0, squares: 0.0, residual: 0.0, inertia: Inertia::NONE };
        let mut internal = vec![0.0; self.internal.len()];
        for (m, member) in self.model.chains().iter().enumerate() {
            let begin = self.begin[m];
            let u = &state.x[begin..begin + member.places.len()];
            let sums = simd::run(Summing { member, u, arm: self.arm });
            found.take(&sums);
            for end in 0..2 {
                let arm = self.arm_now(state, member, end);
                add_moved(&mut internal, member.joints[end], &sums.ends[end], arm);
            }
        }
        let mut unbalanced = found.residual;
        for (j, joint) in self.model.joints().iter().enumerate() {
            let load = [joint.force[0], joint.force[1], joint.moment];
            for k in 0..3 {
                if !self.fixed[3 * j + k] {
                    let open = internal[3 * j + k] - state.factor * load[k];
                    let open = open / if k == 2 { self.arm } else { 1.0 };
                    unbalanced += open * open;
                }
            }
        }
        found.residual = unbalanced.sqrt();
        found
    }

    fn is_balanced(&self, found: &Outcome, state: &State) -> bool {
        if found.residual <= TOLERANCE * found.squares.sqrt() {
            return true;
        }
        let moved = largest(0.0, state.x.iter().map(|x| x[0].hypot(x[1])));
        found.residual <= ROUNDING * self.stretching * moved
    }

    /// Moves a state along the tangent of the path to another load factor.
    pub(super) fn tangent_predictor(
        &mut self,
        state: &mut State,
        factor: f64,
    ) -> Result<(), Failure> {
        let _ = self.assemble(state)?;
        let rate = self.rate(state);
        let change = factor - state.factor;
        self.advance(state, &rate, change);
        self.set_factor(state, factor);
        Ok(())
    }

    /// Iterates to equilibrium at the load factor of `state`.
    pub(super) fn equilibrate(&mut self, state: &mut State) -> Result<Equilibrium, Failure> {
        let mut found = self.assemble(state)?;
        let first = found.residual;
        let mut iterations = 0;
        while !self.is_balanced(&found, state) {
            let sane = found.residual <= DIVERGED * first;
            if !sane || iterations >= MOST_ITERATIONS {
                let residual = found.residual / found.squares.sqrt();
                return Err(Failure::NotConverged { residual });
            }
            let correction = self.correction(state);
            self.advance(state, &correction, 1.0);
            iterations += 1;
            // Newton squares the error: once it is small, the forces alone tell whether it is done.
            let near = found.residual <= NEAR * found.squares.sqrt();
            if near {
                found = self.look(state);
                if self.is_balanced(&found, state) {
                    break;
                }
            }
            found = self.assemble(state)?;
        }
        Ok(Equilibrium { energy: found.energy, iterations })
    }

    /// Tangent of the path at a state: change of all places by the load factor.
    pub(super) fn tangent(&mut self, state: &State) -> Result<Places, Failure> {
        let _ = self.assemble(state)?;
        Ok(self.rate(state))
    }

    /// One iteration of the bordered system of an arc: Newton's correction and the tangent at a state,
    /// and whether the state is an equilibrium already.
    pub(super) fn bordered(&mut self, state: &State) -> Result<Bordered, Failure> {
        let found = self.assemble(state)?;
        let balanced = self.is_balanced(&found, state);
        let Outcome { energy, residual, squares, .. } = found;
        Ok(Bordered {
            correction: self.correction(state),
            rate: self.rate(state),
            balanced,
            residual: residual / squares.sqrt(),
            equilibrium: Equilibrium { energy, iterations: 0 },
        })
    }

    /// Adds a change of places and load factor.
    pub(super) fn step(&self, state: &mut State, x: &[[f64; 3]], scale: f64, factor: f64) {
        self.advance(state, x, scale);
        self.set_factor(state, state.factor + factor);
    }

    /// Forces and moments that drives, supports and loads exert on the joints, by coordinate (N, N, N mm),
    /// and the condensed stiffness of each joint.
    pub(super) fn report(&mut self, state: &State, wanted: Wanted) -> Result<Reported, Failure> {
        let found = self.assemble(state)?;
        let reactions =
            self.internal.chunks_exact(3).map(|f| [f[0], f[1], f[2]]).collect::<Vec<_>>();
        let stiffness = match wanted {
            Wanted::Reactions => Vec::new(),
            Wanted::Stiffness(only) => (0..reactions.len())
                .map(|j| match only {
                    Some(wanted) if wanted.index() != j => [[f64::NAN; 3]; 3],
                    _ => self.condensed(j),
                })
                .collect(),
        };
        Ok(Reported { reactions, stiffness, inertia: found.inertia })
    }

    /// Stiffness of a joint against its three coordinates, everything else that is free following.
    fn condensed(&mut self, joint: usize) -> RegionStiffness {
        let mut fixed = self.fixed.clone();
        fixed[3 * joint..3 * joint + 3].fill(true);
        let mut stiffness = [[f64::NAN; 3]; 3];
        if self.joints.factor(&fixed).is_err() {
            return stiffness;
        }
        for k in 0..3 {
            let mut x = vec![0.0; fixed.len()];
            x[3 * joint + k] = 1.0;
            self.joints.solve(&mut x);
            for i in 0..3 {
                stiffness[i][k] = self.joints.row_times(3 * joint + i, &x);
            }
        }
        stiffness
    }
}

/// A residual below this part of the forces is squared by the next iteration to below the tolerance.
const NEAR: f64 = 1e-5;

/// What is reported of a state beyond its places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wanted {
    Reactions,
    /// Of one joint, or of all.
    Stiffness(Option<JointId>),
}

/// Forces and stiffnesses of a state.
#[derive(Clone, Debug)]
pub(super) struct Reported {
    pub(super) reactions: Vec<[f64; 3]>,
    pub(super) stiffness: Vec<RegionStiffness>,
    pub(super) inertia: Inertia,
}

/// Ingredients of an arc's iteration.
#[derive(Clone, Debug)]
pub(super) struct Bordered {
    pub(super) correction: Places,
    pub(super) rate: Places,
    pub(super) balanced: bool,
    pub(super) residual: f64,
    pub(super) equilibrium: Equilibrium,
}

impl Outcome {
    fn take(&mut self, sums: &Sums) {
        self.energy += sums.energy;
        self.squares += sums.squares;
        self.residual += sums.unbalanced;
    }
}

/// Adds a force at the end of an arm to the coordinates of a joint.
fn add_moved(to: &mut [f64], joint: usize, f: &[f64; 3], arm: [f64; 2]) {
    to[3 * joint] += f[0];
    to[3 * joint + 1] += f[1];
    to[3 * joint + 2] += f[2] + arm[0] * f[1] - arm[1] * f[0];
}

/// T_a' K T_b with T = [1 0 -y; 0 1 x; 0 0 1] of the arms (x, y).
fn carried(k: &[[f64; 3]; 3], a: [f64; 2], b: [f64; 2]) -> [[f64; 3]; 3] {
    let mut m = *k;
    for row in &mut m {
        row[2] += b[0] * row[1] - b[1] * row[0];
    }
    for j in 0..3 {
        m[2][j] += a[0] * m[1][j] - a[1] * m[0][j];
    }
    m
}

struct Condensing<'a> {
    chain: &'a mut Chain,
    member: &'a Member,
    u: &'a [[f64; 3]],
    arm: f64,
    start: Start,
}

impl Job for Condensing<'_> {
    type Output = Result<Condensed, Failure>;

    #[inline(always)]
    fn run<const FUSED: bool>(self) -> Self::Output {
        self.chain.condense(self.member, self.u, self.arm, self.start)
    }
}

struct Summing<'a> {
    member: &'a Member,
    u: &'a [[f64; 3]],
    arm: f64,
}

impl Job for Summing<'_> {
    type Output = Sums;

    #[inline(always)]
    fn run<const FUSED: bool>(self) -> Sums {
        forces(self.member, self.u, self.arm)
    }
}

/// Distance of two states: root of the sum of squares, turns by a length (mm).
pub(super) fn distance(a: &[[f64; 3]], b: &[[f64; 3]], arm: f64) -> f64 {
    let square = |(a, b): (&[f64; 3], &[f64; 3])| {
        let [x, y, t] = [0, 1, 2].map(|k| a[k] - b[k]);
        x * x + y * y + arm * arm * t * t
    };
    max(a.iter().zip(b).map(square).sum::<f64>(), 0.0).sqrt()
}
