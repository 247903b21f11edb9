//! What each value of a card is, for people: its name, its unit, the test that gives it.

use super::{Card, Datum};

pub use super::estimate::RULES;

/// One property of a card.
#[derive(Clone, Copy, Debug)]
pub struct Described {
    /// Its key in a card.
    pub key: &'static str,
    /// In words.
    pub name: &'static str,
    /// The unit in which it is shown.
    pub unit: &'static str,
    /// Shown number by number inside.
    pub factor: f64,
    /// What it is and which test gives it.
    pub meaning: &'static str,
    /// Its value on a card.
    pub pick: fn(&Card) -> Option<&Datum>,
}

/// Every property, in the order in which they are shown.
pub const PROPERTIES: [Described; 20] = [
    Described {
        key: "youngs_modulus",
        name: "tensile modulus",
        unit: "MPa",
        factor: 1.0,
        meaning: "slope of stress by strain of a bar pulled along its length: ISO 527-1 (chord from \
                  0.05 to 0.25 % strain) or ASTM D638 (tangent). The one that Withy computes with",
        pick: |card| Some(&card.youngs_modulus),
    },
    Described {
        key: "flexural_modulus",
        name: "flexural modulus",
        unit: "MPa",
        factor: 1.0,
        meaning: "the same slope from a bar bent over two supports, by beam theory: ISO 178 or ASTM \
                  D790. Serves where the tensile modulus is missing",
        pick: |card| card.flexural_modulus.as_ref(),
    },
    Described {
        key: "poissons_ratio",
        name: "Poisson's ratio",
        unit: "",
        factor: 1.0,
        meaning: "how much thinner it gets by how much it is stretched: ISO 527-1, ASTM D638",
        pick: |card| Some(&card.poissons_ratio),
    },
    Described {
        key: "yield_strength",
        name: "yield strength",
        unit: "MPa",
        factor: 1.0,
        meaning: "tensile stress where strain grows without more stress: ISO 527-1, ASTM D638. \
                  Beyond it the part takes a set",
        pick: |card| card.yield_strength.as_ref(),
    },
    Described {
        key: "yield_strain",
        name: "yield strain",
        unit: "%",
        factor: 100.0,
        meaning: "strain at that stress. It is larger than yield strength over modulus, because the \
                  curve bends before",
        pick: |card| card.yield_strain.as_ref(),
    },
    Described {
        key: "ultimate_strength",
        name: "strength at break",
        unit: "MPa",
        factor: 1.0,
        meaning: "largest tensile stress of a material that breaks before it yields: ISO 527-1, \
                  ASTM D638",
        pick: |card| card.ultimate_strength.as_ref(),
    },
    Described {
        key: "elongation_at_break",
        name: "strain at break",
        unit: "%",
        factor: 100.0,
        meaning: "strain at which a pulled bar parts: ISO 527-1, ASTM D638. The widest spread of all",
        pick: |card| card.elongation_at_break.as_ref(),
    },
    Described {
        key: "density",
        name: "density",
        unit: "g/cm3",
        factor: 1e3,
        meaning: "of the solid; a print holds 2 to 8 % of voids (common practice, no source)",
        pick: |card| card.density.as_ref(),
    },
    Described {
        key: "relaxation_one_hour",
        name: "force lost in 1 h",
        unit: "%",
        factor: 100.0,
        meaning: "while kept drawn at about half the yield strain: ASTM E328",
        pick: |card| card.relaxation_one_hour.as_ref(),
    },
    Described {
        key: "relaxation_exponent",
        name: "relaxation exponent",
        unit: "",
        factor: 1.0,
        meaning: "n in E(t) = E (1 + t / 10 s)^-n: 0.02 to 0.07 for polymers (common practice, no source)",
        pick: |card| card.relaxation_exponent.as_ref(),
    },
    Described {
        key: "creep_modulus_1h",
        name: "creep modulus, 1 h",
        unit: "MPa",
        factor: 1.0,
        meaning: "stress by strain after one hour under a kept tension: ISO 899-1",
        pick: |card| card.creep_modulus_1h.as_ref(),
    },
    Described {
        key: "creep_modulus_1000h",
        name: "creep modulus, 1000 h",
        unit: "MPa",
        factor: 1.0,
        meaning: "the same after 1000 hours; with that of 1 h it gives the relaxation exponent",
        pick: |card| card.creep_modulus_1000h.as_ref(),
    },
    Described {
        key: "strain_life_coefficient",
        name: "strain-life coefficient",
        unit: "%",
        factor: 100.0,
        meaning: "strain amplitude at one fully reversed cycle, by the line through the lives measured",
        pick: |card| card.strain_life_coefficient.as_ref(),
    },
    Described {
        key: "strain_life_exponent",
        name: "strain-life exponent",
        unit: "",
        factor: 1.0,
        meaning: "b in strain amplitude = coefficient N^-b: about 0.08 to 0.12 (common practice, no source)",
        pick: |card| card.strain_life_exponent.as_ref(),
    },
    Described {
        key: "fatigue_factor_1e3",
        name: "factor for 1000 draws",
        unit: "",
        factor: 1.0,
        meaning: "on the allowed strain",
        pick: |card| card.fatigue_factor_1e3.as_ref(),
    },
    Described {
        key: "fatigue_factor_1e4",
        name: "factor for 10 000 draws",
        unit: "",
        factor: 1.0,
        meaning: "on the allowed strain",
        pick: |card| card.fatigue_factor_1e4.as_ref(),
    },
    Described {
        key: "modulus_across",
        name: "modulus across",
        unit: "MPa",
        factor: 1.0,
        meaning: "tensile modulus of a bar printed flat and pulled across its beads: ISO 527-1. Parts with \
                  `beads` or `bead_angle` compute with it",
        pick: |card| card.modulus_across.as_ref(),
    },
    Described {
        key: "shear_modulus",
        name: "shear modulus",
        unit: "MPa",
        factor: 1.0,
        meaning: "of the print in its plane, from a bar pulled at 45 deg to its beads: ISO 14129, ASTM \
                  D3518. Without it Huber's estimate from both moduli is taken",
        pick: |card| card.shear_modulus.as_ref(),
    },
    Described {
        key: "proportional_limit",
        name: "first set at",
        unit: "MPa",
        factor: 1.0,
        meaning: "tensile stress up to which a bar that is let go comes back whole. From there the yield \
                  stress grows to the yield strength: `withy set` computes with it",
        pick: |card| card.proportional_limit.as_ref(),
    },
    Described {
        key: "hardening_rate",
        name: "hardening rate",
        unit: "",
        factor: 1.0,
        meaning: "b in y = s0 + (yield strength - s0) (1 - exp(-b times the plastic strain)), s0 the \
                  stress of the first set; fitted to a curve of stress by strain",
        pick: |card| card.hardening_rate.as_ref(),
    },
];

impl Described {
    /// A number of this property as it is shown: up to four digits, no tail of zeros.
    #[must_use]
    pub fn number(&self, inside: f64) -> String {
        let text = format!("{:.3}", inside * self.factor);
        let short = text.trim_end_matches('0').trim_end_matches('.');
        short.to_owned()
    }

    /// Its value on a card with the spread in brackets, without the unit; "-" if the card has none.
    #[must_use]
    pub fn shown(&self, card: &Card) -> String {
        let Some(datum) = (self.pick)(card) else { return "-".to_owned() };
        let value = self.number(datum.value);
        let mark = if datum.estimated { "~" } else { "" };
        match (datum.low, datum.high) {
            (Some(low), Some(high)) => {
                format!("{mark}{value} ({}-{})", self.number(low), self.number(high))
            }
            (Some(low), None) if low >= datum.value => format!("{mark}>{value}"),
            (Some(low), None) => format!("{mark}{value} (from {})", self.number(low)),
            (None, Some(high)) => format!("{mark}{value} (to {})", self.number(high)),
            (None, None) => format!("{mark}{value}"),
        }
    }
}

/// What the three moduli mean for a rib that bends, as paragraphs.
pub const MODULI: [&str; 5] = [
    "tensile      A bar is pulled (ISO 527, ASTM D638). A rib that bends in the print plane has one side \
     stretched and the other pressed, both along the beads of its outer lines: so the modulus of a \
     bar printed flat and pulled along its beads is the one to use, for bending too.",
    "flexural     A bar is bent over two supports (ISO 178, ASTM D790) and the modulus follows from beam \
     theory. In a homogeneous elastic solid it is the same number. In data sheets it differs by \
     the bar's structure (outer lines count most in bending, infill in tension), the speed, the \
     strain range and, by a few per cent, the give of machine and supports. Where a card has only this one, it \
     is taken give or take 15 %.",
    "compressive  A short block is pressed (ISO 604, ASTM D695): equal within 5 to 10 %, and it yields \
     10 to 30 % later. So the stretched side of a rib governs.",
    "strength     Bending strength (ISO 178) is 1.3 to 1.6 times the tensile one, because it is computed \
     as if the bar were still elastic. It is never an allowed stress; divide it by 1.4 if there is \
     nothing better.",
    "evidence     The best is a pull test of your own print: one measured force at one draw fixes the \
     modulus for your printer, spool and settings.",
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::card;

    #[test]
    fn a_value_is_shown_with_its_spread_and_without_needless_zeros() {
        let (petg, _) = card("petg").unwrap();
        let shown = |key: &str| {
            let described = PROPERTIES.iter().find(|p| p.key == key).unwrap();
            described.shown(&petg)
        };
        assert_eq!(shown("youngs_modulus"), "2050 (1700-2250)");
        assert_eq!(shown("yield_strain"), "4 (3.3-5)");
        assert_eq!(shown("density"), "1.27");
        assert_eq!(shown("ultimate_strength"), "-");
        let (pp, _) = card("pp").unwrap();
        assert_eq!(PROPERTIES[6].shown(&pp), ">100", "a lower bound");
    }
}
