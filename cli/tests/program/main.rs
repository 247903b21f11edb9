//! The program as a person meets it: its exit status, its words, its files.
//!
//! | file | what |
//! |---|---|
//! | `desk` | a scratch folder with a small part in it, and the program run there |
//! | `demos` | every demo part solves and says something plausible |
//! | `determinism` | the same bytes, whatever the number of threads |
//! | `schema` | `summary.json` keeps to its schema |
//! | `first` | a new part, what was understood of it, its mesh |
//! | `options` | each option does what its help says |
//! | `hostile` | every refusal names the file, the place and the mend, and leaves nothing behind |
//! | `compare` | a part in every material: both rankings, bands, files |
//! | `launch` | what is thrown, limits, cautions, and why nothing is |
//! | `lasting` | what is lost while kept drawn, and how many draws are borne |
//! | `measured` | pulls, speeds and bending tests against what is computed |
//! | `set` | the set a part keeps, its files, its stages, and why it cannot be told |
//! | `spread` | what the print leaves open |
//! | `release` | a part let go in time |
//! | `rib` | formula, beam and plane stress of one rib |
//! | `materials` | the shelf, and one card explained |
//! | `faults` | a full disk, a kill at any moment, two runs at once, inputs of monstrous size |
//! | `folders` | results are written whole, and strangers' files are kept |
//! | `limits` | what ends a draw is told in words, numbers, pictures and the exit status |
//! | `report` | the page: its numbers, its size, what a hostile title does to it |
//! | `watch` | the page that follows every change |
//! | `seek` | a search, confirmed in plane stress, and the part at other sizes |
//! | `sweep` | many designs, shards, journals, and the same bytes whatever the way |
//! | `shapes` | parts made of numbers, their drawings, what the printer says, refusals at the number |
//! | `export` | files for printing |
//! | `interrupt` | Ctrl-C keeps what is complete |
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that meets the unexpected shall fail"
)]

mod compare;
mod demos;
mod desk;
mod determinism;
mod export;
mod faults;
mod first;
mod folders;
mod hostile;
mod interrupt;
mod lasting;
mod launch;
mod limits;
mod materials;
mod measured;
mod options;
mod release;
mod report;
mod rib;
mod schema;
mod seek;
mod set;
mod shapes;
mod spread;
mod sweep;
mod watch;
