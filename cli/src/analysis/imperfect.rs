//! The part as printed: a little off its drawing, in the shape that it buckles into.
//!
//! A perfect symmetric part may stay on a path that no real part follows. Where the path branches,
//! or on request, it is followed once more with the nodes shifted by a multiple of the mode.

use super::corners::Corner;
use super::follow::{Followed, follow, follow_finely};
use super::{AnalysisError, Watch, modelled};
use crate::case::Case;
use crate::picture::three_digits;
use crate::remark::Remark;
use withy_mesh::{Mesh, MeshError};
use withy_solver::contact::overlap;
use withy_solver::{EquilibriumPath, Model, Overlap, PlaneState, Transfer, softest_mode_of};

/// Departure of a printed part from its drawing where none is given (mm): about a tenth of an
/// extrusion width, common practice, no source.
const USUAL_AMPLITUDE: f64 = 0.05;

/// A mode may lead this part of its amplitude into what the part lies flush with: ribs that bend become thicker
/// on one side and thinner on the other. The contact is set back as far.
const MOST_OVERLAP: f64 = 0.01;
/// How often the usual amplitude is halved where the part has less room than that (tuning).
const MOST_HALVINGS: i32 = 6;

/// So many steps to the perfect part's branch follow the printed one round its bend.
const STEPS_TO_BRANCH: f64 = 8.0;
/// A reported step is cut into at most so many parts.
const MOST_PARTS: u32 = 100;

/// A departure from the drawing.
#[derive(Debug)]
pub(super) struct Imperfection {
    /// The undisturbed mesh that the shifts belong to.
    mesh: Mesh,
    shifts: Vec<[f64; 2]>,
    pub(super) amplitude: f64,
}

/// What the perfect part would do, beside the imperfect one.
#[derive(Clone, Debug, PartialEq)]
pub struct Perfect {
    /// Its path, on the first mesh.
    pub path: EquilibriumPath,
    /// Largest departure of the imperfect part from the drawing (mm).
    pub amplitude: f64,
}

impl Imperfection {
    /// The imperfection that a followed path calls for: the mode of its first branch, or the softest
    /// shape of its last state if the user wants one anyway; `None` if neither.
    ///
    /// A mode has no sense of its own: it is taken to the side on which the part keeps out of rails, pins and
    /// itself, as the real part does.
    pub(super) fn of(
        case: &Case,
        followed: &Followed,
        state: PlaneState,
        remarks: &mut Vec<Remark>,
    ) -> Result<Option<Self>, AnalysisError> {
        let path = &followed.path;
        let branch = path.critical.iter().find(|c| c.negative_pivots[1] > c.negative_pivots[0]);
        let model = modelled::model(case, &followed.mesh, state)?;
        let mode = match (branch, case.imperfection, path.steps.last()) {
            (Some(branch), _, _) => branch.mode.clone(),
            (None, Some(_), Some(last)) => {
                // Without a mode there is nothing to disturb the part with.
                match softest_mode_of(&model, last) {
                    Ok(mode) => mode,
                    Err(_) => return Ok(None),
                }
            }
            (None, _, _) => return Ok(None),
        };
        let made = |(amplitude, shifts)| Self { mesh: followed.mesh.clone(), shifts, amplitude };
        if let Some(amplitude) = case.imperfection {
            return match fitting(&model, &mode, amplitude) {
                Ok(shifts) => Ok(Some(made((amplitude, shifts)))),
                Err(blocked) => Err(AnalysisError::NoRoom { amplitude, what: words(&blocked) }),
            };
        }
        let amplitudes = (0..=MOST_HALVINGS).map(|n| USUAL_AMPLITUDE * 0.5f64.powi(n));
        let mut blocked = None;
        for amplitude in amplitudes {
            match fitting(&model, &mode, amplitude) {
                Ok(shifts) => return Ok(Some(made((amplitude, shifts)))),
                Err(overlap) => blocked = Some(overlap),
            }
        }
        remarks.extend(blocked.map(|overlap| {
            Remark::caution(
                "no-room",
                format!(
                    "the shape that the perfect part buckles into leads into {} to either side: all results \
                     are those of the perfect part, which hangs on nothing once it is not stable",
                    words(&overlap)
                ),
            )
        }));
        Ok(None)
    }

    /// Another mesh of the drawing, shifted.
    pub(super) fn apply(&self, mesh: &Mesh) -> Result<Mesh, MeshError> {
        mesh.moved(&Transfer::new(&self.mesh, mesh).apply(&self.shifts))
    }

    /// Follows the path of the printed part that belongs to a perfect one's.
    ///
    /// Beyond the perfect part's branch there are two paths: the real one, which bends aside, and one
    /// that hangs on nothing, nearly straight and not stable. A long step from below the branch lands on
    /// the second; steps that are short against the way to the branch come round on the first.
    pub(super) fn follow(
        &self,
        case: &Case,
        perfect: &Followed,
        state: PlaneState,
        corners: &[Corner],
        watch: &mut Watch,
    ) -> Result<Followed, AnalysisError> {
        let printed = self.apply(&perfect.mesh)?;
        let real = follow(case, printed.clone(), 1, state, corners, watch)?;
        let unstable = |followed: &Followed| followed.path.steps.iter().any(|s| !s.is_stable());
        let branch = perfect.path.critical.first();
        let Some(branch) = branch.filter(|_| unstable(&real)) else { return Ok(real) };
        let wanted = STEPS_TO_BRANCH / (branch.fraction * f64::from(case.steps));
        let parts = (2..MOST_PARTS).find(|n| f64::from(*n) >= wanted).unwrap_or(MOST_PARTS);
        let finer = follow_finely(case, printed, 1, parts, state, corners, watch)?;
        Ok(if unstable(&finer) { real } else { finer })
    }
}

/// The shifts of a mode by an amplitude, to that side on which the part lies in nothing.
fn fitting(model: &Model, mode: &[[f64; 2]], amplitude: f64) -> Result<Vec<[f64; 2]>, Overlap> {
    let to = |signed: f64| {
        let shifts: Vec<[f64; 2]> = mode.iter().map(|m| m.map(|x| signed * x)).collect();
        match overlap(model, &shifts).filter(|o| o.depth > MOST_OVERLAP * amplitude) {
            Some(overlap) => Err(overlap),
            None => Ok(shifts),
        }
    };
    to(amplitude).or_else(|_| to(-amplitude))
}

/// What a shape leads into, and where.
fn words(overlap: &Overlap) -> String {
    let [x, y] = overlap.place.map(three_digits);
    match &overlap.obstacle {
        Some(name) => format!("\"{name}\" near ({x}, {y}) mm"),
        None => format!("the part itself near ({x}, {y}) mm"),
    }
}
