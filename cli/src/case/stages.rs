//! What `withy set` does with a part: drawn and let down, in order.

use super::CaseCause;
use super::placed::Placed;
use super::written::{LetDownWord, PartFile};
use crate::error::{Refusal, Source};
use crate::lasting;
use crate::material::Card;
use crate::quantity::Time;
use withy_solver::Stage;

/// A time in which the card tells what becomes of the stress (ms).
fn passed(
    what: &str,
    time: &Placed<Time>,
    source: &Source,
    material: &Card,
) -> Result<f64, Refusal> {
    let value = time.value();
    if value <= 0.0 {
        let found = format!("{value} ms");
        let cause = CaseCause::OutOfRange { what: what.into(), found, range: "above 0".into() };
        return Err(Refusal::at(source, time.span(), cause));
    }
    if lasting::law(material).is_none() {
        return Err(Refusal::at(source, time.span(), CaseCause::NoRelaxation));
    }
    Ok(value)
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
        let stage = match (&table.draw, table.let_down, &table.hold, &table.rest) {
            (None, None, Some(hold), None) => Stage::Hold(passed("hold", hold, source, material)?),
            (None, None, None, Some(rest)) => Stage::Rest(passed("rest", rest, source, material)?),
            (Some(draw), None, None, None) => {
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
            (None, Some(LetDownWord::Free), None, None) => Stage::LetDown,
            (None, Some(LetDownWord::Rest), None, None) => Stage::To(0.0),
            (None, None, None, None) => {
                return bad("has neither `draw` nor `let_down` nor `hold` nor `rest`");
            }
            _ => return bad("has more than one of `draw`, `let_down`, `hold` and `rest`"),
        };
        let first = stages.is_empty();
        match stage {
            Stage::To(share) if share > 0.0 => {}
            _ if first => return bad("lets down, holds or rests what has not been drawn yet"),
            _ => {}
        }
        stages.push(stage);
    }
    Ok(stages)
}
