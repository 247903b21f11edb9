//! Properties of every mesh: topology, area, shape, nodes on their curves, regions.
#![expect(clippy::unwrap_used, reason = "a broken test shape is a failed test")]

mod random;
mod shapes;

use shapes::{circle, frame, polygon, rectangle, region};
use withy_mesh::{
    Curve, Loop, Mesh, MeshError, NodeId, Outline, Point, Rect, SizeWish, Sizing, mesh_outline,
    mesh_outline_unless, quality,
};

fn meshed(outline: &Outline) -> Mesh {
    mesh_outline(outline, &Sizing::default()).unwrap()
}

/// Topology, boundary order, nodes on curves, and area: what holds for all meshes.
fn check(mesh: &Mesh, outline: &Outline) {
    let (n, e, b) = (mesh.nodes().len(), mesh.elements().len(), mesh.boundary().len());
    // Sides: (3 e + b) / 2; nodes: corners and sides. V - E + F = 1 - holes.
    let sides = (3 * e + b) / 2;
    let holes = outline.loops().len() - 1;
    assert_eq!(n - sides + e + holes, sides + 1, "Euler characteristic");
    for (k, edge) in mesh.boundary().iter().enumerate() {
        let next = mesh.boundary().get(k + 1).filter(|n| n.loop_index == edge.loop_index);
        let first = mesh.boundary().iter().find(|f| f.loop_index == edge.loop_index);
        assert_eq!(Some(edge.nodes[2]), next.or(first).map(|n| n.nodes[0]), "edges follow");
        let curve = mesh.curve(edge);
        let [t0, t1] = edge.parameters;
        for (node, t) in [(0, t0), (1, curve.middle(t0, t1)), (2, t1)] {
            let p = mesh.nodes()[edge.nodes[node].index()];
            assert!(curve.at(t).distance(p) < 1e-9, "{p:?} is off its curve");
        }
    }
    // A parabola through three points of an arc of half turn a misses the segment's area
    // r^2 (2/3) a^3 by a relative a^2 / 20: at most a = 0.2 here, on a small part of the border.
    let error = mesh.area() / outline.area() - 1.0;
    assert!(error.abs() < 1e-4, "area off by {error:e}");
}

fn nodes_in(mesh: &Mesh, inside: impl Fn(Point) -> bool) -> Vec<NodeId> {
    let number = |i: usize| NodeId(u32::try_from(i).unwrap());
    let all = mesh.nodes().iter().enumerate();
    all.filter(|(_, p)| inside(**p)).map(|(i, _)| number(i)).collect()
}

#[test]
fn a_polygon_keeps_its_exact_area() {
    let outline = Outline::new(vec![rectangle(0.0, 0.0, 40.0, 7.0)], Vec::new()).unwrap();
    let mesh = meshed(&outline);
    check(&mesh, &outline);
    assert!((mesh.area() - 280.0).abs() < 280.0 * 1e-12, "{}", mesh.area());
}

#[test]
fn a_frame_with_a_rib_has_good_angles_and_three_layers_across_the_rib() {
    let outline = frame(Vec::new()).unwrap();
    let mesh = meshed(&outline);
    check(&mesh, &outline);
    let q = quality(&mesh);
    assert!(q.min_angle_deg >= 30.0 && q.worst_scaled_jacobian > 0.3, "{q:?}");
    let cuts = cuts(&mesh, Rect::new(8.0, 14.2, 32.0, 15.8));
    assert!(cuts.iter().all(|c| *c >= 5), "elements on cuts across the rib: {cuts:?}");
}

/// Through how many elements each of 200 straight cuts across a rib along x passes.
fn cuts(mesh: &Mesh, rib: Rect) -> Vec<usize> {
    let inside = |p: &Point| p.y > rib.y0 - 1e-9 && p.y < rib.y1 + 1e-9;
    (0..200u32)
        .map(|k| {
            let x = rib.x0 + rib.width() * (f64::from(k) + 0.37) / 200.0;
            let across = mesh.elements().iter().filter(|e| {
                let p = [0, 1, 2].map(|c| mesh.nodes()[e[c].index()]);
                let right = p.iter().filter(|p| p.x > x).count();
                p.iter().all(inside) && (1..=2).contains(&right)
            });
            across.count()
        })
        .collect()
}

#[test]
fn ribs_of_any_width_have_three_elements_across() {
    for (k, width) in [0.4, 0.8, 1.2, 1.7, 2.5, 3.1].into_iter().enumerate() {
        let y = 11.0 + 0.37 * f64::from(u32::try_from(k).unwrap());
        // A window of two bays with a rib between them.
        let loops = vec![
            rectangle(0.0, 0.0, 60.0, 30.0),
            rectangle(6.0, 5.0, 54.0, y),
            rectangle(6.0, y + width, 54.0, 25.0),
        ];
        let outline = Outline::new(loops, Vec::new()).unwrap();
        // Two rows of triangles give four on the mean, three rows six.
        for (rows, least, on_the_mean) in [(2.0, 3, 4.0), (3.0, 5, 6.0)] {
            let mesh =
                mesh_outline(&outline, &Sizing { across: rows, ..Sizing::default() }).unwrap();
            assert!(quality(&mesh).min_angle_deg >= 30.0, "{width}: {:?}", quality(&mesh));
            let cuts = cuts(&mesh, Rect::new(8.0, y, 52.0, y + width));
            let mean = cuts.iter().sum::<usize>() as f64 / 200.0;
            let enough = cuts.iter().all(|c| *c >= least) && mean >= on_the_mean;
            assert!(enough, "{width}, {rows} rows: {mean}, {cuts:?}");
        }
    }
}

#[test]
fn the_same_outline_gives_the_same_mesh_bit_by_bit() {
    let outline = frame(vec![region("held", rectangle(-1.0, -1.0, 6.0, 31.0))]).unwrap();
    let (a, b) = (meshed(&outline), meshed(&outline));
    assert!(a.nodes() == b.nodes() && a.elements() == b.elements(), "deterministic");
    assert_eq!(a.boundary(), b.boundary());
}

#[test]
fn the_mesh_follows_the_borders_of_regions() {
    let cut = |p: Point| p.x >= 15.0 - 1e-6 && p.x <= 22.0 + 1e-6 && p.y >= 10.0 && p.y <= 20.0;
    let regions = vec![
        region("cut", rectangle(15.0, 10.0, 22.0, 20.0)),
        region("disc", circle(20.0, 15.0, 3.0)),
    ];
    let outline = frame(regions).unwrap();
    let mesh = meshed(&outline);
    check(&mesh, &outline);
    assert!(quality(&mesh).min_angle_deg >= 29.0, "{:?}", quality(&mesh));
    assert_eq!(mesh.regions()[0].nodes, nodes_in(&mesh, cut), "inside and on the border");
    // Nodes stand on both borders through the rib: corners and mid-sides of at least three layers.
    for x in [15.0, 22.0] {
        let on = nodes_in(&mesh, |p| (p.x - x).abs() < 1e-9 && p.y > 14.1 && p.y < 15.9);
        assert!(on.len() >= 7, "{} nodes at x = {x}", on.len());
    }
    let on_circle = |p: Point| (p.distance(Point::new(20.0, 15.0)) - 3.0).abs() < 1e-9;
    assert!(nodes_in(&mesh, on_circle).len() >= 7, "the disc's border crosses the rib twice");
    // No element crosses a border: its corners are not strictly on both sides.
    for e in mesh.elements() {
        let x = [0, 1, 2].map(|c| mesh.nodes()[e[c].index()]);
        let in_rib = x.iter().all(|p| p.y > 14.1 && p.y < 15.9);
        for border in [15.0, 22.0] {
            let left = x.iter().any(|p| p.x < border - 1e-6);
            let right = x.iter().any(|p| p.x > border + 1e-6);
            assert!(!(in_rib && left && right), "{x:?} crosses x = {border}");
        }
    }
}

#[test]
fn a_thin_box_around_an_edge_selects_it_without_small_elements() {
    let plain = Outline::new(vec![rectangle(0.0, 0.0, 20.0, 30.0)], Vec::new()).unwrap();
    let thin = region("edge", rectangle(-0.001, 10.0, 0.001, 20.0));
    let touching = region("outside", rectangle(20.0, 5.0, 24.0, 9.0));
    let regions = vec![thin, touching];
    let outline = Outline::new(vec![rectangle(0.0, 0.0, 20.0, 30.0)], regions).unwrap();
    let (without, with) = (meshed(&plain), meshed(&outline));
    check(&with, &outline);
    assert!(with.elements().len() < 2 * without.elements().len(), "{}", with.elements().len());
    let edge = |p: Point| p.x.abs() < 1e-9 && p.y > 10.0 - 1e-6 && p.y < 20.0 + 1e-6;
    let nodes = nodes_in(&with, edge);
    assert_eq!(with.regions()[0].nodes, nodes);
    for y in [10.0, 20.0] {
        let end = |n: &&NodeId| (with.nodes()[n.index()].y - y).abs() < 1e-9;
        assert_eq!(nodes.iter().filter(end).count(), 1, "a node at the end of the box");
    }
    let outside = |p: Point| (p.x - 20.0).abs() < 1e-9 && p.y > 5.0 - 1e-6 && p.y < 9.0 + 1e-6;
    let nodes = nodes_in(&with, outside);
    assert_eq!(with.regions()[1].nodes, nodes);
    assert!(nodes.len() >= 3, "at least one element edge: {nodes:?}");
}

#[test]
fn a_region_that_passes_tangent_fillets_makes_no_thin_elements() {
    let outline = frame(vec![region("held", rectangle(0.0, 0.0, 6.0, 30.0))]).unwrap();
    let mesh = meshed(&outline);
    check(&mesh, &outline);
    assert!(quality(&mesh).min_angle_deg >= 30.0, "{:?}", quality(&mesh));
    assert_eq!(mesh.regions()[0].nodes, nodes_in(&mesh, |p| p.x <= 6.0 + 1e-6));
}

#[test]
fn wishes_refine_and_never_coarsen() {
    let outline = Outline::new(vec![rectangle(0.0, 0.0, 20.0, 20.0)], Vec::new()).unwrap();
    let at = Point::new(12.0, 7.0);
    let wish = |size| Sizing { wishes: vec![SizeWish { at, size }], ..Sizing::default() };
    let fine = mesh_outline(&outline, &wish(0.05)).unwrap();
    let nearest = |m: &Mesh| {
        m.nodes().iter().map(|p| p.distance(at)).fold(f64::INFINITY, withy_mesh::number::min)
    };
    assert!(nearest(&fine) < 0.1, "{}", nearest(&fine));
    check(&fine, &outline);
    let plain = meshed(&outline);
    assert_eq!(mesh_outline(&outline, &wish(50.0)).unwrap().nodes(), plain.nodes());
    let bad = mesh_outline(&outline, &wish(f64::NAN));
    assert!(matches!(bad, Err(MeshError::BadSize { .. })), "{bad:?}");
}

#[test]
fn too_many_elements_are_refused_before_they_are_built() {
    let outline = Outline::new(vec![rectangle(0.0, 0.0, 20.0, 20.0)], Vec::new()).unwrap();
    let sizing = Sizing { coarsest: Some(1e-4), ..Sizing::default() };
    let refused = mesh_outline(&outline, &sizing);
    assert!(matches!(refused, Err(MeshError::TooManyElements { .. })), "{refused:?}");
}

#[test]
fn a_needle_ends_in_its_own_angle_and_nothing_smaller() {
    let needle = polygon(&[(0.0, 0.0), (20.0, 0.0), (20.0, 3.0)]);
    let outline = Outline::new(vec![needle], Vec::new()).unwrap();
    let mesh = meshed(&outline);
    check(&mesh, &outline);
    let own = (3.0f64 / 20.0).atan().to_degrees();
    let q = quality(&mesh);
    assert!(q.min_angle_deg >= own - 1e-9 && mesh.elements().len() < 2000, "{q:?} {own}");
}

#[test]
fn a_circle_of_many_lines_is_as_fine_as_its_lines_only_at_its_border() {
    let n = 2000u32;
    let corner = |k: u32| {
        let a = f64::from(k) / f64::from(n) * std::f64::consts::TAU;
        (5.0 * a.cos(), 5.0 * a.sin())
    };
    let points: Vec<(f64, f64)> = (0..n).map(corner).collect();
    let outline = Outline::new(vec![polygon(&points)], Vec::new()).unwrap();
    let mesh = meshed(&outline);
    check(&mesh, &outline);
    assert_eq!(mesh.boundary().len(), 2000, "one element a line");
    assert!(mesh.elements().len() < 40_000, "{}", mesh.elements().len());
}

/// A generator with a fixed seed (Marsaglia, "Xorshift RNGs", 2003).
struct Random(u64);

impl Random {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        let bits = u32::try_from(self.0 >> 32).unwrap();
        low + (high - low) * f64::from(bits) / f64::from(u32::MAX)
    }

    fn star(&mut self, corners: u32, center: Point, inner: f64, outer: f64) -> Loop {
        let n = f64::from(corners);
        let points: Vec<(f64, f64)> = (0..corners)
            .map(|k| {
                let a = (f64::from(k) + self.between(-0.3, 0.3)) / n * std::f64::consts::TAU;
                let r = self.between(inner, outer);
                (center.x + r * a.cos(), center.y + r * a.sin())
            })
            .collect();
        polygon(&points)
    }
}

#[test]
fn random_stars_with_holes_and_regions_are_meshed_or_refused() {
    let mut random = Random(0x9e37_79b9_7f4a_7c15);
    let mut meshed_count = 0;
    for round in 0..40u32 {
        let mut loops = vec![random.star(5 + round % 12, Point::ORIGIN, 4.0, 10.0)];
        for _ in 0..round % 4 {
            let (x, y) = (random.between(-4.0, 4.0), random.between(-4.0, 4.0));
            loops.push(if round % 2 == 0 {
                circle(x, y, random.between(0.1, 1.5))
            } else {
                random.star(4, Point::new(x, y), 0.3, 1.5)
            });
        }
        let regions = (0..round % 3)
            .map(|k| {
                let (x, y) = (random.between(-8.0, 8.0), random.between(-8.0, 8.0));
                let star = random.star(3 + k, Point::new(x, y), 1.0, 5.0);
                region("r", star)
            })
            .collect();
        // Holes may cross each other: then the outline is refused, which is fine.
        let Ok(outline) = Outline::new(loops, regions) else { continue };
        check(&meshed(&outline), &outline);
        meshed_count += 1;
    }
    assert!(meshed_count >= 20, "only {meshed_count} of 40 outlines were accepted");
}

#[test]
fn touching_arcs_of_a_thin_ring_are_followed() {
    let outline = Outline::new(vec![circle(0.0, 0.0, 10.0), circle(0.0, 0.0, 9.9)], Vec::new());
    let outline = outline.unwrap();
    let mesh = meshed(&outline);
    check(&mesh, &outline);
    assert!(mesh.boundary().iter().all(|b| matches!(mesh.curve(b), Curve::Arc(_))), "arcs stay");
}

#[test]
fn meshing_stops_when_it_is_told_to() {
    let outline = Outline::new(vec![rectangle(0.0, 0.0, 200.0, 3.0)], Vec::new()).unwrap();
    let sizing = Sizing { coarsest: Some(0.2), ..Sizing::default() };
    let asked = std::cell::Cell::new(0);
    // The first, a middle and a late question.
    for patience in [1, 6, 20] {
        asked.set(0);
        let stop = || {
            asked.set(asked.get() + 1);
            asked.get() >= patience
        };
        let outcome = mesh_outline_unless(&outline, &sizing, &stop);
        assert_eq!(outcome.err(), Some(MeshError::Interrupted), "at question {patience}");
        assert_eq!(asked.get(), patience, "it asks no more");
    }
}
