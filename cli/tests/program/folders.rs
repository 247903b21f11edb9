//! The results folder: whole files or none, and nothing of a stranger's is touched.

use super::desk::{Desk, RESULTS};
use std::fs;

#[test]
fn a_second_solve_replaces_the_first_and_keeps_a_persons_notes() {
    let desk = Desk::new();
    desk.solve(&[]);
    let first = desk.read("blade-results/summary.json");
    desk.write("blade-results/notes.txt", "mine");
    assert_eq!(desk.solve(&["--steps", "2"]).status, Some(0), "solved again");
    assert_ne!(desk.read("blade-results/summary.json"), first, "replaced");
    assert_eq!(desk.read("blade-results/notes.txt"), "mine", "kept");
}

#[test]
fn a_file_in_place_of_the_folder_is_kept() {
    let desk = Desk::new();
    desk.write("blade-results", "mine");
    let outcome = desk.solve(&[]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    let said = outcome.said();
    assert!(said.contains("blade-results is not a folder") && said.contains("--out"), "{said}");
    assert_eq!(desk.read("blade-results"), "mine", "untouched");
    assert_eq!(outcome.stdout, "", "no verdict without files");
}

#[test]
fn a_folder_made_by_somebody_else_is_kept() {
    let desk = Desk::new();
    fs::create_dir(desk.path("blade-results")).unwrap();
    desk.write("blade-results/curve.csv", "mine");
    let outcome = desk.solve(&[]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    let said = outcome.said();
    assert!(said.contains("curve.csv was not made by withy") && said.contains("--out"), "{said}");
    assert_eq!(desk.names("blade-results"), ["curve.csv"], "nothing added");
    assert_eq!(desk.read("blade-results/curve.csv"), "mine", "untouched");
}

#[test]
fn a_folder_with_a_persons_other_files_takes_the_results_beside_them() {
    let desk = Desk::new();
    fs::create_dir(desk.path("blade-results")).unwrap();
    desk.write("blade-results/notes.txt", "mine");
    assert_eq!(desk.solve(&[]).status, Some(0), "no name is taken");
    assert_eq!(desk.names("blade-results").len(), RESULTS.len() + 1, "results and notes");
}

/// The superuser may write into a read-only folder; then there is nothing to see.
#[cfg(unix)]
#[test]
fn a_read_only_folder_is_named_and_left_alone() {
    use std::os::unix::fs::PermissionsExt;
    let desk = Desk::new();
    let folder = desk.path("blade-results");
    fs::create_dir(&folder).unwrap();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    if fs::write(folder.join("probe"), "").is_ok() {
        return;
    }
    let outcome = desk.solve(&[]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    assert!(outcome.said().contains("cannot write blade-results"), "{}", outcome.stderr);
    assert_eq!(desk.names("blade-results"), Vec::<String>::new(), "nothing half-written");
}

/// Nobody can make a folder in /proc, not even the superuser.
#[cfg(target_os = "linux")]
#[test]
fn a_place_where_no_folder_can_be_made_is_named() {
    let desk = Desk::new();
    let outcome = desk.solve(&["--out", "/proc/withy"]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    let said = outcome.said();
    assert!(said.contains("cannot write /proc/withy"), "{said}");
    assert_eq!(outcome.stdout, "", "no verdict without files");
}
