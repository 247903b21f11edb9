//! A case that no part file wrote: made of an outline in code.

use super::{Case, Drive, Hold, PlaneChoice};
use crate::error::Source;
use crate::material::Card;
use crate::printing::Printability;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use withy_mesh::Outline;

/// What such a case is made of; the rest is as if the part file said nothing.
#[derive(Clone, Debug)]
pub struct Made {
    /// For people.
    pub title: String,
    /// The part and its regions (mm).
    pub outline: Outline,
    /// Out of the plane (mm).
    pub thickness: f64,
    /// What it is printed from.
    pub material: Card,
    /// What is kept still.
    pub hold: Hold,
    /// What is moved.
    pub drive: Drive,
    /// Results at so many equal parts of the draw.
    pub steps: u32,
    /// Relative change below which the hot spot's stress is accepted.
    pub accuracy: f64,
}

impl Case {
    /// A case in plane stress, its regions named in the outline.
    #[must_use]
    pub fn made(made: Made) -> Self {
        Self {
            path: PathBuf::from(made.title.as_str()),
            title: made.title,
            drawing: PathBuf::new(),
            page: None,
            outline: made.outline,
            thickness: made.thickness,
            plane_state: PlaneChoice::PlaneStress,
            material: made.material,
            holds: vec![made.hold],
            drives: vec![made.drive],
            loads: Vec::new(),
            guided_at: None,
            obstacles: Vec::new(),
            self_contact: super::SelfContact::default(),
            hand: None,
            beads: None,
            stages: Vec::new(),
            law: super::ElasticLaw::default(),
            steps: made.steps,
            accuracy: made.accuracy,
            recovery: false,
            most_elements: super::effort::USUAL_ELEMENTS,
            most_time: None,
            imperfection: None,
            printer: None,
            printability: Printability::default(),
            launch: None,
            spring: None,
            remarks: Vec::new(),
            source: Source::new(Path::new(""), String::new()),
            region_places: BTreeMap::new(),
        }
    }
}
