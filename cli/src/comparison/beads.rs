//! Cards against a part that is taken as printed beads.
//!
//! Along one draw the shape depends on Poisson's ratio and on the moduli across and of shear by that along;
//! what a card does not know of them is estimated, and said.

use crate::case::{Case, estimated_shear};
use crate::material::{Card, Datum};
use crate::picture::three_digits;
use crate::remark::Remark;

/// Ratios closer than this are one: far below what any test can tell apart.
pub(crate) const SAME_RATIO: f64 = 1e-9;

/// What sets the shape of a draw besides its drives: materials of the same proportions differ by a factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proportions {
    /// Poisson's ratio.
    pub poissons_ratio: f64,
    /// Moduli across beads and of shear, by that along; none if all directions are alike.
    pub beads: Option<[f64; 2]>,
}

impl Proportions {
    /// Those of a card in a part.
    pub(super) fn of(case: &Case, card: &Card) -> Self {
        let beads = case.beads.and_then(|_| shares(card));
        Self { poissons_ratio: card.poissons_ratio.value, beads }
    }

    fn numbers(&self) -> impl Iterator<Item = f64> + use<> {
        std::iter::once(self.poissons_ratio).chain(self.beads.into_iter().flatten())
    }

    pub(super) fn is_alike(&self, other: &Self) -> bool {
        self.numbers().zip(other.numbers()).all(|(a, b)| (a - b).abs() <= SAME_RATIO)
    }

    /// For lists.
    pub(super) fn order(&self, other: &Self) -> std::cmp::Ordering {
        let pairs = self.numbers().zip(other.numbers());
        pairs.fold(std::cmp::Ordering::Equal, |found, (a, b)| found.then(a.total_cmp(&b)))
    }

    /// In words.
    pub(super) fn words(&self) -> String {
        let beads = self.beads.map_or_else(String::new, |[across, shear]| {
            let [across, shear] = [across, shear].map(|share| three_digits(100.0 * share));
            format!(", {across} % across, {shear} % for shear")
        });
        format!("Poisson's ratio {}{beads}", self.poissons_ratio)
    }

    /// A card of the same modulus along, and of these proportions.
    pub(super) fn given_to(&self, card: &mut Card) {
        card.poissons_ratio.value = self.poissons_ratio;
        if let Some([across, shear]) = self.beads {
            let along = card.youngs_modulus.value;
            let moduli = card.modulus_across.iter_mut().zip([across]);
            for (modulus, share) in moduli.chain(card.shear_modulus.iter_mut().zip([shear])) {
                modulus.value = share * along;
            }
        }
    }
}

/// Moduli across and of shear by that along.
fn shares(card: &Card) -> Option<[f64; 2]> {
    let of = |modulus: &Datum| modulus.value / card.youngs_modulus.value;
    Some([of(card.modulus_across.as_ref()?), of(card.shear_modulus.as_ref()?)])
}

/// Gives each card what beads need: without a modulus across, the shares of the part's own material; with
/// one, but none of shear, Huber's estimate as in a part file.
pub(super) fn fill(cards: &mut [Card], own: &Card, remarks: &mut Vec<Remark>) {
    let Some([across, shear]) = shares(own) else { return };
    let (mut by_share, mut by_huber) = (Vec::new(), Vec::new());
    for card in cards {
        let along = card.youngs_modulus.value;
        let at = |share: f64| Datum {
            value: share * along,
            low: None,
            high: None,
            source: "estimated at the share of the part's own material".into(),
            estimated: true,
        };
        match (&card.modulus_across, &card.shear_modulus) {
            (Some(_), Some(_)) => {}
            (Some(known), None) => {
                card.shear_modulus = Some(estimated_shear(card, known.value));
                by_huber.push(card.name.as_str());
            }
            (None, _) => {
                card.modulus_across = Some(at(across));
                card.shear_modulus.get_or_insert_with(|| at(shear));
                by_share.push(card.name.as_str());
            }
        }
    }
    if !by_share.is_empty() {
        let [across, shear] = [across, shear].map(|share| three_digits(100.0 * share));
        let text = format!(
            "the part is taken as beads, and nothing is known of the modulus across those of {}: {across} % of \
             the modulus along is taken, and {shear} % for shear, as in the part's own material, and no band shows \
             what that leaves open. A card of your own (--card) may give modulus_across and shear_modulus",
            by_share.join(", ")
        );
        remarks.push(Remark::caution("estimated-modulus-across", text));
    }
    if !by_huber.is_empty() {
        let text = format!(
            "no shear_modulus is known of {}: it is taken after Huber from the moduli along and across",
            by_huber.join(", ")
        );
        remarks.push(Remark::caution("estimated-shear-modulus", text));
    }
}

/// Another modulus along with all others in proportion.
pub(super) fn set_modulus(card: &mut Card, modulus: f64) {
    let factor = modulus / card.youngs_modulus.value;
    card.youngs_modulus.value = modulus;
    for other in card.modulus_across.iter_mut().chain(&mut card.shear_modulus) {
        other.value *= factor;
    }
}
