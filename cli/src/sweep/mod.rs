//! Many designs of one part: its numbers varied over lists and ranges, all computed, one row each.
//!
//! | file | what |
//! |---|---|
//! | `description` | the sweep file, checked |
//! | `values` | lists and ranges of a number |
//! | `sampling` | which values a design has: a grid, or a sequence that fills the space evenly |
//! | `shard` | the slice that one machine or one task of an array job works on |
//! | `rows` | the table: its columns, a design's row |
//! | `journal` | rows as they finish, so that an interrupted sweep goes on |
//! | `run` | designs in parallel |
//! | `gather` | shards joined again |
//!
//! A design's row depends on its number and the files alone: tables are the same bytes on any machine, with any
//! number of threads, and however often they were interrupted.

pub mod description;
pub mod gather;
pub mod journal;
pub mod rows;
pub mod run;
pub mod sampling;
pub mod shard;
pub mod values;

pub use description::{Sweep, SweepCause, read};
pub use shard::Shard;
