//! `withy compare`: a part in every material.

use super::desk::{BLADE, Desk, PART, drawing};
use super::schema::misfits;
use serde_json::Value;

const FILES: [&str; 4] = [".withy-results", "compare.json", "materials.csv", "materials.svg"];

fn document(desk: &Desk) -> Value {
    serde_json::from_str(&desk.read("blade-results/compare.json")).unwrap()
}

fn card<'a>(document: &'a Value, name: &str) -> &'a Value {
    document["cards"].as_array().unwrap().iter().find(|c| c["card"] == name).unwrap()
}

fn number(value: &Value, place: &str) -> f64 {
    value.pointer(place).and_then(Value::as_f64).unwrap_or_else(|| panic!("{place} of {value}"))
}

/// The blade drawn so far that some materials yield and the filled ones break.
fn far() -> Desk {
    Desk::changed("\"-5 mm\"", "\"-20 mm\"")
}

#[test]
fn every_card_is_ranked_twice_and_written_as_data_table_and_picture() {
    let desk = far();
    let outcome = desk.withy("compare", &[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert_eq!(desk.names("blade-results"), FILES, "its files");
    for words in
        ["Same file, other filament", "Drawn to its own limit", "petg <- this part", "snaps"]
    {
        assert!(outcome.stdout.contains(words), "{words}: {}", outcome.stdout);
    }
    assert!(outcome.said().contains("past yielding or breaking"), "{}", outcome.stderr);
    let document = document(&desk);
    assert_eq!(misfits("compare", &document), Vec::<String>::new(), "its schema");
    assert_eq!(document["method"], "scaled", "no dead load");
    for list in ["same_file", "own_limit"] {
        assert_eq!(document[list].as_array().unwrap().len(), 15, "{list}");
    }
    let energies: Vec<f64> = document["own_limit"]
        .as_array()
        .unwrap()
        .iter()
        .map(|n| number(card(&document, n.as_str().unwrap()), "/safe_draw/strain_energy_mJ/value"))
        .collect();
    assert!(energies.windows(2).all(|w| w[0] >= w[1]), "best first: {energies:?}");
    assert_eq!(desk.read("blade-results/materials.csv").lines().count(), 16, "a row a card");
    let picture = desk.read("blade-results/materials.svg");
    assert!(picture.contains("pa6-conditioned") && picture.contains("petg (this part)"), "names");
}

#[test]
fn forces_go_with_the_modulus_and_bands_with_its_spread() {
    let desk = far();
    desk.withy("compare", &[]);
    let document = document(&desk);
    let (pom, pa_cf) = (card(&document, "pom"), card(&document, "pa-cf-dry"));
    let petg = card(&document, "petg");
    let force = |c: &Value| number(c, "/full_draw/effort/value");
    // Clamped all round its tip the blade hardly minds Poisson's ratio: 0.37 and 0.38 against 0.39.
    assert!((force(pom) / force(petg) / (2800.0 / 2050.0) - 1.0).abs() < 2e-3, "pom");
    assert!((force(pa_cf) / force(petg) / (6000.0 / 2050.0) - 1.0).abs() < 2e-3, "pa-cf");
    let low = number(petg, "/full_draw/effort/low") / force(petg);
    assert!((low - 1700.0 / 2050.0).abs() < 1e-12, "the band is that of the modulus: {low}");
    // A yield strength of 42 to 53 MPa against the stress of 1700 to 2250 MPa.
    let share = number(petg, "/full_draw/of_yield/value");
    let high = number(petg, "/full_draw/of_yield/high");
    assert!((high / share - 2250.0 / 2050.0 * 48.0 / 42.0).abs() < 1e-9, "{high} {share}");
    assert_eq!(pa_cf["full_draw"]["fate"], "snaps", "{pa_cf}");
    assert_eq!(pa_cf["full_draw"]["beyond_linear_range"], true, "{pa_cf}");
    assert_eq!(pa_cf["safe_draw"]["ends"], "break", "{pa_cf}");
}

#[test]
fn the_part_s_own_safe_draw_is_the_one_that_a_solve_finds() {
    let desk = far();
    desk.solve(&[]);
    desk.withy("compare", &[]);
    let limit = number(&desk.summary(), "/limits/0/fraction");
    let compared = document(&desk);
    let safe = number(card(&compared, "petg"), "/safe_draw/fraction/value");
    // A solve solves the state at the limit; the comparison interpolates between four states.
    assert!((safe - limit).abs() < 2e-3, "{safe} against {limit}");
    assert!(number(card(&compared, "petg"), "/safe_draw/fraction/low") < safe, "a band");
    // Soft and strong: conditioned polyamide is not at its limit yet.
    let soft = card(&compared, "tpu-95a");
    assert_eq!(soft["safe_draw"]["beyond_the_solved_draw"], true, "{soft}");
    assert!(desk.withy("compare", &[]).stdout.contains("beyond the solved draw"), "said");
}

#[test]
fn a_dead_load_is_solved_apart_for_each_card() {
    let part = PART.replace(
        "[[drive]]\nregion = \"tip\"\nmove = [0, \"-5 mm\"]",
        "[[load]]\nregion = \"tip\"\nforce = [0, -3]",
    );
    let desk = Desk::with(&part, &drawing(BLADE));
    let outcome = desk.withy("compare", &[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let document = document(&desk);
    assert_eq!(document["method"], "apart", "{}", outcome.stderr);
    let travel = |name: &str| number(card(&document, name), "/full_draw/travel/value");
    // Twice as soft bends about twice as far, less what a long blade stiffens.
    let ratio = travel("pa6-conditioned") / travel("petg");
    assert!(ratio > 1.6 && ratio < 2.05, "{ratio}");
    let force = number(card(&document, "pla"), "/full_draw/effort/value");
    assert!((force - 3.0).abs() < 1e-6, "the load is the load: {force}");
    let [low, high] = ["low", "high"]
        .map(|end| number(card(&document, "petg"), &format!("/full_draw/travel/{end}")));
    assert!(low < travel("petg") && travel("petg") < high, "a band of travel: {low} {high}");
    assert!(outcome.said().contains("solved apart"), "{}", outcome.stderr);
}

#[test]
fn a_card_of_ones_own_joins_and_its_estimate_is_said() {
    let desk = Desk::new();
    desk.write(
        "mine.toml",
        "title = \"Mine\"\nflexural_modulus = \"1670 MPa\"\npoissons_ratio = 0.39\n",
    );
    let outcome = desk.withy("compare", &["--card", "mine.toml", "--json"]);
    let document: Value = serde_json::from_str(&outcome.stdout).unwrap();
    let mine = card(&document, "mine.toml");
    assert_eq!(mine["modulus_estimated"], true, "{mine}");
    assert_eq!(mine["full_draw"]["fate"], Value::Null, "no strength, no judgement: {mine}");
    let energy = |end: &str| number(mine, &format!("/full_draw/strain_energy_mJ/{end}"));
    assert!((energy("high") / energy("value") - 1.15).abs() < 1e-9, "15 % of the rule");
    assert!(outcome.said().contains("modulus of mine.toml is estimated"), "{}", outcome.stderr);
    assert!(outcome.said().contains("give or take 15 %"), "by which rule: {}", outcome.stderr);
    let twice = desk.withy("compare", &["--card", "petg", "--card", "petg", "--json"]);
    let document: Value = serde_json::from_str(&twice.stdout).unwrap();
    assert_eq!(document["cards"].as_array().unwrap().len(), 15, "a card is listed once");
}

#[test]
fn a_material_overruled_in_the_part_file_is_a_row_of_its_own() {
    let desk = Desk::changed("card = \"petg\"", "card = \"petg\"\nyoungs_modulus = \"1.9 GPa\"");
    desk.withy("compare", &[]);
    let document = document(&desk);
    assert_eq!(document["cards"].as_array().unwrap().len(), 16, "the shelf and the part's own");
    let own = card(&document, "petg (part file)");
    assert_eq!(own["own"], true, "{own}");
    assert_eq!(card(&document, "petg")["own"], false, "the shelf's is another");
    let ratio = number(own, "/full_draw/effort/value")
        / number(card(&document, "petg"), "/full_draw/effort/value");
    assert!((ratio - 1900.0 / 2050.0).abs() < 1e-9, "same ratio, other modulus: {ratio}");
}

#[test]
fn what_is_wrong_is_refused_and_nothing_is_written() {
    let desk = Desk::new();
    let outcome = desk.withy("compare", &["--card", "pteg"]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    assert!(outcome.said().contains("did you mean 'petg'?"), "{}", outcome.stderr);
    assert!(!desk.path("blade-results").exists(), "nothing");
}

/// Speeds go with the root of energy over mass: with a projectile of many times the part's own mass that
/// is the root of the modulus, and a card's own speed is that of its own solve.
#[test]
fn a_launch_is_told_for_three_masses_with_its_cautions() {
    let text = "[launch]\nmass = \"2 kg\"\nregion = \"tip\"\nlosses = \"10 %\"\n";
    let desk = Desk::with(&format!("{}{text}", PART), &drawing(BLADE));
    let outcome = desk.withy("compare", &[]);
    assert!(outcome.stdout.contains("Thrown at, m/s"), "{}", outcome.stdout);
    assert!(outcome.stdout.contains("eye protection"), "{}", outcome.stdout);
    let document = document(&desk);
    assert_eq!(misfits("compare", &document), Vec::<String>::new(), "its schema");
    assert_eq!(document["cautions"].as_array().unwrap().len(), 6, "as data too");
    let speed = |name: &str, n: usize| {
        number(card(&document, name), &format!("/throws/full_draw/{n}/speed_m_per_s/value"))
    };
    let root = (2800f64 / 2050.0).sqrt();
    assert!((speed("pom", 1) / speed("petg", 1) / root - 1.0).abs() < 1e-3, "pom");
    assert!((speed("petg", 0) / speed("petg", 2) - 2.0).abs() < 2e-3, "1 kg against 4 kg");
    desk.solve(&[]);
    let own = number(&desk.summary(), "/release/speed_m_per_s");
    assert!((speed("petg", 1) / own - 1.0).abs() < 1e-12, "its own: {own}");
}

#[test]
fn a_stiffer_material_meets_the_hand_earlier() {
    // The blade needs about 2 N at 5 mm in PETG, and in proportion to its modulus in others.
    let desk = Desk::with(&format!("{PART}[hand]\nforce = \"1 N\"\n"), &drawing(BLADE));
    let outcome = desk.withy("compare", &["--json"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let comparison: Value = serde_json::from_str(&outcome.stdout).unwrap();
    let row = |name: &str| {
        let rows = comparison["cards"].as_array().unwrap().iter();
        rows.clone().find(|r| r["card"] == name).unwrap_or_else(|| panic!("{name}")).clone()
    };
    let (petg, pla) = (row("petg"), row("pla"));
    for one in [&petg, &pla] {
        assert_eq!(one["safe_draw"]["ends"], "hand", "{one}");
    }
    let reach = |one: &Value| {
        let (draw, force) = (
            one["safe_draw"]["travel"]["value"].as_f64(),
            one["full_draw"]["effort"]["value"].as_f64(),
        );
        (draw.unwrap(), force.unwrap())
    };
    let ((d1, f1), (d2, f2)) = (reach(&petg), reach(&pla));
    // Nearly linear: the draw at which 1 N is reached goes with 1/E.
    assert!(((d1 * f1) / (d2 * f2) - 1.0).abs() < 0.02, "{d1} {f1} {d2} {f2}");
}

/// Moduli across and of shear that are other shares of the modulus along take a solve of their own, and so does
/// Poisson's ratio: each row is what a solve with that card finds, shelf cards with the moduli that are said.
#[test]
fn a_part_of_beads_is_solved_for_each_share_of_their_moduli() {
    let own = "youngs_modulus = \"2050 MPa\"\npoissons_ratio = 0.39\nmodulus_across = \"1400 MPa\"\n\
               shear_modulus = \"600 MPa\"\ndensity = \"1.27 g/cm3\"\n";
    let other = "title = \"Other\"\nyoungs_modulus = { value = \"3 GPa\", low = \"2.7 GPa\" }\n\
                 poissons_ratio = 0.33\nmodulus_across = \"1 GPa\"\nshear_modulus = \"500 MPa\"\n\
                 yield_strength = \"50 MPa\"\ndensity = \"1.1 g/cm3\"\n";
    let part = PART
        .replace("thickness = \"6 mm\"", "thickness = \"6 mm\"\nbead_angle = \"60 deg\"")
        .replace("card = \"petg\"\n", own);
    let launch = "[launch]\nmass = \"2 kg\"\nregion = \"tip\"\nlosses = \"10 %\"\n";
    let desk = Desk::with(&format!("{part}{launch}"), &drawing(BLADE));
    desk.write("other.toml", other);
    let outcome = desk.withy("compare", &["--card", "other.toml"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(outcome.said().contains("29.3 % for shear"), "{}", outcome.said());
    let document = document(&desk);
    assert_eq!(misfits("compare", &document), Vec::<String>::new(), "its schema");
    assert_eq!(document["method"], "scaled");
    // The shelf's pom by its 2800 MPa and 0.37, at the shares of the part's own 2050 MPa.
    let pom = |modulus: f64| format!("\"{} MPa\"", modulus * 2800.0 / 2050.0);
    desk.write(
        "pom.toml",
        &format!(
            "youngs_modulus = \"2800 MPa\"\npoissons_ratio = {}\nmodulus_across = {}\nshear_modulus = {}\n\
             density = \"1.4 g/cm3\"\n",
            number(card(&document, "pom"), "/poissons_ratio"),
            pom(1400.0),
            pom(600.0)
        ),
    );
    let force = |name: &str| number(card(&document, name), "/full_draw/effort/value");
    for (name, file) in [("other.toml", "other.toml"), ("pom", "pom.toml")] {
        assert_eq!(desk.solve(&["--material", file]).status, Some(0), "{file}");
        let solved = desk.summary();
        // Each on a mesh that was refined for itself.
        for (what, compared, own, tolerance) in [
            ("effort", "effort", "reaction_N/tip/1", 2e-3),
            ("energy", "strain_energy_mJ", "strain_energy_mJ", 2e-3),
            ("stress", "von_mises_MPa", "peak_von_mises_MPa", 0.02),
        ] {
            let own = number(&solved, &format!("/steps/3/{own}")).abs();
            let row = number(card(&document, name), &format!("/full_draw/{compared}/value"));
            assert!((row / own - 1.0).abs() < tolerance, "{name}, {what}: {row} {own}");
        }
    }
    let by_modulus = force("part file (part file)") * 3000.0 / 2050.0;
    assert!(force("other.toml") / by_modulus < 0.7, "no factor of the modulus would do");
    let low = number(card(&document, "other.toml"), "/full_draw/effort/low") / force("other.toml");
    assert!((low - 0.9).abs() < 1e-12, "all moduli of a spread together: {low}");
    desk.solve(&["--material", "other.toml"]);
    let speed = number(&desk.summary(), "/release/speed_m_per_s");
    let thrown = number(card(&document, "other.toml"), "/throws/full_draw/1/speed_m_per_s/value");
    assert!((thrown / speed - 1.0).abs() < 1e-3, "{thrown} {speed}");
}
