//! Makers on random numbers: a sound part, or a clear refusal that names the number to change.

use super::super::rib_axis::Taper;
use super::super::rib_spring::{Carriage, Clamp, Frame, Head, Latch, LatchSide, Pull, RibSpring};
use super::super::{CClip, Leaf, Limits, Made, Unmakeable, c_clip, leaf, rib_spring};
use super::asymmetry;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use std::cell::Cell;
use withy_mesh::number::min;
use withy_mesh::{Curve, Sizing, gaps, mesh_outline, walls};

/// Random parts tried.
const CASES: u32 = 300;

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
