//! A launch along its way back: speed, and where the energy is. The cautions are part of the picture.

use super::chart::{Panel, Series};
use super::part::{rule, text};
use super::{finish, page, palette};
use crate::remark::LAUNCH_CAUTIONS;
use svg::node::element::Group;
use withy_solver::release::Moment;

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 846.0;
/// One in so many moments is drawn with its point.
const DRAWN_MOMENTS: usize = 10;

/// What is drawn.
#[derive(Clone, Debug)]
pub struct LaunchPicture<'a> {
    /// Title of the part.
    pub title: &'a str,
    /// What is thrown how fast.
    pub subtitle: &'a str,
    /// From the release to the launch.
    pub moments: &'a [Moment],
}

/// Draws speed and energies by the way back from full draw.
#[must_use]
pub fn launch(picture: &LaunchPicture) -> String {
    let mut document = page([WIDTH, HEIGHT], picture.title, picture.subtitle);
    let Some(first) = picture.moments.first() else { return finish(&document) };
    let last = picture.moments.len() - 1;
    let shown = || {
        let chosen = picture.moments.iter().enumerate();
        chosen.filter(move |(n, _)| n % DRAWN_MOMENTS == 0 || *n == last).map(|(_, m)| m)
    };
    let series = |name: &str, colour, value: fn(&Moment) -> f64| Series {
        name: name.to_owned(),
        colour,
        points: shown().map(|m| [first.draw - m.draw, value(m)]).collect(),
        hollow: Vec::new(),
        aside: false,
    };
    let speed = [series("speed", palette::LINES[1], |m| m.speed)];
    let energies = [
        series("stored in the spring", palette::LINES[2], |m| m.spring_energy),
        series("projectile", palette::LINES[1], |m| m.projectile_energy),
        series("moving part", palette::LINES[3], |m| m.moving_energy),
    ];
    let x_label = "way back from full draw, mm";
    document = document
        .add(
            Panel {
                area: [92.0, 126.0, 770.0, 220.0],
                x_label,
                y_label: "speed of carriage and projectile, m/s",
                series: &speed,
            }
            .draw(),
        )
        .add(
            Panel {
                area: [92.0, 446.0, 770.0, 240.0],
                x_label,
                y_label: "energy, mJ",
                series: &energies,
            }
            .draw(),
        );
    let mut x = 300.0;
    for s in &energies {
        document = document.add(rule([x, 427.0], [x + 24.0, 427.0], s.colour, 3.0)).add(text(
            &s.name,
            [x + 30.0, 432.0],
            14.0,
            palette::INK,
        ));
        x += 50.0 + 8.0 * s.name.chars().count() as f64;
    }
    finish(&document.add(cautions(752.0)))
}

/// The cautions, in two columns below `top`, 70 high.
pub(super) fn cautions(top: f64) -> Group {
    let heading = text("Before you let go", [34.0, top], 14.0, palette::DRIVEN);
    let mut group = Group::new().add(heading.set("font-weight", "bold"));
    for (n, caution) in LAUNCH_CAUTIONS.iter().enumerate() {
        let (column, line) = (n / 3, n % 3);
        let at = [34.0 + 470.0 * column as f64, top + 24.0 + 22.0 * line as f64];
        group = group.add(text(caution, at, 13.0, palette::INK));
    }
    group
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cautions_are_never_left_out() {
        let moment = Moment {
            draw: 6.0,
            time: 0.0,
            speed: 0.0,
            spring_energy: 100.0,
            projectile_energy: 0.0,
            moving_energy: 0.0,
        };
        let end = Moment { draw: 0.0, time: 1.0, speed: 5.0, ..moment };
        let moments = [moment, end];
        let drawn = launch(&LaunchPicture { title: "Kicker", subtitle: "5 g", moments: &moments });
        for caution in LAUNCH_CAUTIONS {
            assert!(
                drawn.contains(&caution.replace('\'', "&#39;")) || drawn.contains(caution),
                "{caution}"
            );
        }
        assert!(drawn.contains("speed of carriage"), "the axis");
    }
}
