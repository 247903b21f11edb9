//! Force and stored energy along the draw.

use super::chart::{Panel, Series};
use super::part::{rule, text};
use super::{finish, page, palette};
use withy_mesh::number::largest;

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 760.0;

/// One driven or loaded region along the draw; the first point is rest.
#[derive(Clone, Debug)]
pub struct CurveLine {
    /// The region.
    pub name: String,
    /// How far it has gone along its draw (mm or degrees).
    pub travel: Vec<f64>,
    /// What that needs (N or N mm), positive where the part resists.
    pub effort: Vec<f64>,
    /// Whether each state is stable.
    pub stable: Vec<bool>,
    /// Axis label of the travel, with its unit.
    pub travel_label: String,
    /// Axis label of the effort, with its unit.
    pub effort_label: String,
}

/// Draws effort over travel for each region, and energy over the first one's travel; `perfect`
/// lines are drawn thin and dashed for comparison.
#[must_use]
pub fn curve(
    title: &str,
    subtitle: &str,
    lines: &[CurveLine],
    perfect: &[CurveLine],
    energy: &[f64],
) -> String {
    let mut document = page([WIDTH, HEIGHT], title, subtitle);
    let Some(first) = lines.first() else { return finish(&document) };
    // Lines in other units than the first one's would need axes of their own.
    let shown = united(lines.iter().filter(|l| l.effort_label == first.effort_label));
    let series_of = |(i, l): (usize, &CurveLine), aside: bool| Series {
        name: if aside { "perfect part".to_owned() } else { l.name.clone() },
        colour: if aside { palette::FAINT_INK } else { palette::LINES[i % palette::LINES.len()] },
        points: l.travel.iter().zip(&l.effort).map(|(x, y)| [*x, *y]).collect(),
        hollow: l.stable.iter().map(|s| !s).collect(),
        aside,
    };
    let beside = united(perfect.iter().filter(|l| l.effort_label == first.effort_label));
    let series: Vec<Series> = beside
        .iter()
        .enumerate()
        .map(|l| series_of(l, true))
        .chain(shown.iter().enumerate().map(|l| series_of(l, false)))
        .collect();
    // Several lines are told apart by the key; a single one is named on the axis.
    let y_label = match &shown[..] {
        [only] => format!("{}: {}", only.name, only.effort_label),
        _ => first.effort_label.clone(),
    };
    let stored = [Series {
        name: "stored energy".into(),
        colour: palette::LINES[2],
        points: first.travel.iter().zip(energy).map(|(x, y)| [*x, *y]).collect(),
        hollow: first.stable.iter().map(|s| !s).collect(),
        aside: false,
    }];
    document = document
        .add(
            Panel {
                area: [92.0, 126.0, 770.0, 290.0],
                x_label: &first.travel_label,
                y_label: &y_label,
                series: &series,
            }
            .draw(),
        )
        .add(
            Panel {
                area: [92.0, 506.0, 770.0, 190.0],
                x_label: &first.travel_label,
                y_label: "stored energy, mJ",
                series: &stored,
            }
            .draw(),
        );
    let mut x = 400.0;
    if series.len() > 1 {
        for s in &series {
            document = document.add(rule([x, 107.0], [x + 24.0, 107.0], s.colour, 3.0)).add(text(
                &s.name,
                [x + 30.0, 112.0],
                14.0,
                palette::INK,
            ));
            x += 50.0 + 8.0 * s.name.chars().count() as f64;
        }
    }
    if first.stable.iter().any(|s| !s) {
        let note = "hollow points: not stable, the real part leaves this path sideways";
        document = document.add(text(note, [92.0, HEIGHT - 10.0], 14.0, palette::INK));
    }
    finish(&document)
}

/// Lines that differ by less than this part of their range lie upon each other in print.
const ALIKE: f64 = 0.005;

/// The lines, those that lie upon each other as one with all their names.
pub(super) fn united<'a>(lines: impl Iterator<Item = &'a CurveLine>) -> Vec<CurveLine> {
    let mut apart: Vec<CurveLine> = Vec::new();
    for line in lines {
        match apart.iter_mut().find(|one| are_alike(one, line)) {
            Some(one) => one.name = format!("{}, {}", one.name, line.name),
            None => apart.push(line.clone()),
        }
    }
    apart
}

fn are_alike(one: &CurveLine, other: &CurveLine) -> bool {
    let close = |a: &[f64], b: &[f64]| {
        let size = largest(0.0, a.iter().map(|v| v.abs()));
        a.len() == b.len() && a.iter().zip(b).all(|(x, y)| (x - y).abs() <= ALIKE * size)
    };
    close(&one.travel, &other.travel) && close(&one.effort, &other.effort)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(name: &str, stiffness: f64) -> CurveLine {
        let travel = vec![0.0, 1.0, 2.0];
        CurveLine {
            name: name.into(),
            effort: travel.iter().map(|x| stiffness * x).collect(),
            travel,
            stable: vec![true; 3],
            travel_label: "draw, mm".into(),
            effort_label: "force along the draw, N".into(),
        }
    }

    fn drawn(lines: &[CurveLine]) -> String {
        curve("Clip", "PETG", lines, &[], &[0.0, 1.0, 4.0])
    }

    #[test]
    fn every_region_has_its_line_and_its_name() {
        let picture = drawn(&[line("left", 1.0), line("right", 2.0)]);
        for name in ["left", "right"] {
            assert!(picture.contains(&format!("\n{name}\n")), "{name} in the key");
        }
        assert!(picture.matches(palette::LINES[1]).count() > 1, "a second colour");
    }

    #[test]
    fn lines_upon_each_other_are_one_with_both_names() {
        let picture = drawn(&[line("left", 1.0), line("right", 1.001)]);
        assert!(picture.contains("left, right: force along the draw, N"), "named on the axis");
        assert!(!picture.contains(palette::LINES[1]), "one colour");
    }
}
