//! Tables of readings: CSV with one header line that names quantities and units.
//!
//! `draw_mm,force_N` or `draw (in), force (lbf)`: the first word names the quantity, the rest is its unit; without
//! one the usual unit holds. A cell may also carry its own unit. Lines that begin with `#` are remarks.

use crate::case::nearest;
use crate::error::{Refusal, Source};
use crate::quantity::{Dimension, Quantity};
use std::ops::Range;
use std::path::Path;
use thiserror::Error;

/// Why readings were refused.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum MeasuredCause {
    /// The file cannot be read.
    #[error("the readings cannot be read: {why}")]
    Unreadable {
        /// The operating system's or the reader's words.
        why: String,
    },
    /// A column that must be there.
    #[error("there is no column '{name}'; the header has {found}")]
    NoColumn {
        /// What is looked for.
        name: &'static str,
        /// The header's words.
        found: String,
        /// The word of the header nearest to it.
        nearest: Option<String>,
    },
    /// A cell that is no quantity of its column.
    #[error("in column '{column}': {why}")]
    BadCell {
        /// The header's word.
        column: String,
        /// What is wrong.
        why: String,
    },
    /// Too few of them.
    #[error("{found} readings are too few: {needed} at least")]
    TooFew {
        /// There are.
        found: usize,
        /// There must be.
        needed: usize,
    },
    /// A number that cannot be.
    #[error("{what} is {found}, but must be {range}")]
    OutOfRange {
        /// The quantity.
        what: &'static str,
        /// Its value.
        found: String,
        /// What it may be.
        range: &'static str,
    },
    /// A part that cannot be held against readings.
    #[error("{0}")]
    Unfit(String),
}

impl MeasuredCause {
    /// What to do about it.
    #[must_use]
    pub fn mend(&self) -> Option<String> {
        Some(match self {
            Self::Unreadable { .. } => "name a CSV file: a header line, then one reading a line".into(),
            Self::NoColumn { name, nearest: Some(nearest), .. } => {
                format!("rename '{nearest}' to '{name}', with its unit: {name}_mm, or \"{name} (in)\"")
            }
            Self::NoColumn { name, .. } => format!("name the column '{name}' in the first line"),
            Self::BadCell { .. } => {
                "write a number with a decimal point, or a number with its unit; '#' begins a remark".into()
            }
            Self::TooFew { .. } => "measure at more places along the draw".into(),
            Self::OutOfRange { .. } => return None,
            Self::Unfit(_) => "reconcile a part that is driven along a line or turned, to full draw".into(),
        })
    }
}

/// A table as it was read.
#[derive(Debug)]
pub struct Readings {
    source: Source,
    header: Vec<String>,
    rows: Vec<(Vec<String>, Range<usize>)>,
}

impl Readings {
    /// Reads a file.
    ///
    /// # Errors
    /// A file that cannot be read or is no CSV.
    pub fn open(path: &Path) -> Result<Self, Refusal> {
        let unreadable = |why: String| Refusal::of_file(path, MeasuredCause::Unreadable { why });
        let text = std::fs::read_to_string(path).map_err(|e| unreadable(e.to_string()))?;
        Self::parse(Source::new(path, text))
    }

    /// Takes a table out of a text.
    ///
    /// # Errors
    /// A text that is no CSV.
    pub fn parse(source: Source) -> Result<Self, Refusal> {
        let text = source.text().trim_start_matches('\u{feff}');
        let skipped = source.text().len() - text.len();
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .delimiter(delimiter(text))
            .from_reader(text.as_bytes());
        let broken = |e: &csv::Error| {
            let at = e.position().map_or(0, |p| usize::try_from(p.byte()).unwrap_or(0) + skipped);
            Refusal::at(&source, at..at + 1, MeasuredCause::Unreadable { why: e.to_string() })
        };
        let header: Vec<String> =
            reader.headers().map_err(|e| broken(&e))?.iter().map(str::to_owned).collect();
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|e| broken(&e))?;
            let at =
                record.position().map_or(0, |p| usize::try_from(p.byte()).unwrap_or(0)) + skipped;
            let line = source.line_range(source.line(at.min(source.text().len())));
            rows.push((record.iter().map(str::to_owned).collect(), line));
        }
        Ok(Self { header, rows, source })
    }

    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// A complaint about the table as a whole.
    #[must_use]
    pub fn complaint(&self, cause: MeasuredCause) -> Refusal {
        Refusal::of_text(&self.source, cause)
    }

    /// A complaint about one reading.
    #[must_use]
    pub fn complaint_at(&self, row: usize, cause: MeasuredCause) -> Refusal {
        match self.rows.get(row) {
            Some((_, line)) => Refusal::at(&self.source, line.clone(), cause),
            None => self.complaint(cause),
        }
    }

    /// The file's name.
    #[must_use]
    pub fn name(&self) -> String {
        self.source.path().file_name().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// Whether there is such a column.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.header.iter().any(|word| split(word).0.eq_ignore_ascii_case(name))
    }

    /// A column in the unit used inside.
    ///
    /// # Errors
    /// No such column, or a cell that is no such quantity.
    pub fn column<D: Dimension>(&self, name: &'static str) -> Result<Vec<f64>, Refusal> {
        let found = self.header.iter().position(|word| split(word).0.eq_ignore_ascii_case(name));
        let Some(at) = found else {
            let words: Vec<&str> = self.header.iter().map(|w| split(w).0).collect();
            return Err(self.complaint(MeasuredCause::NoColumn {
                name,
                found: self.header.join(", "),
                nearest: nearest(name, words).map(str::to_owned),
            }));
        };
        let (_, unit) = split(&self.header[at]);
        let unit = if unit.is_empty() { D::KIND.units[0].0 } else { unit };
        let mut values = Vec::new();
        for (k, (cells, _)) in self.rows.iter().enumerate() {
            let cell = cells.get(at).map_or("", String::as_str);
            let bare = cell.parse::<f64>().is_ok();
            let text = if bare { format!("{cell} {unit}") } else { cell.to_owned() };
            let quantity: Quantity<D> =
                text.parse().map_err(|e: crate::quantity::QuantityError| {
                    let column = self.header[at].clone();
                    self.complaint_at(k, MeasuredCause::BadCell { column, why: e.to_string() })
                })?;
            values.push(quantity.value());
        }
        Ok(values)
    }
}

/// Spreadsheets of half the world part cells with semicolons.
fn delimiter(text: &str) -> u8 {
    let header = text.lines().find(|line| !line.starts_with('#')).unwrap_or_default();
    if header.contains(';') {
        b';'
    } else if header.contains('\t') {
        b'\t'
    } else {
        b','
    }
}

/// "force (lbf)", "force_lbf", "force [lbf]" and "force lbf" are "force" and "lbf".
fn split(word: &str) -> (&str, &str) {
    let end = word.find(['_', ' ', '(', '[', '/']).unwrap_or(word.len());
    let unit = word[end..].trim_matches(['_', ' ', '(', ')', '[', ']']);
    (&word[..end], unit.trim_start_matches("/ ").trim_start_matches('/').trim())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{ForceKind, LengthKind, SpeedKind};

    fn of(text: &str) -> Readings {
        Readings::parse(Source::new(Path::new("pull.csv"), text.into())).unwrap()
    }

    #[test]
    fn columns_are_found_by_name_in_any_unit_and_delimiter() {
        let table = of("# luggage scale\nforce (kgf), draw_in\n1, 0.5\n2.5, 1.0\n\n");
        assert_eq!(table.column::<LengthKind>("draw").unwrap(), [12.7, 25.4]);
        let force = table.column::<ForceKind>("force").unwrap();
        assert!((force[1] - 2.5 * 9.806_65).abs() < 1e-12);
        let table = of("\u{feff}draw;force\n1;2\n3 mm;40 lbf\n");
        assert_eq!(table.column::<LengthKind>("draw").unwrap(), [1.0, 3.0]);
        assert!((table.column::<ForceKind>("force").unwrap()[1] - 177.929).abs() < 1e-3);
        assert_eq!(split("speed m/s"), ("speed", "m/s"));
        assert_eq!(split("speed_m/s"), ("speed", "m/s"));
        assert!(of("speed (ft/s)\n10\n").column::<SpeedKind>("speed").unwrap()[0] - 3.048 < 1e-12);
    }

    #[test]
    fn complaints_name_the_line_and_the_mend() {
        let table = of("draw_mm,force_N\n1,2\n2,x\n");
        let refusal = table.column::<ForceKind>("force").unwrap_err();
        assert_eq!(refusal.line_column().unwrap().0, 3, "{refusal}");
        let refusal = of("drwa,force\n1,2\n").column::<LengthKind>("draw").unwrap_err();
        assert!(refusal.mend().unwrap().contains("rename 'drwa' to 'draw'"), "{refusal:?}");
        let comma = of("draw;force\n1,5;2\n").column::<LengthKind>("draw").unwrap_err();
        assert!(comma.to_string().contains("with a point: \"1.5\""), "{comma}");
        let uneven = Readings::parse(Source::new(Path::new("p.csv"), "a,b\n1,2\n3\n".into()));
        assert!(uneven.is_err());
    }
}
