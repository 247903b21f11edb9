//! One file a command.

pub mod compare;
pub mod materials;
pub mod solve;
