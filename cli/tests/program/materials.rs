//! `withy materials`: the shelf as a table and as data, one card explained, a card of one's own.

use super::desk::{Desk, run, withy};
use serde_json::Value;

fn materials(arguments: &[&str]) -> super::desk::Outcome {
    let mut command = withy();
    command.arg("materials").args(arguments);
    run(command)
}

#[test]
fn the_shelf_is_a_table_with_units_and_spreads() {
    let outcome = materials(&[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let row = outcome.stdout.lines().find(|l| l.trim_start().starts_with("petg ")).unwrap();
    let words =
        "petg 2050 (1700-2250) 2050 (1800-2200) 48 (42-53) 4 (3.3-5) - 20 (5-100) 1.27 PETG";
    assert_eq!(row.split_whitespace().collect::<Vec<_>>().join(" "), words, "{row}");
    let named = ["tensile MPa", "flexural MPa", "yield MPa", "break %", "g/cm3"];
    assert!(named.iter().all(|n| outcome.stdout.contains(n)), "{}", outcome.stdout);
}

#[test]
fn a_card_is_explained_with_sources_standards_and_rules() {
    let outcome = materials(&["pa-cf-dry"]);
    for words in ["ISO 527", "ISO 178", "ISO 604", "ASTM D638", "ASTM D790", "typical, from memory"]
    {
        assert!(outcome.stdout.contains(words), "{words}: {}", outcome.stdout);
    }
    assert!(outcome.stdout.contains("17 % below the tensile one"), "{}", outcome.stdout);
}

#[test]
fn the_shelf_as_json_carries_values_bounds_and_units() {
    let outcome = materials(&["--json"]);
    let document: Value = serde_json::from_str(&outcome.stdout).unwrap();
    let cards = document["cards"].as_array().unwrap();
    assert_eq!(cards.len(), 15, "all of the shelf");
    let petg = cards.iter().find(|c| c["name"] == "petg").unwrap();
    let density = &petg["properties"]["density"];
    assert_eq!((density["value"].as_f64(), density["unit"].as_str()), (Some(1.27), Some("g/cm3")));
    assert_eq!(petg["properties"]["youngs_modulus"]["low"], 1700.0, "{petg}");
}

#[test]
fn a_card_of_ones_own_shows_what_is_estimated_by_which_rule() {
    let desk = Desk::new();
    desk.write(
        "mine.toml",
        "title = \"Mine\"\nflexural_modulus = \"1670 MPa\"\nclass = \"pa12\"\n",
    );
    let mut command = withy();
    command.current_dir(desk.path("")).args(["materials", "mine.toml"]);
    let outcome = run(command);
    let line = outcome.stdout.lines().find(|l| l.contains("tensile modulus")).unwrap();
    assert!(line.contains("~1670") && line.contains("estimated from the flexural"), "{line}");
    assert!(outcome.stdout.contains("give or take 15 %"), "{}", outcome.stdout);
}

#[test]
fn a_card_that_is_not_there_is_refused_with_the_shelf() {
    let outcome = materials(&["pteg"]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    assert!(outcome.said().contains("did you mean 'petg'?"), "{}", outcome.stderr);
}
