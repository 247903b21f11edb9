//! Why a shape cannot be made, and the number that would do.

use crate::picture::three_digits;
use thiserror::Error;
use withy_mesh::OutlineError;

/// On which side of a bound a number would do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Not below it.
    AtLeast,
    /// Not above it.
    AtMost,
}

/// Why there is no part of these numbers.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum Unmakeable {
    /// A number that is none, or outside of what it may be.
    #[error("{key} is {found}, but must be {range}")]
    OutOfRange {
        /// The number's key.
        key: &'static str,
        /// Its value with its unit.
        found: String,
        /// What it may be.
        range: String,
    },
    /// Two edges too near to each other, or over each other.
    #[error("{what} {}", narrow(*found, *least))]
    Narrow {
        /// The key of the number that mends it.
        key: &'static str,
        /// What is narrow, with its verb: `"the gap between two ribs is"`.
        what: &'static str,
        /// Its width; below zero where things overlap (mm).
        found: f64,
        /// The width that is needed (mm).
        least: f64,
        /// A value of the key with which it would be just wide enough (mm).
        would_do: f64,
        /// On which side of it.
        side: Side,
    },
    /// A corner without the room for its radius.
    #[error(
        "a radius of {} mm does not fit into the corner at ({}, {}) mm",
        three_digits(*radius),
        three_digits(at[0]),
        three_digits(at[1])
    )]
    Radius {
        /// The radius' key.
        key: &'static str,
        /// Its value (mm).
        radius: f64,
        /// The corner (mm).
        at: [f64; 2],
        /// The largest radius that fits all of its corners; none if no radius does (mm).
        largest: Option<f64>,
    },
    /// The numbers together bound no part.
    #[error("{0}")]
    Outline(OutlineError),
}

fn narrow(found: f64, least: f64) -> String {
    if found > 0.0 {
        format!("{} mm wide, less than {} mm", three_digits(found), three_digits(least))
    } else {
        format!("missing: the edges overlap by {} mm", three_digits(-found))
    }
}

/// Steps to which a number that would do is rounded, to the safe side (mm).
const STEP_MM: f64 = 0.01;

impl Unmakeable {
    /// The key of the number to change; none if no single one is to blame.
    #[must_use]
    pub fn key(&self) -> Option<&'static str> {
        match self {
            Self::OutOfRange { key, .. } | Self::Narrow { key, .. } | Self::Radius { key, .. } => {
                Some(key)
            }
            Self::Outline(_) => None,
        }
    }

    /// What to do about it.
    #[must_use]
    pub fn mend(&self) -> String {
        match self {
            Self::OutOfRange { key, range, .. } => format!("give {key} a value {range}"),
            Self::Narrow { key, would_do, side, .. } => match side {
                Side::AtLeast => {
                    let value = (would_do / STEP_MM - 1e-6).ceil() * STEP_MM;
                    format!("{key} of at least \"{value:.2} mm\" would do")
                }
                Side::AtMost => {
                    let value = (would_do / STEP_MM + 1e-6).floor() * STEP_MM;
                    if value > 0.0 {
                        format!("{key} of at most \"{value:.2} mm\" would do")
                    } else {
                        format!("no {key} above 0 mm would do: make room around it")
                    }
                }
            },
            Self::Radius { key, largest: Some(largest), .. } => {
                let value = (largest / STEP_MM + 1e-6).floor() * STEP_MM;
                format!("{key} of at most \"{value:.2} mm\" would do")
            }
            Self::Radius { key, largest: None, .. } => {
                format!("no {key} fits there: give what meets in that corner more room")
            }
            Self::Outline(_) => "change the numbers of the shapes that meet there".into(),
        }
    }
}
