//! What `withy set` does with a part: drawn and let down, in order.

use super::CaseCause;
use super::written::{LetDownWord, PartFile};
use crate::error::{Refusal, Source};
use withy_solver::Stage;

/// Reads `[[stage]]`; empty if there is none.
pub(super) fn read(file: &PartFile, source: &Source) -> Result<Vec<Stage>, Refusal> {
    let mut stages = Vec::new();
    for table in &file.stage {
        if let Some(hold) = &table.hold {
            let cause = CaseCause::NotInThisVersion { key: "hold" };
            return Err(Refusal::at(source, hold.span(), cause));
        }
        let bad = |why| Err(Refusal::at(source, table.span(), CaseCause::BadStage { why }));
        let stage = match (&table.draw, table.let_down) {
            (Some(draw), None) => {
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
            (None, Some(LetDownWord::Free)) => Stage::LetDown,
            (None, Some(LetDownWord::Rest)) => Stage::To(0.0),
            (Some(_), Some(_)) => return bad("has both `draw` and `let_down`"),
            (None, None) => return bad("has neither `draw` nor `let_down`"),
        };
        let first = stages.is_empty();
        match stage {
            Stage::To(share) if share > 0.0 => {}
            _ if first => return bad("lets down what has not been drawn yet"),
            _ => {}
        }
        stages.push(stage);
    }
    Ok(stages)
}
