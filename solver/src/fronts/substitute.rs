//! Solutions with the factors: forward through the tree, divided by D, and back.

use super::tree::Tree;
use super::{Fronts, Part};
use crate::simd;

impl Fronts {
    /// Solves in place with the last factorisation.
    pub(crate) fn solve(&mut self, right_hand_side: &mut [f64]) {
        let Self { tree, inverse, subtrees, top, permuted, .. } = self;
        for (value, &new) in right_hand_side.iter().zip(inverse.iter()) {
            permuted[new] = *value;
        }
        let x = &mut permuted[..];
        for part in subtrees.iter().chain([&*top]) {
            simd::run(Forward { tree, part, x });
        }
        for part in std::iter::once(&*top).chain(subtrees.iter()) {
            simd::run(Backward { tree, part, x });
        }
        for (value, &new) in right_hand_side.iter_mut().zip(inverse.iter()) {
            *value = permuted[new];
        }
    }
}

/// L y = x, and y / D.
struct Forward<'a> {
    tree: &'a Tree,
    part: &'a Part,
    x: &'a mut [f64],
}

impl simd::Job for Forward<'_> {
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
            sum.resize(rows, 0.0);
            sum[..own].copy_from_slice(&x[first..first + own]);
            for (j, column) in panel.chunks_exact(rows).enumerate() {
                let y = sum[j];
                for (t, l) in sum[j + 1..].iter_mut().zip(&column[j + 1..]) {
                    *t = if FUSED { l.mul_add(-y, *t) } else { *t - l * y };
                }
                x[first + j] = y / column[j];
            }
            for (&r, t) in others.iter().zip(&sum[own..]) {
                x[r as usize] += t;
            }
        }
    }
}

/// L' x = y.
struct Backward<'a> {
    tree: &'a Tree,
    part: &'a Part,
    x: &'a mut [f64],
}

/// Sums side by side, for the width of the registers.
const LANES: usize = 8;

impl simd::Job for Backward<'_> {
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
                known[j] -= product::<FUSED>(&column[j + 1..], &known[j + 1..]);
            }
            x[first..first + own].copy_from_slice(&known[..own]);
        }
    }
}

/// Scalar product, in a fixed order.
#[inline(always)]
fn product<const FUSED: bool>(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; LANES];
    let (a_chunks, b_chunks) = (a.chunks_exact(LANES), b.chunks_exact(LANES));
    let rest = a_chunks.remainder().iter().zip(b_chunks.remainder());
    let rest: f64 = rest.map(|(a, b)| a * b).sum();
    for (a, b) in a_chunks.zip(b_chunks) {
        for i in 0..LANES {
            sums[i] = if FUSED { a[i].mul_add(b[i], sums[i]) } else { a[i] * b[i] + sums[i] };
        }
    }
    sums.iter().sum::<f64>() + rest
}
