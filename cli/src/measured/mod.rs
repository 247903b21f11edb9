//! Measured against computed: what a scale and a speed meter say about a solved part.
//!
//! [`readings`] reads tables; [`fit`] is the statistics; [`pull`] and [`speeds`] hold a part's curve and its
//! launch against them; [`strip`] makes a modulus out of a bending test. No file is touched here but those read.

pub mod fit;
pub mod pull;
pub mod readings;
pub mod speeds;
pub mod strip;

pub use readings::{MeasuredCause, Readings};
