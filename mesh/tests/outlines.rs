//! What makes an outline, and what is refused, with its place.
#![expect(clippy::unwrap_used, reason = "a broken test shape is a failed test")]

mod shapes;

use shapes::{circle, frame, polygon, rectangle, region};
use std::f64::consts::PI;
use withy_mesh::{Curve, Loop, Outline, OutlineError, Point};

fn refused(loops: Vec<Loop>) -> OutlineError {
    Outline::new(loops, Vec::new()).unwrap_err()
}

#[test]
fn loops_are_oriented_and_ordered_whatever_way_they_are_drawn() {
    let loops = vec![circle(5.0, 5.0, 2.0), rectangle(0.0, 0.0, 20.0, 10.0).reversed()];
    let outline = Outline::new(loops, Vec::new()).unwrap();
    assert!(outline.loops()[0].area() > 0.0 && outline.loops()[1].area() < 0.0, "material left");
    let exact = 200.0 - 4.0 * PI;
    assert!((outline.area() - exact).abs() < 1e-12 * exact, "{} {exact}", outline.area());
    assert!(outline.contains(Point::new(15.0, 5.0)) && !outline.contains(Point::new(5.0, 5.0)), "");
    assert!((outline.distance(Point::new(5.0, 5.5)) - 1.5).abs() < 1e-12, "to the circle");
}

#[test]
fn what_bounds_no_part_is_refused_by_its_reason() {
    assert_eq!(refused(Vec::new()), OutlineError::Empty);
    let mut open = rectangle(0.0, 0.0, 4.0, 3.0);
    open.curves.pop();
    assert!(
        matches!(refused(vec![open]), OutlineError::Open { gap, .. } if (gap - 3.0).abs() < 1e-12),
        ""
    );
    let nan = polygon(&[(0.0, 0.0), (1.0, f64::NAN), (1.0, 1.0)]);
    assert!(matches!(refused(vec![nan]), OutlineError::NotFinite { .. }), "NaN");
    let flat = polygon(&[(0.0, 0.0), (5.0, 0.0), (9.0, 0.0)]);
    assert!(matches!(refused(vec![flat]), OutlineError::NoArea { .. }), "there and back");
    let huge = rectangle(0.0, 0.0, 10_001.0, 5.0);
    assert!(matches!(refused(vec![huge]), OutlineError::TooLarge { .. }), "over 10 m");
    let tiny = rectangle(0.0, 0.0, 9e-4, 9e-4);
    assert!(matches!(refused(vec![tiny]), OutlineError::TooSmall { .. }), "below 1 micrometre");
    let square = || rectangle(0.0, 0.0, 9.0, 9.0);
    assert!(matches!(refused(vec![square(), square()]), OutlineError::DrawnTwice { .. }), "twice");
    let apart = vec![square(), rectangle(10.0, 0.0, 12.0, 2.0)];
    assert!(matches!(refused(apart), OutlineError::SeparatePiece { .. }), "two pieces");
    let island = vec![square(), rectangle(2.0, 2.0, 7.0, 7.0), circle(4.0, 4.0, 1.0)];
    assert!(matches!(refused(island), OutlineError::SeparatePiece { .. }), "an island in a hole");
}

#[test]
fn crossings_name_their_place() {
    let tie = polygon(&[(0.0, 0.0), (4.0, 3.0), (4.0, 0.0), (0.0, 4.0)]);
    // y = 3/4 x meets y = 4 - x at x = 16/7.
    let OutlineError::CrossesItself { x, y, .. } = refused(vec![tie]) else { panic!("a bow-tie") };
    assert!((x - 16.0 / 7.0).abs() < 1e-9 && (y - 12.0 / 7.0).abs() < 1e-9, "({x}, {y})");
    let out = vec![rectangle(0.0, 0.0, 9.0, 9.0), circle(9.0, 4.0, 1.0)];
    let OutlineError::LoopsMeet { x, .. } = refused(out) else { panic!("a hole over the border") };
    assert!((x - 9.0).abs() < 1e-3, "on the right side: {x}");
    let touching = vec![rectangle(0.0, 0.0, 9.0, 9.0), circle(4.0, 1.0, 1.0)];
    let error = refused(touching);
    let near = matches!(error, OutlineError::LoopsMeet { .. } | OutlineError::TooThin { .. });
    assert!(near, "a hole that touches the border: {error}");
    let thin = vec![rectangle(0.0, 0.0, 9.0, 9.0), rectangle(1.0, 5e-5, 8.0, 4.0)];
    assert!(matches!(refused(thin), OutlineError::TooThin { .. }), "a wall of 5e-5 of 9 mm");
}

#[test]
fn small_gaps_are_shut_and_pieces_without_length_dropped() {
    let mut one = rectangle(0.0, 0.0, 4.0, 3.0);
    let p = Point::new(4.0 + 5e-7, 0.0);
    one.curves[0] = Curve::Line(Point::ORIGIN, p);
    one.curves.insert(1, Curve::Line(p, p));
    let outline = Outline::new(vec![one], Vec::new()).unwrap();
    let curves = &outline.loops()[0].curves;
    assert_eq!(curves.len(), 4, "the empty piece is gone");
    for (i, c) in curves.iter().enumerate() {
        assert_eq!(c.end(), curves[(i + 1) % 4].start(), "shut exactly");
    }
}

#[test]
fn fillets_round_every_inner_corner_with_their_exact_radius() {
    let ell = polygon(&[(0.0, 0.0), (9.0, 0.0), (9.0, 4.0), (4.0, 4.0), (4.0, 9.0), (0.0, 9.0)]);
    let sharp = Outline::new(vec![ell], Vec::new()).unwrap();
    let corners = sharp.sharp_reentrant_corners();
    assert_eq!(corners.len(), 1, "{corners:?}");
    assert_eq!(corners[0].at, Point::new(4.0, 4.0));
    assert!((corners[0].angle - 1.5 * PI).abs() < 1e-12, "{corners:?}");
    let round = sharp.with_fillets(0.5).unwrap();
    assert!(round.sharp_reentrant_corners().is_empty(), "rounded");
    // A fillet fills a square of side r less a quarter circle.
    let exact = 36.0 + 20.0 + 0.25 * (1.0 - PI / 4.0);
    let exact = exact - 36.0 - 20.0 + sharp.area();
    assert!((round.area() - exact).abs() < 1e-12 * exact, "{} {exact}", round.area());
    let wider = round.with_fillets(1.0).unwrap();
    let exact = sharp.area() + 1.0 - PI / 4.0;
    assert!((wider.area() - exact).abs() < 1e-11 * exact, "a tight fillet is widened");
    let error = sharp.with_fillets(6.0).unwrap_err();
    assert!(
        matches!(error, OutlineError::FilletDoesNotFit { x, y, .. } if (x - 4.0).abs() + (y - 4.0).abs() < 1e-12),
        "{error}"
    );
}

#[test]
fn a_fillet_between_a_line_and_an_arc_touches_both() {
    // A disc of radius 5 on a bar: two inner corners between the bar's top and the circle.
    let a = 0.3f64.asin();
    let disc =
        withy_mesh::Arc { center: Point::new(0.0, 3.5), radius: 5.0, start: 0.0, sweep: 0.0 };
    let y = 2.0;
    let start = -a;
    let arc = withy_mesh::Arc { start, sweep: PI + 2.0 * a, ..disc };
    let (right, left) = (Curve::Arc(arc).start(), Curve::Arc(arc).end());
    assert!((right.y - y).abs() < 1e-12, "the circle meets the bar's top at {right:?}");
    let line = |a: (f64, f64), b: (f64, f64)| Curve::Line(a.into(), b.into());
    let curves = vec![
        line((-12.0, 0.0), (12.0, 0.0)),
        line((12.0, 0.0), (12.0, y)),
        Curve::Line(Point::new(12.0, y), right),
        Curve::Arc(arc),
        Curve::Line(left, Point::new(-12.0, y)),
        line((-12.0, y), (-12.0, 0.0)),
    ];
    let outline = Outline::new(vec![Loop { curves, origin: "disc".into() }], Vec::new()).unwrap();
    let round = outline.with_fillets(0.7).unwrap();
    assert!(round.sharp_reentrant_corners().is_empty(), "tangent on both sides");
    let fillets = round.loops()[0].curves.iter().filter_map(|c| match c {
        Curve::Arc(arc) if arc.sweep < 0.0 => Some(*arc),
        _ => None,
    });
    for f in fillets {
        assert!((f.radius - 0.7).abs() < 1e-9 && (f.center.y - y - 0.7).abs() < 1e-9, "{f:?}");
        assert!((f.center.distance(disc.center) - 5.7).abs() < 1e-9, "{f:?}");
    }
}

#[test]
fn a_frame_with_regions_keeps_them() {
    let outline = frame(vec![region("held", rectangle(-1.0, -1.0, 3.0, 31.0))]).unwrap();
    assert_eq!(outline.regions()[0].name, "held");
}
