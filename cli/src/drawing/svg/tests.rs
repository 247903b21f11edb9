//! Small drawings with known outlines, and hostile ones.

use super::read;
use crate::drawing::{Drawing, DrawingCause};
use crate::error::{Cause, Refusal, Source};
use kurbo::{Point, Rect};
use std::f64::consts::PI;
use std::path::Path;
use withy_mesh::Curve;

fn text(body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"80mm\" \
         viewBox=\"0 0 100 80\">\n{body}\n</svg>"
    )
}

fn parse(text: &str) -> Result<Drawing, Refusal> {
    read(&Source::new(Path::new("t.svg"), text.to_owned()))
}

fn drawing(body: &str) -> Drawing {
    parse(&text(body)).unwrap()
}

fn only_loop(body: &str) -> Vec<Curve> {
    let loops = drawing(body).loops(|_| true).unwrap();
    assert_eq!(loops.len(), 1, "one loop in {body}");
    loops[0].curves.clone()
}

fn cause(text: &str) -> DrawingCause {
    let refusal = parse(text).and_then(|drawing| drawing.loops(|_| true)).unwrap_err();
    assert!(refusal.line_column().is_some(), "a place: {refusal}");
    assert!(refusal.mend().is_some(), "a mend: {refusal}");
    match refusal.cause() {
        Cause::Drawing(cause) => cause.clone(),
        other => panic!("{other}"),
    }
}

fn area(curves: &[Curve]) -> f64 {
    0.5 * curves.iter().map(Curve::doubled_area).sum::<f64>().abs()
}

fn bounds(curves: &[Curve]) -> Rect {
    curves.iter().map(Curve::bounds).reduce(|a, b| a.union(b)).unwrap()
}

fn assert_bounds(curves: &[Curve], expected: [f64; 4]) {
    let b = bounds(curves);
    for (found, expected) in [b.x0, b.y0, b.x1, b.y1].iter().zip(expected) {
        assert!((found - expected).abs() < 1e-9, "{b:?}, expected {expected}");
    }
}

fn assert_closed(curves: &[Curve]) {
    for (a, b) in curves.iter().zip(curves.iter().cycle().skip(1)) {
        assert!(a.end().distance(b.start()) < 1e-9, "{a:?} meets {b:?}");
    }
}

#[test]
fn a_circle_keeps_its_radius_and_centre_through_nested_transforms() {
    let curves = only_loop(
        "<g transform='translate(10 20) rotate(30)'><g transform='scale(2)'>\
         <circle cx='5' cy='0' r='1.5'/></g></g>",
    );
    assert_closed(&curves);
    // 30 degrees in SVG turns clockwise on paper: y down is turned over.
    let center =
        Point::new(10.0 + 10.0 * (PI / 6.0).cos(), 80.0 - (20.0 + 10.0 * (PI / 6.0).sin()));
    for curve in &curves {
        let Curve::Arc(arc) = curve else { panic!("an arc: {curve:?}") };
        assert!((arc.radius - 3.0).abs() < 1e-9, "radius {}", arc.radius);
        assert!(arc.center.distance(center) < 1e-9, "centre {:?}", arc.center);
    }
    assert!((area(&curves) - 9.0 * PI).abs() < 1e-9, "area {}", area(&curves));
}

#[test]
fn y_points_up_from_the_lower_left_corner_of_the_page() {
    assert_bounds(
        &only_loop("<rect x='1' y='2' width='10' height='20'/>"),
        [1.0, 58.0, 11.0, 78.0],
    );
}

#[test]
fn every_path_command_is_understood() {
    let curves = only_loop(
        "<path d='M10 10 h10 v5 H30 V10 l5 0 L40 20 c1 1 2 1 3 0 s2 -1 3 0 q1 1 2 0 t2 0 \
         C 50 30 40 30 40 30 S 30 40 30 30 Q 25 35 20 30 T 10 30 a 3 3 0 0 1 -3 -3 A 3 3 0 0 0 4 24 z'/>",
    );
    assert_closed(&curves);
    assert_eq!(curves.len(), 17, "no piece is lost");
    let arcs: Vec<_> = curves.iter().filter(|curve| matches!(curve, Curve::Arc(_))).collect();
    assert_eq!(arcs.len(), 2, "both arcs stay arcs");
}

#[test]
fn a_quadratic_is_raised_exactly_and_smooth_commands_mirror_the_handle() {
    let curves = only_loop("<path d='M0 0 Q 5 10 10 0 T 20 0 Z'/>");
    // A parabola under a chord: 2/3 of base times height (5): twice, on both sides of the chord.
    let halves: Vec<f64> = curves[..2].iter().map(|c| c.at(0.5).y - 80.0).collect();
    assert!((halves[0] + 5.0).abs() < 1e-12, "the first hangs below: {halves:?}");
    assert!((halves[1] - 5.0).abs() < 1e-12, "the second is its mirror: {halves:?}");
}

#[test]
fn a_path_arc_has_the_radius_that_is_written() {
    let curves = only_loop("<path d='M10 10 A 4 4 0 0 1 18 10 A 4 4 0 0 1 10 10 Z'/>");
    assert!((area(&curves) - 16.0 * PI).abs() < 1e-6, "area {}", area(&curves));
    for curve in &curves {
        let Curve::Arc(arc) = curve else { panic!("{curve:?}") };
        assert!((arc.radius - 4.0).abs() < 1e-9, "{arc:?}");
    }
}

#[test]
fn a_mirrored_arc_stays_an_arc_on_the_other_side() {
    let curves =
        only_loop("<path transform='translate(50 0) scale(-1 1)' d='M10 10 A 4 4 0 0 1 18 10 Z'/>");
    let Curve::Arc(arc) = curves[0] else { panic!("{:?}", curves[0]) };
    assert!((arc.center - Point::new(36.0, 70.0)).hypot() < 1e-6, "{arc:?}");
    assert_bounds(&curves, [32.0, 70.0, 40.0, 74.0]);
}

#[test]
fn an_ellipse_and_a_squeezed_circle_agree_to_a_tenth_of_a_nanometre_in_place() {
    for body in [
        "<ellipse cx='50' cy='40' rx='30' ry='10'/>",
        "<circle cx='50' cy='40' r='10' transform='translate(50 40) scale(3 1) translate(-50 -40)'/>",
    ] {
        let curves = only_loop(body);
        assert_closed(&curves);
        for t in 0..=20 {
            for curve in &curves {
                let p = curve.at(f64::from(t) / 20.0) - Point::new(50.0, 40.0);
                let radius = (p.x / 30.0).hypot(p.y / 10.0);
                assert!((radius - 1.0).abs() * 30.0 < 2e-7, "off by {} at {p:?}", radius - 1.0);
            }
        }
    }
}

#[test]
fn an_ellipse_made_round_by_its_transform_is_a_circle() {
    let curves = only_loop("<ellipse rx='6' ry='2' transform='translate(40 40) scale(1 3)'/>");
    assert!(
        curves.iter().all(|c| matches!(c, Curve::Arc(arc) if (arc.radius - 6.0).abs() < 1e-9)),
        "{curves:?}"
    );
}

#[test]
fn rounded_rectangles_have_round_corners() {
    let curves = only_loop("<rect x='10' y='10' width='20' height='10' rx='2'/>");
    assert_closed(&curves);
    let expected = 200.0 - (4.0 - PI) * 4.0;
    assert!((area(&curves) - expected).abs() < 1e-9, "area {}", area(&curves));
    assert_eq!(curves.len(), 8, "four sides, four corners");
    let stadium = only_loop("<rect width='20' height='10' ry='50'/>");
    assert!((bounds(&stadium).width() - 20.0).abs() < 1e-9, "the radius is at most half a side");
}

#[test]
fn lengths_with_units_are_true_millimetres() {
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='2in' height='72pt'>\
               <rect width='1in' height='0.5cm'/></svg>";
    let drawing = parse(svg).unwrap();
    assert_eq!(
        drawing.page().map(|[w, h]| (w.round(), (h * 10.0).round())),
        Some((51.0, 254.0)),
        "the page"
    );
    let loops = drawing.loops(|_| true).unwrap();
    assert_bounds(&loops[0].curves, [0.0, 20.4, 25.4, 25.4]);
}

#[test]
fn a_view_box_scales_and_centres() {
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='50mm' viewBox='-5 -5 10 10'>\
               <rect x='-5' y='-5' width='10' height='10'/></svg>";
    let loops = parse(svg).unwrap().loops(|_| true).unwrap();
    assert_bounds(&loops[0].curves, [25.0, 0.0, 75.0, 50.0]);
}

#[test]
fn a_drawing_without_a_size_says_what_was_assumed() {
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 96 96'><rect width='96' height='96'/></svg>";
    let drawing = parse(svg).unwrap();
    assert_eq!(drawing.remarks().iter().filter(|r| r.code == "no-page-size").count(), 1, "said");
    assert_bounds(&drawing.loops(|_| true).unwrap()[0].curves, [0.0, 0.0, 25.4, 25.4]);
}

#[test]
fn shapes_know_their_ids_labels_and_groups() {
    let body = "<g id='layer1' xmlns:i='urn:editor' i:label='part'><path id='rib' d='M0 0H9V9Z'/></g>\
                <circle id='grip' r='1'/>";
    let drawing = drawing(body);
    assert_eq!(drawing.shapes()[0].names, ["layer1", "part", "rib"], "outermost first");
    assert_eq!(drawing.shapes()[1].names, ["grip"], "no leftovers from the group before");
    assert_eq!(drawing.shapes()[0].origin, "path 'rib' (line 2)", "in words");
    assert_eq!(drawing.names(), ["layer1", "part", "rib", "grip"], "each once");
}

#[test]
fn use_and_symbol_draw_their_targets_where_they_say() {
    let body = "<defs><rect id='r' width='2' height='3'/></defs><use href='#r' x='10' y='20' transform='scale(2)'/>";
    assert_bounds(&only_loop(body), [20.0, 34.0, 24.0, 40.0]);
    let body = "<symbol id='s' viewBox='0 0 1 1'><rect width='1' height='1'/></symbol>\
                <use xmlns:xlink='http://www.w3.org/1999/xlink' xlink:href='#s' x='5' y='5' width='10' height='10'/>";
    assert_bounds(&only_loop(body), [5.0, 65.0, 15.0, 75.0]);
}

#[test]
fn what_a_viewer_does_not_show_is_left_out_and_said() {
    let body = "<rect width='1' height='1' style='fill:red; display : none'/><g visibility='hidden'>\
                <rect width='1' height='1'/><circle cx='9' cy='9' r='4' visibility='visible'/></g>\
                <clipPath><rect width='3' height='3'/></clipPath>";
    let drawing = drawing(body);
    assert_eq!(drawing.shapes().len(), 1, "the circle is shown");
    let said: Vec<_> = drawing.remarks().iter().map(|remark| remark.text.as_str()).collect();
    assert_eq!(said.len(), 3, "{said:?}");
    assert!(said.iter().any(|text| text.contains("not displayed")), "{said:?}");
    assert!(said.iter().any(|text| text.contains("hidden")), "{said:?}");
    assert!(said.iter().any(|text| text.contains("clipPath")), "{said:?}");
}

#[test]
fn texts_and_pictures_are_refused_only_where_they_are_selected() {
    let body = "<g id='part'><rect width='9' height='9'/><text id='t'>x</text></g>\
                <g id='notes'><text>60 mm</text></g>";
    let drawing = drawing(body);
    let refusal = drawing.loops(|names| names.contains(&"part".into())).unwrap_err();
    assert!(refusal.to_string().contains("text 't' (line 2)"), "{refusal}");
}

#[test]
fn open_pieces_are_joined_within_a_hundredth_of_a_millimetre() {
    let body = "<path d='M0 0 L10 0'/><path d='M10.004 0.003 A 5 5 0 0 1 10 10'/>\
                <polyline points='0,0.005 0,10 10,10.002'/>";
    let curves = only_loop(body);
    assert_closed(&curves);
    assert_eq!(curves.len(), 4, "nothing is added");
}

#[test]
fn a_gap_is_refused_with_its_place_and_size() {
    let DrawingCause::Open { at, gap, .. } = cause(&text("<path d='M0 0 L10 0 L10 10 L0 0.2'/>"))
    else {
        panic!("open")
    };
    assert!(at.distance(Point::new(0.0, 80.0)) < 1e-9, "at {at:?}");
    let (to, size) = gap.unwrap();
    assert!(
        (size - 0.2).abs() < 1e-9 && to.distance(Point::new(0.0, 79.8)) < 1e-9,
        "{to:?} {size}"
    );
}

#[test]
fn a_fork_is_refused_with_its_place() {
    let body = "<path d='M0 0 L10 0 L10 10 L0 0'/><line x1='0' y1='0' x2='-5' y2='5'/>";
    let DrawingCause::Branch { ends, at, .. } = cause(&text(body)) else { panic!("a fork") };
    assert!(ends == 3 && at.distance(Point::new(0.0, 80.0)) < 1e-9, "{ends} at {at:?}");
}

#[test]
fn a_path_that_stops_making_sense_is_refused_at_the_character() {
    let svg = text("<path d='M0 0 L10 0 L1x0 5 Z'/>");
    let refusal = parse(&svg).unwrap_err();
    let line = svg.lines().nth(1).unwrap();
    assert_eq!(refusal.line_column(), Some((2, line.find("x0").unwrap() + 1)), "{refusal}");
    assert!(matches!(refusal.cause(), Cause::Drawing(DrawingCause::BadPath { .. })), "{refusal}");
}

#[test]
fn numbers_that_are_none_are_refused() {
    for body in [
        "<path d='M0 0 L1e400 0 L 1 1 Z'/>",
        "<path d='M0 0 LNaN 0 L 1 1 Z'/>",
        "<circle r='1e400'/>",
        "<circle r='NaN'/>",
        "<circle r='inf'/>",
        "<circle r='-1'/>",
        "<rect width='3' height='2em'/>",
        "<rect width='3' height='2' rx='-1'/>",
        "<polygon points='0,0 1,0 1'/>",
        "<polygon points='0,0 1,0 x,1'/>",
        "<g transform='scale(0)'><circle r='1'/></g>",
        "<g transform='scale(1e300) scale(1e300)'><circle r='1'/></g>",
        "<g transform='rotate(1'><circle r='1'/></g>",
    ] {
        let cause = cause(&text(body));
        let expected =
            matches!(cause, DrawingCause::BadPath { .. } | DrawingCause::BadAttribute { .. });
        assert!(expected, "{body}: {cause:?}");
    }
}

#[test]
fn bad_pages_are_refused() {
    for head in [
        "width='0' height='1'",
        "width='1mm' height='-1'",
        "viewBox='0 0 0 1'",
        "viewBox='0 0 1'",
        "width='x'",
    ] {
        let svg = format!("<svg xmlns='http://www.w3.org/2000/svg' {head}><circle r='1'/></svg>");
        assert!(matches!(cause(&svg), DrawingCause::BadAttribute { .. }), "{head}");
    }
}

#[test]
fn sizes_beyond_ten_metres_are_refused() {
    for body in [
        "<circle r='1e9'/>",
        "<path d='M0 0H1e200V1e200Z'/>",
        "<rect x='10001' width='1' height='1'/>",
    ] {
        assert!(matches!(cause(&text(body)), DrawingCause::OutOfBounds { .. }), "{body}");
    }
}

#[test]
fn a_document_type_is_refused_before_it_can_unfold() {
    let svg = "<!DOCTYPE svg [<!ENTITY a 'aaaa'><!ENTITY b '&a;&a;&a;'>]><svg>&b;</svg>";
    assert!(matches!(cause(svg), DrawingCause::BadXml { .. }), "an entity bomb");
    assert!(matches!(cause("<svg><g></svg>"), DrawingCause::BadXml { .. }), "a tag left open");
    assert!(matches!(cause("<html/>"), DrawingCause::NotSvg { .. }), "no drawing");
    assert!(matches!(cause(""), DrawingCause::BadXml { .. }), "nothing");
    assert!(matches!(cause("\u{0}\u{1}\u{fffd}"), DrawingCause::BadXml { .. }), "no text");
}

#[test]
fn use_bombs_and_circles_of_use_are_refused_quickly() {
    let mut bomb = String::from("<g id='g0'><rect width='1' height='1'/></g>");
    for level in 1..30 {
        let copies = format!("<use href='#g{}'/>", level - 1).repeat(10);
        bomb.push_str(&format!("<g id='g{level}'>{copies}</g>"));
    }
    assert!(matches!(cause(&text(&bomb)), DrawingCause::TooManyCopies { .. }), "a bomb");
    for body in [
        "<g id='a'><use href='#a'/></g>",
        "<defs><g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g></defs><use href='#a'/>",
        "<use id='a' href='#a'/>",
    ] {
        assert!(matches!(cause(&text(body)), DrawingCause::ContainsItself { .. }), "{body}");
    }
    assert!(
        matches!(cause(&text("<use href='#no'/>")), DrawingCause::UnknownReference { .. }),
        "nothing there"
    );
    assert!(
        matches!(cause(&text("<use href='http://x/#a'/>")), DrawingCause::UnknownReference { .. }),
        "elsewhere"
    );
}

#[test]
fn deep_nesting_is_refused_without_overflow() {
    let deep = format!("{}<circle r='1'/>{}", "<g>".repeat(50_000), "</g>".repeat(50_000));
    assert!(matches!(cause(&text(&deep)), DrawingCause::TooDeep { .. }), "deep groups");
}

#[test]
fn ten_megabytes_of_path_are_read_whole() {
    let steps = 1_000_000;
    let data = "l0.01 0 ".repeat(steps / 2) + &"l-.01 0 ".repeat(steps / 2 - 1);
    let curves = only_loop(&format!("<path d='M0 0 {data} l-.01 1 l-1 0 Z'/>"));
    assert!(curves.len() > steps, "{} curves", curves.len());
}
