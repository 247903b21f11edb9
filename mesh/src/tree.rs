//! A static tree of bounding boxes: everything near a place, in logarithmic time.
//!
//! One structure serves all searches. Each item has a box and a cost (0 if none is
//! given); `least` minimises any value that is never below `cost + slope * distance(box, p)`.
//! With cost 0 and slope 1 that is the nearest item; with cost h and slope g it is the graded
//! element size `min_i h_i + g |p - x_i|`.

use kurbo::{Point, Rect, Vec2};

/// Items per leaf: a tuning value; halving or doubling it changes nothing but a little time.
const LEAF: usize = 6;

#[derive(Clone, Debug)]
struct Node {
    bounds: Rect,
    least_cost: f64,
    /// Leaf: range of `items`. Branch: `first` is the right child, the left one is the next node.
    first: usize,
    count: usize,
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

impl BoxTree {
    /// A tree of boxes without costs.
    pub fn new(boxes: &[Rect]) -> Self {
        Self::with_costs(boxes, |_| 0.0)
    }

    /// A tree of boxes, each with its cost.
    pub fn with_costs(boxes: &[Rect], cost: impl Fn(usize) -> f64) -> Self {
        let mut tree =
            Self { nodes: Vec::new(), items: (0..boxes.len()).collect(), boxes: Vec::new() };
        if !boxes.is_empty() {
            tree.build(boxes, &cost, 0, boxes.len());
            tree.boxes = tree.items.iter().map(|&i| boxes[i]).collect();
        }
        tree
    }

    /// Splits at the median centre, so that the depth is the logarithm of the number of items.
    fn build(&mut self, boxes: &[Rect], cost: &impl Fn(usize) -> f64, from: usize, to: usize) {
        let items = &mut self.items[from..to];
        let mut bounds = boxes[items[0]];
        let mut least_cost = cost(items[0]);
        for &i in &items[1..] {
            bounds = bounds.union(boxes[i]);
            least_cost = crate::number::min(least_cost, cost(i));
        }
        let here = self.nodes.len();
        self.nodes.push(Node { bounds, least_cost, first: from, count: to - from });
        if to - from <= LEAF {
            return;
        }
        let middle = (to - from) / 2;
        let wide = bounds.width() > bounds.height();
        let key =
            |i: usize| if wide { boxes[i].x0 + boxes[i].x1 } else { boxes[i].y0 + boxes[i].y1 };
        items.select_nth_unstable_by(middle, |&a, &b| key(a).total_cmp(&key(b)).then(a.cmp(&b)));
        self.build(boxes, cost, from, from + middle);
        let right = self.nodes.len();
        self.build(boxes, cost, from + middle, to);
        self.nodes[here].first = right;
        self.nodes[here].count = 0;
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
                for k in node.first..node.first + node.count {
                    if overlap(&self.boxes[k], rect) {
                        visit(self.items[k]);
                    }
                }
            } else {
                stack.push(node.first);
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
        mut value: impl FnMut(usize) -> f64,
    ) -> (f64, Option<usize>) {
        let mut best = (start, None);
        // Depth at most 64: the median halves the number of items at every level.
        let mut stack = [(0usize, 0.0f64); 66];
        let mut top = 0;
        let bound = |n: usize| {
            let node = &self.nodes[n];
            node.least_cost + slope * distance_to_box(p, &node.bounds)
        };
        if !self.nodes.is_empty() {
            stack[0] = (0, bound(0));
            top = 1;
        }
        while top > 0 {
            top -= 1;
            let (n, at_least) = stack[top];
            if at_least >= best.0 {
                continue;
            }
            let node = &self.nodes[n];
            if node.count > 0 {
                for &i in &self.items[node.first..node.first + node.count] {
                    let v = value(i);
                    if v < best.0 {
                        best = (v, Some(i));
                    }
                }
                continue;
            }
            let (left, right) = ((n + 1, bound(n + 1)), (node.first, bound(node.first)));
            let (near, far) = if left.1 <= right.1 { (left, right) } else { (right, left) };
            stack[top] = far;
            stack[top + 1] = near;
            top += 2;
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
