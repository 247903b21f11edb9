//! The heat map: the deformed part coloured by stress over its faint rest outline.

use super::axis::ticks;
use super::callout::callout;
use super::contact::Met;
use super::part::{
    Mark, SIMPLIFY_PX, View, at_rest, displaced, footer, marked, outline_path, part_page, rounded,
    rule, surface, text,
};
use super::{finish, palette};
use svg::Document;
use svg::node::element::{Group, Path, Rectangle};
use withy_mesh::Mesh;

/// Bands of the heat map: few enough for a small file, enough to look smooth.
const BANDS: u32 = 40;
/// Bands where the map is only a stand-in for a better one, and how much its borders are simplified (px).
const FEW_BANDS: u32 = 14;
const COARSE_PX: f64 = 0.25;
/// What the colours tell, and its unit.
const STRESS: [&str; 2] = ["stress", "MPa"];
const PLASTIC_STRAIN: [&str; 2] = ["plastic strain", "%"];
const AREA: [f64; 4] = [34.0, 96.0, 800.0, 590.0];

/// What the heat map shows.
#[derive(Debug)]
pub struct StressPicture<'a> {
    /// First line.
    pub title: &'a str,
    /// Second line: which stress, at which draw.
    pub subtitle: &'a str,
    /// The mesh.
    pub mesh: &'a Mesh,
    /// Displacements by node (mm).
    pub displacements: &'a [[f64; 2]],
    /// Stress by node (MPa).
    pub values: &'a [f64],
    /// End of the colour scale (MPa): values above it, at artificial peaks, are painted as it.
    pub highest: f64,
    /// Regions.
    pub marks: &'a [Mark],
    /// What it may meet.
    pub met: Met<'a>,
    /// Where the stress peaks, if it has a finite peak.
    pub hot_spot: Option<HotSpotLabel>,
    /// Where edges meet or nearly do.
    pub narrow: Option<HotSpotLabel>,
}

/// A place's label: the hot spot's, or that of a narrow gap.
#[derive(Clone, Debug)]
pub struct HotSpotLabel {
    /// Place in the part as it is shown (mm).
    pub at: [f64; 2],
    /// Lines of text, the value first.
    pub lines: Vec<String>,
}

/// Draws the heat map.
#[must_use]
pub fn stress(picture: &StressPicture) -> String {
    finish(&drawn(picture, BANDS, SIMPLIFY_PX, STRESS))
}

/// The same of plastic strains, which come as values in per cent.
#[must_use]
pub fn yielded(picture: &StressPicture) -> String {
    finish(&drawn(picture, BANDS, SIMPLIFY_PX, PLASTIC_STRAIN))
}

/// The same as an element of a page.
#[must_use]
pub fn yielded_inline(picture: &StressPicture) -> String {
    drawn(picture, BANDS, COARSE_PX, PLASTIC_STRAIN).to_string()
}

/// The stress in fewer bands, as an element of a page.
#[must_use]
pub fn stress_stand_in(picture: &StressPicture) -> String {
    drawn(picture, FEW_BANDS, COARSE_PX, STRESS).to_string()
}

fn drawn(picture: &StressPicture, count: u32, simplify: f64, scale: [&str; 2]) -> Document {
    let mesh = picture.mesh;
    let (rest, now) = (at_rest(mesh), displaced(mesh, picture.displacements));
    let shown = rest.iter().chain(&now).copied().chain(picture.met.extent());
    let view = View::fit(shown, AREA).simplified_by(simplify);
    let deformed = surface(mesh, now.clone(), |_| true);
    let outline = surface(mesh, rest, |_| true).border_loops();

    let mut bands = Group::new().set("stroke", "none").set("fill-rule", "evenodd");
    let whole = deformed.border_loops();
    bands = bands.add(Path::new().set("d", view.rings(&whole)).set("fill", palette::heat(0.0)));
    for band in 1..count {
        let t = f64::from(band) / f64::from(count);
        let rings = deformed.at_least(picture.values, t * picture.highest);
        if !rings.is_empty() {
            let colour = palette::heat(f64::from(band) / f64::from(count - 1));
            bands = bands.add(Path::new().set("d", view.rings(&rings)).set("fill", colour));
        }
    }
    let mut document = part_page(picture.title, picture.subtitle)
        .add(outline_path(&view, &outline))
        .add(bands)
        .add(
            Path::new()
                .set("d", view.rings(&whole))
                .set("fill", "none")
                .set("stroke", palette::INK)
                .set("stroke-width", 0.7),
        );
    document = document
        .add(picture.met.drawn(&view))
        .add(picture.met.comb(mesh, &now, &view))
        .add(marked(mesh, &now, &view, picture.marks))
        .add(picture.met.line());
    let part: Vec<[f64; 2]> = now.iter().map(|p| view.place(*p)).collect();
    for place in [&picture.narrow, &picture.hot_spot].into_iter().flatten() {
        document = document.add(callout(view.place(place.at), &place.lines, AREA, &part));
    }
    document.add(legend(picture.highest, count, scale)).add(footer(
        picture.marks,
        &view,
        Some("none"),
    ))
}

/// The colour scale with its numbers.
fn legend(highest: f64, count: u32, [what, unit]: [&str; 2]) -> Group {
    let (x, y, width, height) = (872.0, 150.0, 22.0, 440.0);
    let mut group = Group::new().add(text(what, [x, y - 30.0], 14.0, palette::INK)).add(text(
        unit,
        [x, y - 12.0],
        14.0,
        palette::INK,
    ));
    for band in 0..count {
        let share = 1.0 / f64::from(count);
        let top = y + height * (1.0 - share * f64::from(band + 1));
        group = group.add(
            Rectangle::new()
                .set("x", x)
                .set("y", rounded(top))
                .set("width", width)
                // A hair of overlap hides the seams of anti-aliasing.
                .set("height", rounded(height * share + 0.4))
                .set("fill", palette::heat(f64::from(band) / f64::from(count - 1))),
        );
    }
    group = group.add(
        Rectangle::new()
            .set("x", x)
            .set("y", y)
            .set("width", width)
            .set("height", height)
            .set("fill", "none")
            .set("stroke", palette::FAINT_INK),
    );
    for (value, label) in ticks(0.0, highest, 6.0) {
        let at = y + height * (1.0 - value / highest);
        group = group
            .add(rule([x + width, at], [x + width + 6.0, at], palette::INK, 1.0))
            .add(text(&label, [x + width + 11.0, at + 5.0], 14.0, palette::INK));
    }
    group
}
