//! From a part file to a case that is ready to be meshed and solved.
//!
//! Two stages: [`PartFile`] is the file as it is written, [`Case`] is what it means. Everything is
//! checked between the two, so that a `Case` never contradicts itself.

mod acts;
mod beads;
mod contact;
mod effort;
mod error;
mod hand;
mod launch;
mod made;
mod nearest;
mod placed;
mod printer;
mod selection;
mod shape;
mod stages;
#[cfg(test)]
mod tests;
pub(crate) mod toml_text;
pub mod written;
pub mod written_shapes;

pub(crate) use nearest::nearest;

pub use acts::{Drive, Free, Held, Hold, Load};
pub(crate) use beads::estimated_shear;
pub use contact::{Obstacle, SelfContact};
pub use error::CaseCause;
pub use hand::Hand;
pub use launch::{Launch, LaunchLimit};
pub use made::Made;
pub use placed::Placed;
pub use printer::Printer;
pub use written::PartFile;

use crate::drawing::{self, Drawing};
use crate::error::{Refusal, Source};
use crate::maker::RibSpring;
use crate::material::{self, Card};
use crate::printing::{Look, Printability, printability};
use crate::quantity::Length;
use crate::remark::Remark;
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::{Path, PathBuf};
use withy_mesh::Outline;
use withy_solver::{Beads, Stage};
use written::{LawWord, StateWord};

/// Nothing thicker or rounder than 10 m (mm).
const LARGEST_MM: f64 = 10_000.0;

/// How stress or strain out of the plane is treated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlaneChoice {
    /// By the part's proportions.
    Auto,
    /// Free to bulge.
    PlaneStress,
    /// Kept from bulging.
    PlaneStrain,
}

/// Which strain goes with stress along a straight line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ElasticLaw {
    /// That of Green and Lagrange.
    #[default]
    StVenantKirchhoff,
    /// The logarithm of the stretch.
    Hencky,
}

impl ElasticLaw {
    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::StVenantKirchhoff => "St. Venant-Kirchhoff",
            Self::Hencky => "Hencky",
        }
    }
}

/// What was meant: checked, in millimetres, newtons and radians.
#[derive(Clone, Debug)]
pub struct Case {
    /// The part file.
    pub path: PathBuf,
    /// Its title, or else its file name.
    pub title: String,
    /// The drawing; empty if the outline is made of numbers.
    pub drawing: PathBuf,
    /// Width and height of the drawing's page, if it has one (mm).
    pub page: Option<[f64; 2]>,
    /// The part and its regions (mm).
    pub outline: Outline,
    /// Out of the plane (mm).
    pub thickness: f64,
    /// Plane stress or plane strain.
    pub plane_state: PlaneChoice,
    /// What it is printed from.
    pub material: Card,
    /// What is kept still.
    pub holds: Vec<Hold>,
    /// What is moved.
    pub drives: Vec<Drive>,
    /// What is loaded.
    pub loads: Vec<Load>,
    /// A point of the first moving region at which its stiffness is wanted too (mm).
    pub guided_at: Option<[f64; 2]>,
    /// Rails and pins that the part meets.
    pub obstacles: Vec<Obstacle>,
    /// Whether it meets itself.
    pub self_contact: SelfContact,
    /// What the user's hand can give, if it is told.
    pub hand: Option<Hand>,
    /// What `withy set` does with it, if the part file says so.
    pub stages: Vec<Stage>,
    /// Where printed beads lie, if the part is taken as made of them.
    pub beads: Option<Beads>,
    /// Whether strains are logarithmic.
    pub law: ElasticLaw,
    /// Results are reported at this many equal parts of the draw.
    pub steps: u32,
    /// Relative change below which the hot spot's stress is accepted.
    pub accuracy: f64,
    /// Whether the shapes are wanted in which it rests when it was kept drawn.
    pub recovery: bool,
    /// No mesh of more elements than this.
    pub most_elements: usize,
    /// No better mesh is begun after this time (ms).
    pub most_time: Option<f64>,
    /// Largest departure of the printed part from its drawing, if one is to be studied (mm).
    pub imperfection: Option<f64>,
    /// What prints it, if it is told.
    pub printer: Option<Printer>,
    /// What it makes of the part.
    pub printability: Printability,
    /// What is thrown when it is let go, if anything.
    pub launch: Option<Launch>,
    /// The numbers of its rib spring, if it is made of them.
    pub spring: Option<RibSpring>,
    /// What was assumed or left out.
    pub remarks: Vec<Remark>,
    /// The part file's text, and where it first mentions each region, for complaints.
    source: Source,
    region_places: BTreeMap<String, Range<usize>>,
}

impl Case {
    /// The same text read again, with other overrides.
    ///
    /// # Errors
    /// As [`read`].
    pub fn again(&self, overrides: &Overrides) -> Result<Self, Refusal> {
        read_source(self.source.clone(), overrides)
    }

    /// The name of the part file, without its folder.
    #[must_use]
    pub fn file_name(&self) -> String {
        self.path.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// Its elastic law in words.
    #[must_use]
    pub fn law_words(&self) -> String {
        match self.beads {
            None => format!("{}, isotropic", self.law.name()),
            Some(beads) => format!("{}, orthotropic, {}", self.law.name(), beads::words(beads)),
        }
    }

    /// A complaint about a region, where the part file first mentions it.
    #[must_use]
    pub fn complaint(&self, region: &str, cause: CaseCause) -> Refusal {
        match self.region_places.get(region) {
            Some(span) => Refusal::at(&self.source, span.clone(), cause),
            None => Refusal::of_file(&self.path, cause),
        }
    }
}

/// What the command line says instead of the part file.
#[derive(Clone, Debug, Default)]
pub struct Overrides {
    /// Instead of `steps`.
    pub steps: Option<u32>,
    /// Instead of `accuracy`: a fraction.
    pub accuracy: Option<f64>,
    /// Instead of `elements`.
    pub elements: Option<u32>,
    /// Instead of `time` (ms).
    pub time: Option<f64>,
    /// Instead of `card`: a name on the shelf, or a path relative to the working directory.
    pub material: Option<String>,
    /// How closely the printer looks at the part.
    pub look: Look,
    /// Whether the shapes are wanted in which the part rests when it was kept drawn: they cost some more solves.
    pub recovery: bool,
}

/// Reads a part file and everything that it names.
///
/// # Errors
/// Anything that cannot be read or understood, that is missing or contradicts itself: with its file,
/// its place and its mend.
pub fn read(path: &Path, overrides: &Overrides) -> Result<Case, Refusal> {
    read_source(toml_text::open(path)?, overrides)
}

/// Reads the text of a part file, and everything that it names beside the place it is said to be at.
///
/// # Errors
/// As [`read`].
pub fn read_source(source: Source, overrides: &Overrides) -> Result<Case, Refusal> {
    let path = &source.path().to_path_buf();
    let file: PartFile = toml_text::parse(&source)?;
    let printer = printer::read(&file, &source)?;
    let shaped = shape::read(&file, &source, printer.as_ref())?;
    let acts = acts::Acts::new(&file, &source, shaped.as_ref().map(|s| &s.made))?;
    let thickness = length(&source, "thickness", &file.outline.thickness)?;
    let hand = hand::read(&file, &acts, &source)?;
    let effort = effort::read(&file, &source, overrides)?;
    let imperfection = match &file.imperfection {
        Some(table) => Some(length(&source, "amplitude", &table.amplitude)?),
        None => None,
    };
    let directory = path.parent().unwrap_or(Path::new(""));
    let mut remarks = Vec::new();
    let written = &file.material;
    let mut material = material::resolve(
        written,
        &source,
        directory,
        overrides.material.as_deref(),
        &mut remarks,
    )?;
    let beads = beads::read(&file, &source, &mut material, &mut remarks)?;
    let launch = launch::launch(&file, &source, &acts, &material, &mut remarks)?;
    let mut region_places: BTreeMap<String, Range<usize>> = selection::used_regions(&file)
        .into_iter()
        .map(|(name, span)| (name.to_owned(), span))
        .collect();
    let spring = shaped.as_ref().and_then(|s| s.spring.clone());
    let (drawing, page, mut outline) = match shaped {
        Some(shape::Shaped { made, span, .. }) => {
            for name in acts.regions() {
                region_places.entry(name.to_owned()).or_insert_with(|| span.clone());
            }
            let outline = selection::shaped(&file, &source, &made, &acts, &mut remarks)?;
            (PathBuf::new(), Some(made.page), outline)
        }
        None => {
            let drawing = open_drawing(&file, &source, directory)?;
            remarks.extend_from_slice(drawing.remarks());
            let outline = selection::outline(&file, &source, &drawing, &mut remarks)?;
            (drawing.path().to_path_buf(), drawing.page(), outline)
        }
    };
    if let Some(fillet) = &file.outline.fillet {
        let radius = length(&source, "fillet", fillet)?;
        let misfit = |error| Refusal::at(&source, fillet.span(), CaseCause::BadFillet(error));
        outline = outline.with_fillets(radius).map_err(misfit)?;
    }
    let printability = printability(&outline, printer.as_ref(), overrides.look);
    remarks.extend_from_slice(&printability.remarks);
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let stages = stages::read(&file, &source, &material)?;
    Ok(Case {
        path: path.to_path_buf(),
        title: file.title.clone().unwrap_or_else(|| name.into_owned()),
        drawing,
        page,
        outline,
        thickness,
        plane_state: match file.outline.state {
            None if beads.is_some() => PlaneChoice::PlaneStress,
            None => PlaneChoice::Auto,
            Some(StateWord::PlaneStress) => PlaneChoice::PlaneStress,
            Some(StateWord::PlaneStrain) => PlaneChoice::PlaneStrain,
        },
        material,
        holds: acts.holds,
        drives: acts.drives,
        loads: acts.loads,
        guided_at: file.guidance.as_ref().map(|g| g.at.map(|x| x.value())),
        obstacles: contact::obstacles(&file, &source)?,
        self_contact: contact::choice(&file),
        hand,
        beads,
        stages,
        law: match file.solve.law {
            None | Some(LawWord::StVenantKirchhoff) => ElasticLaw::StVenantKirchhoff,
            Some(LawWord::Hencky) => ElasticLaw::Hencky,
        },
        steps: effort.steps,
        accuracy: effort.accuracy,
        recovery: overrides.recovery,
        most_elements: effort.most_elements,
        most_time: effort.most_time,
        imperfection,
        printer,
        printability,
        launch,
        spring,
        remarks,
        region_places,
        source,
    })
}

/// The JSON Schemas of the part file and of a material card, as `{"part": ..., "card": ...}`.
#[must_use]
pub fn schema() -> serde_json::Value {
    serde_json::json!({
        "part": schemars::schema_for!(PartFile),
        "card": schemars::schema_for!(material::Written),
    })
}

/// A length that must be above zero.
fn length(source: &Source, what: &str, length: &Placed<Length>) -> Result<f64, Refusal> {
    let value = length.value();
    if value > 0.0 && value <= LARGEST_MM {
        return Ok(value);
    }
    let cause = CaseCause::OutOfRange {
        what: what.into(),
        found: format!("{value} mm"),
        range: "above 0 mm and at most 10 m".into(),
    };
    Err(Refusal::at(source, length.span(), cause))
}

/// The drawing; one that is missing is a mistake of the part file.
fn open_drawing(file: &PartFile, source: &Source, directory: &Path) -> Result<Drawing, Refusal> {
    let Some(name) = &file.outline.drawing else {
        let cause = CaseCause::MissingKey { key: "drawing".into() };
        return Err(Refusal::at(source, file.outline.span(), cause));
    };
    drawing::read(&directory.join(name.as_str()))
        .map_err(|refusal| refusal.or_at(source, name.span()))
}
