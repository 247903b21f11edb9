//! `withy export`: a part for printing and for other programs.

use super::solve::{REFUSED, SOLVED, results_folder};
use crate::args::{ExportArgs, ExportFormat};
use crate::case::{self, Case, Overrides};
use crate::error::Refusal;
use crate::export::drawing::drawing;
use crate::export::dxf::dxf;
use crate::export::folder::FolderError;
use crate::export::solid::{NoSolid, Solid, solid};
use crate::export::stl::stl;
use crate::export::threemf::threemf;
use crate::export::{WholeFile, write_whole};
use crate::picture::three_digits;
use crate::verdict::aligned;
use miette::Diagnostic;
use thiserror::Error;

/// How far the sides of a solid stray from the arcs, if nothing is said (mm): a tenth of what printers
/// resolve (common practice, no source).
const USUAL_TOLERANCE: f64 = 0.01;

/// Why nothing was written.
#[derive(Debug, Error, Diagnostic)]
pub enum ExportError {
    /// The input.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Refused(#[from] Box<Refusal>),
    /// The outline makes no solid.
    #[error("{}: {cause}", part)]
    #[diagnostic(help("widen the narrowest gap of the drawing: withy check shows it"))]
    NoSolid {
        /// The part file.
        part: String,
        /// Why.
        cause: NoSolid,
    },
    /// The archive of a 3MF.
    #[error("the 3MF file cannot be built: {0}")]
    Archive(#[from] std::io::Error),
    /// The folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
}

impl ExportError {
    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        REFUSED
    }
}

/// Writes a part in the wanted formats; returns what goes to standard output and the exit status.
///
/// # Errors
/// A part that is refused, a folder that cannot be written.
pub fn export(args: &ExportArgs) -> Result<(String, u8), ExportError> {
    let case = case::read(&args.part, &Overrides::default()).map_err(Box::new)?;
    let tolerance = args.tolerance.map_or(USUAL_TOLERANCE, |t| t.value());
    let all = [ExportFormat::Svg, ExportFormat::Dxf, ExportFormat::Stl, ExportFormat::ThreeMf];
    let mut formats = if args.to.is_empty() { all.to_vec() } else { args.to.clone() };
    formats.sort_unstable();
    formats.dedup();
    let stem = args.part.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let body = solid(&case.outline, case.thickness, tolerance)
        .map_err(|cause| ExportError::NoSolid { part: case.path.display().to_string(), cause })?;
    let mut files: Vec<(String, Vec<u8>, String)> = Vec::new();
    for format in formats {
        let (ending, bytes) = match format {
            ExportFormat::Svg => {
                ("svg", drawing(&case.title, &case.outline, case.page).into_bytes())
            }
            ExportFormat::Dxf => ("dxf", dxf(&case.outline, tolerance).into_bytes()),
            ExportFormat::Stl => ("stl", stl(&body)),
            ExportFormat::ThreeMf => ("3mf", threemf(&case.title, &body)?),
        };
        files.push((format!("{stem}.{ending}"), bytes, words(format, &case, &body)));
    }
    let folder = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    let whole: Vec<WholeFile<'_>> =
        files.iter().map(|(name, bytes, _)| WholeFile { name, bytes }).collect();
    write_whole(&folder, &whole)?;
    let lines: Vec<(String, String)> =
        files.into_iter().map(|(name, _, words)| (name, words)).collect();
    let mut text = aligned(&case.title, &lines);
    text += &format!("files are in {}\n", folder.display());
    Ok((text, SOLVED))
}

fn words(format: ExportFormat, case: &Case, body: &Solid) -> String {
    let bounds = case.outline.bounds();
    let size = format!("{} x {}", three_digits(bounds.width()), three_digits(bounds.height()));
    match format {
        ExportFormat::Svg | ExportFormat::Dxf => {
            let pieces: usize = case.outline.loops().iter().map(|l| l.curves.len()).sum();
            let regions = case.outline.regions().len();
            format!("{size} mm, {pieces} lines and curves, {regions} regions")
        }
        ExportFormat::Stl | ExportFormat::ThreeMf => format!(
            "{size} x {} mm, {} triangles, {} mm3, within {} mm of its curves",
            three_digits(case.thickness),
            body.triangles.len(),
            three_digits(body.volume),
            three_digits(body.tolerance)
        ),
    }
}
