//! Carrying displacements from one mesh of a part to another.
//!
//! Each node of the new mesh is located in the old one, as an element and its reference coordinates;
//! the old shape functions then give its displacement. A node just outside (outlines are followed by
//! quadratic edges, which differ a little between meshes) takes the nearest element's field.

use crate::triangle::{shape, shape_derivatives};
use rayon::prelude::*;
use withy_mesh::number::{max, min};
use withy_mesh::{Mesh, Point};

/// Where the nodes of one mesh lie in another.
#[derive(Clone, Debug)]
pub struct Transfer {
    /// For each new node: the old element's nodes and its shape functions there.
    rows: Vec<([u32; 6], [f64; 6])>,
}

impl Transfer {
    /// Locates the nodes of `to` in `from`, two meshes of the same outline.
    #[must_use]
    pub fn new(from: &Mesh, to: &Mesh) -> Self {
        let cells = Cells::new(from);
        let rows = to
            .nodes()
            .par_iter()
            .map(|p| {
                let (element, xi, eta) = cells.locate(from, *p);
                (from.elements()[element].map(|n| n.0), shape(xi, eta))
            })
            .collect();
        Self { rows }
    }

    /// A nodal field of the old mesh on the new one.
    #[must_use]
    pub fn apply(&self, field: &[[f64; 2]]) -> Vec<[f64; 2]> {
        self.rows
            .iter()
            .map(|(nodes, weights)| {
                let mut sum = [0.0; 2];
                for (n, w) in nodes.iter().zip(weights) {
                    sum[0] += w * field[*n as usize][0];
                    sum[1] += w * field[*n as usize][1];
                }
                sum
            })
            .collect()
    }
}

/// Elements by the square cells that their bounding boxes touch.
struct Cells {
    low: Point,
    size: f64,
    columns: usize,
    rows: usize,
    lists: Vec<Vec<u32>>,
    /// The box of each element: lower left, upper right.
    boxes: Vec<[f64; 4]>,
}

/// A point this far out of an element in its reference coordinates is in it.
const INSIDE: f64 = 1e-6;
/// A bounding box grows by this part of itself: curved edges bulge beyond their nodes.
const MARGIN: f64 = 0.15;

impl Cells {
    fn new(mesh: &Mesh) -> Self {
        let boxes: Vec<[f64; 4]> = (0..mesh.elements().len()).map(|e| bounds(mesh, e)).collect();
        let all = boxes
            .iter()
            .fold([f64::INFINITY, f64::INFINITY, -f64::INFINITY, -f64::INFINITY], |a, b| {
                [min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])]
            });
        // As many cells as elements: a few elements touch each.
        let area = (all[2] - all[0]) * (all[3] - all[1]);
        let size = (area / mesh.elements().len().max(1) as f64).sqrt();
        let count = |length: f64| whole(length / size) + 1;
        let (columns, rows) = (count(all[2] - all[0]), count(all[3] - all[1]));
        let mut cells = Self {
            low: Point::new(all[0], all[1]),
            size,
            columns,
            rows,
            lists: vec![Vec::new(); columns * rows],
            boxes,
        };
        for (e, b) in cells.boxes.iter().enumerate() {
            let (from, to) = (cells.cell(b[0], b[1]), cells.cell(b[2], b[3]));
            for row in from[1]..=to[1] {
                for column in from[0]..=to[0] {
                    cells.lists[row * columns + column].push(crate::dofs::index(e));
                }
            }
        }
        cells
    }

    fn cell(&self, x: f64, y: f64) -> [usize; 2] {
        [
            whole((x - self.low.x) / self.size).min(self.columns - 1),
            whole((y - self.low.y) / self.size).min(self.rows - 1),
        ]
    }

    /// The element that holds a point, or comes nearest to it, and the point's coordinates in it.
    fn locate(&self, mesh: &Mesh, p: Point) -> (usize, f64, f64) {
        // Far from all boxes only the nearest element of all is left.
        let found = self.nearest(mesh, p, false).or_else(|| self.nearest(mesh, p, true));
        found.unwrap_or((0, 1.0 / 3.0, 1.0 / 3.0))
    }

    /// The same among the elements whose boxes hold the point, or `everywhere`.
    fn nearest(&self, mesh: &Mesh, p: Point, everywhere: bool) -> Option<(usize, f64, f64)> {
        let [column, row] = self.cell(p.x, p.y);
        let mut best = (f64::INFINITY, 0, 1.0 / 3.0, 1.0 / 3.0);
        for reach in 0..self.columns.max(self.rows) {
            let ring = |c: usize, r: usize| c.abs_diff(column).max(r.abs_diff(row)) == reach;
            for r in row.saturating_sub(reach)..=(row + reach).min(self.rows - 1) {
                for c in column.saturating_sub(reach)..=(column + reach).min(self.columns - 1) {
                    if !ring(c, r) {
                        continue;
                    }
                    for e in self.lists[r * self.columns + c].iter().map(|&e| e as usize) {
                        if !everywhere && !holds(&self.boxes[e], p) {
                            continue;
                        }
                        let (xi, eta) = reference_coordinates(mesh, e, p);
                        let outside = max(max(-xi, -eta), xi + eta - 1.0);
                        if outside < best.0 {
                            best = (outside, e, xi, eta);
                        }
                        if outside <= INSIDE {
                            return Some((e, xi, eta));
                        }
                    }
                }
            }
            // One ring more than the first hit: a neighbour may hold the point better.
            if best.0 < 0.5 && reach > 0 {
                break;
            }
        }
        best.0.is_finite().then_some((best.1, best.2, best.3))
    }
}

/// A non-negative float as an index; negative ones count as 0.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a float-to-integer cast saturates, which is what is wanted here"
)]
fn whole(x: f64) -> usize {
    x as usize
}

fn holds(b: &[f64; 4], p: Point) -> bool {
    b[0] <= p.x && p.x <= b[2] && b[1] <= p.y && p.y <= b[3]
}

fn bounds(mesh: &Mesh, e: usize) -> [f64; 4] {
    let mut b = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    for n in mesh.elements()[e] {
        let p = mesh.nodes()[n.index()];
        b = [min(b[0], p.x), min(b[1], p.y), max(b[2], p.x), max(b[3], p.y)];
    }
    let grow = MARGIN * max(b[2] - b[0], b[3] - b[1]);
    [b[0] - grow, b[1] - grow, b[2] + grow, b[3] + grow]
}

/// Newton steps on x(xi, eta) = p: quadratic maps of well-shaped elements need three or four.
const MOST_STEPS: usize = 12;

/// Coordinates of a point in an element's reference triangle (possibly outside it).
fn reference_coordinates(mesh: &Mesh, e: usize, p: Point) -> (f64, f64) {
    let x = mesh.elements()[e].map(|n| mesh.nodes()[n.index()]);
    let (mut xi, mut eta) = (1.0 / 3.0, 1.0 / 3.0);
    for _ in 0..MOST_STEPS {
        let (n, d) = (shape(xi, eta), shape_derivatives(xi, eta));
        let (mut r, mut j) = ([p.x, p.y], [[0.0; 2]; 2]);
        for a in 0..6 {
            let place = [x[a].x, x[a].y];
            for i in 0..2 {
                r[i] -= n[a] * place[i];
                for k in 0..2 {
                    j[i][k] += place[i] * d[a][k];
                }
            }
        }
        let det = j[0][0] * j[1][1] - j[0][1] * j[1][0];
        let step =
            [(j[1][1] * r[0] - j[0][1] * r[1]) / det, (j[0][0] * r[1] - j[1][0] * r[0]) / det];
        if !(step[0].is_finite() && step[1].is_finite()) {
            return (f64::INFINITY, f64::INFINITY);
        }
        // Far from the element the quadratic map folds back: keep to its neighbourhood.
        xi = (xi + step[0]).clamp(-1.0, 2.0);
        eta = (eta + step[1]).clamp(-1.0, 2.0);
        if step[0].abs() + step[1].abs() < 1e-13 {
            break;
        }
    }
    (xi, eta)
}
