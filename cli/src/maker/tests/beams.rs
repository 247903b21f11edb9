//! Beams against plane stress on the same numbers.

use super::super::rib_spring::{Carriage, Clamp, Frame, GRIP, Pull, RibSpring};
use super::{kicker, made};

/// A case of a rib spring, coarse enough for a test.
fn case(spring: &RibSpring, steps: u32) -> crate::case::Case {
    let made = made(spring);
    let mut case = crate::case::Case::made(crate::case::Made {
        title: "a spring".into(),
        outline: made.outline,
        thickness: 6.0,
        material: crate::material::card("petg").unwrap().0,
        hold: made.holds[0].clone(),
        drive: made.drives[0].clone(),
        steps,
        accuracy: 0.1,
    });
    case.holds = made.holds;
    case
}

#[test]
fn beams_pull_as_the_plane_part_does() {
    let plain = |ribs, banks, degrees: f64| RibSpring {
        ribs,
        banks,
        angle: degrees.to_radians(),
        latch: None,
        pull: Some(Pull { width: 14.0, height: 12.0, hole: 6.0, at: None }),
        clamp: Clamp { length: 10.0, at: None },
        carriage: Carriage {
            tail: if banks == 1 { 19.0 } else { 8.0 },
            head: None,
            ..kicker().carriage
        },
        frame: Frame { back: 26.0, ..kicker().frame },
        ..kicker()
    };
    let springs = [
        ("kicker", kicker()),
        (
            "kicker, stiff cross and rails",
            RibSpring { frame: Frame { rail: 8.0, cross: 8.0, ..kicker().frame }, ..kicker() },
        ),
        ("square ribs", RibSpring { draw: 8.0, ..plain(3, 2, 90.0) }),
        ("bowed and tapered", RibSpring { bow: 2.0, middle: 1.2, ..plain(3, 2, 92.0) }),
        ("one bank without a cross rail", {
            let spring = plain(4, 1, 95.0);
            RibSpring { frame: Frame { cross: 0.0, ..spring.frame.clone() }, ..spring }
        }),
        ("leading ribs", RibSpring { draw: 5.0, fillet: 1.0, ..plain(2, 2, 84.0) }),
    ];
    for (name, spring) in springs {
        let case = case(&spring, 8);
        let analysis =
            crate::analysis::analyse(&case, &mut |_| std::ops::ControlFlow::Continue(())).unwrap();
        let law = withy_solver::Elastic::new(
            case.material.youngs_modulus.value,
            case.material.poissons_ratio.value,
            withy_solver::PlaneState::PlaneStress,
        )
        .unwrap();
        let beams = crate::maker::beams(&spring, &law, 6.0).unwrap();
        let states = beams.draw(8);
        assert_eq!(states.len(), 8, "{name}: to full draw");
        // Two ribs of the single bank stand on the clamp, which holds half of the rail behind them; beams
        // are held across all of it.
        let slack = if name.starts_with("one bank") { 0.1 } else { 0.05 };
        for (step, state) in analysis.solution.path.steps.iter().zip(&states) {
            let force = -step.reactions.iter().find(|r| r.region == GRIP).unwrap().force[1];
            let off = [state.force / force - 1.0, state.energy / step.strain_energy - 1.0];
            assert!(
                off.iter().all(|off| off.abs() < slack),
                "{name}, {} mm: {force} N, beams {} N; off by {off:?}",
                state.draw,
                state.force
            );
            assert!(state.stable == step.is_stable(), "{name}, {} mm: stability", state.draw);
        }
    }
}
