//! What the program decided or noticed on the way, said aloud instead of silently assumed.

use schemars::JsonSchema;
use serde::Serialize;

/// How much a remark matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// Worth knowing; the result stands.
    Note,
    /// May change the result: something was assumed or left out.
    Caution,
    /// The result, or a part of it, is not that of a real part.
    Error,
}

impl Level {
    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Error => "error",
        }
    }
}

/// What is shown wherever something is thrown.
pub const LAUNCH_CAUTIONS: [&str; 6] = [
    "Wear eye protection, and let nobody stand in line.",
    "Never point or fire it at people or animals.",
    "Do not fire it empty: without a projectile the part takes all of the energy.",
    "A part that snaps throws splinters. Do not leave it cocked.",
    "Local rules on toys, airsoft and weapons decide what is allowed.",
    "Where people's safety depends on it, a licensed engineer decides.",
];

/// The cautions as text that ends what a command says wherever something is thrown.
#[must_use]
pub fn cautions() -> String {
    let mut text = "\nBefore you let go\n".to_owned();
    for caution in LAUNCH_CAUTIONS {
        text += &format!("  {caution}\n");
    }
    text
}

/// One remark.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Remark {
    /// How much it matters.
    pub level: Level,
    /// A stable short name, so that programs can tell remarks apart.
    pub code: &'static str,
    /// A sentence for a person.
    pub text: String,
}

impl Remark {
    /// A remark worth knowing.
    pub fn note(code: &'static str, text: impl Into<String>) -> Self {
        Self { level: Level::Note, code, text: text.into() }
    }

    /// A remark on something that may change the result.
    pub fn caution(code: &'static str, text: impl Into<String>) -> Self {
        Self { level: Level::Caution, code, text: text.into() }
    }
    /// A remark on a result that no real part gives.
    pub fn error(code: &'static str, text: impl Into<String>) -> Self {
        Self { level: Level::Error, code, text: text.into() }
    }
}
