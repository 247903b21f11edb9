//! Section forces and the strain of the surface along a member.
//!
//! At the ends of the elements the section forces follow from the nodal forces by equilibrium, which is
//! more exact than the strains there: N and Q are the nodal force in the section's own directions, M the
//! nodal moment. Surface strain e + k h/2 on either side, linear across the section: a strongly curved
//! beam (radius below some five widths) has more on its inner side, and a root its own concentration.

use super::element;
use super::model::{BeamModel, MemberId};
use super::path::BeamStep;
use withy_mesh::number::{largest, max};

/// The section between two elements or at an end of a member.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Place at rest (mm).
    pub place: [f64; 2],
    /// Place now (mm).
    pub now: [f64; 2],
    /// Normal force, tension positive (N).
    pub normal: f64,
    /// Shear force (N).
    pub shear: f64,
    /// Bending moment, positive where it adds counter-clockwise turn along the member (N mm).
    pub moment: f64,
    /// Strains of the surface on the left and on the right of the member's direction.
    pub surface: [f64; 2],
}

impl Station {
    /// The larger surface strain of the two, without its sign.
    #[must_use]
    pub fn largest_strain(&self) -> f64 {
        max(self.surface[0].abs(), self.surface[1].abs())
    }
}

/// Sections along a member in a state: its start, between its elements, its end.
#[must_use]
pub fn stations(model: &BeamModel, step: &BeamStep, member: MemberId) -> Vec<Station> {
    let chain = &model.chains()[member.index()];
    let u = &step.members[member.index()];
    let count = chain.elements.len();
    let mut forces: Vec<[f64; 3]> = Vec::with_capacity(count + 1);
    let mut last = [0.0; 3];
    for (e, el) in chain.elements.iter().enumerate() {
        let (_, f) = element::force(el, &[u[2 * e], u[2 * e + 1], u[2 * e + 2]]);
        // The start of an element is pulled against the direction of the member.
        forces.push(f[0].map(|x| -x));
        last = f[2];
    }
    forces.push(last);
    let direction = |n: usize| {
        // Of the axis at rest, by differences that are exact for parabolas, turned as the node is.
        let p = |i: usize| chain.places[i];
        let at = 2 * n;
        let d = |i: usize| match n {
            0 => 4.0 * p(1)[i] - 3.0 * p(0)[i] - p(2)[i],
            n if n == count => 3.0 * p(at)[i] - 4.0 * p(at - 1)[i] + p(at - 2)[i],
            _ => p(at + 1)[i] - p(at - 1)[i],
        };
        let angle = d(1).atan2(d(0)) + u[at][2];
        angle.sin_cos()
    };
    (0..=count)
        .map(|n| {
            let (s, c) = direction(n);
            let [fx, fy, moment] = forces[n];
            let section = chain.sections[n];
            let (normal, shear) = (c * fx + s * fy, c * fy - s * fx);
            let middle = normal / section.axial;
            let bent = section.half_width * moment / section.bending;
            let place = chain.places[2 * n];
            let now = [place[0] + u[2 * n][0], place[1] + u[2 * n][1]];
            Station { place, now, normal, shear, moment, surface: [middle - bent, middle + bent] }
        })
        .collect()
}

/// The largest surface strain of all members in a state.
#[must_use]
pub fn largest_strain(model: &BeamModel, step: &BeamStep) -> f64 {
    let members = 0..model.members();
    let all = members.flat_map(|m| stations(model, step, MemberId(crate::dofs::index(m))));
    largest(0.0, all.map(|s| s.largest_strain()))
}
