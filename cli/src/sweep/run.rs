//! Designs in parallel, each done once.

use super::Sweep;
use super::journal::{Journal, JournalError};
use super::rows::{header, row};
use super::shard::Shard;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;

/// What came of a run.
#[derive(Debug)]
pub struct Ran {
    /// The table as far as it is known: its header and its rows by design.
    pub table: String,
    /// Rows in it.
    pub done: usize,
    /// Rows that it will have.
    pub wanted: usize,
    /// Of those, how many were done before.
    pub known: usize,
}

/// Computes what the journal lacks of a shard. `tell` is told how many rows there are.
///
/// # Errors
/// A journal that cannot be gone on with or written.
pub fn run(
    sweep: &Sweep,
    shard: Shard,
    journal: &Path,
    afresh: bool,
    interrupted: &AtomicBool,
    tell: &mut dyn FnMut(usize, usize),
) -> Result<Ran, JournalError> {
    let header = header(sweep);
    let number = |line: &str| number(sweep, line);
    let mut journal = Journal::open(journal, &header, afresh, &number)?;
    let wanted = (0..sweep.designs).filter(|d| shard.holds(*d));
    let wanted: Vec<usize> = wanted.collect();
    let missing: Vec<usize> =
        wanted.iter().copied().filter(|d| !journal.rows.contains_key(&(d + 1))).collect();
    let known = wanted.len() - missing.len();
    each(&missing, interrupted, &|design| row(sweep, design, interrupted), &mut |design, line| {
        journal.add(design + 1, line)?;
        tell(journal.rows.len(), wanted.len());
        Ok(())
    })?;
    let rows: String = journal.rows.values().map(String::as_str).collect();
    Ok(Ran { table: header + &rows, done: journal.rows.len(), wanted: wanted.len(), known })
}

/// The design of a row of this sweep, from 1; an error for one of another.
fn number(sweep: &Sweep, line: &str) -> Option<Result<usize, ()>> {
    let mut cells = line.split(',');
    let (found, designs, design) = (cells.next()?, cells.next()?, cells.next()?);
    let design = design.parse().ok()?;
    let ours = found == sweep.fingerprint && designs == sweep.designs.to_string();
    Some(if ours { Ok(design) } else { Err(()) })
}

/// Computes items on as many threads as there are cores, in their order, and takes what comes of each as it comes.
/// Threads of their own, since a solve shares its work out by itself.
///
/// # Errors
/// The first error of `take`, which ends it.
pub fn each<T: Send, E>(
    items: &[usize],
    interrupted: &AtomicBool,
    compute: &(dyn Fn(usize) -> Option<T> + Sync),
    take: &mut dyn FnMut(usize, T) -> Result<(), E>,
) -> Result<(), E> {
    let next = AtomicUsize::new(0);
    let stop = AtomicBool::new(false);
    let threads = rayon::current_num_threads().clamp(1, items.len().max(1));
    let (send, receive) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..threads {
            let send = send.clone();
            let (next, stop) = (&next, &stop);
            scope.spawn(move || {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let halt = stop.load(Ordering::Relaxed) || interrupted.load(Ordering::Relaxed);
                    let Some(&item) = items.get(at).filter(|_| !halt) else { return };
                    let Some(found) = compute(item) else { return };
                    if send.send((item, found)).is_err() {
                        return;
                    }
                }
            });
        }
        // The threads' own are then the last.
        drop(send);
        let mut result = Ok(());
        for (item, found) in receive {
            if result.is_ok() {
                result = take(item, found);
                stop.store(result.is_err(), Ordering::Relaxed);
            }
        }
        result
    })
}
