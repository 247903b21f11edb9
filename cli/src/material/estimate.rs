//! The rules by which a value is estimated that a card does not give. Each estimate carries its band.
//!
//! Sources of the rules: common practice, no source.

use super::{Card, Datum};
use crate::remark::Remark;
use withy_mesh::number::{max, min};

/// A flexural modulus stands for the tensile one within this share: test bars differ in structure and
/// test speeds, the material does not.
const FLEXURAL_SPREAD: f64 = 0.15;
/// A value taken from a class of polymers is uncertain by this share at least.
const CLASS_SPREAD: f64 = 0.2;
/// Poisson's ratio of a polymer about which nothing is said: value, low, high of stiff polymers.
const USUAL_POISSON: [f64; 3] = [0.38, 0.34, 0.42];

/// The rules, for people.
pub const RULES: [&str; 4] = [
    "no tensile modulus: the flexural modulus is taken, give or take 15 %",
    "no modulus at all, or another value missing, and `class` names a card of the shelf: that card's \
     value is taken, with its range or 20 % either way, whichever is wider",
    "no Poisson's ratio and no class: 0.38, between 0.34 and 0.42",
    "what still is missing stays unknown, and every check that needs it is left out and says so",
];

/// The tensile modulus from the flexural one.
pub(super) fn from_flexural(flexural: Option<&Datum>, remarks: &mut Vec<Remark>) -> Option<Datum> {
    let flexural = flexural?;
    let text = format!(
        "the material gives no youngs_modulus: its flexural_modulus, {:.0} MPa, is taken, give or take {:.0} %",
        flexural.value,
        100.0 * FLEXURAL_SPREAD
    );
    remarks.push(Remark::caution("estimated-youngs-modulus", text));
    Some(Datum {
        value: flexural.value,
        low: Some(flexural.value * (1.0 - FLEXURAL_SPREAD)),
        high: Some(flexural.value * (1.0 + FLEXURAL_SPREAD)),
        source: format!("estimated from the flexural modulus ({})", flexural.source),
        estimated: true,
    })
}

/// Poisson's ratio out of nothing.
pub(super) fn usual_poissons_ratio(remarks: &mut Vec<Remark>) -> Datum {
    let [value, low, high] = USUAL_POISSON;
    let text =
        format!("the material gives no poissons_ratio: {value} is taken, usual for polymers");
    remarks.push(Remark::caution("estimated-poissons-ratio", text));
    Datum {
        value,
        low: Some(low),
        high: Some(high),
        source: "estimated: usual for polymers".into(),
        estimated: true,
    }
}

/// A value of the class, with its range or the usual spread, whichever is wider, at most `limit`.
fn widened(of_class: &Datum, class: &str, limit: f64) -> Datum {
    let value = of_class.value;
    let low = min(of_class.low.unwrap_or(value), value * (1.0 - CLASS_SPREAD));
    let high = max(of_class.high.unwrap_or(value), value * (1.0 + CLASS_SPREAD));
    Datum {
        value,
        low: Some(low),
        high: Some(min(high, limit)),
        source: format!("estimated: range of the class {class}"),
        estimated: true,
    }
}

/// The modulus of the class.
pub(super) fn modulus_of_class(class: &Card, remarks: &mut Vec<Remark>) -> Datum {
    let modulus = widened(&class.youngs_modulus, &class.name, f64::INFINITY);
    let text = format!(
        "the material gives no modulus: {:.0} MPa of its class {} is taken, with a wide range",
        modulus.value, class.name
    );
    remarks.push(Remark::caution("estimated-youngs-modulus", text));
    modulus
}

/// Poisson's ratio of the class.
pub(super) fn poissons_ratio_of_class(class: &Card, remarks: &mut Vec<Remark>) -> Datum {
    // A fifth of Poisson's ratio upwards could pass 0.5, which no card may.
    let ratio = widened(&class.poissons_ratio, &class.name, 0.499);
    let text = format!(
        "the material gives no poissons_ratio: {} of its class {} is taken",
        ratio.value, class.name
    );
    remarks.push(Remark::caution("estimated-poissons-ratio", text));
    ratio
}

/// Fills what is still missing from the class.
pub(super) fn fill_from_class(card: &mut Card, class: &Card, remarks: &mut Vec<Remark>) {
    let mut filled = Vec::new();
    let mut fill = |what, own: &mut Option<Datum>, other: &Option<Datum>, limit| {
        if let (None, Some(other)) = (&own, other) {
            *own = Some(widened(other, &class.name, limit));
            filled.push(what);
        }
    };
    let any = f64::INFINITY;
    fill("yield_strength", &mut card.yield_strength, &class.yield_strength, any);
    fill("yield_strain", &mut card.yield_strain, &class.yield_strain, any);
    fill("ultimate_strength", &mut card.ultimate_strength, &class.ultimate_strength, any);
    fill("elongation_at_break", &mut card.elongation_at_break, &class.elongation_at_break, any);
    fill("density", &mut card.density, &class.density, any);
    fill("relaxation_one_hour", &mut card.relaxation_one_hour, &class.relaxation_one_hour, 1.0);
    fill("fatigue_factor_1e3", &mut card.fatigue_factor_1e3, &class.fatigue_factor_1e3, 1.0);
    fill("fatigue_factor_1e4", &mut card.fatigue_factor_1e4, &class.fatigue_factor_1e4, 1.0);
    if !filled.is_empty() {
        let text = format!(
            "the material does not give {}: taken from the range of its class {}",
            filled.join(", "),
            class.name
        );
        remarks.push(Remark::caution("estimated-from-class", text));
    }
}
