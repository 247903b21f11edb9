//! Results against their schemas, `schema/*.schema.json`.
//!
//! The schema is made from types, and uses few of JSON Schema's words. Those are checked here; any
//! other word fails the test, so that nothing passes unread.

use super::desk::Desk;
use serde_json::{Value, json};
use std::path::Path;

/// Words that describe, and check nothing.
const DESCRIBE: [&str; 6] = ["$schema", "$defs", "title", "description", "format", "minimum"];

/// Complaints about a value.
fn complaints(schema: &Value, root: &Value, value: &Value, at: &str) -> Vec<String> {
    let mut found = Vec::new();
    let words = schema.as_object().unwrap_or_else(|| panic!("{at}: the schema is {schema}"));
    for (word, rule) in words {
        match word.as_str() {
            word if DESCRIBE.contains(&word) => {}
            "$ref" => {
                let name = rule.as_str().unwrap().strip_prefix("#/$defs/").unwrap();
                found.extend(complaints(&root["$defs"][name], root, value, at));
            }
            "type" => {
                let allowed = rule.as_array().cloned().unwrap_or_else(|| vec![rule.clone()]);
                if !allowed.iter().any(|kind| is_of(kind.as_str().unwrap(), value)) {
                    found.push(format!("{at} is {value}, not {rule}"));
                }
            }
            "const" if rule != value => found.push(format!("{at} is {value}, not {rule}")),
            "enum" if !rule.as_array().unwrap().contains(value) => {
                found.push(format!("{at} is {value}, not one of {rule}"));
            }
            "const" | "enum" => {}
            "anyOf" | "oneOf" => {
                let fits = |s: &Value| complaints(s, root, value, at).is_empty();
                if !rule.as_array().unwrap().iter().any(fits) {
                    found.push(format!("{at} is {value}, which fits nothing of {rule}"));
                }
            }
            "required" => {
                for key in rule.as_array().unwrap().iter().map(|k| k.as_str().unwrap()) {
                    if value.is_object() && value.get(key).is_none() {
                        found.push(format!("{at} has no {key}"));
                    }
                }
            }
            "properties" => {
                for (key, one) in value.as_object().into_iter().flatten() {
                    if let Some(rule) = rule.get(key) {
                        found.extend(complaints(rule, root, one, &format!("{at}.{key}")));
                    }
                }
            }
            "additionalProperties" => {
                let known = |key: &str| schema["properties"].get(key).is_some();
                for (key, one) in
                    value.as_object().into_iter().flatten().filter(|(key, _)| !known(key))
                {
                    match rule {
                        Value::Bool(true) => {}
                        Value::Bool(false) => found.push(format!("{at}.{key} is unknown")),
                        rule => found.extend(complaints(rule, root, one, &format!("{at}.{key}"))),
                    }
                }
            }
            "items" => {
                for (i, one) in value.as_array().into_iter().flatten().enumerate() {
                    found.extend(complaints(rule, root, one, &format!("{at}[{i}]")));
                }
            }
            // They say nothing of what is no list.
            "minItems" | "maxItems" if !value.is_array() => {}
            "minItems" | "maxItems" => {
                let (count, bound) =
                    (value.as_array().map_or(0, Vec::len) as u64, rule.as_u64().unwrap());
                if if word == "minItems" { count < bound } else { count > bound } {
                    found.push(format!("{at} has {count} items, {word} is {bound}"));
                }
            }
            other => panic!("{at}: the schema uses {other:?}, which this test does not know"),
        }
    }
    found
}

fn is_of(kind: &str, value: &Value) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        other => panic!("unknown type {other:?}"),
    }
}

/// Everything about a result that its schema, as it stands in the repository, forbids.
pub(crate) fn misfits(what: &str, document: &Value) -> Vec<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("schema/{what}.schema.json"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{what}: {e}"));
    let schema: Value = serde_json::from_str(&text).unwrap();
    complaints(&schema, &schema, document, what)
}

#[test]
fn a_summary_keeps_to_the_schema_and_a_spoilt_one_does_not() {
    let desk = Desk::new();
    assert_eq!(desk.solve(&[]).status, Some(0), "the blade is solved");
    let good = desk.summary();
    assert_eq!(misfits("summary", &good), Vec::<String>::new(), "the blade's summary");

    for (place, wrong) in [
        ("/format", json!(1)),
        ("/completed", json!("yes")),
        ("/steps/0/reaction_N/tip", json!([0.0])),
        ("/steps/2/strain_energy_mJ", Value::Null),
        ("/remarks/0/level", json!("loud")),
    ] {
        let mut spoilt = good.clone();
        *spoilt.pointer_mut(place).unwrap() = wrong;
        assert_eq!(
            misfits("summary", &spoilt).len(),
            1,
            "{place} is spoilt: {:?}",
            misfits("summary", &spoilt)
        );
    }
    let mut more = good.clone();
    more["mesh"]["mood"] = json!("fine");
    assert_eq!(misfits("summary", &more).len(), 1, "an unknown field");
    let mut less = good;
    less.as_object_mut().unwrap().remove("steps");
    assert_eq!(misfits("summary", &less).len(), 1, "a missing field");
}
