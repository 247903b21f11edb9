//! What `withy set` does with a part: drawn and let down, in order.

use super::CaseCause;
use super::placed::Placed;
use super::written::{LetDownWord, PartFile};
use crate::error::{Refusal, Source};
use crate::lasting;
use crate::material::Card;
use crate::quantity::Time;
use withy_solver::Stage;

/// What is lost in a time, by the card.
fn held(hold: &Placed<Time>, source: &Source, material: &Card) -> Result<Stage, Refusal> {
    let time = hold.value();
    if time <= 0.0 {
        let found = format!("{time} ms");
        let cause = CaseCause::OutOfRange { what: "hold".into(), found, range: "above 0".into() };
        return Err(Refusal::at(source, hold.span(), cause));
    }
    match lasting::law(material) {
        Some(law) => Ok(Stage::Hold(1.0 - law.usual.left(time))),
        None => Err(Refusal::at(source, hold.span(), CaseCause::NoRelaxation)),
    }
}

/// Reads `[[stage]]`; empty if there is none.
pub(super) fn read(
    file: &PartFile,
    source: &Source,
    material: &Card,
) -> Result<Vec<Stage>, Refusal> {
    let mut stages = Vec::new();
    for table in &file.stage {
        let bad = |why| Err(Refusal::at(source, table.span(), CaseCause::BadStage { why }));
        let stage = match (&table.draw, table.let_down, &table.hold) {
            (None, None, Some(hold)) => held(hold, source, material)?,
            (Some(draw), None, None) => {
                let share = draw.value();
                if !(share > 0.0 && share <= 1.0) {
                    let cause = CaseCause::OutOfRange {
                        what: "draw".into(),
                        found: format!("{} %", 100.0 * share),
                        range: "above 0 % and at most 100 %".into(),
                    };
                    return Err(Refusal::at(source, draw.span(), cause));
                }
                Stage::To(share)
            }
            (None, Some(LetDownWord::Free), None) => Stage::LetDown,
            (None, Some(LetDownWord::Rest), None) => Stage::To(0.0),
            (None, None, None) => return bad("has neither `draw` nor `let_down` nor `hold`"),
            _ => return bad("has more than one of `draw`, `let_down` and `hold`"),
        };
        let first = stages.is_empty();
        match stage {
            Stage::To(share) if share > 0.0 => {}
            _ if first => return bad("lets down or holds what has not been drawn yet"),
            _ => {}
        }
        stages.push(stage);
    }
    Ok(stages)
}
