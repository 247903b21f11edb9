//! The command line.
#![allow(
    rustdoc::broken_intra_doc_links,
    reason = "these comments are the program's help, which names sections of part files in brackets"
)]

use crate::case::Overrides;
use crate::quantity::{
    Angle, AngleKind, Dimension, Length, LengthKind, Quantity, QuantityError, Ratio, Time,
};
use crate::rib::End;
use crate::sweep::shard::ShardChoice;
use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// What a flat printed spring will do, before it is printed.
#[derive(Debug, Parser)]
#[command(name = "withy", version, max_term_width = 100, after_help = EXAMPLES)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

const EXAMPLES: &str = "Examples:
  withy solve kicker.toml                   solve a part, results in kicker-results/
  withy solve kicker.toml --material pla    the same part in another material
  withy solve kicker.toml --json            the summary as data
  withy new lever                           a folder with a part to begin with
  withy check lever/lever.toml              what is understood of it, before solving
  withy set kicker.toml                     what it keeps when it is let down, what it gives back
  withy compare kicker.toml                 the same part in every material of the shelf
  withy rib --length 36 --width 1.2 --thickness 6 --angle 70 --draw 8 --material petg
                                            one rib: formula, beam and plane stress side by side
  withy spread kicker.toml                  what the print leaves open, as bands
  withy release kicker.toml                 let it go in time, with a moving picture
  withy watch kicker.toml                   a page that follows every change of its files
  withy reconcile kicker.toml --pull pull.csv --speeds speeds.csv
                                            what a scale and a speed meter say about it
  withy shape kicker-by-numbers.toml --out kicker-drawn
                                            the drawing of a part that is made of numbers
  withy export kicker.toml --to stl,3mf     the part for printing
  withy sweep sweep.toml                    many designs of one part, one row each
  withy seek seek.toml                      the numbers that store or throw most within limits
  withy scale kicker.toml                   the part at other sizes
  withy materials                           the cards on the shelf; with a name, one card explained

Exit status: 0 solved; 1 solved, but a check of --strict fails; 2 the input was refused;
3 the solve stopped early, what it had is written; 130 interrupted, likewise.";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Draw a part back and see: force, energy, shape, stress, hot spot.
    Solve(SolveArgs),
    /// Draw a part, let it down, draw it again: the set it keeps, the energy it gives back, what yielded.
    Set(SetArgs),
    /// Compare a part in every material: force, energy, what yields or snaps, how far each may be drawn.
    Compare(CompareArgs),
    /// List the material cards on the shelf, or explain one.
    Materials(MaterialsArgs),
    /// One rib in numbers: the handbook's formula, a beam and plane stress side by side.
    Rib(RibArgs),
    /// What the print leaves open: modulus, walls, thickness, voids, and what each does to the result.
    Spread(SpreadArgs),
    /// Let a solved part go in time: overshoot, ringing, what the frame feels, a moving picture.
    Release(ReleaseArgs),
    /// Solve a part again whenever its files change, and show it on a page of this computer's own.
    Watch(WatchArgs),
    /// Hold a part against a measured pull and measured speeds: its real modulus, losses and what they change.
    Reconcile(ReconcileArgs),
    /// Turn a bending test of a printed strip into a modulus and a card.
    Bench(BenchArgs),
    /// Make a folder with a commented part file and a drawing that solve as they are.
    New(NewArgs),
    /// Read a part without solving it, and draw what was understood: regions, draw, narrow walls.
    Check(CheckArgs),
    /// Mesh a part without solving it, and say how good the mesh is.
    Mesh(MeshArgs),
    /// Print the JSON Schema of a file, for editors and programs.
    Schema(SchemaArgs),
    /// Make the outline of a spring from its numbers; with --out, its drawing and a part file of its own.
    Shape(ShapeArgs),
    /// Write a part for printing and for other programs: SVG, DXF, STL, 3MF.
    Export(ExportArgs),
    /// Vary numbers of a part over lists and ranges: every design computed, one row each, on many machines.
    Sweep(SweepArgs),
    /// Join the shards of a sweep, and tell what is missing or contradicts itself.
    Gather(GatherArgs),
    /// The part at other sizes: what grows, what stays, what the bed and the printer's lines allow.
    Scale(ScaleArgs),
    /// Look for the numbers of a spring that stores or throws most within limits, as beams, and confirm them.
    Seek(SeekArgs),
    /// Print completions for a shell, or the manual page.
    Shell(ShellArgs),
}

/// Options of `withy set`.
#[derive(Debug, Args)]
pub struct SetArgs {
    /// The part file (TOML); its [[stage]] tables say what is done, else it is drawn and let down twice.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Folder for the results, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How finely to look.
    #[command(flatten)]
    pub fineness: Fineness,
    /// Another material: a card of the shelf, or a path to a card.
    #[arg(long, value_name = "CARD")]
    pub material: Option<String>,
    /// Print the outcome as JSON instead of the table.
    #[arg(long)]
    pub json: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `withy compare`.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// The part file (TOML); it names the drawing.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Folder for the results, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// A card of your own beside those of the shelf; may be given more than once.
    #[arg(long = "card", value_name = "CARD")]
    pub cards: Vec<String>,
    /// How finely to look.
    #[command(flatten)]
    pub fineness: Fineness,
    /// Print the comparison as JSON instead of the tables.
    #[arg(long)]
    pub json: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `withy materials`.
#[derive(Debug, Args)]
pub struct MaterialsArgs {
    /// A card of the shelf, or the path of a card of your own; all cards if left out.
    #[arg(value_name = "CARD")]
    pub card: Option<String>,
    /// Print the cards as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Options of `withy rib`.
#[derive(Debug, Args)]
pub struct RibArgs {
    /// A file with any of the numbers below (TOML, `length = "36 mm"`); options overrule it.
    #[arg(value_name = "RIB.toml")]
    pub rib: Option<PathBuf>,
    /// Clear length between the roots, along the rib.
    #[arg(long, value_name = "LENGTH", value_parser = any::<LengthKind>, allow_hyphen_values = true)]
    pub length: Option<Length>,
    /// Width in the plane.
    #[arg(long, value_name = "LENGTH", value_parser = any::<LengthKind>, allow_hyphen_values = true)]
    pub width: Option<Length>,
    /// Out of the plane: the height of the print.
    #[arg(long, value_name = "LENGTH", value_parser = any::<LengthKind>, allow_hyphen_values = true)]
    pub thickness: Option<Length>,
    /// From the draw to the rib, seen from its root: below 90 deg it is stretched, above it folds;
    /// 90 deg if left out.
    #[arg(long, value_name = "ANGLE", value_parser = any::<AngleKind>, allow_hyphen_values = true)]
    pub angle: Option<Angle>,
    /// How far the carriage is drawn.
    #[arg(long, value_name = "LENGTH", value_parser = any::<LengthKind>, allow_hyphen_values = true)]
    pub draw: Option<Length>,
    /// Radius of the root's fillets; half the width if left out.
    #[arg(long, value_name = "LENGTH", value_parser = any::<LengthKind>, allow_hyphen_values = true)]
    pub fillet: Option<Length>,
    /// How the moving end is kept; guided if left out.
    #[arg(long, value_name = "END")]
    pub end: Option<End>,
    /// A card of the shelf, or a path to a card.
    #[arg(long, value_name = "CARD")]
    pub material: Option<String>,
    /// Show this many equal parts of the draw; 8 if left out.
    #[arg(long, value_name = "N")]
    pub steps: Option<u32>,
    /// Refine until the hot spot's stress moves less than this; 2 % if left out.
    #[arg(long, value_name = "P", value_parser = ratio)]
    pub accuracy: Option<Ratio>,
    /// Folder for the picture, rib.svg; without it nothing is written.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print the numbers as JSON instead of the tables.
    #[arg(long)]
    pub json: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `withy spread`.
#[derive(Debug, Args)]
pub struct SpreadArgs {
    /// The part file (TOML); [printer] tells wall_tolerance, thickness_tolerance and weighed.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Folder for the results, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Another material: a card of the shelf, or a path to a card.
    #[arg(long, value_name = "CARD")]
    pub material: Option<String>,
    /// Print the numbers as JSON instead of the table.
    #[arg(long)]
    pub json: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `withy release`.
#[derive(Debug, Args)]
pub struct ReleaseArgs {
    /// The part file (TOML), with its [launch].
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Folder for the results, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Another material: a card of the shelf, or a path to a card.
    #[arg(long, value_name = "CARD")]
    pub material: Option<String>,
    /// Print the numbers as JSON instead of the text.
    #[arg(long)]
    pub json: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `withy watch`.
#[derive(Debug, Args)]
pub struct WatchArgs {
    /// The part file (TOML); it names the drawing.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Folder for the results, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How finely to look.
    #[command(flatten)]
    pub fineness: Fineness,
    /// Another material: a card of the shelf, or a path to a card.
    #[arg(long, value_name = "CARD")]
    pub material: Option<String>,
    /// Port of the page on 127.0.0.1; a free one if left out.
    #[arg(long, value_name = "PORT", default_value_t = 0, hide_default_value = true)]
    pub port: u16,
}

/// Options of `withy reconcile`.
#[derive(Debug, Args)]
pub struct ReconcileArgs {
    /// The part file (TOML); it names the drawing.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// A measured pull: CSV with the columns draw and force (turn and moment of a turned part), units in
    /// the header: draw_mm,force_N.
    #[arg(long, value_name = "PULL.csv", required_unless_present = "speeds")]
    pub pull: Option<PathBuf>,
    /// Measured speeds: CSV with the column speed and, if they differ from the part file's, mass and draw:
    /// mass_g,speed_m/s.
    #[arg(long, value_name = "SPEEDS.csv")]
    pub speeds: Option<PathBuf>,
    /// Uncertainty of the force scale itself; 1 % if left out.
    #[arg(long, value_name = "P", value_parser = ratio)]
    pub force_error: Option<Ratio>,
    /// Uncertainty of a speed; 1 % if left out.
    #[arg(long, value_name = "P", value_parser = ratio)]
    pub speed_error: Option<Ratio>,
    /// Uncertainty of a mass; 0.5 % if left out.
    #[arg(long, value_name = "P", value_parser = ratio)]
    pub mass_error: Option<Ratio>,
    /// Another material: a card of the shelf, or a path to a card.
    #[arg(long, value_name = "CARD")]
    pub material: Option<String>,
    /// Folder for the results, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print the numbers as JSON instead of the text.
    #[arg(long)]
    pub json: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `withy bench`.
#[derive(Debug, Args)]
pub struct BenchArgs {
    /// The strip and its readings (TOML): test, span, width, thickness, readings, card.
    #[arg(value_name = "STRIP.toml")]
    pub strip: PathBuf,
    /// Write the card to this file; without it, it is only printed.
    #[arg(long, value_name = "CARD.toml")]
    pub out: Option<PathBuf>,
}

/// Options of `withy new`.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// Name of the part: of the folder, the part file and the drawing.
    #[arg(value_name = "NAME")]
    pub name: String,
}

/// Options of `withy check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// The part file (TOML); it names the drawing.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Folder for the picture, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Walls narrower than this do not print well; two lines of [printer] if left out, or 0.8 mm.
    #[arg(long, value_name = "WIDTH", value_parser = positive_length)]
    pub wall: Option<Length>,
    /// Gaps narrower than this fuse; that of [printer] if left out, or 0.3 mm.
    #[arg(long, value_name = "WIDTH", value_parser = positive_length)]
    pub gap: Option<Length>,
    /// Exit with status 1 if a wall or gap is too narrow, an inner corner is sharp, or it is off the bed.
    #[arg(long)]
    pub strict: bool,
}

/// Options of `withy mesh`.
#[derive(Debug, Args)]
pub struct MeshArgs {
    /// The part file (TOML); it names the drawing.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Folder for the picture, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Largest edge of an element, for example "0.5 mm".
    #[arg(long, value_name = "LENGTH", value_parser = positive_length)]
    pub size: Option<Length>,
    /// Layers of elements across every wall; 3 if left out.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=20))]
    pub across: Option<u8>,
}

/// Options of `withy shape`.
#[derive(Debug, Args)]
pub struct ShapeArgs {
    /// The part file (TOML) with a shape by numbers: [spring], [leaf] or [clip].
    #[arg(value_name = "SPRING.toml")]
    pub part: PathBuf,
    /// A new folder for the drawing and for a part file that names it; without it nothing is written.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// Options of `withy export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// The part file (TOML), with a drawing or a shape by numbers.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// The formats, separated by commas; all of them if left out.
    #[arg(long, value_name = "FORMATS", value_delimiter = ',')]
    pub to: Vec<ExportFormat>,
    /// Folder for the files, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How far the sides of a solid may stray from the arcs; 0.01 mm if left out.
    #[arg(long, value_name = "LENGTH", value_parser = positive_length)]
    pub tolerance: Option<Length>,
}

/// What a part may be written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, clap::ValueEnum)]
pub enum ExportFormat {
    /// A drawing with exact arcs and the regions by name.
    Svg,
    /// A drawing for CAD programs, with exact arcs and the regions on layers.
    Dxf,
    /// A solid of triangles.
    Stl,
    /// A solid of triangles, in millimetres by its own word.
    #[value(name = "3mf")]
    ThreeMf,
}

/// Options of `withy sweep`.
#[derive(Debug, Args)]
#[command(after_help = SWEEP_EXAMPLES)]
pub struct SweepArgs {
    /// The sweep file (TOML): it names a part file and the numbers to vary.
    #[arg(value_name = "SWEEP.toml")]
    pub sweep: PathBuf,
    /// Folder for the results, instead of SWEEP-results beside the sweep file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// One slice of the designs: I/N, or array for a task of an array job, or array/N.
    #[arg(long, value_name = "I/N")]
    pub shard: Option<ShardChoice>,
    /// Forget the designs that are done already.
    #[arg(long)]
    pub afresh: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

const SWEEP_EXAMPLES: &str = "A sweep file:
  part = \"kicker-by-numbers.toml\"
  model = \"beam\"                  # or \"plane stress\"
  # samples = 200                  # spread evenly, instead of every value with every other
  [vary]
  spring.width = { from = \"1.2 mm\", to = \"2 mm\", count = 5 }
  spring.length = [\"36 mm\", \"41 mm\"]
  material.card = [\"petg\", \"pla\"]

Examples:
  withy sweep sweep.toml                          all of it; interrupted, the same command goes on
  withy sweep sweep.toml --shard 3/8              the third slice of eight, into sweep-3-of-8.csv
  withy sweep sweep.toml --shard array/8          the same, 3 being the number of an array job's task
  seq 8 | parallel withy sweep sweep.toml --shard {}/8
  withy gather sweep-results                      the slices as one table";

/// Options of `withy gather`.
#[derive(Debug, Args)]
pub struct GatherArgs {
    /// Folders with the tables of shards, or the tables themselves.
    #[arg(value_name = "DIR|TABLE.csv", required = true)]
    pub tables: Vec<PathBuf>,
    /// Folder for the joined table, instead of that of the first.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Write what there is, even if designs are missing.
    #[arg(long)]
    pub partial: bool,
}

/// Options of `withy scale`.
#[derive(Debug, Args)]
pub struct ScaleArgs {
    /// The part file (TOML), with a drawing or a shape by numbers.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Scales, separated by commas; from 0.5 to 2 if left out.
    #[arg(long, value_name = "K", value_delimiter = ',', value_parser = factor)]
    pub factor: Vec<f64>,
    /// Scale the drawing alone and keep the thickness.
    #[arg(long)]
    pub keep_thickness: bool,
    /// Refine until the hot spot's stress moves less than this, for example "2 %".
    #[arg(long, value_name = "P", value_parser = ratio)]
    pub accuracy: Option<Ratio>,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `withy seek`.
#[derive(Debug, Args)]
#[command(after_help = SEEK_EXAMPLES)]
pub struct SeekArgs {
    /// The search file (TOML): a part of numbers, what may be changed, what is wanted, within what.
    #[arg(value_name = "SEEK.toml")]
    pub seek: PathBuf,
    /// Folder for the results, instead of SEEK-results beside the search file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Forget the designs that are done already.
    #[arg(long)]
    pub afresh: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
}

const SEEK_EXAMPLES: &str = "A search file:
  part = \"start.toml\"
  goal = \"most energy\"            # or \"most speed\", or \"least force\" with energy = \"200 mJ\"
  [vary]
  spring.length = { from = \"36 mm\", to = \"46 mm\" }
  spring.width = { from = \"1.2 mm\", to = \"2.4 mm\" }
  [within]
  force = \"39 N\"                 # along the whole draw
  strain = \"1.9 %\"               # of the whole surface, along the whole draw
  across = 870                     # guidance, N/mm, at least
  in_turn = 3300                   # guidance, N mm/deg, at least

Examples:
  withy seek seek.toml             interrupted, the same command goes on";

/// Options of `withy shell`.
#[derive(Debug, Args)]
pub struct ShellArgs {
    /// What to print.
    #[arg(value_name = "WHAT")]
    pub what: ShellText,
}

/// Options of `withy schema`.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// Of which file.
    #[arg(value_name = "WHAT")]
    pub what: SchemaOf,
}

/// What `withy schema` prints.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum SchemaOf {
    /// A part file.
    Part,
    /// A material card.
    Card,
    /// summary.json of `withy solve`.
    Summary,
    /// compare.json of `withy compare`.
    Compare,
    /// set.json of `withy set`.
    Set,
    /// release.json of `withy release`.
    Release,
    /// spread.json of `withy spread`.
    Spread,
    /// reconcile.json of `withy reconcile`.
    Reconcile,
    /// The description of `withy sweep`.
    Sweep,
    /// The description of `withy seek`.
    Seek,
}

/// What `withy shell` prints.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum ShellText {
    /// Completions for bash.
    Bash,
    /// Completions for zsh.
    Zsh,
    /// Completions for fish.
    Fish,
    /// Completions for PowerShell.
    Powershell,
    /// Completions for elvish.
    Elvish,
    /// The manual page, in roff.
    Manual,
}

/// Options of `withy solve`.
#[derive(Debug, Args)]
pub struct SolveArgs {
    /// The part file (TOML); it names the drawing.
    #[arg(value_name = "PART.toml")]
    pub part: PathBuf,
    /// Folder for the results, instead of PART-results beside the part file.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How finely to look.
    #[command(flatten)]
    pub fineness: Fineness,
    /// No mesh of more elements than this; 400 000 if left out.
    #[arg(long, value_name = "N")]
    pub elements: Option<u32>,
    /// Begin no better mesh after this time, for example "30 s"; no limit if left out.
    #[arg(long, value_name = "TIME", value_parser = duration)]
    pub time: Option<Time>,
    /// Another material: a card of the shelf, or a path to a card.
    #[arg(long, value_name = "CARD")]
    pub material: Option<String>,
    /// Print the summary as JSON instead of the verdict.
    #[arg(long)]
    pub json: bool,
    /// No progress and no remarks.
    #[arg(long)]
    pub quiet: bool,
    /// Exit with status 1 if the part yields, breaks, is unstable, has a governing sharp corner,
    /// exceeds a limit of its launch or does not fit the bed.
    #[arg(long)]
    pub strict: bool,
}

/// How finely a part is looked at, the same for every command that solves it.
#[derive(Clone, Debug, Args)]
pub struct Fineness {
    /// Report results at this many equal parts of the draw.
    #[arg(long, value_name = "N")]
    pub steps: Option<u32>,
    /// Refine until the hot spot's elastic stress moves less than this, for example "2 %"; "10 %" for quick looks.
    #[arg(long, value_name = "P", value_parser = ratio)]
    pub accuracy: Option<Ratio>,
}

impl Fineness {
    /// For reading a part file.
    #[must_use]
    pub fn overrides(&self) -> Overrides {
        Overrides {
            steps: self.steps,
            accuracy: self.accuracy.map(|r| r.value()),
            ..Overrides::default()
        }
    }

    /// As on a command line.
    #[must_use]
    pub fn options(&self) -> [(&'static str, Option<String>); 2] {
        [
            ("--steps", self.steps.map(|n| n.to_string())),
            ("--accuracy", self.accuracy.map(|a| format!("{} %", 100.0 * a.value()))),
        ]
    }
}

fn positive_length(text: &str) -> Result<Length, String> {
    let length: Length = text.parse().map_err(|e: QuantityError| e.to_string())?;
    if length.value() > 0.0 { Ok(length) } else { Err("must be above 0 mm".into()) }
}

fn factor(text: &str) -> Result<f64, String> {
    let k: f64 = text.trim().parse().map_err(|_| format!("'{text}' is no number"))?;
    if (0.01..=100.0).contains(&k) { Ok(k) } else { Err("must be from 0.01 to 100".into()) }
}

fn duration(text: &str) -> Result<Time, String> {
    text.parse().map_err(|e: QuantityError| e.to_string())
}

/// A quantity with its unit, or a bare number in the usual one; its range is checked where it is used.
fn any<D: Dimension>(text: &str) -> Result<Quantity<D>, String> {
    let bare = text.trim().parse::<f64>().is_ok();
    let (unit, _) = D::KIND.units[0];
    let written = if bare { format!("{text} {unit}") } else { text.to_owned() };
    written.parse().map_err(|e: QuantityError| e.to_string())
}

fn ratio(text: &str) -> Result<Ratio, String> {
    text.parse().map_err(|e: QuantityError| e.to_string())
}
