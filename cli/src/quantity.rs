//! Numbers with units, as a person writes them, to the one system used inside: mm, N, MPa, g, ms, rad.
//!
//! A bare number has the default unit of its kind; a text names its unit: `28`, `"28 mm"`,
//! `"1.1 in"`. A unit of another kind is refused with the units that would do.

mod kinds;
#[cfg(test)]
mod tests;

pub use kinds::*;

use kinds::KINDS;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error as _, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;
use thiserror::Error;

/// A kind of quantity and the units that it may be given in.
#[derive(Debug)]
pub struct Kind {
    /// With its article: "a length".
    pub name: &'static str,
    /// As one would write it.
    pub example: &'static str,
    /// Unit and factor to the unit used inside; the first is the default of bare numbers.
    pub units: &'static [(&'static str, f64)],
}

/// Marks a kind of quantity at compile time.
pub trait Dimension {
    /// What is known of it.
    const KIND: Kind;
}

/// A finite number of a kind, in the unit used inside.
pub struct Quantity<D> {
    value: f64,
    dimension: PhantomData<D>,
}

/// A length (mm).
pub type Length = Quantity<LengthKind>;
/// A stress or a modulus (MPa).
pub type Stress = Quantity<StressKind>;
/// A force (N).
pub type Force = Quantity<ForceKind>;
/// A moment (N mm).
pub type Moment = Quantity<MomentKind>;
/// An energy (mJ).
pub type Energy = Quantity<EnergyKind>;
/// An angle (rad); degrees when written without a unit.
pub type Angle = Quantity<AngleKind>;
/// A ratio (1).
pub type Ratio = Quantity<RatioKind>;
/// A density (g/mm3); g/cm3 when written without a unit.
pub type Density = Quantity<DensityKind>;
/// A speed (mm/ms, which is m/s).
pub type Speed = Quantity<SpeedKind>;
/// A time (ms).
pub type Time = Quantity<TimeKind>;
/// A mass (g).
pub type Mass = Quantity<MassKind>;

/// An energy by area (mJ/mm2); J/m2 when written without a unit.
pub type EnergyDensity = Quantity<EnergyDensityKind>;

/// Why a text is no quantity.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum QuantityError {
    /// No number at the beginning.
    #[error("\"{text}\" does not begin with a number; expected {kind}, such as \"{example}\"")]
    NoNumber {
        /// What is written.
        text: String,
        /// What is expected.
        kind: &'static str,
        /// As one would write it.
        example: &'static str,
    },
    /// A comma where a decimal point belongs.
    #[error("\"{text}\" has a comma; write decimals with a point: \"{instead}\"")]
    DecimalComma {
        /// What is written.
        text: String,
        /// The same with a point.
        instead: String,
    },
    /// Not a number, or infinite.
    #[error("\"{text}\" is not a finite number")]
    NotFinite {
        /// What is written.
        text: String,
    },
    /// A text without a unit.
    #[error("\"{text}\" has no unit; {kind} is written like \"{example}\" (accepted: {units})")]
    NoUnit {
        /// What is written.
        text: String,
        /// What is expected.
        kind: &'static str,
        /// As one would write it.
        example: &'static str,
        /// The units that would do.
        units: String,
    },
    /// A unit of nothing known, or of another kind.
    #[error("expected {kind}, found \"{text}\"{found} (accepted: {units})")]
    WrongUnit {
        /// What is written.
        text: String,
        /// What is expected.
        kind: &'static str,
        /// ", which is a force", or ": there is no unit 'xy'".
        found: String,
        /// The units that would do.
        units: String,
    },
}

impl<D: Dimension> Quantity<D> {
    /// A quantity in the unit used inside.
    #[must_use]
    pub fn new(value: f64) -> Self {
        Self { value, dimension: PhantomData }
    }

    /// The number, in the unit used inside.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.value
    }

    fn of_bare(number: f64) -> Result<Self, QuantityError> {
        if number.is_finite() {
            Ok(Self::new(number * D::KIND.units[0].1))
        } else {
            Err(QuantityError::NotFinite { text: number.to_string() })
        }
    }
}

impl<D: Dimension> FromStr for Quantity<D> {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let kind = D::KIND;
        let trimmed = text.trim();
        let (number, unit) = split(trimmed);
        if unit.starts_with(',') && unit[1..].starts_with(|c: char| c.is_ascii_digit()) {
            let instead = trimmed.replacen(',', ".", 1);
            return Err(QuantityError::DecimalComma { text: trimmed.into(), instead });
        }
        let lower = trimmed.trim_start_matches(['+', '-']).to_lowercase();
        if lower.starts_with("nan") || lower.starts_with("inf") {
            return Err(QuantityError::NotFinite { text: trimmed.into() });
        }
        let number: f64 = number.parse().map_err(|_| QuantityError::NoNumber {
            text: trimmed.into(),
            kind: kind.name,
            example: kind.example,
        })?;
        let normal = normal(unit);
        let known = kind.units.iter().find(|(name, _)| self::normal(name) == normal);
        let value = match known {
            Some((_, factor)) => number * factor,
            None if normal.is_empty() => {
                return Err(QuantityError::NoUnit {
                    text: trimmed.into(),
                    kind: kind.name,
                    example: kind.example,
                    units: accepted(&kind),
                });
            }
            None => {
                let (text, found) = (trimmed.into(), other_kind(unit));
                return Err(QuantityError::WrongUnit {
                    text,
                    kind: kind.name,
                    found,
                    units: accepted(&kind),
                });
            }
        };
        if value.is_finite() {
            Ok(Self::new(value))
        } else {
            Err(QuantityError::NotFinite { text: trimmed.into() })
        }
    }
}

/// The longest beginning that looks like a number, and the rest.
fn split(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        at
    };
    let mut end = digits(usize::from(text.starts_with(['+', '-'])));
    if bytes.get(end) == Some(&b'.') {
        end = digits(end + 1);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits(end + 1 + sign);
        if exponent > end + 1 + sign {
            end = exponent;
        }
    }
    (&text[..end], text[end..].trim_start())
}

/// A unit without blanks, multiplication signs and typographical niceties.
fn normal(unit: &str) -> String {
    let kept = unit.chars().filter(|c| !c.is_whitespace() && !matches!(c, '*' | '·' | '⋅' | '^'));
    let plain = kept.map(|c| match c {
        '²' => '2',
        '³' => '3',
        'µ' | 'μ' => 'u',
        other => other,
    });
    plain.collect::<String>().replace('°', "deg")
}

fn accepted(kind: &Kind) -> String {
    let names =
        kind.units.iter().map(|(name, _)| if name.is_empty() { "a bare number" } else { name });
    names.collect::<Vec<_>>().join(", ")
}

fn other_kind(unit: &str) -> String {
    let normal = normal(unit);
    let has = |kind: &&Kind| {
        kind.units.iter().any(|(name, _)| !name.is_empty() && self::normal(name) == normal)
    };
    match KINDS.iter().find(has) {
        Some(kind) => format!(", which is {}", kind.name),
        None => format!(": there is no unit '{unit}' here"),
    }
}

impl<D> Clone for Quantity<D> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<D> Copy for Quantity<D> {}

impl<D> fmt::Debug for Quantity<D> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Quantity({})", self.value)
    }
}

struct QuantityVisitor<D>(PhantomData<D>);

impl<D: Dimension> Visitor<'_> for QuantityVisitor<D> {
    type Value = Quantity<D>;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let kind = D::KIND;
        write!(f, "{}, such as \"{}\" (accepted: {})", kind.name, kind.example, accepted(&kind))
    }

    fn visit_f64<E: serde::de::Error>(self, number: f64) -> Result<Self::Value, E> {
        Quantity::of_bare(number).map_err(E::custom)
    }

    #[expect(clippy::cast_precision_loss, reason = "beyond 2^53 no measure is meant")]
    fn visit_i64<E: serde::de::Error>(self, number: i64) -> Result<Self::Value, E> {
        Quantity::of_bare(number as f64).map_err(E::custom)
    }

    #[expect(clippy::cast_precision_loss, reason = "beyond 2^53 no measure is meant")]
    fn visit_u64<E: serde::de::Error>(self, number: u64) -> Result<Self::Value, E> {
        Quantity::of_bare(number as f64).map_err(E::custom)
    }

    fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Self::Value, E> {
        text.parse().map_err(|error: QuantityError| E::custom(error))
    }
}

impl<'de, D: Dimension> Deserialize<'de> for Quantity<D> {
    fn deserialize<T: Deserializer<'de>>(deserializer: T) -> Result<Self, T::Error> {
        deserializer.deserialize_any(QuantityVisitor(PhantomData)).map_err(T::Error::custom)
    }
}

impl<D: Dimension> JsonSchema for Quantity<D> {
    fn schema_name() -> Cow<'static, str> {
        let name = D::KIND.name;
        let bare = name.strip_prefix("a ").or_else(|| name.strip_prefix("an ")).unwrap_or(name);
        bare.replace(' ', "_").into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let kind = D::KIND;
        let default = if kind.units[0].0.is_empty() { "no unit" } else { kind.units[0].0 };
        json_schema!({
            "description": format!(
                "{}: a number ({default}), or text with its unit, such as \"{}\" (accepted: {})",
                kind.name, kind.example, accepted(&kind)
            ),
            "type": ["number", "string"],
            "examples": [kind.example],
        })
    }
}
