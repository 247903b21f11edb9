//! Splines against de Boor's scheme, a known circle, and a known ellipse.

use super::tests::{cause, numbers, only_loop, parse, text};
use crate::drawing::DrawingCause;
use kurbo::Point;
use std::f64::consts::PI;
use std::fmt::Write;
use withy_mesh::Curve;

/// A spline's point by de Boor's scheme in plain coordinates, as a check of the blossoms.
fn de_boor(knots: &[f64], control: &[Point], degree: usize, u: f64) -> Point {
    let span = (degree..control.len()).rev().find(|at| knots[*at] <= u).unwrap();
    let mut d: Vec<Point> = control[span - degree..=span].to_vec();
    for level in 1..=degree {
        for j in (level..=degree).rev() {
            let (low, high) = (knots[span - degree + j], knots[span + 1 + j - level]);
            d[j] = d[j - 1].lerp(d[j], (u - low) / (high - low));
        }
    }
    d[degree]
}

fn spline_text(degree: usize, knots: &[f64], points: &[Point], weights: &[f64]) -> String {
    let mut pairs =
        format!("0 SPLINE|8 part|70 0|71 {degree}|72 {}|73 {}", knots.len(), points.len());
    knots.iter().for_each(|knot| write!(pairs, "|40 {knot}").unwrap());
    weights.iter().for_each(|weight| write!(pairs, "|41 {weight}").unwrap());
    points.iter().for_each(|p| write!(pairs, "|10 {}|20 {}|30 0", p.x, p.y).unwrap());
    pairs
}

#[test]
fn splines_of_any_knots_up_to_degree_three_are_exact() {
    let mut next = numbers();
    for round in 0..30 {
        let degree = 1 + round % 3;
        let count = degree + 2 + round % 5;
        let points: Vec<Point> =
            (0..count).map(|_| Point::new(20.0 * next(), 20.0 * next())).collect();
        let mut knots = vec![0.0];
        while knots.len() < count + degree + 1 {
            let step = if round % 2 == 0 { 0.2 + next() } else { 1.0 };
            let clamped = round % 3 == 0 && (knots.len() <= degree || knots.len() > count);
            let last = knots[knots.len() - 1];
            knots.push(if clamped { last } else { last + step });
        }
        let drawing = parse(&text(&spline_text(degree, &knots, &points, &[]))).unwrap();
        let curves = &drawing.shapes()[0].chains[0];
        let spans: Vec<usize> = (degree..count).filter(|at| knots[at + 1] > knots[*at]).collect();
        assert_eq!(curves.len(), spans.len(), "a curve for each span");
        for (curve, span) in curves.iter().zip(spans) {
            for t in [0.0, 0.3, 0.77] {
                let u = knots[span] + t * (knots[span + 1] - knots[span]);
                let expected = de_boor(&knots, &points, degree, u);
                assert!(
                    curve.at(t).distance(expected) < 1e-9,
                    "round {round}, t {t}: {curve:?} {expected:?}"
                );
            }
        }
    }
}

#[test]
fn a_rational_spline_that_is_a_circle_becomes_arcs() {
    // The nine-point circle (Piegl and Tiller, The NURBS Book, section 7.5).
    let s = 0.5f64.sqrt();
    let at = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)];
    let points: Vec<Point> =
        at.iter().map(|(x, y)| Point::new(3.0 * f64::from(*x), 3.0 * f64::from(*y))).collect();
    let weights = [1.0, s, 1.0, s, 1.0, s, 1.0, s, 1.0];
    let knots = [0., 0., 0., 1., 1., 2., 2., 3., 3., 4., 4., 4.];
    let curves = only_loop(&spline_text(2, &knots, &points, &weights));
    assert_eq!(curves.len(), 4, "four quarters");
    for curve in &curves {
        let Curve::Arc(arc) = curve else { panic!("{curve:?}") };
        assert!((arc.radius - 3.0).abs() < 1e-9 && arc.center.to_vec2().hypot() < 1e-9, "{arc:?}");
        assert!((arc.sweep - 0.5 * PI).abs() < 1e-9, "{arc:?}");
    }
}

#[test]
fn other_rational_splines_are_followed_within_their_tolerance() {
    // A quarter of an ellipse with half axes 4 and 2, exactly, as a rational quadratic.
    let points = [Point::new(4.0, 0.0), Point::new(4.0, 2.0), Point::new(0.0, 2.0)];
    let pairs = spline_text(2, &[0., 0., 0., 1., 1., 1.], &points, &[1.0, 0.5f64.sqrt(), 1.0]);
    let drawing = parse(&text(&pairs)).unwrap();
    for curve in &drawing.shapes()[0].chains[0] {
        for step in 0..=10 {
            let p = curve.at(f64::from(step) / 10.0);
            let radius = (p.x / 4.0).hypot(p.y / 2.0);
            assert!((radius - 1.0).abs() * 4.0 < 4e-6, "off by {} at {p:?}", radius - 1.0);
        }
    }
}

#[test]
fn splines_that_contradict_themselves_are_refused() {
    let points = [Point::new(0.0, 0.0), Point::new(1.0, 2.0), Point::new(2.0, 0.0)];
    let good = [0., 0., 0., 1., 1., 1.];
    assert!(parse(&text(&spline_text(2, &good, &points, &[]))).is_ok(), "the good one");
    for pairs in [
        spline_text(2, &good[1..], &points, &[]),
        spline_text(3, &good, &points, &[]),
        spline_text(2, &[0., 0., 0., 1., 0., 1.], &points, &[]),
        spline_text(2, &[0.; 6], &points, &[]),
        spline_text(2, &good, &points, &[1.0, 0.0, 1.0]),
        spline_text(2, &good, &points, &[1.0, 1.0]),
        spline_text(99, &good, &points, &[]),
        spline_text(2, &good, &points, &[]).replace("73 3", "73 4"),
        "0 SPLINE|71 3|11 0|21 0|11 1|21 1".to_owned(),
    ] {
        assert!(matches!(cause(&text(&pairs)), DrawingCause::BadEntity { .. }), "{pairs}");
    }
}
