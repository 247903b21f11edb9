//! A static tree of bounding boxes: everything near a place, in logarithmic time.
//!
//! One structure serves all searches. Each item has a box and a cost (0 if none is
//! given); `least` minimises any value that is never below `cost + slope * distance(box, p)`.
//! With cost 0 and slope 1 that is the nearest item; with cost h and slope g it is the graded
//! element size `min_i h_i + g |p - x_i|`.

use kurbo::{Point, Rect, Vec2};

/// Numbers of nodes and items are kept short.
fn short(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(u32::MAX)
}

/// Items per leaf: a tuning value; halving or doubling it changes nothing but a little time.
const LEAF: usize = 6;
/// Fewer items than this are sorted by one thread.
const ALONE: usize = 8192;
/// Each level halves the items, and their numbers have 32 bits.
const DEPTH: usize = 34;

#[derive(Clone, Debug)]
struct Node {
    bounds: Rect,
    least_cost: f64,
    /// Leaf: range of `items`. Branch: `first` is the right child, the left one is the next node.
    first: u32,
    count: u32,
}

impl Node {
    fn range(&self) -> std::ops::Range<usize> {
        self.first as usize..(self.first + self.count) as usize
    }
}

/// An item while the tree is built.
#[derive(Clone, Copy, Debug)]
struct Entry {
    bounds: Rect,
    cost: f64,
    item: usize,
}

/// The tree; items are known by their index in the slice it was built from.
#[derive(Clone, Debug)]
pub struct BoxTree {
    nodes: Vec<Node>,
    /// Items leaf by leaf, and their boxes in the same order.
    items: Vec<usize>,
    boxes: Vec<Rect>,
}

/// Distance from a point to a box, 0 inside.
fn distance_to_box(p: Point, b: &Rect) -> f64 {
    let dx = if p.x < b.x0 {
        b.x0 - p.x
    } else if p.x > b.x1 {
        p.x - b.x1
    } else {
        0.0
    };
    let dy = if p.y < b.y0 {
        b.y0 - p.y
    } else if p.y > b.y1 {
        p.y - b.y1
    } else {
        0.0
    };
    // Not hypot: nothing here is near the ends of the number range, and this is called most of all.
    Vec2::new(dx, dy).hypot2().sqrt()
}

/// Whether two closed boxes share a point.
fn overlap(a: &Rect, b: &Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

/// Number of nodes of a tree of so many items.
fn nodes_over(items: usize) -> usize {
    match items {
        0 => 0,
        1..=LEAF => 1,
        _ => 1 + nodes_over(items / 2) + nodes_over(items - items / 2),
    }
}

/// Splits at the median centre, so that the depth is the logarithm of the number of items. `here` is the number
/// of the first item and of the first node.
fn build(entries: &mut [Entry], nodes: &mut [Node], here: [usize; 2]) {
    let Some((first, others)) = entries.split_first() else { return };
    let mut bounds = first.bounds;
    let mut least_cost = first.cost;
    for other in others {
        bounds = bounds.union(other.bounds);
        least_cost = crate::number::min(least_cost, other.cost);
    }
    let Some((node, rest)) = nodes.split_first_mut() else { return };
    let n = entries.len();
    if n <= LEAF {
        *node = Node { bounds, least_cost, first: short(here[0]), count: short(n) };
        return;
    }
    let middle = n / 2;
    if bounds.width() > bounds.height() {
        split(entries, middle, |b| b.x0 + b.x1);
    } else {
        split(entries, middle, |b| b.y0 + b.y1);
    }
    let (left, right) = entries.split_at_mut(middle);
    let count = nodes_over(middle);
    let (left_nodes, right_nodes) = rest.split_at_mut(count);
    let right_here = [here[0] + middle, here[1] + 1 + count];
    *node = Node { bounds, least_cost, first: short(right_here[1]), count: 0 };
    let mut build_left = || build(left, left_nodes, [here[0], here[1] + 1]);
    let mut build_right = || build(right, right_nodes, right_here);
    if n > ALONE {
        rayon::join(build_left, build_right);
    } else {
        build_left();
        build_right();
    }
}

fn split(entries: &mut [Entry], middle: usize, key: impl Fn(&Rect) -> f64) {
    entries.select_nth_unstable_by(middle, |a, b| {
        key(&a.bounds).total_cmp(&key(&b.bounds)).then(a.item.cmp(&b.item))
    });
}

impl BoxTree {
    /// A tree of boxes without costs.
    pub fn new(boxes: &[Rect]) -> Self {
        Self::with_costs(boxes, |_| 0.0)
    }

    /// A tree of boxes, each with its cost.
    pub fn with_costs(boxes: &[Rect], cost: impl Fn(usize) -> f64) -> Self {
        let entry = |(item, &bounds)| Entry { bounds, cost: cost(item), item };
        let mut entries: Vec<Entry> = boxes.iter().enumerate().map(entry).collect();
        let unset = Node { bounds: Rect::ZERO, least_cost: 0.0, first: 0, count: 0 };
        let mut nodes = vec![unset; nodes_over(entries.len())];
        build(&mut entries, &mut nodes, [0, 0]);
        let items = entries.iter().map(|e| e.item).collect();
        Self { nodes, items, boxes: entries.into_iter().map(|e| e.bounds).collect() }
    }

    /// The items in the order in which searches meet them; numbers them anew in that order.
    pub(crate) fn renumber(&mut self) -> Vec<usize> {
        let sorted = (0..self.items.len()).collect();
        std::mem::replace(&mut self.items, sorted)
    }

    /// Visits every item whose box touches the rectangle.
    pub fn for_each_in(&self, rect: &Rect, mut visit: impl FnMut(usize)) {
        let mut stack = vec![0];
        while let Some(n) = stack.pop() {
            let Some(node) = self.nodes.get(n) else { continue };
            if !overlap(&node.bounds, rect) {
                continue;
            }
            if node.count > 0 {
                for k in node.range() {
                    if overlap(&self.boxes[k], rect) {
                        visit(self.items[k]);
                    }
                }
            } else {
                stack.push(node.first as usize);
                stack.push(n + 1);
            }
        }
    }

    /// The item of the least value below `start`, and that value.
    pub fn least(
        &self,
        p: Point,
        slope: f64,
        start: f64,
        value: impl FnMut(usize) -> f64,
    ) -> (f64, Option<usize>) {
        self.least_where(p, slope, start, |_| true, value)
    }

    /// The same among items in boxes that may count.
    pub fn least_where(
        &self,
        p: Point,
        slope: f64,
        start: f64,
        may_count: impl Fn(&Rect) -> bool,
        mut value: impl FnMut(usize) -> f64,
    ) -> (f64, Option<usize>) {
        let mut best = (start, None);
        let bound = |n: usize| {
            let node = &self.nodes[n];
            if may_count(&node.bounds) {
                node.least_cost + slope * distance_to_box(p, &node.bounds)
            } else {
                f64::INFINITY
            }
        };
        // The nearer child first; the farther ones wait.
        let mut waiting = [(0usize, 0.0f64); DEPTH];
        let mut count = 0;
        let mut here = (!self.nodes.is_empty()).then(|| (0, bound(0)));
        while let Some((n, at_least)) = here {
            let node = &self.nodes[n];
            if at_least < best.0 && node.count == 0 {
                let right = node.first as usize;
                let (left, right) = ((n + 1, bound(n + 1)), (right, bound(right)));
                let (near, far) = if left.1 <= right.1 { (left, right) } else { (right, left) };
                if far.1 < best.0 {
                    waiting[count] = far;
                    count += 1;
                }
                here = Some(near);
                continue;
            }
            if at_least < best.0 {
                for &i in &self.items[node.range()] {
                    let v = value(i);
                    if v < best.0 {
                        best = (v, Some(i));
                    }
                }
            }
            here = None;
            while count > 0 && here.is_none() {
                count -= 1;
                here = Some(waiting[count]).filter(|w| w.1 < best.0);
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fixed-seed scatter: the fractional parts of multiples of two irrational numbers.
    fn scatter(n: u32) -> Vec<Point> {
        (0..n)
            .map(|i| {
                let i = f64::from(i) + 1.0;
                Point::new((i * 0.754_877_666).fract(), (i * 0.569_840_29).fract())
            })
            .collect()
    }

    #[test]
    fn the_graded_minimum_is_the_one_a_full_search_finds() {
        let points = scatter(500);
        let h: Vec<f64> = points.iter().map(|p| 0.01 + (37.0 * p.x).sin().abs()).collect();
        let boxes: Vec<Rect> = points.iter().map(|p| Rect::from_points(*p, *p)).collect();
        let tree = BoxTree::with_costs(&boxes, |i| h[i]);
        for q in scatter(700).iter().skip(500) {
            let graded = |i: usize| h[i] + 0.25 * points[i].distance(*q);
            let (found, _) = tree.least(*q, 0.25, f64::INFINITY, graded);
            let all = (0..500).map(graded).fold(f64::INFINITY, crate::number::min);
            assert!((found - all).abs() < 1e-15, "{found} {all}");
            // Only what lies to the right of the place.
            let right = |rect: &Rect| rect.x1 > q.x;
            let (found, _) = tree.least_where(*q, 0.25, f64::INFINITY, right, |i| {
                if points[i].x > q.x { graded(i) } else { f64::INFINITY }
            });
            let all = (0..500).filter(|&i| points[i].x > q.x).map(graded);
            let all = all.fold(f64::INFINITY, crate::number::min);
            let same = (found - all).abs() < 1e-15 || (found.is_infinite() && all.is_infinite());
            assert!(same, "to the right: {found} {all}");
        }
    }

    #[test]
    fn a_box_search_finds_what_a_full_search_finds() {
        let points = scatter(300);
        let boxes: Vec<Rect> = points.iter().map(|p| Rect::from_points(*p, *p)).collect();
        let rect = Rect::new(0.2, 0.3, 0.5, 0.35);
        let mut found = Vec::new();
        BoxTree::new(&boxes).for_each_in(&rect, |i| found.push(i));
        found.sort_unstable();
        let all: Vec<usize> = (0..300).filter(|&i| overlap(&boxes[i], &rect)).collect();
        assert!(!all.is_empty() && found == all, "{found:?} {all:?}");
        BoxTree::new(&[]).for_each_in(&rect, |_| unreachable!("nothing is in an empty tree"));
    }
}
