//! Numbers with units, as a person writes them, to the one system used inside: mm, N, MPa, g, ms, rad.
//!
//! A bare number has the default unit of its kind; a text names its unit: `28`, `"28 mm"`,
//! `"1.1 in"`. A unit of another kind is refused with the units that would do. Exact factors: the
//! inch is 25.4 mm, the pound 453.59237 g (international yard and pound agreement, 1959), standard
//! gravity 9.80665 m/s2 (3rd CGPM, 1901).

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error as _, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;
use thiserror::Error;

const POUND_FORCE_N: f64 = 4.448_221_615_260_5;
const PSI_MPA: f64 = POUND_FORCE_N / (25.4 * 25.4);
const STANDARD_GRAVITY: f64 = 9.806_65;
const POUND_G: f64 = 453.592_37;

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

/// Marker of lengths (mm).
#[derive(Debug)]
pub enum LengthKind {}
/// Marker of stresses and moduli (MPa).
#[derive(Debug)]
pub enum StressKind {}
/// Marker of forces (N).
#[derive(Debug)]
pub enum ForceKind {}
/// Marker of moments (N mm).
#[derive(Debug)]
pub enum MomentKind {}
/// Marker of energies (mJ).
#[derive(Debug)]
pub enum EnergyKind {}
/// Marker of angles (rad).
#[derive(Debug)]
pub enum AngleKind {}
/// Marker of plain ratios (1).
#[derive(Debug)]
pub enum RatioKind {}
/// Marker of densities (g/mm3).
#[derive(Debug)]
pub enum DensityKind {}
/// Marker of speeds (mm/ms).
#[derive(Debug)]
pub enum SpeedKind {}
/// Marker of times (ms).
#[derive(Debug)]
pub enum TimeKind {}
/// Marker of masses (g).
#[derive(Debug)]
pub enum MassKind {}

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

impl Dimension for LengthKind {
    const KIND: Kind = Kind {
        name: "a length",
        example: "28 mm",
        units: &[
            ("mm", 1.0),
            ("cm", 10.0),
            ("m", 1e3),
            ("um", 1e-3),
            ("in", 25.4),
            ("ft", 304.8),
            ("thou", 0.0254),
        ],
    };
}

impl Dimension for StressKind {
    const KIND: Kind = Kind {
        name: "a stress or modulus",
        example: "2.1 GPa",
        units: &[
            ("MPa", 1.0),
            ("GPa", 1e3),
            ("kPa", 1e-3),
            ("Pa", 1e-6),
            ("N/mm2", 1.0),
            ("psi", PSI_MPA),
            ("ksi", 1e3 * PSI_MPA),
        ],
    };
}

impl Dimension for ForceKind {
    const KIND: Kind = Kind {
        name: "a force",
        example: "40 N",
        units: &[
            ("N", 1.0),
            ("kN", 1e3),
            ("lbf", POUND_FORCE_N),
            ("ozf", POUND_FORCE_N / 16.0),
            ("kgf", STANDARD_GRAVITY),
            ("gf", 1e-3 * STANDARD_GRAVITY),
        ],
    };
}

impl Dimension for MomentKind {
    const KIND: Kind = Kind {
        name: "a moment",
        example: "30 N mm",
        units: &[
            ("N mm", 1.0),
            ("N cm", 10.0),
            ("N m", 1e3),
            ("lbf in", POUND_FORCE_N * 25.4),
            ("lbf ft", POUND_FORCE_N * 304.8),
            ("kgf cm", STANDARD_GRAVITY * 10.0),
        ],
    };
}

impl Dimension for EnergyKind {
    const KIND: Kind = Kind {
        name: "an energy",
        example: "120 mJ",
        units: &[
            ("mJ", 1.0),
            ("J", 1e3),
            ("N mm", 1.0),
            ("N m", 1e3),
            ("ft lbf", POUND_FORCE_N * 304.8),
            ("in lbf", POUND_FORCE_N * 25.4),
        ],
    };
}

impl Dimension for AngleKind {
    const KIND: Kind = Kind {
        name: "an angle",
        example: "10 deg",
        units: &[
            ("deg", std::f64::consts::PI / 180.0),
            ("rad", 1.0),
            ("turn", std::f64::consts::TAU),
        ],
    };
}

impl Dimension for RatioKind {
    const KIND: Kind = Kind { name: "a ratio", example: "2 %", units: &[("", 1.0), ("%", 0.01)] };
}

impl Dimension for DensityKind {
    const KIND: Kind = Kind {
        name: "a density",
        example: "1.27 g/cm3",
        units: &[
            ("g/cm3", 1e-3),
            ("kg/m3", 1e-6),
            ("g/mm3", 1.0),
            ("lb/in3", POUND_G / (25.4 * 25.4 * 25.4)),
        ],
    };
}

impl Dimension for SpeedKind {
    const KIND: Kind = Kind {
        name: "a speed",
        example: "3 m/s",
        units: &[
            ("m/s", 1.0),
            ("mm/s", 1e-3),
            ("mm/ms", 1.0),
            ("km/h", 1.0 / 3.6),
            ("ft/s", 0.3048),
            ("in/s", 0.0254),
        ],
    };
}

impl Dimension for TimeKind {
    const KIND: Kind = Kind {
        name: "a time",
        example: "30 s",
        units: &[("ms", 1.0), ("s", 1e3), ("min", 6e4), ("h", 3.6e6), ("d", 8.64e7)],
    };
}

impl Dimension for MassKind {
    const KIND: Kind = Kind {
        name: "a mass",
        example: "5 g",
        units: &[("g", 1.0), ("kg", 1e3), ("mg", 1e-3), ("oz", POUND_G / 16.0), ("lb", POUND_G)],
    };
}

/// Every kind, to name what a misplaced unit would have been.
const KINDS: [Kind; 11] = [
    LengthKind::KIND,
    StressKind::KIND,
    ForceKind::KIND,
    MomentKind::KIND,
    EnergyKind::KIND,
    AngleKind::KIND,
    RatioKind::KIND,
    DensityKind::KIND,
    SpeedKind::KIND,
    TimeKind::KIND,
    MassKind::KIND,
];

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

#[cfg(test)]
mod tests {
    use super::*;

    fn value<D: Dimension>(text: &str) -> f64 {
        text.parse::<Quantity<D>>().unwrap().value()
    }

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{found}, expected {expected}");
    }

    #[test]
    fn every_unit_has_its_factor() {
        close(value::<LengthKind>("28 mm"), 28.0);
        close(value::<LengthKind>("1.1in"), 27.94);
        close(value::<LengthKind>("-40 thou"), -1.016);
        close(value::<LengthKind>("3 µm"), 0.003);
        close(value::<LengthKind>("1e-2 m"), 10.0);
        close(value::<StressKind>("2.1 GPa"), 2100.0);
        close(value::<StressKind>("50 N/mm²"), 50.0);
        close(value::<StressKind>("1 ksi"), 6.894_757_293_168_361);
        close(value::<StressKind>("101.325 kPa"), 0.101_325);
        close(value::<ForceKind>("40 lbf"), 177.928_864_610_42);
        close(value::<ForceKind>("1 kgf"), 9.806_65);
        close(value::<ForceKind>("16 ozf"), 4.448_221_615_260_5);
        close(value::<ForceKind>("100 gf"), 0.980_665);
        close(value::<MomentKind>("30 N·mm"), 30.0);
        close(value::<MomentKind>("0.2 Nm"), 200.0);
        close(value::<EnergyKind>("0.5 J"), 500.0);
        close(value::<EnergyKind>("7 N mm"), 7.0);
        close(value::<AngleKind>("180°"), std::f64::consts::PI);
        close(value::<AngleKind>("0.5 turn"), std::f64::consts::PI);
        close(value::<RatioKind>("2 %"), 0.02);
        close(value::<RatioKind>("0.38"), 0.38);
        close(value::<DensityKind>("1270 kg/m3"), value::<DensityKind>("1.27 g/cm^3"));
        close(value::<SpeedKind>("26 ft/s"), 7.9248);
        close(value::<TimeKind>("1 h"), value::<TimeKind>("60 min"));
        close(value::<TimeKind>("1 d"), value::<TimeKind>("86400 s"));
        close(value::<MassKind>("1 lb"), value::<MassKind>("16 oz"));
        close(value::<MassKind>("5 kg"), value::<MassKind>("5e6 mg"));
    }

    #[test]
    fn a_unit_of_another_kind_is_named_and_the_right_ones_listed() {
        let error = "5 N".parse::<Length>().unwrap_err().to_string();
        assert!(
            error.contains("expected a length") && error.contains("which is a force"),
            "{error}"
        );
        assert!(error.contains("mm, cm, m, um, in, ft, thou"), "{error}");
        let error = "5 furlong".parse::<Length>().unwrap_err().to_string();
        assert!(error.contains("no unit 'furlong'"), "{error}");
        let error = "5 mpa".parse::<Stress>().unwrap_err().to_string();
        assert!(error.contains("MPa"), "{error}");
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in
            ["", "mm", "NaN mm", "inf", "-inf mm", "1e400 mm", "--3 mm", "e5 mm", ".", "1..2 mm"]
        {
            assert!(text.parse::<Length>().is_err(), "{text:?} is refused");
        }
        assert!(
            matches!("28".parse::<Length>(), Err(QuantityError::NoUnit { .. })),
            "a text needs its unit"
        );
        assert!(Length::of_bare(f64::NAN).is_err(), "a bare nan");
        assert!(Length::of_bare(f64::INFINITY).is_err(), "a bare inf");
    }

    #[test]
    fn a_decimal_comma_is_pointed_out() {
        let error = "1,5 mm".parse::<Length>().unwrap_err().to_string();
        assert!(error.contains("\"1.5 mm\""), "{error}");
    }

    #[test]
    fn bare_numbers_have_the_default_unit() {
        #[derive(Debug, serde::Deserialize)]
        struct Bare {
            length: Length,
            angle: Angle,
            density: Density,
        }
        let bare: Bare = toml::from_str("length = 28\nangle = 180.0\ndensity = 1.27").unwrap();
        close(bare.length.value(), 28.0);
        close(bare.angle.value(), std::f64::consts::PI);
        close(bare.density.value(), 1.27e-3);
        let error =
            toml::from_str::<Bare>("length = 28\nangle = true\ndensity = 1.27").unwrap_err();
        assert!(error.message().contains("an angle, such as \"10 deg\""), "{error}");
        assert_eq!(error.span(), Some(20..24), "the place of the value");
    }
}
