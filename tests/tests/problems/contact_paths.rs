//! Contact on paths that are driven by forces, that jump, that are let go, and that touch between two states.
//!
//! * A leaf that a force bends onto a pin: cantilevers of small deflection, the propped one by superposition
//!   (S. Timoshenko, Strength of Materials).

use std::ops::ControlFlow;
use withy::analysis::LimitKind;
use withy_mesh::number::{max, min};
use withy_solver::{
    Coordinate, Model, Obstacle, RigidRegion, Shape, Stage, StageOptions, Step, Support,
    follow_stages,
};
use withy_tests::compare::{absolute, relative};
use withy_tests::grid::grid;
use withy_tests::pick;
use withy_tests::solve::{along, path, plane_stress};

const THICKNESS: f64 = 5.0;

/// Tip deflection under a force P: P L^3 / 3 E I until the middle has gone the gap, w = 3.2 gap; behind it the leaf is
/// propped there and P grows by 96/7 E I / L^3 of the way.
#[test]
fn a_force_bends_a_leaf_onto_a_pin_and_on() {
    let (length, depth, e, gap, radius) = (60.0, 1.0, 2000.0, 0.2, 1.0);
    let mesh = grid(60, 2, |s, t| [length * s, depth * (t - 0.5)]);
    let bending = e * THICKNESS * depth.powi(3) / 12.0 / f64::powi(length, 3);
    let first = 3.2 * gap;
    let full = bending * (3.0 * first + 96.0 / 7.0 * (1.6 - first));
    let tip = RigidRegion {
        name: "tip".into(),
        nodes: vec![pick::nearest(&mesh, length, 0.0)],
        motion: [Coordinate::Free, Coordinate::Free, Coordinate::Driven(0.0)],
        force: [0.0, -full],
        moment: 0.0,
    };
    let model = Model::new(&mesh, plane_stress(e, 0.0), THICKNESS)
        .unwrap()
        .support(along("root", pick::on_x(&mesh, 0.0), [Some(0.0), Some(0.0)]))
        .unwrap()
        .rigid_region(tip)
        .unwrap()
        .obstacle(Obstacle {
            name: "pin".into(),
            shape: Shape::Pin { at: [0.5 * length, -0.5 * depth - gap - radius], radius },
            nodes: None,
        })
        .unwrap();
    for step in path(&model, 12) {
        let force = full * step.fraction;
        let beyond = (force - 3.0 * bending * first) / (96.0 / 7.0 * bending);
        let expected = if beyond < 0.0 { force / (3.0 * bending) } else { first + beyond };
        let what = format!("leaf under a force onto a pin, {force:.3} N");
        relative(&format!("{what}: way"), expected, -step.rigid[0][1], 6e-3);
        let pushed: f64 = step.pushing.touches.iter().map(|t| t.force[1]).sum();
        let at_pin = if beyond < 0.0 { 0.0 } else { 2.5 * 96.0 / 7.0 * bending * beyond };
        absolute(&format!("{what}: pin"), at_pin, pushed, 1e-2 * full);
    }
}

/// An arch that a force snaps through onto a rail: behind the snap the rail bears what the arch, driven to the same
/// place without a rail, does not.
#[test]
fn an_arch_that_a_force_snaps_through_lands_on_a_rail() {
    let (span, rise, depth, e) = (60.0, 2.0, 1.0, 2000.0);
    let mesh = grid(60, 2, |s, t| {
        let y = 0.5 * rise * (1.0 - (std::f64::consts::TAU * s).cos());
        [span * s, y + depth * (t - 0.5)]
    });
    let crown = pick::nodes(&mesh, |p| (p.x - 0.5 * span).abs() < 1e-9);
    let crown = |motion, force| RigidRegion {
        name: "crown".into(),
        nodes: crown.clone(),
        motion,
        force,
        moment: 0.0,
    };
    let base = || {
        let ends = pick::nodes(&mesh, |p| p.x < 1e-9 || p.x > span - 1e-9);
        Model::new(&mesh, plane_stress(e, 0.0), THICKNESS)
            .unwrap()
            .support(Support::hold("ends", ends))
            .unwrap()
    };
    let (way, load) = (3.4, 10.0);
    let driven = base()
        .rigid_region(crown(
            [Coordinate::Driven(0.0), Coordinate::Driven(-way), Coordinate::Driven(0.0)],
            [0.0; 2],
        ))
        .unwrap();
    let free = path(&driven, 28);
    let alone = free.last().unwrap().reactions[0].force[1];
    let fold = free.iter().map(|s| -s.reactions[0].force[1]).fold(0.0, max) / load;
    let rail = rise - 0.5 * depth - way;
    for steps in [4, 10] {
        let model = base()
            .rigid_region(crown(
                [Coordinate::Driven(0.0), Coordinate::Free, Coordinate::Driven(0.0)],
                [0.0, -load],
            ))
            .unwrap()
            .obstacle(Obstacle {
                name: "rail".into(),
                shape: Shape::Rail { from: [10.0, rail], to: [50.0, rail] },
                nodes: None,
            })
            .unwrap();
        let path = path(&model, steps);
        let snaps: Vec<f64> = path.iter().flat_map(|s| s.snaps.clone()).collect();
        let [snap] = snaps[..] else { panic!("{snaps:?}") };
        // The largest of 28 forces of the driven arch is at most a parabola's sagitta below its fold.
        absolute(
            &format!("arch onto a rail, {steps} steps: snaps at (of the load)"),
            fold,
            snap,
            1e-3,
        );
        for step in path.iter().filter(|s| s.fraction > snap) {
            let what = format!("arch onto a rail, {:.2} of the load", step.fraction);
            // Overlaps of some tenths of a micrometre, under a slope of 2 N/mm of the arch.
            absolute(&format!("{what}: way (mm)"), -way, step.rigid[0][1], 5e-4);
            let pushed: f64 = step.pushing.touches.iter().map(|t| t.force[1]).sum();
            relative(&format!("{what}: rail (N)"), load * step.fraction + alone, pushed, 1e-3);
        }
        let begun: Vec<_> = path.iter().flat_map(|s| &s.begun).collect();
        let [begun] = begun[..] else { panic!("{begun:?}") };
        assert!(
            begun.before <= snap && begun.before <= begun.fraction,
            "while it snaps: {begun:?}"
        );
    }
}

/// The states of a whole draw as a stage.
fn stage(model: &Model, steps: u32) -> Vec<Step> {
    let options = StageOptions { steps, halvings: 10, by_decade: 10 };
    let path =
        follow_stages(model, None, &[Stage::To(1.0)], &options, &mut |_| ControlFlow::Continue(()));
    path.unwrap().states.into_iter().map(|s| s.step).collect()
}

/// A leaf in whose way a pin stands: a nose below its tip goes along past it, pushes it aside, and is behind it at the
/// next reported state. What is reported there is where it first pushes: where the circle of the pin's radius about
/// its centre meets the nose's flank.
#[test]
fn a_nose_that_passes_a_pin_between_two_states_has_pushed_it() {
    let (length, depth, e, radius, draw) = (60.0, 1.0, 2000.0, 1.0, 12.0);
    // A sine bump of 1 mm below the leaf, 4 mm wide, about x = 50.
    let bump = |x: f64| {
        if (x - 50.0).abs() < 4.0 {
            0.3 * (1.0 + (std::f64::consts::PI * (x - 50.0) / 4.0).cos())
        } else {
            0.0
        }
    };
    let mesh = grid(120, 2, |s, t| {
        let x = length * s;
        [x, depth * (t - 0.5) - bump(x) * (1.0 - t)]
    });
    let pin = [55.6, -0.5 * depth - 1.4];
    let model = Model::new(&mesh, plane_stress(e, 0.0), THICKNESS)
        .unwrap()
        .support(along("root", pick::on_x(&mesh, 0.0), [Some(draw), Some(0.0)]))
        .unwrap()
        .obstacle(Obstacle {
            name: "pin".into(),
            shape: Shape::Pin { at: pin, radius },
            nodes: None,
        })
        .unwrap();
    // Until it touches the leaf goes along undeformed: the way at which the bump is a radius from the pin's centre.
    let away = |way: f64| {
        let x = |k: u32| 46.0 + 0.001 * f64::from(k);
        let far = |x: f64| (x + way - pin[0]).hypot(-0.5 * depth - bump(x) - pin[1]);
        (0..8000).map(|k| far(x(k))).fold(f64::INFINITY, min)
    };
    let (mut free, mut touching) = (0.0, 5.6);
    for _ in 0..40 {
        let middle = 0.5 * (free + touching);
        if away(middle) > radius { free = middle } else { touching = middle }
    }
    let first = touching / draw;
    for (steps, staged) in [(4, false), (16, false), (1, true), (4, true), (16, true)] {
        let path = if staged { stage(&model, steps) } else { path(&model, steps) };
        let begun: Vec<_> = path.iter().flat_map(|s| &s.begun).collect();
        let [begun] = begun[..] else { panic!("{begun:?}") };
        assert_eq!(begun.obstacle.as_deref(), Some("pin"), "{begun:?}");
        assert!(begun.before < first && first < begun.fraction, "{first} {begun:?}");
        // Steps of a sixteenth look no closer; a longer one is taken if it ends where the part pushes.
        let longest = if steps == 1 { 1.0 / 8.0 } else { 1.0 / 16.0 };
        assert!(begun.fraction - begun.before <= longest + 1e-9, "{begun:?}");
        let last = path.last().unwrap();
        assert!(last.pushing.touches.is_empty() && last.strain_energy < 1e-9, "it is past it");
    }
}

/// A carriage on a leaf goes along x, with an arm in its front whose round nose (radius 5) passes a pin (radius 1)
/// between two of three states: it first pushes where both circles meet, at a distance of their radii.
#[test]
fn a_pin_that_is_passed_between_two_states_is_reported_where_it_is_first_pushed() {
    let shapes = r#"<path d="M 10 34 H 20 V 36 H 60 V 37 H 57 A 5 5 0 0 1 51 37 H 20 V 40 H 13.5 V 80 H 16 V 86
        H 10 V 80 H 12.5 V 40 H 10 Z"/>"#;
    // The nose's centre lies at (54, 67), y up; the pin 4.5 mm before it and 5.88 mm below.
    let part = "thickness = 5\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\n\
        [regions]\nbase = { box = [9, 13, 17, 20] }\ncarriage = { box = [9, 60, 20, 66] }\n\
        [[hold]]\nregion = \"base\"\n[[drive]]\nregion = \"carriage\"\nmove = [6, 0]\n\
        [[pin]]\nname = \"post\"\nat = [58.5, 61.12]\nradius = 1\n\
        [solve]\nsteps = 2\naccuracy = \"40 %\"\n";
    let analysis = withy_tests::part::analysed(shapes, part);
    let steps = &analysis.solution.path.steps;
    assert!(steps.iter().all(|s| s.pushing.touches.is_empty()), "neither state touches");
    let [meeting] = &analysis.solution.meetings[..] else {
        panic!("{:?}", analysis.solution.meetings)
    };
    assert_eq!(meeting.obstacle.as_deref(), Some("post"));
    let expected = 4.5 - (36.0f64 - 5.88 * 5.88).sqrt();
    // Located to 1e-4 of the draw; the arc is followed by parabolas to some micrometres of 5 mm.
    absolute("nose passing a post: first push (mm)", expected, meeting.travel.unwrap(), 5e-3);
}

/// The same nose passes a round head of the part's own, of the pin's radius and in its place, between two of three
/// states: where their edges do not push, the draw ends where they meet.
#[test]
fn a_head_of_its_own_that_is_passed_between_two_states_is_a_touch() {
    let shapes = r#"<path d="M 10 34 H 20 V 36 H 60 V 37 H 57 A 5 5 0 0 1 51 37 H 20 V 40 H 13.5 V 80 H 16 V 84
        H 57.5 V 38.88 A 1 1 0 0 1 59.5 38.88 V 86 H 10 V 80 H 12.5 V 40 H 10 Z"/>"#;
    let part = "thickness = 5\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\n\
        [regions]\nbase = { box = [9, 13, 60, 20] }\ncarriage = { box = [9, 60, 20, 66] }\n\
        [[hold]]\nregion = \"base\"\n[[drive]]\nregion = \"carriage\"\nmove = [6, 0]\n\
        [solve]\nsteps = 2\naccuracy = \"40 %\"\ncontact = false\n";
    let analysis = withy_tests::part::analysed(shapes, part);
    let apart = |n: &withy_solver::Narrowest| n.crossing.is_none();
    assert!(analysis.solution.narrowest.iter().all(apart), "neither state touches");
    let touch = withy_tests::part::limit(&analysis, LimitKind::Touch).unwrap();
    let expected = 4.5 - (36.0f64 - 5.88 * 5.88).sqrt();
    // As in the test of the pin.
    absolute("nose passing a head: touch (mm)", expected, touch.travel.unwrap(), 5e-3);
}

/// A roof that a force snaps through carries a feeler whose nose goes past a pin while no load step continues the
/// path: the part pushes the pin in no state that is solved at a load, only on the arc between two of them. It does
/// so where the roof snaps: at the fold of the same roof without a pin.
#[test]
fn a_pin_that_is_passed_while_a_roof_snaps_is_reported_where_it_snaps() {
    let (force, at) = (12.0, [51.8, 54.6]);
    let drawn = withy_tests::part::analysed(
        r#"<path d="M 10 50 H 20 V 56 L 49.6 53.63 V 40 H 50.4 V 42 A 1 1 0 0 1 50.4 44 V 53.63 L 80 56 V 50
           H 90 V 62 H 80 V 57 L 50 54.6 L 20 57 V 62 H 10 Z"/>"#,
        "thickness = 4\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\n\
         [regions]\nleft = { box = [9, 37, 20, 51] }\nright = { box = [80, 37, 91, 51] }\n\
         crown = { box = [49, 45, 51, 48] }\n[[hold]]\nregion = \"left\"\n[[hold]]\nregion = \"right\"\n\
         [[drive]]\nregion = \"crown\"\nmove = [0, -0.01]\n[solve]\nsteps = 1\naccuracy = \"50 %\"\n",
    );
    let nodes = |name: &str| {
        let region = drawn.mesh.regions().iter().find(|r| r.name == name);
        region.unwrap().nodes.clone()
    };
    let roof = |pin: Option<Obstacle>| {
        let crown = RigidRegion {
            name: "crown".into(),
            nodes: nodes("crown"),
            motion: [Coordinate::Driven(0.0), Coordinate::Free, Coordinate::Driven(0.0)],
            force: [0.0, -force],
            moment: 0.0,
        };
        let model = Model::new(&drawn.mesh, plane_stress(2000.0, 0.35), THICKNESS).unwrap();
        let model = model.support(Support::hold("left", nodes("left"))).unwrap();
        let model = model.support(Support::hold("right", nodes("right"))).unwrap();
        let model = model.rigid_region(crown).unwrap();
        path(&pin.into_iter().fold(model, |m, pin| m.obstacle(pin).unwrap()), 4)
    };
    let post = Obstacle { name: "post".into(), shape: Shape::Pin { at, radius: 0.5 }, nodes: None };
    let (alone, beside) = (roof(None), roof(Some(post)));
    let snaps = |path: &[Step]| path.iter().flat_map(|s| s.snaps.clone()).collect::<Vec<_>>();
    let ([snap], [passing]) = (&snaps(&alone)[..], &snaps(&beside)[..]) else {
        panic!("{:?} {:?}", snaps(&alone), snaps(&beside))
    };
    absolute("roof with a feeler: snaps at (of the load)", *snap, *passing, 1e-3);
    assert!(beside.iter().all(|s| s.pushing.touches.is_empty()), "no state touches");
    let begun: Vec<_> = beside.iter().flat_map(|s| &s.begun).collect();
    let [begun] = begun[..] else { panic!("{begun:?}") };
    assert_eq!(begun.obstacle.as_deref(), Some("post"));
    absolute("roof with a feeler: pushes a post at (of the load)", *snap, begun.fraction, 1e-3);
}

/// A blade rests on a pin under its middle when it is let go from full draw: what it throws has the energy of a leaf
/// that is propped from w = 3.2 gap on, less that of its own mass, 33/140 of it at a tip that is free when it
/// throws (Lord Rayleigh, The Theory of Sound, from memory).
#[test]
fn a_leaf_on_a_pin_throws_with_what_both_ways_of_bending_store() {
    let (length, gap, draw, mass) = (70.0, 0.3, 3.0, 20.0);
    let (depth, thickness, e, density) = (2.0f64, 5.0, 2000.0, 1.2e-3);
    let shapes = r#"<rect x="10" y="60" width="80" height="2"/>"#;
    let part = |pin: &str| {
        format!(
            "thickness = 5\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\nyoungs_modulus = \"2 GPa\"\n\
            poissons_ratio = 0\ndensity = 1.2\n[regions]\nback = {{ box = [9, 37, 20, 41] }}\n\
            tip = {{ box = [89.9, 37, 91, 41] }}\n[[hold]]\nregion = \"back\"\n\
            [[drive]]\nregion = \"tip\"\nmove = [0, -3]\nfree = [\"x\", \"turn\"]\n{pin}\
            [launch]\nmass = 20\nregion = \"tip\"\nlosses = 0\n[solve]\nsteps = 20\naccuracy = \"40 %\"\n"
        )
    };
    // Midway between root and tip, below the underside at y = 38.
    let pin = "[[pin]]\nname = \"post\"\nat = [55, 36.7]\nradius = 1\n";
    let bending = e * thickness * depth.powi(3) / 12.0 / f64::powi(length, 3);
    let (first, own) = (3.2 * gap, 33.0 / 140.0 * density * thickness * depth * length);
    let beyond = draw - first;
    let propped = 1.5 * first * first + 3.0 * first * beyond + 48.0 / 7.0 * beyond * beyond;
    for (pin, stored, remarked) in [("", 1.5 * draw * draw, false), (pin, propped, true)] {
        let analysis = withy_tests::part::analysed(shapes, &part(pin));
        let launched = analysis.solution.launched.as_ref().unwrap();
        let what = if remarked { "leaf on a pin" } else { "the same leaf alone" };
        let speed = (2.0 * bending * stored / (mass + own)).sqrt();
        // Beam against plane stress and small against true deflections: 0.5 % of the force as on the same leaf
        // elsewhere in this file, and the pin is round.
        relative(&format!("{what}: speed (m/s)"), speed, launched.release.speed, 6e-3);
        absolute(&format!("{what}: leaves at (mm)"), 0.0, launched.release.launched_at, 1e-3);
        let said = analysis.solution.remarks.iter().any(|r| r.code == "launch-contact");
        assert_eq!(said, remarked, "{what}");
    }
}
