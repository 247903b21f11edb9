//! Input that no part can be made of: refused with status 2, naming the file, the place and the mend,
//! and leaving nothing behind.

use super::desk::{BLADE, Desk, Outcome, PART, RESULTS, drawing, run, withy};
use std::time::{Duration, Instant};

/// Solves what is on the desk; it must be refused in these words.
fn refused(desk: &Desk, words: &[&str]) -> Outcome {
    let before = desk.names(".");
    let outcome = desk.solve(&[]);
    let said = outcome.said();
    assert_eq!(outcome.status, Some(2), "{said}{}", outcome.stdout);
    for word in words {
        assert!(said.contains(word), "{word:?} is missing in: {said}");
    }
    assert!(said.contains("help: "), "a mend: {said}");
    assert_eq!(outcome.stdout, "", "no verdict");
    assert_eq!(desk.names("."), before, "nothing is left behind");
    outcome
}

/// Refuses a drawing of these shapes.
fn refused_drawing(shapes: &str, words: &[&str]) {
    refused(&Desk::with(PART, &drawing(shapes)), words);
}

/// Refuses the part file with one text replaced.
fn refused_part(from: &str, to: &str, words: &[&str]) {
    refused(&Desk::changed(from, to), words);
}

#[test]
fn drawings_that_bound_no_part_are_refused() {
    refused_drawing("", &["blade.svg", "no closed shape for the part", "'part'"]);
    refused_drawing(
        "<path d='M10 20 H90 V24 H10'/>",
        &["blade.svg:2:14", "path (line 2) is open", "(10.000, 26.000) mm", "close the outline"],
    );
    refused_drawing(
        "<path d='M10 20 L90 24 V20 L10 24 Z'/>",
        &["blade.svg:2:14", "path (line 2)", "crosses itself like a bow tie"],
    );
    refused_drawing(
        "<path d='M10 20 L90 26 V20 L10 24 Z'/>",
        &["blade.svg", "path (line 2)", "crosses itself", "mm"],
    );
    refused_drawing(
        &format!("{BLADE}<rect x='10' y='30' width='80' height='4'/>"),
        &["blade.svg", "is a separate piece", "a part is one piece", "(10.0000, 20.0000) mm"],
    );
    refused_drawing(
        &format!("{BLADE}<circle id='hole' cx='50' cy='20' r='1'/>"),
        &["blade.svg", "cross or touch at (49.0000, 30.0000) mm", "unite them"],
    );
}

#[test]
fn path_data_with_impossible_numbers_are_refused_at_their_place() {
    refused_drawing("<path d='M10 20 H90 V24 HNaN Z'/>", &["blade.svg:2:39", "character 17"]);
    refused_drawing("<path d='M10 20 H1e400 V24 H10 Z'/>", &["blade.svg:2:31", "character 9"]);
    refused_drawing("<path d='M10 20 H1e30 V24 H10 Z'/>", &["blade.svg", "10 m"]);
}

#[test]
fn files_that_are_no_drawings_are_refused() {
    for (text, words) in
        [("", "not well-formed SVG"), ("hello", "not well-formed SVG"), ("<a/>", "<a>")]
    {
        refused(&Desk::with(PART, text), &["blade.svg:1:1", words, "SVG"]);
    }
    refused_part("blade.svg", "blade.png", &["blade.toml:3:11", ".svg or a .dxf file"]);
    refused_part(
        "blade.svg",
        "blad.svg",
        &["blade.toml:3:11", "cannot be read", "relative to the part file"],
    );
}

#[test]
fn an_entity_bomb_is_not_lit() {
    let level =
        |name: &str, of: &str| format!("<!ENTITY {name} '{}'>", format!("&{of};").repeat(10));
    let levels: String = ["ba", "cb", "dc", "ed", "fe", "gf", "hg", "ih", "ji"]
        .map(|p| level(&p[..1], &p[1..]))
        .concat();
    let bomb = format!(
        "<!DOCTYPE svg [<!ENTITY a 'aaaaaaaaaa'>{levels}]>\n<svg xmlns='http://www.w3.org/2000/svg'>&j;</svg>"
    );
    let began = Instant::now();
    refused(&Desk::with(PART, &bomb), &["blade.svg:1:1", "DTD", "without a document type"]);
    assert!(began.elapsed() < Duration::from_secs(5), "at once: {:?}", began.elapsed());
}

#[test]
fn ten_megabytes_of_path_are_refused_soon_and_in_one_screen() {
    let steps = "L10.00001 20.00001 L10.00002 20 ".repeat(350_000);
    let path = format!("<path d='M10 20 {steps} H90 V24 H10 Z'/>");
    assert!(path.len() > 10_000_000, "ten megabytes: {}", path.len());
    let began = Instant::now();
    let outcome = refused(
        &Desk::with(PART, &drawing(&path)),
        &["blade.svg", "more than the 100000 that can be meshed", "simplify the outline"],
    );
    assert!(began.elapsed() < Duration::from_secs(20), "soon: {:?}", began.elapsed());
    assert!(outcome.stderr.len() < 2000, "the drawing is not printed: {}", outcome.stderr.len());
}

#[test]
fn part_files_that_say_the_impossible_are_refused_where_they_say_it() {
    for thickness in ["\"0 mm\"", "\"-6 mm\""] {
        refused_part("\"6 mm\"", thickness, &["blade.toml:4:13", "thickness", "above 0 mm"]);
    }
    refused_part(
        "\"6 mm\"",
        "\"6 N\"",
        &["blade.toml:4:13", "expected a length", "a force", "mm, cm"],
    );
    refused_part("\"6 mm\"", "nan", &["blade.toml:4:13", "not a finite number"]);
    refused_part("\"-5 mm\"", "\"1e400 mm\"", &["blade.toml:11:8", "not a finite number"]);
    refused_part(
        "thickness",
        "thicknes",
        &["blade.toml:4:1", "'thicknes'", "did you mean 'thickness'?"],
    );
    refused_part("\"petg\"", "\"petgg\"", &["blade.toml:6:8", "'petgg'", "did you mean 'petg'?"]);
    refused_part("\"tip\"", "\"tipp\"", &["blade.toml:10:10", "'tipp'", "did you mean 'tip'?"]);
    refused_part(
        "[[hold]]\nregion = \"root\"\n",
        "",
        &["blade.toml", "nothing is held", "[[hold]]"],
    );
    refused_part("\"-5 mm\"", "0", &["blade.toml:10:10", "by nothing", "[[hold]]"]);
    refused_part("steps = 4", "steps = 0", &["blade.toml:13:9", "from 1 to 1000"]);
}

#[test]
fn regions_that_touch_nothing_or_each_other_are_refused() {
    let with = |more: &str| Desk::with(&format!("{PART}{more}"), &drawing(BLADE));
    refused(
        &with("[[hold]]\nregion = \"far\"\n[regions]\nfar = { box = [0, 0, 1, 1] }\n"),
        &["blade.toml:16:10", "\"far\" touches nothing", "move the region over the part"],
    );
    refused_part("\"tip\"", "\"root\"", &["blade.toml:10:10", "'root' is held and driven"]);
    // Two regions that share an edge of the mesh.
    refused(
        &with("[[hold]]\nregion = \"side\"\n[regions]\nside = { box = [80, 20, 85, 40] }\n"),
        &["blade.toml:10:10", "\"side\"", "\"tip\"", "overlap at (85.000", "strip of the part"],
    );
}

#[test]
fn files_that_are_not_there_are_named() {
    let desk = Desk::new();
    for (name, why) in [("none.toml", "cannot be read"), (".", "cannot be read")] {
        let mut command = withy();
        command.arg("solve").arg(desk.path(name));
        let outcome = run(command);
        assert_eq!(outcome.status, Some(2), "{name}");
        assert!(outcome.said().contains(why), "{name}: {}", outcome.stderr);
        assert!(outcome.said().contains("help: check the name"), "{name}: {}", outcome.stderr);
    }
}

#[test]
fn wrong_arguments_are_refused_by_name() {
    let desk = Desk::new();
    for (arguments, words) in [
        (["--steps", "0"], "--steps is 0"),
        (["--steps", "many"], "--steps"),
        (["--accuracy", "2 N"], "which is a force"),
        (["--accuracy", "200 %"], "--accuracy is 200 %"),
        (["--material", "petgg"], "the command line: there is no material card"),
        (["--matrial", "petg"], "--material"),
    ] {
        let outcome = desk.solve(&arguments);
        assert_eq!(outcome.status, Some(2), "{arguments:?}: {}", outcome.stderr);
        assert!(outcome.said().contains(words), "{arguments:?}: {}", outcome.stderr);
        assert!(!desk.path("blade-results").exists(), "{arguments:?}: nothing written");
    }
}

#[test]
fn a_blade_pushed_into_itself_stops_early_and_keeps_what_it_had() {
    let desk = Desk::changed("[0, \"-5 mm\"]", "[\"-90 mm\", 0]");
    let outcome = desk.solve(&["--steps", "20"]);
    assert_eq!(outcome.status, Some(3), "{}{}", outcome.stdout, outcome.stderr);
    assert!(outcome.stdout.contains("stopped early"), "{}", outcome.stdout);
    assert_eq!(desk.names("blade-results"), RESULTS, "whole files");
    let summary = desk.summary();
    assert_eq!(summary["completed"], false, "not complete");
    assert!(!summary["steps"].as_array().unwrap().is_empty(), "with the states before");
    let reached = summary["stopped"]["fraction"].as_f64().unwrap();
    assert!(reached > 0.05 && reached < 1.0, "up to {reached}");
}

#[test]
fn a_solve_that_stops_before_its_first_step_leaves_nothing_and_says_so() {
    let desk = Desk::changed("[0, \"-5 mm\"]", "[\"-90 mm\", 0]");
    let outcome = desk.solve(&["--steps", "1"]);
    assert_eq!(outcome.status, Some(3), "{}{}", outcome.stdout, outcome.stderr);
    let said = outcome.said();
    assert!(said.contains("no step converged") && said.contains("more steps"), "{said}");
    assert!(!desk.path("blade-results").exists(), "nothing half-written");
}

/// A state may balance its forces and yet have no true stress: it once read as no stress at all, on
/// a part that "stays elastic", with exit status 0.
#[test]
fn a_blade_stretched_beyond_its_law_is_not_called_elastic() {
    let desk = Desk::changed("[0, \"-5 mm\"]", "[0, \"-500 mm\"]");
    let outcome = desk.solve(&["--steps", "20"]);
    assert_eq!(outcome.status, Some(3), "{}{}", outcome.stdout, outcome.stderr);
    assert!(outcome.stdout.contains("beyond what its elastic law"), "{}", outcome.stdout);
    assert!(!outcome.stdout.contains("stays elastic"), "{}", outcome.stdout);
    let summary = desk.summary();
    assert_eq!(summary["completed"], false, "not complete");
    for step in summary["steps"].as_array().unwrap() {
        assert!(step["peak_von_mises_MPa"].as_f64().unwrap() > 0.0, "a stress at every step");
    }
    let coarse = desk.solve(&["--steps", "1", "--out", "none"]);
    assert_eq!(coarse.status, Some(3), "{}{}", coarse.stdout, coarse.stderr);
}
