//! Parts made of numbers: they solve as drawn ones do, can be drawn, and are refused at the number to change.

use super::desk::{Desk, Outcome, names, run, withy};
use serde_json::Value;
use std::path::{Path, PathBuf};

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../demo-data/{name}/{name}.toml"))
}

/// Solves a part coarsely and returns its summary.
fn solved(part: &Path) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let mut command = withy();
    command.arg("solve").arg(part).args(["--accuracy", "10 %", "--quiet", "--out"]);
    let outcome = run({
        command.arg(folder.path().join("out"));
        command
    });
    assert_eq!(outcome.status, Some(0), "{}{}", outcome.stdout, outcome.stderr);
    let text = std::fs::read_to_string(folder.path().join("out/summary.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn last(summary: &Value, place: &str) -> f64 {
    summary["steps"].as_array().unwrap().last().unwrap().pointer(place).unwrap().as_f64().unwrap()
}

#[test]
fn the_kicker_of_numbers_pulls_as_the_drawn_one() {
    let (made, drawn) = (solved(&demo("kicker-by-numbers")), solved(&demo("kicker")));
    // The numbers are those of the drawing, whose coordinates are rounded and whose latch differs by 0.1 mm.
    for place in ["/reaction_N/grip/1", "/strain_energy_mJ"] {
        let (a, b) = (last(&made, place), last(&drawn, place));
        assert!((a / b - 1.0).abs() < 0.01, "{place}: {a} by numbers, {b} drawn");
    }
    let speed = |s: &Value| s.pointer("/launch/speed_m_per_s").and_then(Value::as_f64);
    if let (Some(a), Some(b)) = (speed(&made), speed(&drawn)) {
        assert!((a / b - 1.0).abs() < 0.01, "{a} {b}");
    }
}

#[test]
fn leaf_and_clip_of_numbers_solve() {
    let leaf = solved(&demo("leaf-by-numbers"));
    assert!(last(&leaf, "/reaction_N/tab/1") < -0.5, "pushed together");
    let clip = solved(&demo("clip-by-numbers"));
    let sides = ["lip-left", "lip-right"].map(|lip| last(&clip, &format!("/reaction_N/{lip}/0")));
    assert!(sides[1] > 5.0 && (sides[0] + sides[1]).abs() < 0.02 * sides[1], "{sides:?}");
}

#[test]
fn the_drawing_of_a_shape_is_the_shape() {
    for name in ["kicker-by-numbers", "leaf-by-numbers", "clip-by-numbers"] {
        let folder = tempfile::tempdir().unwrap();
        let shape = || {
            let mut command = withy();
            command.current_dir(folder.path()).arg("shape").arg(demo(name));
            run({
                command.args(["--out", "drawn"]);
                command
            })
        };
        let outcome = shape();
        assert_eq!(outcome.status, Some(0), "{name}: {}", outcome.stderr);
        for words in ["smallest gap", "smallest wall", "petg", "lines of 0.40 mm", "it fits"] {
            assert!(outcome.stdout.contains(words), "{name}: {words} in\n{}", outcome.stdout);
        }
        assert_eq!(names(&folder.path().join("drawn")), ["drawn.svg", "drawn.toml"], "{name}");
        let (made, drawn) = (solved(&demo(name)), solved(&folder.path().join("drawn/drawn.toml")));
        for place in ["/strain_energy_mJ", "/peak_von_mises_MPa"] {
            let (a, b) = (last(&made, place), last(&drawn, place));
            // The same curves to 1e-9 mm; meshes may differ by the rounding of a coordinate.
            assert!((a / b - 1.0).abs() < 5e-3, "{name}: {place} {a} {b}");
        }
        let area = |s: &Value| s["mesh"]["area_mm2"].as_f64().unwrap();
        assert!((area(&made) / area(&drawn) - 1.0).abs() < 1e-4, "{name}");
        let again = shape();
        assert_eq!(again.status, Some(2), "what is there is kept");
        assert!(again.said().contains("already there"), "{}", again.stderr);
    }
}

/// `withy check` of the demo's kicker with one text replaced.
fn changed(from: &str, to: &str, more: &[&str]) -> Outcome {
    let text = std::fs::read_to_string(demo("kicker-by-numbers")).unwrap();
    assert!(text.contains(from), "the test's own text {from:?}");
    let desk = Desk::new();
    desk.write("blade.toml", &text.replacen(from, to, 1));
    desk.withy("check", more)
}

#[test]
fn a_shape_that_cannot_be_made_is_refused_at_the_number_to_change() {
    for (from, to, place, words) in [
        ("\npitch = \"6 mm\"", "\npitch = \"1.5 mm\"", "pitch", "pitch of at least \"1.92 mm\""),
        ("\nfillet = \"1.6 mm\"", "\nfillet = \"2.4 mm\"", "fillet", "fillet of at most \""),
        ("hole = \"12 mm\"", "hole = \"16.8 mm\"", "hole", "pull.hole of at most \"16.20 mm\""),
        ("\nbanks = 2", "\nbanks = 0", "banks", "from 1 to 200"),
        ("\nangle = \"96.98 deg\"", "\nangle = \"170 deg\"", "angle", "deg"),
        ("[outline]\n", "[outline]\ndrawing = \"x.svg\"\n", "[spring]", "given twice"),
        ("\nribs = 3 ", "\nripps = 3 ", "ripps", "did you mean 'ribs'"),
    ] {
        let outcome = changed(from, to, &[]);
        assert_eq!(outcome.status, Some(2), "{to}: {}", outcome.stdout);
        let said = outcome.said();
        assert!(said.contains(words), "{to}: {words} in {said}");
        assert!(said.contains("blade.toml:") && said.contains(place), "{to}: {said}");
    }
}

#[test]
fn the_printer_is_asked() {
    let outcome = changed("[\"220 mm\", \"220 mm\"]", "[\"90 mm\", \"70 mm\"]", &["--strict"]);
    assert_eq!(outcome.status, Some(1), "off the bed: {}", outcome.stdout);
    assert!(outcome.stdout.contains("DOES NOT FIT"), "{}", outcome.stdout);
    let turned = changed("[\"220 mm\", \"220 mm\"]", "[\"85 mm\", \"105 mm\"]", &["--strict"]);
    assert_eq!(turned.status, Some(0), "{}", turned.stdout);
    assert!(turned.stdout.contains("turned by 90.0 deg"), "{}", turned.stdout);
    let odd = changed("extrusion_width = \"0.4 mm\"", "extrusion_width = \"0.45 mm\"", &[]);
    let words = "walls of 1.60 mm are 3.56 lines of 0.45 mm: 1.80 mm would be 4 lines";
    assert!(odd.stdout.contains(words), "{}", odd.stdout);
    let wide =
        changed("extrusion_width = \"0.4 mm\"", "extrusion_width = \"1.0 mm\"", &["--strict"]);
    assert_eq!(wide.status, Some(1), "1.6 mm are less than two lines: {}", wide.stdout);
    assert!(wide.stdout.contains("narrower than two lines"), "{}", wide.stdout);
    let narrow = changed("[printer]\n", "[printer]\nminimum_gap = \"2.4 mm\"\n", &[]);
    assert_eq!(
        narrow.status,
        Some(2),
        "the carriage stops 1 mm before the cross rail: {}",
        narrow.stdout
    );
    assert!(narrow.said().contains("frame.back of at least \"11.41 mm\""), "{}", narrow.stderr);
    // A drawn part is asked the same, and a solve fails a strict check.
    let desk = Desk::new();
    let part = format!("{}[printer]\nbed = [60, 50]\n", super::desk::PART);
    desk.write("blade.toml", &part);
    assert_eq!(desk.solve(&["--quiet"]).status, Some(0), "not asked");
    let strict = desk.solve(&["--strict"]);
    assert_eq!(strict.status, Some(1), "80 mm on 60 x 50: {}", strict.stdout);
    assert!(strict.said().contains("does not fit the bed"), "{}", strict.stderr);
    let svg = "../demo-data/kicker/kicker.svg";
    let kicker = Path::new(env!("CARGO_MANIFEST_DIR")).join(svg);
    let drawn = std::fs::read_to_string(demo("kicker")).unwrap();
    desk.write("kicker.svg", &std::fs::read_to_string(kicker).unwrap());
    desk.write(
        "blade.toml",
        &format!("{drawn}[printer]\nminimum_gap = \"3 mm\"\nextrusion_width = 0.45\n"),
    );
    let gaps = desk.withy("check", &["--strict"]);
    assert_eq!(gaps.status, Some(1), "{}", gaps.stderr);
    for words in ["the gap of 2.29 mm", "narrower than the 3.00 mm", "1.80 mm would be 4 lines"] {
        assert!(gaps.stdout.contains(words), "{words} in {}", gaps.stdout);
    }
    desk.write("blade.toml", &part.replace("[60, 50]", "[63, 60]"));
    let diagonal = desk.solve(&["--strict"]);
    assert_eq!(diagonal.status, Some(0), "84 mm/sqrt 2 is 59.4 mm: {}", diagonal.stdout);
}
