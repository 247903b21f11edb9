//! What goes out: data as text, and files written whole or not at all.

pub mod comparison;
pub mod curve;
pub mod drawing;
pub mod dxf;
pub mod flat;
pub mod folder;
pub mod in_time;
pub mod reconciled;
pub mod release;
pub mod set;
pub mod solid;
pub mod spread;
pub mod stl;
pub mod summary;
pub mod threemf;

pub use curve::{curve_csv, curve_lines, perfect_lines};
pub use folder::{ResultFile, WholeFile, remove_stale, write_results, write_whole};
pub use summary::Summary;
