//! Outlines of the places where a field on triangles is at least some level.
//!
//! Nested areas {f >= c} painted from the lowest level to the highest make a heat map without seams,
//! and of a size that hardly depends on the mesh. Each area's border is traced as closed loops with
//! the area on the left: crossings inside triangles, and the stretches of the mesh's own border
//! that lie in the area.

use std::collections::BTreeMap;

/// Triangles with linear interpolation, ready for any number of levels.
#[derive(Clone, Debug)]
pub(super) struct Surface {
    points: Vec<[f64; 2]>,
    triangles: Vec<[usize; 3]>,
    /// Undirected edges of each triangle: opposite to nothing, k is between corners k and k + 1.
    edges_of: Vec<[usize; 3]>,
    ends: Vec<[usize; 2]>,
    /// Directed border edges (from, to, edge), surface on the left.
    border: Vec<[usize; 3]>,
}

impl Surface {
    /// A surface of counter-clockwise triangles over points.
    pub(super) fn new(points: Vec<[f64; 2]>, triangles: Vec<[usize; 3]>) -> Self {
        let mut number: BTreeMap<[usize; 2], usize> = BTreeMap::new();
        let mut ends: Vec<[usize; 2]> = Vec::new();
        let mut uses: Vec<usize> = Vec::new();
        let mut edges_of = Vec::with_capacity(triangles.len());
        for t in &triangles {
            edges_of.push([0, 1, 2].map(|k| {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                let key = [a.min(b), a.max(b)];
                let e = *number.entry(key).or_insert_with(|| {
                    ends.push(key);
                    uses.push(0);
                    ends.len() - 1
                });
                uses[e] += 1;
                e
            }));
        }
        let mut border = Vec::new();
        for (t, edges) in triangles.iter().zip(&edges_of) {
            for k in 0..3 {
                if uses[edges[k]] == 1 {
                    border.push([t[k], t[(k + 1) % 3], edges[k]]);
                }
            }
        }
        Self { points, triangles, edges_of, ends, border }
    }

    /// Closed loops around {value >= level}; `values` by point.
    pub(super) fn at_least(&self, values: &[f64], level: f64) -> Vec<Vec<[f64; 2]>> {
        // Vertices of the loops: points first, then one crossing for each edge.
        let crossing = |edge: usize| self.points.len() + edge;
        let inside = |p: usize| values[p] >= level;
        let mut next = vec![usize::MAX; self.points.len() + self.ends.len()];
        for (t, edges) in self.triangles.iter().zip(&self.edges_of) {
            let flags = t.map(inside);
            for k in 0..3 {
                // Leaving through edge k, coming back through the other mixed edge.
                if flags[k] && !flags[(k + 1) % 3] {
                    let other = if flags[(k + 2) % 3] { (k + 1) % 3 } else { (k + 2) % 3 };
                    next[crossing(edges[k])] = crossing(edges[other]);
                }
            }
        }
        for &[a, b, edge] in &self.border {
            match (inside(a), inside(b)) {
                (true, true) => next[a] = b,
                (true, false) => next[a] = crossing(edge),
                (false, true) => next[crossing(edge)] = b,
                (false, false) => {}
            }
        }
        self.walk(next, values, level)
    }

    /// Closed loops around the whole surface.
    pub(super) fn border_loops(&self) -> Vec<Vec<[f64; 2]>> {
        self.at_least(&vec![1.0; self.points.len()], 0.0)
    }

    fn walk(&self, mut next: Vec<usize>, values: &[f64], level: f64) -> Vec<Vec<[f64; 2]>> {
        let mut loops = Vec::new();
        for start in 0..next.len() {
            let mut ring = Vec::new();
            let mut at = start;
            while next[at] != usize::MAX {
                ring.push(self.place(at, values, level));
                at = std::mem::replace(&mut next[at], usize::MAX);
            }
            if ring.len() > 2 {
                loops.push(ring);
            }
        }
        loops
    }

    fn place(&self, vertex: usize, values: &[f64], level: f64) -> [f64; 2] {
        let Some(edge) = vertex.checked_sub(self.points.len()) else {
            return self.points[vertex];
        };
        let [a, b] = self.ends[edge];
        let t = (level - values[a]) / (values[b] - values[a]);
        [0, 1].map(|i| self.points[a][i] + t * (self.points[b][i] - self.points[a][i]))
    }
}

/// Drops points that lie within `tolerance` of the line through their neighbours kept
/// (Ramer-Douglas-Peucker on a closed ring, split at its two farthest points).
pub(super) fn simplified(ring: &[[f64; 2]], tolerance: f64) -> Vec<[f64; 2]> {
    let far = (0..ring.len())
        .max_by(|&a, &b| distance(ring[a], ring[0]).total_cmp(&distance(ring[b], ring[0])))
        .unwrap_or(0);
    let mut keep = vec![false; ring.len() + 1];
    (keep[0], keep[far], keep[ring.len()]) = (true, true, true);
    let mut stack = vec![(0, far), (far, ring.len())];
    let at = |i: usize| ring[i % ring.len()];
    while let Some((from, to)) = stack.pop() {
        let mut worst = (tolerance, None);
        for i in from + 1..to {
            let d = distance_to_chord(at(i), at(from), at(to));
            if d > worst.0 {
                worst = (d, Some(i));
            }
        }
        if let (_, Some(i)) = worst {
            keep[i] = true;
            stack.push((from, i));
            stack.push((i, to));
        }
    }
    (0..ring.len()).filter(|&i| keep[i]).map(|i| ring[i]).collect()
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn distance_to_chord(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (d, q) = ([b[0] - a[0], b[1] - a[1]], [p[0] - a[0], p[1] - a[1]]);
    let length = d[0].hypot(d[1]);
    if length > 0.0 { (d[0] * q[1] - d[1] * q[0]).abs() / length } else { q[0].hypot(q[1]) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Twice the signed area of a ring.
    fn area(ring: &[[f64; 2]]) -> f64 {
        (0..ring.len())
            .map(|i| {
                let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                0.5 * (a[0] * b[1] - a[1] * b[0])
            })
            .sum()
    }

    fn unit_square(n: usize) -> Surface {
        let points = (0..=n)
            .flat_map(|j| (0..=n).map(move |i| [i as f64 / n as f64, j as f64 / n as f64]))
            .collect();
        let id = |i: usize, j: usize| j * (n + 1) + i;
        let triangles = (0..n)
            .flat_map(|j| (0..n).map(move |i| (i, j)))
            .flat_map(|(i, j)| {
                [
                    [id(i, j), id(i + 1, j), id(i + 1, j + 1)],
                    [id(i, j), id(i + 1, j + 1), id(i, j + 1)],
                ]
            })
            .collect();
        Surface::new(points, triangles)
    }

    #[test]
    fn a_linear_field_is_cut_exactly() {
        let surface = unit_square(5);
        let values: Vec<f64> = surface.points.iter().map(|p| p[0] + p[1]).collect();
        // x + y >= 1.5 leaves the corner triangle with legs 1/2.
        let loops = surface.at_least(&values, 1.5);
        assert_eq!(loops.len(), 1, "one corner");
        assert!((area(&loops[0]) - 0.125).abs() < 1e-12, "{}", area(&loops[0]));
        let whole = surface.border_loops();
        assert!((area(&whole[0]) - 1.0).abs() < 1e-12, "the border runs counter-clockwise");
    }

    #[test]
    fn an_island_below_the_level_becomes_a_hole() {
        let surface = unit_square(20);
        let values: Vec<f64> =
            surface.points.iter().map(|p| (p[0] - 0.5).hypot(p[1] - 0.5)).collect();
        let loops = surface.at_least(&values, 0.25);
        let total: f64 = loops.iter().map(|l| area(l)).sum();
        let exact = 1.0 - std::f64::consts::PI / 16.0;
        // Linear interpolation on a 0.05 grid cuts the circle a little small.
        assert!(loops.len() == 2 && (total - exact).abs() < 0.004, "{total} of {exact}");
    }

    #[test]
    fn simplification_keeps_corners_and_drops_points_on_sides() {
        let surface = unit_square(9);
        let ring = simplified(&surface.border_loops()[0], 1e-6);
        assert_eq!(ring.len(), 4, "{ring:?}");
    }
}
