//! Values made by `reference/make.py`, and whole parts computed elsewhere.

use serde_json::Value;

/// `reference/exact.json`: closed forms and beam equations.
#[must_use]
pub fn exact() -> Value {
    serde_json::from_str(include_str!("../reference/exact.json")).unwrap()
}

/// The number under a key.
#[must_use]
pub fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap()
}

/// The rows of a list.
#[must_use]
pub fn rows(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}
