//! `withy new`: a folder with a commented part file and a drawing that solve as they are.

use super::solve::{REFUSED, SOLVED};
use crate::args::{NewArgs, SchemaOf};
use miette::Diagnostic;
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

const PART: &str = include_str!("../../templates/part.toml");
/// Editors that know TOML find it by the first line of the part file.
const SCHEMA: &str = "part.schema.json";
const DRAWING: &str = include_str!("../../templates/part.svg");

/// Why no folder was made.
#[derive(Debug, Error, Diagnostic)]
pub enum NewError {
    /// The name cannot be a file's.
    #[error("\"{0}\" cannot be the name of a part")]
    #[diagnostic(help("use letters, digits, '-' and '_'"))]
    BadName(String),
    /// Something of that name is there.
    #[error("{} is already there", .0.display())]
    #[diagnostic(help("nothing was changed; choose another name, or move it away"))]
    Taken(PathBuf),
    /// The operating system refused.
    #[error("cannot write {}: {cause}", path.display())]
    #[diagnostic(help("check that the folder may be written, and that the disk is not full"))]
    Write {
        /// What.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
}

impl NewError {
    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        REFUSED
    }
}

/// Makes the folder; returns what goes to standard output and the exit status.
///
/// # Errors
/// A name that is none, a folder that is already there or cannot be written.
pub fn new(args: &NewArgs) -> Result<(String, u8), NewError> {
    let name = args.name.as_str();
    let sound = !name.is_empty()
        && name.chars().all(|c| c.is_alphanumeric() || c == '-' || c == '_')
        && !name.starts_with('-');
    if !sound {
        return Err(NewError::BadName(name.to_owned()));
    }
    let folder = Path::new(name);
    let file = |ending: &str, text: &str| (format!("{name}.{ending}"), text.replace("NAME", name));
    let schema = (SCHEMA.to_owned(), super::schema::of(SchemaOf::Part));
    make_folder(folder, &[file("toml", PART), file("svg", DRAWING), schema])?;
    let text = format!(
        "{name}/ holds {name}.toml and {name}.svg, a leaf on a foot, and {SCHEMA}, by which editors complete its keys. \
         Next:\n  \
         withy check {name}/{name}.toml    what is understood of it\n  \
         withy solve {name}/{name}.toml    what it does\n"
    );
    Ok((text, SOLVED))
}

/// Makes a folder of files where nothing is yet: whole, or not at all.
///
/// # Errors
/// Something is there, or the operating system refuses.
pub(super) fn make_folder(folder: &Path, files: &[(String, String)]) -> Result<(), NewError> {
    if folder.exists() {
        return Err(NewError::Taken(folder.to_path_buf()));
    }
    // Made beside its place and renamed: it is there whole or not at all.
    let failed = |path: &Path| {
        let path = path.to_path_buf();
        move |cause| NewError::Write { path, cause }
    };
    let beside = folder.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let making = tempfile::Builder::new()
        .prefix(".withy-new-")
        .tempdir_in(beside)
        .map_err(failed(folder))?;
    for (name, text) in files {
        let file = making.path().join(name);
        std::fs::write(&file, text).map_err(failed(&file))?;
    }
    let made = making.keep();
    open_to_all(&made).and_then(|()| std::fs::rename(&made, folder)).map_err(failed(folder))
}

/// Temporary folders are private; this one is the user's.
#[cfg(unix)]
fn open_to_all(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(folder, std::fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn open_to_all(_: &Path) -> io::Result<()> {
    Ok(())
}
