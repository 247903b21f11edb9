//! `withy solve`: the main job.

use crate::analysis::{
    Analysis, AnalysisError, Axis, Ended, OVERLAP, Progress, RUNS_THROUGH, SpotKind, analyse,
    marks, narrow_place,
};
use crate::args::SolveArgs;
use crate::case::{self, Case, CaseCause, Overrides};
use crate::error::Refusal;
use crate::export::folder::FolderError;
use crate::export::{
    ResultFile, Summary, curve_csv, curve_lines, perfect_lines, remove_stale, write_results,
};
use crate::material::NoYield;
use crate::picture::{self, HotSpotLabel, Met, ShapePicture, StressPicture, three_digits};
use crate::remark::Remark;
use crate::report::{Report, ReportError, report};
use crate::verdict::verdict;
use miette::Diagnostic;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;
use thiserror::Error;
use withy_mesh::error::MeshError;
use withy_mesh::number::largest;
use withy_solver::{ModelError, StopCause};

/// Exit status of a solve that reached full draw.
pub const SOLVED: u8 = 0;
/// Exit status of a part that fails a check which was asked for.
pub const CHECK_FAILED: u8 = 1;
/// Exit status of refused input.
pub const REFUSED: u8 = 2;
/// Exit status of a solve that stopped early.
pub const STOPPED: u8 = 3;
/// Exit status of an interrupted solve.
pub const INTERRUPTED: u8 = 130;

/// Written only if something is thrown.
const LAUNCH_PICTURE: &str = "launch.svg";

/// Why there are no results.
#[derive(Debug, Error, Diagnostic)]
pub enum SolveError {
    /// The input.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Refused(#[from] Box<Refusal>),
    /// The part as meant.
    #[error("{}: {cause}", part.display())]
    #[diagnostic(help("{}", mend(cause)))]
    Unsolvable {
        /// The part file.
        part: PathBuf,
        /// What is wrong.
        cause: AnalysisError,
    },
    /// A comparison was interrupted: half of it would read as the whole.
    #[error("interrupted: nothing was written")]
    Interrupted,
    /// A material without a yield stress.
    #[error("{}: {cause}", part.display())]
    NoYield {
        /// The part file.
        part: PathBuf,
        /// What is missing.
        cause: NoYield,
    },
    /// The results folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The summary.
    #[error("the summary cannot be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

/// What can be done about a part that has no solution.
fn mend(cause: &AnalysisError) -> &'static str {
    match cause {
        AnalysisError::Mesh(MeshError::Interrupted) => {
            "nothing was written, because no step was complete"
        }
        AnalysisError::Mesh(_) => "simplify the drawing at that place",
        AnalysisError::Model(_) => "change the regions or the material in the part file",
        AnalysisError::NoRoom { .. } => {
            "give a smaller `amplitude` in [imperfection], or leave the part more room there"
        }
        AnalysisError::NothingConverged { cause: StopCause::Interrupted, .. } => {
            "nothing was written, because no step was complete"
        }
        AnalysisError::NothingConverged { reached, .. } if *reached <= 0.0 => {
            "nothing was written; ask for more steps, and leave a gap of 0.01 mm where a side of the part lies \
             flush with a rail or a pin"
        }
        AnalysisError::NothingConverged { .. } => {
            "nothing was written; draw less far, or ask for more steps to see the states before that place"
        }
    }
}

impl SolveError {
    /// An error about a case's model, at the place of the region that it is about.
    pub(super) fn of_model(case: &Case, error: ModelError) -> Self {
        let (ModelError::EmptyRegion { name } | ModelError::Overlap { first: name, .. }) = &error
        else {
            return Self::Unsolvable { part: case.path.clone(), cause: error.into() };
        };
        let name = name.clone();
        Self::Refused(Box::new(case.complaint(&name, CaseCause::MisplacedRegion(error))))
    }

    /// The exit status that tells it.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        match self {
            Self::Unsolvable { cause: AnalysisError::NothingConverged { cause, .. }, .. } => {
                match cause {
                    StopCause::Interrupted => INTERRUPTED,
                    StopCause::Failed(_) => STOPPED,
                }
            }
            Self::Unsolvable { cause: AnalysisError::Mesh(MeshError::Interrupted), .. } => {
                INTERRUPTED
            }
            Self::Interrupted => INTERRUPTED,
            Self::NoYield { .. }
            | Self::Refused(_)
            | Self::Unsolvable { .. }
            | Self::Folder(_)
            | Self::Json(_) => REFUSED,
        }
    }
}

/// What is told while solving; on a terminal in place, else not at all.
pub trait Voice {
    /// A line that replaces the one before.
    fn progress(&mut self, line: &str);
    /// A line that stays.
    fn say(&mut self, line: &str);
}

/// A solved part of which nothing is written yet.
pub(super) struct Solved {
    pub(super) files: Vec<ResultFile>,
    pub(super) summary: Summary,
    /// For standard output.
    pub(super) text: String,
    /// For the shell.
    pub(super) status: u8,
}

impl Solved {
    /// Writes the results into a folder.
    pub(super) fn write(&self, out: &Path) -> Result<(), SolveError> {
        write_results(out, &self.files)?;
        if self.files.iter().all(|file| file.name != LAUNCH_PICTURE) {
            // A picture of a launch that is no more would tell of another part.
            remove_stale(out, &[LAUNCH_PICTURE])?;
        }
        Ok(())
    }
}

/// Solves, writes the results, and returns what goes to standard output and the exit status.
///
/// # Errors
/// Only if there are no results.
pub fn solve(
    args: &SolveArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SolveError> {
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    let solved = solved(args, interrupted, voice)?;
    solved.write(&out)?;
    for remark in &solved.summary.remarks {
        voice.say(&format!("{}: {}", remark.level.word(), remark.text));
    }
    voice.say(&format!("results are in {}", out.display()));
    Ok((solved.text, solved.status))
}

/// Reads and solves a part.
///
/// # Errors
/// Only if there are no results.
pub(super) fn solved(
    args: &SolveArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<Solved, SolveError> {
    let overrides = Overrides {
        recovery: true,
        elements: args.elements,
        time: args.time.map(|t| t.value()),
        material: args.material.clone(),
        ..args.fineness.overrides()
    };
    let mut case = case::read(&args.part, &overrides).map_err(Box::new)?;
    if !case.stages.is_empty() {
        let text = "the stages of the part file are followed by `withy set`; here the part is drawn once, elastically";
        case.remarks.push(Remark::note("stages-left-out", text));
    }
    let analysis = run(&case, interrupted, voice)?;
    let summary = Summary::new(&case, &analysis);
    let json = summary.to_json()?;
    let (mut files, page) = rayon::join(
        || results(&case, &analysis, &json),
        || report_page(args, &case, &analysis, &summary),
    );
    files.push(page?);
    let text = if args.json { json } else { verdict(&case, &analysis) };
    let status = exit_status(args, &case, &analysis);
    Ok(Solved { files, summary, text, status })
}

fn exit_status(args: &SolveArgs, case: &Case, analysis: &Analysis) -> u8 {
    match &analysis.solution.ended {
        Ended::Early(_, StopCause::Interrupted) => INTERRUPTED,
        Ended::Early(..) => STOPPED,
        Ended::Complete if args.strict && (case.is_off_the_bed() || !passes_checks(analysis)) => {
            CHECK_FAILED
        }
        Ended::Complete => SOLVED,
    }
}

/// What contact is said not to have done right: pressure that is lost in an overlap, edges that ran through each
/// other.
const CONTACT_FAILS: [&str; 2] = [OVERLAP, RUNS_THROUGH];

/// Stable all along, no limit reached (yielding and breaking are limits, and those of a launch), no
/// corner without a finite stress, contact that can be trusted.
fn passes_checks(analysis: &Analysis) -> bool {
    let solution = &analysis.solution;
    let stable = solution.path.steps.iter().all(withy_solver::Step::is_stable);
    let launch = solution.launched.iter().flat_map(|l| &l.limits);
    let kept = !{ launch }.any(crate::analysis::Judged::may_be_exceeded);
    // What is said of contact as an error, or as not to be trusted.
    let contact = |r: &Remark| CONTACT_FAILS.contains(&r.code);
    stable
        && kept
        && solution.limits.is_empty()
        && solution.hot_spot.kind == SpotKind::Finite
        && !solution.remarks.iter().any(contact)
}

/// The page that shows all of it.
fn report_page(
    args: &SolveArgs,
    case: &Case,
    analysis: &Analysis,
    summary: &Summary,
) -> Result<ResultFile, SolveError> {
    let marks = marks(case, &analysis.mesh);
    let solution = &analysis.solution;
    let rest = vec![[0.0; 2]; analysis.mesh.nodes().len()];
    let values: Vec<f64> = solution.shown.iter().map(|s| s.von_mises).collect();
    let stand_in = picture::stress_stand_in(&StressPicture {
        title: &case.title,
        subtitle: &format!(
            "von Mises stress, {}",
            describe_draw(case, &curve_lines(case, analysis))
        ),
        mesh: &analysis.mesh,
        displacements: solution.path.steps.last().map_or(&rest, |s| &s.displacements),
        values: &values,
        highest: highest_shown(analysis),
        marks: &marks,
        met: met(case, analysis),
        hot_spot: Some(hot_spot_label(analysis)),
        narrow: narrow_label(analysis),
    });
    let meets = !case.obstacles.is_empty() || !solution.meetings.is_empty();
    let contact = meets.then(|| {
        picture::shape_inline(&ShapePicture {
            title: "Where it pushes at the end of its draw",
            subtitle: "teeth into the edges are as long as the pressure is high",
            mesh: &analysis.mesh,
            displacements: solution.path.steps.last().map_or(&rest, |s| &s.displacements),
            marks: &marks,
            met: met(case, analysis),
            narrow: None,
        })
    });
    let [steps, accuracy] = args.fineness.options();
    let options = [steps, accuracy, ("--material", args.material.clone())];
    let command = command_line("solve", case, &options);
    let page = report(&Report {
        case,
        analysis,
        summary,
        command: &command,
        stand_in: &stand_in,
        contact: contact.as_deref(),
    });
    let text = page.map_err(|error| match error {
        ReportError::Model(error) => SolveError::of_model(case, error),
        ReportError::Json(error) => SolveError::Json(error),
    })?;
    Ok(ResultFile { name: "report.html", text })
}

/// What was asked for, without the folders of this machine.
pub(super) fn command_line(name: &str, case: &Case, options: &[(&str, Option<String>)]) -> String {
    let mut words = vec!["withy".to_owned(), name.to_owned(), case.file_name()];
    for (option, value) in options {
        let Some(value) = value else { continue };
        // A card of the user's own: its file, not its folder.
        let value = value.rsplit(['/', '\\']).next().unwrap_or(value);
        words.extend([(*option).to_owned(), value.to_owned()]);
    }
    let quoted = words.into_iter().map(|word| {
        let plain = word.chars().all(|c| c.is_alphanumeric() || "-_.".contains(c));
        if plain { word } else { format!("\"{}\"", word.replace('"', "\\\"")) }
    });
    quoted.collect::<Vec<_>>().join(" ")
}

/// Beside the part file, named after it.
pub(super) fn results_folder(part: &Path) -> PathBuf {
    let stem = part.file_stem().unwrap_or_default().to_string_lossy();
    part.with_file_name(format!("{stem}-results"))
}

/// Analyses a case, telling of progress, unless it is interrupted.
pub(super) fn run(
    case: &Case,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<Analysis, SolveError> {
    let mut pass = 1;
    let mut clock = Clock::default();
    let mut watch = |progress: Progress| {
        if let Some(line) = progress_line(progress, case.steps, &mut pass) {
            voice.progress(&(line + &clock.left(progress)));
        }
        go_on(interrupted)
    };
    analyse(case, &mut watch).map_err(|cause| unsolvable(case, cause))
}

/// How long the present pass has taken, to tell how long it will.
#[derive(Default)]
struct Clock {
    /// When the pass began, and how much of it was done when last told.
    pass: Option<(Instant, f64)>,
}

/// A pass that is through sooner needs no word about its time (s).
const WORTH_TELLING: f64 = 1.0;

impl Clock {
    /// ", about 12 s left on this mesh", once that can be told.
    fn left(&mut self, progress: Progress) -> String {
        let done = match progress {
            Progress::Solved(fraction, _) => fraction,
            Progress::Polished(done, of) => done as f64 / of as f64,
            Progress::Meshing | Progress::Meshed(..) | Progress::Staged(..) => 0.0,
        };
        let (begun, before) = *self.pass.get_or_insert_with(|| (Instant::now(), 0.0));
        // A new mesh, or the path once more.
        let begun = if done < before { Instant::now() } else { begun };
        self.pass = Some((begun, done));
        let left = begun.elapsed().as_secs_f64() * (1.0 - done) / done;
        if left.is_finite() && left > WORTH_TELLING {
            format!(", about {left:.0} s left on this mesh")
        } else {
            String::new()
        }
    }
}

/// What is told of a progress, if anything; `pass` remembers the mesh.
pub(super) fn progress_line(progress: Progress, steps: u32, pass: &mut usize) -> Option<String> {
    Some(match progress {
        Progress::Meshing => return None,
        Progress::Meshed(number, elements, nodes) => {
            *pass = number;
            format!("mesh {number}: {elements} elements, {nodes} nodes")
        }
        Progress::Polished(done, of) => format!("mesh {pass}: {done} of {of} states carried over"),
        Progress::Staged(stage, fraction, iterations) => {
            format!("stage {stage}: {:.0} % of the draw, {iterations} iterations", 100.0 * fraction)
        }
        Progress::Solved(fraction, iterations) => {
            format!("step {:.0} of {steps}: {iterations} iterations", fraction * f64::from(steps))
        }
    })
}

/// The exit status of an analysis that did not come to full draw, if it did not; `nothing` says what was left undone.
pub(super) fn unfinished(analysis: &Analysis, nothing: &str, voice: &mut dyn Voice) -> Option<u8> {
    match &analysis.solution.ended {
        Ended::Complete => None,
        Ended::Early(_, StopCause::Interrupted) => Some(INTERRUPTED),
        Ended::Early(..) => {
            voice.say(&format!(
                "the part could not be solved to full draw: see `withy solve`; nothing was {nothing}"
            ));
            Some(STOPPED)
        }
    }
}

/// Whether to go on.
pub(super) fn go_on(interrupted: &AtomicBool) -> ControlFlow<()> {
    if interrupted.load(Ordering::Relaxed) {
        ControlFlow::Break(())
    } else {
        ControlFlow::Continue(())
    }
}

pub(super) fn unsolvable(case: &Case, cause: AnalysisError) -> SolveError {
    match cause {
        AnalysisError::Model(error) => SolveError::of_model(case, error),
        cause => SolveError::Unsolvable { part: case.path.clone(), cause },
    }
}

/// Every file of the results folder.
fn results(case: &Case, analysis: &Analysis, json: &str) -> Vec<ResultFile> {
    let solution = &analysis.solution;
    let marks = marks(case, &analysis.mesh);
    let energy: Vec<f64> =
        std::iter::once(0.0).chain(solution.path.steps.iter().map(|s| s.strain_energy)).collect();
    let lines = curve_lines(case, analysis);
    let rest = vec![[0.0; 2]; analysis.mesh.nodes().len()];
    let displacements = solution.path.steps.last().map_or(&rest, |s| &s.displacements);
    let draw = describe_draw(case, &lines);
    let values: Vec<f64> = solution.shown.iter().map(|s| s.von_mises).collect();
    let assumed = format!(
        "{}, {} mm deep, E = {} MPa",
        case.material.title,
        three_digits(case.thickness),
        three_digits(case.material.youngs_modulus.value)
    );
    let mut files = vec![
        ResultFile { name: "summary.json", text: json.to_owned() },
        ResultFile { name: "curve.csv", text: curve_csv(case, analysis) },
        ResultFile {
            name: "curve.svg",
            text: picture::curve(
                &case.title,
                &assumed,
                &lines,
                &perfect_lines(case, analysis),
                &energy,
            ),
        },
        ResultFile {
            name: "shape.svg",
            text: picture::shape(&ShapePicture {
                title: &case.title,
                subtitle: &format!("at rest (dashed) and {draw}"),
                mesh: &analysis.mesh,
                displacements,
                marks: &marks,
                met: met(case, analysis),
                narrow: narrow_label(analysis),
            }),
        },
        ResultFile {
            name: "stress.svg",
            text: picture::stress(&StressPicture {
                title: &case.title,
                subtitle: &format!("von Mises stress, {draw}. {assumed}"),
                mesh: &analysis.mesh,
                displacements,
                values: &values,
                highest: highest_shown(analysis),
                marks: &marks,
                met: met(case, analysis),
                hot_spot: Some(hot_spot_label(analysis)),
                narrow: narrow_label(analysis),
            }),
        },
    ];
    files.extend(launch_picture(case, analysis));
    files
}

/// What the part meets in its last state.
fn met<'a>(case: &'a Case, analysis: &'a Analysis) -> Met<'a> {
    let pushing = analysis.solution.path.steps.last().map(|s| &s.pushing);
    Met { obstacles: &case.obstacles, pushing }
}

/// End of the stress scale in the last state (MPa).
fn highest_shown(analysis: &Analysis) -> f64 {
    let solution = &analysis.solution;
    let free = solution.shown.iter().zip(&solution.left_out).filter(|(_, out)| !**out);
    let highest = largest(0.0, free.map(|(stress, _)| stress.von_mises));
    if highest > 0.0 { highest } else { 1.0 }
}

fn launch_picture(case: &Case, analysis: &Analysis) -> Option<ResultFile> {
    let (launch, launched) = (case.launch.as_ref()?, analysis.solution.launched.as_ref()?);
    let release = &launched.release;
    let subtitle = format!(
        "{} g leave at {} m/s, {} ms after the release, with {} of {} mJ",
        three_digits(launch.mass),
        three_digits(release.speed),
        three_digits(release.time),
        three_digits(release.energy),
        three_digits(release.moments.first().map_or(0.0, |m| m.spring_energy))
    );
    let picture = picture::LaunchPicture {
        title: &case.title,
        subtitle: &subtitle,
        moments: &release.moments,
    };
    Some(ResultFile { name: LAUNCH_PICTURE, text: picture::launch(&picture) })
}

/// "drawn 6.00 mm", as far as the solve got.
fn describe_draw(case: &Case, lines: &[picture::CurveLine]) -> String {
    let parts: Vec<String> = lines
        .iter()
        .map(|l| {
            let travel = l.travel.last().copied().unwrap_or(0.0);
            let [unit, _] = Axis::of(case, &l.name).units();
            let moved =
                if case.drives.iter().any(|d| d.region == l.name) { "drawn" } else { "pushed" };
            format!("{} {moved} {} {unit}", l.name, three_digits(travel))
        })
        .collect();
    parts.join(", ")
}

/// The place where edges meet in the shown state, or nearly do.
fn narrow_label(analysis: &Analysis) -> Option<HotSpotLabel> {
    let place = narrow_place(analysis.solution.narrowest.last()?)?;
    let words = match place.width {
        Some(width) => format!("gap {} mm", three_digits(width)),
        // With contact its edges push there, and only a thousandth of an edge deep.
        None if analysis.solution.self_contact => "touches itself".to_owned(),
        None => "runs into itself".to_owned(),
    };
    Some(HotSpotLabel { at: place.now, lines: vec![words] })
}

fn hot_spot_label(analysis: &Analysis) -> HotSpotLabel {
    let spot = &analysis.solution.hot_spot;
    let lines = match spot.kind {
        SpotKind::Finite => {
            let mut lines =
                vec![format!("{} MPa", three_digits(spot.von_mises)), spot.near.clone()];
            if spot.fraction < 1.0 - 1e-9 {
                lines.push(format!("reached at {:.0} % of the draw", 100.0 * spot.fraction));
            }
            lines
        }
        SpotKind::SharpCorner => {
            vec!["no finite stress".to_owned(), spot.near.clone()]
        }
    };
    HotSpotLabel { at: spot.now, lines }
}
