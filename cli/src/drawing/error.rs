//! What can be wrong with a drawing, and what to do about each.

use kurbo::Point;
use thiserror::Error;

/// Why a drawing was refused. Places are in the drawing's millimetres, y up.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum DrawingCause {
    /// The file is not there or cannot be opened.
    #[error("the drawing cannot be read: {why}")]
    Unreadable {
        /// The operating system's words.
        why: String,
    },
    /// More bytes than any drawing of a part needs.
    #[error("the drawing is {megabytes} MB large, more than the {limit} MB that are read")]
    TooLarge {
        /// Its size.
        megabytes: u64,
        /// The limit.
        limit: u64,
    },
    /// Neither SVG nor DXF by its extension.
    #[error("a drawing is an .svg or a .dxf file, not {found}")]
    UnknownKind {
        /// The extension found, in quotes, or "one without extension".
        found: String,
    },
    /// The text is not well-formed XML.
    #[error("this is not well-formed SVG: {why}")]
    BadXml {
        /// The parser's words.
        why: String,
    },
    /// XML, but no SVG.
    #[error("the outermost element is <{found}>, not <svg>")]
    NotSvg {
        /// The outermost element.
        found: String,
    },
    /// An attribute that cannot be understood.
    #[error("{attribute}=\"{value}\" of <{element}> {why}")]
    BadAttribute {
        /// The element.
        element: String,
        /// The attribute.
        attribute: String,
        /// Its value, shortened.
        value: String,
        /// What is wrong with it.
        why: String,
    },
    /// Path data that stop making sense.
    #[error("the path data go wrong at character {position}: {why}")]
    BadPath {
        /// Counted from 1 within the attribute.
        position: usize,
        /// What is wrong.
        why: String,
    },
    /// A limit on nesting.
    #[error("elements are nested more than {limit} deep")]
    TooDeep {
        /// The limit.
        limit: usize,
    },
    /// A limit on copies.
    #[error("references unfold to more than {limit} copies")]
    TooManyCopies {
        /// The limit.
        limit: usize,
    },
    /// A limit on curves.
    #[error("the drawing has more than {limit} curves")]
    TooManyCurves {
        /// The limit.
        limit: usize,
    },
    /// A `use` or block that contains itself.
    #[error("'{name}' contains itself")]
    ContainsItself {
        /// Its id or name.
        name: String,
    },
    /// A reference to nothing.
    #[error("there is nothing called '{name}' to copy")]
    UnknownReference {
        /// The id or name.
        name: String,
    },
    /// Coordinates that no part has.
    #[error("{what} reaches farther than 10 m from the origin, or has no finite size")]
    OutOfBounds {
        /// The element.
        what: String,
    },
    /// Something in the part that has no outline.
    #[error("{what} is part of the drawing to be printed, but has no outline")]
    NoOutline {
        /// The element.
        what: String,
    },
    /// An open outline.
    #[error("{what} is open: an end at ({:.3}, {:.3}) mm meets nothing{}", .at.x, .at.y, gap_words(.gap))]
    Open {
        /// The element.
        what: String,
        /// The free end.
        at: Point,
        /// The nearest other free end and its distance (mm).
        gap: Option<(Point, f64)>,
    },
    /// More than two ends meet.
    #[error("{ends} ends meet at ({:.3}, {:.3}) mm, where an outline has two: {what}", .at.x, .at.y)]
    Branch {
        /// The elements that meet.
        what: String,
        /// How many ends.
        ends: usize,
        /// Where.
        at: Point,
    },
    /// Bytes that are no DXF.
    #[error("this is not a DXF drawing: {why}")]
    NotDxf {
        /// Why not.
        why: String,
    },
    /// A value in a DXF that cannot be.
    #[error("{entity}: group code {code} should be {expected}, found \"{value}\"")]
    BadDxfValue {
        /// The entity or section.
        entity: String,
        /// The group code.
        code: i32,
        /// What it should be.
        expected: &'static str,
        /// What it is.
        value: String,
    },
    /// An entity that contradicts itself.
    #[error("{entity}: {why}")]
    BadEntity {
        /// The entity.
        entity: String,
        /// What is wrong with it.
        why: String,
    },
}

fn gap_words(gap: &Option<(Point, f64)>) -> String {
    match gap {
        None => String::new(),
        Some((to, size)) => {
            format!("; the nearest free end is {size:.3} mm away, at ({:.3}, {:.3}) mm", to.x, to.y)
        }
    }
}

impl DrawingCause {
    /// What the user can do about it.
    #[must_use]
    pub fn mend(&self) -> Option<String> {
        let text = match self {
            Self::Unreadable { .. } => {
                "check `drawing` in [outline]; it is relative to the part file"
            }
            Self::TooLarge { .. } => {
                "leave pictures and everything but the part out of the drawing"
            }
            Self::UnknownKind { .. } => "save the drawing as SVG (text) or DXF (text, not binary)",
            Self::BadXml { .. } => "save the drawing again as plain SVG, without a document type",
            Self::NotSvg { .. } => "save the drawing as SVG",
            Self::BadAttribute { .. } => "correct the value, or draw the shape anew",
            Self::BadPath { .. } => {
                "nothing after this place can be trusted; correct the path data"
            }
            Self::TooDeep { .. } => "ungroup, so that the part's groups are few",
            Self::TooManyCopies { .. } => "turn the copies into shapes, and draw each only once",
            Self::TooManyCurves { .. } => {
                "simplify the outline: a printer cannot follow so many pieces"
            }
            Self::ContainsItself { .. } => "take the reference to itself out",
            Self::UnknownReference { .. } => "turn the copy into a shape in its own right",
            Self::OutOfBounds { .. } => "check the drawing's size, its units and its transforms",
            Self::NoOutline { .. } => {
                "turn it into a path, move it out of the part's group, or delete it"
            }
            Self::Open { .. } => {
                "close the outline: ends are joined when they are within 0.01 mm of each other"
            }
            Self::Branch { .. } => {
                "delete doubled lines, and end the outline's pieces two by two at each corner"
            }
            Self::NotDxf { .. } => "export the drawing as DXF in text form",
            Self::BadDxfValue { .. } | Self::BadEntity { .. } => {
                "draw this entity anew, or repair the drawing in the program that made it"
            }
        };
        Some(text.to_owned())
    }
}
