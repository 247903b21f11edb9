//! A part let go in time: natural frequencies, energy and momentum, speeds by all modes.
//!
//! Frequencies of a cantilever, omega = (beta / L)^2 sqrt(EI / rho A), beta = 1.875 104, 4.694 091, 7.854 757 (S.
//! Timoshenko, Vibration Problems in Engineering; each is a root of cos x cosh x = -1). Speeds: `reference/make.py`.

use std::ops::ControlFlow;
use withy_mesh::NodeId;
use withy_mesh::number::{largest, min};
use withy_solver::transient::{Instant, Pace, Throw, frequencies, let_go};
use withy_solver::{Coordinate, Model, Support};
use withy_tests::compare;
use withy_tests::grid::grid;
use withy_tests::pick::on_x;
use withy_tests::reference::{exact, number, rows};
use withy_tests::solve::{path, plane_stress, rigid};
use withy_tests::strip::Strip;

/// g/mm3.
const DENSITY: f64 = 1.25e-3;

fn held(strip: &Strip) -> Model<'_> {
    Model::new(&strip.mesh, plane_stress(2000.0, 0.0), 1.0)
        .unwrap()
        .support(Support::hold("root", strip.root()))
        .unwrap()
}

#[test]
fn a_cantilever_has_the_frequencies_of_the_handbook() {
    let strip = Strip::new(100.0, 1.0, 60);
    let still = vec![[0.0; 2]; strip.mesh.nodes().len()];
    let found = frequencies(&held(&strip), &still, DENSITY, 3).unwrap();
    let unit = (2000.0 * strip.inertia() / DENSITY).sqrt() / 1e4;
    for (k, beta) in [1.875_104_f64, 4.694_091, 7.854_757].into_iter().enumerate() {
        // Shear and the turning of sections lower them by about (beta h / L)^2 (1 + 3) / 24: 0.1 % of the third.
        let what = format!("frequency {} of a cantilever (rad/ms)", k + 1);
        compare::relative(&what, beta * beta * unit, found[k], 1.5e-3);
    }
}

/// A cantilever drawn far and let go, pushing a mass with its tip.
fn thrown(
    strip: &Strip,
    draw: f64,
    mass: f64,
    pace: &Pace,
    stop: Option<f64>,
    stiffness: f64,
) -> Vec<Instant> {
    use Coordinate::{Driven, Free};
    let motion = [Free, Driven(-draw), Free];
    let drawn = held(strip).rigid_region(rigid("tip", strip.tip(), motion)).unwrap();
    let steps = path(&drawn, 4);
    let state = &steps[steps.len() - 1].displacements;
    let nodes: Vec<NodeId> = strip.tip();
    let throw = Throw { nodes, direction: [0.0, 1.0], mass, stop, stiffness, friction: 0.0 };
    let mut seen = Vec::new();
    let_go(&held(strip), state, DENSITY, &throw, pace, &mut |now, _| {
        seen.push(*now);
        ControlFlow::Continue(())
    })
    .unwrap();
    seen
}

#[test]
fn energy_and_momentum_are_kept_at_large_deflections() {
    let strip = Strip::new(60.0, 1.0, 30);
    // 30 of 60 mm of draw, steps of a fiftieth of the way, the mass let go on the way.
    for (damping, stop) in [(0.0, None), (0.05, None), (0.0, Some(-10.0))] {
        let pace = Pace { step: 0.1, end: 12.0, damping };
        let seen = thrown(&strip, 30.0, 0.1, &pace, stop, 20.0);
        let name = format!("tau {damping} ms, stop {stop:?}");
        let all = seen[0].total();
        let off = seen
            .iter()
            .map(|i| (i.total() / all - 1.0).abs())
            .fold(0.0_f64, |a, b| if b.is_nan() || b > a { b } else { a });
        // Newton's residual, 1e-11 of the forces, over 120 steps.
        compare::absolute(&format!("{name}: energy kept"), 0.0, off, 1e-8);
        // What the supports give is what part and projectile gain.
        for i in 0..2 {
            let given: f64 = seen[1..].iter().map(|s| -s.frame_force[i] * pace.step).sum();
            let gained = seen[seen.len() - 1].momentum[i];
            let what = format!("{name}: momentum {} by impulse (mN s)", ["x", "y"][i]);
            let of_stop = if stop.is_some() && i == 1 { f64::NAN } else { gained };
            if of_stop.is_finite() {
                compare::absolute(&what, given, gained, 1e-7);
            }
        }
        assert!(seen.iter().all(|s| s.push >= 0.0), "{name}: it is never pulled");
        let lost = seen[seen.len() - 1].lost;
        assert!((lost > 0.0) == (damping > 0.0), "{name}: {lost} mJ lost");
    }
}

#[test]
fn speeds_are_those_of_all_modes_in_time() {
    let strip = Strip::new(60.0, 1.0, 40);
    let beam = DENSITY * 60.0;
    for row in rows(&exact()["thrown"]).iter().filter(|r| number(r, "guided") < 0.5) {
        let ratio = number(row, "ratio");
        // Up to a little beyond the first moment at which the mass is let go: a quarter period of both.
        let k = 3.0 * 2000.0 * strip.inertia() / 60f64.powi(3);
        let quarter = 1.571 * ((ratio + 33.0 / 140.0) * beam / k).sqrt();
        let pace = Pace { step: quarter / 800.0, end: 1.25 * quarter, damping: 0.0 };
        // A touch that gives way by a hundredth of the draw under the drawn force.
        let seen = thrown(&strip, 0.06, ratio * beam, &pace, None, 100.0 * k);
        let share =
            seen[seen.len() - 1].projectile_speed / (2.0 * seen[0].strain_energy / beam).sqrt();
        let what = format!("cantilever with {ratio} of its mass: v / sqrt(2 E / m)");
        // The reference holds the mass to the tip until it would be pulled; here it is pushed by a spring that gives way
        // by 1 %, and may be let go for a moment and caught again.
        compare::relative(&what, number(row, "speed"), share, 1.5e-2);
    }
}

/// A block on a bar that is pulled and let go, rubbing: a mass on a spring with Coulomb's friction f (J. P. Den Hartog,
/// Mechanical Vibrations, section 8.2, from memory). Each swing is shorter by 2 f / k, and where the spring pulls with less
/// than f it stays. The block is 80 times as heavy as what counts of the bar, which stretches by 0.1 %.
#[test]
fn a_mass_on_a_spring_with_friction_swings_less_by_2_f_over_k_and_sticks() {
    use Coordinate::{Driven, Free};
    let (bar, block) = (60.0, 40.0);
    let mesh = grid(40, 2, |s, t| {
        // 30 cells of bar, one that widens, nine of block.
        let cell = 40.0 * s;
        let x = if cell <= 30.0 { cell / 30.0 * bar } else { bar + (cell - 30.0) / 10.0 * block };
        let wide = ((cell - 30.0).clamp(0.0, 1.0)) * (block - 1.0) + 1.0;
        [x, (t - 0.5) * wide]
    });
    let held = || {
        Model::new(&mesh, plane_stress(2000.0, 0.0), 1.0)
            .unwrap()
            .support(Support::hold("root", on_x(&mesh, 0.0)))
            .unwrap()
    };
    let end = on_x(&mesh, bar + block);
    let draw = 0.06;
    let motion = [Driven(draw), Free, Free];
    let drawn = held().rigid_region(rigid("end", end.clone(), motion)).unwrap();
    let state = path(&drawn, 1).pop().unwrap();
    let stiffness = state.reactions[0].force[0] / draw;
    let friction = 0.15 * stiffness * draw;
    let mass = DENSITY * (block * block + bar / 3.0);
    let period = std::f64::consts::TAU * (mass / stiffness).sqrt();
    let throw = Throw {
        nodes: end,
        direction: [-1.0, 0.0],
        mass: 1e-5 * mass,
        stop: None,
        stiffness: 0.1 * stiffness,
        friction,
    };
    let pace = Pace { step: period / 400.0, end: 3.2 * period, damping: 0.0 };
    let mut seen: Vec<Instant> = Vec::new();
    let_go(&held(), &state.displacements, DENSITY, &throw, &pace, &mut |now, _| {
        seen.push(*now);
        ControlFlow::Continue(())
    })
    .unwrap();
    // Along the throw it begins at -1 by the draw; turns there.
    // Turns are looked for a quarter of a period about where they are due.
    let half = 200;
    for (n, exact) in [(1, 0.70), (2, -0.40), (3, 0.10)] {
        let about = &seen[n * half - 100..=(n * half + 100).min(seen.len() - 1)];
        let outward = |i: &&Instant| i.place.abs();
        let turn = about.iter().max_by(|a, b| outward(a).total_cmp(&outward(b))).unwrap();
        let place = turn.place / draw;
        let what = format!("block that rubs, after {n} half periods: place by the draw");
        // The bar's own ringing, 1/80 of the mass, and the block's give.
        compare::absolute(&what, exact, place, 1e-2);
    }
    // There the spring pulls with less than f: it stays, but for what the block's own ringing moves it on.
    let end: Vec<f64> = seen[4 * half..].iter().map(|i| i.place / draw).collect();
    let [low, high] = [end.iter().copied().fold(1.0, min), largest(-1.0, end.iter().copied())];
    compare::between(
        "block that rubs: where it sticks, by the draw",
        0.08,
        0.11,
        end[end.len() - 1],
    );
    assert!(high - low < 0.015, "it sticks: {low} to {high}");
    let last = seen[seen.len() - 1];
    let path: f64 = seen.windows(2).map(|w| (w[1].place - w[0].place).abs()).sum();
    compare::relative("friction times path (mJ)", friction * path, last.rubbed, 1e-9);
    compare::relative("friction's share of the energy", 0.99, last.rubbed / seen[0].total(), 5e-3);
    let all = seen[0].total();
    let off = largest(0.0, seen.iter().map(|i| (i.total() / all - 1.0).abs()));
    compare::absolute("block that rubs: energy kept", 0.0, off, 1e-8);
    let given: f64 = seen[1..].iter().map(|s| -s.frame_force[0] * pace.step).sum();
    compare::absolute("block that rubs: momentum by impulse (mN s)", given, last.momentum[0], 1e-7);
}
