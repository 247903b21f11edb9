//! Structured meshes of 6-node triangles over the unit square, mapped to any smooth shape.

use withy_mesh::{Mesh, NodeId, Point};

/// `nx` by `ny` cells of two triangles each. `map` places the point (s, t) of the unit square;
/// it must not turn the square over. Diagonals alternate, so that no direction is preferred.
///
/// Every mid-side node is mapped too: on a curved side it lies on the curve.
#[must_use]
pub fn grid(nx: u32, ny: u32, map: impl Fn(f64, f64) -> [f64; 2]) -> Mesh {
    let (columns, rows) = (2 * nx + 1, 2 * ny + 1);
    let place = |k: u32| {
        let (i, j) = (k % columns, k / columns);
        let [x, y] = map(f64::from(i) / f64::from(2 * nx), f64::from(j) / f64::from(2 * ny));
        Point::new(x, y)
    };
    let nodes = (0..columns * rows).map(place).collect();
    Mesh::from_parts(nodes, cells(nx, ny), Vec::new()).unwrap()
}

/// The connectivity of [`grid`]: node (i, j) of the lattice of half cells has number
/// `j (2 nx + 1) + i`.
#[must_use]
pub fn cells(nx: u32, ny: u32) -> Vec<[NodeId; 6]> {
    let at = |i: u32, j: u32| NodeId(j * (2 * nx + 1) + i);
    let mut elements = Vec::new();
    for cell in 0..nx * ny {
        let (i, j) = (2 * (cell % nx), 2 * (cell / nx));
        // The eight places around the cell and its middle, counter-clockwise from the lower left.
        let around = [(0, 0), (1, 0), (2, 0), (2, 1), (2, 2), (1, 2), (0, 2), (0, 1)];
        let [a, ab, b, bc, c, cd, d, da] = around.map(|(di, dj)| at(i + di, j + dj));
        let middle = at(i + 1, j + 1);
        if (i + j) / 2 % 2 == 0 {
            elements.extend([[a, b, c, ab, bc, middle], [a, c, d, middle, cd, da]]);
        } else {
            elements.extend([[a, b, d, ab, middle, da], [b, c, d, bc, cd, middle]]);
        }
    }
    elements
}

/// A sector of a ring, from `inner` to `outer` radius and from angle 0 to `angle` (rad): (s, t) is
/// (across, around).
#[must_use]
pub fn ring(across: u32, around: u32, inner: f64, outer: f64, angle: f64) -> Mesh {
    grid(across, around, |s, t| {
        let (sin, cos) = (t * angle).sin_cos();
        let r = inner + s * (outer - inner);
        [r * cos, r * sin]
    })
}
