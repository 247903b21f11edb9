//! One file a command.

pub mod solve;
