//! Each option of `withy solve` does what its help says.

use super::desk::{BLADE, Desk, PART, RESULTS, drawing, run, withy};
use super::schema::misfits;
use serde_json::Value;

#[test]
fn the_verdict_goes_to_stdout_and_remarks_to_stderr() {
    let desk = Desk::new();
    let outcome = desk.solve(&[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(outcome.stdout.starts_with("Blade\n"), "{}", outcome.stdout);
    for words in ["tip needs", "stored energy", "hot spot", "against yield", "stability"] {
        assert!(outcome.stdout.contains(words), "{words}: {}", outcome.stdout);
    }
    assert!(outcome.said().contains("results are in blade-results"), "{}", outcome.stderr);
    assert!(!outcome.stdout.contains("results are in"), "only once");
    assert_eq!(desk.names("blade-results"), RESULTS, "beside the part file");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let desk = Desk::new();
    desk.solve(&["--out", "one"]);
    let mut alone = desk.command(&["--out", "two"]);
    alone.env("RAYON_NUM_THREADS", "1");
    assert_eq!(run(alone).status, Some(0), "on one thread");
    for name in &RESULTS[1..] {
        assert!(desk.read(&format!("one/{name}")) == desk.read(&format!("two/{name}")), "{name}");
    }
}

#[test]
fn json_prints_the_summary_that_is_in_the_file() {
    let desk = Desk::new();
    let outcome = desk.solve(&["--json"]);
    assert_eq!(outcome.stdout, desk.read("blade-results/summary.json"), "the same text");
    let summary: Value = serde_json::from_str(&outcome.stdout).unwrap();
    assert_eq!(misfits("summary", &summary), Vec::<String>::new(), "{summary}");
}

#[test]
fn quiet_says_nothing_on_stderr_and_the_same_on_stdout() {
    let desk = Desk::new();
    let (loud, quiet) = (desk.solve(&[]), desk.solve(&["--quiet"]));
    assert_eq!(quiet.stderr, "", "no progress, no remarks");
    assert_eq!(quiet.stdout, loud.stdout, "the verdict stays");
}

#[test]
fn out_takes_the_place_of_the_usual_folder() {
    let desk = Desk::new();
    assert_eq!(desk.solve(&["--out", "a/b"]).status, Some(0), "folders are made");
    assert_eq!(desk.names("a/b"), RESULTS, "all files there");
    assert!(!desk.path("blade-results").exists(), "and nowhere else");
}

#[test]
fn steps_sets_the_rows_of_the_curve() {
    let desk = Desk::new();
    desk.solve(&["--steps", "7"]);
    // The header, rest, and seven steps.
    assert_eq!(desk.read("blade-results/curve.csv").lines().count(), 9, "lines");
    let summary = desk.summary();
    let steps = summary["steps"].as_array().unwrap();
    for (n, step) in steps.iter().enumerate() {
        let fraction = step["fraction"].as_f64().unwrap();
        assert!((fraction - (n + 1) as f64 / 7.0).abs() < 1e-12, "equal parts: {fraction}");
    }
    assert_eq!(steps.len(), 7, "and no more");
}

#[test]
fn a_sharper_accuracy_refines_until_the_peak_settles() {
    // A notch with a fillet: its stress needs a finer mesh than the blade does.
    let notched = "<path d='M10 20 H49 V21 A1 1 0 0 0 51 21 V20 H90 V24 H10 Z'/>";
    let desk = Desk::with(PART, &drawing(notched));
    desk.solve(&["--accuracy", "50 %"]);
    let coarse = desk.summary();
    desk.solve(&["--accuracy", "0.5 %"]);
    let fine = desk.summary();
    let peaks: Vec<f64> = fine["meshes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|m| m["peak_von_mises_MPa"].as_f64().unwrap())
        .collect();
    let [.., before, last] = peaks[..] else { panic!("two meshes at least: {peaks:?}") };
    assert!((last - before).abs() <= 0.005 * last, "settled: {peaks:?}");
    let elements = |s: &Value| s["mesh"]["elements"].as_u64().unwrap();
    assert!(
        elements(&fine) > elements(&coarse),
        "{} elements, then {}",
        elements(&coarse),
        elements(&fine)
    );
}

#[test]
fn material_replaces_the_card() {
    let desk = Desk::new();
    desk.solve(&[]);
    let petg = desk.summary();
    desk.solve(&["--material", "pla"]);
    let pla = desk.summary();
    assert_eq!(petg["assumed"]["material"], "petg", "as written");
    assert_eq!(pla["assumed"]["material"], "pla", "as asked");
    // Clamped all round its tip, the blade's force goes with E, and hardly with Poisson's ratio.
    let force = |s: &Value| s["steps"][3]["reaction_N"]["tip"][1].as_f64().unwrap();
    let ratio = force(&pla) / force(&petg) / (3300.0 / 2050.0);
    assert!((ratio - 1.0).abs() < 0.02, "forces go with the modulus: {ratio}");

    desk.write("mine.toml", "title = \"Mine\"\nyoungs_modulus = \"1 GPa\"\npoissons_ratio = 0.4\n");
    desk.solve(&["--material", "mine.toml"]);
    let mine = desk.summary();
    assert!((mine["assumed"]["youngs_modulus_MPa"].as_f64().unwrap() - 1000.0).abs() < 1e-9);
}

#[test]
fn strict_turns_a_limit_into_status_1_and_still_writes() {
    let desk = Desk::new();
    assert_eq!(desk.solve(&["--strict"]).status, Some(0), "5 mm are harmless");
    let desk = Desk::changed("\"-5 mm\"", "\"-20 mm\"");
    assert_eq!(desk.solve(&[]).status, Some(0), "not asked");
    let outcome = desk.solve(&["--strict", "--out", "strict"]);
    assert_eq!(outcome.status, Some(1), "{}", outcome.stdout);
    assert!(outcome.stdout.contains("yields"), "{}", outcome.stdout);
    assert_eq!(desk.names("strict"), RESULTS, "all files");
}

#[test]
fn help_and_version_need_no_part() {
    for (argument, words) in [("--help", "Exit status"), ("--version", "withy 0.1.0")] {
        let mut command = withy();
        command.arg(argument);
        let outcome = run(command);
        assert_eq!(outcome.status, Some(0), "{argument}");
        assert!(outcome.stdout.contains(words), "{}", outcome.stdout);
    }
}

#[test]
fn budgets_end_the_refinement_and_say_so() {
    // A fillet of 0.3 mm in a notched blade: the first mesh is far from 0.5 %.
    let notched = "<path d='M10 20 H50 V21.2 A0.3 0.3 0 0 0 50.6 21.2 V20 H90 V24 H10 Z'/>";
    let part = PART.replace("accuracy = \"20 %\"", "accuracy = \"0.5 %\"");
    let desk = Desk::with(&part, &drawing(notched));
    let free = desk.solve(&[]);
    assert_eq!(free.status, Some(0), "{}", free.stderr);
    let meshes = || desk.summary()["meshes"].as_array().unwrap().clone();
    let all = meshes();
    assert!(all.len() > 2, "several meshes without a budget: {}", all.len());
    let first = all[0]["elements"].as_u64().unwrap();
    let few = desk.solve(&["--elements", &format!("{}", first + 20)]);
    assert!(few.said().contains("a better mesh would have more than the"), "{}", few.stderr);
    assert!(meshes().iter().all(|m| m["elements"].as_u64().unwrap() <= first + 20), "the limit");
    let short = desk.solve(&["--time", "0.001 ms"]);
    assert!(short.said().contains("s allowed were over"), "{}", short.stderr);
    assert_eq!(meshes().len(), 1, "no better mesh was begun");
    for bad in [["--elements", "5"], ["--time", "0"], ["--time", "3 mm"]] {
        assert_eq!(desk.solve(&bad).status, Some(2), "{bad:?}");
    }
    desk.write("blade.toml", &part.replace("[solve]", "[solve]\ntime = \"-1 s\""));
    let refused = desk.solve(&[]);
    assert!(
        refused.said().contains("time is -1000 ms, but must be above 0 ms"),
        "{}",
        refused.stderr
    );
}

#[test]
fn a_place_without_a_finite_stress_is_known_by_its_divergence() {
    // No corner: a slide that ends in the middle of a straight edge, where stress grows without end.
    let part = PART
        .replace("[[drive]]", "[[hold]]\nregion = \"slide\"\nalong = [\"y\"]\n[[drive]]")
        .replace("accuracy = \"20 %\"", "accuracy = \"1 %\"")
        + "[regions]\nslide = { box = [30, 29.9, 50, 31] }\n";
    let desk = Desk::with(&part, &drawing(BLADE));
    let outcome = desk.solve(&[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(outcome.said().contains("grows with every finer mesh"), "{}", outcome.stderr);
}
