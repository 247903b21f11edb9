//! The order in which equations are eliminated: the one with the least fill that is cheap to find.
//!
//! Equations of one node share their neighbours, so groups of equations are ordered, as a graph. Approximate
//! minimum degree serves slender parts, whose fill is small anyway. Where its fill says that the part is
//! rather solid, nested dissection by the places of the nodes is tried too (A. George, "Nested dissection
//! of a regular finite element mesh", SIAM J. Numer. Anal. 10 (1973) 345-363, from memory), and the
//! order of fewer operations is taken. Either is put into postorder of its elimination tree.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::SymbolicSparseColMatRef;
use faer::sparse::linalg::amd;
use faer::sparse::linalg::cholesky::simplicial;
use nalgebra_sparse::CscMatrix;

/// Dissection pays where the mean height of a column of L, weighted by its height, is beyond this many
/// groups (measured: little at 80, a factor of two at 200).
const SOLID: f64 = 100.0;
/// Sets of fewer groups are not dissected further.
const LEAF: usize = 160;
/// Groups with more neighbours than this are rigid regions: they come last.
const HUB: usize = 400;

/// The old equation of each new one, and the new equation of each old one.
pub(crate) struct Order {
    pub(crate) forward: Vec<usize>,
    pub(crate) inverse: Vec<usize>,
}

/// Orders the equations of a lower triangle.
///
/// `blocks` are the first equations of the groups, ascending, with the number of equations at the end;
/// `places` are the groups' places (mm).
pub(crate) fn order(matrix: &CscMatrix<f64>, blocks: &[usize], places: &[[f64; 2]]) -> Order {
    let graph = Graph::of_groups(matrix, blocks);
    let mut best = Elimination::new(&graph, graph.minimum_degree());
    if best.weighted_height() > SOLID {
        let dissected = Elimination::new(&graph, graph.dissect(places));
        if dissected.operations() < best.operations() {
            best = dissected;
        }
    }
    let groups = best.in_postorder();
    let forward: Vec<usize> = groups.into_iter().flat_map(|g| blocks[g]..blocks[g + 1]).collect();
    let mut inverse = vec![0usize; forward.len()];
    for (new, &old) in forward.iter().enumerate() {
        inverse[old] = new;
    }
    Order { forward, inverse }
}

/// Which groups share entries of the matrix: lower triangle, columns by group, the diagonal included.
struct Graph {
    offsets: Vec<usize>,
    rows: Vec<usize>,
}

impl Graph {
    /// The pattern of each group is that of its first equation.
    fn of_groups(matrix: &CscMatrix<f64>, blocks: &[usize]) -> Self {
        let groups = blocks.len() - 1;
        let mut group_of = vec![0usize; matrix.ncols()];
        for g in 0..groups {
            group_of[blocks[g]..blocks[g + 1]].fill(g);
        }
        let mut offsets = vec![0usize];
        let mut rows: Vec<usize> = Vec::new();
        for g in 0..groups {
            let start = rows.len();
            for &row in matrix.col(blocks[g]).row_indices() {
                let other = group_of[row];
                if rows.len() == start || rows[rows.len() - 1] != other {
                    rows.push(other);
                }
            }
            offsets.push(rows.len());
        }
        Self { offsets, rows }
    }

    fn len(&self) -> usize {
        self.offsets.len() - 1
    }

    /// The old group of each new one, by approximate minimum degree.
    fn minimum_degree(&self) -> Vec<usize> {
        let n = self.len();
        let pattern = SymbolicSparseColMatRef::new_checked(n, n, &self.offsets, None, &self.rows);
        let (mut forward, mut inverse) = (vec![0usize; n], vec![0usize; n]);
        let memory = amd::order_scratch::<usize>(n, self.rows.len());
        amd::order(
            &mut forward,
            &mut inverse,
            pattern,
            amd::Control::default(),
            MemStack::new(&mut MemBuffer::new(memory)),
        )
        .expect("the scratch was sized for this pattern");
        forward
    }

    /// Both triangles without the diagonal: the neighbours of each group.
    fn neighbours(&self) -> (Vec<usize>, Vec<u32>) {
        let n = self.len();
        let pairs = || {
            (0..n).flat_map(|g| {
                let rows = self.rows[self.offsets[g]..self.offsets[g + 1]].iter();
                rows.filter(move |&&r| r != g).map(move |&r| (g, r))
            })
        };
        let mut at = vec![0usize; n + 1];
        for (i, j) in pairs() {
            at[i + 1] += 1;
            at[j + 1] += 1;
        }
        for i in 0..n {
            at[i + 1] += at[i];
        }
        let mut next = at.clone();
        let mut list = vec![0u32; at[n]];
        for (i, j) in pairs() {
            list[next[i]] = crate::dofs::index(j);
            next[i] += 1;
            list[next[j]] = crate::dofs::index(i);
            next[j] += 1;
        }
        (at, list)
    }

    /// The old group of each new one, by nested dissection.
    fn dissect(&self, places: &[[f64; 2]]) -> Vec<usize> {
        let (at, list) = self.neighbours();
        let n = self.len();
        let is_hub = |g: usize| at[g + 1] - at[g] > HUB;
        let hubs: Vec<usize> = (0..n).filter(|&g| is_hub(g)).collect();
        let mut dissection =
            Dissection { at: &at, list: &list, places, side: vec![OUTSIDE; n], order: Vec::new() };
        dissection.run((0..n).filter(|&g| !is_hub(g)).collect());
        let mut order = dissection.order;
        // Separators were put down before what they separate.
        order.reverse();
        order.extend(hubs);
        order
    }
}

/// Not in the set at hand.
const OUTSIDE: u8 = 0;
const LOW: u8 = 1;
const HIGH: u8 = 2;

struct Dissection<'a> {
    at: &'a [usize],
    list: &'a [u32],
    places: &'a [[f64; 2]],
    side: Vec<u8>,
    /// In reverse: separators first.
    order: Vec<usize>,
}

impl Dissection<'_> {
    fn neighbours(&self, g: usize) -> impl Iterator<Item = usize> {
        self.list[self.at[g]..self.at[g + 1]].iter().map(|&n| n as usize)
    }

    fn run(&mut self, all: Vec<usize>) {
        let mut stack = vec![all];
        while let Some(mut set) = stack.pop() {
            if set.len() <= LEAF {
                self.leaf(&set);
                continue;
            }
            let (mut low, mut high, separator) = self.halve(&mut set);
            if low.is_empty() || high.is_empty() {
                // All on one line across: nothing separates them.
                self.leaf(&set);
                continue;
            }
            self.order.extend(separator);
            low.shrink_to_fit();
            high.shrink_to_fit();
            stack.push(low);
            stack.push(high);
        }
    }

    /// Halves a set across its longer side; the separator is the smaller of the two borders.
    fn halve(&mut self, set: &mut [usize]) -> (Vec<usize>, Vec<usize>, Vec<usize>) {
        let extent = |axis: usize| {
            let values = || set.iter().map(|&g| self.places[g][axis]);
            let high = values().fold(f64::NEG_INFINITY, withy_mesh::number::max);
            high - values().fold(f64::INFINITY, withy_mesh::number::min)
        };
        let axis = usize::from(extent(1) > extent(0));
        let middle = set.len() / 2;
        let key = |g: usize| self.places[g][axis];
        set.select_nth_unstable_by(middle, |&a, &b| key(a).total_cmp(&key(b)).then(a.cmp(&b)));
        let (below, above) = set.split_at(middle);
        below.iter().for_each(|&g| self.side[g] = LOW);
        above.iter().for_each(|&g| self.side[g] = HIGH);
        let touches = |g: usize, side: u8| self.neighbours(g).any(|n| self.side[n] == side);
        let low_border: Vec<usize> = below.iter().copied().filter(|&g| touches(g, HIGH)).collect();
        let high_border: Vec<usize> = above.iter().copied().filter(|&g| touches(g, LOW)).collect();
        let separator =
            if low_border.len() <= high_border.len() { low_border } else { high_border };
        separator.iter().for_each(|&g| self.side[g] = OUTSIDE);
        let kept =
            |part: &[usize]| part.iter().copied().filter(|&g| self.side[g] != OUTSIDE).collect();
        let (low, high): (Vec<usize>, Vec<usize>) = (kept(below), kept(above));
        set.iter().for_each(|&g| self.side[g] = OUTSIDE);
        (low, high, separator)
    }

    /// Orders a small set by minimum degree among itself.
    fn leaf(&mut self, set: &[usize]) {
        let mut sorted = set.to_vec();
        sorted.sort_unstable();
        let (mut offsets, mut rows) = (vec![0], Vec::new());
        for (k, &g) in sorted.iter().enumerate() {
            rows.push(k);
            let mut below: Vec<usize> = self
                .neighbours(g)
                .filter(|&n| n > g)
                .filter_map(|n| sorted.binary_search(&n).ok())
                .collect();
            below.sort_unstable();
            rows.extend(below);
            offsets.push(rows.len());
        }
        let graph = Graph { offsets, rows };
        self.order.extend(graph.minimum_degree().into_iter().rev().map(|k| sorted[k]));
    }
}

/// An order with its elimination tree.
struct Elimination {
    /// Old group of each new one.
    forward: Vec<usize>,
    parent: Vec<usize>,
    /// Entries of each column of L, the diagonal included.
    counts: Vec<usize>,
}

const NONE: usize = usize::MAX;

impl Elimination {
    fn new(graph: &Graph, forward: Vec<usize>) -> Self {
        let n = graph.len();
        let mut inverse = vec![0usize; n];
        for (new, &old) in forward.iter().enumerate() {
            inverse[old] = new;
        }
        // Upper triangle in the new order: for each column the rows before it.
        let pairs = || {
            (0..n).flat_map(|g| {
                let (rows, inverse) = (&graph.rows, &inverse);
                let range = graph.offsets[g]..graph.offsets[g + 1];
                rows[range].iter().map(move |&r| (inverse[g], inverse[r]))
            })
        };
        let mut at = vec![0usize; n + 1];
        for (i, j) in pairs() {
            at[i.max(j) + 1] += 1;
        }
        for i in 0..n {
            at[i + 1] += at[i];
        }
        let mut next = at.clone();
        let mut rows = vec![0usize; graph.rows.len()];
        for (i, j) in pairs() {
            let slot = &mut next[i.max(j)];
            rows[*slot] = i.min(j);
            *slot += 1;
        }
        let upper = SymbolicSparseColMatRef::new_unsorted_checked(n, n, &at, None, &rows);
        let (mut tree, mut counts) = (vec![0isize; n], vec![0usize; n]);
        let memory = simplicial::prefactorize_symbolic_cholesky_scratch::<usize>(n, rows.len());
        simplicial::prefactorize_symbolic_cholesky(
            &mut tree,
            &mut counts,
            upper,
            MemStack::new(&mut MemBuffer::new(memory)),
        );
        let parent = tree.into_iter().map(|p| usize::try_from(p).unwrap_or(NONE)).collect();
        Self { forward, parent, counts }
    }

    /// Multiplications of the factorisation, up to a constant factor.
    fn operations(&self) -> f64 {
        self.counts.iter().map(|&c| (c as f64).powi(2)).sum()
    }

    /// Mean height of a column of L, weighted by its height.
    fn weighted_height(&self) -> f64 {
        self.operations() / self.counts.iter().map(|&c| c as f64).sum::<f64>()
    }

    /// The old group of each new one, children before their parents and subtrees together: the same fill,
    /// and what is eliminated together stands together.
    fn in_postorder(&self) -> Vec<usize> {
        let n = self.forward.len();
        let (mut child, mut sibling) = (vec![NONE; n], vec![NONE; n]);
        let mut stack = Vec::new();
        for i in (0..n).rev() {
            if self.parent[i] == NONE {
                stack.push(i);
            } else {
                sibling[i] = child[self.parent[i]];
                child[self.parent[i]] = i;
            }
        }
        let mut order = Vec::with_capacity(n);
        while let Some(&i) = stack.last() {
            if child[i] == NONE {
                stack.pop();
                order.push(self.forward[i]);
            } else {
                let first = child[i];
                child[i] = sibling[first];
                stack.push(first);
            }
        }
        order
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra_sparse::CooMatrix;

    /// The five-point stencil on a square of `n` by `n` places.
    fn square(n: usize) -> (CscMatrix<f64>, Vec<[f64; 2]>) {
        let mut m = CooMatrix::new(n * n, n * n);
        let mut places = Vec::new();
        for i in 0..n {
            for j in 0..n {
                let k = i * n + j;
                places.push([i as f64, j as f64]);
                m.push(k, k, 4.0);
                if j + 1 < n {
                    m.push(k + 1, k, -1.0);
                }
                if i + 1 < n {
                    m.push(k + n, k, -1.0);
                }
            }
        }
        (CscMatrix::from(&m), places)
    }

    #[test]
    fn both_orders_are_permutations_and_dissection_keeps_to_its_bound() {
        let n = 63;
        let (matrix, places) = square(n);
        let blocks: Vec<usize> = (0..=n * n).collect();
        let graph = Graph::of_groups(&matrix, &blocks);
        for order in [graph.minimum_degree(), graph.dissect(&places)] {
            let mut sorted = order.clone();
            sorted.sort_unstable();
            assert!(sorted.into_iter().eq(0..n * n), "each group once");
        }
        let dissected = Elimination::new(&graph, graph.dissect(&places));
        let fill: usize = dissected.counts.iter().sum();
        // George 1973: 31/4 n^2 log2 n to leading order; the leaves save some.
        let bound = 7.75 * (n * n) as f64 * (n as f64).log2();
        assert!((fill as f64) < bound, "{fill} of {bound}");
    }

    #[test]
    fn a_postorder_keeps_the_fill() {
        let (matrix, _) = square(17);
        let blocks: Vec<usize> = (0..=17 * 17).collect();
        let graph = Graph::of_groups(&matrix, &blocks);
        let first = Elimination::new(&graph, graph.minimum_degree());
        let second = Elimination::new(&graph, first.in_postorder());
        let sum = |e: &Elimination| e.counts.iter().sum::<usize>();
        assert_eq!(sum(&first), sum(&second), "entries of L");
        for (i, &p) in second.parent.iter().enumerate() {
            assert!(p == NONE || p > i, "parents follow");
        }
    }
}
