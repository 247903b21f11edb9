//! What force buys: energy or speed of many designs over the force that they need.

use super::chart::{Panel, Series};
use super::part::{rounded, rule, text};
use super::{finish, page, palette};
use svg::node::element::{Circle, Group};

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 620.0;

/// Designs of a search.
#[derive(Clone, Debug)]
pub struct ParetoPicture<'a> {
    /// Whose.
    pub title: &'a str,
    /// What the dots are.
    pub subtitle: &'a str,
    /// "stored energy, mJ".
    pub label: &'a str,
    /// Force and gain of each design that keeps every condition but the force, by beams as corrected.
    pub designs: &'a [[f64; 2]],
    /// Largest force that is allowed (N).
    pub limit: Option<f64>,
    /// The part as it is, in plane stress.
    pub start: Option<[f64; 2]>,
    /// Designs that plane stress confirmed, the result first.
    pub confirmed: &'a [[f64; 2]],
}

/// Draws it.
#[must_use]
pub fn pareto(picture: &ParetoPicture) -> String {
    let front = front(picture.designs);
    let extent: Vec<[f64; 2]> = picture
        .designs
        .iter()
        .chain(&front)
        .chain(picture.confirmed)
        .chain(&picture.start)
        .copied()
        .collect();
    let series = |points: Vec<[f64; 2]>, aside| Series {
        name: String::new(),
        colour: palette::LINES[0],
        hollow: vec![false; points.len()],
        points,
        aside,
    };
    let all = [series(front.clone(), true), series(extent, true)];
    let panel = Panel {
        area: [90.0, 120.0, 760.0, 400.0],
        x_label: "largest force along the draw, N",
        y_label: picture.label,
        series: &all,
    };
    let frame = panel.frame();
    let mut dots = Group::new();
    for p in picture.designs {
        dots = dots.add(dot(frame.place(*p), 2.5, palette::REST));
    }
    let mut group = panel.draw_only(&all[..1]).add(dots);
    if let Some(limit) = picture.limit.filter(|l| *l <= frame.high[0]) {
        let [x, y] = frame.place([limit, frame.high[1]]);
        let foot = frame.place([limit, frame.low[1]])[1];
        group = group.add(rule([x, y], [x, foot], palette::DRIVEN, 1.4)).add(
            text("allowed", [x - 6.0, y + 14.0], 13.0, palette::DRIVEN).set("text-anchor", "end"),
        );
    }
    for (k, p) in picture.confirmed.iter().enumerate().rev() {
        let at = frame.place(*p);
        group = group.add(dot(at, if k == 0 { 8.0 } else { 5.0 }, palette::LINES[2]));
    }
    if let Some(start) = picture.start {
        let at = frame.place(start);
        group = group
            .add(dot(at, 7.0, palette::PAGE).set("stroke", palette::INK).set("stroke-width", 2));
    }
    let y = HEIGHT - 28.0;
    let key = [
        (palette::REST, "beams, all conditions but the force kept"),
        (palette::LINES[2], "confirmed in plane stress, the result large"),
    ];
    let mut x = 90.0;
    for (colour, words) in key {
        group = group.add(dot([x, y], 6.0, colour)).add(text(
            words,
            [x + 12.0, y + 5.0],
            14.0,
            palette::INK,
        ));
        x += 300.0;
    }
    group = group
        .add(
            dot([x + 14.0, y], 6.0, palette::PAGE)
                .set("stroke", palette::INK)
                .set("stroke-width", 2),
        )
        .add(text("part as it is", [x + 28.0, y + 5.0], 14.0, palette::INK));
    finish(&page([WIDTH, HEIGHT], picture.title, picture.subtitle).add(group))
}

fn dot([x, y]: [f64; 2], r: f64, colour: &str) -> Circle {
    Circle::new().set("cx", rounded(x)).set("cy", rounded(y)).set("r", r).set("fill", colour)
}

/// Designs that no other one beats in both, by force.
#[must_use]
fn front(designs: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut sorted = designs.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(b[1].total_cmp(&a[1])));
    let mut front: Vec<[f64; 2]> = Vec::new();
    for p in sorted {
        if front.last().is_none_or(|last| p[1] > last[1]) {
            front.push(p);
        }
    }
    front
}

#[cfg(test)]
mod tests {
    use super::front;

    #[test]
    fn the_front_holds_what_nothing_beats() {
        let designs = [[2.0, 5.0], [1.0, 3.0], [3.0, 4.0], [1.0, 2.0], [4.0, 6.0]];
        assert_eq!(front(&designs), [[1.0, 3.0], [2.0, 5.0], [4.0, 6.0]]);
    }
}
