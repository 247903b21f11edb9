//! `withy shape`: a spring from its numbers, as a table, and as a drawing to go on with by hand.

use super::new::{NewError, make_folder};
use super::solve::{REFUSED, SOLVED};
use crate::args::ShapeArgs;
use crate::case::{self, Case, Drive, Hold, Overrides};
use crate::error::Refusal;
use crate::export::drawing::drawing;
use crate::material;
use crate::picture::three_digits;
use crate::verdict::aligned;
use miette::Diagnostic;
use std::path::Path;
use thiserror::Error;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value, value};
use withy_mesh::{Width, gaps, walls};

/// Keys of the shapes by numbers.
const SHAPES: [&str; 3] = ["spring", "leaf", "clip"];

/// Why there is no shape.
#[derive(Debug, Error, Diagnostic)]
pub enum ShapeError {
    /// The input.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Refused(#[from] Box<Refusal>),
    /// A part with a drawing.
    #[error("{0} is drawn already")]
    #[diagnostic(help(
        "take `drawing` out of [outline] and describe the part by numbers, for example in [spring]"
    ))]
    Drawn(String),
    /// The new folder.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Folder(#[from] NewError),
}

impl ShapeError {
    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        REFUSED
    }
}

/// Makes the shape; returns what goes to standard output and the exit status.
///
/// # Errors
/// Numbers that make no part, a folder that is there already.
pub fn shape(args: &ShapeArgs) -> Result<(String, u8), ShapeError> {
    let case = case::read(&args.part, &Overrides::default()).map_err(Box::new)?;
    if !case.drawing.as_os_str().is_empty() {
        return Err(ShapeError::Drawn(case.path.display().to_string()));
    }
    let mut text = aligned(&case.title, &described(&case));
    text += &masses(&case);
    if let Some(folder) = &args.out {
        let name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let svg = format!("{name}.svg");
        let part = standalone(&case, &args.part, &svg);
        let picture = drawing(&case.title, &case.outline, case.page);
        make_folder(folder, &[(format!("{name}.toml"), part), (svg, picture)])?;
        text += &format!(
            "\n{0} holds {name}.toml and {name}.svg, to go on by hand. Next:\n  withy check {0}/{name}.toml\n",
            folder.display()
        );
    }
    Ok((text, SOLVED))
}

fn least(widths: &[Width]) -> Option<&Width> {
    widths.iter().min_by(|a, b| a.width.total_cmp(&b.width))
}

fn described(case: &Case) -> Vec<(String, String)> {
    let bounds = case.outline.bounds();
    let size = format!(
        "{} x {} mm, {} mm deep, {} mm2",
        three_digits(bounds.width()),
        three_digits(bounds.height()),
        three_digits(case.thickness),
        three_digits(case.outline.area())
    );
    let place = |w: Option<&Width>| {
        w.map_or_else(
            || "none".to_owned(),
            |w| {
                format!(
                    "{} mm at ({}, {}) mm",
                    three_digits(w.width),
                    three_digits(w.middle.x),
                    three_digits(w.middle.y)
                )
            },
        )
    };
    let mut lines = vec![
        ("size".to_owned(), size),
        ("smallest gap".to_owned(), place(least(&gaps(&case.outline)))),
        ("smallest wall".to_owned(), place(least(&walls(&case.outline)))),
    ];
    lines.extend(case.printing().into_iter().map(|(label, text)| (label.to_owned(), text)));
    lines
}

/// What the part weighs in each material of the shelf that knows its density.
fn masses(case: &Case) -> String {
    let volume = case.outline.area() * case.thickness;
    let cards = material::shelf().filter_map(|name| {
        let (card, _) = material::card(name).ok()?;
        let density = card.density.as_ref()?.value;
        Some((name.to_owned(), format!("{} g", three_digits(density * volume))))
    });
    aligned("Weight, if printed solid", &cards.collect::<Vec<_>>())
}

/// The part file that names the drawing instead of the numbers; all else, and its comments, are kept.
fn standalone(case: &Case, path: &Path, svg: &str) -> String {
    // The file has been read once already: what cannot be read again is left empty, and said so.
    let text = std::fs::read_to_string(path).unwrap_or_default();
    let mut document: DocumentMut = text.parse().unwrap_or_default();
    for key in SHAPES {
        document.remove(key);
    }
    document["outline"]["drawing"] = value(svg);
    if let Some(card) = document.get("material").and_then(|m| m.get("card")).and_then(Item::as_str)
        && material::shelf().all(|name| name != card)
    {
        // A card beside the old part file is no longer beside the new one.
        let beside = path.parent().unwrap_or(Path::new("")).join(card);
        let absolute = std::path::absolute(&beside).unwrap_or(beside);
        document["material"]["card"] = value(absolute.display().to_string());
    }
    if document.get("hold").is_none() {
        let tables = case.holds.iter().map(held);
        document["hold"] = Item::ArrayOfTables(tables.collect::<ArrayOfTables>());
    }
    if document.get("drive").is_none() && document.get("load").is_none() {
        let tables = case.drives.iter().map(driven);
        document["drive"] = Item::ArrayOfTables(tables.collect::<ArrayOfTables>());
    }
    document.to_string()
}

fn held(hold: &Hold) -> Table {
    let mut table = Table::new();
    table["region"] = value(hold.region.as_str());
    let along: Array = [(hold.along.x, "x"), (hold.along.y, "y")]
        .into_iter()
        .filter_map(|(is, axis)| is.then_some(axis))
        .collect();
    if along.len() < 2 {
        table["along"] = value(along);
    }
    table
}

fn driven(drive: &Drive) -> Table {
    let mut table = Table::new();
    table["region"] = value(drive.region.as_str());
    let millimetres = drive.shift.map(|shift| Value::from(format!("{shift} mm")));
    table["move"] = value(millimetres.into_iter().collect::<Array>());
    if drive.turn.abs() > 0.0 {
        table["turn"] = value(format!("{} deg", drive.turn.to_degrees()));
    }
    let free: Array = [(drive.free.x, "x"), (drive.free.y, "y"), (drive.free.turn, "turn")]
        .into_iter()
        .filter_map(|(is, word)| is.then_some(word))
        .collect();
    if !free.is_empty() {
        table["free"] = value(free);
    }
    table
}
