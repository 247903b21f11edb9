//! Makers on random numbers: a part that is as it was asked for, or a refusal whose mend mends.

use super::error::Side;
use super::rib_axis::Taper;
use super::rib_spring::{Carriage, Clamp, Frame, GRIP, Head, Latch, LatchSide, Pull, RibSpring};
use super::{CClip, Leaf, Limits, Made, Unmakeable, c_clip, leaf, rib_spring};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use std::cell::Cell;
use withy_mesh::number::min;
use withy_mesh::{Curve, Outline, Point, Sizing, gaps, mesh_outline, walls};

/// Random parts tried.
const CASES: u32 = 300;

/// The demo's kicker.
pub(super) fn kicker() -> RibSpring {
    RibSpring {
        ribs: 3,
        banks: 2,
        pitch: 6.0,
        bank_spacing: 26.0,
        length: 41.105,
        angle: 96.98_f64.to_radians(),
        width: 1.6,
        middle: 1.6,
        taper: Taper::Curved,
        bow: 0.0,
        fillet: 1.6,
        frame: Frame {
            rail: 4.8,
            front: 7.5,
            back: 10.0,
            cross: 6.0,
            corner: 3.0,
            inner_corner: 2.0,
        },
        carriage: Carriage {
            width: 8.8,
            nose: 9.0,
            tail: 8.0,
            corner: 1.5,
            head: Some(Head { width: 18.0, height: 4.5, cup_radius: 9.0, cup_width: 12.0 }),
        },
        latch: Some(Latch { side: LatchSide::Right, depth: 2.0, length: 2.5, behind: 2.2 }),
        pull: Some(Pull { width: 22.0, height: 17.0, hole: 12.0, at: Some(25.5) }),
        clamp: Clamp { length: 10.0, at: Some(20.5) },
        draw: 6.0,
    }
}

fn made(spring: &RibSpring) -> Made {
    rib_spring(spring, &Limits::default()).unwrap()
}

/// The widths of all walls whose middle is on a rib, between the given shares of its length.
fn widths_of_ribs(spring: &RibSpring, outline: &Outline, shares: [f64; 2]) -> Vec<(f64, f64)> {
    let axis = outline.bounds().center().x;
    let layout = spring.layout().unwrap();
    let mut found = Vec::new();
    for wall in walls(outline) {
        let from_axis = (wall.middle.x - axis).abs();
        let share = (layout.a - from_axis) / (layout.a - layout.c);
        if share > shares[0] && share < shares[1] && wall.width < 1.5 * spring.width {
            found.push((share, wall.width));
        }
    }
    found
}

/// How far a border is from being its own mirror image (mm).
fn asymmetry(outline: &Outline) -> f64 {
    let axis = outline.bounds().center().x;
    let points = outline.loops().iter().flat_map(|l| &l.curves);
    let off = points.flat_map(|c| [0.0, 0.3, 0.7].map(|t| c.at(t)));
    let off = off.map(|p| outline.distance(Point::new(2.0 * axis - p.x, p.y)));
    withy_mesh::number::largest(0.0, off)
}

#[test]
fn the_kicker_has_the_size_the_area_and_the_openings_of_the_drawn_one() {
    let made = made(&kicker());
    let drawn = crate::drawing::read(std::path::Path::new(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../demo-data/kicker/kicker.svg"
    )))
    .unwrap();
    let part = drawn.loops(|names| names.iter().any(|n| n == "part")).unwrap();
    let drawn = Outline::new(part, Vec::new()).unwrap();
    assert_eq!(made.outline.loops().len(), drawn.loops().len(), "openings");
    // The drawing's coordinates are rounded to 1e-4 mm and its notch has been placed by eye.
    let off = made.outline.area() / drawn.area() - 1.0;
    assert!(off.abs() < 1e-3, "{} {}", made.outline.area(), drawn.area());
    for (a, b) in [(made.page[0], 110.0), (made.page[1], 90.0)] {
        assert!((a - b).abs() < 1e-2, "the page: {a} {b}");
    }
    // Every point of the border of the one is on that of the other, but for the notch.
    let points = made.outline.loops().iter().flat_map(|l| &l.curves).map(Curve::start);
    let far = points.filter(|p| drawn.distance(*p) > 0.02).count();
    assert!(far <= 8, "{far} corners are elsewhere");
}

#[test]
fn ribs_are_as_wide_as_they_should_be_and_their_fillets_are_exact_arcs() {
    for (bow, middle, taper) in [
        (0.0, 1.6, Taper::Curved),
        (3.0, 1.6, Taper::Curved),
        (-2.0, 1.6, Taper::Straight),
        (0.0, 1.2, Taper::Curved),
        (2.0, 1.2, Taper::Curved),
        (0.0, 2.0, Taper::Straight),
    ] {
        let mut spring = RibSpring { bow, middle, taper, angle: 1.5, latch: None, ..kicker() };
        spring.frame.back = 20.0;
        spring.bank_spacing = 30.0;
        spring.pull = spring.pull.map(|pull| Pull { at: None, ..pull });
        let made = made(&spring);
        let measured = widths_of_ribs(&spring, &made.outline, [0.1, 0.9]);
        assert!(measured.len() > 100, "{bow} {middle}: {}", measured.len());
        for (share, width) in measured {
            let from_middle = (2.0 * share - 1.0).abs();
            let law = if taper == Taper::Straight { from_middle } else { from_middle.powi(2) };
            let asked = middle + (1.6 - middle) * law;
            // The ball that measures stops within a thousandth; a share along x is one along the rib to
            // a hundredth, which a taper turns into width.
            let slack = 2e-3 * asked + 0.05 * (1.6 - middle).abs();
            assert!(
                (width - asked).abs() < slack,
                "{bow} {middle}: {width} for {asked} at {share}"
            );
        }
        let fillets = made.outline.loops().iter().flat_map(|l| &l.curves).filter(
            |c| matches!(c, Curve::Arc(arc) if (arc.radius - 1.6).abs() < 1e-12 && arc.sweep < 0.0),
        );
        // Four for each of 12 ribs, and two each side of the pull.
        assert_eq!(fillets.count(), 4 * 12 + 4, "{bow} {middle}");
        assert!(asymmetry(&made.outline) < 1e-6, "{}", asymmetry(&made.outline));
    }
}

#[test]
fn what_cannot_be_made_is_refused_with_a_number_that_can() {
    let narrow = |change: fn(&mut RibSpring), key: &str, limits: Limits| {
        let mut spring = kicker();
        change(&mut spring);
        let error = rib_spring(&spring, &limits).unwrap_err();
        assert_eq!(error.key(), Some(key), "{error}");
        (spring, error)
    };
    let usual = Limits::default();
    let would_do = |error: &Unmakeable| match error {
        Unmakeable::Narrow { would_do, side: Side::AtLeast, .. } => would_do + 1e-3,
        Unmakeable::Narrow { would_do, side: Side::AtMost, .. } => would_do - 1e-3,
        Unmakeable::Radius { largest: Some(largest), .. } => largest - 1e-3,
        other => panic!("{other} tells no number"),
    };
    type Case = (fn(&mut RibSpring), &'static str, fn(&mut RibSpring, f64));
    let cases: [Case; 9] = [
        (
            |s| s.pitch = 1.5,
            "pitch",
            |s, v| {
                s.pitch = v;
                s.fillet = 0.05;
            },
        ),
        (
            |s| {
                s.fillet = 2.5;
                s.latch = None;
            },
            "fillet",
            |s, v| s.fillet = v,
        ),
        (|s| s.frame.front = 1.0, "frame.front", |s, v| s.frame.front = v),
        (|s| s.frame.back = 6.0, "frame.back", |s, v| s.frame.back = v),
        (|s| s.carriage.tail = 5.0, "carriage.tail", |s, v| s.carriage.tail = v),
        (
            |s| s.pull = Some(Pull { width: 22.0, height: 17.0, hole: 16.5, at: Some(25.5) }),
            "pull.hole",
            |s, v| s.pull = Some(Pull { width: 22.0, height: 17.0, hole: v, at: Some(25.5) }),
        ),
        (
            |s| s.pull = Some(Pull { width: 22.0, height: 17.0, hole: 6.0, at: Some(20.0) }),
            "pull.at",
            |s, v| {
                s.pull = Some(Pull { width: 22.0, height: 17.0, hole: 6.0, at: Some(v) });
                s.fillet = 0.1;
            },
        ),
        (
            |s| {
                s.latch =
                    Some(Latch { side: LatchSide::Both, depth: 5.0, length: 2.5, behind: 2.2 })
            },
            "latch.depth",
            |s, v| {
                s.latch = Some(Latch { side: LatchSide::Both, depth: v, length: 6.0, behind: 2.2 })
            },
        ),
        (
            |s| s.clamp = Clamp { length: 10.0, at: Some(-4.0) },
            "clamp.at",
            |s, v| s.clamp = Clamp { length: 10.0, at: Some(v) },
        ),
    ];
    for (spoil, key, mend) in cases {
        let (mut spring, error) = narrow(spoil, key, usual);
        mend(&mut spring, would_do(&error));
        let again = rib_spring(&spring, &usual);
        let mended = match &again {
            Ok(_) => true,
            // Another number may be next.
            Err(next) => next.key() != Some(key),
        };
        assert!(mended, "{error}; {}: {:?}", error.mend(), again.err());
    }
    let printer = Limits { gap: 0.3, wall: 1.7 };
    let (_, error) = narrow(|_| (), "width", printer);
    assert!(error.mend().contains("1.70 mm"), "{}", error.mend());
    let (_, error) = narrow(|s| s.angle = 3.0, "angle", usual);
    assert!(error.to_string().contains("deg"), "{error}");
    let (_, error) = narrow(|s| s.length = f64::NAN, "length", usual);
    assert!(error.to_string().contains("length is NaN"), "{error}");
}

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
        let beams = super::beams(&spring, &law, 6.0).unwrap();
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

fn any_spring() -> impl Strategy<Value = RibSpring> {
    let ribs = (1u32..5, 1u32..4, 3.0..8.0, 8.0..30.0, 8.0..60.0, 50.0..130.0f64);
    let rib = (0.4..2.5, 0.6..1.5, prop::bool::ANY, -0.08..0.08, 0.2..2.0);
    let frame = (1.0..7.0, 3.0..10.0, 3.0..25.0, prop::option::of(2.0..7.0), 0.0..4.0);
    let carriage = (2.0..14.0, 3.0..14.0, 4.0..30.0, 0.0..3.0);
    let extra = (
        prop::option::of((0.8..2.5, 1.0..5.0, prop::bool::ANY)),
        prop::option::of((0.3..2.5, 1.5..4.0, 1.0..4.0)),
        prop::option::of((3.0..30.0, 3.0..20.0, 0.0..1.0, prop::option::of(0.0..40.0))),
        (3.0..12.0, prop::option::of(0.0..40.0)),
        1.0..10.0,
    );
    (ribs, rib, frame, carriage, extra).prop_map(|(ribs, rib, frame, carriage, extra)| {
        let (count, banks, pitch, bank_spacing, length, degrees) = ribs;
        let (width, middle, curved, bow, fillet) = rib;
        let (head, latch, pull, clamp, draw) = extra;
        RibSpring {
            ribs: count,
            banks,
            pitch,
            bank_spacing,
            length,
            angle: degrees.to_radians(),
            width,
            middle: middle * width,
            taper: if curved { Taper::Curved } else { Taper::Straight },
            bow: bow * length,
            fillet,
            frame: Frame {
                rail: frame.0,
                front: frame.1,
                back: frame.2,
                cross: frame.3.unwrap_or(0.0),
                corner: frame.4,
                inner_corner: 0.5 * frame.4,
            },
            carriage: Carriage {
                width: carriage.0,
                nose: carriage.1,
                tail: carriage.2,
                corner: 0.3 * carriage.3,
                head: head.map(|(across, height, cup)| Head {
                    width: across * carriage.0,
                    height,
                    cup_radius: if cup { across * carriage.0 } else { 0.0 },
                    cup_width: if cup { 0.5 * across * carriage.0 } else { 0.0 },
                }),
            },
            latch: latch.map(|(depth, length, behind)| Latch {
                side: LatchSide::Both,
                depth,
                length,
                behind,
            }),
            pull: pull.map(|(width, height, hole, at)| Pull {
                width,
                height,
                hole: hole * height,
                at,
            }),
            clamp: Clamp { length: clamp.0, at: clamp.1 },
            draw,
        }
    })
}

/// So many cases; the same ones every time.
fn runner(cases: u32) -> TestRunner {
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let seed = TestRng::from_seed(RngAlgorithm::ChaCha, &[11; 32]);
    TestRunner::new_with_rng(config, seed)
}

/// Whether a part is its own mirror image.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Mirror {
    Yes,
    No,
}

/// What must hold of a part of any numbers; whether there is one.
pub(super) fn sound(
    outcome: Result<Made, Unmakeable>,
    limits: &Limits,
    mirror: Mirror,
) -> Result<bool, TestCaseError> {
    let outline = match outcome {
        Ok(made) => made.outline,
        Err(error) => {
            let said = format!("{error}; {}", error.mend());
            prop_assert!(!said.contains("NaN") && !said.contains("inf"), "{}", said);
            prop_assert!(error.key().is_some(), "no number is to blame: {}", said);
            return Ok(false);
        }
    };
    if mirror == Mirror::Yes {
        prop_assert!(asymmetry(&outline) < 1e-6, "asymmetry {}", asymmetry(&outline));
    }
    let mesh = mesh_outline(&outline, &Sizing::default());
    let mesh = mesh.map_err(|e| TestCaseError::fail(e.to_string()))?;
    prop_assert!(mesh.regions().iter().all(|r| !r.nodes.is_empty()), "a region holds nothing");
    for (what, widths, least) in
        [("gap", gaps(&outline), limits.gap), ("wall", walls(&outline), limits.wall)]
    {
        let least_found = widths.iter().map(|w| w.width).fold(f64::INFINITY, min);
        // The ball that measures stops within a thousandth.
        prop_assert!(least_found > least * (1.0 - 2e-3), "a {} of {} mm", what, least_found);
    }
    Ok(true)
}

#[test]
fn random_leaves_are_sound_and_their_strip_has_one_width() {
    let limits = Limits { gap: 0.3, wall: 0.4 };
    let numbers =
        (1u32..9, 4.0..60.0, 0.3..3.0, 0.2..5.0, (0.5..8.0, 0.5..8.0, 0.0..1.5), -8.0..8.0);
    let parts = Cell::new(0);
    let outcome = runner(CASES / 2).run(&numbers, |(legs, length, width, gap, blocks, draw)| {
        let (foot, tab, corner) = blocks;
        let numbers = Leaf { legs, length, width, gap, foot, tab, corner, draw };
        let Ok(made) = leaf(&numbers, &limits) else {
            return sound(leaf(&numbers, &limits), &limits, Mirror::No).map(|_| ());
        };
        // Around a fold both arcs have one centre: legs and folds are of one width, but for the folds beside
        // foot and tab.
        let (low, high) = (width * (1.0 - 2e-3), width * (1.0 + 2e-3));
        let y = [5.0 + foot + gap, made.page[1] - 5.0 - tab - gap];
        let strip = walls(&made.outline).into_iter();
        for wall in strip.filter(|w| w.middle.y > y[0] && w.middle.y < y[1]) {
            let found = wall.width;
            prop_assert!(found > low && found < high, "{} for {}", found, width);
        }
        let exact = made.page[1]
            - 10.0
            - (foot + tab + f64::from(legs) * width + f64::from(legs + 1) * gap);
        prop_assert!(exact.abs() < 1e-9, "its height is off by {}", exact);
        parts.set(parts.get() + 1);
        sound(Ok(made), &limits, Mirror::No).map(|_| ())
    });
    outcome.unwrap_or_else(|error| panic!("{error}"));
    assert!(parts.get() > CASES / 20, "only {}", parts.get());
}

#[test]
fn random_clips_are_sound_and_as_wide_as_asked() {
    let limits = Limits { gap: 0.3, wall: 0.4 };
    let numbers = (
        6.0..60.0,
        (0.8..1.1, 0.3..1.0),
        (0.02..0.3, 0.3..1.6, 0.5..6.0),
        (0.1..1.2, 0.5..10.0, 0.05..1.0),
    );
    let parts = Cell::new(0);
    let outcome = runner(CASES).run(&numbers, |(rail, (bore, mouth), (width, tip, lip), foot)| {
        let width = width * rail;
        let numbers = CClip {
            rail,
            bore: bore * rail,
            mouth: mouth * rail,
            width,
            tip: tip * width,
            lip: lip * tip * width,
            foot_width: foot.0 * rail,
            foot_height: foot.1,
            fillet: foot.2 * width,
        };
        let made = c_clip(&numbers, &limits);
        parts.set(parts.get() + u32::from(made.is_ok()));
        sound(made, &limits, Mirror::Yes).map(|_| ())
    });
    outcome.unwrap_or_else(|error| panic!("{error}"));
    assert!(parts.get() > CASES / 20, "only {}", parts.get());
    let clip = CClip {
        rail: 16.0,
        bore: 16.0,
        mouth: 13.5,
        width: 2.4,
        tip: 1.6,
        lip: 4.8,
        foot_width: 4.0,
        foot_height: 2.0,
        fillet: 1.0,
    };
    let made = c_clip(&clip, &limits).unwrap();
    let bore = made.outline.loops()[0].curves.iter().find_map(|c| match c {
        Curve::Arc(arc) if (arc.radius - 8.0).abs() < 1e-9 && arc.sweep < 0.0 => Some(arc.center),
        _ => None,
    });
    let bore = bore.unwrap();
    // Beside the foot, where nothing else is, the ring's width at an angle from its back is that of the gap
    // between both circles along the ray.
    let outer = (8.0 + 2.4, 8.0 + 1.6, (6.75_f64 / 8.0).asin());
    for degrees in [50.0_f64, 80.0, 110.0] {
        let ray = withy_mesh::Vec2::from_angle((degrees - 90.0).to_radians());
        let mut reach = 8.0;
        while made.outline.contains(bore + ray * (reach + 1e-3)) {
            reach += 1e-4;
        }
        // The outer circle by its three points, solved here for its centre (0, e) and radius R:
        // R = outer.0 + e, and outer.1^2 = R^2 - ... along the ray of the lips.
        let e =
            (outer.1 * outer.1 - outer.0 * outer.0) / (2.0 * (outer.0 + outer.1 * outer.2.cos()));
        let radius = outer.0 + e;
        let along = e * ray.y + (radius * radius - e * e * ray.x * ray.x).sqrt();
        assert!((reach - along).abs() < 3e-3, "{degrees}: {reach}, but {along}");
    }
}

#[test]
fn random_numbers_make_a_sound_part_or_a_clear_refusal() {
    let limits = Limits { gap: 0.3, wall: 0.4 };
    let parts = Cell::new(0);
    let outcome = runner(CASES).run(&any_spring(), |spring| {
        let sound = sound(rib_spring(&spring, &limits), &limits, Mirror::Yes)?;
        parts.set(parts.get() + u32::from(sound));
        Ok(())
    });
    outcome.unwrap_or_else(|error| panic!("{error}"));
    assert!(parts.get() > CASES / 20, "only {} parts of {CASES}", parts.get());
}
