//! A drawing becomes named shapes: closed loops of lines, arcs and cubics in millimetres, y up.
//!
//! SVG and DXF are read by walkers of their own; what they find is handed over as it stands, closed
//! or open. Which shapes are the part and which are regions is for the part file to say, so loose
//! pieces are joined (within 0.01 mm) only when [`Drawing::loops`] is asked for a selection.

mod dxf;
mod error;
mod geometry;
mod join;
mod svg;
#[cfg(test)]
mod tests;

pub use error::DrawingCause;

use crate::error::{Cause, Refusal, Source};
use crate::remark::Remark;
use kurbo::{Affine, Point, Rect};
use std::ops::Range;
use std::path::Path;
use withy_mesh::{Curve, Loop};

/// Files above this size are refused (MB).
const LARGEST_FILE_MB: u64 = 64;
/// Drawings of more curves than this are refused: far more than any printable outline has.
const MOST_CURVES: usize = 2_000_000;

/// A shape of the drawing with the names that it goes by.
#[derive(Clone, Debug)]
pub struct Shape {
    /// Its own id and label, those of the groups around it, its DXF layer.
    pub names: Vec<String>,
    /// Its closed loops (mm).
    pub loops: Vec<Vec<Curve>>,
    /// Its open chains, to be joined with others (mm).
    pub chains: Vec<Vec<Curve>>,
    /// What it is, in words for a complaint: `"path 'rib' (line 12)"`.
    pub origin: String,
    span: Range<usize>,
}

/// Something drawn that has no outline: a picture, a text.
#[derive(Clone, Debug)]
struct Foreign {
    names: Vec<String>,
    origin: String,
    span: Range<usize>,
}

/// Everything visible in a drawing.
#[derive(Clone, Debug)]
pub struct Drawing {
    source: Source,
    shapes: Vec<Shape>,
    foreign: Vec<Foreign>,
    page: Option<[f64; 2]>,
    remarks: Vec<Remark>,
    names: Names,
}

/// How names are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Names {
    /// SVG ids.
    Exact,
    /// DXF layers.
    IgnoringCase,
}

impl Drawing {
    /// The shapes in drawing order.
    #[must_use]
    pub fn shapes(&self) -> &[Shape] {
        &self.shapes
    }

    /// Width and height of the page, if the drawing has one (mm).
    #[must_use]
    pub fn page(&self) -> Option<[f64; 2]> {
        self.page
    }

    /// What was assumed or left out.
    #[must_use]
    pub fn remarks(&self) -> &[Remark] {
        &self.remarks
    }

    /// Where the drawing was read from.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.source.path()
    }

    /// Every name that some shape goes by, each once, in drawing order.
    #[must_use]
    pub fn names(&self) -> Vec<&str> {
        let mut seen = std::collections::BTreeSet::new();
        let all = self.shapes.iter().flat_map(|shape| &shape.names);
        all.map(String::as_str).filter(|name| seen.insert(*name)).collect()
    }

    /// Whether one of `names` is `wanted`: exactly in an SVG, ignoring case in a DXF.
    #[must_use]
    pub fn is_called(&self, names: &[String], wanted: &str) -> bool {
        names.iter().any(|name| match self.names {
            Names::Exact => name == wanted,
            Names::IgnoringCase => name.to_lowercase() == wanted.to_lowercase(),
        })
    }

    /// A complaint about one of the shapes, known by its origin, or about the drawing as a whole.
    pub fn complaint(&self, origin: Option<&str>, cause: impl Into<Cause>) -> Refusal {
        match self.shapes.iter().find(|shape| Some(shape.origin.as_str()) == origin) {
            Some(shape) => Refusal::at(&self.source, shape.span.clone(), cause),
            None => Refusal::of_file(self.path(), cause),
        }
    }

    /// The closed loops of the shapes whose names are selected, loose pieces joined end to end.
    ///
    /// # Errors
    /// A selected picture or text, an open outline, a place where more than two ends meet.
    pub fn loops(&self, selected: impl Fn(&[String]) -> bool) -> Result<Vec<Loop>, Refusal> {
        if let Some(foreign) = self.foreign.iter().find(|foreign| selected(&foreign.names)) {
            let cause = DrawingCause::NoOutline { what: foreign.origin.clone() };
            return Err(Refusal::at(&self.source, foreign.span.clone(), cause));
        }
        let shapes: Vec<&Shape> =
            self.shapes.iter().filter(|shape| selected(&shape.names)).collect();
        let closed = shapes.iter().flat_map(|shape| {
            shape
                .loops
                .iter()
                .map(|curves| Loop { curves: curves.clone(), origin: shape.origin.clone() })
        });
        let mut loops: Vec<Loop> = closed.collect();
        let chains = shapes.iter().flat_map(|shape| {
            shape.chains.iter().map(|curves| join::Chain {
                curves: curves.clone(),
                origin: &shape.origin,
                span: &shape.span,
            })
        });
        loops.extend(join::join(chains.collect(), &self.source)?);
        Ok(loops)
    }
}

/// The border of a rectangle, counter-clockwise (mm).
pub(crate) fn rectangle(rect: Rect) -> Vec<Curve> {
    let corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)];
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(a, b)| Curve::Line((*a).into(), (*b).into())).collect()
}

/// A circle of four exact quarters, counter-clockwise (mm).
pub(crate) fn circle(center: Point, radius: f64) -> Vec<Curve> {
    geometry::whole_ellipse(Affine::translate(center.to_vec2()) * Affine::scale(radius))
}

/// Whether all of some curves are finite and within 10 m of the origin.
pub(crate) fn are_within_limits(curves: &[Curve]) -> bool {
    curves.iter().all(geometry::is_within_limits)
}

/// Reads a drawing, as SVG or DXF by its extension.
///
/// # Errors
/// The file cannot be read, is no drawing, or contains something that cannot be understood; nothing is
/// ever left out silently.
pub fn read(path: &Path) -> Result<Drawing, Refusal> {
    let extension = path.extension().map(|ext| ext.to_string_lossy().to_lowercase());
    let kind = match extension.as_deref() {
        Some("svg") => svg::read as fn(&Source) -> Result<Drawing, Refusal>,
        Some("dxf") => dxf::read,
        other => {
            let found = other.map_or("one without extension".into(), |ext| format!("\".{ext}\""));
            return Err(Refusal::of_file(path, DrawingCause::UnknownKind { found }));
        }
    };
    let unreadable = |error: std::io::Error| {
        Refusal::of_file(path, DrawingCause::Unreadable { why: error.to_string() })
    };
    let megabytes = std::fs::metadata(path).map_err(unreadable)?.len() / 1_000_000;
    if megabytes > LARGEST_FILE_MB {
        let cause = DrawingCause::TooLarge { megabytes, limit: LARGEST_FILE_MB };
        return Err(Refusal::of_file(path, cause));
    }
    let bytes = std::fs::read(path).map_err(unreadable)?;
    // Layer names in old DXF may be in any code page: a wrong letter in a name harms no outline.
    kind(&Source::new(path, String::from_utf8_lossy(&bytes).into_owned()))
}
