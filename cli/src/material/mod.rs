//! What a part is printed from: cards of measured or typical values, each with its spread and source.
//!
//! The `[material]` of a part file is itself a card: it may start from another one and overrule any
//! of its values. What is missing is estimated by a rule that is stated in a remark, or asked for.

mod estimate;
mod hardening;
pub mod properties;
mod resolve;
mod shelf;
#[cfg(test)]
mod tests;
mod written;

pub use hardening::{NoYield, hardening};
pub use resolve::{card, resolve};
pub use shelf::shelf;
pub use written::{Property, Written, WrittenTerm};

use serde::Serialize;

/// One value of a material.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Datum {
    /// The value, in the unit of the property.
    pub value: f64,
    /// Lowest value to be expected, if known.
    pub low: Option<f64>,
    /// Highest value to be expected, if known.
    pub high: Option<f64>,
    /// Where it comes from.
    pub source: String,
    /// Whether it was estimated by a rule because the card lacks it.
    pub estimated: bool,
}

/// One arm of a generalised Maxwell model.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RelaxationTerm {
    /// Share of the modulus at the start.
    pub share: f64,
    /// Relaxation time (ms).
    pub time: f64,
}

/// A material with everything that is known about it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Card {
    /// The card's name or path, or "part file".
    pub name: String,
    /// For people.
    pub title: String,
    /// What one should know about it.
    pub notes: Option<String>,
    /// Young's modulus (MPa).
    pub youngs_modulus: Datum,
    /// Modulus of a bar in bending (MPa).
    pub flexural_modulus: Option<Datum>,
    /// Young's modulus across printed beads (MPa).
    pub modulus_across: Option<Datum>,
    /// Shear modulus between printed beads (MPa).
    pub shear_modulus: Option<Datum>,
    /// Poisson's ratio (1).
    pub poissons_ratio: Datum,
    /// Tensile stress at yield (MPa).
    pub yield_strength: Option<Datum>,
    /// Tensile strain at yield (1).
    pub yield_strain: Option<Datum>,
    /// Tensile stress at which the first set begins (MPa).
    pub proportional_limit: Option<Datum>,
    /// Rate b in y = s0 + Q (1 - exp(-b times the equivalent plastic strain)) (1).
    pub hardening_rate: Option<Datum>,
    /// Largest tensile stress (MPa).
    pub ultimate_strength: Option<Datum>,
    /// Tensile strain at break (1).
    pub elongation_at_break: Option<Datum>,
    /// Mass by volume (g/mm3).
    pub density: Option<Datum>,
    /// Share of the force that is lost in one hour at about half the yield strain (1).
    pub relaxation_one_hour: Option<Datum>,
    /// Fall of the modulus by time, both as logarithms (1).
    pub relaxation_exponent: Option<Datum>,
    /// Tensile stress by strain after one hour under a kept stress (MPa).
    pub creep_modulus_1h: Option<Datum>,
    /// The same after 1000 hours (MPa).
    pub creep_modulus_1000h: Option<Datum>,
    /// Maxwell arms, if the card gives them: shares of the modulus and relaxation times (1, ms).
    pub relaxation_terms: Vec<RelaxationTerm>,
    /// Strain amplitude at one fully reversed cycle by the line of lives (1).
    pub strain_life_coefficient: Option<Datum>,
    /// Fall of the strain amplitude by cycles, both as logarithms (1).
    pub strain_life_exponent: Option<Datum>,
    /// Factor on the allowed strain for about 1000 draws (1).
    pub fatigue_factor_1e3: Option<Datum>,
    /// Factor on the allowed strain for about 10 000 draws (1).
    pub fatigue_factor_1e4: Option<Datum>,
}
