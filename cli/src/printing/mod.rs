//! What a printer makes of a part: whether it fits the bed, and what it makes of walls, gaps and holes.

pub mod bed;

use crate::case::Case;
use crate::picture::three_digits;
use crate::remark::Remark;
use bed::Fit;
use withy_mesh::number::max;
use withy_mesh::{Curve, Loop, Outline, Width, gaps, walls};

/// Gaps below this fuse if the part file says nothing (mm): common practice, no source.
pub const USUAL_GAP: f64 = 0.3;
/// Walls of more lines than this are filled in between: common practice, no source.
const MOST_LINES: f64 = 6.0;
/// A wall this part of a line off a whole number of lines is told.
const OFF_LINE: f64 = 0.1;
/// Walls whose widths differ by less than this part of a line are of one width.
const ALIKE: f64 = 0.05;
/// Of all walls, a width must make up this part to be told.
const TOLD_SHARE: f64 = 0.05;
/// Round holes of less than so many lines close up or lose their shape: common practice, no source.
const SMALLEST_HOLE_LINES: f64 = 4.0;

/// What a printer makes of a part.
#[derive(Clone, Debug, Default)]
pub struct Printability {
    /// How it lies on the bed, if a bed is told.
    pub bed: Option<Fit>,
    /// What does not print as it is drawn.
    pub remarks: Vec<Remark>,
}

/// How closely a printer looks at a part.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Look {
    /// At the bed, and at all walls, gaps and holes.
    #[default]
    Whole,
    /// At the bed alone, in a thousandth of the time: the makers of shapes by numbers see to walls and gaps.
    Bed,
}

/// What the part file's printer makes of its part; nothing if it tells no printer.
#[must_use]
pub fn printability(
    outline: &Outline,
    printer: Option<&crate::case::Printer>,
    look: Look,
) -> Printability {
    let mut found = Printability::default();
    let Some(printer) = printer else { return found };
    if let Some(sides) = printer.bed {
        let fit = bed::fit(outline, sides);
        if !fit.fits() {
            let text = format!("the part does not fit the bed: {}", bed_words(&fit, sides));
            found.remarks.push(Remark::caution("bed", text));
        }
        found.bed = Some(fit);
    }
    if look == Look::Bed {
        return found;
    }
    if let Some(line) = printer.extrusion_width {
        found.remarks.extend(narrow_walls(&walls(outline), line));
        found.remarks.extend(small_holes(outline, line));
    }
    let least = printer.minimum_gap.unwrap_or(USUAL_GAP);
    if let Some(gap) = narrowest(&gaps(outline)).filter(|g| g.width < least * (1.0 - 1e-3)) {
        let text = format!(
            "the gap {} is narrower than the {} mm that stay open",
            place(&gap),
            three_digits(least)
        );
        found.remarks.push(Remark::caution("narrow-gap", text));
    }
    found
}

/// How a part lies on a bed.
#[must_use]
pub fn bed_words(fit: &Fit, bed: [f64; 2]) -> String {
    let [w, h] = bed.map(three_digits);
    let needs = format!("{} x {} mm", three_digits(fit.needs[0]), three_digits(fit.needs[1]));
    let turn = fit.turn.to_degrees();
    let how =
        if turn.abs() < 1e-9 { "as drawn".to_owned() } else { format!("turned by {turn:.1} deg") };
    if fit.fits() {
        format!("{how} it takes {needs} of {w} x {h} mm")
    } else {
        format!(
            "at best, {how}, it takes {needs} of {w} x {h} mm; at {:.1} % of its size it would fit",
            100.0 / fit.share
        )
    }
}

fn narrowest(widths: &[Width]) -> Option<Width> {
    widths.iter().min_by(|a, b| a.width.total_cmp(&b.width)).copied()
}

fn place(w: &Width) -> String {
    let [x, y] = [w.middle.x, w.middle.y].map(three_digits);
    format!("of {} mm at ({x}, {y}) mm", three_digits(w.width))
}

fn narrow_walls(walls: &[Width], line: f64) -> Vec<Remark> {
    let mut remarks = Vec::new();
    if let Some(least) = narrowest(walls) {
        let below = |lines: f64| least.width < lines * line * (1.0 - 1e-3);
        let width = three_digits(line);
        if below(1.0) {
            let text =
                format!("the wall {} is narrower than one line of {width} mm", place(&least));
            remarks.push(Remark::caution("narrow-wall", text));
        } else if below(2.0) {
            let text = format!(
                "the wall {} is narrower than two lines of {width} mm: a single line is weak",
                place(&least)
            );
            remarks.push(Remark::note("narrow-wall", text));
        }
    }
    remarks
        .extend(widths_in_use(walls, line).into_iter().filter_map(|width| odd_lines(width, line)));
    remarks
}

/// The widths that much of the part has, up to some lines, widest use first (mm).
fn widths_in_use(walls: &[Width], line: f64) -> Vec<f64> {
    let mut widths: Vec<f64> =
        walls.iter().map(|w| w.width).filter(|w| *w < MOST_LINES * line).collect();
    widths.sort_by(f64::total_cmp);
    let total: f64 = walls.iter().map(|w| w.width).sum();
    let mut in_use: Vec<(f64, f64)> = Vec::new();
    let mut from = 0;
    while from < widths.len() {
        let to = widths.partition_point(|w| *w <= widths[from] + ALIKE * line);
        // Samples stand in proportion to the width: so does the length that each stands for.
        let length: f64 = widths[from..to].iter().sum();
        if length >= TOLD_SHARE * total {
            in_use.push((length, widths[from + (to - from) / 2]));
        }
        from = to;
    }
    in_use.sort_by(|a, b| b.0.total_cmp(&a.0));
    in_use.into_iter().map(|(_, width)| width).collect()
}

/// A remark on a width that is no whole number of lines.
fn odd_lines(width: f64, line: f64) -> Option<Remark> {
    let lines = width / line;
    let nearest = max(1.0, lines.round());
    ((lines - nearest).abs() > OFF_LINE).then(|| {
        let text = format!(
            "walls of {} mm are {lines:.2} lines of {} mm: {} mm would be {nearest:.0} lines",
            three_digits(width),
            three_digits(line),
            three_digits(nearest * line)
        );
        Remark::note("wall-lines", text)
    })
}

fn small_holes(outline: &Outline, line: f64) -> Option<Remark> {
    let least = SMALLEST_HOLE_LINES * line;
    let holes = outline.loops().iter().skip(1).filter_map(circle);
    let small: Vec<[f64; 3]> = holes.filter(|[.., d]| *d < least * (1.0 - 1e-3)).collect();
    let [x, y, diameter] = *small.iter().min_by(|a, b| a[2].total_cmp(&b[2]))?;
    let count = small.len();
    let text = format!(
        "the hole of {} mm at ({}, {}) mm{} is smaller than {} lines ({} mm): it prints smaller, or shut",
        three_digits(diameter),
        three_digits(x),
        three_digits(y),
        if count > 1 { format!(", the smallest of {count} such holes,") } else { String::new() },
        SMALLEST_HOLE_LINES,
        three_digits(least)
    );
    Some(Remark::note("small-hole", text))
}

/// Centre and diameter of a loop that is a circle (mm).
fn circle(one: &Loop) -> Option<[f64; 3]> {
    let Some(Curve::Arc(first)) = one.curves.first() else { return None };
    let same = |curve: &Curve| {
        matches!(curve, Curve::Arc(arc)
            if arc.center.distance(first.center) < 1e-6 && (arc.radius - first.radius).abs() < 1e-6)
    };
    one.curves.iter().all(same).then_some([first.center.x, first.center.y, 2.0 * first.radius])
}

impl Case {
    /// Lines on the printer for a table: the bed, and the walls in lines.
    #[must_use]
    pub fn printing(&self) -> Vec<(&'static str, String)> {
        let Some(printer) = &self.printer else { return Vec::new() };
        let mut lines = Vec::new();
        if let (Some(bed), Some(fit)) = (printer.bed, &self.printability.bed) {
            let word = if fit.fits() { "it fits" } else { "DOES NOT FIT" };
            lines.push(("bed", format!("{word}: {}", bed_words(fit, bed))));
        }
        if let Some(line) = printer.extrusion_width {
            let widths = widths_in_use(&walls(&self.outline), line);
            let words =
                widths.iter().map(|w| format!("{} mm are {:.2}", three_digits(*w), w / line));
            let words: Vec<String> = words.collect();
            if !words.is_empty() {
                let text = format!("{} lines of {} mm", words.join(", "), three_digits(line));
                lines.push(("walls", text));
            }
        }
        lines
    }

    /// Whether it is known not to fit the bed.
    #[must_use]
    pub fn is_off_the_bed(&self) -> bool {
        self.printability.bed.is_some_and(|fit| !fit.fits())
    }
}
