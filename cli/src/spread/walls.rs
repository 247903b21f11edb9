//! A mesh whose border is moved outwards or inwards: walls that came out thicker or thinner than drawn.

use withy_mesh::Mesh;
use withy_mesh::error::MeshError;

/// Sweeps in which inner nodes follow the border: more than enough for layers of a wall.
const SWEEPS: usize = 400;
/// Corners sharper than this cosine of half their turn are cut off.
const SHARPEST: f64 = 0.5;
/// The farthest move of a sweep below which nothing is left to do, as a share of the border's own.
const SETTLED: f64 = 1e-4;

/// The mesh with its border moved outwards by so much (mm), inwards if it is negative. Inner nodes follow as the mean of
/// their neighbours does (Laplace).
///
/// # Errors
/// A move that turns an element inside out: farther than the smallest feature allows.
pub(super) fn moved(mesh: &Mesh, by: f64) -> Result<Mesh, MeshError> {
    let count = mesh.nodes().len();
    let mut normal = vec![[0.0; 2]; count];
    for edge in mesh.boundary() {
        let [first, _, last] = edge.nodes.map(|n| mesh.nodes()[n.index()]);
        let along = last - first;
        let length = along.hypot();
        // Material is on the left.
        let out = [along.y / length, -along.x / length];
        for n in edge.nodes {
            for i in 0..2 {
                normal[n.index()][i] += out[i];
            }
        }
    }
    let mut shift = vec![[0.0; 2]; count];
    let mut inner = vec![true; count];
    for (n, out) in normal.iter().enumerate() {
        let size = out[0].hypot(out[1]);
        if size > 0.0 {
            inner[n] = false;
            // Each of the node's edges shall move by the whole: at a corner that is farther along the mean normal,
            // by one over the cosine of half the turn, which is half the sum's size. A mid-side has one edge.
            let edges = if size > 1.0 + 1e-9 { 0.5 * size } else { 1.0 };
            let reach = by / withy_mesh::number::max(edges, SHARPEST);
            shift[n] = out.map(|o| reach * o / size);
        }
    }
    let mut neighbours: Vec<Vec<u32>> = vec![Vec::new(); count];
    for element in mesh.elements() {
        // Corners follow corners; mid-sides lie between them.
        for (a, b) in [(0, 3), (3, 1), (1, 4), (4, 2), (2, 5), (5, 0)] {
            let (a, b) = (element[a], element[b]);
            for (of, to) in [(a, b), (b, a)] {
                if inner[of.index()] && !neighbours[of.index()].contains(&to.0) {
                    neighbours[of.index()].push(to.0);
                }
            }
        }
    }
    for _ in 0..SWEEPS {
        let mut farthest = 0.0_f64;
        for n in (0..count).filter(|n| inner[*n]) {
            let list = &neighbours[n];
            let mean = [0, 1].map(|i| {
                list.iter().map(|m| shift[*m as usize][i]).sum::<f64>() / list.len() as f64
            });
            farthest = withy_mesh::number::max(
                farthest,
                (mean[0] - shift[n][0]).hypot(mean[1] - shift[n][1]),
            );
            shift[n] = mean;
        }
        if farthest <= SETTLED * by.abs() {
            break;
        }
    }
    mesh.moved(&shift)
}

#[cfg(test)]
mod tests {
    use super::*;
    use withy_mesh::{Curve, Loop, Outline, Point, Sizing, mesh_outline};

    #[test]
    fn a_strip_gets_as_much_wider_as_it_is_told() {
        let corners =
            [(0.0, 0.0), (20.0, 0.0), (20.0, 2.0), (0.0, 2.0)].map(|(x, y)| Point::new(x, y));
        let curves = (0..4).map(|k| Curve::Line(corners[k], corners[(k + 1) % 4])).collect();
        let outline =
            Outline::new(vec![Loop { curves, origin: "strip".into() }], Vec::new()).unwrap();
        let mesh = mesh_outline(&outline, &Sizing::default()).unwrap();
        for by in [0.1, -0.1] {
            let wider = moved(&mesh, by).unwrap();
            let exact = (20.0 + 2.0 * by) * (2.0 + 2.0 * by);
            assert!((wider.area() / exact - 1.0).abs() < 1e-9, "{} {exact}", wider.area());
        }
        assert!(moved(&mesh, -1.1).is_err(), "nothing is left of it");
    }
}
