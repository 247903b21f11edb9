//! One panel of a line chart.

use super::axis::ticks;
use super::palette;
use super::part::{rounded, rule, text};
use svg::node::element::{Circle, Group, Path, path::Data};
use withy_mesh::number::{max, min};

/// A line of a chart.
#[derive(Clone, Debug)]
pub(super) struct Series {
    pub(super) name: String,
    pub(super) colour: &'static str,
    pub(super) points: Vec<[f64; 2]>,
    /// Points drawn hollow: states that are not stable.
    pub(super) hollow: Vec<bool>,
    /// A thin dashed line without points: what is shown for comparison.
    pub(super) aside: bool,
}

/// A panel: axes, grid and lines in the box `[x, y, width, height]` of the page.
pub(super) struct Panel<'a> {
    pub(super) area: [f64; 4],
    pub(super) x_label: &'a str,
    pub(super) y_label: &'a str,
    pub(super) series: &'a [Series],
}

/// Where numbers stand in a panel: its box on the page and the numbers at the box's ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    pub(super) area: [f64; 4],
    pub(super) low: [f64; 2],
    pub(super) high: [f64; 2],
}

impl Frame {
    pub(super) fn place(&self, p: [f64; 2]) -> [f64; 2] {
        let ([x, y, w, h], low, high) = (self.area, self.low, self.high);
        [
            x + w * (p[0] - low[0]) / (high[0] - low[0]),
            y + h * (1.0 - (p[1] - low[1]) / (high[1] - low[1])),
        ]
    }
}

impl Panel<'_> {
    /// Zero and all points, with some room above them.
    pub(super) fn frame(&self) -> Frame {
        let all = || self.series.iter().flat_map(|s| s.points.iter());
        let (mut low, mut high) = ([0.0, 0.0], [0.0, 0.0]);
        for p in all() {
            for i in 0..2 {
                low[i] = min(low[i], p[i]);
                high[i] = max(high[i], p[i]);
            }
        }
        for i in 0..2 {
            // Nothing happens: an axis still needs a length.
            if high[i] <= low[i] {
                high[i] = low[i] + 1.0;
            }
        }
        let headroom = 0.06 * (high[1] - low[1]);
        high[1] += headroom;
        if low[1] < 0.0 {
            low[1] -= headroom;
        }
        Frame { area: self.area, low, high }
    }

    pub(super) fn draw(&self) -> Group {
        self.draw_only(self.series)
    }

    /// Axes with room for all of the panel's lines, and some of the lines.
    pub(super) fn draw_only(&self, lines: &[Series]) -> Group {
        let frame = self.frame();
        let (Frame { low, high, .. }, [x0, y0, w, h]) = (frame, self.area);
        let place = |p: [f64; 2]| frame.place(p);
        let mut group = Group::new();
        for (value, label) in ticks(low[1], high[1], 5.0) {
            let [_, y] = place([0.0, value]);
            group = group.add(rule([x0, y], [x0 + w, y], palette::GRID, 1.0)).add(
                text(&label, [x0 - 9.0, y + 5.0], 14.0, palette::INK).set("text-anchor", "end"),
            );
        }
        for (value, label) in ticks(low[0], high[0], 7.0) {
            let [x, _] = place([value, 0.0]);
            group = group.add(rule([x, y0], [x, y0 + h], palette::GRID, 1.0)).add(
                text(&label, [x, y0 + h + 20.0], 14.0, palette::INK).set("text-anchor", "middle"),
            );
        }
        let [_, zero] = place([0.0, 0.0]);
        group = group
            .add(rule([x0, zero], [x0 + w, zero], palette::INK, 1.2))
            .add(rule([x0, y0], [x0, y0 + h], palette::INK, 1.2))
            .add(text(self.y_label, [x0 - 44.0, y0 - 14.0], 15.0, palette::INK))
            .add(
                text(self.x_label, [x0 + w, y0 + h + 42.0], 15.0, palette::INK)
                    .set("text-anchor", "end"),
            );
        for series in lines {
            group = group.add(line(series, &place));
        }
        group
    }
}

/// A plain line through points, where a panel's points would only crowd.
pub(super) fn plain_line(frame: &Frame, points: &[[f64; 2]], colour: &str) -> Path {
    let mut data = Data::new();
    for (k, p) in points.iter().enumerate() {
        let [x, y] = frame.place(*p).map(rounded);
        data = if k == 0 { data.move_to((x, y)) } else { data.line_to((x, y)) };
    }
    Path::new()
        .set("d", data)
        .set("fill", "none")
        .set("stroke", colour)
        .set("stroke-width", 2.2)
        .set("stroke-linejoin", "round")
}

fn line(series: &Series, place: &impl Fn([f64; 2]) -> [f64; 2]) -> Group {
    let mut data = Data::new();
    let mut dots = Group::new();
    let (width, dash) = if series.aside { (1.3, "6 4") } else { (2.2, "none") };
    for (i, p) in series.points.iter().enumerate() {
        let [x, y] = place(*p);
        let at = (rounded(x), rounded(y));
        data = if i == 0 { data.move_to(at) } else { data.line_to(at) };
        if series.aside {
            continue;
        }
        let hollow = series.hollow.get(i).copied().unwrap_or(false);
        dots = dots.add(
            Circle::new()
                .set("cx", at.0)
                .set("cy", at.1)
                .set("r", if hollow { 4.0 } else { 3.0 })
                .set("fill", if hollow { palette::PAGE } else { series.colour })
                .set("stroke", series.colour)
                .set("stroke-width", 1.5),
        );
    }
    Group::new()
        .add(
            Path::new()
                .set("d", data)
                .set("fill", "none")
                .set("stroke", series.colour)
                .set("stroke-width", width)
                .set("stroke-dasharray", dash)
                .set("stroke-linejoin", "round"),
        )
        .add(dots)
}
