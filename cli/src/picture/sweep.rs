//! Designs as small multiples: one panel an outcome, over the first varied number, coloured by the second.
//!
//! It is drawn from the table itself, so that shards that are joined give the picture of the whole.

use super::axis::{three_digits, ticks};
use super::chart::Frame;
use super::part::{rounded, rule, text};
use super::{finish, page, palette};
use std::collections::BTreeMap;
use svg::node::element::{Circle, Group, Path, path::Data};
use withy_mesh::number::{max, min};

const WIDTH: f64 = 1180.0;
const PANEL: [f64; 2] = [290.0, 200.0];
const GAP: [f64; 2] = [90.0, 92.0];
const TOP: f64 = 116.0;
const ACROSS: usize = 3;
/// More values than this of the second number are shown by the ends of the scale.
const MOST_NAMED: usize = 8;
/// The palest colour that stands out from the page.
const PALEST: f64 = 0.2;

/// The outcomes that are drawn: column, label, factor.
const OUTCOMES: [(&str, &str, f64); 8] = [
    ("force_N", "force at full draw, N", 1.0),
    ("moment_Nmm", "moment at full draw, N mm", 1.0),
    ("energy_mJ", "stored energy, mJ", 1.0),
    ("safe_draw_mm", "largest safe draw, mm", 1.0),
    ("safe_draw_deg", "largest safe turn, degrees", 1.0),
    ("peak_strain", "largest strain, %", 100.0),
    ("in_turn_Nmm_per_deg", "guidance in turn, N mm/deg", 1.0),
    ("speed_m_per_s", "speed of what is thrown, m/s", 1.0),
];

/// A column of a table: numbers, or the places of texts in order of appearance.
struct Column {
    name: String,
    values: Vec<Option<f64>>,
    /// Texts by place; empty for numbers.
    texts: Vec<String>,
}

/// Draws the table of a sweep (CSV).
#[must_use]
pub fn sweep_picture(title: &str, table: &str) -> String {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let headers: Vec<String> =
        reader.headers().map(|h| h.iter().map(str::to_owned).collect()).unwrap_or_default();
    let rows: Vec<csv::StringRecord> = reader.records().filter_map(Result::ok).collect();
    let first = crate::sweep::rows::FIRST.len();
    let outcome = headers.iter().position(|h| h == "outcome").unwrap_or(first);
    let solved = rows.iter().filter(|r| r.get(outcome).is_some_and(|o| o == "solved")).count();
    let panels: Vec<(Column, &str, f64)> = OUTCOMES
        .into_iter()
        .filter_map(|(name, label, factor)| {
            let at = headers.iter().position(|h| h == name)?;
            let column = column(name, at, &rows);
            column.values.iter().any(Option::is_some).then_some((column, label, factor))
        })
        .collect();
    let lines = panels.len().div_ceil(ACROSS).max(1);
    let height = TOP + lines as f64 * (PANEL[1] + GAP[1]) + 70.0;
    let subtitle = format!("{} designs, {solved} solved to full draw", rows.len());
    let mut document = page([WIDTH, height], title, &subtitle);
    if outcome <= first || panels.is_empty() {
        return finish(&document);
    }
    let x = column(&headers[first], first, &rows);
    let by = (outcome > first + 1).then(|| column(&headers[first + 1], first + 1, &rows));
    for (k, (y, label, factor)) in panels.iter().enumerate() {
        let corner = [
            84.0 + (k % ACROSS) as f64 * (PANEL[0] + GAP[0]),
            TOP + (k / ACROSS) as f64 * (PANEL[1] + GAP[1]),
        ];
        // Lines only where each value of the first number has one design of its colour.
        let joined = outcome <= first + 2;
        document = document.add(panel(corner, &x, by.as_ref(), y, *factor, label, joined));
    }
    if let Some(by) = &by {
        document = document.add(key(by, height - 44.0));
    }
    finish(&document)
}

fn column(name: &str, at: usize, rows: &[csv::StringRecord]) -> Column {
    let cells: Vec<&str> = rows.iter().map(|r| r.get(at).unwrap_or_default()).collect();
    let numbers: Vec<Option<f64>> =
        cells.iter().map(|c| c.parse().ok().filter(|v: &f64| v.is_finite())).collect();
    let is_text = cells.iter().zip(&numbers).any(|(c, n)| !c.is_empty() && n.is_none());
    if !is_text {
        return Column { name: name.to_owned(), values: numbers, texts: Vec::new() };
    }
    let mut texts: Vec<String> = Vec::new();
    let values = cells
        .iter()
        .map(|c| {
            let known = texts.iter().position(|t| t == c);
            let place = known.unwrap_or_else(|| {
                texts.push((*c).to_owned());
                texts.len() - 1
            });
            Some(place as f64)
        })
        .collect();
    Column { name: name.to_owned(), values, texts }
}

impl Column {
    fn ends(&self, factor: f64) -> [f64; 2] {
        let known = self.values.iter().flatten().map(|v| factor * v);
        known.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], v| [min(a, v), max(b, v)])
    }

    /// Where a value is between the ends.
    fn share(&self, value: f64) -> f64 {
        let [low, high] = self.ends(1.0);
        if high > low { (value - low) / (high - low) } else { 1.0 }
    }

    fn colour(&self, value: f64) -> String {
        palette::heat(PALEST + (1.0 - PALEST) * self.share(value))
    }
}

fn panel(
    [x0, y0]: [f64; 2],
    x: &Column,
    by: Option<&Column>,
    y: &Column,
    factor: f64,
    label: &str,
    joined: bool,
) -> Group {
    let [w, h] = PANEL;
    let ([x_low, x_high], [y_low, y_high]) = (x.ends(1.0), y.ends(factor));
    let margin = |low: f64, high: f64| if high > low { 0.06 * (high - low) } else { 0.5 };
    let (mx, y_low) = (margin(x_low, x_high), min(0.0, y_low));
    let frame = Frame {
        area: [x0, y0, w, h],
        low: [x_low - mx, y_low],
        high: [x_high + mx, y_high + margin(y_low, y_high)],
    };
    let mut group = Group::new().add(text(label, [x0 - 44.0, y0 - 14.0], 15.0, palette::INK));
    for (value, label) in ticks(frame.low[1], frame.high[1], 4.0) {
        let [_, at] = frame.place([x_low, value]);
        group = group
            .add(rule([x0, at], [x0 + w, at], palette::GRID, 1.0))
            .add(text(&label, [x0 - 8.0, at + 5.0], 13.0, palette::INK).set("text-anchor", "end"));
    }
    let marks: Vec<(f64, String)> = if x.texts.is_empty() {
        ticks(frame.low[0], frame.high[0], 4.0)
    } else {
        x.texts.iter().enumerate().map(|(k, t)| (k as f64, t.clone())).collect()
    };
    for (value, label) in marks {
        let [at, _] = frame.place([value, y_low]);
        group = group.add(rule([at, y0], [at, y0 + h], palette::GRID, 1.0)).add(
            text(&label, [at, y0 + h + 18.0], 13.0, palette::INK).set("text-anchor", "middle"),
        );
    }
    group = group
        .add(rule([x0, y0 + h], [x0 + w, y0 + h], palette::INK, 1.2))
        .add(rule([x0, y0], [x0, y0 + h], palette::INK, 1.2))
        .add(
            text(&with_unit(&x.name), [x0 + w, y0 + h + 38.0], 13.0, palette::INK)
                .set("text-anchor", "end"),
        );
    let colour = |n: usize| match by.and_then(|by| Some((by, by.values[n]?))) {
        Some((by, value)) => by.colour(value),
        None => palette::LINES[0].to_owned(),
    };
    let points: Vec<(usize, [f64; 2])> = (0..y.values.len())
        .filter_map(|n| Some((n, frame.place([x.values[n]?, factor * y.values[n]?]))))
        .collect();
    if joined {
        let mut lines: BTreeMap<String, Vec<[f64; 2]>> = BTreeMap::new();
        for (n, p) in &points {
            lines.entry(colour(*n)).or_default().push(*p);
        }
        for (colour, mut line) in lines {
            line.sort_by(|a, b| a[0].total_cmp(&b[0]));
            let mut data = Data::new();
            for (k, p) in line.iter().enumerate() {
                let at = (rounded(p[0]), rounded(p[1]));
                data = if k == 0 { data.move_to(at) } else { data.line_to(at) };
            }
            let line = Path::new().set("d", data).set("fill", "none").set("stroke", colour);
            group = group.add(line.set("stroke-width", 1.6));
        }
    }
    for (n, [px, py]) in points {
        let dot = Circle::new().set("cx", rounded(px)).set("cy", rounded(py)).set("r", 3.0);
        group = group.add(dot.set("fill", colour(n)));
    }
    group
}

/// What the colours mean.
fn key(by: &Column, y: f64) -> Group {
    let mut distinct: Vec<f64> = by.values.iter().flatten().copied().collect();
    distinct.sort_by(f64::total_cmp);
    distinct.dedup();
    if distinct.len() > MOST_NAMED {
        let [low, high] = by.ends(1.0);
        distinct = (0..5).map(|k| low + f64::from(k) / 4.0 * (high - low)).collect();
    }
    let name = with_unit(&by.name);
    let mut x = 84.0 + 7.5 * name.chars().count() as f64 + 24.0;
    let mut group = Group::new().add(text(&name, [84.0, y + 5.0], 14.0, palette::INK));
    for value in distinct {
        let place = by.texts.iter().enumerate().find(|(k, _)| (*k as f64 - value).abs() < 0.5);
        let words = place.map_or_else(|| three_digits(value), |(_, t)| t.clone());
        let dot = Circle::new().set("cx", rounded(x)).set("cy", rounded(y)).set("r", 6.0);
        group = group.add(dot.set("fill", by.colour(value))).add(text(
            &words,
            [x + 12.0, y + 5.0],
            14.0,
            palette::INK,
        ));
        x += 44.0 + 8.0 * words.chars().count() as f64;
    }
    group
}

/// "spring.width_mm" as "spring.width, mm".
fn with_unit(column: &str) -> String {
    match column.rsplit_once('_') {
        Some((key, unit @ ("mm" | "deg" | "N" | "MPa" | "GPa" | "g" | "in" | "cm" | "%"))) => {
            format!("{key}, {unit}")
        }
        _ => column.to_owned(),
    }
}
