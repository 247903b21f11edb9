//! Ctrl-C: what is complete is kept, and the exit status says so.
#![cfg(unix)]

use super::desk::{RESULTS, names, withy};
use super::schema::misfits;
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Long enough for the first states of the path, short against the whole solve of 1000 steps.
const PATIENCE: Duration = Duration::from_secs(4);

#[test]
fn ctrl_c_keeps_the_states_that_are_complete() {
    let part = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/kicker/kicker.toml");
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("results");
    let mut command = withy();
    command
        .arg("solve")
        .arg(part)
        .args(["--steps", "1000", "--accuracy", "0.1 %", "--out"])
        .arg(&out);
    let child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    std::thread::sleep(PATIENCE);
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(sent.success(), "the solve is still running");
    let asked = Instant::now();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(130), "{said}");
    assert!(asked.elapsed() < Duration::from_secs(30), "soon: {:?}", asked.elapsed());
    assert_eq!(names(&out), RESULTS, "whole files and nothing else: {said}");
    let text = std::fs::read_to_string(out.join("summary.json")).unwrap();
    let summary: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(misfits("summary", &summary), Vec::<String>::new(), "its schema");
    assert_eq!(summary["completed"], false, "not complete");
    let steps = summary["steps"].as_array().unwrap().len();
    assert!(steps > 0 && steps < 1000, "some steps: {steps}");
    let verdict = String::from_utf8(output.stdout).unwrap();
    assert!(verdict.contains("stopped early"), "{verdict}");
}
