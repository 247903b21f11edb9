//! The rib as a plane part: between two blocks that it meets with fillets.
//!
//! The faces of the blocks lie along the draw, as those of a rail and a carriage do. Behind the root each
//! block is left elastic for one and a half widths, so that the root gives way as a real one does, and
//! held or moved beyond. A free end has no block: what is moved there is a piece of half a width, whose
//! middle is at the rib's length.

use super::{Curve, End, Rib};
use crate::analysis::{Analysis, Axis, LimitKind};
use crate::case::{Case, Drive, Free, Held, Hold, Made};
use withy_mesh::{Curve as Edge, Loop, Outline, OutlineError, Point, Region, Vec2};

/// A block is elastic behind the root for so many widths of the rib: by then the stress of the root has
/// spread out (Saint-Venant).
const ELASTIC: f64 = 1.5;
/// What is held or moved behind that, in widths.
const RIGID: f64 = 0.75;
/// A block goes so far beyond its fillets, in widths.
const BEYOND: f64 = 1.0;
/// Length of the piece that is moved at a free end, in widths.
const TIP: f64 = 0.5;

const FRAME: &str = "frame";
const CARRIAGE: &str = "carriage";

/// The outline, rounded, with its two regions.
///
/// # Errors
/// Fillets that do not fit.
pub fn outline(rib: &Rib) -> Result<Outline, OutlineError> {
    let (s, c) = rib.across_along();
    let w = rib.width;
    let along = Vec2::new(s, -c);
    let normal = Vec2::new(c, s);
    let root = Point::ORIGIN;
    let end = root + along * rib.length;
    // Half of the root on the block's face, and where the fillet of the sharper corner ends on it.
    let half = 0.5 * w / s;
    let corner = if c.abs() > 0.0 { s.atan2(c.abs()) } else { std::f64::consts::FRAC_PI_2 };
    let height = half + rib.fillet / (0.5 * corner).tan() + BEYOND * w;
    let (depth, held) = ((ELASTIC + RIGID) * w, ELASTIC * w);
    let at = |x: f64, y: f64| Point::new(x, y);
    let mut border = vec![at(-depth, -height), at(0.0, -height), at(0.0, -half)];
    let moved = match rib.end {
        End::Guided | End::Aside => {
            let to = |x: f64, y: f64| end + Vec2::new(x, y);
            border.extend([to(0.0, -half), to(0.0, -height), to(depth, -height)]);
            border.extend([to(depth, height), to(0.0, height), to(0.0, half)]);
            vec![
                to(held, -2.0 * height),
                to(2.0 * depth, -2.0 * height),
                to(2.0 * depth, 2.0 * height),
                to(held, 2.0 * height),
            ]
        }
        End::Free => {
            let tip = end + along * (0.5 * TIP * w);
            border.extend([tip - normal * (0.5 * w), tip + normal * (0.5 * w)]);
            let (back, side) = (along * (TIP * w), normal * w);
            vec![tip - back - side, tip + back - side, tip + back + side, tip - back + side]
        }
    };
    border.extend([at(0.0, half), at(0.0, height), at(-depth, height)]);
    let frame = [
        at(-2.0 * depth, -2.0 * height),
        at(-held, -2.0 * height),
        at(-held, 2.0 * height),
        at(-2.0 * depth, 2.0 * height),
    ];
    let regions = vec![region(FRAME, &frame), region(CARRIAGE, &moved)];
    Outline::new(vec![polygon("the rib", &border)], regions)?.with_fillets(rib.fillet)
}

fn polygon(origin: &str, corners: &[Point]) -> Loop {
    let next = corners.iter().cycle().skip(1);
    let curves = corners.iter().zip(next).map(|(a, b)| Edge::Line(*a, *b)).collect();
    Loop { curves, origin: origin.to_owned() }
}

fn region(name: &str, corners: &[Point]) -> Region {
    Region { name: name.to_owned(), loops: vec![polygon(name, corners)] }
}

/// The case of the rib's plane part.
///
/// # Errors
/// Fillets that do not fit.
pub fn case(rib: &Rib) -> Result<Case, OutlineError> {
    let free = match rib.end {
        End::Guided => Free::default(),
        End::Aside => Free { x: true, ..Free::default() },
        End::Free => Free { x: true, turn: true, ..Free::default() },
    };
    Ok(Case::made(Made {
        title: rib.title(),
        outline: outline(rib)?,
        thickness: rib.thickness,
        material: rib.material.clone(),
        hold: Hold { region: FRAME.to_owned(), along: Held { x: true, y: true } },
        drive: Drive { region: CARRIAGE.to_owned(), shift: [0.0, -rib.draw], turn: 0.0, free },
        steps: rib.steps,
        accuracy: rib.accuracy,
    }))
}

/// Force along the draw and largest stress, state by state.
#[must_use]
pub fn curve(case: &Case, analysis: &Analysis) -> Curve {
    let axis = Axis::of(case, CARRIAGE);
    let solution = &analysis.solution;
    let mut curve = Curve::default();
    for (step, peaks) in solution.path.steps.iter().zip(&solution.peaks) {
        let carriage = step.reactions.iter().find(|r| r.region == CARRIAGE);
        curve.draw.push(step.rigid.first().map_or(f64::NAN, |q| axis.travel(*q)));
        curve.force.push(carriage.map_or(f64::NAN, |r| axis.effort(r)));
        curve.stress.push(peaks.von_mises);
        curve.stable.push(step.is_stable());
    }
    curve
}

/// The draw at which the plane part yields, if it does within the draw (mm).
#[must_use]
pub fn yields_at(analysis: &Analysis) -> Option<f64> {
    let of_yield = analysis.solution.limits.iter().find(|l| l.kind == LimitKind::Yield);
    of_yield.and_then(|l| l.travel)
}

#[cfg(test)]
mod tests {
    use super::super::hand::tests::rib;
    use super::*;

    #[test]
    fn the_part_has_its_rib_its_blocks_and_its_fillets() {
        for (degrees, end, arcs) in [
            (90.0, End::Guided, 4),
            (45.0, End::Guided, 4),
            (130.0, End::Aside, 4),
            (70.0, End::Free, 2),
        ] {
            let rib = rib(degrees, end);
            let outline = outline(&rib).unwrap();
            let curves = &outline.loops()[0].curves;
            let round: Vec<f64> = curves
                .iter()
                .filter_map(|c| match c {
                    Edge::Arc(arc) => Some(arc.radius),
                    _ => None,
                })
                .collect();
            assert_eq!(round.len(), arcs, "{degrees} {end:?}");
            assert!(round.iter().all(|r| (r - 1.0).abs() < 1e-9), "{round:?}");
            assert_eq!(outline.regions().len(), 2, "frame and carriage");
            // Halfway the rib is as wide as it should be, square to its axis.
            let (s, c) = rib.across_along();
            let middle = Point::new(20.0 * s, -20.0 * c);
            for (off, inside) in [(0.99, true), (-0.99, true), (1.01, false), (-1.01, false)] {
                let p = middle + Vec2::new(c, s) * off;
                assert_eq!(outline.contains(p), inside, "{degrees}: {off}");
            }
        }
    }

    #[test]
    fn fillets_larger_than_the_rib_are_refused() {
        let long = Rib { fillet: 30.0, ..rib(90.0, End::Guided) };
        assert!(outline(&long).is_err(), "two of them are longer than the rib");
    }
}
