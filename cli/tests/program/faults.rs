//! What happens when the world fails: a disk that takes no more, a kill at any moment, two runs at once.
#![cfg(target_os = "linux")]

use super::desk::{Desk, PART, RESULTS, names};
use super::schema::misfits;
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Stdio};

/// Every result of a folder reads as a whole file.
fn whole(folder: &Path) {
    let text = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    let summary: Value = serde_json::from_str(&text("summary.json")).unwrap();
    assert_eq!(misfits("summary", &summary), Vec::<String>::new(), "summary.json");
    for name in ["curve.svg", "shape.svg", "stress.svg"] {
        assert!(text(name).trim_end().ends_with("</svg>"), "{name}");
    }
    assert!(text("report.html").trim_end().ends_with("</html>"), "report.html");
    let lines: Vec<usize> = text("curve.csv").lines().map(|l| l.split(',').count()).collect();
    assert!(lines.windows(2).all(|w| w[0] == w[1]), "curve.csv: {lines:?}");
}

#[test]
fn a_disk_that_takes_no_more_leaves_the_old_results() {
    let desk = Desk::new();
    assert_eq!(desk.solve(&[]).status, Some(0), "the first run");
    let before: Vec<String> =
        RESULTS.iter().map(|n| desk.read(&format!("blade-results/{n}"))).collect();
    // No file may grow beyond so many blocks: summary.json fits into some, report.html into few.
    for blocks in [0, 1, 8, 32] {
        let script =
            format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" solve blade.toml --steps 5");
        let mut command = Command::new("bash");
        command.args(["-c", &script, env!("CARGO_BIN_EXE_withy")]).env("NO_COLOR", "1");
        let output = command.current_dir(desk.path("")).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{blocks} blocks: {said}");
        assert!(said.contains("cannot write"), "{blocks} blocks: {said}");
        let after: Vec<String> =
            RESULTS.iter().map(|n| desk.read(&format!("blade-results/{n}"))).collect();
        assert_eq!(before, after, "{blocks} blocks: the old results");
        assert_eq!(desk.names("blade-results"), RESULTS, "{blocks} blocks: and nothing else");
    }
}

#[test]
fn a_kill_at_any_moment_leaves_whole_files() {
    let desk = Desk::new();
    assert_eq!(desk.solve(&[]).status, Some(0), "the first run");
    // From before the first mesh to after the last file.
    let took = {
        let begun = std::time::Instant::now();
        assert_eq!(desk.solve(&[]).status, Some(0), "the second run");
        begun.elapsed()
    };
    let mut killed = 0;
    for n in 0..24_u32 {
        let mut child = desk
            .command(&["--steps", "5"])
            .stderr(Stdio::null())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(took * n / 20);
        killed += u32::from(child.try_wait().unwrap().is_none());
        child.kill().unwrap();
        child.wait().unwrap();
        whole(&desk.path("blade-results"));
    }
    assert!(killed >= 10, "most were killed while they ran: {killed}");
    assert_eq!(desk.solve(&[]).status, Some(0), "the last run");
    assert_eq!(desk.names("blade-results"), RESULTS, "what was half-written is gone");
}

#[test]
fn two_runs_on_one_folder_take_turns() {
    let desk = Desk::new();
    for _ in 0..3 {
        let runs: Vec<_> = ["4", "5", "6"]
            .map(|steps| {
                let mut command = desk.command(&["--steps", steps]);
                command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
            })
            .into_iter()
            .collect();
        for mut run in runs {
            assert_eq!(run.wait().unwrap().code(), Some(0), "each ends well");
        }
        whole(&desk.path("blade-results"));
        assert_eq!(desk.names("blade-results"), RESULTS, "and nothing else");
        let steps = desk.summary()["steps"].as_array().unwrap().len();
        let rows = desk.read("blade-results/curve.csv").lines().count();
        // A header and rest, or a header alone: whichever it is, both files are of one run.
        assert!(
            rows == steps + 1 || rows == steps + 2,
            "{rows} rows, {steps} steps: one run's files"
        );
    }
}

#[test]
fn hostile_inputs_stay_within_a_memory_limit() {
    let deep = format!(
        "<svg xmlns='http://www.w3.org/2000/svg'>{}{}</svg>",
        "<g>".repeat(200_000),
        "</g>".repeat(200_000)
    );
    let many = format!(
        "<svg xmlns='http://www.w3.org/2000/svg'><g id='part'>{}</g></svg>",
        "<circle cx='9' cy='9' r='1'/>".repeat(500_000)
    );
    let doubling = {
        let mut text = "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink'><defs><rect id='u0' width='1' height='1'/>".to_owned();
        for n in 1..40 {
            text += &format!(
                "<g id='u{n}'><use xlink:href='#u{0}'/><use xlink:href='#u{0}'/></g>",
                n - 1
            );
        }
        text + "</defs><g id='part'><use xlink:href='#u39'/></g></svg>"
    };
    let tangle = format!("{PART}x = {}1{}\n", "[".repeat(100_000), "]".repeat(100_000));
    let good = super::desk::drawing(super::desk::BLADE);
    for (what, part, drawing) in [
        ("deep groups", PART, deep.as_str()),
        ("half a million circles", PART, &many),
        ("copies of copies", PART, &doubling),
        ("brackets", &tangle, &good),
    ] {
        let desk = Desk::with(part, drawing);
        let mut command = Command::new("bash");
        // 2 GB of address space, two minutes of computing.
        command.args([
            "-c",
            "ulimit -v 2000000; ulimit -t 120; exec \"$0\" solve blade.toml",
            env!("CARGO_BIN_EXE_withy"),
        ]);
        let output = command.env("NO_COLOR", "1").current_dir(desk.path("")).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(
            output.status.code(),
            Some(2),
            "{what}: {}",
            said.chars().take(600).collect::<String>()
        );
        assert!(!said.contains("mistake of its own"), "{what}: {said}");
        assert_eq!(
            names(&desk.path("blade-results")),
            Vec::<String>::new(),
            "{what}: nothing is written"
        );
    }
}
