//! One file a command.

pub mod materials;
pub mod solve;
