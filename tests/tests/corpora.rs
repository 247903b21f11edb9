//! Every input that a fuzzer once found worth keeping, and the demo's own files, through readers and mesher.
//!
//! `tests/fuzz/corpus/` holds them; `tests/fuzz/run` finds more.
#![expect(clippy::unwrap_used, reason = "a file that cannot be read is a failed test")]
#![expect(clippy::print_stderr, reason = "the last input printed is the one that failed")]

use std::path::{Path, PathBuf};
use withy_tests::hostile;

fn files(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut list: Vec<PathBuf> =
        std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    list.sort();
    list
}

fn all(folder: &str, seeds: usize, try_one: fn(&[u8])) {
    let list = files(&format!("fuzz/corpus/{folder}"));
    assert!(list.len() >= seeds, "{folder}: {} inputs", list.len());
    for path in list {
        eprintln!("{}", path.display());
        try_one(&std::fs::read(&path).unwrap());
    }
}

#[test]
fn drawings_in_svg() {
    all("svg", 5, hostile::svg);
}

#[test]
fn drawings_in_dxf() {
    all("dxf", 3, hostile::dxf);
}

#[test]
fn part_files() {
    all("part", 5, hostile::part);
}

#[test]
fn outlines_to_meshes() {
    all("outline", 3, hostile::outline);
}

#[test]
fn tables_of_readings() {
    all("readings", 3, hostile::readings);
}
