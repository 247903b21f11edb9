//! Pictures: functions from results to SVG text. No file is touched here.

mod axis;
mod callout;
mod chart;
mod contact;
mod contour;
mod curve;
mod inline;
mod launch;
mod materials;
mod measured;
mod moving;
mod net;
mod palette;
mod pareto;
mod part;
mod rests;
mod rib;
mod set;
mod shape;
mod stress;
mod sweep;
mod tornado;
mod understood;

pub use axis::three_digits;
pub use contact::{Met, said};
pub use curve::{CurveLine, curve};
pub use inline::{InlineChart, Stop, heat_colours, inline_chart, scale_ticks, settling_strip};
pub use launch::{LaunchPicture, launch};
pub use materials::{EnergyBar, MaterialsPicture, materials};
pub use measured::{MeasuredPicture, SpeedsPicture, measured, measured_inline};
pub use moving::{MovingPicture, moving, moving_inline};
pub use net::net;
pub use pareto::{ParetoPicture, pareto};
pub use part::{Mark, Role};
pub use rests::{RestLine, rests_inline};
pub use rib::{RibPicture, rib};
pub use set::{SetPicture, SetStage, set, set_inline};
pub use shape::{ShapePicture, shape, shape_inline};
pub use stress::{HotSpotLabel, StressPicture, stress, stress_stand_in, yielded, yielded_inline};
pub use sweep::sweep_picture;
pub use tornado::{Bar, BarPanel, tornado, tornado_inline};
pub use understood::{UnderstoodPicture, understood};

use part::text;
use svg::Document;
use svg::node::element::Rectangle;

/// Fonts by preference; every viewer has the last.
const FONTS: &str = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif";

/// A white page of a size in pixels, with its two lines of heading.
fn page([width, height]: [f64; 2], title: &str, subtitle: &str) -> Document {
    Document::new()
        .set("viewBox", (0, 0, width, height))
        .set("width", width)
        .set("height", height)
        .set("font-family", FONTS)
        .set("role", "img")
        .add(svg::node::element::Title::new(title))
        .add(Rectangle::new().set("width", "100%").set("height", "100%").set("fill", palette::PAGE))
        .add(text(title, [34.0, 42.0], 22.0, palette::INK).set("font-weight", "bold"))
        .add(text(subtitle, [34.0, 68.0], 15.0, palette::FAINT_INK))
}

/// The document as a file's text.
fn finish(document: &Document) -> String {
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}
