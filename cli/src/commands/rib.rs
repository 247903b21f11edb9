//! `withy rib`: one rib by hand, as a beam and in plane stress.

use super::solve::{INTERRUPTED, REFUSED, SOLVED, STOPPED, SolveError, Voice, run, unsolvable};
use crate::analysis::{Ended, Solution};
use crate::args::RibArgs;
use crate::export::{ResultFile, write_results};
use crate::picture::{self, RibPicture};
use crate::rib::report::Compared;
use crate::rib::{Rib, RibCause, RibError, beam, hand, part, read};
use miette::Diagnostic;
use std::sync::atomic::AtomicBool;
use thiserror::Error;
use withy_solver::StopCause;

/// Why a rib was not compared.
#[derive(Debug, Error, Diagnostic)]
pub enum RibFailure {
    /// The numbers.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Refused(#[from] RibError),
    /// The plane part, or the results folder.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Unsolved(#[from] SolveError),
}

impl RibFailure {
    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        match self {
            Self::Refused(_) => REFUSED,
            Self::Unsolved(error) => error.exit_status(),
        }
    }
}

/// Compares, writes the picture if a folder is given, and returns what goes to standard output and the
/// exit status.
///
/// # Errors
/// Numbers that make no rib; a plane part without any solution; a folder that cannot be written.
pub fn rib(
    args: &RibArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), RibFailure> {
    let rib = read(args)?;
    let misfit = |error| RibError::Numbers(RibCause::Fillet(error));
    let case = part::case(&rib).map_err(misfit)?;
    let hand = hand::hand(&rib);
    let analysis = run(&case, interrupted, voice)?;
    let plane = part::curve(&case, &analysis);
    // The beam as far off its line as the plane part, so that both are the same rib.
    let imperfect = analysis.solution.perfect.as_ref().map(|p| p.amplitude);
    let beam = beam::follow(&rib, imperfect.unwrap_or(0.0));
    let beam = beam.map_err(|e| unsolvable(&case, e.into()))?;
    for remark in rib.remarks.iter().chain(&analysis.solution.remarks) {
        let text = if remark.code == "branch" { buckled(&analysis.solution) } else { None };
        voice.say(&format!("{}: {}", remark.level.word(), text.as_ref().unwrap_or(&remark.text)));
    }
    let compared = Compared {
        plane_yields: part::yields_at(&analysis),
        hot_spot: analysis.solution.hot_spot.near.clone(),
        elements: analysis.mesh.elements().len(),
        hand,
        imperfect,
        beam,
        plane,
        rib,
    };
    if let Some(folder) = &args.out {
        write_results(folder, &[ResultFile { name: "rib.svg", text: drawn(&compared) }])
            .map_err(SolveError::from)?;
        voice.say(&format!("the picture is {}", folder.join("rib.svg").display()));
    }
    let text = if args.json { compared.json() } else { compared.text() };
    let status = match analysis.solution.ended {
        Ended::Complete => SOLVED,
        Ended::Early(_, StopCause::Interrupted) => INTERRUPTED,
        Ended::Early(..) => STOPPED,
    };
    Ok((text, status))
}

/// What is said of a rib that buckles on its way.
fn buckled(solution: &Solution) -> Option<String> {
    let perfect = solution.perfect.as_ref()?;
    let branch = perfect.path.critical.first()?;
    Some(format!(
        "a perfect rib buckles at {:.1} % of the draw: beam and plane stress are those of a rib {} mm off its \
         drawing, in the shape it buckles into",
        100.0 * branch.fraction,
        perfect.amplitude
    ))
}

/// `rib.svg`.
fn drawn(compared: &Compared) -> String {
    let Compared { rib, hand, beam, plane, .. } = compared;
    let Rib { material, .. } = rib;
    let subtitle = format!("{}; {}", material.title, rib.end.words());
    picture::rib(&RibPicture {
        title: &rib.title(),
        subtitle: &subtitle,
        draw: rib.draw,
        formula: [hand.bending, hand.stiffness, hand.stress],
        beam: [&beam.draw, &beam.force, &beam.stress],
        plane: [&plane.draw, &plane.force, &plane.stress],
        strength: material.yield_strength.as_ref().map(|d| d.value),
    })
}
