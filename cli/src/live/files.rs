//! Which files a part is made of, and whether they have changed.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Cards may start from each other; a longer chain is refused anyway.
const DEEPEST: usize = 8;

/// The files of a part, each with its size and time of change; none for a file that is not there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp {
    files: BTreeMap<PathBuf, Option<(u64, SystemTime)>>,
}

impl Stamp {
    /// Of a part file: itself and whatever files it and they name.
    #[must_use]
    pub fn of(part: &Path, more: Option<&Path>) -> Self {
        let mut files = BTreeMap::new();
        add(part, 0, &mut files);
        if let Some(path) = more {
            add(path, 0, &mut files);
        }
        Self { files }
    }

    /// Its files.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        self.files.keys().map(PathBuf::as_path)
    }
}

fn add(path: &Path, depth: usize, files: &mut BTreeMap<PathBuf, Option<(u64, SystemTime)>>) {
    if depth > DEEPEST || files.contains_key(path) {
        return;
    }
    let meta = std::fs::metadata(path).ok();
    let stamp = meta.as_ref().and_then(|m| Some((m.len(), m.modified().ok()?)));
    files.insert(path.to_path_buf(), stamp);
    if path.extension().is_none_or(|e| e != "toml") {
        return;
    }
    let Ok(text) = std::fs::read_to_string(path) else { return };
    // A file that is half written or wrong names what it named before, as far as it can be told: every quoted
    // text that could be a file.
    for word in text.split('"').skip(1).step_by(2) {
        let looks_like_file = word.contains('.') && word.len() < 300 && !word.contains('\n');
        let known = ["svg", "dxf", "toml", "csv"];
        let named = path.with_file_name("").join(word);
        let of_a_kind =
            named.extension().is_some_and(|e| known.iter().any(|k| e.eq_ignore_ascii_case(k)));
        if looks_like_file && of_a_kind {
            add(&named, depth + 1, files);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_of_any_file_is_seen_and_of_no_other() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        std::fs::write(
            at("a.toml"),
            "[outline]\ndrawing = \"a.svg\"\n[material]\ncard = \"b.toml\"\n",
        )
        .unwrap();
        std::fs::write(at("a.svg"), "<svg/>").unwrap();
        std::fs::write(at("b.toml"), "card = \"b.toml\" # itself\n").unwrap();
        let before = Stamp::of(&at("a.toml"), None);
        assert_eq!(before.paths().count(), 3, "{before:?}");
        std::fs::write(at("c.svg"), "<svg/>").unwrap();
        assert_eq!(Stamp::of(&at("a.toml"), None), before, "a stranger");
        std::fs::write(at("b.toml"), "card = \"petg\"\n").unwrap();
        assert_ne!(Stamp::of(&at("a.toml"), None), before, "its card");
        std::fs::remove_file(at("a.svg")).unwrap();
        assert_ne!(Stamp::of(&at("a.toml"), None), before, "its drawing is gone");
    }
}
