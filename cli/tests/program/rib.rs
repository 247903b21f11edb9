//! One rib: formula, beam and plane stress side by side.

use super::desk::{Outcome, names, run, withy};
use serde_json::Value;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const NUMBERS: [&str; 10] = [
    "--length",
    "40 mm",
    "--width",
    "2 mm",
    "--thickness",
    "5",
    "--draw",
    "4",
    "--material",
    "petg",
];

fn rib(at: &Path, arguments: &[&str]) -> Outcome {
    let mut command = withy();
    command.current_dir(at).arg("rib").args(arguments);
    run(command)
}

fn with(more: &[&'static str]) -> Vec<&'static str> {
    NUMBERS.iter().copied().chain(more.iter().copied()).collect()
}

fn data(at: &Path, more: &[&'static str]) -> Value {
    let outcome = rib(at, &with(&[&["--json"], more].concat()));
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    serde_json::from_str(&outcome.stdout).unwrap()
}

fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

#[test]
fn a_cantilever_is_its_formula_until_it_turns_too_far() {
    let here = TempDir::new().unwrap();
    let d = data(here.path(), &["--end", "free"]);
    // 3 E I/L^3 with E = 2050, I = 5 8/12: 0.3203 N/mm, and 3 E w/(2 L^2) at the surface.
    let inertia = 5.0 * 8.0 / 12.0;
    let k = 3.0 * 2050.0 * inertia / 64_000.0;
    let got = d["formula"]["stiffness_N_per_mm"].as_f64().unwrap();
    assert!((got / k - 1.0).abs() < 1e-12, "{got} {k}");
    let stress = d["formula"]["stress_MPa_per_mm"].as_f64().unwrap();
    assert!((stress - 3.0 * 2050.0 * 2.0 / 3200.0).abs() < 1e-9, "{stress}");
    let (draw, force) = (list(&d["plane_stress"]["draw_mm"]), list(&d["plane_stress"]["force_N"]));
    assert_eq!(draw.len(), 8, "eight parts of the draw");
    for (x, f) in draw.iter().zip(&force) {
        // The root gives way and its fillets shorten the rib: a few per cent either way.
        assert!((f / (k * x) - 1.0).abs() < 0.05, "{x} mm: {f} N against {}", k * x);
    }
    let beam = list(&d["beam"]["force_N"]);
    // d/L = 0.025 in the first states: stiffer by less than 1e-3, softer by a shear of 3e-3.
    assert!((beam[3] / (k * list(&d["beam"]["draw_mm"])[3]) - 1.0).abs() < 4e-3, "{beam:?}");
    // Elastica: 5 % at d/L = 0.22, which is 8.9 mm.
    let wrong = d["formula"]["wrong_against_beam_from_mm"].as_f64().unwrap();
    assert!((wrong - 8.9).abs() < 0.5, "{wrong}");
    let k = d["concentration"].as_f64().unwrap();
    // A fillet of half the width at a step to a wide block: 1.3 (Peterson's charts, from memory).
    assert!(k > 1.15 && k < 1.45, "{k}");
}

#[test]
fn the_text_names_its_formulas_and_tells_where_they_fail() {
    let here = TempDir::new().unwrap();
    let outcome = rib(here.path(), &with(&["--angle", "70", "--steps", "2"]));
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let text = outcome.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "Rib of 40.0 x 2.00 x 5.00 mm at 70.0 deg to the draw",
        "root fillets of 1.00 mm",
        "guided beam, bending alone F = 12 E I/L^3 s^2 d Roark's",
        "off by more than 5 % against the beam from",
        "bending alone off by more than 5 % against the beam from the start",
        "concentration",
        "largest draw formula",
        "plane stress",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    assert_eq!(names(here.path()), Vec::<String>::new(), "nothing is written unasked");
    let quiet = rib(here.path(), &with(&["--angle", "70", "--steps", "2", "--quiet"]));
    assert_eq!((quiet.stdout, quiet.stderr), (outcome.stdout, String::new()), "the same, silently");
}

#[test]
fn a_rib_that_folds_says_that_it_buckles() {
    let here = TempDir::new().unwrap();
    let outcome = rib(here.path(), &with(&["--angle", "120 deg", "--accuracy", "20 %"]));
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(outcome.said().contains("a perfect rib buckles at"), "{}", outcome.stderr);
    assert!(outcome.stdout.contains("one 0.05 mm off its drawing"), "{}", outcome.stdout);
    // Both are the same bowed rib: what is left is the root that gives way.
    let d = data(here.path(), &["--angle", "120 deg", "--accuracy", "20 %", "--steps", "4"]);
    let (beam, plane) = (&d["beam"], &d["plane_stress"]);
    let (all, some) = (list(&beam["force_N"]), list(&plane["force_N"]));
    let fine = all.len() / 3 / some.len();
    for (n, f) in some.iter().enumerate() {
        let b = all[fine * (n + 1) - 1];
        assert!((b / f - 1.0).abs() < 0.15, "state {n}: beam {b} N, plane stress {f} N");
    }
}

#[test]
fn a_rib_file_is_overruled_by_options_and_a_picture_is_drawn_on_demand() {
    let here = TempDir::new().unwrap();
    let file = "length = \"40 mm\"\nwidth = 2\nthickness = \"5 mm\"\ndraw = 4\nangle = \"1.4 rad\"\n\
                material = \"pla\"\nend = \"aside\"\nsteps = 3\naccuracy = \"20 %\"\n";
    fs::write(here.path().join("rib.toml"), file).unwrap();
    let outcome = rib(here.path(), &["rib.toml", "--draw", "0.2 cm", "--out", "results", "--json"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let d: Value = serde_json::from_str(&outcome.stdout).unwrap();
    assert_eq!(d["rib"]["material"], "pla");
    assert_eq!(d["rib"]["end"], "aside");
    assert!((d["rib"]["draw_mm"].as_f64().unwrap() - 2.0).abs() < 1e-12, "the option counts");
    assert_eq!(list(&d["plane_stress"]["draw_mm"]).len(), 3);
    assert_eq!(names(&here.path().join("results")), [".withy-results", "rib.svg"]);
    let svg = fs::read_to_string(here.path().join("results/rib.svg")).unwrap();
    for words in ["formula", "beam", "plane stress", "yield"] {
        assert!(svg.contains(words), "{words}");
    }
}

#[test]
fn numbers_that_make_no_rib_are_refused_with_their_mend() {
    let here = TempDir::new().unwrap();
    let refused = |arguments: &[&str], words: &str| {
        let outcome = rib(here.path(), arguments);
        assert_eq!(outcome.status, Some(2), "{arguments:?}: {}", outcome.stdout);
        assert!(outcome.said().contains(words), "{words}: {}", outcome.stderr);
    };
    refused(&[], "the rib's length is missing help: add --length");
    refused(&NUMBERS[..8], "the rib's material is missing");
    refused(&with(&["--fillet", "-1"]), "--fillet is -1 mm, but must be above 0 mm");
    refused(&with(&["--fillet", "25 mm"]), "smaller --fillet");
    refused(&with(&["--angle", "3"]), "--angle is 3.00 deg, but must be from 10 to 170 deg");
    refused(&with(&["--angle", "3 mm"]), "expected an angle");
    refused(&with(&["--steps", "0"]), "--steps is 0");
    refused(&with(&["--accuracy", "90 %"]), "--accuracy is 90 %");
    refused(&with(&["--end", "loose"]), "possible values: guided, aside, free");
    let stout =
        ["--length", "5", "--width", "2", "--thickness", "5", "--draw", "1", "--material", "petg"];
    refused(&stout, "is no beam: it must be at least 3 times as long as wide");
    let far = [
        "--length",
        "20",
        "--width",
        "2",
        "--thickness",
        "5",
        "--draw",
        "19",
        "--material",
        "petg",
    ];
    refused(&far, "more than nine tenths of the rib's length");
    let card =
        ["--length", "20", "--width", "2", "--thickness", "5", "--draw", "1", "--material", "petq"];
    refused(&card, "petg");
    fs::write(here.path().join("rib.toml"), "lenght = 3\n").unwrap();
    refused(&["rib.toml"], "'lenght' is not known here");
    fs::write(here.path().join("rib.toml"), "length = 40\nwidth = -2\n").unwrap();
    refused(&["rib.toml"], "width is -2 mm");
    refused(&["none.toml"], "none.toml");
}
