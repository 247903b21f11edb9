//! Writes the README's table of checks from a run of the checks: `validation-table` renews it,
//! `validation-table --check` says whether it is in step.
#![expect(clippy::print_stderr, reason = "what this program says to its caller")]

use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};

const BEGIN: &str = "<!-- the table of checks begins: made by a run of the checks -->\n";
const END: &str = "<!-- the table of checks ends -->\n";

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<(), Box<dyn Error>> {
    let check = std::env::args().any(|a| a == "--check");
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let readme = root.join("README.md");
    let old = std::fs::read_to_string(&readme)?;
    let (Some(begin), Some(end)) = (old.find(BEGIN), old.find(END)) else {
        return Err("README.md has lost the marks around its table of checks".into());
    };
    let table = table(&rows(&root)?)?;
    let new = format!("{}{table}{}", &old[..begin + BEGIN.len()], &old[end..]);
    if new == old {
        return Ok(());
    }
    if check {
        let first = new.lines().zip(old.lines()).find(|(n, o)| n != o);
        let (now, there) = first.unwrap_or_default();
        return Err(format!(
            "README.md's table of checks is not that of this run; renew it with\n  \
             cargo run --release -p withy-tests --bin validation-table\n\
             in README.md: {there}\nin this run:  {now}"
        )
        .into());
    }
    std::fs::write(&readme, new)?;
    Ok(())
}

/// The rows that the checks print, by problem, in the order of the checks' names.
fn rows(root: &Path) -> Result<BTreeMap<String, Vec<String>>, Box<dyn Error>> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args(["test", "--release", "--quiet", "-p", "withy-tests", "--test", "validation", "--"])
        // One after the other, so that the rows of one stand together; names in front.
        .args(["--nocapture", "--test-threads=1", "--format=pretty"])
        .current_dir(root)
        .stderr(Stdio::inherit())
        .output()?;
    if !output.status.success() {
        return Err("a check failed; there is no table of failures".into());
    }
    let mut rows: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut problem = String::new();
    for line in String::from_utf8(output.stdout)?.lines() {
        let mut rest = line;
        if let Some((name, after)) = line.strip_prefix("test ").and_then(|l| l.split_once(" ... "))
        {
            problem = name.split("::").next().unwrap_or(name).to_owned();
            rest = after;
        }
        if rest.starts_with("| ") {
            rows.entry(problem.clone()).or_default().push(rest.to_owned());
        }
    }
    Ok(rows)
}

fn table(rows: &BTreeMap<String, Vec<String>>) -> Result<String, std::fmt::Error> {
    let count: usize = rows.values().map(Vec::len).sum();
    let mut text = format!(
        "<details><summary>All {count} comparisons</summary>\n\n\
         | check | reference | Withy | difference |\n|---|---|---|---|\n"
    );
    for (problem, rows) in rows {
        writeln!(text, "| **[{problem}](tests/tests/problems/{problem}.rs)** | | | |")?;
        for row in rows {
            writeln!(text, "{row}")?;
        }
    }
    text.push_str("\n</details>\n");
    Ok(text)
}
