//! Measured against computed: the pull, what is left of it, and speeds by mass.

use super::chart::{Panel, Series, plain_line};
use super::launch::cautions;
use super::part::{rounded, rule, text};
use super::{finish, page, palette};
use svg::node::element::{Circle, Group};

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

/// Draws it.
#[must_use]
pub fn measured(picture: &MeasuredPicture) -> String {
    let mut parts: Vec<Group> = Vec::new();
    let mut top = 130.0;
    if let Some([computed, reconciled, readings]) = picture.pull {
        let [length, force] = picture.units;
        let x_label = format!("draw, {length}");
        let key = [("computed", COMPUTED), ("reconciled", RECONCILED), ("measured", MEASURED)];
        parts.push(names(top, &key));
        let lines = [dashed(computed), dashed(reconciled), dashed(readings)];
        let panel = Panel {
            area: [92.0, top, 770.0, 270.0],
            x_label: &x_label,
            y_label: &format!("force, {force}"),
            series: &lines[..1],
        };
        parts.push(panel_with(&panel, &lines, reconciled, readings, 0.0));
        top += 372.0;
        let left: Vec<[f64; 2]> =
            readings.iter().map(|[x, f]| [*x, f - interpolated(reconciled, *x)]).collect();
        // With rest and full draw of the panel above, so that both have one axis.
        let ends = computed.first().into_iter().chain(computed.last()).map(|p| [p[0], 0.0]);
        let lines = [dashed(&left), dashed(&ends.collect::<Vec<_>>())];
        let panel = Panel {
            area: [92.0, top, 770.0, 130.0],
            x_label: &x_label,
            y_label: &format!("measured less reconciled, {force}"),
            series: &[],
        };
        parts.push(panel_with(&panel, &lines, &[], &left, 0.0));
        top += 232.0;
    }
    if let Some(speeds) = &picture.speeds {
        let key = [("no losses", COMPUTED), ("reconciled", RECONCILED), ("measured", MEASURED)];
        parts.push(names(top, &key));
        let lines = [dashed(speeds.lossless), dashed(speeds.reconciled), dashed(speeds.measured)];
        let panel = Panel {
            area: [92.0, top, 770.0, 240.0],
            x_label: "mass thrown, g",
            y_label: "speed, m/s",
            series: &lines[..1],
        };
        parts.push(panel_with(
            &panel,
            &lines,
            speeds.reconciled,
            speeds.measured,
            speeds.uncertainty,
        ));
        top += 326.0;
        parts.push(cautions(top));
        top += 104.0;
    }
    let mut document = page([WIDTH, top - 30.0], picture.title, picture.subtitle);
    for part in parts {
        document = document.add(part);
    }
    finish(&document)
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

/// A panel that has room for all `lines`, draws its own series, a plain line and readings with their bars.
fn panel_with(
    panel: &Panel,
    lines: &[Series],
    line: &[[f64; 2]],
    readings: &[[f64; 2]],
    uncertainty: f64,
) -> Group {
    let room = Panel { series: lines, ..*panel };
    let frame = room.frame();
    // The room of all is that of the panel: its own lines are drawn within it.
    let mut group = room.draw_only(panel.series);
    if !line.is_empty() {
        group = group.add(plain_line(&frame, line, RECONCILED));
    }
    for [x, y] in readings {
        let at = frame.place([*x, *y]);
        let [px, py] = at.map(rounded);
        if uncertainty > 0.0 {
            let ends = [1.0 - uncertainty, 1.0 + uncertainty].map(|f| frame.place([*x, f * y])[1]);
            group = group.add(rule([at[0], ends[0]], [at[0], ends[1]], MEASURED, 1.5));
        }
        let dot = Circle::new().set("cx", px).set("cy", py).set("r", 4.0).set("fill", MEASURED);
        group = group.add(dot);
    }
    group
}

/// What the colours mean, above a panel.
fn names(top: f64, key: &[(&str, &str)]) -> Group {
    let mut group = Group::new();
    let mut x = 500.0;
    for (name, colour) in key {
        let y = top - 19.0;
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
