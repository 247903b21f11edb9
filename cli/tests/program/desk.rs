//! A scratch folder with a small part in it: a blade of 80 x 4 x 6 mm, held at its root, its tip pushed
//! down. It is solved in a fraction of a second.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// The blade's part file.
pub(crate) const PART: &str = "title = \"Blade\"\n[outline]\ndrawing = \"blade.svg\"\nthickness = \"6 mm\"\n\
    [material]\ncard = \"petg\"\n[[hold]]\nregion = \"root\"\n[[drive]]\nregion = \"tip\"\n\
    move = [0, \"-5 mm\"]\n[solve]\nsteps = 4\naccuracy = \"20 %\"\n";

/// The blade's outline.
pub(crate) const BLADE: &str = "<rect x='10' y='20' width='80' height='4'/>";

/// Every file of a results folder, in alphabetical order.
pub(crate) const RESULTS: [&str; 7] = [
    ".withy-results",
    "curve.csv",
    "curve.svg",
    "report.html",
    "shape.svg",
    "stress.svg",
    "summary.json",
];

/// A drawing with the given shapes as the part, and regions over root and tip of the blade.
pub(crate) fn drawing(part: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='50mm' viewBox='0 0 100 50'>\n\
         <g id='part'>{part}</g>\n\
         <g id='regions'><rect id='root' x='10' y='20' width='5' height='4'/>\n\
         <rect id='tip' x='85' y='20' width='5' height='4'/></g></svg>\n"
    )
}

/// What the program did.
#[derive(Debug)]
pub(crate) struct Outcome {
    pub(crate) status: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl Outcome {
    /// What was said on standard error, without the frames and line breaks of its layout.
    pub(crate) fn said(&self) -> String {
        let bare = self.stderr.replace(['│', '·', '╭', '╰', '─', '×'], " ");
        bare.split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// The folder.
pub(crate) struct Desk {
    folder: TempDir,
}

impl Desk {
    /// The blade as it should be.
    pub(crate) fn new() -> Self {
        Self::with(PART, &drawing(BLADE))
    }

    /// The blade with another part file or drawing.
    pub(crate) fn with(part: &str, drawing: &str) -> Self {
        let desk = Self { folder: tempfile::tempdir().unwrap() };
        desk.write("blade.toml", part);
        desk.write("blade.svg", drawing);
        desk
    }

    /// A demo part with its drawing.
    pub(crate) fn of_demo(name: &str) -> Self {
        let desk = Self { folder: tempfile::tempdir().unwrap() };
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data").join(name);
        for file in ["toml", "svg"].map(|end| format!("{name}.{end}")) {
            fs::copy(from.join(&file), desk.path(&file)).unwrap();
        }
        desk
    }

    /// The blade with one text of its part file replaced.
    pub(crate) fn changed(from: &str, to: &str) -> Self {
        assert!(PART.contains(from), "the test's own text {from:?}");
        Self::with(&PART.replacen(from, to, 1), &drawing(BLADE))
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).unwrap();
    }

    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    /// `summary.json` of the usual results folder.
    pub(crate) fn summary(&self) -> Value {
        serde_json::from_str(&self.read("blade-results/summary.json")).unwrap()
    }

    /// Names in a folder of the desk, in alphabetical order; none if it is not there.
    pub(crate) fn names(&self, folder: &str) -> Vec<String> {
        names(&self.path(folder))
    }

    /// `withy solve blade.toml` with more arguments.
    pub(crate) fn solve(&self, arguments: &[&str]) -> Outcome {
        run(self.command(arguments))
    }

    /// Another command on `blade.toml`, with more arguments.
    pub(crate) fn withy(&self, name: &str, arguments: &[&str]) -> Outcome {
        let mut command = withy();
        command.current_dir(self.folder.path()).args([name, "blade.toml"]).args(arguments);
        run(command)
    }

    /// `withy solve blade.toml` with more arguments, not yet started.
    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = withy();
        command.current_dir(self.folder.path()).args(["solve", "blade.toml"]).args(arguments);
        command
    }
}

/// The program, without arguments.
pub(crate) fn withy() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_withy"));
    command.env("NO_COLOR", "1").stdin(Stdio::null());
    command
}

/// Runs a command to its end.
pub(crate) fn run(mut command: Command) -> Outcome {
    let output = command.output().unwrap();
    Outcome {
        status: output.status.code(),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Names in a folder, in alphabetical order; none if it is not there.
pub(crate) fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}
