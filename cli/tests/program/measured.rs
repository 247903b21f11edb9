//! `withy reconcile` and `withy bench`: what was measured, against what is computed.

use super::desk::{BLADE, Desk, PART, drawing, run, withy};
use super::report::{faults_of_plain, shown};
use super::schema::misfits;
use serde_json::Value;

fn launching() -> Desk {
    Desk::with(&format!("{PART}[launch]\nmass = 2\nregion = \"tip\"\n"), &drawing(BLADE))
}

/// The blade's own computed curve, times a factor, as readings; every number with its own unit.
fn pull_of(desk: &Desk, factor: f64) -> String {
    assert_eq!(desk.solve(&["--steps", "10"]).status, Some(0), "it solves");
    let summary = desk.summary();
    let mut text = "draw_mm,force_N\n".to_owned();
    for step in summary["steps"].as_array().unwrap() {
        let travel = -step["travel_mm"]["tip"][1].as_f64().unwrap();
        let force = -step["reaction_N"]["tip"][1].as_f64().unwrap();
        text += &format!("{travel},{}\n", factor * force);
    }
    text
}

fn document(desk: &Desk) -> Value {
    let found = serde_json::from_str(&desk.read("blade-results/reconcile.json")).unwrap();
    assert_eq!(misfits("reconcile", &found), Vec::<String>::new(), "its schema");
    found
}

#[test]
fn a_pull_of_ninety_per_cent_gives_a_modulus_of_ninety_per_cent() {
    let desk = Desk::new();
    let pull = pull_of(&desk, 0.9);
    desk.write("pull.csv", &pull);
    let outcome = desk.withy("reconcile", &["--pull", "pull.csv"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let found = document(&desk);
    let modulus = found["pull"]["youngs_modulus_MPa"].as_f64().unwrap();
    // Four solved states stand for the ten that were read: cubics between them.
    assert!((modulus / (0.9 * 2050.0) - 1.0).abs() < 2e-3, "{modulus}");
    let energy = desk.summary()["steps"][9]["strain_energy_mJ"].as_f64().unwrap();
    let corrected = found["corrected"]["energy_mJ"].as_f64().unwrap();
    assert!((corrected / (0.9 * energy) - 1.0).abs() < 3e-3, "{corrected} of {energy}");
    assert!(outcome.stdout.contains("youngs_modulus = { value = \""), "{}", outcome.stdout);
    assert!(outcome.stdout.contains("narrower"), "{}", outcome.stdout);
    assert!(desk.read("blade-results/reconcile.svg").contains("measured less reconciled, N"));
    assert!(!outcome.stdout.contains("Before you let go"), "nothing is thrown");
    let page = desk.read("blade-results/reconcile.html");
    assert_eq!(faults_of_plain(&page, false), Vec::<String>::new(), "its page");
    for words in [
        format!("{} times as stiff as the card says.", shown(modulus / 2050.0)),
        format!("{modulus:.0} MPa"),
        format!("{} mJ stored", shown(corrected)),
        "youngs_modulus = { value = &quot;".into(),
        "withy reconcile blade.toml --pull pull.csv</code>".into(),
    ] {
        assert!(page.contains(&words), "{words}");
    }
    // What is printed is a part file's `[material]`: it gives the corrected energy.
    let line = outcome.stdout.lines().find(|l| l.contains("youngs_modulus =")).unwrap();
    let part = PART.replace("card = \"petg\"", &format!("card = \"petg\"\n{}", line.trim()));
    desk.write("blade.toml", &part);
    assert_eq!(desk.solve(&[]).status, Some(0));
    let again = desk.summary()["steps"][3]["strain_energy_mJ"].as_f64().unwrap();
    assert!((again / corrected - 1.0).abs() < 1e-3, "{again} {corrected}");
}

#[test]
fn speeds_give_the_losses_and_the_cautions() {
    let desk = launching();
    assert_eq!(desk.solve(&[]).status, Some(0));
    let lossless = desk.summary()["release"]["speed_m_per_s"].as_f64().unwrap();
    // A quarter of the energy is lost.
    let speed = lossless * 0.75_f64.sqrt();
    desk.write(
        "speeds.csv",
        &format!("speed (m/s)\n{}\n{}\n{speed}\n", 1.002 * speed, 0.998 * speed),
    );
    let outcome = desk.withy("reconcile", &["--speeds", "speeds.csv", "--speed-error", "2 %"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let found = document(&desk);
    let loss = found["losses"]["loss"].as_f64().unwrap();
    assert!((loss - 0.25).abs() < 2e-3, "{loss}");
    // 0.75 (2 * 2 % + 0.5 %).
    let meters = found["losses"]["of_meters"].as_f64().unwrap();
    assert!((meters - 0.75 * 0.045).abs() < 1e-4, "{meters}");
    for words in ["losses = \"25 %\"", "cannot be told apart", "eye protection"] {
        assert!(outcome.stdout.contains(words), "{words}: {}", outcome.stdout);
    }
    assert!(desk.read("blade-results/reconcile.svg").contains("eye protection"));
    let page = desk.read("blade-results/reconcile.html");
    assert_eq!(faults_of_plain(&page, true), Vec::<String>::new(), "its page");
    for words in [
        "25 % of the released energy is lost.",
        "--speed-error &quot;2 %&quot;</code>",
        "The speeds",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn readings_that_cannot_be_are_refused_with_their_line() {
    let desk = Desk::new();
    for (text, words) in [
        ("draw_mm,force_N\n1,2\n2,two\n", "pull.csv:3:1"),
        ("draw_mm,force_N\n-1,2\n2,3\n", "draw is -1.00, but must be 0 or more"),
        ("travel_mm,force_N\n1,2\n2,3\n", "there is no column 'draw'"),
        ("draw_mm,force_mm\n1,2\n2,3\n", "expected a force"),
        ("draw_mm,force_N\n1,2\n", "too few"),
    ] {
        desk.write("pull.csv", text);
        let outcome = desk.withy("reconcile", &["--pull", "pull.csv"]);
        assert_eq!(outcome.status, Some(2), "{text}: {}", outcome.stderr);
        assert!(outcome.said().contains(words), "{words}: {}", outcome.stderr);
    }
    let outcome = desk.withy("reconcile", &["--pull", "nowhere.csv"]);
    assert!(outcome.said().contains("cannot be read"), "{}", outcome.stderr);
    desk.write("speeds.csv", "speed\n5\n");
    let outcome = desk.withy("reconcile", &["--speeds", "speeds.csv"]);
    assert!(outcome.said().contains("need a [launch]"), "{}", outcome.stderr);
    assert_eq!(desk.names("blade-results"), Vec::<String>::new(), "nothing is left behind");
    assert_eq!(desk.withy("reconcile", &[]).status, Some(2), "one of the two must be given");
}

const STRIP: &str = "title = \"Bar\"\ntest = \"three-point\"\nspan = \"64 mm\"\nwidth = \"10 mm\"\n\
    thickness = \"4 mm\"\nreadings = \"bar.csv\"\ncard = \"petg\"\n";

fn bench(desk: &Desk, strip: &str, more: &[&str]) -> super::desk::Outcome {
    desk.write("bar.toml", strip);
    let mut command = withy();
    command.current_dir(desk.path("")).args(["bench", "bar.toml"]).args(more);
    run(command)
}

#[test]
fn a_strip_gives_a_card_that_a_part_can_name() {
    let desk = Desk::new();
    // 20 N/mm: 2048 MPa by the formula of ISO 178.
    desk.write(
        "bar.csv",
        "deflection_mm,force_N\n0.05,1.0\n0.15,3.0\n0.3,6.0\n0.45,9.0\n0.6,12.0\n",
    );
    let outcome = bench(&desk, STRIP, &["--out", "own.toml"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(
        outcome.stdout.contains("chord") && outcome.stdout.contains("2048 MPa"),
        "{}",
        outcome.stdout
    );
    let solved = desk.solve(&["--material", "own.toml"]);
    assert_eq!(solved.status, Some(0), "{}", solved.stderr);
    let modulus = desk.summary()["assumed"]["youngs_modulus_MPa"].as_f64().unwrap();
    assert!((modulus / 2048.0 - 1.0).abs() < 5e-3, "{modulus}");
    let again = bench(&desk, STRIP, &["--out", "own.toml"]);
    assert_eq!(again.status, Some(2), "nothing is replaced: {}", again.stderr);
    assert!(again.said().contains("is there already"), "{}", again.stderr);
}

#[test]
fn strips_that_tell_nothing_are_refused() {
    let desk = Desk::new();
    let good = "deflection_mm,force_N\n0.1,2\n0.3,6\n0.5,10\n";
    for (strip, readings, words) in [
        (STRIP.replace("64 mm", "30 mm"), good, "at least 10 times the thickness"),
        (STRIP.replace("64 mm", "64 N"), good, "expected a length"),
        (STRIP.replace("three-point", "four-point"), good, "'four-point' is not known here"),
        (STRIP.to_owned(), "deflection_mm,force_N\n0.1,2\n", "too few"),
        (
            STRIP.to_owned(),
            "deflection_mm,force_N\n1,2\n2,4\n40,10\n",
            "is not between 0 and 12.8 mm",
        ),
        (STRIP.to_owned(), "deflection_mm,force_N\n1,-2\n2,-4\n3,-6\n", "below zero"),
    ] {
        desk.write("bar.csv", readings);
        let outcome = bench(&desk, &strip, &[]);
        assert_eq!(outcome.status, Some(2), "{}", outcome.stdout);
        assert!(outcome.said().contains(words), "{words}: {}", outcome.stderr);
    }
}
