//! Euler columns: the dead force at which the tangent loses its positive definiteness.
//!
//! P = c EI/L^2 (L. Euler; the five standard end conditions, c from `reference/make.py`). The straight
//! compressed strip is an exact equilibrium at any load, so the solver stays on it and the sign of its
//! pivots tells. Shear and shortening: Engesser's P/(1 + P/(k GA)) with k = 5/6, G = E/2 takes
//! 2.4 P/EA off, and the law's softer tangent and shorter column are of the size P/EA too. With L/h = 60
//! P/EA is 0.1 % at most (fixed ends: pi^2/(3 60^2)): after Engesser's allowance 0.3 % is left open, and
//! the next wrong end condition is a factor of two away.

use withy_solver::{Coordinate, Model, RigidRegion, Support};
use withy_tests::compare;
use withy_tests::reference::{exact, number};
use withy_tests::solve::{at_full, plane_stress};
use withy_tests::strip::Strip;

const E: f64 = 1000.0;
const HELD: Coordinate = Coordinate::Driven(0.0);
const FREE: Coordinate = Coordinate::Free;

/// Negative pivots of the straight column under a dead force.
fn negative_pivots(strip: &Strip, root_turns: bool, tip: [Coordinate; 3], force: f64) -> usize {
    let model = Model::new(&strip.mesh, plane_stress(E, 0.0), 1.0).unwrap();
    let region = |name: &str, nodes, motion, force| RigidRegion {
        name: name.into(),
        nodes,
        motion,
        force,
        moment: 0.0,
    };
    let model = if root_turns {
        model.rigid_region(region("root", strip.root(), [HELD, HELD, FREE], [0.0; 2])).unwrap()
    } else {
        model.support(Support::hold("root", strip.root())).unwrap()
    };
    let model = model.rigid_region(region("tip", strip.tip(), tip, [-force, 0.0])).unwrap();
    let step = at_full(&model);
    let tip = step.rigid.last().unwrap();
    assert!(tip[0] < 0.0, "compressed: {tip:?}");
    step.negative_pivots
}

#[test]
fn columns_lose_stability_at_eulers_loads() {
    let strip = Strip::new(60.0, 1.0, 30);
    let unit = E * strip.inertia() / (strip.length * strip.length);
    let cases = [
        ("fixed_free", false, [FREE, FREE, FREE]),
        ("pinned_pinned", true, [FREE, HELD, FREE]),
        ("fixed_pinned", false, [FREE, HELD, FREE]),
        ("fixed_fixed", false, [FREE, HELD, HELD]),
        ("fixed_guided", false, [FREE, FREE, HELD]),
    ];
    for (name, root_turns, tip) in cases {
        let euler = number(&exact()["euler"], name);
        let pivots = |c: f64| negative_pivots(&strip, root_turns, tip, c * unit);
        let (mut low, mut high) = (0.9 * euler, 1.1 * euler);
        assert_eq!((pivots(low), pivots(high)), (0, 1), "{name}: one mode crosses in between");
        // Twelve halvings: 5e-5 of the load.
        for _ in 0..12 {
            let middle = 0.5 * (low + high);
            if pivots(middle) == 0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        let shear_stiffness = 5.0 / 6.0 * 0.5 * E * strip.depth;
        let expected = euler / (1.0 + euler * unit / shear_stiffness);
        let what = format!("column, {}: P L2/EI", name.replace('_', "-"));
        compare::relative(&what, expected, 0.5 * (low + high), 3e-3);
    }
}
