//! The program `withy`.

use clap::Parser;
use std::io::{IsTerminal, Write};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use withy::args::{Arguments, Command};
use withy::commands::new::{self, NewError};
use withy::commands::rib::{self, RibFailure};
use withy::commands::solve::{self, REFUSED, SOLVED, SolveError, Voice};
use withy::commands::watch::WatchError;
use withy::commands::{
    bench, check, compare, export, gather, materials, mesh, reconcile, release, scale, schema,
    seek, set, shape, shell, spread, sweep, watch,
};

fn main() -> ExitCode {
    std::panic::set_hook(Box::new(|info| {
        let _ = write!(std::io::stderr(), "{}", own_mistake(&info.to_string()));
    }));
    let arguments = Arguments::parse();
    let interrupted = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&interrupted);
    // Without the handler Ctrl-C simply ends the program: nothing half-written is left either way.
    let _ = ctrlc::set_handler(move || flag.store(true, Ordering::Relaxed));
    match arguments.command {
        Command::Solve(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = solve::solve(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, SolveError::exit_status)
        }
        Command::Set(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = set::set(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, SolveError::exit_status)
        }
        Command::New(args) => finish(new::new(&args), NewError::exit_status),
        Command::Check(args) => finish(check::check(&args), SolveError::exit_status),
        Command::Mesh(args) => finish(mesh::mesh(&args), SolveError::exit_status),
        Command::Schema(args) => {
            let _ = anstream::stdout().write_all(schema::schema(&args).as_bytes());
            ExitCode::SUCCESS
        }
        Command::Shape(args) => finish(shape::shape(&args), shape::ShapeError::exit_status),
        Command::Export(args) => finish(export::export(&args), export::ExportError::exit_status),
        Command::Shell(args) => match shell::shell(&args) {
            Ok(text) => {
                let _ = std::io::stdout().write_all(text.as_bytes());
                ExitCode::SUCCESS
            }
            Err(_) => ExitCode::FAILURE,
        },
        Command::Sweep(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = sweep::sweep(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, sweep::SweepError::exit_status)
        }
        Command::Scale(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = scale::scale(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, SolveError::exit_status)
        }
        Command::Seek(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = seek::seek(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, seek::SeekError::exit_status)
        }
        Command::Gather(args) => finish(gather::gather(&args), gather::GatherError::exit_status),
        Command::Compare(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = compare::compare(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, SolveError::exit_status)
        }
        Command::Spread(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = spread::spread(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, SolveError::exit_status)
        }
        Command::Release(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = release::release(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, SolveError::exit_status)
        }
        Command::Watch(args) => {
            let mut voice = Stderr::new(false);
            let outcome = watch::watch(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome.map(|()| (String::new(), SOLVED)), WatchError::exit_status)
        }
        Command::Reconcile(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = reconcile::reconcile(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, SolveError::exit_status)
        }
        Command::Bench(args) => finish(bench::bench(&args), SolveError::exit_status),
        Command::Rib(args) => {
            let mut voice = Stderr::new(args.quiet);
            let outcome = rib::rib(&args, &interrupted, &mut voice);
            voice.clear();
            finish(outcome, RibFailure::exit_status)
        }
        Command::Materials(args) => {
            let outcome = materials::materials(&args).map(|text| (text, SOLVED));
            finish(outcome.map_err(|refusal| *refusal), |_| REFUSED)
        }
    }
}

/// What a person reads should the program stop on a mistake of its own.
fn own_mistake(what: &str) -> String {
    format!(
        "\nwithy {} has stopped on a mistake of its own, not of yours. Results that were there are untouched; none is \
         half-written.\nPlease report it with the part file, its drawing and card, the command line, and these lines:\n  \
         {}\n  {}, {}\n",
        env!("CARGO_PKG_VERSION"),
        what.trim().replace('\n', "\n  "),
        std::env::consts::OS,
        std::env::consts::ARCH
    )
}

/// Prints what a command has to say and ends with its status.
fn finish<E: miette::Diagnostic + Send + Sync + 'static>(
    outcome: Result<(String, u8), E>,
    status_of: impl Fn(&E) -> u8,
) -> ExitCode {
    match outcome {
        Ok((text, status)) => {
            // A closed pipe (`withy solve ... | head`) is no failure of the solve.
            let _ = anstream::stdout().write_all(text.as_bytes());
            ExitCode::from(status)
        }
        Err(error) => {
            let status = status_of(&error);
            let _ = writeln!(anstream::stderr(), "{:?}", miette::Report::new(error));
            ExitCode::from(status)
        }
    }
}

/// Progress in place on a terminal, remarks everywhere, nothing when quiet.
struct Stderr {
    quiet: bool,
    in_place: bool,
}

impl Stderr {
    fn new(quiet: bool) -> Self {
        Self { quiet, in_place: std::io::stderr().is_terminal() }
    }

    fn clear(&mut self) {
        if self.in_place && !self.quiet {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
    }
}

impl Voice for Stderr {
    fn progress(&mut self, line: &str) {
        if self.in_place && !self.quiet {
            let _ = write!(std::io::stderr(), "\r\x1b[K{line}");
            let _ = std::io::stderr().flush();
        }
    }

    fn say(&mut self, line: &str) {
        if !self.quiet {
            self.clear();
            let _ = writeln!(anstream::stderr(), "{line}");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::own_mistake;

    #[test]
    fn a_mistake_of_our_own_says_what_to_report() {
        let text = own_mistake("panicked at solver/src/x.rs:1:2:\nindex out of bounds");
        for words in [
            "not of yours",
            "part file, its drawing and card",
            "x.rs:1:2",
            "index out of bounds",
            "untouched",
        ] {
            assert!(text.contains(words), "{words}: {text}");
        }
    }
}
