//! One file a command.

pub mod check;
pub mod mesh;
pub mod new;
pub mod shell;
pub mod solve;
