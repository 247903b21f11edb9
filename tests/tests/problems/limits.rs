//! How far a part may be drawn: limits that are known exactly, and the same limits from few and many
//! reported states.
//!
//! A limit is located to 1e-4 of the draw, which is the tolerance wherever the exact place is known or
//! only the number of reported states differs. Guidance of a straight leaf that is pushed along its axis, its
//! end kept in line, is lost at the buckling load of the leaf whose end is free. The end is a rigid block with
//! its middle c beyond the leaf, which makes Euler's column one with kL tan kL = L/c, k^2 = P/EI (S. Timoshenko
//! and J. M. Gere, Theory of Elastic Stability, ch. 2, from memory; derived from M = P (c t + v_end - v)); the
//! draw is P L/EA = (kL)^2 h^2/(12 L). Shear, Engesser's 1 - 2.4 P/EA, and the law take some P/EA = 5e-4
//! off: 0.5 %.

use super::truss::{standing, under_dead_force};
use std::f64::consts::PI;
use std::ops::ControlFlow;
use withy::analysis::{Analysis, LimitKind};
use withy_mesh::number::max;
use withy_solver::{
    Between, Coordinate, Equations, Model, PathOptions, Step, Stiffness, follow_path,
};
use withy_tests::compare;
use withy_tests::part::{analysed, limit};
use withy_tests::reference::{exact, number};
use withy_tests::solve::{plane_stress, rigid};
use withy_tests::strip::Strip;

/// The two-bar truss resists until its apex is level with its feet, and pulls from there on: P = 0 at
/// w = h, closed form. Three reported states, straight lines between which would say 24.5 instead of 25.
#[test]
fn the_truss_no_longer_pulls_back_when_it_is_flat() {
    let truss = &exact()["truss"];
    let (span, rise) = (number(truss, "half_span"), number(truss, "rise"));
    let length = span.hypot(rise);
    let strip = Strip::layered(length, 35.0, 6, 2);
    let down = [-rise / length, -span / length];
    let full = 45.0;
    let to = [full * down[0], full * down[1]].map(Coordinate::Driven);
    let hinge = [Coordinate::Driven(0.0), Coordinate::Driven(0.0), Coordinate::Free];
    let model = Model::new(&strip.mesh, plane_stress(100.0, 0.0), 1.0)
        .unwrap()
        .rigid_region(rigid("apex", strip.tip(), [to[0], to[1], Coordinate::Free]))
        .unwrap()
        .rigid_region(rigid("foot", strip.root(), hinge))
        .unwrap();
    let options = PathOptions { steps: 3, ..PathOptions::default() };
    let path = follow_path(&model, &options, &mut |_| ControlFlow::Continue(())).unwrap();
    let mut force = |step: &Step| {
        let r = step.reactions[0].force;
        r[0] * down[0] + r[1] * down[1]
    };
    let (a, b) = (&path.steps[0], &path.steps[1]);
    let ends = [(a.fraction, force(a)), (b.fraction, force(b))];
    assert!(ends[0].1 > 0.0 && ends[1].1 < 0.0, "between the first two states: {ends:?}");
    let mut between = Between::new(&model, &path, Equations::default());
    let found =
        between.last_before_zero(ends[0], ends[1], 1e-6, Stiffness::Skipped, &mut force).unwrap();
    compare::relative("truss flat at w (mm)", rise, full * found.fraction, 1e-6 * full / rise);
    // Any state in between obeys the closed form, too.
    let step = between.at(0.4, Stiffness::Skipped).unwrap();
    let w = 0.4 * full;
    let law = 35.0 * 100.0 / length.powi(3) * w * (w - rise) * (w - 2.0 * rise);
    compare::relative("truss at w = 18 mm: P (N)", law, 2.0 * force(&step), 1e-6);
}

/// Under a dead force the truss snaps at its limit load. What happens only beyond the snap is reached at the
/// snap; the states beside it are on their own sides of it.
#[test]
fn nothing_is_interpolated_across_a_snap() {
    let truss = &exact()["truss"];
    let (span, rise) = (number(truss, "half_span"), number(truss, "rise"));
    let full = 1.3 * number(truss, "P_limit");
    let mesh = standing();
    let model = under_dead_force(&mesh, full);
    let options = PathOptions { steps: 10, ..PathOptions::default() };
    let path = follow_path(&model, &options, &mut |_| ControlFlow::Continue(())).unwrap();
    let snap = path.steps.iter().flat_map(|s| s.snaps.iter().copied()).next().unwrap();
    let behind = path.steps.iter().find(|s| s.fraction > snap).unwrap();
    let before = path.steps.iter().rfind(|s| s.fraction < snap).unwrap();
    let sunk = |s: &Step| -s.rigid[0][1];
    let mut level = |s: &Step| rise - sunk(s);
    let ends = [(before.fraction, level(before)), (behind.fraction, level(behind))];
    let mut between = Between::new(&model, &path, Equations::default());
    let last =
        between.last_before_zero(ends[0], ends[1], 1e-4, Stiffness::Skipped, &mut level).unwrap();
    compare::absolute("truss, flat at the snap (of the draw)", snap, last.fraction, 1e-4);
    for fraction in [0.5 * (before.fraction + snap), 0.5 * (snap + behind.fraction)] {
        let step = between.at(fraction, Stiffness::Skipped).unwrap();
        let w = sunk(&step);
        assert_eq!(w > rise, fraction > snap, "on its own side: {w} mm at {fraction}");
        let law =
            number(truss, "EA") / span.hypot(rise).powi(3) * w * (w - rise) * (w - 2.0 * rise);
        let what = format!("truss under {fraction:.3} of its force: P (N)");
        compare::relative(&what, fraction * full, law, 1e-6);
    }
}

/// Draw (mm) at which a pushed leaf of 60 mm with a rigid end of 10 mm is no longer held in line, by its depth.
fn draw_of_lost_guidance(depth: f64) -> f64 {
    let (mut low, mut high) = (0.1, 0.5 * PI);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        // L/c = 60 / 5.
        if middle * middle.tan() < 12.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low * low * depth * depth / (12.0 * 60.0)
}

#[test]
fn guidance_that_goes_before_the_first_state_is_lost_at_eulers_load() {
    // 60 x 3 mm between its held and its driven end, pushed by 0.2 mm in two steps.
    let leaf = analysed(
        r#"<rect x="10" y="20" width="80" height="3"/>"#,
        "thickness = 4\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\npoissons_ratio = 0\n\
         [regions]\nroot = { box = [10, 76, 20, 82] }\nend = { box = [80, 76, 90, 82] }\n\
         [[hold]]\nregion = \"root\"\n[[drive]]\nregion = \"end\"\nmove = [-0.2, 0]\n\
         [solve]\nsteps = 2\naccuracy = \"20 %\"\n",
    );
    let lost = limit(&leaf, LimitKind::Guidance).unwrap();
    let expected = draw_of_lost_guidance(3.0);
    compare::relative("leaf pushed: guidance lost at (mm)", expected, lost.travel.unwrap(), 5e-3);
    assert!(lost.confirmed && lost.fraction < 0.25, "solved before the first state: {lost:?}");
    assert!(leaf.solution.guidance[0][0].unwrap().smallest < 0.0, "gone at the first state");
    assert!(limit(&leaf, LimitKind::Stability).is_none(), "the drive itself keeps it stable");
}

/// Two such leaves from one root: the one that is named second is thinner, and loses its guidance first.
#[test]
fn each_of_two_driven_regions_tells_where_its_own_guidance_is_lost() {
    let leaves = analysed(
        r#"<path d="M 10 20 H 90 V 23 H 20 V 40 H 90 V 42 H 10 Z"/>"#,
        "thickness = 4\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\npoissons_ratio = 0\n\
         [regions]\nroot = { box = [10, 57, 20, 81] }\nthick = { box = [80, 76, 90, 81] }\n\
         thin = { box = [80, 57, 90, 61] }\n\
         [[hold]]\nregion = \"root\"\n[[drive]]\nregion = \"thick\"\nmove = [-0.2, 0]\n\
         [[drive]]\nregion = \"thin\"\nmove = [-0.2, 0]\n\
         [guidance]\nat = [90, 59]\n[solve]\nsteps = 4\naccuracy = \"20 %\"\n",
    );
    let solution = &leaves.solution;
    let lost: Vec<_> = solution.limits.iter().filter(|l| l.kind == LimitKind::Guidance).collect();
    let [first, second] = lost[..] else { panic!("{lost:?}") };
    for (limit, name, depth) in [(first, "thin", 2.0), (second, "thick", 3.0)] {
        assert_eq!(limit.region.as_deref(), Some(name));
        let what = format!("two leaves pushed: guidance of the {name} one lost at (mm)");
        let travel = limit.travel.unwrap();
        compare::relative(&what, draw_of_lost_guidance(depth), travel, 5e-3);
    }
    // Axially each leaf is a bar; where it turns about does not matter to that.
    for (states, depth) in solution.guidance.iter().zip([3.0, 2.0]) {
        let guidance = states[0].unwrap();
        compare::relative(
            &format!("leaf of {depth} mm pushed: axial at a point / at the centroid"),
            guidance.axial,
            guidance.elsewhere.unwrap().axial,
            1e-9,
        );
    }
}

/// A roof that is pushed through beside a leaf that is only bent, named first: where the roof no longer pulls back is
/// told, and it is where it would be told of the roof alone.
#[test]
fn a_region_that_is_driven_second_tells_where_it_no_longer_pulls_back() {
    let part = |leaf: &str| {
        analysed(
            r#"<path d="M 10 40 H 45 V 41 H 20 V 56 L 50 52 L 80 56 V 50 H 90 V 62 H 80 V 57 L 50 53
               L 20 57 V 62 H 10 Z"/>"#,
            &format!(
                "thickness = 4\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\n\
                 [regions]\nleft = {{ box = [9, 37, 20, 61] }}\nright = {{ box = [80, 37, 91, 51] }}\n\
                 tip = {{ box = [42, 58, 46, 61] }}\ncrown = {{ box = [49, 46, 51, 49] }}\n\
                 [[hold]]\nregion = \"left\"\n[[hold]]\nregion = \"right\"\n{leaf}\
                 [[drive]]\nregion = \"crown\"\nmove = [0, -7]\n\
                 [solve]\nsteps = 14\naccuracy = \"50 %\"\n"
            ),
        )
    };
    let alone = part("");
    let both = part("[[drive]]\nregion = \"tip\"\nmove = [0, 2]\n");
    let [alone, both] = [&alone, &both].map(|a| limit(a, LimitKind::NoReturn).unwrap());
    assert_eq!([&alone.region, &both.region].map(|r| r.as_deref()), [Some("crown"); 2]);
    let what = "roof beside a leaf: no longer pulls back at (of the draw)";
    // Each is located to 1e-4 of the draw; meshes differ.
    compare::absolute(what, alone.fraction, both.fraction, 1e-3);
}

/// A leaf that may not shorten, drawn across: it stiffens strongly, so that straight lines between few
/// states are far off.
fn stiffening(steps: u32) -> Analysis {
    analysed(
        r#"<rect x="10" y="20" width="80" height="2"/>"#,
        &format!(
            "thickness = 4\nstate = \"plane stress\"\n\
             [material]\ncard = \"pla\"\nyield_strength = 60\nultimate_strength = 75\n\
             [regions]\nroot = {{ box = [10, 77, 20, 82] }}\nend = {{ box = [80, 77, 90, 82] }}\n\
             [[hold]]\nregion = \"root\"\n[[drive]]\nregion = \"end\"\nmove = [0, 12]\n\
             [hand]\nforce = \"60 N\"\n\
             [solve]\nsteps = {steps}\naccuracy = \"20 %\"\n"
        ),
    )
}

#[test]
fn limits_do_not_depend_on_how_many_states_are_reported() {
    let (few, many) = (stiffening(2), stiffening(24));
    for kind in [LimitKind::Yield, LimitKind::Break, LimitKind::Hand] {
        let (a, b) = (limit(&few, kind).unwrap(), limit(&many, kind).unwrap());
        assert!(a.confirmed && b.confirmed, "{kind:?}: solved there");
        let what = format!("{} from 2 and from 24 states: fraction", kind.code());
        compare::absolute(&what, b.fraction, a.fraction, 1.5e-4);
        let reached = a.quantity.unwrap();
        let what = format!("{} there ({})", kind.code(), reached.unit);
        // At most a ten-thousandth of the draw before its limit, steep as it is.
        compare::relative(&what, reached.limit, reached.value, 1e-3);
        assert!(reached.value <= reached.limit, "the last state before it");
        // Not what a straight line would say.
        let line = few.solution.path.steps[0].fraction;
        assert!((a.fraction - line).abs() > 1e-2, "not a reported state: {a:?}");
    }
    let hand = limit(&few, LimitKind::Hand).unwrap();
    let force = |step: &Step| step.reactions[0].force[1];
    let [first, second] = &few.solution.path.steps[..] else { panic!("two states") };
    let straight = if force(first) > 60.0 {
        0.5 * 60.0 / force(first)
    } else {
        0.5 + 0.5 * (60.0 - force(first)) / (force(second) - force(first))
    };
    assert!((straight - hand.fraction).abs() > 0.05, "{straight} against {}", hand.fraction);
    let order: Vec<f64> = few.solution.limits.iter().map(|l| l.fraction).collect();
    assert!(order.windows(2).all(|w| w[0] <= w[1]), "the first one first: {order:?}");
}

/// Two leaves from one back, 1.2 mm apart; both ends are moved 0.78 mm towards each other without
/// turning: they meet when both have moved 0.6 mm.
#[test]
fn a_part_that_runs_into_itself_says_where_and_at_which_draw() {
    let outline =
        r#"<path d="M 20 20 H 70 V 24 H 30 A 0.6 0.6 0 0 0 30 25.2 H 70 V 29.2 H 20 Z"/>"#;
    let fork = |draw: f64| {
        analysed(
            outline,
            &format!(
                "thickness = 4\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\n\
                 yield_strength = 1000\nultimate_strength = 1000\n\
                 [regions]\nback = {{ box = [20, 70, 25, 80] }}\n\
                 upper = {{ box = [64, 76, 70, 80] }}\nlower = {{ box = [64, 70.8, 70, 74.8] }}\n\
                 [[hold]]\nregion = \"back\"\n\
                 [[drive]]\nregion = \"upper\"\nmove = [0, -{draw}]\n\
                 [[drive]]\nregion = \"lower\"\nmove = [0, {draw}]\n\
                 [solve]\nsteps = 4\naccuracy = \"20 %\"\ncontact = false\n"
            ),
        )
    };
    let closed = fork(0.78);
    let touch = limit(&closed, LimitKind::Touch).unwrap();
    compare::absolute("fork closes at (of the draw)", 0.6 / 0.78, touch.fraction, 1e-4);
    assert!(touch.confirmed && touch.fraction <= 0.6 / 0.78, "the last state before it: {touch:?}");
    let left = touch.quantity.unwrap().value;
    compare::absolute("gap in that state (mm)", 0.0, left, 1.6e-4);
    let widths: Vec<Option<f64>> = closed.solution.narrowest.iter().map(|n| n.width()).collect();
    compare::absolute("gap at half of the draw (mm)", 0.42, widths[1].unwrap(), 1e-9);
    assert_eq!(widths[0], None, "two thirds of the gap at rest, not less");
    compare::absolute("gap at full draw (mm)", 0.0, widths[3].unwrap(), 0.0);
    let remark = closed.solution.remarks.iter().find(|r| r.code == "touches").unwrap();
    assert_eq!(remark.level.word(), "error");

    let open = fork(0.56);
    assert!(limit(&open, LimitKind::Touch).is_none(), "0.08 mm are left");
    let last = open.solution.narrowest.last().unwrap().gap.unwrap();
    compare::absolute("gap of the fork that stays open (mm)", 0.08, last.width, 1e-9);
    compare::absolute("its gap at rest (mm)", 1.2, last.at_rest, 1e-9);
    assert!(max(last.rest[0][0], last.rest[1][0]) > 63.9, "between the ends: {last:?}");
    assert!(open.solution.remarks.iter().any(|r| r.code == "nearly-touches"), "a caution");
}
