//! A value as it is written in a part file, its unit kept: `"1.6 mm"`, `3`, `"petg"`.

use crate::export::curve::shortest;
use toml_edit::Value;

/// A value and how it was written.
#[derive(Clone, Debug, PartialEq)]
pub enum Written {
    /// A number with its unit, or a bare one with none.
    Quantity {
        /// The number, in that unit.
        number: f64,
        /// As it was written; empty for a bare number.
        unit: String,
    },
    /// A whole number.
    Integer(i64),
    /// A text that is no quantity.
    Text(String),
    /// Yes or no.
    Flag(bool),
}

impl Written {
    /// A number with its unit.
    #[must_use]
    pub fn quantity(number: f64, unit: &str) -> Self {
        Self::Quantity { number, unit: unit.to_owned() }
    }

    /// What a value of a TOML file is; `None` of tables, lists and dates.
    #[must_use]
    pub fn of(value: &Value) -> Option<Self> {
        Some(match value {
            Value::String(text) => Self::of_text(text.value()),
            Value::Integer(number) => Self::Integer(*number.value()),
            Value::Float(number) => Self::quantity(*number.value(), ""),
            Value::Boolean(flag) => Self::Flag(*flag.value()),
            Value::Datetime(_) | Value::Array(_) | Value::InlineTable(_) => return None,
        })
    }

    /// A number and a unit, or a text.
    fn of_text(text: &str) -> Self {
        let trimmed = text.trim();
        // Without this "inf" and "nano" would begin with a number.
        if trimmed.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) {
            let ends = trimmed.char_indices().map(|(at, c)| at + c.len_utf8()).rev();
            for end in ends {
                let (number, unit) = trimmed.split_at(end);
                let unit = unit.trim();
                if let Ok(number) = number.trim().parse::<f64>()
                    && number.is_finite()
                    && unit.starts_with(|c: char| c.is_alphabetic() || c == '%')
                {
                    return Self::quantity(number, unit);
                }
            }
        }
        Self::Text(text.to_owned())
    }

    /// The same in TOML.
    #[must_use]
    pub fn to_toml(&self) -> Value {
        match self {
            Self::Quantity { number, unit } if unit.is_empty() => rounded(*number).into(),
            Self::Quantity { number, unit } => format!("{} {unit}", shortest(*number)).into(),
            Self::Integer(number) => (*number).into(),
            Self::Text(text) => text.as_str().into(),
            Self::Flag(flag) => (*flag).into(),
        }
    }

    /// Its number, if it is one.
    #[must_use]
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Quantity { number, .. } => Some(rounded(*number)),
            Self::Integer(number) => Some(*number as f64),
            Self::Text(_) | Self::Flag(_) => None,
        }
    }

    /// Its unit; empty if it has none.
    #[must_use]
    pub fn unit(&self) -> &str {
        match self {
            Self::Quantity { unit, .. } => unit,
            Self::Integer(_) | Self::Text(_) | Self::Flag(_) => "",
        }
    }

    /// Without its unit, for a column that names it.
    #[must_use]
    pub fn bare(&self) -> String {
        match self {
            Self::Quantity { number, .. } => shortest(*number),
            Self::Integer(number) => number.to_string(),
            Self::Text(text) => text.clone(),
            Self::Flag(flag) => flag.to_string(),
        }
    }

    /// As a person writes it: "1.6 mm".
    #[must_use]
    pub fn words(&self) -> String {
        format!("{} {}", self.bare(), self.unit()).trim_end().to_owned()
    }
}

/// The number that nine digits say: what is written is what is computed.
fn rounded(number: f64) -> f64 {
    shortest(number).parse().unwrap_or(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_told_apart_from_quantities() {
        let of = |text: &str| Written::of(&Value::from(text)).unwrap();
        assert_eq!(of("1.6 mm"), Written::quantity(1.6, "mm"));
        assert_eq!(of("1e1mm"), Written::quantity(10.0, "mm"));
        assert_eq!(of("-5 N/mm2"), Written::quantity(-5.0, "N/mm2"));
        assert_eq!(of("2 %"), Written::quantity(2.0, "%"));
        for text in ["petg", "inf mm", "nan", "6", "1.2.3 mm", ""] {
            assert_eq!(of(text), Written::Text(text.into()), "{text:?}");
        }
        assert_eq!(Written::of(&Value::from(2.5)), Some(Written::quantity(2.5, "")));
        assert_eq!(Written::of(&Value::from(3)), Some(Written::Integer(3)));
    }

    #[test]
    fn what_is_written_is_read_again() {
        for value in [
            Written::quantity(0.1 + 0.2, "mm"),
            Written::quantity(2.5, ""),
            Written::Integer(4),
            Written::Text("petg".into()),
            Written::Flag(true),
        ] {
            let again = Written::of(&value.to_toml()).unwrap();
            assert_eq!(again.bare(), value.bare());
            assert_eq!(again.unit(), value.unit());
        }
        assert_eq!(Written::quantity(0.1 + 0.2, "mm").words(), "0.3 mm");
    }
}
