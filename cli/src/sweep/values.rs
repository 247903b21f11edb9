//! What a number of a sweep may be: a list, or a range in equal steps.

use crate::design::Written;
use toml_edit::{Item, Value};

/// More values than this of one number are no sweep.
const MOST_VALUES: i64 = 100_000;

/// The values of one number.
#[derive(Clone, Debug, PartialEq)]
pub enum Values {
    /// As they are written.
    List(Vec<Written>),
    /// From the first to the last, in equal steps.
    Range {
        /// The first.
        from: f64,
        /// The last.
        to: f64,
        /// Of both; empty for bare numbers.
        unit: String,
        /// Whether they are whole numbers.
        whole: bool,
        /// How many; none if samples are drawn from it.
        count: Option<usize>,
    },
}

impl Values {
    /// What stands in a sweep file.
    ///
    /// # Errors
    /// What is wrong, in words that follow the key.
    pub fn of(item: &Item) -> Result<Self, String> {
        if let Some(list) = item.as_array() {
            let values: Option<Vec<Written>> = list.iter().map(Written::of).collect();
            let values = values.ok_or("holds something that is no single value")?;
            if values.is_empty() {
                return Err("is an empty list".into());
            }
            return Ok(Self::List(values));
        }
        let Some(table) = item.as_table_like() else {
            return Err("is neither a list nor { from = .., to = .., count = .. }".into());
        };
        if let Some((key, _)) = table.iter().find(|(k, _)| !["from", "to", "count"].contains(k)) {
            return Err(format!("has '{key}' beside from, to and count"));
        }
        let end = |key: &str| {
            let value = table.get(key).and_then(Item::as_value).and_then(Written::of);
            let value = value.ok_or(format!("has no '{key}'"))?;
            let number = value.number().ok_or(format!("has a '{key}' that is no number"))?;
            Ok::<_, String>((number, value))
        };
        let ((from, first), (to, last)) = (end("from")?, end("to")?);
        if first.unit() != last.unit() {
            let units = format!("'{}' and '{}'", first.unit(), last.unit());
            return Err(format!("goes from one unit to another: {units}"));
        }
        let count = match table.get("count").and_then(Item::as_value).map(Value::as_integer) {
            None if table.contains_key("count") => return Err("has a count that is none".into()),
            None => None,
            Some(Some(n)) if (2..=MOST_VALUES).contains(&n) => usize::try_from(n).ok(),
            Some(_) => return Err(format!("needs a count from 2 to {MOST_VALUES}")),
        };
        let is_whole = |w: &Written| matches!(w, Written::Integer(_));
        let mut whole = is_whole(&first) && is_whole(&last);
        if let Some(n) = count.filter(|_| whole) {
            // 1 to 4 in 3 steps is 1, 2.5, 4: no whole numbers.
            let step = (to - from) / (n as f64 - 1.0);
            whole = (step - step.round()).abs() < 1e-9;
        }
        Ok(Self::Range { from, to, unit: first.unit().to_owned(), whole, count })
    }

    /// How many there are on a grid; none if it does not say.
    #[must_use]
    pub fn count(&self) -> Option<usize> {
        match self {
            Self::List(list) => Some(list.len()),
            Self::Range { count, .. } => *count,
        }
    }

    /// The value of a number on the grid.
    #[must_use]
    pub fn nth(&self, n: usize) -> Written {
        match self {
            Self::List(list) => list[n].clone(),
            Self::Range { from, to, unit, whole, count } => {
                let share = n as f64 / (count.unwrap_or(2) as f64 - 1.0);
                made(from + share * (to - from), unit, *whole)
            }
        }
    }

    /// The value at a share from 0 to below 1 of the way.
    #[must_use]
    pub fn at(&self, share: f64) -> Written {
        match self {
            Self::List(list) => {
                let places = (0..list.len()).rev();
                let place = { places }.find(|n| *n as f64 <= share * list.len() as f64);
                list[place.unwrap_or(0)].clone()
            }
            // Each whole number as often as any other.
            Self::Range { from, to, unit, whole: true, .. } => {
                let cells = (to - from).abs() + 1.0;
                let step = (share * cells).floor() * (to - from).signum();
                made(from + step, unit, true)
            }
            Self::Range { from, to, unit, .. } => made(from + share * (to - from), unit, false),
        }
    }

    /// The unit that all of them share, for the name of their column; empty if they have none.
    ///
    /// # Errors
    /// Two units.
    pub fn unit(&self) -> Result<String, String> {
        match self {
            Self::Range { unit, .. } => Ok(unit.clone()),
            Self::List(list) => {
                let first = list[0].unit();
                match list.iter().find(|w| w.unit() != first) {
                    None => Ok(first.to_owned()),
                    Some(other) => {
                        Err(format!("has values in two units: '{first}' and '{}'", other.unit()))
                    }
                }
            }
        }
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a whole number of a user's range")]
fn made(number: f64, unit: &str, whole: bool) -> Written {
    if whole { Written::Integer(number.round() as i64) } else { Written::quantity(number, unit) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(text: &str) -> Result<Values, String> {
        let document: toml_edit::DocumentMut = format!("x = {text}").parse().unwrap();
        Values::of(&document["x"])
    }

    #[test]
    fn ranges_are_in_equal_steps_and_whole_where_they_can_be() {
        let words = |text: &str| -> Vec<String> {
            let v = values(text).unwrap();
            (0..v.count().unwrap()).map(|n| v.nth(n).words()).collect()
        };
        let range = "{ from = \"1.2 mm\", to = \"2 mm\", count = 5 }";
        assert_eq!(words(range), ["1.2 mm", "1.4 mm", "1.6 mm", "1.8 mm", "2 mm"]);
        assert_eq!(words("{ from = 2, to = 6, count = 3 }"), ["2", "4", "6"]);
        assert_eq!(words("{ from = 1, to = 4, count = 3 }"), ["1", "2.5", "4"]);
        assert_eq!(words("[\"petg\", \"pla\"]"), ["petg", "pla"]);
        let whole = values("{ from = 2, to = 4 }").unwrap();
        let drawn: Vec<String> = [0.0, 0.3, 0.34, 0.7, 0.999].map(|s| whole.at(s).words()).to_vec();
        assert_eq!(drawn, ["2", "2", "3", "4", "4"]);
    }

    #[test]
    fn what_is_no_range_is_told() {
        for (text, words) in [
            ("3", "neither a list"),
            ("[]", "empty"),
            ("{ from = 1, to = 2, count = 1 }", "count from 2"),
            ("{ from = 1, upto = 2 }", "'upto'"),
            ("{ from = 1 }", "no 'to'"),
            ("{ from = \"1 mm\", to = \"1 in\", count = 3 }", "one unit to another"),
            ("{ from = \"a\", to = \"b\", count = 3 }", "no number"),
        ] {
            let why = values(text).unwrap_err();
            assert!(why.contains(words), "{text}: {why}");
        }
        assert!(values("[\"1 mm\", \"1 in\"]").unwrap().unit().is_err());
    }
}
