//! The part at rest and at full draw.

use super::part::{
    Mark, View, at_rest, definitions, displaced, key, mark, motion_arrow, scale_bar, surface, text,
};
use super::stress::outline_path;
use super::{finish, page, palette};
use svg::node::element::Path;
use withy_mesh::Mesh;

const WIDTH: f64 = 1000.0;
const HEIGHT: f64 = 760.0;
/// The part at rest is dashed, so that it reads behind the filled one.
const DASHES: &str = "5 3";
const AREA: [f64; 4] = [34.0, 96.0, 932.0, 590.0];

/// What the picture shows.
#[derive(Debug)]
pub struct ShapePicture<'a> {
    /// First line.
    pub title: &'a str,
    /// Second line: the draw.
    pub subtitle: &'a str,
    /// The mesh.
    pub mesh: &'a Mesh,
    /// Displacements by node (mm).
    pub displacements: &'a [[f64; 2]],
    /// Regions.
    pub marks: &'a [Mark],
}

/// Draws the deformed part, filled, over its rest outline.
#[must_use]
pub fn shape(picture: &ShapePicture) -> String {
    let mesh = picture.mesh;
    let (rest, now) = (at_rest(mesh), displaced(mesh, picture.displacements));
    let view = View::fit(rest.iter().chain(&now).copied(), AREA);
    let body = surface(mesh, now.clone(), |_| true).border_loops();
    let outline = surface(mesh, rest, |_| true).border_loops();
    let mut document = page(WIDTH, HEIGHT, picture.title)
        .add(definitions())
        .add(text(picture.title, [34.0, 42.0], 22.0, palette::INK).set("font-weight", "bold"))
        .add(text(picture.subtitle, [34.0, 68.0], 15.0, palette::FAINT_INK))
        .add(
            Path::new()
                .set("d", view.rings(&body))
                .set("fill", palette::BODY)
                .set("fill-rule", "evenodd")
                .set("stroke", palette::INK)
                .set("stroke-width", 1.1),
        )
        .add(outline_path(&view, &outline).set("stroke-dasharray", DASHES));
    for m in picture.marks {
        document = document.add(mark(mesh, &now, &view, m));
    }
    for group in picture.marks.iter().filter_map(|m| motion_arrow(&now, &view, m)) {
        document = document.add(group);
    }
    document = document.add(key(picture.marks, [34.0, HEIGHT - 34.0], DASHES)).add(scale_bar(
        &view,
        [WIDTH - 210.0, HEIGHT - 34.0],
        120.0,
    ));
    finish(&document)
}
