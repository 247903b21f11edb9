//! A rib's numbers from the command line, a small TOML file, or both.

use super::{End, Rib};
use crate::args::RibArgs;
use crate::case::{CaseCause, Placed, toml_text};
use crate::error::{Refusal, Source};
use crate::material;
use crate::quantity::{Angle, Dimension, Length, Quantity, Ratio};
use miette::Diagnostic;
use serde::Deserialize;
use std::ops::Range;
use std::path::Path;
use thiserror::Error;
use withy_mesh::OutlineError;

/// A rib file as it is written; each key is an option of the command line too.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct RibFile {
    length: Option<Placed<Length>>,
    width: Option<Placed<Length>>,
    thickness: Option<Placed<Length>>,
    angle: Option<Placed<Angle>>,
    draw: Option<Placed<Length>>,
    fillet: Option<Placed<Length>>,
    end: Option<End>,
    material: Option<Placed<String>>,
    steps: Option<Placed<i64>>,
    accuracy: Option<Placed<Ratio>>,
}

/// Why there is no rib.
#[derive(Debug, Error, Diagnostic)]
pub enum RibError {
    /// A file, a key or a card.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Refused(#[from] Box<Refusal>),
    /// The numbers, taken together.
    #[error("{0}")]
    #[diagnostic(help("{}", .0.mend()))]
    Numbers(RibCause),
}

/// What is wrong with a rib's numbers.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum RibCause {
    /// A number that must be there.
    #[error("the rib's {0} is missing")]
    Missing(&'static str),
    /// A rib too stout for beams.
    #[error(
        "a rib of {length} x {width} mm is no beam: it must be at least {LEAST_SLENDERNESS} times as long as wide"
    )]
    Stout {
        /// Its length (mm).
        length: f64,
        /// Its width (mm).
        width: f64,
    },
    /// A draw farther than the rib is long.
    #[error("a draw of {draw} mm is more than nine tenths of the rib's length, {length} mm")]
    Far {
        /// The draw (mm).
        draw: f64,
        /// The length (mm).
        length: f64,
    },
    /// Fillets that leave no rib between them.
    #[error("{0}")]
    Fillet(OutlineError),
}

impl RibCause {
    fn mend(&self) -> String {
        match self {
            Self::Missing(what) => format!(
                "add --{what}, or a line '{what} = ...' in a rib file, for example\n  withy rib --length \
                 \"36 mm\" --width \"1.2 mm\" --thickness \"6 mm\" --angle \"70 deg\" --draw \"8 mm\" --material petg"
            ),
            Self::Stout { .. } => {
                "give the clear length between the roots, and the width in the plane".into()
            }
            Self::Far { .. } => "draw it less far".into(),
            Self::Fillet(_) => "give a smaller --fillet, or an angle nearer to 90 degrees".into(),
        }
    }
}

/// Below this a beam says little (L/w): shear alone is a third of the bending.
const LEAST_SLENDERNESS: f64 = 3.0;
/// A draw beyond this part of the length is no rib's any more.
const FARTHEST: f64 = 0.9;
/// Nothing longer than this (mm).
const LARGEST_MM: f64 = 10_000.0;
/// Between rib and draw; nearer to the draw it is a strut (degrees).
const ANGLES: (f64, f64) = (10.0, 170.0);
/// States shown, if nothing is said, and at most.
const USUAL_STEPS: i64 = 8;
const MOST_STEPS: i64 = 200;
/// Accuracy of the hot spot, if nothing is said, and what makes sense.
const USUAL_ACCURACY: f64 = 0.02;
const ACCURACIES: (f64, f64) = (0.001, 0.5);
/// The fillet, if nothing is said, in widths of the rib.
const USUAL_FILLET: f64 = 0.5;

/// Reads a rib; the command line overrules the file.
///
/// # Errors
/// What cannot be read or understood, what is missing, what makes no rib.
pub fn read(args: &RibArgs) -> Result<Rib, RibError> {
    let (file, source) = match &args.rib {
        Some(path) => {
            let source = toml_text::open(path).map_err(Box::new)?;
            (toml_text::parse::<RibFile>(&source).map_err(Box::new)?, source)
        }
        None => (RibFile::default(), Source::new(Path::new(""), String::new())),
    };
    let source = &source;
    let length = positive(source, "length", args.length.as_ref(), file.length.as_ref())?;
    let width = positive(source, "width", args.width.as_ref(), file.width.as_ref())?;
    let thickness =
        positive(source, "thickness", args.thickness.as_ref(), file.thickness.as_ref())?;
    let draw = positive(source, "draw", args.draw.as_ref(), file.draw.as_ref())?;
    let angle = either(args.angle.as_ref(), file.angle.as_ref());
    let angle = match angle {
        None => std::f64::consts::FRAC_PI_2,
        Some((angle, span)) => {
            let found = angle.to_degrees();
            let range = format!("from {} to {} deg", ANGLES.0, ANGLES.1);
            let sound = found >= ANGLES.0 && found <= ANGLES.1;
            within(source, span, sound, "angle", format!("{found:.2} deg"), &range)?;
            angle
        }
    };
    let fillet = match positive(source, "fillet", args.fillet.as_ref(), file.fillet.as_ref()) {
        Err(RibError::Numbers(RibCause::Missing(_))) => USUAL_FILLET * width,
        other => other?,
    };
    let (steps, span) = match (args.steps, &file.steps) {
        (Some(steps), _) => (i64::from(steps), None),
        (None, Some(steps)) => (**steps, Some(steps.span())),
        (None, None) => (USUAL_STEPS, None),
    };
    let range = format!("from 1 to {MOST_STEPS}");
    let sound = (1..=MOST_STEPS).contains(&steps);
    within(source, span, sound, "steps", steps.to_string(), &range)?;
    let accuracy = match either(args.accuracy.as_ref(), file.accuracy.as_ref()) {
        None => USUAL_ACCURACY,
        Some((value, span)) => {
            let sound = value >= ACCURACIES.0 && value <= ACCURACIES.1;
            let found = format!("{} %", 100.0 * value);
            within(source, span, sound, "accuracy", found, "from \"0.1 %\" to \"50 %\"")?;
            value
        }
    };
    let slender = length >= LEAST_SLENDERNESS * width;
    if !slender {
        return Err(RibError::Numbers(RibCause::Stout { length, width }));
    }
    let near = draw <= FARTHEST * length;
    if !near {
        return Err(RibError::Numbers(RibCause::Far { draw, length }));
    }
    let (material, remarks) = card(args, &file, source)?;
    Ok(Rib {
        length,
        width,
        thickness,
        angle,
        draw,
        fillet,
        end: args.end.or(file.end).unwrap_or_default(),
        material,
        steps: u32::try_from(steps).unwrap_or(1),
        accuracy,
        remarks,
    })
}

/// The card; one that the file names may lie beside the file.
fn card(
    args: &RibArgs,
    file: &RibFile,
    source: &Source,
) -> Result<(material::Card, Vec<crate::remark::Remark>), RibError> {
    if let Some(name) = &args.material {
        return Ok(material::card(name).map_err(Box::new)?);
    }
    let Some(name) = &file.material else {
        return Err(RibError::Numbers(RibCause::Missing("material")));
    };
    let named = material::Written { card: Some(name.clone()), ..material::Written::default() };
    let directory = source.path().parent().unwrap_or(Path::new(""));
    let mut remarks = Vec::new();
    let written = Placed::new(named, name.span());
    let card = material::resolve(&written, source, directory, None, &mut remarks);
    Ok((card.map_err(Box::new)?, remarks))
}

/// What the command line says, or else the file, with its place there.
fn either<D: Dimension>(
    option: Option<&Quantity<D>>,
    written: Option<&Placed<Quantity<D>>>,
) -> Option<(f64, Option<Range<usize>>)> {
    let from_file = written.map(|w| (w.value(), Some(w.span())));
    option.map(|o| (o.value(), None)).or(from_file)
}

/// A length above zero.
fn positive(
    source: &Source,
    what: &'static str,
    option: Option<&Length>,
    written: Option<&Placed<Length>>,
) -> Result<f64, RibError> {
    let Some((value, span)) = either(option, written) else {
        return Err(RibError::Numbers(RibCause::Missing(what)));
    };
    let sound = value > 0.0 && value <= LARGEST_MM;
    within(source, span, sound, what, format!("{value} mm"), "above 0 mm and at most 10 m")?;
    Ok(value)
}

fn within(
    source: &Source,
    span: Option<Range<usize>>,
    sound: bool,
    what: &str,
    found: String,
    range: &str,
) -> Result<(), RibError> {
    if sound {
        return Ok(());
    }
    let what = if span.is_some() { what.to_owned() } else { format!("--{what}") };
    let cause = CaseCause::OutOfRange { what, found, range: range.to_owned() };
    Err(RibError::Refused(Box::new(Refusal::at_or_of(source, span, cause))))
}
