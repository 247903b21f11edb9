//! Patch test: a uniform deformation gradient is reproduced exactly by any mesh of straight elements.
//!
//! Source: B. M. Irons and A. Razzaque, "Experience with the patch test for convergence of finite
//! elements", in The Mathematical Foundations of the Finite Element Method (1972) 557-587 (from
//! memory). Here with large strains: every boundary node is moved by u = G X, and the inner nodes
//! must find G X by themselves, since a uniform F gives a uniform stress in equilibrium.

use withy_mesh::{Curve, Loop, Mesh, Outline, Point, Sizing, mesh_outline};
use withy_solver::stress::Recovery;
use withy_solver::{Model, Support};
use withy_tests::compare;
use withy_tests::grid::cells;
use withy_tests::solve::{path, plane_stress};

/// A large and lopsided displacement gradient: stretch, squash, shear and turn at once.
const G: [[f64; 2]; 2] = [[0.11, 0.27], [-0.19, -0.06]];

fn moved(p: Point) -> [f64; 2] {
    [G[0][0] * p.x + G[0][1] * p.y, G[1][0] * p.x + G[1][1] * p.y]
}

/// A square of 4 by 4 cells whose inner corners are shaken; mid-side nodes stay halfway.
fn shaken() -> Mesh {
    let n = 4;
    let wide = 2 * n + 1;
    let corner = |i: u32, j: u32| {
        let inner = i > 0 && j > 0 && i < n && j < n;
        // Any two incommensurable waves shake without a pattern.
        let shift = if inner { 0.3 } else { 0.0 };
        let (a, b) = (f64::from(7 * i + 3 * j), f64::from(2 * i + 5 * j));
        [f64::from(i) + shift * a.sin(), f64::from(j) + shift * b.cos()]
    };
    let mut nodes = vec![Point::ORIGIN; (wide * wide) as usize];
    let mut set = |i: u32, j: u32, p: Point| nodes[(j * wide + i) as usize] = p;
    for (i, j) in (0..wide * wide).map(|k| (k % wide, k / wide)).filter(|(i, j)| (i + j) % 2 == 0) {
        if i % 2 == 0 {
            set(i, j, Point::from((corner(i / 2, j / 2)[0], corner(i / 2, j / 2)[1])));
        }
    }
    let elements = cells(n, n);
    for e in &elements {
        for (m, a, b) in [(3, 0, 1), (4, 1, 2), (5, 2, 0)] {
            nodes[e[m].index()] = nodes[e[a].index()].midpoint(nodes[e[b].index()]);
        }
    }
    Mesh::from_parts(nodes, elements, Vec::new()).unwrap()
}

/// A mesh as the program makes it, of a crooked polygon.
fn meshed() -> Mesh {
    let p = [(0.0, 0.0), (9.0, 1.0), (11.0, 6.0), (5.0, 4.5), (1.0, 8.0)].map(Point::from);
    let curves = (0..5).map(|i| Curve::Line(p[i], p[(i + 1) % 5])).collect();
    let outline = Outline::new(vec![Loop { curves, origin: "polygon".into() }], Vec::new());
    mesh_outline(&outline.unwrap(), &Sizing::default()).unwrap()
}

#[test]
fn a_uniform_large_strain_is_exact_on_distorted_meshes() {
    for (name, mesh) in [("shaken grid", shaken()), ("triangulated polygon", meshed())] {
        let mut model = Model::new(&mesh, plane_stress(1000.0, 0.37), 1.5).unwrap();
        let mut on_border = vec![false; mesh.nodes().len()];
        for node in mesh.boundary().iter().flat_map(|e| [e.nodes[0], e.nodes[1]]) {
            on_border[node.index()] = true;
            let displacement = moved(mesh.nodes()[node.index()]).map(Some);
            let support = Support { name: "border".into(), nodes: vec![node], displacement };
            model = model.support(support).unwrap();
        }
        assert!(on_border.iter().filter(|b| !**b).count() > 20, "there is something to find");
        let last = path(&model, 2).pop().unwrap();
        let mut worst = 0.0;
        for (u, p) in last.displacements.iter().zip(mesh.nodes()) {
            let exact = moved(*p);
            let miss = (u[0] - exact[0]).hypot(u[1] - exact[1]);
            worst = withy_mesh::number::max(worst, miss);
        }
        // Newton stops at a relative residual of 1e-9; its last step gains more.
        compare::absolute(&format!("patch test, {name}: displacement (mm)"), 0.0, worst, 1e-10);

        // Green-Lagrange strain E = (G + G' + G'G)/2, the same at every node.
        let (a, b) = ([G[0][0], G[1][0]], [G[0][1], G[1][1]]);
        let exact = [
            a[0] + 0.5 * (a[0] * a[0] + a[1] * a[1]),
            b[1] + 0.5 * (b[0] * b[0] + b[1] * b[1]),
            a[1] + b[0] + a[0] * b[0] + a[1] * b[1],
        ];
        let field = Recovery::new(&model).field(&last.displacements);
        for (n, strain) in field.strain.iter().enumerate().filter(|(n, _)| !on_border[*n]) {
            for i in 0..3 {
                assert!((strain[i] - exact[i]).abs() < 1e-9, "{name}, node {n}: {strain:?}");
            }
        }
    }
}
