//! The rib as a geometrically exact beam.

use super::{Curve, End, Rib};
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

/// Follows the beam to [`REACH`] times the draw, or as far as it goes.
///
/// # Errors
/// A material or sizes that are none.
pub fn follow(rib: &Rib) -> Result<Curve, ModelError> {
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
    let member = model.straight([frame, carriage], [[0.0; 2], tip], section, ELEMENTS)?;
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
                let (beam, hand) = (follow(&rib).unwrap(), hand(&rib));
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
}
