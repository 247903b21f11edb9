//! Whole parts: a drawing and a part file through everything that a user's would go through.

use std::ops::ControlFlow;
use withy::analysis::{Analysis, AnalysisError, Limit, LimitKind, analyse};
use withy::case::{Overrides, read};

/// Solves a part on a page of 100 mm: `shapes` are the SVG of its outline (y down, as SVG has it), `text`
/// is the part file without `[outline] drawing`, which comes first.
#[must_use]
pub fn analysed(shapes: &str, text: &str) -> Analysis {
    tried(shapes, text).unwrap()
}

/// The same of a part that may have no solution.
///
/// # Errors
/// Whatever keeps it from being solved.
pub fn tried(shapes: &str, text: &str) -> Result<Analysis, AnalysisError> {
    let folder = tempfile::tempdir().unwrap();
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm"
        viewBox="0 0 100 100"><g id="part">{shapes}</g></svg>"#
    );
    std::fs::write(folder.path().join("part.svg"), svg).unwrap();
    let file = folder.path().join("part.toml");
    std::fs::write(&file, format!("[outline]\ndrawing = \"part.svg\"\n{text}")).unwrap();
    let case = read(&file, &Overrides::default()).unwrap();
    analyse(&case, &mut |_| ControlFlow::Continue(()))
}

/// The limit of a kind, if it is reached.
#[must_use]
pub fn limit(analysis: &Analysis, kind: LimitKind) -> Option<&Limit> {
    analysis.solution.limits.iter().find(|l| l.kind == kind)
}
