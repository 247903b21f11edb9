//! `withy watch`: a part is solved again whenever one of its files changes.

use super::solve::{INTERRUPTED, REFUSED, SolveError, Voice, results_folder, solved};
use crate::args::{SolveArgs, WatchArgs};
use crate::live::{Live, LiveError, Stamp};
use miette::Diagnostic;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use thiserror::Error;

/// Between two looks at the files.
const PAUSE: Duration = Duration::from_millis(150);

/// Why nothing is watched.
#[derive(Debug, Error, Diagnostic)]
pub enum WatchError {
    /// The page.
    #[error(transparent)]
    #[diagnostic(help("choose another --port, or leave it out"))]
    Page(#[from] LiveError),
    /// There is no such part.
    #[error("{0}: there is no such part file")]
    #[diagnostic(help("name a part file that is there; `withy new NAME` makes one"))]
    NoPart(String),
}

impl WatchError {
    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        REFUSED
    }
}

/// Watches until it is interrupted.
///
/// # Errors
/// No page, or no part to begin with; what is wrong with a part that is there is shown, not returned.
pub fn watch(
    args: &WatchArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(), WatchError> {
    if !args.part.is_file() {
        return Err(WatchError::NoPart(args.part.display().to_string()));
    }
    let live = Live::start(args.port)?;
    voice.say(&format!("watching {}; the page is {}", args.part.display(), live.address()));
    voice.say("Ctrl-C ends it");
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    let solve = SolveArgs {
        part: args.part.clone(),
        out: Some(out.clone()),
        fineness: args.fineness.clone(),
        elements: None,
        time: None,
        material: args.material.clone(),
        json: false,
        quiet: false,
        strict: false,
    };
    let card = args.material.as_deref().map(Path::new).filter(|path| path.is_file());
    let stamp = || Stamp::of(&args.part, card);
    while !interrupted.load(Ordering::Relaxed) {
        let before = settled(&stamp, interrupted);
        live.tell("solving", String::new());
        let outcome =
            unless_changed(&before, &stamp, interrupted, |stop| solved(&solve, stop, voice));
        if interrupted.load(Ordering::Relaxed) {
            break;
        }
        match outcome {
            // Its files changed meanwhile: half of an old part helps nobody.
            _ if stamp() != before => continue,
            Ok(solved) if solved.status == INTERRUPTED => continue,
            Ok(solved) => {
                let written = solved.write(&out);
                let report = solved.files.iter().find(|f| f.name == "report.html");
                let remarks = solved.summary.remarks.iter();
                let mut message: String =
                    remarks.map(|r| format!("{}: {}\n", r.level.word(), r.text)).collect();
                if let Err(error) = written {
                    message = format!("{}\n{message}", told(&error));
                }
                live.show(report.map_or("", |f| &f.text), message.trim_end().to_owned());
                voice.say(&solved.text);
            }
            Err(error) => {
                let text = told(&error);
                voice.say(&text);
                live.tell("refused", text);
            }
        }
        while stamp() == before && !interrupted.load(Ordering::Relaxed) {
            std::thread::sleep(PAUSE);
        }
    }
    Ok(())
}

/// The files once two looks at them are the same: an editor may be half through.
fn settled(stamp: &impl Fn() -> Stamp, interrupted: &AtomicBool) -> Stamp {
    let mut last = stamp();
    loop {
        std::thread::sleep(PAUSE);
        let now = stamp();
        if now == last || interrupted.load(Ordering::Relaxed) {
            return now;
        }
        last = now;
    }
}

/// Does something with a flag that is raised when the files change or the program is interrupted.
fn unless_changed<T>(
    before: &Stamp,
    stamp: &(impl Fn() -> Stamp + Sync),
    interrupted: &AtomicBool,
    job: impl FnOnce(&AtomicBool) -> T,
) -> T {
    let (stop, done) = (AtomicBool::new(false), AtomicBool::new(false));
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !done.load(Ordering::Relaxed) {
                if interrupted.load(Ordering::Relaxed) || stamp() != *before {
                    stop.store(true, Ordering::Relaxed);
                    return;
                }
                std::thread::sleep(PAUSE);
            }
        });
        let outcome = job(&stop);
        done.store(true, Ordering::Relaxed);
        outcome
    })
}

/// What is wrong, where, and the mend.
fn told(error: &SolveError) -> String {
    match error.help() {
        Some(help) => format!("{error}\n{help}"),
        None => error.to_string(),
    }
}
