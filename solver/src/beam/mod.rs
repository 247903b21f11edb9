//! A fast model of slender ribs: geometrically exact planar beams between joints.
//!
//! Reissner's beam stretches, shears and bends without any limit on displacement and turn, its sections
//! linear elastic (`section`). Elements have three nodes and reduced integration (`element`); a member is
//! a chain of them between two rigid joints (`model`), condensed to its ends (`condense`); joints are
//! solved for in an envelope (`joints`); `system` assembles, `path` follows by load steps or by arc
//! length, `outcome` tells section forces and surface strains. It knows no fillet, no root that
//! gives way, and no contact; the plane part does.
//!
//! ```
//! use std::ops::ControlFlow;
//! use withy_solver::beam::{BeamModel, BeamOptions, Joint, Section, follow_beams};
//! use withy_solver::{Elastic, PlaneState};
//!
//! // A rib of 30 x 1.2 x 6 mm: clamped, its other end moved 5 mm across without turning.
//! let law = Elastic::new(2000.0, 0.38, PlaneState::PlaneStress)?;
//! let mut model = BeamModel::new();
//! let frame = model.joint(Joint::clamped([0.0, 0.0]))?;
//! let carriage = model.joint(Joint::driven([30.0, 0.0], [0.0, 5.0, 0.0]))?;
//! let section = Section::rectangle(&law, 1.2, 6.0)?;
//! model.straight([frame, carriage], [[0.0, 0.0], [30.0, 0.0]], section, 8)?;
//! let steps = follow_beams(&model, &BeamOptions::default(), &mut |_| ControlFlow::Continue(()))?;
//! let [along, across, _] = steps[19].reactions[carriage.index()];
//! assert!(across > 40.0 && along > 150.0, "it stretches more than it bends");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod condense;
mod element;
mod joints;
mod model;
mod outcome;
mod path;
mod section;
mod system;

pub use model::{BeamModel, Joint, JointId, MemberId};
pub use outcome::{Station, largest_strain, stations};
pub use path::{ArcOptions, BeamOptions, BeamStep, BeamStopped, follow_arc, follow_beams};
pub use section::Section;
