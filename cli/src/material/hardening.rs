//! How a card's yield stress grows with plastic strain.
//!
//! y = s0 + (yield strength - s0) (1 - exp(-b alpha)): from the stress of the first set to the yield
//! strength, which a tensile curve reaches at its yield strain. What the card does not give is
//! estimated by rules; common practice, no source.

use super::Card;
use crate::picture::three_digits;
use crate::remark::Remark;
use thiserror::Error;
use withy_mesh::number::max;
use withy_solver::{Hardening, ModelError};

/// Without a stress of the first set this share of the yield strength is taken.
const USUAL_SHARE: f64 = 0.65;
/// At the yield strain the yield stress has grown by this share: exp(-3) is left.
const GROWN_AT_YIELD: f64 = 3.0;
/// Plastic strain at yield is at least that of the 0.2 % offset.
const LEAST_PLASTIC: f64 = 0.002;
/// Yield strain without one on the card, less the elastic part.
const USUAL_PLASTIC: f64 = 0.015;

/// A card from which no set can be computed.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum NoYield {
    /// It breaks first, or nobody knows.
    #[error(
        "the material {name} gives no yield_strength: it breaks before it yields, or the card does not \
         know. Give yield_strength and yield_strain in [material]"
    )]
    NoStrength {
        /// The card.
        name: String,
    },
    /// The part is made of beads.
    #[error(
        "a set is computed for a material that is the same in all directions, and the part is taken as beads: \
         what they bear across and in shear before they yield, and how that grows, no card tells. Take beads \
         and bead_angle out of [outline] for the set of a solid part, with the modulus along; `withy solve` \
         tells with beads how far the part may be drawn before it yields"
    )]
    Beads,
    /// The first set comes after the end of hardening.
    #[error(
        "the material's proportional_limit, {limit} MPa, is above its yield_strength, {strength} MPa: \
         give one below it"
    )]
    LimitAboveStrength {
        /// (MPa)
        limit: f64,
        /// (MPa)
        strength: f64,
    },
    /// A number that makes no curve.
    #[error(transparent)]
    Curve(#[from] ModelError),
}

/// The hardening curve of a card; what was estimated is said.
///
/// # Errors
/// [`NoYield`].
pub fn hardening(card: &Card, remarks: &mut Vec<Remark>) -> Result<Hardening, NoYield> {
    let Some(strength) = &card.yield_strength else {
        return Err(NoYield::NoStrength { name: card.title.clone() });
    };
    let strength = strength.value;
    let first = match &card.proportional_limit {
        Some(limit) if limit.value > strength => {
            return Err(NoYield::LimitAboveStrength { limit: limit.value, strength });
        }
        Some(limit) => limit.value,
        None => {
            let first = USUAL_SHARE * strength;
            let text = format!(
                "the material gives no proportional_limit: {:.0} % of its yield strength, {} MPa, is \
                 taken for the stress of the first set (common practice, no source)",
                100.0 * USUAL_SHARE,
                three_digits(first)
            );
            remarks.push(Remark::caution("estimated-proportional-limit", text));
            first
        }
    };
    let rate = match &card.hardening_rate {
        Some(rate) => rate.value,
        None => {
            let plastic = card.yield_strain.as_ref().map_or(USUAL_PLASTIC, |strain| {
                max(strain.value - strength / card.youngs_modulus.value, LEAST_PLASTIC)
            });
            let rate = GROWN_AT_YIELD / plastic;
            let text = format!(
                "the material gives no hardening_rate: {} is taken, which brings the yield stress to \
                 95 % of its growth at the yield strain (common practice, no source)",
                three_digits(rate)
            );
            remarks.push(Remark::note("estimated-hardening-rate", text));
            rate
        }
    };
    Ok(Hardening::new(first, strength - first, rate, 0.0)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{card, shelf};

    #[test]
    fn every_card_that_yields_has_a_curve_from_its_first_set_to_its_strength() {
        for name in shelf() {
            let (card, _) = card(name).unwrap();
            let mut remarks = Vec::new();
            match hardening(&card, &mut remarks) {
                Ok(curve) => {
                    let strength = card.yield_strength.unwrap().value;
                    let (first, _) = curve.at(0.0);
                    assert!(first > 0.4 * strength && first < strength, "{name}: {first}");
                    let (last, _) = curve.at(10.0);
                    assert!((last / strength - 1.0).abs() <= 1e-12, "{name}: {last}");
                    assert!(remarks.iter().all(|r| r.text.contains("no source")), "{remarks:?}");
                }
                Err(error) => {
                    assert!(card.yield_strength.is_none(), "{name}: {error}");
                    assert!(error.to_string().contains("yield_strength"), "{error}");
                }
            }
        }
    }

    #[test]
    fn the_curve_of_petg_passes_near_its_yield_point() {
        let (petg, _) = card("petg").unwrap();
        let curve = hardening(&petg, &mut Vec::new()).unwrap();
        // At the yield strain of 4 % the plastic part is 4 % - 48 / 2050: 95 % of the growth.
        let (y, _) = curve.at(0.04 - 48.0 / 2050.0);
        let expected = 32.0 + 16.0 * (1.0 - (-3.0_f64).exp());
        assert!((y - expected).abs() <= 1e-9, "{y}");
    }
}
