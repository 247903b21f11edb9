//! Structures of beams: limit points, snapping, buckling, and what keeps a carriage in line.
//!
//! Williams' toggle, Lee's frame, a shallow arch and a bistable cosine beam: sources in `toggle`, `frame`, `snap`; values
//! from Reissner's beam as boundary value problems, `reference/make.py`. Columns: Euler, with shear after
//! Engesser. 24 elements a member and more leave errors of the elements below 1e-4.

use std::f64::consts::PI;
use std::ops::ControlFlow;
use withy_solver::Coordinate;
use withy_solver::Stiffness;
use withy_solver::beam::{
    ArcOptions, BeamModel, BeamOptions, BeamStep, Joint, Section, follow_arc, follow_beams,
};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};

/// A rectangle, nu = 0: kappa 5/6.
fn rectangle(e: f64, width: f64, depth: f64) -> Section {
    let area = width * depth;
    Section::new(e * area, 5.0 / 12.0 * e * area, e * area * width * width / 12.0, width).unwrap()
}

fn solved(model: &BeamModel, steps: u32) -> Vec<BeamStep> {
    let options = BeamOptions { steps, ..BeamOptions::default() };
    follow_beams(model, &options, &mut |_| ControlFlow::Continue(())).unwrap()
}

#[test]
fn beam_toggle_of_williams() {
    let (span, rise) = (12.943, 0.386);
    let section = rectangle(1.03e7, 0.243, 0.753);
    let mut model = BeamModel::new();
    let left = model.joint(Joint::clamped([-span, 0.0])).unwrap();
    let right = model.joint(Joint::clamped([span, 0.0])).unwrap();
    let mut top = Joint::free([0.0, rise]);
    top.motion[1] = Coordinate::Driven(-0.6);
    let apex = model.joint(top).unwrap();
    for (foot, x) in [(left, -span), (right, span)] {
        model.straight([foot, apex], [[x, 0.0], [0.0, rise]], section, 24).unwrap();
    }
    let steps = solved(&model, 12);
    for row in rows(&exact()["toggle"]) {
        let w = number(row, "w");
        let step = steps.iter().find(|s| (0.6 * s.fraction - w).abs() < 1e-9).unwrap();
        let load = -step.reactions[apex.index()][1];
        compare::relative(
            &format!("beam, toggle, w = {w} in: P (lb)"),
            number(row, "P"),
            load,
            1e-4,
        );
        let thrust = number(row, "thrust");
        compare::relative("beam, toggle: thrust (lb)", thrust, step.reactions[0][0], 1e-4);
    }
    assert!(steps.iter().all(BeamStep::is_stable), "the drive keeps it stable");
}

/// The largest value of y and its x, by the parabola through three points.
fn summit(p: [[f64; 2]; 3]) -> [f64; 2] {
    let [[x0, y0], [x1, y1], [x2, y2]] = p;
    let (a, b) = ((y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1));
    let bend = (b - a) / (x2 - x0);
    let x = 0.5 * (x0 + x1) - 0.5 * a / bend;
    [x, y0 + a * (x - x0) + bend * (x - x0) * (x - x1)]
}

/// The parabola through three points, at x.
fn parabola(p: [[f64; 2]; 3], x: f64) -> f64 {
    let weight = |i: usize| {
        let others = (0..3).filter(|&j| j != i);
        others.map(|j| (x - p[j][0]) / (p[i][0] - p[j][0])).product::<f64>()
    };
    (0..3).map(|i| weight(i) * p[i][1]).sum()
}

#[test]
fn beam_frame_of_lee_has_both_its_limit_loads() {
    let lee = &exact()["lee"];
    let of = |key: &str| number(lee, key);
    let section = rectangle(of("E"), of("depth"), of("breadth"));
    let (side, at) = (of("side"), of("load_at"));
    let mut model = BeamModel::new();
    let foot = model.joint(Joint::hinged([0.0, 0.0])).unwrap();
    let corner = model.joint(Joint::free([0.0, side])).unwrap();
    let mut load = Joint::free([at, side]);
    load.force = [0.0, -1000.0];
    let load = model.joint(load).unwrap();
    let end = model.joint(Joint::hinged([side, side])).unwrap();
    let places = [[0.0, 0.0], [0.0, side], [at, side], [side, side]];
    let joints = [foot, corner, load, end];
    for (n, elements) in [24, 8, 24].into_iter().enumerate() {
        let ends = [places[n], places[n + 1]];
        model.straight([joints[n], joints[n + 1]], ends, section, elements).unwrap();
    }
    let options = ArcOptions { first: 0.5, longest: 1.0, halvings: 12, steps: 2000 };
    let steps = follow_arc(&model, &options, &mut |step| {
        // Beyond the second limit load the frame hangs below its hinges.
        if step.joints[load.index()][1] < -66.0 {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    })
    .unwrap();
    let kilo = |s: &BeamStep| 1000.0 * s.fraction;
    let place = |s: &BeamStep| s.joints[load.index()];
    assert!(place(steps.last().unwrap())[1] < -66.0, "the path goes on beyond both");
    let turns: Vec<usize> = (1..steps.len() - 1)
        .filter(|&n| {
            let [a, b, c] = [n - 1, n, n + 1].map(|n| kilo(&steps[n]));
            (b - a) * (c - b) < 0.0
        })
        .collect();
    let [first, second] = turns[..] else { panic!("two limit points: {turns:?}") };
    let cases = [
        (first, "first", ["limit_load", "aside", "sunk"]),
        (second, "second", ["second_load", "second_aside", "second_sunk"]),
    ];
    for (n, which, [load_key, aside_key, sunk_key]) in cases {
        let near = [n - 1, n, n + 1].map(|n| place(&steps[n]));
        let loads = [n - 1, n, n + 1].map(|n| kilo(&steps[n]));
        let over = |y: [f64; 3]| [0, 1, 2].map(|k| [near[k][0], y[k]]);
        let [aside, most] = summit(over(loads));
        let sunk = parabola(over(near.map(|p| -p[1])), aside);
        let name = |what: &str| format!("beam, Lee's frame, {which} limit: {what}");
        compare::relative(&name("load (N)"), of(load_key), most, 1e-4);
        // At a summit the place is less sharp than the load.
        compare::relative(&name("aside (cm)"), of(aside_key), aside, 1e-3);
        compare::relative(&name("sunk (cm)"), of(sunk_key), sunk, 1e-3);
    }
    assert!(steps[..first - 1].iter().all(BeamStep::is_stable), "stable before the first");
    let between = &steps[first + 2..second - 2];
    assert!(between.iter().all(|s| s.negative_pivots >= 1), "unstable under its load between them");
}

#[test]
fn beam_arch_and_bistable_beam_follow_their_curves() {
    let arch = &exact()["arch"];
    let [half, rise] = ["half_span", "rise"].map(|k| number(arch, k));
    let radius = (half * half + rise * rise) / (2.0 * rise);
    let open = (half / radius).asin();
    let circle = |t: f64| {
        let a = open * (t - 1.0);
        [radius * a.sin(), radius * a.cos() - radius + rise]
    };
    let p = half_driven(&circle, -half, 10.0, 40);
    for row in rows(&arch["curve"]) {
        let (w, force) = (number(row, "w"), number(row, "P"));
        let step = p.iter().find(|s| (10.0 * s.fraction - w).abs() < 1e-9).unwrap();
        let got = -step.reactions[1][1];
        // Of the largest force on the first rise: it passes through small values.
        compare::absolute(&format!("beam, arch, w = {w} mm: P (N)"), force, got, 1e-4 * 0.045);
    }
    let cosine = &exact()["bistable"];
    let [span, height] = ["span", "height"].map(|k| number(cosine, k));
    let wave = |t: f64| {
        let x = 0.5 * span * (t - 1.0);
        [x, 0.5 * height * (1.0 + (2.0 * PI * x / span).cos())]
    };
    let p = half_driven(&wave, -0.5 * span, 5.5, 44);
    for row in rows(&cosine["curve"]) {
        let (w, force) = (number(row, "w"), number(row, "P"));
        let step = p.iter().find(|s| (5.5 * s.fraction - w).abs() < 1e-9).unwrap();
        let got = -step.reactions[1][1];
        compare::absolute(&format!("beam, bistable, w = {w} mm: P (N)"), force, got, 1e-4 * 0.069);
    }
}

/// Half of a symmetric curved beam (E = 1000, h = t = 1), its apex pushed down without turning.
fn half_driven(axis: &dyn Fn(f64) -> [f64; 2], foot: f64, full: f64, steps: u32) -> Vec<BeamStep> {
    let mut model = BeamModel::new();
    let a = model.joint(Joint::clamped([foot, 0.0])).unwrap();
    let b = model.joint(Joint::driven(axis(1.0), [0.0, -full, 0.0])).unwrap();
    model.member([a, b], axis, |_| Ok(rectangle(1000.0, 1.0, 1.0)), 32).unwrap();
    solved(&model, steps)
}

#[test]
fn beam_columns_lose_their_stability_at_eulers_loads() {
    let euler = &exact()["euler"];
    let (length, section) = (1000.0, rectangle(1.2e7, 1.0, 1.0));
    /// What its head is kept from, beyond its foot.
    type Kept = fn(&mut Joint);
    let cases: [(&str, Joint, Kept); 4] = [
        ("fixed_free", Joint::clamped([0.0; 2]), |_| ()),
        ("pinned_pinned", Joint::hinged([0.0; 2]), |j| j.motion[1] = Coordinate::Driven(0.0)),
        ("fixed_fixed", Joint::clamped([0.0; 2]), |j| {
            j.motion[1] = Coordinate::Driven(0.0);
            j.motion[2] = Coordinate::Driven(0.0);
        }),
        ("fixed_guided", Joint::clamped([0.0; 2]), |j| j.motion[2] = Coordinate::Driven(0.0)),
    ];
    for (name, foot, hold) in cases {
        let critical = number(euler, name) * 1e6 / (length * length);
        // The number of negative pivots changes between 0.9999 and 1.0001 of the load; P/EA is 1e-6.
        for (part, negative) in [(0.9999, 0), (1.0001, 1)] {
            let mut head = Joint::free([length, 0.0]);
            head.force = [-critical * part, 0.0];
            hold(&mut head);
            let mut model = BeamModel::new();
            let a = model.joint(foot.clone()).unwrap();
            let b = model.joint(head).unwrap();
            model.straight([a, b], [[0.0; 2], [length, 0.0]], section, 16).unwrap();
            let step = solved(&model, 1).pop().unwrap();
            assert_eq!(step.negative_pivots, negative, "{name} at {part} of its load");
        }
    }
}

#[test]
fn beam_carriage_stiffness_is_that_of_its_ribs() {
    // Two ribs along x from a carriage at x = 40, at y = 7 and y = -5: at rest, by hand, the ribs'
    // 12 EI/(L^3 (1 + phi)) across, EA/L along, their end moments and arms for the turn.
    let (length, section) = (40.0, rectangle(2000.0, 1.0, 1.0));
    let (ei, ea, kga) = (section.bending(), section.axial(), section.shear());
    let phi = 12.0 * ei / (kga * length * length);
    let across = 12.0 * ei / (length.powi(3) * (1.0 + phi));
    let own = (4.0 + phi) / (1.0 + phi) * ei / length;
    // The carriage's place is 3 mm beyond the ribs' ends.
    let arm = -3.0;
    let coupled = 6.0 * ei / (length * length * (1.0 + phi));
    let turn = |y: f64| ea / length * y * y + across * arm * arm - 2.0 * coupled * arm + own;
    let expected = [
        [2.0 * ea / length, 0.0, -ea / length * (7.0 - 5.0)],
        [0.0, 2.0 * across, 2.0 * (across * arm - coupled)],
        [0.0, 0.0, turn(7.0) + turn(-5.0)],
    ];
    for free in [false, true] {
        let mut model = BeamModel::new();
        let mut carriage = Joint::driven([length + 3.0, 0.0], [0.0, 1e-6, 0.0]);
        if free {
            carriage.motion = [Coordinate::Free, Coordinate::Driven(1e-6), Coordinate::Free];
        }
        let frame = model.joint(Joint::clamped([-2.0, 3.0])).unwrap();
        let carriage = model.joint(carriage).unwrap();
        for y in [7.0, -5.0] {
            let ends = [[length, y], [0.0, y]];
            model.straight([carriage, frame], ends, section, 16).unwrap();
        }
        let options =
            BeamOptions { steps: 1, stiffness: Stiffness::Wanted, ..BeamOptions::default() };
        let steps = follow_beams(&model, &options, &mut |_| ControlFlow::Continue(())).unwrap();
        let found = steps[0].stiffness[carriage.index()];
        for i in 0..3 {
            for j in i..3 {
                let scale = (expected[i][i] * expected[j][j]).sqrt();
                // A draw of 1e-6 mm is no more than 1e-6 off rest.
                let off = (found[i][j] - expected[i][j]).abs();
                assert!(off < 1e-5 * scale, "{i}{j}: {} {}", found[i][j], expected[i][j]);
                assert!((found[i][j] - found[j][i]).abs() < 1e-10 * scale, "symmetric {i}{j}");
            }
        }
    }
}

#[test]
fn beam_carriage_stiffness_is_the_slope_of_its_reactions_when_drawn() {
    // Two ribs on arms of some millimetres, drawn 4 mm and turned: the arms turn with the carriage.
    let state = |to: [f64; 3]| {
        let mut model = BeamModel::new();
        let frame = model.joint(Joint::clamped([1.0, -3.0])).unwrap();
        let carriage = model.joint(Joint::driven([30.0, 2.0], to)).unwrap();
        let section = rectangle(2000.0, 1.0, 5.0);
        model.straight([frame, carriage], [[0.0, 0.0], [26.0, 7.0]], section, 12).unwrap();
        model.straight([carriage, frame], [[27.0, -4.0], [0.0, -9.0]], section, 12).unwrap();
        let options =
            BeamOptions { steps: 4, stiffness: Stiffness::Wanted, ..BeamOptions::default() };
        let steps = follow_beams(&model, &options, &mut |_| ControlFlow::Continue(()));
        let step = steps.unwrap().pop().unwrap();
        (step.reactions[1], step.stiffness[1])
    };
    let base = [-1.0, 4.0, 0.2];
    let (_, stiffness) = state(base);
    let h = 1e-4;
    for k in 0..3 {
        let moved = |by: f64| {
            let mut to = base;
            to[k] += by;
            state(to).0
        };
        let (up, down) = (moved(h), moved(-h));
        for i in 0..3 {
            let slope = (up[i] - down[i]) / (2.0 * h);
            let scale = (stiffness[i][i] * stiffness[k][k]).abs().sqrt();
            // Differences over 1e-4 mm or rad: h^2, and Newton's residual of 1e-9 over h.
            let off = (slope - stiffness[i][k]).abs() / scale;
            assert!(off < 2e-5, "{i}{k}: {slope} {} ({off:e})", stiffness[i][k]);
        }
    }
}
