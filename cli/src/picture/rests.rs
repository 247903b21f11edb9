//! Where a part rests over the time since it was let go, by how long it was kept.

use super::axis::ticks;
use super::chart::{Frame, plain_line};
use super::palette;
use super::part::{rounded, rule, text};
use svg::Document;
use svg::node::element::{Path, Title, path::Data};
use withy_mesh::number::{largest, max};

const WIDTH: f64 = 460.0;
const HEIGHT: f64 = 256.0;
/// Half of the last mark's name stands out to the right.
const AREA: [f64; 4] = [58.0, 54.0, 370.0, 150.0];

/// The rests of a part that was kept for one time.
#[derive(Clone, Debug)]
pub struct RestLine {
    /// "1 h".
    pub name: String,
    /// Time since it was let go (s) and rest, longer times later.
    pub points: Vec<[f64; 2]>,
    /// Lowest and highest rest at each point, if the card leaves any open.
    pub band: Option<Vec<[f64; 2]>>,
}

/// Draws the lines over the decades of time; `marks` are times (s) with names, the first at the left end and the last at
/// the right one. An element of a page.
#[must_use]
pub fn rests_inline(
    description: &str,
    unit: &str,
    marks: &[(String, f64)],
    lines: &[RestLine],
) -> String {
    let mut document = Document::new()
        .set("viewBox", (0, 0, WIDTH, HEIGHT))
        .set("role", "img")
        .add(Title::new(description));
    let (Some(first), Some(last)) = (marks.first(), marks.last()) else {
        return document.to_string();
    };
    let highest = lines.iter().map(|l| {
        let ends = l.band.iter().flatten().map(|b| b[1]);
        largest(0.0, l.points.iter().map(|p| p[1]).chain(ends))
    });
    let highest = largest(0.0, highest);
    // Nothing rests anywhere but at zero: an axis still needs a length.
    let high = if highest > 0.0 { 1.06 * highest } else { 1.0 };
    let frame = Frame { area: AREA, low: [first.1.log10(), 0.0], high: [last.1.log10(), high] };
    let [x0, y0, w, h] = AREA;
    for (value, label) in ticks(0.0, high, 5.0) {
        let [_, y] = frame.place([frame.low[0], value]);
        document = document
            .add(rule([x0, y], [x0 + w, y], palette::GRID, 1.0))
            .add(text(&label, [x0 - 9.0, y + 5.0], 14.0, palette::INK).set("text-anchor", "end"));
    }
    for (name, time) in marks {
        let [x, _] = frame.place([time.log10(), 0.0]);
        document = document
            .add(rule([x, y0], [x, y0 + h], palette::GRID, 1.0))
            .add(text(name, [x, y0 + h + 20.0], 14.0, palette::INK).set("text-anchor", "middle"));
    }
    document = document.add(text("kept", [x0, 17.0], 13.0, palette::INK));
    let mut key = x0 + 44.0;
    for (n, line) in lines.iter().enumerate() {
        let colour = palette::LINES[n % palette::LINES.len()];
        let at = |time: f64, rest: f64| frame.place([max(time, first.1).log10(), rest]);
        if let Some(band) = &line.band {
            document = document.add(area(line, band, colour, &at));
        }
        let points: Vec<[f64; 2]> =
            line.points.iter().map(|p| [max(p[0], first.1).log10(), p[1]]).collect();
        document = document
            .add(plain_line(&frame, &points, colour))
            .add(rule([key, 12.0], [key + 20.0, 12.0], colour, 3.0))
            .add(text(&line.name, [key + 26.0, 17.0], 13.0, palette::INK));
        key += 44.0 + 7.2 * line.name.chars().count() as f64;
    }
    document
        .add(rule([x0, y0 + h], [x0 + w, y0 + h], palette::INK, 1.2))
        .add(rule([x0, y0], [x0, y0 + h], palette::INK, 1.2))
        .add(text(&format!("rest, {unit}"), [x0 - 44.0, y0 - 12.0], 15.0, palette::INK))
        .add(
            text("time since it was let go", [x0 + w, y0 + h + 42.0], 15.0, palette::INK)
                .set("text-anchor", "end"),
        )
        .to_string()
}

/// Between the two ends of a band.
fn area(
    line: &RestLine,
    band: &[[f64; 2]],
    colour: &str,
    at: &impl Fn(f64, f64) -> [f64; 2],
) -> Path {
    let times = || line.points.iter().map(|p| p[0]).zip(band);
    let up = times().map(|(time, b)| at(time, b[1]));
    let back = times().rev().map(|(time, b)| at(time, b[0]));
    let mut data = Data::new();
    for (k, p) in up.chain(back).enumerate() {
        let [x, y] = p.map(rounded);
        data = if k == 0 { data.move_to((x, y)) } else { data.line_to((x, y)) };
    }
    Path::new().set("d", data.close()).set("fill", colour).set("fill-opacity", 0.13)
}
