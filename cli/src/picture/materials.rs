//! Energy of each material at its own largest safe draw, with the range that its spreads leave open.
//!
//! A filled dot is the card's value, the bar its range; a hollow dot with an arrow is a lower bound,
//! because no limit was met within the solved draw.

use super::axis::ticks;
use super::part::{rounded, rule, text};
use super::{finish, page, palette};
use svg::node::element::{Circle, Group, Path, path::Data};
use withy_mesh::number::{largest, max};

/// One material.
#[derive(Clone, Debug)]
pub struct EnergyBar {
    /// Its name.
    pub name: String,
    /// Whether it is the part's own.
    pub own: bool,
    /// Energy at its largest safe draw (mJ).
    pub energy: f64,
    /// What the spreads leave open (mJ).
    pub range: Option<[f64; 2]>,
    /// Whether the energy is a lower bound.
    pub at_least: bool,
    /// Whether the range's upper end is a lower bound.
    pub high_at_least: bool,
    /// What stands at the right: how far, and what then.
    pub words: String,
}

/// The whole picture.
#[derive(Clone, Debug)]
pub struct MaterialsPicture<'a> {
    /// Title of the part.
    pub title: &'a str,
    /// What it shows.
    pub subtitle: &'a str,
    /// From the top.
    pub bars: &'a [EnergyBar],
}

const WIDTH: f64 = 900.0;
const LEFT: f64 = 160.0;
const CHART: f64 = 430.0;
const TOP: f64 = 118.0;
const ROW: f64 = 30.0;

/// Draws it.
#[must_use]
pub fn materials(picture: &MaterialsPicture) -> String {
    let bottom = TOP + ROW * picture.bars.len() as f64;
    let mut document = page([WIDTH, bottom + 108.0], picture.title, picture.subtitle);
    let ends = picture.bars.iter().flat_map(|b| [Some(b.energy), b.range.map(|r| r[1])]);
    let highest = 1.06 * max(largest(0.0, ends.flatten()), f64::MIN_POSITIVE);
    let place = |energy: f64| LEFT + CHART * energy / highest;
    for (value, label) in ticks(0.0, highest, 6.0) {
        let x = place(value);
        document = document
            .add(rule([x, TOP - 8.0], [x, bottom], palette::GRID, 1.0))
            .add(text(&label, [x, bottom + 20.0], 14.0, palette::INK).set("text-anchor", "middle"));
    }
    document = document
        .add(rule([LEFT, TOP - 8.0], [LEFT, bottom], palette::INK, 1.2))
        .add(
            text(
                "energy at the largest safe draw, mJ",
                [LEFT + CHART, bottom + 44.0],
                15.0,
                palette::INK,
            )
            .set("text-anchor", "end"),
        )
        .add(text(
            "energy, safe draw, what ends it",
            [LEFT + CHART + 26.0, TOP - 14.0],
            14.0,
            palette::FAINT_INK,
        ));
    for (n, bar) in picture.bars.iter().enumerate() {
        document = document.add(row(bar, TOP + ROW * (n as f64 + 0.5), &place));
    }
    document = document.add(key(bottom + 76.0));
    finish(&document)
}

fn row(bar: &EnergyBar, y: f64, place: &impl Fn(f64) -> f64) -> Group {
    let colour = if bar.own { palette::LINES[1] } else { palette::LINES[0] };
    let name = if bar.own { format!("{} (this part)", bar.name) } else { bar.name.clone() };
    let mut group = Group::new().add(
        text(&name, [LEFT - 10.0, y + 5.0], 14.0, palette::INK)
            .set("text-anchor", "end")
            .set("font-weight", if bar.own { "bold" } else { "normal" }),
    );
    if let Some([low, high]) = bar.range {
        group = group.add(
            rule([place(low), y], [place(high), y], colour, 7.0)
                .set("stroke-opacity", 0.28)
                .set("stroke-linecap", "butt"),
        );
        if bar.high_at_least {
            group = group.add(arrow(place(high), y, colour));
        }
    }
    let x = place(bar.energy);
    group = group.add(
        Circle::new()
            .set("cx", rounded(x))
            .set("cy", rounded(y))
            .set("r", 5.5)
            .set("fill", if bar.at_least { palette::PAGE } else { colour })
            .set("stroke", colour)
            .set("stroke-width", 2),
    );
    if bar.at_least && bar.range.is_none() {
        group = group.add(arrow(x + 7.0, y, colour));
    }
    group.add(text(&bar.words, [LEFT + CHART + 26.0, y + 5.0], 14.0, palette::INK))
}

/// A head that points to more.
fn arrow(x: f64, y: f64, colour: &str) -> Path {
    let at = |dx: f64, dy: f64| (rounded(x + dx), rounded(y + dy));
    let head =
        Data::new().move_to(at(0.0, -6.0)).line_to(at(8.0, 0.0)).line_to(at(0.0, 6.0)).close();
    Path::new().set("d", head).set("fill", colour)
}

fn key(y: f64) -> Group {
    let ink = palette::FAINT_INK;
    let dot = |x: f64, fill: &str| {
        Circle::new()
            .set("cx", rounded(x))
            .set("cy", rounded(y - 5.0))
            .set("r", 5.0)
            .set("fill", fill)
            .set("stroke", ink)
            .set("stroke-width", 2)
    };
    Group::new()
        .add(dot(40.0, ink))
        .add(text("card's value", [52.0, y], 14.0, palette::INK))
        .add(dot(164.0, palette::PAGE))
        .add(text("at least: no limit within the solved draw", [176.0, y], 14.0, palette::INK))
        .add(rule([462.0, y - 5.0], [490.0, y - 5.0], ink, 7.0).set("stroke-opacity", 0.4))
        .add(text("spread of the card", [498.0, y], 14.0, palette::INK))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lower_bound_is_hollow_and_points_to_more() {
        let bar = EnergyBar {
            name: "petg".into(),
            own: false,
            energy: 100.0,
            range: Some([80.0, 100.0]),
            at_least: true,
            high_at_least: true,
            words: "all of it".into(),
        };
        let whole = EnergyBar { at_least: false, high_at_least: false, ..bar.clone() };
        let drawn = |bar: &EnergyBar| {
            let bars = [bar.clone()];
            materials(&MaterialsPicture { title: "Clip", subtitle: "mm", bars: &bars })
        };
        let count = |bar: &EnergyBar, what: &str| drawn(bar).matches(what).count();
        assert_eq!(count(&bar, "<path"), count(&whole, "<path") + 1, "an arrow");
        let hollow = format!("fill=\"{}\"", palette::PAGE);
        assert_eq!(count(&bar, &hollow), count(&whole, &hollow) + 1, "a hollow dot");
        assert!(drawn(&bar).contains("petg"), "its name");
    }
}
