//! The elimination tree: which columns are eliminated together, and where everything stands.
//!
//! Columns with the same rows below them form a front. A front's rows are its own columns and the rows
//! that its elimination fills; the front that owns the first of those is its parent. Fronts are
//! numbered in postorder, so that all below one are a contiguous run before it.
//!
//! Ordering and fronts come from the library; J. W. H. Liu, "The multifrontal method for sparse matrix
//! solution: theory and practice", SIAM Review 34 (1992) 82-109 tells the rest (from memory).

use faer::sparse::linalg::cholesky::supernodal::SymbolicSupernodalCholesky;
use nalgebra_sparse::CscMatrix;
use std::ops::Range;

/// No front, no part.
pub(super) const NONE: u32 = u32::MAX;
/// A subtree with at most this share of all work is eliminated by one thread. Fixed, not the number of
/// threads: the result must not depend on the machine.
const SHARE: f64 = 0.1;

/// The fronts of one pattern.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    /// First own column of each front, and the number of columns.
    pub(super) start: Vec<u32>,
    /// Where each front's other rows stand in `rows`.
    row_at: Vec<usize>,
    rows: Vec<u32>,
    /// For each of `rows` its place among all rows of the parent front.
    in_parent: Vec<u32>,
    /// First front of the subtree below each front, itself included.
    pub(super) first: Vec<u32>,
    /// Where each front's entries of the matrix stand in `entries`.
    entry_at: Vec<usize>,
    /// Value of the matrix and its place in the front's own columns.
    entries: Vec<[u32; 2]>,
}

impl Tree {
    /// Reads the library's analysis; `inverse` is the new equation of each old one.
    pub(super) fn new(
        symbolic: &SymbolicSupernodalCholesky<usize>,
        matrix: &CscMatrix<f64>,
        inverse: &[usize],
    ) -> Self {
        let fronts = symbolic.n_supernodes();
        let n = matrix.ncols();
        let mut start: Vec<u32> = symbolic.supernode_begin()[..fronts].iter().map(u).collect();
        start.push(u(&n));
        let (mut row_at, mut rows) = (vec![0], Vec::new());
        for s in 0..fronts {
            rows.extend(symbolic.supernode(s).pattern().iter().map(u));
            row_at.push(rows.len());
        }
        let mut owner = vec![0u32; n];
        for s in 0..fronts {
            owner[start[s] as usize..start[s + 1] as usize].fill(u(&s));
        }
        let mut tree = Self {
            start,
            row_at,
            in_parent: vec![0; rows.len()],
            rows,
            first: (0..fronts).map(|s| u(&s)).collect(),
            entry_at: Vec::new(),
            entries: Vec::new(),
        };
        for s in 0..fronts {
            let Some(parent) = tree.parent(s, &owner) else { continue };
            tree.first[parent] = tree.first[parent].min(tree.first[s]);
        }
        tree.find_entries(matrix, inverse, &owner);
        tree
    }

    pub(super) fn fronts(&self) -> usize {
        self.first.len()
    }

    /// The front that owns the first row that a front fills.
    fn parent(&self, s: usize, owner: &[u32]) -> Option<usize> {
        self.other_rows(s).first().map(|&r| owner[r as usize] as usize)
    }

    /// Own columns of a front.
    pub(super) fn own(&self, s: usize) -> usize {
        (self.start[s + 1] - self.start[s]) as usize
    }

    /// The rows that a front fills beyond its own columns, ascending.
    pub(super) fn other_rows(&self, s: usize) -> &[u32] {
        &self.rows[self.row_at[s]..self.row_at[s + 1]]
    }

    /// Where these rows stand among all rows of the parent.
    pub(super) fn in_parent(&self, s: usize) -> &[u32] {
        &self.in_parent[self.row_at[s]..self.row_at[s + 1]]
    }

    /// Entries of the matrix in a front: their value and their place in its own columns.
    pub(super) fn entries(&self, s: usize) -> &[[u32; 2]] {
        &self.entries[self.entry_at[s]..self.entry_at[s + 1]]
    }

    /// All rows of a front.
    pub(super) fn height(&self, s: usize) -> usize {
        self.own(s) + self.other_rows(s).len()
    }

    /// The fronts whose parent this one is, the last one first.
    pub(super) fn children(&self, s: usize) -> impl Iterator<Item = usize> {
        let low = self.first[s];
        let mut next = u(&s);
        std::iter::from_fn(move || {
            let child = next.checked_sub(1).filter(|&c| c >= low)?;
            next = self.first[child as usize];
            Some(child as usize)
        })
    }

    /// Subtrees that are worth a thread, and the fronts above them.
    pub(super) fn split(&self) -> (Vec<Range<u32>>, Vec<u32>) {
        let mut work = vec![0.0; self.fronts()];
        for s in 0..self.fronts() {
            let (own, height) = (self.own(s) as f64, self.height(s) as f64);
            // The height counts as work of its own: small fronts cost more than their operations.
            work[s] += own * height * (height - own) + own * own * own + 8.0 * height * height;
            let below: f64 = self.children(s).map(|c| work[c]).sum();
            work[s] += below;
        }
        let roots = || {
            // From the end, skipping whole subtrees.
            let mut next = u(&self.fronts());
            std::iter::from_fn(move || {
                let root = next.checked_sub(1)?;
                next = self.first[root as usize];
                Some(root as usize)
            })
        };
        let all: f64 = roots().map(|r| work[r]).sum();
        let (mut subtrees, mut above) = (Vec::new(), Vec::new());
        let mut stack: Vec<usize> = roots().collect();
        while let Some(s) = stack.pop() {
            if work[s] <= SHARE * all {
                subtrees.push(self.first[s]..u(&s) + 1);
            } else {
                above.push(u(&s));
                stack.extend(self.children(s));
            }
        }
        subtrees.sort_unstable_by_key(|r| r.start);
        above.sort_unstable();
        (subtrees, above)
    }

    /// Places of the matrix's entries in the fronts, and of the fronts' rows in their parents.
    fn find_entries(&mut self, matrix: &CscMatrix<f64>, inverse: &[usize], owner: &[u32]) {
        let (offsets, old_rows, _) = matrix.csc_data();
        let front_of =
            |old_row: usize, new_column: usize| owner[inverse[old_row].min(new_column)] as usize;
        let fronts = self.fronts();
        let mut at = vec![0usize; fronts + 1];
        for c in 0..matrix.ncols() {
            for &r in &old_rows[offsets[c]..offsets[c + 1]] {
                at[front_of(r, inverse[c]) + 1] += 1;
            }
        }
        for s in 0..fronts {
            at[s + 1] += at[s];
        }
        // First row and column of each entry, then its place.
        let mut found = vec![[0u32; 3]; old_rows.len()];
        let mut next = at.clone();
        for c in 0..matrix.ncols() {
            for k in offsets[c]..offsets[c + 1] {
                let (i, j) = (inverse[old_rows[k]], inverse[c]);
                let slot = &mut next[front_of(old_rows[k], j)];
                found[*slot] = [u(&k), u(&i.max(j)), u(&i.min(j))];
                *slot += 1;
            }
        }
        // Where each row stands in the front at hand.
        let mut place = vec![0u32; inverse.len()];
        self.entries = Vec::with_capacity(found.len());
        for s in 0..fronts {
            let (own, height) = (self.own(s), u(&self.height(s)));
            for (p, &r) in self.other_rows(s).iter().enumerate() {
                place[r as usize] = u(&(own + p));
            }
            let start = self.start[s];
            for (p, column) in (start..self.start[s + 1]).enumerate() {
                place[column as usize] = u(&p);
            }
            for &[value, row, column] in &found[at[s]..at[s + 1]] {
                self.entries.push([value, (column - start) * height + place[row as usize]]);
            }
            let children: Vec<usize> = self.children(s).collect();
            for c in children {
                for k in self.row_at[c]..self.row_at[c + 1] {
                    self.in_parent[k] = place[self.rows[k] as usize];
                }
            }
        }
        self.entry_at = at;
    }
}

/// Indices of anything held in memory by fronts fit 32 bits: the pattern's slots do.
pub(super) fn u(i: &usize) -> u32 {
    crate::dofs::index(*i)
}
