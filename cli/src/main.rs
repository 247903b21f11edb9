//! The program `withy`.
fn main() {}
