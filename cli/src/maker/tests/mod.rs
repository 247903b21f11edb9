//! Makers: a part that is as it was asked for, or a refusal whose mend mends.

mod beams;
mod random;

use super::error::Side;
use super::rib_axis::Taper;
use super::rib_spring::{Carriage, Clamp, Frame, Head, Latch, LatchSide, Pull, RibSpring};
use super::{Limits, Made, Unmakeable, rib_spring};
use withy_mesh::{Curve, Outline, Point, walls};

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
