//! Rows as they finish: an interrupted sweep goes on where it was.
//!
//! A journal is the sweep's table in the order in which designs were done. A row counts when its line is whole;
//! half a line at the end, left by a kill or a full disk, is cut off. One run at a time writes it, by a lock.

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a journal cannot be gone on with.
#[derive(Debug, Error, miette::Diagnostic)]
pub enum JournalError {
    /// The operating system refused.
    #[error("cannot write {}: {cause}", path.display())]
    Write {
        /// The journal.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
    /// Another run has it.
    #[error("another run is at work on {}", .0.display())]
    #[diagnostic(help("wait for it, or choose another place with --out"))]
    Busy(PathBuf),
    /// It is of another description.
    #[error("{} was begun with another description, part, drawing, card or version: its rows would not fit", .0.display())]
    #[diagnostic(help(
        "put the files back as they were to go on with it, begin anew with --afresh, or choose another place with --out"
    ))]
    OfAnother(PathBuf),
    /// A line in it is not one of ours.
    #[error("{} is no journal of withy: line {line}", path.display())]
    #[diagnostic(help("move it away, or begin anew with --afresh"))]
    NotOurs {
        /// The file.
        path: PathBuf,
        /// Counted from 1.
        line: usize,
    },
}

/// A journal that is being written.
#[derive(Debug)]
pub struct Journal<K> {
    path: PathBuf,
    file: File,
    /// Whole lines by what they are about.
    pub rows: BTreeMap<K, String>,
}

impl<K: Ord> Journal<K> {
    /// Opens the journal at a path, or begins it. `key` tells what a line is
    /// about, or that it is of another work.
    ///
    /// # Errors
    /// See [`JournalError`].
    pub fn open(
        path: &Path,
        header: &str,
        afresh: bool,
        key: &dyn Fn(&str) -> Option<Result<K, ()>>,
    ) -> Result<Self, JournalError> {
        let failed = |cause| JournalError::Write { path: path.to_path_buf(), cause };
        let mut options = OpenOptions::new();
        let mut file = options
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)
            .map_err(failed)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(JournalError::Busy(path.to_path_buf())),
            // A file system without locks: one run at a time is then the user's care.
            Err(TryLockError::Error(_)) => {}
        }
        if afresh {
            file.set_len(0).map_err(failed)?;
        }
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(failed)?;
        let whole = bytes.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
        let text = String::from_utf8_lossy(&bytes[..whole]).into_owned();
        let mut rows = BTreeMap::new();
        for (at, line) in text.split_inclusive('\n').enumerate() {
            if at == 0 {
                if line != header {
                    return Err(JournalError::OfAnother(path.to_path_buf()));
                }
                continue;
            }
            match key(line) {
                Some(Ok(key)) => {
                    rows.insert(key, line.to_owned());
                }
                Some(Err(())) => return Err(JournalError::OfAnother(path.to_path_buf())),
                None => {
                    return Err(JournalError::NotOurs { path: path.to_path_buf(), line: at + 1 });
                }
            }
        }
        let end = u64::try_from(whole).unwrap_or(0);
        file.set_len(end).map_err(failed)?;
        file.seek(SeekFrom::Start(end)).map_err(failed)?;
        if whole == 0 {
            file.write_all(header.as_bytes()).map_err(failed)?;
        }
        Ok(Self { path: path.to_path_buf(), file, rows })
    }

    /// Adds a line, in one write.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn add(&mut self, key: K, line: String) -> Result<(), JournalError> {
        let written = self.file.write_all(line.as_bytes());
        written.map_err(|cause| JournalError::Write { path: self.path.clone(), cause })?;
        self.rows.insert(key, line);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lines "n,..." of sweep "a".
    fn number(line: &str) -> Option<Result<usize, ()>> {
        let (sweep, rest) = line.trim_end().split_once(',')?;
        let n = rest.parse().ok()?;
        Some(if sweep == "a" { Ok(n) } else { Err(()) })
    }

    #[test]
    fn half_a_line_is_cut_off_and_done_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("j");
        let open = |afresh| Journal::open(&path, "sweep,n\n", afresh, &number);
        let mut journal = open(false).unwrap();
        journal.add(3, "a,3\n".into()).unwrap();
        assert!(matches!(open(false), Err(JournalError::Busy(_))), "one run at a time");
        drop(journal);
        std::fs::write(&path, "sweep,n\na,3\na,1").unwrap();
        let mut journal = open(false).unwrap();
        assert_eq!(journal.rows.keys().copied().collect::<Vec<_>>(), [3]);
        journal.add(1, "a,1\n".into()).unwrap();
        drop(journal);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "sweep,n\na,3\na,1\n");
        std::fs::write(&path, "sweep,n\nb,3\n").unwrap();
        assert!(matches!(open(false), Err(JournalError::OfAnother(_))));
        std::fs::write(&path, "my notes\n").unwrap();
        assert!(matches!(open(false), Err(JournalError::OfAnother(_))));
        std::fs::write(&path, "sweep,n\nrubbish\n").unwrap();
        assert!(matches!(open(false), Err(JournalError::NotOurs { line: 2, .. })));
        assert!(open(true).unwrap().rows.is_empty(), "afresh");
    }
}
