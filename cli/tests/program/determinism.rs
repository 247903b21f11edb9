//! The same input gives the same bytes, whatever the number of threads.

use super::desk::{RESULTS, names, run, withy};
use std::path::Path;

#[test]
fn one_thread_and_two_write_the_same_bytes() {
    // The kicker's mesh is large enough to be shared out between threads.
    let part = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/kicker/kicker.toml");
    let folder = tempfile::tempdir().unwrap();
    let solved = |threads: &str| {
        let out = folder.path().join(threads);
        let mut command = withy();
        command.env("RAYON_NUM_THREADS", threads).arg("solve").arg(&part);
        command.args(["--steps", "2", "--accuracy", "10 %", "--out"]).arg(&out);
        let outcome = run(command);
        assert_eq!(outcome.status, Some(0), "{threads} threads: {}", outcome.stderr);
        (out, outcome.stdout)
    };
    let (one, two) = (solved("1"), solved("2"));
    assert_eq!(one.1, two.1, "the verdict");
    let files = names(&one.0);
    assert!(RESULTS.iter().all(|r| files.iter().any(|f| f == r)), "all files: {files:?}");
    assert_eq!(files, names(&two.0), "the same files");
    for name in files {
        let [a, b] = [&one.0, &two.0].map(|folder| std::fs::read(folder.join(&name)).unwrap());
        assert!(!a.is_empty() || name.starts_with('.'), "{name} is written");
        assert!(a == b, "{name} differs between one thread and two");
    }
}
