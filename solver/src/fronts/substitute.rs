//! Solutions with the factors: forward through the tree, divided by D, and back.

use super::tree::Tree;
use super::{Fronts, Part};
use crate::simd;

/// Right-hand sides that share a walk through the factors, whose reading is what a solution costs.
const TOGETHER: usize = 4;

impl Fronts {
    /// Solves in place with the last factorisation.
    pub(crate) fn solve(&self, right_hand_side: &mut [f64]) {
        self.solve_together::<1, 8>([right_hand_side]);
    }

    /// Solves several right-hand sides in place.
    pub(crate) fn solve_all(&self, right_hand_sides: &mut [Vec<f64>]) {
        let mut chunks = right_hand_sides.chunks_exact_mut(TOGETHER);
        for chunk in &mut chunks {
            let [a, b, c, d] = chunk else { continue };
            self.solve_together::<TOGETHER, 2>([a, b, c, d].map(Vec::as_mut_slice));
        }
        match chunks.into_remainder() {
            [a, b, c] => self
                .solve_together::<TOGETHER, 2>([a, b, c, &mut Vec::new()].map(Vec::as_mut_slice)),
            rest => rest.iter_mut().for_each(|side| self.solve(side)),
        }
    }

    /// Solves `W` right-hand sides; empty ones are left alone. Scalar products are summed in `L` parts.
    fn solve_together<const W: usize, const L: usize>(&self, mut sides: [&mut [f64]; W]) {
        let Self { tree, inverse, subtrees, top, .. } = self;
        let mut x = vec![[0.0; W]; inverse.len()];
        for (k, side) in sides.iter().enumerate() {
            for (value, &new) in side.iter().zip(inverse.iter()) {
                x[new][k] = *value;
            }
        }
        for part in subtrees.iter().chain([top]) {
            simd::run(Forward { tree, part, x: &mut x });
        }
        for part in std::iter::once(top).chain(subtrees.iter()) {
            simd::run(Backward::<W, L> { tree, part, x: &mut x });
        }
        for (k, side) in sides.iter_mut().enumerate() {
            for (value, &new) in side.iter_mut().zip(inverse.iter()) {
                *value = x[new][k];
            }
        }
    }
}

/// a + b c by component, b a scalar.
#[inline(always)]
fn plus<const W: usize, const FUSED: bool>(a: &mut [f64; W], b: f64, c: &[f64; W]) {
    for (a, c) in a.iter_mut().zip(c) {
        *a = if FUSED { b.mul_add(*c, *a) } else { *a + b * c };
    }
}

/// L y = x, and y / D.
struct Forward<'a, const W: usize> {
    tree: &'a Tree,
    part: &'a Part,
    x: &'a mut [[f64; W]],
}

impl<const W: usize> simd::Job for Forward<'_, W> {
    type Output = ();

    #[inline(always)]
    fn run<const FUSED: bool>(self) {
        let Self { tree, part, x } = self;
        let mut sum = Vec::new();
        for (n, s) in part.fronts.iter().map(|&s| s as usize).enumerate() {
            let (own, rows, first) = (tree.own(s), tree.height(s), tree.start[s] as usize);
            let panel = &part.panels[part.panel_at[n]..part.panel_at[n + 1]];
            let others = tree.other_rows(s);
            sum.clear();
            sum.resize(rows, [0.0; W]);
            sum[..own].copy_from_slice(&x[first..first + own]);
            for (j, column) in panel.chunks_exact(rows).enumerate() {
                let minus = sum[j].map(|y| -y);
                for (t, l) in sum[j + 1..].iter_mut().zip(&column[j + 1..]) {
                    plus::<W, FUSED>(t, *l, &minus);
                }
                x[first + j] = sum[j].map(|y| y / column[j]);
            }
            for (&r, t) in others.iter().zip(&sum[own..]) {
                plus::<W, FUSED>(&mut x[r as usize], 1.0, t);
            }
        }
    }
}

/// L' x = y.
struct Backward<'a, const W: usize, const L: usize> {
    tree: &'a Tree,
    part: &'a Part,
    x: &'a mut [[f64; W]],
}

impl<const W: usize, const L: usize> simd::Job for Backward<'_, W, L> {
    type Output = ();

    #[inline(always)]
    fn run<const FUSED: bool>(self) {
        let Self { tree, part, x } = self;
        let mut known = Vec::new();
        for (n, s) in part.fronts.iter().map(|&s| s as usize).enumerate().rev() {
            let (own, rows, first) = (tree.own(s), tree.height(s), tree.start[s] as usize);
            let panel = &part.panels[part.panel_at[n]..part.panel_at[n + 1]];
            known.clear();
            known.extend_from_slice(&x[first..first + own]);
            known.extend(tree.other_rows(s).iter().map(|&r| x[r as usize]));
            for (j, column) in panel.chunks_exact(rows).enumerate().rev() {
                let owed = product::<W, L, FUSED>(&column[j + 1..], &known[j + 1..]);
                plus::<W, FUSED>(&mut known[j], -1.0, &owed);
            }
            x[first..first + own].copy_from_slice(&known[..own]);
        }
    }
}

/// Scalar products with one vector, in a fixed order: `L` sums side by side, for the width of the registers.
#[inline(always)]
fn product<const W: usize, const L: usize, const FUSED: bool>(
    a: &[f64],
    b: &[[f64; W]],
) -> [f64; W] {
    let mut sums = [[0.0; W]; L];
    let (a_chunks, b_chunks) = (a.chunks_exact(L), b.chunks_exact(L));
    let mut total = [0.0; W];
    for (a, b) in a_chunks.remainder().iter().zip(b_chunks.remainder()) {
        plus::<W, FUSED>(&mut total, *a, b);
    }
    for (a, b) in a_chunks.zip(b_chunks) {
        for i in 0..L {
            plus::<W, FUSED>(&mut sums[i], a[i], &b[i]);
        }
    }
    for sum in &sums {
        plus::<W, FUSED>(&mut total, 1.0, sum);
    }
    total
}
