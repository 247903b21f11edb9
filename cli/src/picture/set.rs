//! Force by draw while a part is drawn and let down: the loop that it does not come back on.

use super::chart::{Panel, Series};
use super::inline::lines_inline;
use super::part::{rule, text};
use super::{finish, page, palette};

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 560.0;
/// More stages than this have no place in the key.
const MOST_KEYS: usize = 6;

/// One stage, its first point being the last one of the stage before.
#[derive(Clone, Debug)]
pub struct SetStage {
    /// "draw to 100 %", "let down".
    pub name: String,
    /// Travel and effort of each state.
    pub points: Vec<[f64; 2]>,
}

/// What is drawn.
#[derive(Clone, Debug)]
pub struct SetPicture<'a> {
    /// Title of the part.
    pub title: &'a str,
    /// What it keeps.
    pub subtitle: &'a str,
    /// With their units.
    pub labels: [&'a str; 2],
    /// In order.
    pub stages: &'a [SetStage],
}

/// Draws every stage as a line of its own.
#[must_use]
pub fn set(picture: &SetPicture) -> String {
    let series = series(picture);
    let mut document = page([WIDTH, HEIGHT], picture.title, picture.subtitle).add(
        Panel {
            area: [92.0, 156.0, 770.0, 340.0],
            x_label: picture.labels[0],
            y_label: picture.labels[1],
            series: &series,
        }
        .draw(),
    );
    // In two rows of three above the axis.
    for (n, s) in series.iter().take(MOST_KEYS).enumerate() {
        let (column, row) = (n % 3, n / 3);
        let [x, y] = [330.0 + 185.0 * column as f64, 100.0 + 24.0 * row as f64];
        document = document.add(rule([x, y], [x + 24.0, y], s.colour, 3.0)).add(text(
            &s.name,
            [x + 30.0, y + 5.0],
            14.0,
            palette::INK,
        ));
    }
    finish(&document)
}

/// The same as an element of a page.
#[must_use]
pub fn set_inline(picture: &SetPicture) -> String {
    let description = "Force by draw while it is drawn and let down";
    lines_inline(description, picture.labels, &series(picture), |panel: &Panel| panel.draw()).0
}

fn series(picture: &SetPicture) -> Vec<Series> {
    let stages = picture.stages.iter().enumerate();
    let drawn = stages.map(|(n, stage)| Series {
        name: format!("{}. {}", n + 1, stage.name),
        colour: palette::LINES[n % palette::LINES.len()],
        points: stage.points.clone(),
        hollow: Vec::new(),
        aside: false,
    });
    drawn.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stage_has_its_line_and_its_name() {
        let stage =
            |name: &str| SetStage { name: name.into(), points: vec![[0.0, 0.0], [6.0, 20.0]] };
        let stages = [stage("draw to 100 %"), stage("let down")];
        let picture = SetPicture {
            title: "Clip",
            subtitle: "",
            labels: ["draw, mm", "force, N"],
            stages: &stages,
        };
        let drawn = set(&picture);
        for name in ["1. draw to 100 %", "2. let down"] {
            assert!(drawn.contains(name), "{name} in the key");
        }
        assert!(drawn.contains(palette::LINES[1]), "a colour of its own");
    }
}
