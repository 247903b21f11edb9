//! What the print leaves open: each uncertain thing at both of its ends, and what it does to force, energy, strain and
//! speed.
//!
//! Modulus, depth and solid share are factors, exact for a part that is driven; the width of walls and the direction of
//! beads take a solve of their own, on the solved mesh with its border moved.

mod walls;

use crate::analysis::{
    Analysis, AnalysisError, Axis, Watch, moving_regions, shot, solve_again_on, thrown_by,
};
use crate::case::Case;
use crate::picture::three_digits;
use withy_mesh::number::largest;
use withy_solver::release::{USUAL_PIECES, release};
use withy_solver::{Beads, Step};

/// If the part file does not tell, mm: common practice, no source.
const WALLS: f64 = 0.05;
const THICKNESS: f64 = 0.1;
/// Prints hold 2 to 8 % of voids, and so do printed test bars: common practice, no source.
const SOLID: [f64; 3] = [0.92, 0.95, 0.98];
/// What a kitchen scale leaves open of a weighed part's solid share.
const WEIGHING: f64 = 0.01;

/// What is asked of a part at full draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// Force or moment (N or N mm).
    pub effort: f64,
    /// Stored energy (mJ).
    pub energy: f64,
    /// Largest strain over the draw.
    pub strain: f64,
    /// Largest von Mises stress over the draw (MPa).
    pub stress: f64,
    /// Of what is thrown (m/s), if anything is.
    pub speed: Option<f64>,
}

/// One uncertain thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// What.
    pub name: &'static str,
    /// Its two ends in words.
    pub ends: [String; 2],
    /// What each does; the same twice where there is one end only.
    pub outcomes: [Outcome; 2],
    /// Where its range comes from.
    pub source: String,
    /// Whether both ends are as likely as not and add up with others; a choice does not.
    pub is_range: bool,
}

/// All of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// What draws it and its unit: "force" and "N", or "moment" and "N mm".
    pub effort: [&'static str; 2],
    /// As solved.
    pub base: Outcome,
    /// The uncertain things.
    pub inputs: Vec<Input>,
    /// What was left out, and why.
    pub left_out: Vec<String>,
}

/// Name and unit of an outcome, and how it is read.
pub type Read = (&'static str, &'static str, fn(&Outcome) -> Option<f64>);

impl Spread {
    /// The outcomes that are told, with their units and how to read them.
    #[must_use]
    pub fn told(&self) -> [Read; 4] {
        let [effort, unit] = self.effort;
        [
            (effort, unit, |o| Some(o.effort)),
            ("energy", "mJ", |o| Some(o.energy)),
            ("largest strain", "%", |o| Some(100.0 * o.strain)),
            ("speed", "m/s", |o| o.speed),
        ]
    }

    /// Lowest and highest of an outcome if all that are ranges are independent: the root of the sum of the squares of
    /// the changes to either side.
    #[must_use]
    pub fn together(&self, of: impl Fn(&Outcome) -> Option<f64>) -> Option<[f64; 2]> {
        let base = of(&self.base)?;
        let (mut down, mut up) = (0.0, 0.0);
        for input in self.inputs.iter().filter(|i| i.is_range) {
            let changes = [of(&input.outcomes[0])? - base, of(&input.outcomes[1])? - base];
            let (low, high) = (largest(0.0, changes.map(|c| -c)), largest(0.0, changes));
            down += low * low;
            up += high * high;
        }
        Some([base - down.sqrt(), base + up.sqrt()])
    }
}

impl Outcome {
    /// Stiffness and mass of the whole part times factors; strains stay.
    fn scaled(&self, stiffness: f64, stress: f64, speed: Option<f64>) -> Self {
        Self {
            effort: stiffness * self.effort,
            energy: stiffness * self.energy,
            strain: self.strain,
            stress: stress * self.stress,
            speed,
        }
    }
}

/// Finds the spread of a solved part that is driven.
///
/// # Errors
/// A solve of the part with other walls or beads that finds no state.
pub fn spread(
    case: &Case,
    analysis: &Analysis,
    watch: &mut Watch,
) -> Result<Spread, AnalysisError> {
    let solution = &analysis.solution;
    let printer = case.printer.unwrap_or_default();
    let launched = solution.launched.as_ref().zip(case.launch.as_ref());
    let base = Outcome {
        speed: launched.map(|(l, _)| l.release.speed),
        ..outcome(case, &solution.path.steps, &solution.peaks)
    };
    // Speed with stiffness and mass times factors.
    let speed = |stiffness: f64, mass: f64| {
        let (l, launch) = launched?;
        let way = l.way.scaled(stiffness, mass);
        release(&way, &shot(launch), USUAL_PIECES).ok().map(|r| r.speed)
    };
    let factor = |stiffness: f64, stress: f64, mass: f64| {
        base.scaled(stiffness, stress, speed(stiffness, mass))
    };
    let mut inputs = Vec::new();
    let mut left_out = Vec::new();
    let modulus = &case.material.youngs_modulus;
    match (modulus.low, modulus.high) {
        (Some(low), Some(high)) => inputs.push(Input {
            name: "modulus",
            ends: [low, high].map(|e| format!("{} MPa", three_digits(e))),
            outcomes: [low, high].map(|e| factor(e / modulus.value, e / modulus.value, 1.0)),
            source: format!("the card's spread: {}", modulus.source),
            is_range: true,
        }),
        _ => left_out.push("modulus: the card gives no spread".to_owned()),
    }
    let usual = "common practice, no source";
    let told = |told: bool| if told { "the part file".to_owned() } else { usual.to_owned() };
    let depth = printer.thickness_tolerance.unwrap_or(THICKNESS);
    let thicknesses = [case.thickness - depth, case.thickness + depth];
    inputs.push(Input {
        name: "thickness",
        ends: thicknesses.map(|t| format!("{} mm", three_digits(t))),
        outcomes: thicknesses.map(|t| factor(t / case.thickness, 1.0, t / case.thickness)),
        source: told(printer.thickness_tolerance.is_some()),
        is_range: true,
    });
    inputs.push(solid(case, analysis, &printer, &factor));
    let tolerance = printer.wall_tolerance.unwrap_or(WALLS);
    let mut outcomes = Vec::new();
    for side in [-1.0, 1.0] {
        let mesh = walls::moved(&analysis.mesh, 0.5 * side * tolerance)?;
        let again = solve_again_on(case, analysis, &mesh, watch)?;
        outcomes.push(Outcome {
            speed: thrown_by(case, &mesh, &again.path.steps),
            ..outcome(case, &again.path.steps, &again.peaks)
        });
    }
    if let [thinner, thicker] = outcomes[..] {
        inputs.push(Input {
            name: "walls",
            ends: ["-", "+"].map(|sign| format!("{sign}{} mm", rounded(tolerance))),
            outcomes: [thinner, thicker],
            source: told(printer.wall_tolerance.is_some()),
            is_range: true,
        });
    }
    if case.material.modulus_across.is_some()
        && case.material.shear_modulus.is_some()
        && case.beads.is_none()
    {
        let mut beaded = case.clone();
        beaded.beads = Some(Beads::AlongOutline);
        let again = solve_again_on(&beaded, analysis, &analysis.mesh, watch)?;
        let along = Outcome {
            speed: thrown_by(case, &analysis.mesh, &again.path.steps),
            ..outcome(case, &again.path.steps, &again.peaks)
        };
        inputs.push(Input {
            name: "beads",
            ends: ["along the outline".to_owned(), "along the outline".to_owned()],
            outcomes: [along; 2],
            source: "the card's modulus across and shear modulus".to_owned(),
            is_range: false,
        });
    } else if case.beads.is_none() {
        left_out.push("beads: the card gives no modulus_across and shear_modulus".to_owned());
    }
    let axis = Axis::of(case, moving_regions(case).first().copied().unwrap_or_default());
    let effort = match axis {
        Axis::Along(_) => "force",
        Axis::Turn(_) => "moment",
    };
    Ok(Spread { effort: [effort, axis.units()[1]], base, inputs, left_out })
}

/// Hundredths of a millimetre are all that a printer knows.
fn rounded(mm: f64) -> String {
    let text = format!("{mm:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Stiffness and mass go with the share of solid against that of the bars that the card's modulus was tested on.
fn solid(
    case: &Case,
    analysis: &Analysis,
    printer: &crate::case::Printer,
    factor: &dyn Fn(f64, f64, f64) -> Outcome,
) -> Input {
    let [low, usual, high] = SOLID;
    let density = case.material.density.as_ref().map(|d| d.value);
    let whole = density.map(|d| d * case.thickness * analysis.mesh.area());
    let (ends, source) = match printer.weighed.zip(whole) {
        Some((weighed, whole)) => {
            let share = weighed / whole;
            let source = format!(
                "weighed: {} of {} g if it were solid",
                three_digits(weighed),
                three_digits(whole)
            );
            ([share * (1.0 - WEIGHING), share * (1.0 + WEIGHING)], source)
        }
        None => ([low, high], "common practice, no source".to_owned()),
    };
    Input {
        name: "solid share",
        ends: ends.map(|s| format!("{:.0} %", 100.0 * s)),
        // The launch counts the part as solid: its mass goes with the share itself.
        outcomes: ends.map(|s| factor(s / usual, s / usual, s)),
        source,
        is_range: true,
    }
}

fn outcome(case: &Case, steps: &[Step], peaks: &[crate::analysis::StepPeaks]) -> Outcome {
    let name = moving_regions(case).first().copied().unwrap_or_default();
    let axis = Axis::of(case, name);
    let last = steps.last();
    Outcome {
        effort: last.map_or(f64::NAN, |s| axis.effort(&s.reactions[0])),
        energy: last.map_or(f64::NAN, |s| s.strain_energy),
        strain: largest(0.0, peaks.iter().map(|p| p.strain)),
        stress: largest(0.0, peaks.iter().map(|p| p.von_mises)),
        speed: None,
    }
}
