//! Where a part rests that was kept drawn: its own curve, by how much of its drawn strain its springs keep.

use super::held::{TIMES, law};
use crate::analysis::{Axis, moving_regions};
use crate::case::Case;
use withy_mesh::number::{largest, max, min};
use withy_solver::{Equations, Model, SmoothCurve, Step, rests};

/// Shapes that the curve goes through, at even steps of the root of the share: a bent rib rests in proportion to the
/// share, one that is stretched in proportion to its root, and cubics in the root follow both.
const SHAPES: u32 = 6;

/// Where a part rests.
#[derive(Clone, Debug, PartialEq)]
pub enum Recovery {
    /// By the part's own shapes without force: rest by the draw over the root of the share.
    Solved(SmoothCurve),
    /// As a straight spring, and why.
    Straight(&'static str),
}

impl Recovery {
    /// The rest by the draw where the springs keep a share of the drawn strain.
    #[must_use]
    pub fn rest(&self, share: f64) -> f64 {
        match self {
            Self::Solved(curve) => curve.at(max(share, 0.0).sqrt()),
            Self::Straight(_) => share,
        }
    }
}

/// The curve of a case whose drawn states are known on the model's mesh, as far as the card's largest
/// loss. The model's equations are used up.
#[must_use]
pub fn recovery_of(case: &Case, model: &Model, steps: &[Step], equations: Equations) -> Recovery {
    let Some(law) = law(&case.material) else {
        return Recovery::Straight("the card tells of no loss");
    };
    let Some(name) = moving_regions(case).first().copied() else {
        return Recovery::Straight("nothing moves");
    };
    if !case.recovery {
        return Recovery::Straight("its own shapes were not asked for");
    }
    if case.drives.is_empty() {
        return Recovery::Straight("it is loaded, not drawn");
    }
    let axis = Axis::of(case, name);
    let pulls = |effort: f64, travel: f64| effort * travel > 0.0;
    let back_alone = steps.iter().all(|s| {
        s.snaps.is_empty() && pulls(axis.effort(&s.reactions[0]), axis.travel(s.rigid[0]))
    });
    if !back_alone {
        return Recovery::Straight(
            "it snaps on its way, and may stay where it is when it is let go",
        );
    }
    let longest = TIMES[TIMES.len() - 1].1;
    let lost = |law: &withy_solver::Relaxation| 1.0 - law.left(longest);
    let ends = law.ends.iter().flatten().map(lost);
    let most = min(max(largest(0.0, ends), lost(&law.usual)), 1.0);
    if most <= 0.0 {
        return Recovery::Straight("nothing is lost");
    }
    let root = |k: u32| most.sqrt() * f64::from(k) / f64::from(SHAPES);
    let shares: Vec<f64> = (1..=SHAPES).map(|k| root(k).powi(2)).collect();
    let Ok(found) = rests(model, steps, &shares, equations) else {
        return Recovery::Straight("no shape without force was found");
    };
    let from_rest = |of: Vec<f64>| std::iter::once(0.0).chain(of).collect::<Vec<f64>>();
    let places = found.iter().map(|s| s.fraction).collect();
    SmoothCurve::through((0..=SHAPES).map(root).collect(), from_rest(places))
        .map_or(Recovery::Straight("no shape without force was found"), Recovery::Solved)
}
