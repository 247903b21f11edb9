//! The shelf, cards of one's own, and what happens where a card is silent.

use super::*;
use crate::case::{CaseCause, Placed, toml_text};
use crate::error::{Cause, Refusal, Source};
use crate::remark::Remark;
use std::path::Path;

#[derive(serde::Deserialize)]
struct Part {
    material: Placed<Written>,
}

fn resolved_in(
    directory: &Path,
    text: &str,
    instead: Option<&str>,
) -> Result<(Card, Vec<Remark>), Refusal> {
    let source = Source::new(Path::new("p.toml"), format!("[material]\n{text}\n"));
    let part: Part = toml_text::parse(&source)?;
    let mut remarks = Vec::new();
    let card = resolve(&part.material, &source, directory, instead, &mut remarks)?;
    Ok((card, remarks))
}

fn resolved(text: &str) -> Result<(Card, Vec<Remark>), Refusal> {
    resolved_in(Path::new(""), text, None)
}

fn cause(text: &str) -> (CaseCause, Option<(usize, usize)>) {
    let refusal = resolved(text).unwrap_err();
    assert!(refusal.mend().is_some(), "a mend for {refusal}");
    match refusal.cause() {
        Cause::Case(cause) => (cause.clone(), refusal.line_column()),
        other => panic!("{other}"),
    }
}

#[test]
fn every_card_on_the_shelf_is_complete_and_says_where_it_comes_from() {
    assert_eq!(shelf().count(), 15, "fifteen materials");
    for name in shelf() {
        let (card, remarks) = resolved(&format!("card = \"{name}\"")).unwrap();
        assert!(remarks.is_empty(), "{name}: nothing is estimated, {remarks:?}");
        assert_eq!(card.name, name, "its name");
        assert!(card.title.len() > 1 && card.title != name, "{name}: a title");
        let strength = card.yield_strength.is_some() && card.yield_strain.is_some();
        let breaks = card.ultimate_strength.is_some() && card.elongation_at_break.is_some();
        assert!(strength || breaks, "{name}: some strength");
        for datum in [&card.youngs_modulus, &card.poissons_ratio, card.density.as_ref().unwrap()] {
            assert_eq!(datum.source, "typical, from memory", "{name}");
            assert!(!datum.estimated, "{name}");
        }
        assert!(card.youngs_modulus.low < Some(card.youngs_modulus.value), "{name}: a spread");
        assert!(card.relaxation_one_hour.is_some() && card.fatigue_factor_1e4.is_some(), "{name}");
    }
}

#[test]
fn units_and_spreads_of_a_card_arrive() {
    let (card, _) = resolved("card = \"PETG\"").unwrap();
    let modulus = &card.youngs_modulus;
    assert_eq!(
        (modulus.value, modulus.low, modulus.high),
        (2050.0, Some(1700.0), Some(2250.0)),
        "MPa"
    );
    assert!((card.yield_strain.unwrap().value - 0.04).abs() < 1e-15, "4 %");
    assert!((card.density.unwrap().value - 1.27e-3).abs() < 1e-15, "g/mm3");
}

#[test]
fn the_part_file_overrules_the_card() {
    let (card, _) = resolved("card = \"petg\"\nyoungs_modulus = \"2.0 GPa\"").unwrap();
    assert_eq!(card.youngs_modulus.value.to_bits(), 2000f64.to_bits(), "its own value");
    assert_eq!(card.youngs_modulus.source, "part file", "and its source");
    assert_eq!(card.youngs_modulus.low, None, "another's spread does not stick to it");
    assert_eq!(
        card.yield_strength.unwrap().source,
        "typical, from memory",
        "the rest is the card's"
    );
}

#[test]
fn a_card_of_ones_own_is_found_beside_the_part_file_and_may_start_from_the_shelf() {
    let directory = tempfile::tempdir().unwrap();
    let text = "card = \"petg\"\ntitle = \"My spool\"\nyoungs_modulus = { value = 1900, source = \"pull test\" }";
    std::fs::write(directory.path().join("mine.toml"), text).unwrap();
    let (card, _) = resolved_in(directory.path(), "card = \"mine.toml\"", None).unwrap();
    assert_eq!(
        (card.title.as_str(), card.name.as_str()),
        ("My spool", "mine.toml"),
        "its own words"
    );
    assert_eq!(card.youngs_modulus.source, "pull test", "its own value");
    assert!(card.yield_strain.is_some(), "the rest from the shelf");
    std::fs::write(directory.path().join("mine.toml"), "card = \"mine.toml\"").unwrap();
    let refusal = resolved_in(directory.path(), "card = \"mine.toml\"", None).unwrap_err();
    assert!(
        refusal.to_string().contains("circle") && refusal.to_string().contains("mine.toml:1:8"),
        "{refusal}"
    );
}

#[test]
fn a_card_from_the_command_line_replaces_the_whole_material_and_says_so() {
    let text = "card = \"petg\"\nyoungs_modulus = 1900";
    let (card, remarks) = resolved_in(Path::new(""), text, Some("abs")).unwrap();
    assert_eq!(card.youngs_modulus.value.to_bits(), 2100f64.to_bits(), "the modulus of ABS");
    assert_eq!(
        remarks.iter().filter(|remark| remark.code == "material-replaced").count(),
        1,
        "said"
    );
}

#[test]
fn a_missing_modulus_is_taken_from_bending_and_said() {
    let (card, remarks) =
        resolved("flexural_modulus = \"2000 MPa\"\npoissons_ratio = 0.4").unwrap();
    let modulus = &card.youngs_modulus;
    assert!(modulus.estimated && (modulus.value - 2000.0).abs() < 1e-9, "{modulus:?}");
    assert!((modulus.low.unwrap() - 1700.0).abs() < 1e-9, "{modulus:?}");
    assert!((modulus.high.unwrap() - 2300.0).abs() < 1e-9, "{modulus:?}");
    assert_eq!(remarks[0].code, "estimated-youngs-modulus", "said");
}

#[test]
fn a_missing_poissons_ratio_is_estimated_and_said() {
    let (card, remarks) = resolved("youngs_modulus = 2000").unwrap();
    assert!(
        card.poissons_ratio.estimated && (card.poissons_ratio.value - 0.38).abs() < 1e-15,
        "0.38"
    );
    assert_eq!(remarks[0].code, "estimated-poissons-ratio", "said");
    assert_eq!(card.density, None, "never a density out of nothing");
}

#[test]
fn what_cannot_be_is_refused_at_its_place() {
    assert!(
        matches!(cause("poissons_ratio = 0.3"), (CaseCause::NoModulus, Some((1, 1)))),
        "no modulus"
    );
    for text in [
        "youngs_modulus = -5",
        "youngs_modulus = 0",
        "youngs_modulus = 2000\npoissons_ratio = 0.5",
        "youngs_modulus = 2000\npoissons_ratio = -1",
        "youngs_modulus = 2000\nyield_strain = 0",
        "youngs_modulus = 2000\ndensity = \"-1 g/cm3\"",
        "youngs_modulus = 2000\nfatigue_factor_1e3 = 1.2",
        "youngs_modulus = { value = 2000, low = 2100 }",
        "youngs_modulus = { value = 2000, high = 1900 }",
        "youngs_modulus = { value = 2000, low = -1 }",
    ] {
        let (cause, place) = cause(text);
        assert!(matches!(cause, CaseCause::OutOfRange { .. }), "{text}: {cause:?}");
        assert_eq!(place.unwrap().0, text.lines().count() + 1, "the last line of {text}");
    }
    for text in [
        "youngs_modulus = nan",
        "youngs_modulus = inf",
        "youngs_modulus = \"5 N\"",
        "youngs_modulus = true",
    ] {
        assert!(matches!(cause(text).0, CaseCause::BadToml { .. }), "{text}");
    }
    let CaseCause::UnknownWord { nearest, .. } = cause("youngs_modulus = { valu = 2000 }").0 else {
        panic!("a word")
    };
    assert_eq!(nearest.as_deref(), Some("value"), "in the table of a property");
    let CaseCause::UnknownWord { nearest, .. } = cause("young_modulus = 2000").0 else {
        panic!("a word")
    };
    assert_eq!(nearest.as_deref(), Some("youngs_modulus"), "among the properties");
}

#[test]
fn an_unknown_card_is_refused_with_the_shelf() {
    let (CaseCause::UnknownCard { nearest, known, .. }, place) = cause("card = \"pteg\"") else {
        panic!("a card")
    };
    assert_eq!(nearest.as_deref(), Some("petg"), "the nearest");
    assert_eq!((known.len(), place), (15, Some((2, 8))), "the shelf, the place");
    assert!(
        matches!(cause("card = \"no/such.toml\"").0, CaseCause::UnknownCard { .. }),
        "a path to nothing"
    );
}

#[test]
fn a_class_lends_what_is_missing_with_a_wide_band_and_says_so() {
    let (card, remarks) = resolved("class = \"petg\"\nyield_strain = \"5 %\"").unwrap();
    let modulus = &card.youngs_modulus;
    assert!(modulus.estimated && modulus.source.contains("petg"), "{modulus:?}");
    // PETG: 2050 from 1700 to 2250, or 20 % either way: 1640 to 2460.
    for (got, expected) in [(modulus.low, 1640.0), (modulus.high, 2460.0)] {
        assert!((got.unwrap() - expected).abs() < 1e-9, "the wider of range and 20 %: {modulus:?}");
    }
    let strength = card.yield_strength.as_ref().unwrap();
    assert!(strength.estimated && strength.low < Some(40.0), "{strength:?}");
    let own = card.yield_strain.as_ref().unwrap();
    assert!(!own.estimated && (own.value - 0.05).abs() < 1e-15, "its own stays: {own:?}");
    assert!(card.poissons_ratio.estimated && card.density.as_ref().unwrap().estimated, "{card:?}");
    let codes: Vec<_> = remarks.iter().map(|r| r.code).collect();
    let all = ["estimated-youngs-modulus", "estimated-poissons-ratio", "estimated-from-class"];
    assert_eq!(codes, all, "each said");
}

#[test]
fn a_flexural_modulus_goes_before_the_class() {
    let (card, _) = resolved("class = \"petg\"\nflexural_modulus = 1800").unwrap();
    assert!((card.youngs_modulus.value - 1800.0).abs() < 1e-9, "{:?}", card.youngs_modulus);
}

#[test]
fn a_class_that_is_not_on_the_shelf_is_refused_at_its_place() {
    let (cause, place) = cause("class = \"pteg\"\nyoungs_modulus = 2000");
    assert!(matches!(cause, CaseCause::UnknownCard { .. }), "{cause:?}");
    assert_eq!(place, Some((2, 9)), "where it stands");
}
