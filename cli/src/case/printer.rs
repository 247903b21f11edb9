//! What the part file says about the printer.

use super::written::PartFile;
use super::written_shapes::PrinterTable;
use super::{CaseCause, length};
use crate::error::{Refusal, Source};
use crate::maker::Limits;

/// A line is drawn so many times as wide as the nozzle: common practice, no source.
const LINE_PER_NOZZLE: f64 = 1.125;

/// What prints the part: whatever of it is told.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Printer {
    /// The two sides of its bed (mm).
    pub bed: Option<[f64; 2]>,
    /// Width of a line (mm).
    pub extrusion_width: Option<f64>,
    /// Narrower gaps fuse (mm).
    pub minimum_gap: Option<f64>,
    /// Walls come out so much wider or narrower (mm).
    pub wall_tolerance: Option<f64>,
    /// The part comes out so much deeper or shallower (mm).
    pub thickness_tolerance: Option<f64>,
    /// Mass of a printed part (g).
    pub weighed: Option<f64>,
}

impl Printer {
    /// What a maker may ask of it: no wall thinner than one line.
    #[must_use]
    pub fn limits(&self) -> Limits {
        let usual = Limits::default();
        Limits {
            gap: self.minimum_gap.unwrap_or(usual.gap),
            wall: self.extrusion_width.unwrap_or(usual.wall),
        }
    }
}

fn weighed(table: &PrinterTable, source: &Source) -> Result<Option<f64>, Refusal> {
    let Some(mass) = &table.weighed else { return Ok(None) };
    if mass.value() > 0.0 {
        return Ok(Some(mass.value()));
    }
    let found = format!("{} g", mass.value());
    let cause = CaseCause::OutOfRange { what: "weighed".into(), found, range: "above 0 g".into() };
    Err(Refusal::at(source, mass.span(), cause))
}

/// Reads `[printer]`.
///
/// # Errors
/// A number out of its range, or a section that says nothing.
pub(super) fn read(file: &PartFile, source: &Source) -> Result<Option<Printer>, Refusal> {
    let Some(table) = &file.printer else { return Ok(None) };
    let given = |what: &str, value: &Option<_>| {
        value.as_ref().map(|value| length(source, what, value)).transpose()
    };
    let nozzle = given("nozzle", &table.nozzle)?;
    let line = given("extrusion_width", &table.extrusion_width)?;
    let printer = Printer {
        bed: table.bed.as_ref().map(|bed| bed.map(|side| side.value())),
        extrusion_width: line.or(nozzle.map(|d| LINE_PER_NOZZLE * d)),
        minimum_gap: given("minimum_gap", &table.minimum_gap)?,
        wall_tolerance: given("wall_tolerance", &table.wall_tolerance)?,
        thickness_tolerance: given("thickness_tolerance", &table.thickness_tolerance)?,
        weighed: weighed(table, source)?,
    };
    if let (Some(bed), Some(written)) = (printer.bed, &table.bed)
        && !bed.iter().all(|side| *side > 0.0)
    {
        let cause = CaseCause::OutOfRange {
            what: "bed".into(),
            found: format!("{} x {} mm", bed[0], bed[1]),
            range: "above 0 mm on both sides".into(),
        };
        return Err(Refusal::at(source, written.span(), cause));
    }
    if printer == Printer::default() {
        let cause = CaseCause::MissingKey { key: "extrusion_width".into() };
        return Err(Refusal::at(source, table.span(), cause));
    }
    Ok(Some(printer))
}
