//! Random parts: each gets a valid mesh or a clear refusal, never a panic, a hang or a bad mesh.
//!
//! A border around a point with random corners at random distances (so with spikes, notches and thin necks),
//! rounded by a random fillet, with a random round hole; and a comb of random ribs on a bar, as springs have.
//! The generator starts from the same seed at every run.

use crate::shapes::{circle, polygon};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use std::cell::Cell;
use std::f64::consts::TAU;
use withy_mesh::{Loop, Mesh, Outline, OutlineError, Sizing, mesh_outline, quality};

/// A runner that tries the same cases every time.
fn runner(cases: u32) -> TestRunner {
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let seed = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    TestRunner::new_with_rng(config, seed)
}

/// Whether a refusal says in words what is wrong, with numbers that are numbers.
fn is_clear(words: &str) -> bool {
    words.split_whitespace().count() >= 4 && !words.contains("NaN") && !words.contains("inf")
}

/// All that must hold for a mesh of an outline.
fn check(mesh: &Mesh, outline: &Outline) {
    let (nodes, elements, border) =
        (mesh.nodes().len(), mesh.elements().len(), mesh.boundary().len());
    let sides = (3 * elements + border) / 2;
    let holes = outline.loops().len() - 1;
    assert_eq!(nodes - sides + elements + holes, sides + 1, "Euler characteristic");
    let q = quality(mesh);
    // Checked again, as the constructor promises det J > 0.
    assert!(q.worst_scaled_jacobian > 0.0, "{q:?}");
    // A sharp corner of the drawing cannot be wider than it is; elsewhere there is no smaller angle than
    // about 10 degrees.
    assert!(q.min_angle_deg > 2.0, "{q:?}");
    let error = mesh.area() / outline.area() - 1.0;
    assert!(error.abs() < 1e-3, "area off by {error:e}");
    for edge in mesh.boundary() {
        let curve = mesh.curve(edge);
        let [t0, t1] = edge.parameters;
        for (node, t) in [(0, t0), (1, curve.middle(t0, t1)), (2, t1)] {
            let p = mesh.nodes()[edge.nodes[node].index()];
            assert!(curve.at(t).distance(p) < 1e-8, "{p:?} is off its curve");
        }
    }
}

/// Meshes an outline if there is one; whether it was meshed.
fn valid_or_refused(outline: Result<Outline, OutlineError>) -> bool {
    let outline = match outline {
        Ok(outline) => outline,
        Err(refusal) => {
            assert!(is_clear(&refusal.to_string()), "{refusal}");
            return false;
        }
    };
    let mesh = mesh_outline(&outline, &Sizing::default());
    assert!(mesh.is_ok(), "an accepted outline has no mesh: {mesh:?}");
    check(&mesh.unwrap(), &outline);
    true
}

/// Corners by their distance from the middle (mm) and their share of the turn.
fn star(corners: &[(f64, f64)]) -> Loop {
    let whole: f64 = corners.iter().map(|c| c.1).sum();
    let mut angle = 0.0;
    let points: Vec<(f64, f64)> = corners
        .iter()
        .map(|(r, share)| {
            angle += TAU * share / whole;
            (r * angle.cos(), r * angle.sin())
        })
        .collect();
    polygon(&points)
}

#[test]
fn a_random_border_is_meshed_or_refused() {
    let corners = prop::collection::vec((4.0..30.0f64, 0.2..1.0f64), 3..12);
    let inputs = (corners, 0.05..2.0f64, 0.2..6.0f64, 0.0..4.0f64);
    let meshed = Cell::new(0);
    runner(60)
        .run(&inputs, |(corners, fillet, hole, aside)| {
            let loops = vec![star(&corners), circle(aside, 0.0, hole)];
            let outline = Outline::new(loops, Vec::new()).and_then(|o| o.with_fillets(fillet));
            meshed.set(meshed.get() + u32::from(valid_or_refused(outline)));
            Ok(())
        })
        .unwrap();
    let meshed = meshed.get();
    assert!(meshed >= 10, "only {meshed} of 60 were parts at all");
}

#[test]
fn a_random_comb_of_ribs_is_meshed_or_refused() {
    // Widths and gaps of ribs, their lengths, their slant, and the fillets of their roots.
    let ribs = prop::collection::vec((0.3..3.0f64, 0.3..6.0f64, 2.0..30.0f64), 1..7);
    let inputs = (ribs, -0.8..0.8f64, 0.02..1.5f64, 1.0..8.0f64);
    let meshed = Cell::new(0);
    runner(60)
        .run(&inputs, |(ribs, slant, fillet, back)| {
            let mut points = vec![(0.0, -back)];
            let wide: f64 = ribs.iter().map(|r| r.0 + r.1).sum();
            points.push((wide + 1.0, -back));
            points.push((wide + 1.0, 0.0));
            let mut x = wide;
            for (width, gap, length) in &ribs {
                let tip = slant * length;
                points.extend([(x, 0.0), (x + tip, *length), (x - width + tip, *length)]);
                points.push((x - width, 0.0));
                x -= width + gap;
            }
            points.push((0.0, 0.0));
            let outline = Outline::new(vec![polygon(&points)], Vec::new())
                .and_then(|o| o.with_fillets(fillet));
            meshed.set(meshed.get() + u32::from(valid_or_refused(outline)));
            Ok(())
        })
        .unwrap();
    let meshed = meshed.get();
    assert!(meshed >= 10, "only {meshed} of 60 were parts at all");
}
