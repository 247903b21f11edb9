//! `withy spread`: what the print leaves open, against beams by hand.

use super::desk::{BLADE, Desk, PART, drawing};
use super::report::{faults_of_plain, shown};
use super::schema::misfits;
use serde_json::Value;

/// The blade free to come in: pure bending between its ends.
fn part(printer: &str) -> String {
    let free = PART.replace("move = [0, \"-5 mm\"]\n", "move = [0, \"-5 mm\"]\nfree = [\"x\"]\n");
    format!("{free}[printer]\n{printer}")
}

fn found(desk: &Desk) -> Value {
    let outcome = desk.withy("spread", &[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let found = serde_json::from_str(&desk.read("blade-results/spread.json")).unwrap();
    assert_eq!(misfits("spread", &found), Vec::<String>::new(), "its schema");
    found
}

fn change(found: &Value, what: &str, end: usize, of: &str) -> f64 {
    let inputs = found["inputs"].as_array().unwrap();
    let input =
        inputs.iter().find(|i| i["what"] == what).unwrap_or_else(|| panic!("{what}: {found}"));
    input["outcomes"][end][of].as_f64().unwrap() / found["solved"][of].as_f64().unwrap()
}

#[test]
fn walls_go_with_the_cube_of_the_width_and_depth_with_the_first_power() {
    let desk = Desk::with(
        &part("wall_tolerance = \"0.1 mm\"\nthickness_tolerance = \"0.3 mm\"\n"),
        &drawing(BLADE),
    );
    let found = found(&desk);
    // A guided beam of 4 mm: (3.9/4)^3 and (4.1/4)^3; strain with the width itself. Root and tip move by 0.05 mm each
    // into the clear length of 70 mm: nothing, for their blocks are held where they were.
    for (end, width) in [(0, 3.9_f64), (1, 4.1)] {
        let force = change(&found, "walls", end, "effort");
        assert!((force / (width / 4.0).powi(3) - 1.0).abs() < 5e-3, "{end}: {force}");
        let strain = change(&found, "walls", end, "largest_strain");
        assert!((strain / (width / 4.0) - 1.0).abs() < 1e-2, "{end}: {strain}");
        let depth = [5.7, 6.3][end] / 6.0;
        assert!((change(&found, "thickness", end, "energy_mJ") - depth).abs() < 1e-9);
    }
    // The shelf's PETG: 1700 to 2250 around 2050 MPa.
    assert!((change(&found, "modulus", 0, "effort") - 1700.0 / 2050.0).abs() < 1e-9);
    // All together: the root of the sum of squares upwards.
    let base = found["solved"]["effort"].as_f64().unwrap();
    let squares: f64 = ["modulus", "thickness", "solid share", "walls"]
        .map(|w| (change(&found, w, 1, "effort") - 1.0).powi(2))
        .iter()
        .sum();
    let high = found["together"]["force"][1].as_f64().unwrap();
    assert!((high / (base * (1.0 + squares.sqrt())) - 1.0).abs() < 1e-9, "{high}");
    assert!(desk.read("blade-results/spread.svg").contains("walls"), "a bar");
    let page = desk.read("blade-results/spread.html");
    assert_eq!(faults_of_plain(&page, false), Vec::<String>::new(), "its page");
    let low = found["together"]["force"][0].as_f64().unwrap();
    let headline =
        format!("{} N as solved, {} to {} as printed.", shown(base), shown(low), shown(high));
    assert!(page.contains(&headline), "{headline}");
}

#[test]
fn a_weighed_part_tells_how_solid_it_is() {
    // 80 x 4 x 6 mm of 1.27 g/cm3 are 2.4384 g.
    let desk = Desk::with(&part("weighed = \"2.2 g\"\n"), &drawing(BLADE));
    let found = found(&desk);
    let share = 2.2 / 2.4384;
    let low = change(&found, "solid share", 0, "effort");
    assert!((low / (0.99 * share / 0.95) - 1.0).abs() < 1e-3, "{low}");
    let bad = Desk::with(&part("weighed = \"0 g\"\n"), &drawing(BLADE));
    let outcome = bad.withy("spread", &[]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stdout);
    assert!(outcome.said().contains("weighed is 0 g, but must be above 0 g"), "{}", outcome.stderr);
}

#[test]
fn beads_are_a_choice_beside_the_ranges() {
    let text = part("").replace("[printer]\n", "").replace(
        "card = \"petg\"",
        "card = \"petg\"\nmodulus_across = \"1400 MPa\"\nshear_modulus = \"600 MPa\"",
    );
    let found = found(&Desk::with(&text, &drawing(BLADE)));
    // The blade's beads lie along it, so that it bends with the modulus along them.
    let force = change(&found, "beads", 0, "effort");
    assert!((force - 1.0).abs() < 0.03, "{force}");
    assert!(found["inputs"].as_array().unwrap().iter().any(|i| i["range"] == false), "{found}");
}

#[test]
fn a_dead_load_has_no_spread_of_factors() {
    let text = PART.replace(
        "[[drive]]\nregion = \"tip\"\nmove = [0, \"-5 mm\"]",
        "[[load]]\nregion = \"tip\"\nforce = [0, \"-1 N\"]",
    );
    let outcome = Desk::with(&text, &drawing(BLADE)).withy("spread", &[]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stdout);
    assert!(outcome.said().contains("replace [[load]] by a [[drive]]"), "{}", outcome.stderr);
}
