//! Whether the part is taken as printed beads, and where they lie.

use super::CaseCause;
use super::written::{BeadsWord, LawWord, PartFile, StateWord};
use crate::error::{Refusal, Source};
use crate::material::{Card, Datum};
use crate::picture::three_digits;
use crate::remark::Remark;
use withy_solver::{Beads, Orthotropic};

/// Reads the beads of `[outline]`; what the card lacks for them is estimated or asked for.
pub(super) fn read(
    file: &PartFile,
    source: &Source,
    card: &mut Card,
    remarks: &mut Vec<Remark>,
) -> Result<Option<Beads>, Refusal> {
    let outline = &file.outline;
    let (beads, span) = match (&outline.beads, &outline.bead_angle) {
        (None, None) => return Ok(None),
        (Some(word), None) => match **word {
            BeadsWord::Outline => (Beads::AlongOutline, word.span()),
        },
        (None, Some(angle)) => (Beads::At(angle.value()), angle.span()),
        (Some(word), Some(_)) => {
            let why = "are given along the outline and at an angle";
            return Err(Refusal::at(source, word.span(), CaseCause::BadBeads { why }));
        }
    };
    let bad = |why| Err(Refusal::at(source, span.clone(), CaseCause::BadBeads { why }));
    if outline.state == Some(StateWord::PlaneStrain) {
        return bad("are computed in plane stress, and the part asks for plane strain");
    }
    if file.solve.law == Some(LawWord::Hencky) {
        return bad("have a law of their own, and [solve] asks for Hencky's");
    }
    let Some(across) = card.modulus_across.as_ref().map(|d| d.value) else {
        return bad(
            "need modulus_across, the modulus across them, which the material does not give",
        );
    };
    let (along, ratio) = (card.youngs_modulus.value, card.poissons_ratio.value);
    let estimate = estimated_shear(card, across);
    let shear = card.shear_modulus.get_or_insert_with(|| {
        let text = format!(
            "the material gives no shear_modulus: {} MPa is taken, after Huber from the two moduli",
            three_digits(estimate.value)
        );
        remarks.push(Remark::caution("estimated-shear-modulus", text));
        estimate
    });
    if Orthotropic::new(along, across, ratio, shear.value).is_err() {
        return bad("would not be stable: modulus_across is too large for this poissons_ratio");
    }
    Ok(Some(beads))
}

/// The shear modulus of a card of a given modulus across, estimated.
pub(crate) fn estimated_shear(card: &Card, across: f64) -> Datum {
    Datum {
        value: hubers_shear(card.youngs_modulus.value, across, card.poissons_ratio.value),
        low: None,
        high: None,
        source: "estimated from the moduli along and across (Huber)".into(),
        estimated: true,
    }
}

/// G = sqrt(E1 E2) / (2 (1 + sqrt(nu12 nu21))), exact for an isotropic solid. M. T. Huber (1923), from
/// memory.
fn hubers_shear(along: f64, across: f64, ratio: f64) -> f64 {
    (along * across).sqrt() / (2.0 * (1.0 + ratio * (across / along).sqrt()))
}

/// Bead direction in words.
pub(super) fn words(beads: Beads) -> String {
    match beads {
        Beads::AlongOutline => "beads along the outline".to_owned(),
        Beads::At(angle) => format!("beads at {} deg", three_digits(angle.to_degrees())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hubers_estimate_is_exact_for_an_isotropic_solid() {
        let shear = hubers_shear(2050.0, 2050.0, 0.39);
        assert!((shear - 2050.0 / (2.0 * 1.39)).abs() <= 1e-12, "{shear}");
    }
}
