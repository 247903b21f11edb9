//! The rib as a geometrically exact beam.

use super::{Curve, End, Rib};
use std::f64::consts::PI;
use std::ops::ControlFlow;
use withy_mesh::number::largest;
use withy_solver::beam::{
    BeamModel, BeamOptions, BeamStep, Joint, MemberId, Section, follow_beams, stations,
};
use withy_solver::{Coordinate, Elastic, ModelError, PlaneState};

/// Elements of the rib: the force is then good for 1e-4, whatever the rib does.
const ELEMENTS: u32 = 32;
/// The beam is followed so many times as far as the draw, to see where it yields.
pub const REACH: u32 = 3;
/// States to one step of the draw.
const FINE: u32 = 8;

/// Follows the beam to [`REACH`] times the draw, or as far as it goes; `off` is how far its axis is off
/// the straight line, in the shape into which such a column buckles (mm).
///
/// Source of the shapes: L. Euler's column with the ends of the rib.
///
/// # Errors
/// A material or sizes that are none.
pub fn follow(rib: &Rib, off: f64) -> Result<Curve, ModelError> {
    let e = rib.material.youngs_modulus.value;
    let law = Elastic::new(e, rib.material.poissons_ratio.value, PlaneState::PlaneStress)?;
    let section = Section::rectangle(&law, rib.width, rib.thickness)?;
    let (s, c) = rib.across_along();
    let tip = [rib.length * s, -rib.length * c];
    let full = f64::from(REACH) * rib.draw;
    let mut carriage = Joint::driven(tip, [0.0, -full, 0.0]);
    let free = match rib.end {
        End::Guided => [false, false],
        End::Aside => [true, false],
        End::Free => [true, true],
    };
    for (k, free) in [0, 2].into_iter().zip(free) {
        if free {
            carriage.motion[k] = Coordinate::Free;
        }
    }
    let mut model = BeamModel::new();
    let frame = model.joint(Joint::clamped([0.0; 2]))?;
    let carriage = model.joint(carriage)?;
    // Half waves of the cosine along the rib.
    let (waves, height) = match rib.end {
        End::Guided => (2.0, 2.0),
        End::Aside => (1.0, 2.0),
        End::Free => (0.5, 1.0),
    };
    let axis = |t: f64| {
        let bow = off / height * (1.0 - (waves * PI * t).cos());
        [t * tip[0] + bow * c, t * tip[1] + bow * s]
    };
    let member = model.member([frame, carriage], axis, |_| Ok(section), ELEMENTS)?;
    let options = BeamOptions { steps: FINE * REACH * rib.steps, ..BeamOptions::default() };
    let steps = match follow_beams(&model, &options, &mut |_| ControlFlow::Continue(())) {
        Ok(steps) => steps,
        // What there is before a snap is the beam's answer.
        Err(stopped) => stopped.steps,
    };
    Ok(curve(&model, member, &steps, full, e))
}

fn curve(model: &BeamModel, member: MemberId, steps: &[BeamStep], full: f64, e: f64) -> Curve {
    let mut curve = Curve::default();
    for step in steps {
        let strains = stations(model, step, member).into_iter().map(|s| s.largest_strain());
        curve.draw.push(full * step.fraction);
        curve.force.push(-step.reactions[1][1]);
        curve.stress.push(e * largest(0.0, strains));
        curve.stable.push(step.is_stable());
    }
    curve
}

#[cfg(test)]
mod tests {
    use super::super::hand::{hand, tests::rib};
    use super::*;

    #[test]
    fn at_small_draws_the_beam_is_the_formula() {
        for end in [End::Guided, End::Aside, End::Free] {
            for degrees in [40.0, 90.0, 120.0] {
                let rib = Rib { draw: 1e-4, ..rib(degrees, end) };
                let (beam, hand) = (follow(&rib, 0.0).unwrap(), hand(&rib));
                let (x, last) = (beam.draw[0], beam.draw.len() - 1);
                assert!((beam.draw[last] - 3e-4).abs() < 1e-12, "as far as asked");
                let [force, stress] = [beam.force[0], beam.stress[0]];
                // Shear softens a guided rib by 12 E I/(k G A L^2) = 0.8 %, a cantilever by a quarter.
                let off = force / (hand.stiffness * x) - 1.0;
                assert!(off < 1e-4 && off > -0.008, "{end:?} {degrees}: {off}");
                let off = stress / (hand.stress * x) - 1.0;
                assert!(off < 1e-4 && off > -0.008, "{end:?} {degrees}: stress {off}");
            }
        }
    }

    #[test]
    fn a_folding_rib_off_its_line_leaves_the_path_of_the_perfect_one() {
        let rib = rib(120.0, End::Guided);
        let (perfect, real) = (follow(&rib, 0.0).unwrap(), follow(&rib, 0.05).unwrap());
        assert!(perfect.stable.iter().any(|s| !s), "it buckles");
        assert!(real.stable.iter().all(|s| *s), "the real one bows");
        // Euler's column, clamped at both ends: no more thrust than 4 pi^2 E I/L^2, of which the force
        // along the draw is a half, and the bent rib's shear besides.
        let most = 4.0 * PI * PI * 2000.0 * (5.0 * 8.0 / 12.0) / 1600.0;
        let largest = largest(0.0, real.force.iter().copied());
        assert!(largest > 0.35 * most && largest < 0.6 * most, "{largest} of {most}");
        let higher = withy_mesh::number::largest(0.0, perfect.force.iter().copied());
        assert!(higher > 1.3 * largest, "{higher} {largest}");
        // Either way is the other one turned about the rib's middle.
        let other = follow(&rib, -0.05).unwrap();
        for (a, b) in real.force.iter().zip(&other.force) {
            assert!((a - b).abs() < 1e-6 * largest, "{a} {b}");
        }
    }
}
