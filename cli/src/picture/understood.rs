//! What was understood of a part before it is solved: outline, regions, draw, narrow places, corners.

use super::axis::three_digits;
use super::contact::Met;
use super::part::{
    Mark, PAGE_SIZE, View, at_rest, body_path, footer, marked, part_page, rounded, surface, text,
};
use super::{finish, palette};
use svg::node::element::{Circle, Group, Path, path::Data};
use withy_mesh::Mesh;

const AREA: [f64; 4] = [34.0, 96.0, 932.0, 570.0];
/// Colour of what needs a second look.
const ATTENTION: &str = "#a3166b";
/// Radius of the rings (px).
const RING: f64 = 8.0;

/// What the picture shows.
#[derive(Debug)]
pub struct UnderstoodPicture<'a> {
    /// First line.
    pub title: &'a str,
    /// Second line: size, thickness, material.
    pub subtitle: &'a str,
    /// The mesh.
    pub mesh: &'a Mesh,
    /// Regions.
    pub marks: &'a [Mark],
    /// What it may meet.
    pub met: Met<'a>,
    /// Places that are too narrow to print, with their widths (mm).
    pub narrow: &'a [([f64; 2], f64)],
    /// Sharp re-entrant corners (mm).
    pub corners: &'a [[f64; 2]],
}

/// Draws the part at rest with all that was understood of it.
#[must_use]
pub fn understood(picture: &UnderstoodPicture) -> String {
    let rest = at_rest(picture.mesh);
    let view = View::fit(rest.iter().copied().chain(picture.met.extent()), AREA);
    let body = surface(picture.mesh, rest.clone(), |_| true).border_loops();
    let mut document = part_page(picture.title, picture.subtitle)
        .add(body_path(&view, &body))
        .add(picture.met.drawn(&view))
        .add(marked(picture.mesh, &rest, &view, picture.marks));
    for (at, width) in picture.narrow {
        let [x, y] = view.place(*at);
        let words = format!("{} mm", three_digits(*width));
        let label = text(&words, [x + RING + 4.0, y - RING], 13.0, ATTENTION);
        document = document.add(ring([x, y])).add(label);
    }
    for at in picture.corners {
        document = document.add(wedge(view.place(*at)));
    }
    document = document
        .add(footer(picture.marks, &view, None))
        .add(second_key(!picture.narrow.is_empty(), !picture.corners.is_empty()));
    finish(&document)
}

/// A ring around a narrow place.
fn ring([x, y]: [f64; 2]) -> Circle {
    Circle::new()
        .set("cx", rounded(x))
        .set("cy", rounded(y))
        .set("r", RING)
        .set("fill", "none")
        .set("stroke", ATTENTION)
        .set("stroke-width", 2)
}

/// A small square on its corner, over a sharp corner of the outline.
fn wedge([x, y]: [f64; 2]) -> Path {
    let at = |dx: f64, dy: f64| (rounded(x + dx), rounded(y + dy));
    let data = Data::new()
        .move_to(at(0.0, -6.0))
        .line_to(at(6.0, 0.0))
        .line_to(at(0.0, 6.0))
        .line_to(at(-6.0, 0.0))
        .close();
    Path::new().set("d", data).set("fill", ATTENTION).set("fill-opacity", 0.8)
}

/// What the marks of this picture alone mean.
fn second_key(narrow: bool, corners: bool) -> Group {
    let y = PAGE_SIZE[1] - 62.0;
    let mut group = Group::new();
    let mut x = 45.0;
    if narrow {
        let words = text("narrower than prints well", [x + 16.0, y + 5.0], 14.0, palette::INK);
        group = group.add(ring([x, y])).add(words);
        x += 220.0;
    }
    if corners {
        let words = text("sharp inner corner", [x + 16.0, y + 5.0], 14.0, palette::INK);
        group = group.add(wedge([x, y])).add(words);
    }
    group
}
