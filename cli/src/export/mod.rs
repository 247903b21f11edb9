//! What goes out: data as text, and files written whole or not at all.

pub mod comparison;
pub mod curve;
pub mod folder;
pub mod reconciled;
pub mod release;
pub mod set;
pub mod summary;

pub use curve::{curve_csv, curve_lines, perfect_lines};
pub use folder::{ResultFile, remove_stale, write_results};
pub use summary::Summary;
