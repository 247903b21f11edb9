//! Sparse L D L' by fronts: the elimination tree is walked from its leaves, each front is a small dense
//! matrix that takes over what its children leave and passes on what its own elimination leaves.
//!
//! Subtrees do not touch each other, so they are eliminated at once; the few fronts above them follow.
//! All memory is taken once for a pattern. The order of every sum depends on the pattern alone.

mod dense;
mod substitute;
mod tree;

use crate::error::Failure;
use crate::linear::Inertia;
use crate::simd;
use dense::{BLOCK, Front, eliminate};
use faer::sparse::linalg::cholesky::supernodal::SymbolicSupernodalCholesky;
use nalgebra_sparse::CscMatrix;
use rayon::prelude::*;
use tree::{NONE, Tree, u};

/// A factorisation of matrices of one pattern.
#[derive(Clone, Debug)]
pub(crate) struct Fronts {
    tree: Tree,
    /// New equation of each old one.
    inverse: Vec<usize>,
    /// Disjoint subtrees.
    subtrees: Vec<Part>,
    /// The fronts above them.
    top: Part,
    /// The subtree whose root a front is.
    subtree_of: Vec<u32>,
}

/// Some fronts with their numbers.
#[derive(Clone, Debug, Default)]
struct Part {
    /// In postorder.
    fronts: Vec<u32>,
    /// Where each front's own columns stand in `panels`.
    panel_at: Vec<usize>,
    panels: Vec<f64>,
    /// What the fronts leave to their parents, as a stack; behind it the scratch of the elimination.
    stack: Vec<f64>,
    /// Where each front's update stands on the stack.
    update_at: Vec<usize>,
    scratch_at: usize,
    outcome: Option<Result<Inertia, Failure>>,
}

impl Part {
    fn new(tree: &Tree, fronts: Vec<u32>, in_part: impl Fn(usize) -> bool) -> Self {
        let mut part = Self { panel_at: vec![0], ..Self::default() };
        let (mut level, mut highest, mut tallest, mut panels) = (0, 0, 0, 0);
        for s in fronts.iter().map(|&s| s as usize) {
            let (others, height) = (tree.other_rows(s).len(), tree.height(s));
            panels += height * tree.own(s);
            part.panel_at.push(panels);
            tallest = tallest.max(height);
            // The update is made above those of the children and then moved down over them.
            highest = highest.max(level + others * others);
            let below = tree.children(s).filter(|&c| in_part(c));
            level -= below.map(|c| tree.other_rows(c).len().pow(2)).sum::<usize>();
            part.update_at.push(level);
            level += others * others;
        }
        part.panels = vec![0.0; panels];
        part.scratch_at = highest;
        part.stack = vec![0.0; highest + tallest * BLOCK];
        part.fronts = fronts;
        part
    }
}

impl Fronts {
    /// Reads the analysis of a lower triangle's pattern; `inverse` is the new equation of each old one.
    pub(crate) fn new(
        symbolic: &SymbolicSupernodalCholesky<usize>,
        matrix: &CscMatrix<f64>,
        inverse: Vec<usize>,
    ) -> Self {
        let tree = Tree::new(symbolic, matrix, &inverse);
        let (ranges, above) = tree.split();
        let mut subtree_of = vec![NONE; tree.fronts()];
        for (k, range) in ranges.iter().enumerate() {
            subtree_of[range.end as usize - 1] = u(&k);
        }
        let top = Part::new(&tree, above, |c| subtree_of[c] == NONE);
        let subtrees =
            ranges.into_iter().map(|r| Part::new(&tree, r.collect(), |_| true)).collect();
        Self { tree, inverse, subtrees, top, subtree_of }
    }

    /// Numbers in L.
    pub(crate) fn entries(&self) -> usize {
        self.subtrees.iter().chain([&self.top]).map(|p| p.panels.len()).sum()
    }

    /// The old equation of each new one.
    pub(crate) fn order(&self) -> Vec<usize> {
        let mut forward = vec![0; self.inverse.len()];
        for (old, &new) in self.inverse.iter().enumerate() {
            forward[new] = old;
        }
        forward
    }

    /// Factors a matrix of the analysed pattern, given by its values.
    ///
    /// # Errors
    /// A pivot that is zero or not finite: the matrix is singular to working precision.
    pub(crate) fn factor(&mut self, values: &[f64]) -> Result<Inertia, Failure> {
        let tree = &self.tree;
        self.subtrees.par_iter_mut().for_each(|part| {
            part.outcome = Some(simd::run(Elimination { tree, values, part, below: None }));
        });
        let below = Some((&self.subtree_of[..], &self.subtrees[..]));
        let mut inertia = Inertia::NONE;
        for outcome in self.subtrees.iter().filter_map(|p| p.outcome.as_ref()) {
            inertia.join(outcome.as_ref().map_err(Clone::clone)?);
        }
        let top = simd::run(Elimination { tree, values, part: &mut self.top, below })?;
        inertia.join(&top);
        Ok(inertia)
    }
}

/// The elimination of one part.
struct Elimination<'a> {
    tree: &'a Tree,
    values: &'a [f64],
    part: &'a mut Part,
    /// For the top: which subtree each front is the root of, and the subtrees.
    below: Option<(&'a [u32], &'a [Part])>,
}

impl simd::Job for Elimination<'_> {
    type Output = Result<Inertia, Failure>;

    #[inline(always)]
    fn run<const FUSED: bool>(self) -> Self::Output {
        let Self { tree, values, part, below } = self;
        let mut inertia = Inertia::NONE;
        let (stack, scratch) = part.stack.split_at_mut(part.scratch_at);
        // Updates of the part's own children are taken off its stack, the last one first.
        let mut level = 0;
        for (n, s) in part.fronts.iter().map(|&s| s as usize).enumerate() {
            let (own, rows) = (tree.own(s), tree.height(s));
            let others = rows - own;
            let panel = &mut part.panels[part.panel_at[n]..part.panel_at[n + 1]];
            panel.fill(0.0);
            for &[value, place] in tree.entries(s) {
                panel[place as usize] = values[value as usize];
            }
            let (settled, free) = stack.split_at_mut(level);
            let update = &mut free[..others * others];
            update.fill(0.0);
            let mut front = Front { panel, update, rows, own };
            let mut taken = level;
            for child in tree.children(s) {
                let size = tree.other_rows(child).len();
                let subtree = below.and_then(|(roots, parts)| parts.get(roots[child] as usize));
                let passed_on = match subtree {
                    Some(part) => &part.stack[..size * size],
                    None => {
                        taken -= size * size;
                        &settled[taken..taken + size * size]
                    }
                };
                take_over(&mut front, passed_on, tree.in_parent(child));
            }
            eliminate::<FUSED>(&mut front, scratch, &mut inertia)?;
            stack.copy_within(level..level + others * others, taken);
            level = taken + others * others;
        }
        Ok(inertia)
    }
}

/// Adds what a child's elimination left to its parent's front.
#[inline(always)]
fn take_over(front: &mut Front<'_>, passed_on: &[f64], places: &[u32]) {
    let (rows, own) = (front.rows, front.own);
    let others = rows - own;
    let size = places.len();
    for (j, &column) in places.iter().enumerate() {
        let column = column as usize;
        let source = &passed_on[j * size + j..(j + 1) * size];
        // Both own columns and the update are lower triangles: only rows from the diagonal on.
        let (target, shift) = if column < own {
            (&mut front.panel[column * rows..(column + 1) * rows], 0)
        } else {
            let at = (column - own) * others;
            (&mut front.update[at..at + others], own)
        };
        for (value, &row) in source.iter().zip(&places[j..]) {
            target[row as usize - shift] += value;
        }
    }
}
