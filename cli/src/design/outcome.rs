//! What comes of a design: the numbers that decide between one and another.

use super::{Model, beam, plane};
use crate::analysis::LimitKind;
use crate::case::Case;
use std::sync::atomic::AtomicBool;

/// The numbers of a solved design. Draws are in mm and efforts in N where the part is drawn along a line, in
/// degrees and N mm where it is turned.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Whether full draw was reached.
    pub complete: bool,
    /// The last draw that was solved.
    pub draw: f64,
    /// The effort there.
    pub effort: f64,
    /// The largest effort on the way.
    pub largest_effort: f64,
    /// Stored there (mJ).
    pub energy: f64,
    /// The largest nominal strain of the surface, over the whole draw.
    pub strain: f64,
    /// The largest von Mises stress, over the whole draw (MPa).
    pub stress: f64,
    /// The largest draw that no limit forbids, up to the solved one.
    pub safe_draw: f64,
    /// What ends it; none if it is the whole solved draw.
    pub ends_by: Option<LimitKind>,
    /// The least stiffness across the draw, along it (N/mm).
    pub across: Option<f64>,
    /// The least stiffness against turning, along the draw (N mm/deg).
    pub in_turn: Option<f64>,
    /// Whether all solved states are stable.
    pub stable: bool,
    /// Of the part (g).
    pub mass: Option<f64>,
    /// The larger of its two shares of the bed.
    pub bed_share: Option<f64>,
    /// Of what is thrown (m/s).
    pub speed: Option<f64>,
    /// Of what is thrown (mJ).
    pub thrown: Option<f64>,
}

/// Why a design has no numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoOutcome {
    /// It was interrupted, and nothing is known of it.
    Interrupted,
    /// Nothing came of it, in words.
    Because(String),
}

/// Computes a design.
///
/// # Errors
/// A design that the model cannot compute, that does not converge, or that was interrupted.
pub fn evaluate(case: &Case, model: Model, interrupted: &AtomicBool) -> Result<Outcome, NoOutcome> {
    match model {
        Model::Beam => beam::outcome(case).map_err(NoOutcome::Because),
        Model::PlaneStress => plane::outcome(case, interrupted),
    }
}

/// Mass of the part, from its outline (g).
pub(super) fn mass(case: &Case) -> Option<f64> {
    case.material.density.as_ref().map(|d| d.value * case.outline.area() * case.thickness)
}
