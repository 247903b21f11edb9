//! Measured against computed: the pull, what is left of it, and speeds by mass.

use super::chart::{Panel, Series, plain_line};
use super::launch::cautions;
use super::part::{rounded, rule, text};
use super::{finish, page, palette};
use svg::Document;
use svg::node::element::{Circle, Group, Title};

/// What is drawn; either part may be missing.
#[derive(Clone, Debug)]
pub struct MeasuredPicture<'a> {
    /// Title of the part.
    pub title: &'a str,
    /// What was found.
    pub subtitle: &'a str,
    /// Units of draw and force.
    pub units: [&'a str; 2],
    /// Draw and force: as computed, with the reconciled modulus, and as measured from the fitted zero on.
    pub pull: Option<[&'a [[f64; 2]]; 3]>,
    /// Speeds by mass.
    pub speeds: Option<SpeedsPicture<'a>>,
}

/// Mass and speed.
#[derive(Clone, Copy, Debug)]
pub struct SpeedsPicture<'a> {
    /// Without losses, with the reconciled modulus.
    pub lossless: &'a [[f64; 2]],
    /// With the reconciled losses.
    pub reconciled: &'a [[f64; 2]],
    /// As measured.
    pub measured: &'a [[f64; 2]],
    /// Uncertainty of a measured speed, as a share of it.
    pub uncertainty: f64,
}

const WIDTH: f64 = 900.0;
const COMPUTED: &str = palette::FAINT_INK;
const RECONCILED: &str = palette::LINES[0];
const MEASURED: &str = palette::LINES[1];

/// On a page: width of a chart, the box of its panel without its height, and the height of the key above it.
const NARROW: f64 = 460.0;
const NARROW_BOX: [f64; 3] = [58.0, 34.0, 386.0];
const NARROW_KEY: f64 = 20.0;
/// Below a panel: its numbers and label.
const NARROW_FOOT: f64 = 52.0;

/// One panel with its key.
struct Chart<'a> {
    heading: &'static str,
    labels: [String; 2],
    height: f64,
    key: &'static [(&'static str, &'static str)],
    /// The panel has room for all of them.
    lines: Vec<Series>,
    /// How many of them are drawn.
    drawn: usize,
    line: &'a [[f64; 2]],
    readings: Vec<[f64; 2]>,
    uncertainty: f64,
}

/// Draws it.
#[must_use]
pub fn measured(picture: &MeasuredPicture) -> String {
    let mut parts: Vec<Group> = Vec::new();
    let mut top = 130.0;
    for chart in charts(picture) {
        parts.push(names([500.0, top - 19.0], chart.key));
        parts.push(chart.draw([92.0, top, 770.0, chart.height]));
        top += chart.height + 102.0;
    }
    if picture.speeds.is_some() {
        parts.push(cautions(top));
        top += 104.0;
    }
    let mut document = page([WIDTH, top - 30.0], picture.title, picture.subtitle);
    for part in parts {
        document = document.add(part);
    }
    finish(&document)
}

/// The same for a page: each panel with its heading, an `svg` element.
#[must_use]
pub fn measured_inline(picture: &MeasuredPicture) -> Vec<(&'static str, String)> {
    let drawn = charts(picture).into_iter().map(|chart| {
        let [x, y, w] = NARROW_BOX;
        let y = y + if chart.key.is_empty() { 0.0 } else { NARROW_KEY };
        let document = Document::new()
            .set("viewBox", (0, 0, NARROW, y + chart.height + NARROW_FOOT))
            .set("role", "img")
            .add(Title::new(chart.heading))
            .add(names([x, 0.5 * NARROW_KEY], chart.key))
            .add(chart.draw([x, y, w, chart.height]));
        (chart.heading, document.to_string())
    });
    drawn.collect()
}

/// The pull, what is left of it, and the speeds, as far as they were measured.
fn charts<'a>(picture: &MeasuredPicture<'a>) -> Vec<Chart<'a>> {
    let mut charts = Vec::new();
    if let Some([computed, reconciled, readings]) = picture.pull {
        let [length, force] = picture.units;
        let x_label = format!("draw, {length}");
        charts.push(Chart {
            heading: "The pull",
            labels: [x_label.clone(), format!("force, {force}")],
            height: 270.0,
            key: &[("computed", COMPUTED), ("reconciled", RECONCILED), ("measured", MEASURED)],
            lines: vec![dashed(computed), dashed(reconciled), dashed(readings)],
            drawn: 1,
            line: reconciled,
            readings: readings.to_vec(),
            uncertainty: 0.0,
        });
        let left: Vec<[f64; 2]> =
            readings.iter().map(|[x, f]| [*x, f - interpolated(reconciled, *x)]).collect();
        // With rest and full draw of the panel above, so that both have one axis.
        let ends = computed.first().into_iter().chain(computed.last()).map(|p| [p[0], 0.0]);
        charts.push(Chart {
            heading: "What is left of it",
            labels: [x_label, format!("measured less reconciled, {force}")],
            height: 130.0,
            key: &[],
            lines: vec![dashed(&left), dashed(&ends.collect::<Vec<_>>())],
            drawn: 0,
            line: &[],
            readings: left,
            uncertainty: 0.0,
        });
    }
    if let Some(speeds) = &picture.speeds {
        charts.push(Chart {
            heading: "The speeds",
            labels: ["mass thrown, g".to_owned(), "speed, m/s".to_owned()],
            height: 240.0,
            key: &[("no losses", COMPUTED), ("reconciled", RECONCILED), ("measured", MEASURED)],
            lines: vec![
                dashed(speeds.lossless),
                dashed(speeds.reconciled),
                dashed(speeds.measured),
            ],
            drawn: 1,
            line: speeds.reconciled,
            readings: speeds.measured.to_vec(),
            uncertainty: speeds.uncertainty,
        });
    }
    charts
}

impl Chart<'_> {
    /// Its lines, and the readings with their bars.
    fn draw(&self, area: [f64; 4]) -> Group {
        let [x_label, y_label] = &self.labels;
        let room = Panel { area, x_label, y_label, series: &self.lines };
        let frame = room.frame();
        // The room of all is that of the panel: its own lines are drawn within it.
        let mut group = room.draw_only(&self.lines[..self.drawn]);
        if !self.line.is_empty() {
            group = group.add(plain_line(&frame, self.line, RECONCILED));
        }
        for [x, y] in &self.readings {
            let at = frame.place([*x, *y]);
            let [px, py] = at.map(rounded);
            if self.uncertainty > 0.0 {
                let ends = [1.0 - self.uncertainty, 1.0 + self.uncertainty]
                    .map(|f| frame.place([*x, f * y])[1]);
                group = group.add(rule([at[0], ends[0]], [at[0], ends[1]], MEASURED, 1.5));
            }
            let dot = Circle::new().set("cx", px).set("cy", py).set("r", 4.0).set("fill", MEASURED);
            group = group.add(dot);
        }
        group
    }
}

fn dashed(points: &[[f64; 2]]) -> Series {
    Series {
        name: String::new(),
        colour: COMPUTED,
        points: points.to_vec(),
        hollow: Vec::new(),
        aside: true,
    }
}

/// What the colours mean, above a panel.
fn names([mut x, y]: [f64; 2], key: &[(&str, &str)]) -> Group {
    let mut group = Group::new();
    for (name, colour) in key {
        group = group.add(rule([x, y], [x + 24.0, y], colour, 3.0)).add(text(
            name,
            [x + 30.0, y + 5.0],
            14.0,
            palette::INK,
        ));
        x += 50.0 + 8.0 * name.chars().count() as f64;
    }
    group
}

/// Straight between the points of a line.
fn interpolated(line: &[[f64; 2]], x: f64) -> f64 {
    let after = line.partition_point(|p| p[0] < x).clamp(1, line.len().saturating_sub(1).max(1));
    match (line.get(after - 1), line.get(after)) {
        (Some([x0, y0]), Some([x1, y1])) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        _ => f64::NAN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reading_is_a_dot_and_every_line_has_its_name() {
        let line = [[0.0, 0.0], [6.0, 40.0]];
        let readings = [[1.0, 6.0], [3.0, 21.0], [6.0, 39.0]];
        let picture = MeasuredPicture {
            title: "Kicker",
            subtitle: "E = 1900 MPa",
            units: ["mm", "N"],
            pull: Some([&line, &line, &readings]),
            speeds: Some(SpeedsPicture {
                lossless: &[[1.0, 9.0], [5.0, 5.0]],
                reconciled: &[[1.0, 8.0], [5.0, 4.5]],
                measured: &readings[..2],
                uncertainty: 0.01,
            }),
        };
        let drawn = measured(&picture);
        // Three in the pull, three of what is left, two speeds.
        assert_eq!(drawn.matches("<circle").count(), 8, "{drawn}");
        for words in [
            "computed",
            "reconciled",
            "measured",
            "no losses",
            "eye protection",
            "draw, mm",
            "mass thrown, g",
        ] {
            assert!(drawn.contains(words), "{words}");
        }
        assert!((interpolated(&line, 3.0) - 20.0).abs() < 1e-12);
    }
}
