//! The first five minutes: a new part, what was understood of it, its mesh.

use super::desk::{BLADE, Desk, PART, drawing, names, run, withy};
use std::fs;

#[test]
fn a_new_part_is_understood_and_solves_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let at = |arguments: &[&str]| {
        let mut command = withy();
        command.current_dir(folder.path()).args(arguments);
        run(command)
    };
    let made = at(&["new", "lever"]);
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    assert!(made.stdout.contains("withy check lever/lever.toml"), "{}", made.stdout);
    assert_eq!(
        names(&folder.path().join("lever")),
        ["lever.svg", "lever.toml", "part.schema.json"]
    );
    let checked = at(&["check", "lever/lever.toml", "--strict"]);
    assert_eq!(checked.status, Some(0), "nothing to complain about: {}", checked.stdout);
    for words in
        ["held           foot in all", "finger by (-5.00, 0.00) mm, free along y and to turn"]
    {
        assert!(checked.stdout.contains(words), "{words}: {}", checked.stdout);
    }
    let solved = at(&["solve", "lever/lever.toml", "--strict"]);
    assert_eq!(solved.status, Some(0), "{}", solved.stderr);
    // Once more: what is there stays.
    fs::write(folder.path().join("lever/lever.toml"), "mine").unwrap();
    let again = at(&["new", "lever"]);
    assert_eq!(again.status, Some(2), "{}", again.stdout);
    assert!(again.said().contains("lever is already there help: nothing was changed"));
    assert_eq!(fs::read_to_string(folder.path().join("lever/lever.toml")).unwrap(), "mine");
    for name in ["", "../lever", "a b", "-x", "a/b"] {
        assert_eq!(at(&["new", "--", name]).status, Some(2), "{name:?}");
    }
    assert_eq!(names(folder.path()), ["lever"], "nothing else was left behind");
}

#[test]
fn a_check_draws_what_it_understood_and_leaves_other_results_alone() {
    let desk = Desk::new();
    assert_eq!(desk.solve(&[]).status, Some(0));
    let before = names(&desk.path("blade-results"));
    let outcome = desk.withy("check", &[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    // 80 x 4 x 6 mm of PETG at 1.27 g/cm3.
    for words in [
        "80.0 x 4.00 mm",
        "2.44 g if printed solid",
        "walls",
        "from 4.00 mm",
        "tip by (0.00, -5.00) mm",
    ] {
        assert!(outcome.stdout.contains(words), "{words}: {}", outcome.stdout);
    }
    let mut expected = before;
    expected.push("check.svg".into());
    expected.sort();
    assert_eq!(names(&desk.path("blade-results")), expected);
    let svg = fs::read_to_string(desk.path("blade-results/check.svg")).unwrap();
    assert!(svg.contains("held: root") && svg.contains("driven: tip") && !svg.contains("at rest"));
}

#[test]
fn narrow_walls_and_gaps_and_sharp_corners_are_told_with_their_place() {
    // A slit of 0.2 mm leaves walls of 1.9 mm; its ends are sharp.
    let slit = "<path fill-rule='evenodd' d='M10 20 H90 V24 H10 Z M30 21.9 V22.1 H60 V21.9 Z'/>";
    let desk = Desk::with(PART, &drawing(slit));
    let outcome = desk.withy("check", &["--wall", "2 mm", "--strict"]);
    assert_eq!(outcome.status, Some(1), "{}", outcome.stderr);
    for words in
        ["narrower than 2.00 mm: 1.90 mm at", "narrower than 0.30 mm: 0.20 mm at", "(60.0, 28.1)"]
    {
        assert!(outcome.stdout.contains(words), "{words}: {}", outcome.stdout);
    }
    let svg = fs::read_to_string(desk.path("blade-results/check.svg")).unwrap();
    assert!(svg.contains("narrower than prints well") && svg.contains("sharp inner corner"));
    let wide = desk.withy("check", &["--gap", "0.1 mm"]);
    assert!(wide.stdout.contains("from 0.20 mm"), "{}", wide.stdout);
    for bad in [["--wall", "-1 mm"], ["--wall", "2 N"], ["--gap", "0"]] {
        assert_eq!(desk.withy("check", &bad).status, Some(2), "{bad:?}");
    }
}

#[test]
fn a_check_refuses_what_a_solve_refuses() {
    let desk = Desk::with(&PART.replace("\"tip\"", "\"tap\""), &drawing(BLADE));
    let outcome = desk.withy("check", &[]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stdout);
    assert!(outcome.said().contains("did you mean 'tip'?"), "{}", outcome.stderr);
    assert!(!desk.path("blade-results").exists(), "nothing is written");
}

#[test]
fn a_mesh_is_shown_with_its_quality() {
    let desk = Desk::new();
    let outcome = desk.withy("mesh", &["--size", "1 mm"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(outcome.stdout.contains("320 mm2"), "{}", outcome.stdout);
    let elements = |text: &str| -> usize {
        let line = text.lines().find(|l| l.contains(" elements")).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    };
    let coarse = desk.withy("mesh", &["--across", "1"]);
    assert!(elements(&coarse.stdout) < elements(&outcome.stdout), "{}", coarse.stdout);
    let svg = fs::read_to_string(desk.path("blade-results/mesh.svg")).unwrap();
    assert!(svg.contains("elements"), "it says how many");
    assert_eq!(desk.withy("mesh", &["--across", "0"]).status, Some(2));
}

#[test]
fn shells_and_the_manual_know_every_command() {
    for what in ["bash", "zsh", "fish", "powershell", "elvish", "manual"] {
        let mut command = withy();
        command.args(["shell", what]);
        let outcome = run(command);
        assert_eq!(outcome.status, Some(0), "{what}: {}", outcome.stderr);
        for known in ["solve", "check", "mesh", "new"] {
            assert!(outcome.stdout.contains(known), "{what} does not know {known}");
        }
    }
}
