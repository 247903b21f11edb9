//! A ring around a place, with a label where the picture is empty.

use super::palette;
use super::part::{rounded, rule, text};
use svg::node::element::{Circle, Group, Rectangle};
use withy_mesh::number::min;

/// Clear distances between the ring and its label that are tried (px), near ones first.
const DISTANCES: [f64; 7] = [34.0, 50.0, 70.0, 95.0, 125.0, 160.0, 200.0];
/// Directions that are tried, evenly around.
const DIRECTIONS: u32 = 24;
/// How many pixels of distance one covered point of the part is worth.
const COVERED: f64 = 3.0;

/// A ring at a place of the page with its label, kept inside `area` `[x, y, width, height]` and off the
/// points that are `crowded`.
pub(super) fn callout(
    at: [f64; 2],
    lines: &[String],
    area: [f64; 4],
    crowded: &[[f64; 2]],
) -> Group {
    let widest = lines.iter().map(|l| l.chars().count()).max().unwrap_or(0) as f64;
    let size = [16.0 + 7.6 * widest, 10.0 + 19.0 * lines.len() as f64];
    let corner = emptiest(at, size, area, crowded);
    let anchor = [0, 1].map(|i| {
        let (low, high) = (corner[i], corner[i] + size[i]);
        if at[i] < low { low } else { min(at[i], high) }
    });
    let ring = |colour: &str, width: u32| {
        Circle::new()
            .set("cx", rounded(at[0]))
            .set("cy", rounded(at[1]))
            .set("r", 9)
            .set("fill", "none")
            .set("stroke", colour)
            .set("stroke-width", width)
    };
    let mut group = Group::new()
        .add(rule(at, anchor, palette::INK, 1.2))
        // A pale rim keeps the ring readable over dark stress.
        .add(ring(palette::PAGE, 4))
        .add(ring(palette::INK, 2))
        .add(
            Rectangle::new()
                .set("x", rounded(corner[0]))
                .set("y", rounded(corner[1]))
                .set("width", rounded(size[0]))
                .set("height", rounded(size[1]))
                .set("rx", 3)
                .set("fill", palette::PAGE)
                .set("fill-opacity", 0.93)
                .set("stroke", palette::INK),
        );
    let mut y = corner[1] + 19.0;
    for (i, line) in lines.iter().enumerate() {
        let weight = if i == 0 { "bold" } else { "normal" };
        group = group
            .add(text(line, [corner[0] + 8.0, y], 14.0, palette::INK).set("font-weight", weight));
        y += 19.0;
    }
    group
}

/// The upper left corner of a box near a place that covers least.
fn emptiest(at: [f64; 2], size: [f64; 2], area: [f64; 4], crowded: &[[f64; 2]]) -> [f64; 2] {
    // Upper right where nothing speaks against it.
    let mut best = (f64::INFINITY, [at[0] + DISTANCES[0], at[1] - DISTANCES[0] - size[1]]);
    for distance in DISTANCES {
        for k in 0..DIRECTIONS {
            let angle = std::f64::consts::TAU * (f64::from(k) / f64::from(DIRECTIONS) - 0.125);
            let (sin, cos) = angle.sin_cos();
            // The box's centre, so that its border is at the distance along the direction.
            let half = [0.5 * size[0], 0.5 * size[1]];
            let middle = [at[0] + cos * (distance + half[0]), at[1] + sin * (distance + half[1])];
            let corner = [middle[0] - half[0], middle[1] - half[1]];
            let fits = (0..2)
                .all(|i| corner[i] >= area[i] && corner[i] + size[i] <= area[i] + area[i + 2]);
            let inside = |p: &&[f64; 2]| {
                (0..2).all(|i| p[i] >= corner[i] - 4.0 && p[i] <= corner[i] + size[i] + 4.0)
            };
            let covered = crowded.iter().filter(inside).count();
            let cost = distance + COVERED * covered as f64;
            if fits && cost < best.0 {
                best = (cost, corner);
            }
        }
    }
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_goes_where_nothing_is() {
        let (at, area) = ([200.0, 200.0], [0.0, 0.0, 400.0, 400.0]);
        // A part that fills all but the left.
        let crowded: Vec<[f64; 2]> = (0..40u32)
            .flat_map(|i| {
                (0..30u32).map(move |j| [110.0 + 10.0 * f64::from(j), 10.0 * f64::from(i)])
            })
            .collect();
        let corner = emptiest(at, [90.0, 48.0], area, &crowded);
        assert!(corner[0] >= 0.0 && corner[0] + 90.0 < 110.0, "left of the part: {corner:?}");
        let free = emptiest(at, [90.0, 48.0], area, &[]);
        assert!(free[0] > at[0] && free[1] + 48.0 < at[1], "upper right by default: {free:?}");
        let squeezed = emptiest([390.0, 5.0], [90.0, 48.0], area, &[]);
        assert!(squeezed[0] + 90.0 <= 400.0 && squeezed[1] >= 0.0, "inside: {squeezed:?}");
    }
}
