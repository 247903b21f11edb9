//! A part let go in time: natural frequencies, energy and momentum, speeds by all modes.
//!
//! Frequencies of a cantilever, omega = (beta / L)^2 sqrt(EI / rho A), beta = 1.875 104, 4.694 091, 7.854 757 (S.
//! Timoshenko, Vibration Problems in Engineering; each is a root of cos x cosh x = -1). Speeds: `reference/make.py`.

use std::ops::ControlFlow;
use withy_mesh::NodeId;
use withy_solver::transient::{Instant, Pace, Throw, frequencies, let_go};
use withy_solver::{Coordinate, Model, Support};
use withy_tests::compare;
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
    let throw = Throw { nodes, direction: [0.0, 1.0], mass, stop, stiffness };
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
