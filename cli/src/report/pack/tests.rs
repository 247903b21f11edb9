use super::*;
use std::collections::BTreeMap;
use withy_mesh::{Arc, Curve, Loop, Outline, Point, Sizing, mesh_outline};
use withy_solver::PlaneState;

/// A plate of 40 x 20 mm with a round hole.
fn plate() -> Mesh {
    sized(&Sizing::default())
}

fn sized(sizing: &Sizing) -> Mesh {
    let corners =
        [[0.0, 0.0], [40.0, 0.0], [40.0, 20.0], [0.0, 20.0]].map(|[x, y]| Point::new(x, y));
    let sides = (0..4).map(|k| Curve::Line(corners[k], corners[(k + 1) % 4])).collect();
    let (center, sweep) = (Point::new(20.0, 10.0), std::f64::consts::TAU);
    let hole = Curve::Arc(Arc { center, radius: 5.0, start: 0.0, sweep });
    let loops = vec![
        Loop { curves: sides, origin: "plate".into() },
        Loop { curves: vec![hole], origin: "hole".into() },
    ];
    let outline = Outline::new(loops, Vec::new()).unwrap();
    mesh_outline(&outline, sizing).unwrap()
}

/// The border's pieces are only nearly equal (mm2); a single mid-side point less would cost 0.07.
const NEARLY_EQUAL: f64 = 1e-3;

/// Area of the regular polygon of so many corners in the hole's circle (mm2).
fn regular_polygon(corners: usize) -> f64 {
    let n = corners as f64;
    12.5 * n * (std::f64::consts::TAU / n).sin()
}

fn unpacked<const N: usize>(text: &str) -> Vec<[u8; N]> {
    let bytes = STANDARD.decode(text).unwrap();
    assert_eq!(bytes.len() % N, 0, "whole numbers");
    bytes.chunks_exact(N).map(|c| c.try_into().unwrap()).collect()
}

#[test]
fn triangles_meet_side_to_side_and_cover_the_mesh() {
    let mesh = plate();
    let net = Net::of(&mesh);
    assert_eq!(
        net.triangles.len(),
        mesh.elements().len() + mesh.boundary().len(),
        "one more by border side"
    );
    let mut uses: BTreeMap<(u32, u32), usize> = BTreeMap::new();
    for t in &net.triangles {
        for k in 0..3 {
            *uses.entry((t[k], t[(k + 1) % 3])).or_default() += 1;
        }
    }
    assert!(uses.values().all(|n| *n == 1), "each side runs once in each direction");
    // Sides without a neighbour are the halves of the border's edges, and no others: no T-junctions.
    let alone = uses.keys().filter(|(a, b)| !uses.contains_key(&(*b, *a))).count();
    assert_eq!(alone, 2 * mesh.boundary().len(), "border");
    let at = |p: u32| mesh.nodes()[net.nodes[p as usize].index()];
    let area: f64 = net
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(at);
            let twice = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
            assert!(twice > 0.0, "counter-clockwise");
            0.5 * twice
        })
        .sum();
    let around = mesh.boundary().iter().filter(|e| matches!(mesh.curve(e), Curve::Arc(_))).count();
    let exact = 800.0 - regular_polygon(2 * around);
    assert!((area - exact).abs() < NEARLY_EQUAL, "{area} of {exact}");
}

#[test]
fn the_outline_is_one_loop_around_and_one_around_the_hole() {
    let mesh = plate();
    let net = Net::of(&mesh);
    let loops = net.loops(|_| true);
    let mut signed: Vec<f64> = loops
        .iter()
        .map(|ring| {
            let at = |i: usize| mesh.nodes()[net.nodes[ring[i % ring.len()] as usize].index()];
            (0..ring.len()).map(|i| 0.5 * (at(i).x * at(i + 1).y - at(i + 1).x * at(i).y)).sum()
        })
        .collect();
    signed.sort_by(f64::total_cmp);
    assert_eq!(signed.len(), 2, "{signed:?}");
    assert!((signed[1] - 800.0).abs() < 1e-9, "around, counter-clockwise: {signed:?}");
    let hole = regular_polygon(loops.iter().map(Vec::len).min().unwrap());
    assert!((signed[0] + hole).abs() < NEARLY_EQUAL, "the hole, clockwise: {signed:?} {hole}");
}

#[test]
fn packed_numbers_come_back_within_half_a_level() {
    let mesh = plate();
    let net = Net::of(&mesh);
    let packed = pack_net(&mesh, &net);
    let half_place = 0.5 * 40.0 / 65_535.0;
    for (n, xy) in net.nodes.iter().zip(unpacked::<4>(&packed.places)) {
        let p = mesh.nodes()[n.index()];
        let level = |b: [u8; 2]| f64::from(u16::from_le_bytes(b)) * packed.place_mm;
        let [x, y] = [level([xy[0], xy[1]]), level([xy[2], xy[3]])];
        assert!((packed.corner[0] + x - p.x).abs() <= half_place * 1.0001, "{x} {p:?}");
        assert!((packed.corner[1] + y - p.y).abs() <= half_place * 1.0001, "{y} {p:?}");
    }
    assert!(!packed.wide, "few points");
    let corners: Vec<u32> = unpacked::<2>(&packed.triangles)
        .into_iter()
        .map(|b| u32::from(u16::from_le_bytes(b)))
        .collect();
    assert_eq!(corners, net.triangles.concat(), "triangles as they are");

    let displacements: Vec<[f64; 2]> =
        mesh.nodes().iter().map(|p| [-0.1 * p.y, 0.3 * (0.2 * p.x).sin()]).collect();
    let highest = 40.0;
    let vectors: Vec<[f64; 3]> = net
        .nodes
        .iter()
        .map(|n| {
            let p = mesh.nodes()[n.index()];
            [p.x - 20.0, 0.7 * p.y, -0.3 * p.x]
        })
        .collect();
    let state = pack_state(&net, 3, &displacements, &vectors, highest);
    let half_move = 0.5 * 2.0 / 32_767.0;
    for (n, uv) in net.nodes.iter().zip(unpacked::<4>(&state.displacements)) {
        let level = |b: [u8; 2]| f64::from(i16::from_le_bytes(b)) * state.level_mm;
        let u = displacements[n.index()];
        assert!((level([uv[0], uv[1]]) - u[0]).abs() <= half_move * 1.0001, "{u:?}");
        assert!((level([uv[2], uv[3]]) - u[1]).abs() <= half_move * 1.0001, "{u:?}");
    }
    for (v, packed) in vectors.iter().zip(unpacked::<3>(&state.stress)) {
        let size = v.iter().map(|c| c * c).sum::<f64>().sqrt();
        let found = packed.map(|b| f64::from(i8::from_le_bytes([b])) / 127.0 * highest);
        let length = found.iter().map(|c| c * c).sum::<f64>().sqrt();
        // Half a level in each of three components: sqrt(3) / 254 of the scale, 0.7 %.
        let expected = if size > highest { highest } else { size };
        assert!(
            (length - expected).abs() <= 3f64.sqrt() / 254.0 * highest * 1.0001,
            "{v:?} {found:?}"
        );
    }
}

/// More points than 16 bits can count need wider corners, and leave fewer states.
#[test]
fn large_nets_have_wide_corners() {
    let mesh = sized(&Sizing { coarsest: Some(0.12), ..Sizing::default() });
    let net = Net::of(&mesh);
    assert!(net.nodes.len() > 65_536, "{} points", net.nodes.len());
    let packed = pack_net(&mesh, &net);
    assert!(packed.wide, "wide");
    let corners: Vec<u32> =
        unpacked::<4>(&packed.triangles).into_iter().map(u32::from_le_bytes).collect();
    assert_eq!(corners, net.triangles.concat(), "triangles as they are");
    assert_eq!(chosen(&net, 20, 7, BUDGET), [7, 20], "the worst and the last");
}

/// Von Mises (1913) in three dimensions, from the six components of S with S33 of the plane state.
fn textbook(law: &Elastic, strain: [f64; 3]) -> f64 {
    let s = law.stress(strain);
    let (a, b, c) = (s[0], s[1], law.thickness_stress(s));
    let differences = (a - b).powi(2) + (b - c).powi(2) + (c - a).powi(2);
    (0.5 * differences + 3.0 * s[2] * s[2]).sqrt()
}

#[test]
fn the_length_of_the_vector_is_the_von_mises_stress() {
    for state in [PlaneState::PlaneStress, PlaneState::PlaneStrain] {
        let law = Elastic::new(2050.0, 0.39, state).unwrap();
        for strain in
            [[0.01, 0.0, 0.0], [0.01, -0.004, 0.006], [-0.02, 0.003, -0.01], [0.0, 0.0, 0.02]]
        {
            let v = of_strain(&law, strain);
            let length = v.iter().map(|c| c * c).sum::<f64>().sqrt();
            let expected = textbook(&law, strain);
            // The same sum in another order: rounding only.
            assert!(
                (length / expected - 1.0).abs() < 1e-12,
                "{state:?} {strain:?}: {length} {expected}"
            );
            let scaled = stress_vector(&law, strain, 7.0);
            let length = scaled.iter().map(|c| c * c).sum::<f64>().sqrt();
            assert!((length - 7.0).abs() < 1e-12, "scaled to the true stress");
        }
    }
}

/// Across a bent rib von Mises is |z|: a straight side from one edge to the other must show none at its middle.
#[test]
fn half_way_through_a_bent_rib_there_is_no_stress() {
    let law = Elastic::new(2050.0, 0.39, PlaneState::PlaneStress).unwrap();
    let at = |z: f64| of_strain(&law, [0.02 * z, -0.39 * 0.02 * z, 0.0]);
    let (upper, lower) = (at(1.0), at(-1.0));
    let middle = [0, 1, 2].map(|i| 0.5 * (upper[i] + lower[i]));
    assert!(middle.iter().all(|c| c.abs() < 1e-12), "{middle:?}");
}

#[test]
fn states_are_spread_evenly_with_the_worst_and_the_last() {
    let net = Net::of(&plate());
    let points = net.nodes.len();
    let fixed = 4 * points + 6 * net.triangles.len();
    let room_for = |k: usize| fixed + k * BYTES_BY_STATE * points;
    assert_eq!(chosen(&net, 20, 20, room_for(40)), (1..=20).collect::<Vec<_>>(), "all fit");
    assert_eq!(chosen(&net, 20, 20, room_for(5)), [4, 8, 12, 16, 20], "evenly");
    assert_eq!(
        chosen(&net, 20, 13, room_for(5)),
        [4, 8, 13, 16, 20],
        "the worst instead of its neighbour"
    );
    assert_eq!(chosen(&net, 20, 13, room_for(1)), [13, 20], "never without the worst and the last");
    assert_eq!(chosen(&net, 20, 20, 0), [20], "nor without the last");
    assert_eq!(chosen(&net, 1, 1, room_for(9)), [1], "a single state");
}
