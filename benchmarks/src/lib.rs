//! The parts and the clock of the benchmarks; `README.md` beside says what is measured and why.

pub mod clock;
pub mod parts;
