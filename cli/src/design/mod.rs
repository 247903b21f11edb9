//! One design among many: a part file with some of its numbers replaced, and what comes of it.
//!
//! | file | what |
//! |---|---|
//! | `key` | a number's place in a part file: `spring.width`, `drive.0.move.1` |
//! | `written` | a value as it is written there, its unit kept |
//! | `outcome` | force, energy, strain, safe draw, guidance and speed of a design |
//! | `beam` | these of a rib spring as beams, in milliseconds |
//! | `plane` | these of any part in plane stress, in seconds |
//! | `table` | the same as columns of a table |

pub mod beam;
pub mod key;
pub mod outcome;
pub mod plane;
pub mod table;
pub mod written;

pub use key::Key;
pub use outcome::{Outcome, evaluate};
pub use written::Written;

use crate::case::{self, Case, Overrides};
use crate::error::{Refusal, Source};
use schemars::JsonSchema;
use serde::Deserialize;
use std::path::Path;
use toml_edit::DocumentMut;

/// How a design is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum Model {
    /// As beams: a rib spring of numbers.
    #[serde(rename = "beam")]
    Beam,
    /// In plane stress, its hot spot refined: any part.
    #[serde(rename = "plane stress")]
    PlaneStress,
}

impl Model {
    /// Its name in files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Beam => "beam",
            Self::PlaneStress => "plane stress",
        }
    }
}

/// The text of a part file with values in place of its own.
///
/// # Errors
/// A key that leads through something that holds no keys: which one.
pub fn text_with(base: &DocumentMut, values: &[(&Key, &Written)]) -> Result<String, String> {
    let mut document = base.clone();
    for (key, value) in values {
        key.set(&mut document, value)?;
    }
    Ok(document.to_string())
}

/// Reads a design as if its text stood in the part file.
///
/// # Errors
/// As [`case::read`].
pub fn read(part: &Path, text: String, overrides: &Overrides) -> Result<Case, Refusal> {
    case::read_source(Source::new(part, text), overrides)
}
