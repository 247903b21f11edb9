//! A member condensed to its two ends: its inner nodes are eliminated one after the other.
//!
//! Each middle node is eliminated in its element, each node between two elements when both are known, so
//! that no more than three nodes are ever at hand and every size is known to the compiler. One block of
//! three unknowns: K_mm = L D L', W = D^-1 L^-1 K_me, y = D^-1 L^-1 r_m; what is left is
//! K_ee - W' D W and r_e - W' D y, and later x_m = L'^-1 (-y - W x_e). The pivots D tell the inertia as
//! those of the whole matrix do.

use super::element;
use super::model::Member;
use crate::error::Failure;
use crate::linear::Inertia;

/// What is kept of three eliminated unknowns for the way back.
#[derive(Clone, Copy, Debug)]
struct Eliminated {
    /// L below its diagonal: (1,0), (2,0), (2,1).
    lower: [f64; 3],
    coupling: [[f64; 6]; 3],
    right: [f64; 3],
}

const NOTHING: Eliminated =
    Eliminated { lower: [0.0; 3], coupling: [[0.0; 6]; 3], right: [0.0; 3] };

/// Eliminations of one member.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    middles: Vec<Eliminated>,
    /// The node at the start of each element but the first.
    nodes: Vec<Eliminated>,
}

/// A member as its two ends feel it: unknowns of the start, then of the end.
#[derive(Clone, Copy, Debug)]
pub(super) struct Condensed {
    /// Upper triangle.
    pub(super) stiffness: [[f64; 6]; 6],
    pub(super) residual: [f64; 6],
    pub(super) sums: Sums,
    pub(super) inertia: Inertia,
}

/// What a state of a member adds up to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sums {
    /// Strain energy (mJ).
    pub(super) energy: f64,
    /// Forces on the end nodes before anything is condensed.
    pub(super) ends: [[f64; 3]; 2],
    /// Sum of squares of the elements' nodal forces, moments by a length (N2).
    pub(super) squares: f64,
    /// Sum of squares of what is out of balance at the inner nodes (N2).
    pub(super) unbalanced: f64,
}

/// Forces alone of a member; `u` by node, `arm` the length that moments are divided by (mm).
pub(super) fn forces(member: &Member, u: &[[f64; 3]], arm: f64) -> Sums {
    let mut sums = Sums { energy: 0.0, ends: [[0.0; 3]; 2], squares: 0.0, unbalanced: 0.0 };
    let mut open = [0.0; 3];
    for (e, element) in member.elements.iter().enumerate() {
        let three = [u[2 * e], u[2 * e + 1], u[2 * e + 2]];
        let (energy, f) = element::force(element, &three);
        sums.add(e == 0, energy, &f, &mut open, arm);
    }
    sums.ends[1] = open;
    sums
}

impl Sums {
    /// Adds an element's; `open` is the force at the node where it begins and then where it ends.
    #[inline(always)]
    fn add(&mut self, first: bool, energy: f64, f: &[[f64; 3]; 3], open: &mut [f64; 3], arm: f64) {
        let size = |f: &[f64; 3]| f[0] * f[0] + f[1] * f[1] + (f[2] / arm) * (f[2] / arm);
        self.energy += energy;
        self.squares += size(&f[0]) + size(&f[1]) + size(&f[2]);
        if first {
            self.ends[0] = f[0];
        } else {
            let sum = [0, 1, 2].map(|i| open[i] + f[0][i]);
            self.unbalanced += size(&sum);
        }
        self.unbalanced += size(&f[1]);
        *open = f[2];
    }
}

/// Whether the start of a member can move: if not, its columns are left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Start {
    Moves,
    Keeps,
}

impl Chain {
    pub(super) fn new(member: &Member) -> Self {
        let count = member.elements.len();
        Self { middles: vec![NOTHING; count], nodes: vec![NOTHING; count] }
    }

    /// Assembles and condenses a member in a state.
    ///
    /// # Errors
    /// A pivot that is zero or not finite.
    #[inline(always)]
    pub(super) fn condense(
        &mut self,
        member: &Member,
        u: &[[f64; 3]],
        arm: f64,
        start: Start,
    ) -> Result<Condensed, Failure> {
        let mut inertia = Inertia::NONE;
        let mut sums = Sums { energy: 0.0, ends: [[0.0; 3]; 2], squares: 0.0, unbalanced: 0.0 };
        let mut open = [0.0; 3];
        let mut front = ([[0.0; 6]; 6], [0.0; 6]);
        for (e, element) in member.elements.iter().enumerate() {
            let three = [u[2 * e], u[2 * e + 1], u[2 * e + 2]];
            let (energy, f, blocks) = element::stiffness(element, &three);
            sums.add(e == 0, energy, &f, &mut open, arm);
            let (mut k, mut r) = middle_first(&blocks, &f);
            self.middles[e] = eliminate::<9, 6>(&mut k, &mut r, &mut inertia)?;
            let own = rest::<9, 6>(&k, &r);
            if e == 0 {
                front = own;
                continue;
            }
            front = match start {
                Start::Moves => {
                    let (mut k, mut r) = node_first(&front, &own);
                    self.nodes[e] = eliminate::<9, 6>(&mut k, &mut r, &mut inertia)?;
                    rest::<9, 6>(&k, &r)
                }
                Start::Keeps => {
                    let (mut k, mut r) = own;
                    for i in 0..3 {
                        for j in i..3 {
                            k[i][j] += front.0[3 + i][3 + j];
                        }
                        r[i] += front.1[3 + i];
                    }
                    self.nodes[e] = eliminate::<6, 3>(&mut k, &mut r, &mut inertia)?;
                    (k, r)
                }
            };
        }
        sums.ends[1] = open;
        Ok(Condensed { stiffness: front.0, residual: front.1, sums, inertia })
    }

    /// Changes of a member's nodes once those of its ends are in `x`; `scale` times the residual at hand
    /// is balanced.
    pub(super) fn back(&self, x: &mut [[f64; 3]], scale: f64, start: Start) {
        let first = x[0];
        for e in (0..self.middles.len()).rev() {
            let end = x[2 * e + 2];
            if e > 0 {
                let node = &self.nodes[e];
                x[2 * e] = match start {
                    Start::Moves => node.back(scale, &first, &end),
                    Start::Keeps => node.back(scale, &end, &[0.0; 3]),
                };
            }
            let begin = x[2 * e];
            x[2 * e + 1] = self.middles[e].back(scale, &begin, &end);
        }
    }
}

impl Eliminated {
    #[inline(always)]
    fn back(&self, scale: f64, a: &[f64; 3], b: &[f64; 3]) -> [f64; 3] {
        let mut x = [0.0; 3];
        for i in 0..3 {
            let w = &self.coupling[i];
            x[i] = -scale * self.right[i]
                - (w[0] * a[0] + w[1] * a[1] + w[2] * a[2])
                - (w[3] * b[0] + w[4] * b[1] + w[5] * b[2]);
        }
        let [l10, l20, l21] = self.lower;
        x[1] -= l21 * x[2];
        x[0] -= l10 * x[1] + l20 * x[2];
        x
    }
}

/// An element's matrix with its middle node first, then its start and its end; upper triangle.
#[inline(always)]
fn middle_first(k: &element::Blocks, f: &[[f64; 3]; 3]) -> ([[f64; 9]; 9], [f64; 9]) {
    let mut m = [[0.0; 9]; 9];
    for i in 0..3 {
        for j in 0..3 {
            m[i][j] = k[1][1][i][j];
            // The block of middle and start is the transpose of that of start and middle.
            m[i][3 + j] = k[0][1][j][i];
            m[i][6 + j] = k[1][2][i][j];
            m[3 + i][3 + j] = k[0][0][i][j];
            m[3 + i][6 + j] = k[0][2][i][j];
            m[6 + i][6 + j] = k[2][2][i][j];
        }
    }
    let mut r = [0.0; 9];
    for i in 0..3 {
        (r[i], r[3 + i], r[6 + i]) = (f[1][i], f[0][i], f[2][i]);
    }
    (m, r)
}

type Ends = ([[f64; 6]; 6], [f64; 6]);

/// What is condensed so far, between the member's start and a node, and the next element, between that
/// node and its end: the node first, then the start and the end.
#[inline(always)]
fn node_first(front: &Ends, own: &Ends) -> ([[f64; 9]; 9], [f64; 9]) {
    let mut m = [[0.0; 9]; 9];
    let mut r = [0.0; 9];
    for i in 0..3 {
        for j in 0..3 {
            m[i][j] = front.0[3 + i][3 + j] + own.0[i][j];
            m[i][3 + j] = front.0[j][3 + i];
            m[i][6 + j] = own.0[i][3 + j];
            m[3 + i][3 + j] = front.0[i][j];
            m[6 + i][6 + j] = own.0[3 + i][3 + j];
        }
        (r[i], r[3 + i], r[6 + i]) = (front.1[3 + i] + own.1[i], front.1[i], own.1[3 + i]);
    }
    (m, r)
}

/// Eliminates the first three of N unknowns (upper triangle) from the next M.
#[inline(always)]
fn eliminate<const N: usize, const M: usize>(
    k: &mut [[f64; N]; N],
    r: &mut [f64; N],
    inertia: &mut Inertia,
) -> Result<Eliminated, Failure> {
    let mut kept = NOTHING;
    for p in 0..3 {
        let pivot = k[p][p];
        inertia.count(pivot)?;
        let inverse = 1.0 / pivot;
        let row = k[p];
        let right = r[p] * inverse;
        for i in p + 1..3 + M {
            let l = row[i] * inverse;
            for j in i..3 + M {
                k[i][j] -= l * row[j];
            }
            r[i] -= row[i] * right;
        }
        for j in 0..M {
            kept.coupling[p][j] = row[3 + j] * inverse;
        }
        kept.right[p] = right;
        for i in p + 1..3 {
            kept.lower[p + i - 1] = row[i] * inverse;
        }
    }
    Ok(kept)
}

/// What is left of N unknowns after the first three.
#[inline(always)]
fn rest<const N: usize, const M: usize>(
    k: &[[f64; N]; N],
    r: &[f64; N],
) -> ([[f64; M]; M], [f64; M]) {
    let mut left = ([[0.0; M]; M], [0.0; M]);
    for i in 0..M {
        for j in i..M {
            left.0[i][j] = k[3 + i][3 + j];
        }
        left.1[i] = r[3 + i];
    }
    left
}
