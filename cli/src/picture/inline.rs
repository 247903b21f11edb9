//! Charts without a page of their own, for a report that lets a marker run along them.

use super::chart::{Frame, Panel, Series};
use super::curve::{CurveLine, united};
use super::palette;
use super::part::{rounded, rule, text};
use svg::Document;
use svg::node::element::{Circle, Group, Title};
use withy_mesh::number::{max, min};

const WIDTH: f64 = 460.0;
const HEIGHT: f64 = 236.0;
const AREA: [f64; 4] = [58.0, 34.0, 386.0, 150.0];
/// Lines are told apart by a key, which takes a line of its own.
const KEY_HEIGHT: f64 = 20.0;

/// A chart as an element of a page.
#[derive(Clone, Debug)]
pub struct InlineChart {
    /// The `svg` element.
    pub svg: String,
    /// Box of the panel in the element's own pixels: x, y, width, height.
    pub area: [f64; 4],
    /// Numbers at the lower left corner of the box.
    pub low: [f64; 2],
    /// Numbers at its upper right corner.
    pub high: [f64; 2],
    /// Which of the given lines are drawn.
    pub drawn: Vec<usize>,
    /// Their colours.
    pub colours: Vec<&'static str>,
}

/// Draws lines of one unit along their travel; `aside` ones thin and dashed, `first_colour` is the first
/// line's. `None` without lines.
#[must_use]
pub fn inline_chart(
    description: &str,
    lines: &[CurveLine],
    aside: &[CurveLine],
    first_colour: usize,
) -> Option<InlineChart> {
    let first = lines.first()?;
    let alike = |l: &&CurveLine| l.effort_label == first.effort_label;
    let shown = united(lines.iter().filter(alike));
    let beside = united(aside.iter().filter(alike));
    let colour = |i: usize| palette::LINES[(first_colour + i) % palette::LINES.len()];
    let points = |l: &CurveLine| l.travel.iter().zip(&l.effort).map(|(x, y)| [*x, *y]).collect();
    let perfect = beside.iter().map(|l| Series {
        name: "perfect part".into(),
        colour: palette::FAINT_INK,
        points: points(l),
        hollow: Vec::new(),
        aside: true,
    });
    let own = shown.iter().enumerate().map(|(i, l)| Series {
        name: l.name.clone(),
        colour: colour(i),
        points: points(l),
        hollow: l.stable.iter().map(|s| !s).collect(),
        aside: false,
    });
    let series: Vec<Series> = perfect.chain(own).collect();
    let labels = [&first.travel_label[..], &first.effort_label];
    let (svg, frame) = lines_inline(description, labels, &series, |panel: &Panel| panel.draw());
    Some(InlineChart {
        svg,
        area: frame.area,
        low: frame.low,
        high: frame.high,
        drawn: shown
            .iter()
            .filter_map(|s| lines.iter().position(|l| s.name.starts_with(l.name.as_str())))
            .collect(),
        colours: (0..shown.len()).map(colour).collect(),
    })
}

/// A chart of `labels` along and across, with a key where there is more than one line, and where its numbers stand;
/// `draw` draws the panel.
pub(super) fn lines_inline(
    description: &str,
    labels: [&str; 2],
    series: &[Series],
    draw: impl Fn(&Panel) -> Group,
) -> (String, Frame) {
    let named: Vec<&Series> = if series.len() > 1 { series.iter().collect() } else { Vec::new() };
    let (key, drop) = key(&named);
    let [x, y, w, h] = AREA;
    let [x_label, y_label] = labels;
    let panel = Panel { area: [x, y + drop, w, h], x_label, y_label, series };
    let document = Document::new()
        .set("viewBox", (0, 0, WIDTH, HEIGHT + drop))
        .set("role", "img")
        .add(Title::new(description))
        .add(draw(&panel))
        .add(key);
    (document.to_string(), panel.frame())
}

/// Names of lines in as many rows as they take, and how high these are.
fn key(series: &[&Series]) -> (Group, f64) {
    let mut group = Group::new();
    let (mut x, mut row) = (AREA[0], 0.0);
    for s in series {
        let width = 44.0 + 7.2 * s.name.chars().count() as f64;
        if x > AREA[0] && x + width > WIDTH {
            (x, row) = (AREA[0], row + 1.0);
        }
        let y = (row + 0.5) * KEY_HEIGHT;
        group = group.add(rule([x, y], [x + 20.0, y], s.colour, 3.0)).add(text(
            &s.name,
            [x + 26.0, y + 5.0],
            13.0,
            palette::INK,
        ));
        x += width;
    }
    (group, if series.is_empty() { 0.0 } else { (row + 1.0) * KEY_HEIGHT })
}

/// A number of a sequence, with what it belongs to.
#[derive(Clone, Debug)]
pub struct Stop {
    /// Under the point.
    pub label: String,
    /// Over the point.
    pub shown: String,
    /// The number.
    pub value: f64,
}

const STRIP_HEIGHT: f64 = 150.0;

/// Draws a sequence that settles, on a scale of its own, with a band of `tolerance` (relative) around its
/// last number.
#[must_use]
pub fn settling_strip(description: &str, stops: &[Stop], tolerance: f64) -> String {
    let mut document = Document::new()
        .set("viewBox", (0, 0, WIDTH, STRIP_HEIGHT))
        .set("role", "img")
        .add(Title::new(description));
    let Some(last) = stops.last() else { return document.to_string() };
    let band = (tolerance * last.value).abs();
    let (mut low, mut high) = (last.value - band, last.value + band);
    for stop in stops {
        (low, high) = (min(low, stop.value), max(high, stop.value));
    }
    let [top, bottom] = [36.0, 104.0];
    let place_y = |v: f64| {
        if high > low {
            bottom - (bottom - top) * (v - low) / (high - low)
        } else {
            0.5 * (top + bottom)
        }
    };
    let spacing = (WIDTH - 90.0) / (stops.len().max(2) - 1) as f64;
    let place_x = |n: usize| if stops.len() == 1 { 0.5 * WIDTH } else { 45.0 + spacing * n as f64 };
    let edge = place_y(last.value + band);
    document = document.add(
        svg::node::element::Rectangle::new()
            .set("x", 8)
            .set("width", WIDTH - 16.0)
            .set("y", rounded(edge))
            .set("height", rounded(place_y(last.value - band) - edge))
            .set("fill", palette::GRID),
    );
    for n in 1..stops.len() {
        let from = [place_x(n - 1), place_y(stops[n - 1].value)];
        let to = [place_x(n), place_y(stops[n].value)];
        document = document.add(rule(from, to, palette::LINES[0], 2.0));
    }
    for (n, stop) in stops.iter().enumerate() {
        let (x, y) = (place_x(n), place_y(stop.value));
        let dot = Circle::new()
            .set("cx", rounded(x))
            .set("cy", rounded(y))
            .set("r", 4)
            .set("fill", palette::LINES[0]);
        let above =
            text(&stop.shown, [x, y - 11.0], 14.0, palette::INK).set("text-anchor", "middle");
        let below = text(&stop.label, [x, STRIP_HEIGHT - 22.0], 12.5, palette::FAINT_INK)
            .set("text-anchor", "middle");
        document = document.add(dot).add(above).add(below);
    }
    document.to_string()
}

/// The heat scale as so many colours, lowest first.
#[must_use]
pub fn heat_colours(count: u32) -> Vec<String> {
    let last = f64::from(max_one(count.saturating_sub(1)));
    (0..count).map(|i| palette::heat(f64::from(i) / last)).collect()
}

fn max_one(count: u32) -> u32 {
    if count == 0 { 1 } else { count }
}

/// Round numbers from 0 to `highest`, about `count`, with their labels.
#[must_use]
pub fn scale_ticks(highest: f64, count: f64) -> Vec<(f64, String)> {
    super::axis::ticks(0.0, highest, count)
}
