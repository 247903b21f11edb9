//! The results folder: every file is written whole or not at all.
//!
//! Each file is first written beside its place under another name, flushed to the disk, and then
//! renamed: a reader, a crash or a full disk never leaves half a file. All are written before the
//! first one is renamed. Files that the program did not make are never replaced. Two runs on one folder
//! take turns, by a lock on its marker; what a killed run left half-written is cleared by the next one.

use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile};
use thiserror::Error;

/// A file to be written.
#[derive(Clone, Debug)]
pub struct ResultFile {
    /// Its name in the folder.
    pub name: &'static str,
    /// Its text.
    pub text: String,
}

/// Why results could not be written.
#[derive(Debug, Error)]
pub enum FolderError {
    /// The folder's place is taken by something else.
    #[error("{} is not a folder: move it away, or choose another place with --out", .0.display())]
    NotAFolder(PathBuf),
    /// The operating system refused.
    #[error("cannot write {}: {cause}; nothing was replaced", path.display())]
    Write {
        /// Which file.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
    /// A file of that name is there and is not ours.
    #[error(
        "{} was not made by withy: move it away, or choose another folder with --out",
        .0.display()
    )]
    NotOurs(PathBuf),
    /// A file of the user's own naming is there already.
    #[error("{} is there already: move it away, or name another file with --out", .0.display())]
    AlreadyThere(PathBuf),
}

/// Marks a folder as made here; its text says so to a person.
const MARKER: &str = ".withy-results";
/// Files that are being written begin with this.
const UNFINISHED: &str = ".withy-unfinished-";
const MARKER_TEXT: &str = "Results of withy. Its files here are replaced by the next solve.\n";

/// A file of any name and of any bytes.
#[derive(Clone, Copy, Debug)]
pub struct WholeFile<'a> {
    /// Its name in the folder.
    pub name: &'a str,
    /// What is in it.
    pub bytes: &'a [u8],
}

/// Writes all files into a folder; see [`write_whole`].
///
/// # Errors
/// As there.
pub fn write_results(folder: &Path, files: &[ResultFile]) -> Result<(), FolderError> {
    let whole: Vec<WholeFile<'_>> =
        files.iter().map(|f| WholeFile { name: f.name, bytes: f.text.as_bytes() }).collect();
    write_whole(folder, &whole)
}

/// Writes all files into a folder, which is made if it is not there.
///
/// # Errors
/// A folder that cannot be made or written, or that holds a file of one of the names which was not
/// made by this program.
pub fn write_whole(folder: &Path, files: &[WholeFile<'_>]) -> Result<(), FolderError> {
    let failed = |path: PathBuf| move |cause| FolderError::Write { path, cause };
    if folder.exists() && !folder.is_dir() {
        return Err(FolderError::NotAFolder(folder.to_path_buf()));
    }
    std::fs::create_dir_all(folder).map_err(failed(folder.to_path_buf()))?;
    let marker = folder.join(MARKER);
    if !marker.exists() {
        let stranger = files.iter().map(|f| folder.join(f.name)).find(|p| p.exists());
        if let Some(path) = stranger {
            return Err(FolderError::NotOurs(path));
        }
        std::fs::write(&marker, MARKER_TEXT).map_err(failed(marker.clone()))?;
    }
    let _turn = turn(&marker);
    clear_unfinished(folder);
    let mut ready = Vec::new();
    for file in files {
        let path = folder.join(file.name);
        let written =
            Builder::new().prefix(UNFINISHED).tempfile_in(folder).and_then(|mut temporary| {
                temporary.write_all(file.bytes)?;
                temporary.as_file().sync_all()?;
                readable_by_all(temporary.as_file())?;
                Ok(temporary)
            });
        ready.push((written.map_err(failed(path.clone()))?, path));
    }
    for (temporary, path) in ready {
        temporary.persist(&path).map_err(|e| FolderError::Write { path, cause: e.error })?;
    }
    Ok(())
}

/// Waits until no other run writes into the folder; the turn ends with what is returned. A file system without
/// locks has no turns: whole files are then all that is promised.
fn turn(marker: &Path) -> Option<File> {
    let file = File::open(marker).ok()?;
    file.lock().ok()?;
    Some(file)
}

/// Removes what runs that were killed left half-written.
fn clear_unfinished(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        if entry.file_name().to_string_lossy().starts_with(UNFINISHED) {
            // Who cannot remove it could not have left it.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// Writes one file of the user's own naming, whole or not at all; nothing that is there is replaced.
///
/// # Errors
/// A file that is there, or a place that cannot be written.
pub fn write_file(path: &Path, text: &str) -> Result<(), FolderError> {
    let failed = |cause: io::Error| match cause.kind() {
        io::ErrorKind::AlreadyExists => FolderError::AlreadyThere(path.to_path_buf()),
        _ => FolderError::Write { path: path.to_path_buf(), cause },
    };
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut temporary = NamedTempFile::new_in(folder).map_err(failed)?;
    temporary.write_all(text.as_bytes()).map_err(failed)?;
    temporary.as_file().sync_all().map_err(failed)?;
    readable_by_all(temporary.as_file()).map_err(failed)?;
    temporary.persist_noclobber(path).map_err(|e| failed(e.error))?;
    Ok(())
}

/// Removes results of an earlier run that the present one does not have, from a folder of our own.
///
/// # Errors
/// A file that cannot be removed.
pub fn remove_stale(folder: &Path, names: &[&str]) -> Result<(), FolderError> {
    if !folder.join(MARKER).exists() {
        return Ok(());
    }
    for path in names.iter().map(|name| folder.join(name)).filter(|path| path.is_file()) {
        std::fs::remove_file(&path).map_err(|cause| FolderError::Write { path, cause })?;
    }
    Ok(())
}

/// Temporary files are private; results are as open as any other file of the user's.
#[cfg(unix)]
fn readable_by_all(file: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable_by_all(_: &File) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(text: &str) -> ResultFile {
        ResultFile { name: "curve.csv", text: text.to_owned() }
    }

    #[test]
    fn a_second_run_replaces_the_first_and_leaves_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("results");
        write_results(&out, &[file("one")]).unwrap();
        write_results(&out, &[file("two")]).unwrap();
        assert_eq!(std::fs::read_to_string(out.join("curve.csv")).unwrap(), "two");
        assert_eq!(std::fs::read_dir(&out).unwrap().count(), 2, "the file and the marker");
    }

    #[test]
    fn what_an_earlier_run_left_is_removed_from_our_own_folder_only() {
        let folder = tempfile::tempdir().unwrap();
        let (ours, theirs) = (folder.path().join("ours"), folder.path().join("theirs"));
        write_results(&ours, &[file("x")]).unwrap();
        std::fs::create_dir(&theirs).unwrap();
        std::fs::write(theirs.join("curve.csv"), "mine").unwrap();
        remove_stale(&ours, &["curve.csv", "never-there.svg"]).unwrap();
        remove_stale(&theirs, &["curve.csv"]).unwrap();
        assert!(!ours.join("curve.csv").exists(), "gone");
        assert!(theirs.join("curve.csv").exists(), "kept");
    }

    #[test]
    fn a_strangers_file_and_a_file_in_place_of_the_folder_are_kept() {
        let folder = tempfile::tempdir().unwrap();
        let theirs = folder.path().join("curve.csv");
        std::fs::write(&theirs, "mine").unwrap();
        assert!(matches!(write_results(folder.path(), &[file("x")]), Err(FolderError::NotOurs(_))));
        assert!(matches!(write_results(&theirs, &[file("x")]), Err(FolderError::NotAFolder(_))));
        assert_eq!(std::fs::read_to_string(&theirs).unwrap(), "mine");
    }
}
