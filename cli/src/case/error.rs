//! What can be wrong with a part file or a material card, and what to do about each.

use crate::maker::Unmakeable;
use thiserror::Error;
use withy_mesh::OutlineError;
use withy_solver::ModelError;

/// Why a part file or a card was refused.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum CaseCause {
    /// The file is not there or cannot be opened.
    #[error("the file cannot be read: {why}")]
    Unreadable {
        /// The operating system's words.
        why: String,
    },
    /// The text is not TOML, or a value has the wrong type.
    #[error("{why}")]
    BadToml {
        /// What is wrong.
        why: String,
    },
    /// A key or a word that is not known.
    #[error("'{found}' is not known here")]
    UnknownWord {
        /// The word.
        found: String,
        /// The known word nearest to it.
        nearest: Option<String>,
        /// All words that are known here.
        known: Vec<String>,
    },
    /// A key that must be there.
    #[error("'{key}' is missing")]
    MissingKey {
        /// The key.
        key: String,
    },
    /// A time at full draw, and nothing on the card that tells what is lost in it.
    #[error("the material does not tell what it loses while it is held")]
    NoRelaxation,
    /// Printed beads that contradict something.
    #[error("beads {why}")]
    BadBeads {
        /// What is wrong with them.
        why: &'static str,
    },
    /// A stage that says nothing, or two things.
    #[error("this stage {why}")]
    BadStage {
        /// What is wrong with it.
        why: &'static str,
    },
    /// A part that throws nothing.
    #[error("nothing is let go: {0}")]
    NoRelease(String),
    /// A part under a dead load, whose spread is not a matter of factors.
    #[error("a spread is told for parts that are driven, not for parts under a dead load")]
    LoadedSpread,
    /// A number outside its range.
    #[error("{what} is {found}, but must be {range}")]
    OutOfRange {
        /// The quantity.
        what: String,
        /// Its value with its unit.
        found: String,
        /// What it may be.
        range: String,
    },
    /// A region that neither the drawing nor `[regions]` names.
    #[error("there is no region '{name}'")]
    UnknownRegion {
        /// The name.
        name: String,
        /// The known name nearest to it.
        nearest: Option<String>,
        /// All names.
        known: Vec<String>,
    },
    /// A card that is neither on the shelf nor a file.
    #[error("there is no material card '{name}'")]
    UnknownCard {
        /// The name.
        name: String,
        /// The name on the shelf nearest to it.
        nearest: Option<String>,
        /// The shelf.
        known: Vec<String>,
    },
    /// One name for two areas.
    #[error("region '{name}' is defined here and in the drawing")]
    RegionTwice {
        /// The name.
        name: String,
    },
    /// The part itself taken for a region.
    #[error("'part' is the part itself, not a region of it")]
    PartAsRegion,
    /// A region by numbers that is none.
    #[error("region '{name}' {why}")]
    BadRegion {
        /// The name.
        name: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// One region in two places that exclude each other.
    #[error("region '{name}' is {first} and {second}")]
    Conflict {
        /// The name.
        name: String,
        /// "held", "driven", "loaded".
        first: &'static str,
        /// Likewise.
        second: &'static str,
    },
    /// Nothing keeps the part in place.
    #[error("nothing is held: the part would float away")]
    NoHold,
    /// Nothing moves the part.
    #[error("nothing is driven and nothing is loaded: the part would stay as it is")]
    NothingActs,
    /// A drive that does not move.
    #[error("the drive of '{name}' moves and turns it by nothing")]
    ZeroDrive {
        /// The region.
        name: String,
    },
    /// A load of nothing.
    #[error("the load on '{name}' is nothing")]
    ZeroLoad {
        /// The region.
        name: String,
    },
    /// A hand without a strength.
    #[error("the hand has neither a force nor a moment")]
    EmptyHand,
    /// A strength of the hand that nothing is compared with.
    #[error("the hand's {what} is compared with nothing: {why}")]
    IdleHand {
        /// "force" or "moment".
        what: &'static str,
        /// What is missing.
        why: &'static str,
    },
    /// A direction that is both free and prescribed.
    #[error("'{direction}' of '{name}' is left free, and prescribed too")]
    FreeAndMoved {
        /// The region.
        name: String,
        /// "x", "y" or "turn".
        direction: &'static str,
    },
    /// A direction named twice, or none at all.
    #[error("'{list}' {why}")]
    BadDirections {
        /// The key.
        list: &'static str,
        /// What is wrong with it.
        why: String,
    },
    /// No shape is the part.
    #[error("the drawing holds no closed shape for the part")]
    NoPart,
    /// More curves than a mesh can follow in sensible time.
    #[error("the part's outline has {pieces} pieces, more than the {limit} that can be meshed")]
    TooManyPieces {
        /// Lines, arcs and cubics of the outline.
        pieces: usize,
        /// How many are allowed.
        limit: usize,
    },
    /// The outline bounds no printable part.
    #[error("{0}")]
    BadOutline(OutlineError),
    /// A shape by numbers that cannot be made.
    #[error("[{shape}] cannot be made: {cause}")]
    BadShape {
        /// Its table.
        shape: &'static str,
        /// Why, and what would do.
        cause: Unmakeable,
    },
    /// More than one outline.
    #[error("the outline is given twice, by {first} and by {second}")]
    OutlineTwice {
        /// The one.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
    /// The corners cannot be rounded.
    #[error("the fillet does not fit: {0}")]
    BadFillet(OutlineError),
    /// A region that touches nothing, or shares a place with another one.
    #[error("{0}")]
    MisplacedRegion(ModelError),
    /// Something that cannot be thrown.
    #[error("nothing can be launched from '{name}': {why}")]
    BadLaunch {
        /// The region.
        name: String,
        /// Why not.
        why: &'static str,
    },
    /// A launch needs the mass of the part.
    #[error("a launch needs the density of the material, and the card gives none")]
    NoDensity,
    /// A limit that limits nothing, or cannot be judged.
    #[error("the limit '{name}' {why}")]
    BadLimit {
        /// Its name.
        name: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// Neither modulus is known.
    #[error("the material has neither a youngs_modulus nor a flexural_modulus")]
    NoModulus,
}

/// Whether a complaint of the TOML reader is about a number or its unit, not about TOML.
fn is_of_a_quantity(why: &str) -> bool {
    ["(accepted: ", "finite number", "write decimals", "does not begin with a number"]
        .iter()
        .any(|words| why.contains(words))
}

fn choice(nearest: Option<&String>, known: &[String], kind: &str) -> String {
    let list = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
    match nearest {
        Some(word) => format!("did you mean '{word}'? {kind}: {list}"),
        None => format!("{kind}: {list}"),
    }
}

impl CaseCause {
    /// What the user can do about it.
    #[must_use]
    pub fn mend(&self) -> Option<String> {
        let text = match self {
            Self::Unreadable { .. } => "check the name of the file, and that it may be read".into(),
            Self::BadToml { why } if is_of_a_quantity(why) => {
                "correct the number or its unit, such as \"6 mm\"".into()
            }
            Self::BadToml { .. } => "text stands in quotes, a section's name in [brackets]".into(),
            Self::UnknownWord { nearest, known, .. } => {
                choice(nearest.as_ref(), known, "known here")
            }
            Self::MissingKey { key } => match example(key) {
                Some(example) => format!("add {example}"),
                None => format!("add `{key} = ...` to this section"),
            },
            Self::BadBeads { .. } => {
                "give beads = \"outline\" or bead_angle = \"30 deg\" in [outline], with modulus_across = \"1400 MPa\" \
                 in [material]; or leave them out: the material is then the same in all directions"
                    .into()
            }
            Self::BadStage { .. } => {
                "write draw = \"100 %\", let_down = \"free\" or \"rest\", or hold = \"1 h\", one in each [[stage]]".into()
            }
            Self::NoRelaxation => {
                "give relaxation_one_hour = \"20 %\" in [material], or another of the card's values of relaxation".into()
            }
            Self::LoadedSpread => "replace [[load]] by a [[drive]] to the place it reaches".into(),
            Self::NoRelease(_) => "add [launch] with mass and region; `withy solve` says what else".into(),
            Self::OutOfRange { range, .. } => format!("give a value {range}"),
            Self::UnknownRegion { nearest, known, .. } => {
                let names =
                    choice(nearest.as_ref(), known, "named in the drawing and in [regions]");
                format!("{names}; a region is a closed shape's id or layer, or a line in [regions]")
            }
            Self::UnknownCard { nearest, known, .. } => {
                let names = choice(nearest.as_ref(), known, "on the shelf");
                format!(
                    "{names}; a card of your own is named by its path, such as \"my-petg.toml\""
                )
            }
            Self::RegionTwice { .. } => "rename one of them".into(),
            Self::PartAsRegion => {
                "draw the area as a shape of its own, outside the group 'part'".into()
            }
            Self::BadRegion { .. } => {
                "write { box = [x0, y0, x1, y1] } or { circle = [x, y, radius] }".into()
            }
            Self::Conflict { .. } => {
                "keep one of them, or use two regions that do not overlap".into()
            }
            Self::NoHold => "add [[hold]] with the region that is kept still".into(),
            Self::NothingActs => {
                "add [[drive]] with a region and where it goes, or [[load]]".into()
            }
            Self::ZeroDrive { .. } => {
                "give `move` or `turn`; what shall stay still belongs in [[hold]]".into()
            }
            Self::ZeroLoad { .. } => "give `force` or `moment`, or leave the load out".into(),
            Self::EmptyHand => "give `force` (or `moment`), or leave the section out".into(),
            Self::IdleHand { what, .. } => format!("take `{what}` out of [hand]"),
            Self::FreeAndMoved { direction, .. } => {
                format!("take \"{direction}\" out of `free`, or leave it unmoved")
            }
            Self::BadDirections { .. } => "name each direction once, or leave the key out".into(),
            Self::NoPart => {
                "put the part's closed outline into a group or layer called 'part'; without such a \
                 group, every closed shape counts that no region names"
                    .into()
            }
            Self::TooManyPieces { .. } => {
                "simplify the outline in the drawing program: a printer cannot follow such detail"
                    .into()
            }
            Self::BadOutline(_) => "correct the drawing".into(),
            Self::BadShape { cause, .. } => cause.mend(),
            Self::OutlineTwice { second, .. } => format!("keep one of them: take {second} out"),
            Self::BadFillet(_) => {
                "choose a smaller radius, or round the corners in the drawing".into()
            }
            Self::MisplacedRegion(ModelError::Overlap { .. }) => {
                "draw the two regions so that a strip of the part lies between them".into()
            }
            Self::MisplacedRegion(_) => {
                "move the region over the part in the drawing or in [regions], or take it out of the part file".into()
            }
            Self::BadLaunch { .. } => {
                "give [launch] the region of the one [[drive]] that draws it back by `move`, and leave \
                 [[load]] out"
                    .into()
            }
            Self::NoDensity => "add density = \"1.27 g/cm3\" to [material]".into(),
            Self::BadLimit { .. } => {
                "give energy = \"80 mJ\" or energy_per_area = \"1600 J/m2\", the latter with \
                 tip_diameter in [launch], and the source in words"
                    .into()
            }
            Self::NoModulus => {
                "give youngs_modulus (tensile modulus of a bar printed flat), or flexural_modulus"
                    .into()
            }
        };
        Some(text)
    }
}

/// How a required key is written.
fn example(key: &str) -> Option<&'static str> {
    Some(match key {
        "outline" => "[outline] with drawing = \"part.svg\" and thickness = \"6 mm\"",
        "drawing" => "drawing = \"part.svg\", or a shape by numbers such as [spring]",
        "thickness" => "thickness = \"6 mm\"",
        "material" => "[material] with card = \"petg\"",
        "region" => "region = \"...\", the name of a shape in the drawing",
        "mass" => "mass = \"5 g\", of what is thrown",
        "source" => "source = \"...\", where the limit is written",
        "name" => "name = \"...\", whose rule it is",
        "amplitude" => "amplitude = \"0.05 mm\"",
        "value" => "value = \"...\", or write the quantity itself instead of a table",
        _ => return None,
    })
}
