//! Sweeps: one row a design, the same bytes however they are cut, interrupted or threaded; shards joined.

use super::desk::{Desk, Outcome, names, run, withy};
use std::path::{Path, PathBuf};

const SWEEP: &str = "part = \"start.toml\"\nsteps = 8\n[vary]\n\
    spring.width = { from = \"1.4 mm\", to = \"1.8 mm\", count = 3 }\nspring.fillet = [\"1 mm\", \"1.6 mm\", \"4 mm\"]\n";

/// A desk with a sweep of the demo's spring, or with one text of it replaced.
fn desk(from: &str, to: &str) -> Desk {
    let desk = Desk::new();
    let start = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/seek/start.toml");
    desk.write("start.toml", &std::fs::read_to_string(start).unwrap());
    assert!(SWEEP.contains(from), "the test's own text {from:?}");
    desk.write("sweep.toml", &SWEEP.replacen(from, to, 1));
    desk
}

fn sweep(desk: &Desk, more: &[&str]) -> Outcome {
    sweep_with(desk, more, &[])
}

fn sweep_with(desk: &Desk, more: &[&str], environment: &[(&str, &str)]) -> Outcome {
    let mut command = withy();
    command.current_dir(desk.path("")).args(["sweep", "sweep.toml"]).args(more);
    for name in ["SLURM_ARRAY_TASK_ID", "SLURM_ARRAY_TASK_COUNT", "PBS_ARRAY_INDEX"] {
        command.env_remove(name);
    }
    command.envs(environment.iter().copied());
    run(command)
}

fn gather(desk: &Desk, arguments: &[&str]) -> Outcome {
    let mut command = withy();
    command.current_dir(desk.path("")).arg("gather").args(arguments);
    run(command)
}

/// The rows of a table, by the names of its columns.
fn rows(path: PathBuf) -> Vec<std::collections::BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let header = reader.headers().unwrap().clone();
    let named = |row: csv::StringRecord| {
        header.iter().map(str::to_owned).zip(row.iter().map(str::to_owned)).collect()
    };
    reader.records().map(|row| named(row.unwrap())).collect()
}

#[test]
fn a_row_is_what_the_part_itself_gives_and_a_refusal_has_its_reason() {
    let desk = desk("part", "model = \"beam\"\npart");
    let outcome = sweep(&desk, &[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(outcome.stdout.contains("9 designs by beam"), "{}", outcome.stdout);
    assert!(outcome.stdout.contains("eye protection"), "speeds come with cautions");
    let rows = rows(desk.path("sweep-results/sweep.csv"));
    assert_eq!(rows.len(), 9, "every width with every fillet");
    for row in &rows {
        let refused = row["spring.fillet_mm"] == "4";
        assert_eq!(row["outcome"], if refused { "refused" } else { "solved" }, "{row:?}");
        assert_eq!(row["note"].is_empty(), !refused, "{row:?}");
        let force = row["largest_force_N"].parse::<f64>();
        // By the cube of the width from the 32 N of four ribs a side at 1.6 to 1.8 mm.
        assert!(refused || (15.0..60.0).contains(&force.unwrap()), "{row:?}");
    }
    let names = names(&desk.path("sweep-results"));
    assert_eq!(names, [".withy-results", "sweep.csv", "sweep.journal", "sweep.svg"]);
}

#[test]
fn plane_stress_rows_are_those_of_a_solve() {
    let desk = Desk::new();
    desk.write(
        "sweep.toml",
        "part = \"blade.toml\"\n[vary]\ndrive.0.move.1 = [\"-5 mm\", \"-6 mm\"]\n",
    );
    let outcome = sweep(&desk, &["--quiet"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let rows = rows(desk.path("sweep-results/sweep.csv"));
    assert_eq!(desk.solve(&["--quiet"]).status, Some(0), "the blade");
    let last = desk.summary()["steps"][3].clone();
    let close = |cell: &str, solved: f64| {
        let found: f64 = rows[0][cell].parse().unwrap();
        // The same solve, printed with nine digits.
        assert!((found / solved - 1.0).abs() < 1e-8, "{cell}: {found} {solved}");
    };
    close("energy_mJ", last["strain_energy_mJ"].as_f64().unwrap());
    close("force_N", -last["reaction_N"]["tip"][1].as_f64().unwrap());
    close("peak_strain", last["peak_strain"].as_f64().unwrap());
    assert_eq!(rows[1]["draw_mm"], "6", "the second design is drawn further");
}

#[test]
fn cut_up_interrupted_or_on_one_thread_the_table_is_the_same() {
    let desk = desk("[\"1 mm\", ", "[");
    assert_eq!(sweep(&desk, &["--quiet"]).status, Some(0), "whole");
    let whole = desk.read("sweep-results/sweep.csv");
    let one = sweep_with(&desk, &["--quiet", "--out", "one"], &[("RAYON_NUM_THREADS", "1")]);
    assert_eq!((one.status, desk.read("one/sweep.csv")), (Some(0), whole.clone()), "one thread");
    // As a kill leaves it: some rows, and half of one.
    let journal = desk.read("sweep-results/sweep.journal");
    let lines: Vec<&str> = journal.split_inclusive('\n').collect();
    let half = &lines[3][..lines[3].len() / 2];
    std::fs::create_dir(desk.path("half")).unwrap();
    desk.write("half/sweep.journal", &(lines[..3].concat() + half));
    let resumed = sweep(&desk, &["--out", "half"]);
    assert_eq!(desk.read("half/sweep.csv"), whole, "gone on with");
    assert!(resumed.stdout.contains("known from before    2"), "{}", resumed.stdout);
    // In three shards, one of them by an array job's variables.
    for shard in ["1/3", "3/3"] {
        assert_eq!(sweep(&desk, &["--quiet", "--out", "cut", "--shard", shard]).status, Some(0));
    }
    let short = gather(&desk, &["cut"]);
    assert_eq!(short.status, Some(3), "{}", short.stdout);
    for words in ["4 of 6 designs", "designs 2, 5", "--shard 2/3", "nothing was written"] {
        assert!(short.stdout.contains(words), "{words} in {}", short.stdout);
    }
    let task = [("SLURM_ARRAY_TASK_ID", "2")];
    let second = sweep_with(&desk, &["--quiet", "--out", "cut", "--shard", "array/3"], &task);
    assert_eq!(second.status, Some(0), "{}", second.stderr);
    assert_eq!(gather(&desk, &["cut"]).status, Some(0), "all there");
    assert_eq!(desk.read("cut/sweep.csv"), whole, "joined");
    assert!(desk.read("cut/sweep.svg").matches("<circle").count() > 15, "drawn");
    // A row told otherwise.
    let altered = desk.read("cut/sweep-2-of-3.csv").replacen(",solved,6,", ",solved,7,", 1);
    desk.write("cut/sweep-9-of-9.csv", &altered);
    let torn = gather(&desk, &["cut"]);
    assert_eq!(torn.status, Some(2), "{}", torn.stdout);
    assert!(
        torn.said().contains("is told in two ways, in cut/sweep-2-of-3.csv"),
        "{}",
        torn.stderr
    );
}

#[test]
fn what_has_changed_or_does_not_belong_is_refused() {
    let desk = desk("count = 3", "count = 2");
    assert_eq!(sweep(&desk, &["--quiet", "--shard", "1/2"]).status, Some(0), "the first");
    desk.write("sweep.toml", &SWEEP.replacen("1.8", "1.9", 1));
    let changed = sweep(&desk, &["--quiet", "--shard", "1/2"]);
    assert_eq!(changed.status, Some(2), "{}", changed.stdout);
    assert!(changed.said().contains("begun with another description"), "{}", changed.stderr);
    assert_eq!(sweep(&desk, &["--quiet", "--shard", "2/2"]).status, Some(0), "of the new one");
    let mixed = gather(&desk, &["sweep-results"]);
    assert_eq!(mixed.status, Some(2), "{}", mixed.stdout);
    assert!(mixed.said().contains("are of two sweeps"), "{}", mixed.stderr);
    assert_eq!(sweep(&desk, &["--quiet", "--shard", "1/2", "--afresh"]).status, Some(0), "anew");
    assert_eq!(gather(&desk, &["sweep-results"]).status, Some(0), "one sweep again");
    desk.write("notes.csv", "a,b\n1,2\n");
    let notes = gather(&desk, &["notes.csv"]);
    assert!(notes.said().contains("is no table of a sweep: line 1"), "{}", notes.stderr);
}

#[test]
fn a_sweep_that_makes_no_sense_is_refused_at_its_place() {
    for (from, to, words) in [
        ("spring.width", "spring.widht", "did you mean 'width'"),
        ("\"1.4 mm\", to = \"1.8 mm\"", "\"1.4 N\", to = \"1.8 N\"", "expected a length"),
        ("count = 3", "count = 1", "needs a count from 2"),
        (", count = 3", "", "has no count"),
        ("start.toml", "stop.toml", "stop.toml is not there"),
        ("steps", "stepps", "did you mean 'steps'"),
        ("steps = 8", "samples = 5", "does nothing beside samples"),
        ("steps = 8", "seed = 5", "does nothing on a grid"),
        ("steps = 8", "model = \"plane\"", "plane stress"),
        ("[\"1 mm\", \"1.6 mm\", \"4 mm\"]", "[]", "is an empty list"),
        ("\"1.6 mm\", \"4 mm\"", "\"1.6 in\"", "in two units"),
    ] {
        let desk = desk(from, to);
        let outcome = sweep(&desk, &[]);
        assert_eq!(outcome.status, Some(2), "{to}: {}", outcome.stdout);
        let said = outcome.said();
        assert!(said.contains(words) && said.contains("sweep.toml"), "{to}: {words} in {said}");
        assert!(!desk.path("sweep-results").exists(), "{to}: nothing is left behind");
    }
    let desk = desk("steps", "steps");
    let wrong = sweep(&desk, &["--shard", "3/2"]);
    assert!(
        wrong.status == Some(2) && wrong.said().contains("no shard 3 of 2"),
        "{}",
        wrong.stderr
    );
    let alone = sweep(&desk, &["--shard", "array"]);
    assert!(alone.status == Some(2) && alone.said().contains("no task of an array"), "{alone:?}");
}
