//! TOML to a typed table, its complaints in the words and the places of the user's file.

use super::CaseCause;
use super::nearest::nearest;
use crate::error::{Refusal, Source};
use serde::de::DeserializeOwned;
use std::path::Path;

/// More than this is no part file and no card (bytes).
const LARGEST_FILE: u64 = 1_000_000;

/// The text of a file.
///
/// # Errors
/// It cannot be read, or is no text.
pub(crate) fn open(path: &Path) -> Result<Source, Refusal> {
    let unreadable = |why: String| Refusal::of_file(path, CaseCause::Unreadable { why });
    let size = std::fs::metadata(path).map_err(|error| unreadable(error.to_string()))?.len();
    if size > LARGEST_FILE {
        return Err(unreadable(format!("{size} bytes are more than any part file needs")));
    }
    let text = std::fs::read_to_string(path).map_err(|error| unreadable(error.to_string()))?;
    Ok(Source::new(path, text))
}

/// A table of a known type.
///
/// # Errors
/// No TOML; an unknown key, with the nearest known one; a value of the wrong type.
pub(crate) fn parse<T: DeserializeOwned>(source: &Source) -> Result<T, Refusal> {
    toml::from_str(source.text()).map_err(|error| {
        let span = error.span().unwrap_or(0..0);
        Refusal::at(source, span, cause(error.message()))
    })
}

/// Serde's sentences, taken apart again: an unknown field or variant and the known ones stand in
/// backticks.
fn cause(message: &str) -> CaseCause {
    let mut quoted = message.split('`').skip(1).step_by(2).map(str::to_owned);
    let is_unknown = message.starts_with("unknown field") || message.starts_with("unknown variant");
    match quoted.next() {
        Some(found) if is_unknown => {
            let known: Vec<String> = quoted.collect();
            let nearest = nearest(&found, known.iter().map(String::as_str)).map(str::to_owned);
            CaseCause::UnknownWord { found, nearest, known }
        }
        Some(key) if message.starts_with("missing field") => CaseCause::MissingKey { key },
        _ => CaseCause::BadToml { why: message.lines().collect::<Vec<_>>().join("; ") },
    }
}
