//! The part at rest and at full draw.

use super::callout::callout;
use super::contact::Met;
use super::part::{
    Mark, View, at_rest, body_path, displaced, footer, marked, outline_path, part_page, surface,
};
use super::{HotSpotLabel, finish};
use svg::Document;
use withy_mesh::Mesh;

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
    /// What it may meet.
    pub met: Met<'a>,
    /// Where edges meet or nearly do.
    pub narrow: Option<HotSpotLabel>,
}

/// Draws the deformed part, filled, over its rest outline.
#[must_use]
pub fn shape(picture: &ShapePicture) -> String {
    finish(&drawn(picture))
}

/// The same as an element of a page.
#[must_use]
pub fn shape_inline(picture: &ShapePicture) -> String {
    drawn(picture).to_string()
}

fn drawn(picture: &ShapePicture) -> Document {
    let mesh = picture.mesh;
    let (rest, now) = (at_rest(mesh), displaced(mesh, picture.displacements));
    let view = View::fit(rest.iter().chain(&now).copied().chain(picture.met.extent()), AREA);
    let body = surface(mesh, now.clone(), |_| true).border_loops();
    let outline = surface(mesh, rest, |_| true).border_loops();
    let mut document = part_page(picture.title, picture.subtitle)
        .add(body_path(&view, &body))
        .add(outline_path(&view, &outline).set("stroke-dasharray", DASHES))
        .add(picture.met.drawn(&view))
        .add(picture.met.comb(mesh, &now, &view))
        .add(marked(mesh, &now, &view, picture.marks))
        .add(picture.met.line());
    if let Some(narrow) = &picture.narrow {
        let part: Vec<[f64; 2]> = now.iter().map(|p| view.place(*p)).collect();
        document = document.add(callout(view.place(narrow.at), &narrow.lines, AREA, &part));
    }
    document.add(footer(picture.marks, &view, Some(DASHES)))
}
