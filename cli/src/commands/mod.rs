//! One file a command.

pub mod bench;
pub mod check;
pub mod compare;
pub mod export;
pub mod gather;
pub mod materials;
pub mod mesh;
pub mod new;
pub mod reconcile;
pub mod release;
pub mod rib;
pub mod scale;
pub mod schema;
pub mod seek;
pub mod set;
pub mod shape;
pub mod shell;
pub mod solve;
pub mod spread;
pub mod sweep;
pub mod watch;
