//! What the user meant: joints, and the members between them.
//!
//! A joint is a small rigid body with three coordinates (along x, along y, turn), each driven in
//! proportion to the load factor or free, and loaded or not. A node where ribs meet, a clamp, a hinge and
//! a carriage are all joints; a member's end may lie off its joint's place and is then joined to it
//! rigidly.

use super::element::{self, Element, GAUSS_AT};
use super::section::Section;
use crate::error::ModelError;
use crate::model::Coordinate;

/// Number of a joint, in the order in which they were added.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct JointId(pub u32);

/// Number of a member, in the order in which they were added.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct MemberId(pub u32);

impl JointId {
    /// As an index.
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

impl MemberId {
    /// As an index.
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A rigid body to which members are joined.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// Its place at rest (mm); motions and moments are about it.
    pub place: [f64; 2],
    /// Along x, along y, turn (counter-clockwise).
    pub motion: [Coordinate; 3],
    /// Dead force at load factor 1 (N).
    pub force: [f64; 2],
    /// Dead moment at load factor 1, counter-clockwise (N mm).
    pub moment: f64,
}

impl Joint {
    /// A joint that keeps still and does not turn.
    #[must_use]
    pub fn clamped(place: [f64; 2]) -> Self {
        Self::driven(place, [0.0; 3])
    }

    /// A joint that keeps its place and turns freely.
    #[must_use]
    pub fn hinged(place: [f64; 2]) -> Self {
        let motion = [Coordinate::Driven(0.0), Coordinate::Driven(0.0), Coordinate::Free];
        Self { motion, ..Self::free(place) }
    }

    /// A joint that finds its own equilibrium.
    #[must_use]
    pub fn free(place: [f64; 2]) -> Self {
        Self { place, motion: [Coordinate::Free; 3], force: [0.0; 2], moment: 0.0 }
    }

    /// A joint that is moved to these coordinates (mm, mm, rad) at load factor 1.
    #[must_use]
    pub fn driven(place: [f64; 2], to: [f64; 3]) -> Self {
        Self { motion: to.map(Coordinate::Driven), ..Self::free(place) }
    }

    pub(super) fn is_clamped(&self) -> bool {
        self.motion.iter().all(|c| matches!(c, Coordinate::Driven(to) if to.abs() <= 0.0))
    }
}

/// A member: a chain of elements between two joints.
#[derive(Clone, Debug)]
pub(super) struct Member {
    /// The joints at its start and its end, by index.
    pub(super) joints: [usize; 2],
    /// From the joints' places to its ends (mm).
    pub(super) offsets: [[f64; 2]; 2],
    /// Nodes at rest: one more than twice the elements (mm).
    pub(super) places: Vec<[f64; 2]>,
    pub(super) elements: Vec<Element>,
    /// Sections between the elements and at the ends, one more than elements.
    pub(super) sections: Vec<Section>,
}

/// A checked structure of beams.
#[derive(Clone, Debug, Default)]
pub struct BeamModel {
    joints: Vec<Joint>,
    members: Vec<Member>,
}

impl BeamModel {
    /// A structure of nothing.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a joint.
    ///
    /// # Errors
    /// A number that is not finite.
    pub fn joint(&mut self, joint: Joint) -> Result<JointId, ModelError> {
        let driven = joint.motion.iter().filter_map(|c| match c {
            Coordinate::Driven(to) => Some(*to),
            Coordinate::Free => None,
        });
        for value in driven.chain(joint.place).chain(joint.force).chain([joint.moment]) {
            if !value.is_finite() {
                let what = format!("a place, motion or load of joint {}", self.joints.len());
                return Err(ModelError::NotFinite { what, value });
            }
        }
        self.joints.push(joint);
        Ok(JointId(crate::dofs::index(self.joints.len() - 1)))
    }

    /// Adds a straight member of constant section between two places, joined rigidly to two joints.
    ///
    /// # Errors
    /// As for [`Self::member`].
    pub fn straight(
        &mut self,
        joints: [JointId; 2],
        ends: [[f64; 2]; 2],
        section: Section,
        elements: u32,
    ) -> Result<MemberId, ModelError> {
        let along = |s: f64| [0, 1].map(|i| (1.0 - s) * ends[0][i] + s * ends[1][i]);
        self.member(joints, along, |_| Ok(section), elements)
    }

    /// Adds a member of any axis and taper: place (mm) and section by the parameter 0 to 1, which is cut
    /// into equal parts.
    ///
    /// # Errors
    /// A joint that does not exist, no element, an axis that does not go ahead, a section that is none.
    pub fn member(
        &mut self,
        joints: [JointId; 2],
        axis: impl Fn(f64) -> [f64; 2],
        section: impl Fn(f64) -> Result<Section, ModelError>,
        elements: u32,
    ) -> Result<MemberId, ModelError> {
        for joint in joints {
            if joint.index() >= self.joints.len() {
                return Err(ModelError::NoSuchJoint { joint: joint.0, joints: self.joints.len() });
            }
        }
        let number = self.members.len();
        let parts = f64::from(elements);
        let places: Vec<[f64; 2]> =
            (0..=2 * elements).map(|n| axis(f64::from(n) / (2.0 * parts))).collect();
        let mut chain = Vec::new();
        for e in 0..elements {
            let sections = [
                section((f64::from(e) + GAUSS_AT[0]) / parts)?,
                section((f64::from(e) + GAUSS_AT[1]) / parts)?,
            ];
            let at = 2 * e as usize;
            let three = [places[at], places[at + 1], places[at + 2]];
            let element = element::element(&three, sections);
            chain.push(element.ok_or(ModelError::NoAxis { member: number })?);
        }
        let (Some(&first), Some(&last)) = (places.first(), places.last()) else {
            return Err(ModelError::NoAxis { member: number });
        };
        if chain.is_empty() {
            return Err(ModelError::NoAxis { member: number });
        }
        let sections =
            (0..=elements).map(|n| section(f64::from(n) / parts)).collect::<Result<_, _>>()?;
        let joints = joints.map(JointId::index);
        let offset = |joint: usize, end: [f64; 2]| {
            let [x, y] = self.joints[joint].place;
            [end[0] - x, end[1] - y]
        };
        let offsets = [offset(joints[0], first), offset(joints[1], last)];
        self.members.push(Member { joints, offsets, places, elements: chain, sections });
        Ok(MemberId(crate::dofs::index(number)))
    }

    /// The joints.
    #[must_use]
    pub fn joints(&self) -> &[Joint] {
        &self.joints
    }

    /// Number of members.
    #[must_use]
    pub fn members(&self) -> usize {
        self.members.len()
    }

    /// Places of a member's nodes at rest, along its axis (mm).
    #[must_use]
    pub fn places(&self, member: MemberId) -> &[[f64; 2]] {
        &self.members[member.index()].places
    }

    /// Widths of a member in the plane at its stations, from its start to its end (mm).
    #[must_use]
    pub fn widths(&self, member: MemberId) -> Vec<f64> {
        self.members[member.index()].sections.iter().map(Section::width).collect()
    }

    pub(super) fn chains(&self) -> &[Member] {
        &self.members
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_structure_that_makes_no_sense_is_refused() {
        let section = Section::new(1.0, 1.0, 1.0, 1.0).unwrap();
        let mut model = BeamModel::new();
        let a = model.joint(Joint::clamped([0.0; 2])).unwrap();
        let b = model.joint(Joint::free([1.0, 0.0])).unwrap();
        let ends = [[0.0; 2], [1.0, 0.0]];
        let far = model.straight([a, JointId(7)], ends, section, 2);
        assert_eq!(far.err(), Some(ModelError::NoSuchJoint { joint: 7, joints: 2 }));
        let none = model.straight([a, b], ends, section, 0);
        assert_eq!(none.err(), Some(ModelError::NoAxis { member: 0 }), "no element");
        let point = model.straight([a, b], [[0.0; 2]; 2], section, 3);
        assert_eq!(point.err(), Some(ModelError::NoAxis { member: 0 }), "no length");
        let nan = model.straight([a, b], [[0.0; 2], [f64::NAN, 0.0]], section, 3);
        assert_eq!(nan.err(), Some(ModelError::NoAxis { member: 0 }), "nowhere");
        let off = model.joint(Joint::free([f64::INFINITY, 0.0]));
        assert!(matches!(off, Err(ModelError::NotFinite { .. })), "{off:?}");
        assert_eq!(model.members(), 0, "nothing was kept");
    }
}
