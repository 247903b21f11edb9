//! Small drawings with known outlines, drawings written by an independent library, and hostile ones.

use super::read;
use crate::drawing::{Drawing, DrawingCause};
use crate::error::{Cause, Refusal, Source};
use kurbo::{Point, Rect};
use std::f64::consts::{PI, TAU};
use std::fmt::Write;
use std::path::Path;
use withy_mesh::Curve;

/// Pairs as `"code value"`, separated by `|`, to DXF lines.
fn lines(pairs: &str) -> String {
    pairs.split('|').map(str::trim).filter(|pair| !pair.is_empty()).fold(
        String::new(),
        |mut text, pair| {
            let (code, value) = pair.split_once(' ').unwrap_or((pair, ""));
            writeln!(text, "{code}\n{value}").unwrap();
            text
        },
    )
}

const MM: &str = "0 SECTION|2 HEADER|9 $INSUNITS|70 4|0 ENDSEC|";

pub(super) fn text(entities: &str) -> String {
    lines(&format!("{MM}0 SECTION|2 ENTITIES|{entities}|0 ENDSEC|0 EOF"))
}

pub(super) fn parse(text: &str) -> Result<Drawing, Refusal> {
    read(&Source::new(Path::new("t.dxf"), text.to_owned()))
}

fn all_loops(text: &str) -> Vec<Vec<Curve>> {
    let loops = parse(text).unwrap().loops(|_| true).unwrap();
    loops.into_iter().map(|one| one.curves).collect()
}

pub(super) fn only_loop(entities: &str) -> Vec<Curve> {
    let mut loops = all_loops(&text(entities));
    assert_eq!(loops.len(), 1, "one loop in {entities}");
    loops.remove(0)
}

pub(super) fn cause(text: &str) -> DrawingCause {
    let refusal = parse(text).and_then(|drawing| drawing.loops(|_| true)).unwrap_err();
    assert!(
        refusal.line_column().is_some() && refusal.mend().is_some(),
        "place and mend: {refusal}"
    );
    match refusal.cause() {
        Cause::Drawing(cause) => cause.clone(),
        other => panic!("{other}"),
    }
}

fn area(curves: &[Curve]) -> f64 {
    0.5 * curves.iter().map(Curve::doubled_area).sum::<f64>()
}

fn bounds(curves: &[Curve]) -> Rect {
    curves.iter().map(Curve::bounds).reduce(|a, b| a.union(b)).unwrap()
}

fn assert_closed(curves: &[Curve]) {
    for (a, b) in curves.iter().zip(curves.iter().cycle().skip(1)) {
        assert!(a.end().distance(b.start()) < 1e-9, "{a:?} meets {b:?}");
    }
}

#[test]
fn lines_and_arcs_in_any_order_and_direction_become_one_loop() {
    let curves = only_loop(
        "0 LINE|8 part|10 0|20 0|11 10|21 0|0 ARC|8 part|10 10|20 5|40 5|50 270|51 90|\
         0 ARC|8 part|10 0|20 5|40 5|50 90|51 270|0 LINE|8 part|10 0|20 10.002|11 10.003|21 10",
    );
    assert_closed(&curves);
    assert_eq!(curves.len(), 4, "a stadium");
    // Joining within 0.01 mm may move a side of 10 mm by 0.003 mm.
    assert!((area(&curves).abs() - 100.0 - 25.0 * PI).abs() < 0.1, "area {}", area(&curves));
}

#[test]
fn a_circle_keeps_its_radius_in_every_unit() {
    for (unit, mm) in
        [("1", 25.4), ("2", 304.8), ("4", 1.0), ("5", 10.0), ("6", 1000.0), ("13", 0.001)]
    {
        let file = text("0 CIRCLE|10 1|20 2|40 1.5")
            .replace("$INSUNITS\n70\n4", &format!("$INSUNITS\n70\n{unit}"));
        let curves = all_loops(&file).remove(0);
        for curve in &curves {
            let Curve::Arc(arc) = curve else { panic!("{curve:?}") };
            assert!((arc.radius - 1.5 * mm).abs() < 1e-9, "{arc:?} in unit {unit}");
            assert!(arc.center.distance(Point::new(mm, 2.0 * mm)) < 1e-9, "{arc:?} in unit {unit}");
        }
    }
    assert!(
        parse(&text("0 CIRCLE|10 1|20 2|40 1.5")).unwrap().remarks().is_empty(),
        "nothing to say in mm"
    );
}

#[test]
fn a_drawing_without_a_unit_is_in_millimetres_and_says_so() {
    let file = lines("0 SECTION|2 ENTITIES|0 CIRCLE|10 0|20 0|40 3|0 ENDSEC|0 EOF");
    let drawing = parse(&file).unwrap();
    assert_eq!(drawing.remarks()[0].code, "no-unit", "said");
    let strange = text("0 CIRCLE|10 0|20 0|40 3").replace("$INSUNITS\n70\n4", "$INSUNITS\n70\n20");
    assert!(matches!(cause(&strange), DrawingCause::BadEntity { .. }), "parsecs");
}

#[test]
fn bulges_are_arcs_of_the_right_side_and_size() {
    // Corners of a stadium: a bulge of 1 is a half circle to the right of the way there.
    let curves = only_loop(
        "0 LWPOLYLINE|8 part|90 4|70 1|10 0|20 0|10 10|20 0|42 1|10 10|20 10|10 0|20 10|42 1",
    );
    assert_closed(&curves);
    assert!((area(&curves) - 100.0 - 25.0 * PI).abs() < 1e-9, "area {}", area(&curves));
    // A bulge of tan(22.5 degrees) is a quarter circle.
    let bulge = (PI / 8.0).tan();
    let quarter =
        only_loop(&format!("0 LWPOLYLINE|90 3|70 1|10 0|20 0|10 4|20 0|42 {bulge}|10 0|20 4"));
    let Curve::Arc(arc) = quarter[1] else { panic!("{:?}", quarter[1]) };
    assert!(
        (arc.radius - 4.0).abs() < 1e-9 && arc.center.distance(Point::ORIGIN) < 1e-9,
        "{arc:?}"
    );
    let inward =
        only_loop(&format!("0 LWPOLYLINE|90 3|70 1|10 0|20 0|10 4|20 0|42 -{bulge}|10 0|20 4"));
    assert!((area(&inward) - (16.0 - 4.0 * PI)).abs() < 1e-9, "area {}", area(&inward));
}

#[test]
fn the_older_polyline_is_read_with_its_vertices() {
    let curves = only_loop(
        "0 POLYLINE|8 part|66 1|70 1|0 VERTEX|10 0|20 0|42 1|0 VERTEX|10 6|20 0|0 SEQEND|\
         0 INSERT|2 nothing|67 1|10 0|20 0",
    );
    assert_eq!(curves.len(), 2, "a half circle and its chord");
    assert!((area(&curves) - 4.5 * PI).abs() < 1e-9, "area {}", area(&curves));
}

#[test]
fn an_extrusion_that_points_down_mirrors_arcs() {
    let curves = only_loop("0 LWPOLYLINE|90 2|70 1|230 -1|10 2|20 0|42 1|10 8|20 0");
    let b = bounds(&curves);
    assert!((b.x0 + 8.0).abs() < 1e-9 && (b.x1 + 2.0).abs() < 1e-9, "x is turned over: {b:?}");
    assert!((b.y0 + 3.0).abs() < 1e-9 && b.y1.abs() < 1e-9, "y is not: {b:?}");
    let refused = cause(&text("0 CIRCLE|10 0|20 0|40 3|210 1|230 0"));
    assert!(matches!(refused, DrawingCause::BadEntity { .. }), "on its side: {refused:?}");
}

#[test]
fn ellipses_are_whole_or_in_part() {
    let whole = only_loop(&format!("0 ELLIPSE|10 5|20 5|11 0|21 4|40 0.5|41 0|42 {TAU:.9}"));
    assert!((area(&whole).abs() - 8.0 * PI).abs() < 1e-5, "area {}", area(&whole));
    let b = bounds(&whole);
    assert!((b.width() - 4.0).abs() < 1e-6 && (b.height() - 8.0).abs() < 1e-6, "{b:?}");
    let half = only_loop(&format!(
        "0 ELLIPSE|10 0|20 0|11 4|21 0|40 0.5|41 0|42 {PI}|0 LINE|10 4|20 0|11 -4|21 0"
    ));
    assert!((area(&half).abs() - 4.0 * PI).abs() < 1e-5, "area {}", area(&half));
    assert!(bounds(&half).y0 > -1e-9, "the upper half");
    let lower = only_loop(&format!(
        "0 ELLIPSE|230 -1|10 0|20 0|11 4|21 0|40 0.5|41 0|42 {PI}|0 LINE|10 4|20 0|11 -4|21 0"
    ));
    assert!(bounds(&lower).y1 < 1e-9, "the lower half where the extrusion points down");
}

/// A fixed sequence of numbers between 0 and 1 (a linear congruential generator).
pub(super) fn numbers() -> impl FnMut() -> f64 {
    let mut state = 20_240_611_u64;
    move || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(state >> 40).unwrap()) / f64::from(1u32 << 24)
    }
}

const BLOCKS: &str = "0 SECTION|2 BLOCKS|0 BLOCK|2 Hole|10 1|20 1|0 CIRCLE|8 0|10 1|20 1|40 0.5|0 ENDBLK|\
    0 BLOCK|2 pair|10 0|20 0|0 INSERT|8 own|2 HOLE|10 3|20 0|0 INSERT|2 hole|10 6|20 0|0 ENDBLK|\
    0 BLOCK|2 self|0 INSERT|2 self|10 0|20 0|0 ENDBLK|0 ENDSEC|";

fn with_blocks(entities: &str) -> String {
    lines(&format!("{MM}{BLOCKS}0 SECTION|2 ENTITIES|{entities}|0 ENDSEC|0 EOF"))
}

#[test]
fn block_references_are_unfolded_with_scale_rotation_and_arrays() {
    let drawing = parse(&with_blocks("0 INSERT|8 part|2 pair|10 10|20 0|41 2|42 2|50 90")).unwrap();
    let shapes = drawing.shapes();
    let centers: Vec<Point> = shapes.iter().map(|shape| bounds(&shape.loops[0]).center()).collect();
    assert!(centers[0].distance(Point::new(10.0, 6.0)) < 1e-9, "{centers:?}");
    assert!(centers[1].distance(Point::new(10.0, 12.0)) < 1e-9, "{centers:?}");
    let Curve::Arc(arc) = shapes[0].loops[0][0] else { panic!("an arc") };
    assert!((arc.radius - 1.0).abs() < 1e-9, "twice 0.5: {arc:?}");
    assert_eq!(
        (shapes[0].names[0].as_str(), shapes[1].names[0].as_str()),
        ("own", "part"),
        "layer 0 is its user's"
    );
    let grid = parse(&with_blocks("0 INSERT|2 hole|10 0|20 0|70 3|71 2|44 5|45 7")).unwrap();
    let last = bounds(&grid.shapes()[5].loops[0]).center();
    assert!(grid.shapes().len() == 6 && last.distance(Point::new(10.0, 7.0)) < 1e-9, "{last:?}");
}

#[test]
fn block_references_that_lead_nowhere_or_everywhere_are_refused() {
    assert!(
        matches!(
            cause(&with_blocks("0 INSERT|2 no|10 0|20 0")),
            DrawingCause::UnknownReference { .. }
        ),
        "no block"
    );
    assert!(
        matches!(
            cause(&with_blocks("0 INSERT|2 self|10 0|20 0")),
            DrawingCause::ContainsItself { .. }
        ),
        "itself"
    );
    let many = with_blocks("0 INSERT|2 hole|10 0|20 0|70 30000|71 30000");
    assert!(matches!(cause(&many), DrawingCause::TooManyCopies { .. }), "a bomb");
    let huge =
        with_blocks("0 INSERT|2 hole|10 0|20 0|70 9223372036854775807|71 9223372036854775807");
    assert!(matches!(cause(&huge), DrawingCause::TooManyCopies { .. }), "an overflow");
    assert!(
        matches!(
            cause(&with_blocks("0 INSERT|2 hole|10 0|20 0|41 0")),
            DrawingCause::BadEntity { .. }
        ),
        "flat"
    );
}

#[test]
fn layers_are_names_in_any_case_and_hidden_ones_are_left_out_and_said() {
    let tables = "0 SECTION|2 TABLES|0 TABLE|2 LAYER|0 LAYER|2 off|62 -7|70 0|0 LAYER|2 FROZEN|62 7|70 1|0 ENDTAB|0 ENDSEC|";
    let file = lines(&format!(
        "{MM}{tables}0 SECTION|2 ENTITIES|0 CIRCLE|8 PART|10 0|20 0|40 3|0 CIRCLE|8 Off|10 0|20 0|40 1|\
         0 CIRCLE|8 frozen|10 0|20 0|40 1|0 CIRCLE|8 x|60 1|10 0|20 0|40 1|0 CIRCLE|8 x|67 1|10 0|20 0|40 1|\
         0 TEXT|8 PART|1 note|0 HATCH|8 PART|0 TEXT|1 other|0 ENDSEC|0 EOF"
    ));
    let drawing = parse(&file).unwrap();
    assert_eq!(drawing.shapes().len(), 1, "only the visible one");
    assert!(drawing.is_called(&drawing.shapes()[0].names, "part"), "in any case");
    let said =
        drawing.remarks().iter().map(|remark| remark.text.clone()).collect::<Vec<_>>().join("\n");
    for expected in [
        "'Off', which is off",
        "'frozen', which is",
        "invisible",
        "paper space",
        "TEXT",
        "(2)",
        "HATCH",
    ] {
        assert!(said.contains(expected), "{expected} in\n{said}");
    }
}

#[test]
fn what_is_no_dxf_is_refused() {
    for file in [
        "",
        "\n\n",
        "hello\nworld\n",
        "0\nSECTION",
        "0\nSECTION\n2\nENTITIES\n",
        "\0\u{1}\u{2}",
        "0\nEOF\n",
        "<svg/>",
    ] {
        assert!(matches!(cause(file), DrawingCause::NotDxf { .. }), "{file:?}");
    }
    let whole = text("0 CIRCLE|8 part|10 0|20 0|40 3");
    for cut in (0..whole.len() - 5).filter(|cut| whole.is_char_boundary(*cut)) {
        assert!(parse(&whole[..cut]).is_err(), "a file cut at {cut} is never a smaller part");
    }
}

#[test]
fn values_that_cannot_be_are_refused_at_their_line() {
    for value in ["nan", "inf", "-inf", "1e400", "x", ""] {
        let file = text(&format!("0 CIRCLE|8 part|10 0|20 0|40 {value}"));
        let refusal = parse(&file).unwrap_err();
        assert!(
            matches!(refusal.cause(), Cause::Drawing(DrawingCause::BadDxfValue { code: 40, .. })),
            "{refusal}"
        );
        let line =
            file.lines().collect::<Vec<_>>().iter().rposition(|line| *line == "40").unwrap() + 2;
        assert_eq!(refusal.line_column().map(|place| place.0), Some(line), "{refusal}");
    }
    for entity in [
        "0 CIRCLE|10 0|20 0|40 0",
        "0 CIRCLE|10 0|20 0",
        "0 LINE|10 0|20 0|11 1",
        "0 LINE|10 0|20 0|30 0|11 1|21 0|31 5",
        "0 ELLIPSE|10 0|20 0|11 0|21 0|40 1",
        "0 ELLIPSE|10 0|20 0|11 1|21 0|40 0",
        "0 LWPOLYLINE|90 5|10 0|20 0|10 1|20 0",
        "0 LWPOLYLINE|90 2|10 0|20 0|10 1",
        "0 POLYLINE|70 1|0 VERTEX|10 0|20 0",
    ] {
        assert!(matches!(cause(&text(entity)), DrawingCause::BadEntity { .. }), "{entity}");
    }
    assert!(
        matches!(cause(&text("0 CIRCLE|10 1e9|20 0|40 1")), DrawingCause::OutOfBounds { .. }),
        "far away"
    );
}

#[test]
fn gaps_and_doubled_lines_are_refused_with_their_place() {
    let open =
        "0 LINE|10 0|20 0|11 10|21 0|0 LINE|10 10|20 0.02|11 0|21 5|0 LINE|10 0|20 5|11 0|21 0";
    let DrawingCause::Open { gap: Some((_, size)), at, .. } = cause(&text(open)) else {
        panic!("a gap")
    };
    assert!(
        (size - 0.02).abs() < 1e-9 && at.distance(Point::new(10.0, 0.0)) < 1e-9,
        "{size} at {at:?}"
    );
    let doubled = format!("{}|0 LINE|10 0|20 0|11 10|21 0", open.replace("20 0.02", "20 0"));
    let DrawingCause::Branch { ends, .. } = cause(&text(&doubled)) else { panic!("a fork") };
    assert_eq!(ends, 3, "a doubled line adds an end at each of its corners");
}

#[test]
fn a_star_of_many_ends_is_refused_at_once() {
    let ray = |at: usize| format!("0 LINE|10 0|20 0|11 {}|21 100|", at % 5000);
    let star: String = (0..100_000).map(ray).collect();
    assert!(matches!(cause(&text(&star)), DrawingCause::Branch { .. }), "a star");
}

#[test]
fn blocks_of_entities_without_outline_cannot_keep_the_reader_busy() {
    let notes = "0 TEXT|1 x|".repeat(10_000);
    let file = with_blocks("0 INSERT|2 notes|10 0|20 0|70 100|71 100");
    let block = lines(&format!("0 BLOCK|2 notes|10 0|20 0|{notes}0 ENDBLK"));
    let file = file.replacen("0\nBLOCK\n", &format!("{block}0\nBLOCK\n"), 1);
    assert!(matches!(cause(&file), DrawingCause::TooManyCopies { .. }), "10^8 texts");
}

#[test]
fn thousands_of_shuffled_lines_are_joined() {
    let (count, mut next) = (5000_usize, numbers());
    let corner = |at: usize| {
        let angle = TAU * f64::from(u32::try_from(at % count).unwrap()) / 5000.0;
        (50.0 * angle.cos(), 50.0 * angle.sin())
    };
    let mut order: Vec<usize> = (0..count).collect();
    for at in (1..count).rev() {
        let share = next() * f64::from(u32::try_from(at).unwrap());
        order.swap(at, format!("{share:.0}").parse().unwrap());
    }
    let mut pairs = String::new();
    for at in order {
        let ((ax, ay), (bx, by)) =
            if next() < 0.5 { (corner(at), corner(at + 1)) } else { (corner(at + 1), corner(at)) };
        write!(pairs, "0 LINE|10 {ax:.6}|20 {ay:.6}|11 {bx:.6}|21 {by:.6}|").unwrap();
    }
    let curves = only_loop(&pairs);
    assert_eq!(curves.len(), count, "all of them");
    assert_closed(&curves);
}

#[test]
fn a_drawing_written_by_an_independent_library_is_read_the_same() {
    // Two lines of 8 mm, one of 4 mm and a half circle on layer "part", in millimetres, saved as version R2013
    // by the crate `dxf` 0.6.2 with all the sections and tables that it writes.
    let drawing = parse(include_str!("from_a_library.dxf")).unwrap();
    assert!(drawing.remarks().is_empty(), "{:?}", drawing.remarks());
    let loops = drawing.loops(|names| names == ["part"]).unwrap();
    assert!(
        (area(&loops[0].curves).abs() - 32.0 - 2.0 * PI).abs() < 1e-9,
        "{}",
        area(&loops[0].curves)
    );
}
