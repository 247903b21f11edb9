//! One file a command.

pub mod check;
pub mod compare;
pub mod export;
pub mod materials;
pub mod mesh;
pub mod new;
pub mod rib;
pub mod shape;
pub mod shell;
pub mod solve;
