//! `withy set`: whether a part comes back whole.

use super::solve::{
    INTERRUPTED, SOLVED, STOPPED, SolveError, Voice, command_line, go_on, progress_line,
    results_folder, unsolvable,
};
use crate::analysis::{Axis, Progress, SetAnalysis, marks, moving_regions, take_set};
use crate::args::SetArgs;
use crate::case::{self, Case, Overrides};
use crate::export::set::{SetDocument, set_csv, time_words, words};
use crate::export::{ResultFile, write_results};
use crate::material::{NoYield, hardening};
use crate::picture::{self, HotSpotLabel, Met, SetPicture, SetStage, StressPicture, three_digits};
use crate::report::{SetPage, set_page};
use crate::table::{Side, aligned};
use std::sync::atomic::AtomicBool;
use withy_solver::StopCause;

/// A plastic strain, or a share of work, below this is rounding: nothing yielded (1).
const NOTHING: f64 = 1e-9;

/// Draws and lets down, writes the results, and returns what goes to standard output and the exit
/// status.
///
/// # Errors
/// Only if there are no results.
pub fn set(
    args: &SetArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SolveError> {
    let overrides = Overrides { material: args.material.clone(), ..args.fineness.overrides() };
    let case = case::read(&args.part, &overrides).map_err(Box::new)?;
    if case.beads.is_some() {
        return Err(SolveError::NoYield { part: case.path.clone(), cause: NoYield::Beads });
    }
    let mut estimates = Vec::new();
    let curve = hardening(&case.material, &mut estimates)
        .map_err(|cause| SolveError::NoYield { part: case.path.clone(), cause })?;
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    let mut pass = 1;
    let mut watch = |progress: Progress| {
        if let Some(line) = progress_line(progress, case.steps, &mut pass) {
            voice.progress(&line);
        }
        go_on(interrupted)
    };
    let found = take_set(&case, curve, &mut watch).map_err(|cause| unsolvable(&case, cause))?;
    let document = SetDocument::new(&case, &curve, &found, &estimates);
    let json = document.to_json()?;
    let [steps, accuracy] = args.fineness.options();
    let options = [steps, accuracy, ("--material", args.material.clone())];
    let command = command_line("set", &case, &options);
    write_results(&out, &results(&case, &found, &document, &json, &command))?;
    for remark in &document.remarks {
        voice.say(&format!("{}: {}", remark.level.word(), remark.text));
    }
    voice.say(&format!(
        "results are in {}: set.html, set.json, set.csv, set.svg, yielded.svg",
        out.display()
    ));
    let text = if args.json { json } else { table(&case, &found, &document) };
    let status = match &found.stopped {
        None => SOLVED,
        Some((_, _, StopCause::Interrupted)) => INTERRUPTED,
        Some(_) => STOPPED,
    };
    Ok((text, status))
}

fn results(
    case: &Case,
    found: &SetAnalysis,
    document: &SetDocument,
    json: &str,
    command: &str,
) -> Vec<ResultFile> {
    let [travel, effort] = match Axis::of(case, &document.region) {
        Axis::Along(_) => ["draw, mm", "force along the draw, N"],
        Axis::Turn(_) => ["turn, degrees", "moment, N mm"],
    };
    let kept = kept(found, document);
    let picture = SetPicture {
        title: &case.title,
        subtitle: kept.as_deref().unwrap_or_default(),
        labels: [travel, &format!("{}: {effort}", document.region)],
        stages: &stages(document),
    };
    let mesh = &found.elastic.mesh;
    let rest = vec![[0.0; 2]; mesh.nodes().len()];
    let values: Vec<f64> = found.plastic.iter().map(|p| 100.0 * p).collect();
    // Clamping and sharp corners make peaks of their own: they are painted as the highest other one.
    let out = &found.elastic.solution.left_out;
    let counted = values.iter().zip(out).enumerate().filter(|(_, (_, out))| !**out);
    let most = counted.map(|(n, (value, _))| (n, *value)).max_by(|a, b| a.1.total_cmp(&b.1));
    let highest = 100.0 * document.most_plastic_strain;
    // Beyond breaking all are alike.
    let breaks = case.material.elongation_at_break.as_ref().map(|b| 100.0 * b.value);
    let broken = breaks.filter(|b| highest > *b);
    let highest = broken.unwrap_or(highest);
    let last = found.path.states.last();
    let yielded = StressPicture {
        title: &case.title,
        subtitle: &format!(
            "what yielded: equivalent plastic strain, as it lies in the end. {}{}",
            case.material.title,
            if broken.is_some() { "; darkest: beyond its strain at break" } else { "" }
        ),
        mesh,
        displacements: last.map_or(&rest, |s| &s.step.displacements),
        values: &values,
        highest: if highest > 100.0 * NOTHING { highest } else { 1.0 },
        marks: &marks(case, mesh),
        met: Met { obstacles: &case.obstacles, pushing: last.map(|s| &s.step.pushing) },
        hot_spot: most.filter(|(_, value)| *value > 100.0 * NOTHING).map(|(n, _)| {
            let (at, u) = (mesh.nodes()[n], last.map_or([0.0; 2], |s| s.step.displacements[n]));
            HotSpotLabel {
                at: [at.x + u[0], at.y + u[1]],
                lines: vec![
                    "yields most".to_owned(),
                    format!("up to {} %", three_digits(100.0 * document.most_plastic_strain)),
                ],
            }
        }),
        narrow: None,
    };
    let page = set_page(&SetPage {
        case,
        found,
        document,
        kept: kept.as_deref(),
        rows: &rows(found, document),
        drawn: &picture::set_inline(&picture),
        yielded: &picture::yielded_inline(&yielded),
        command,
    });
    vec![
        ResultFile { name: "set.html", text: page },
        ResultFile { name: "set.json", text: json.to_owned() },
        ResultFile { name: "set.csv", text: set_csv(document) },
        ResultFile { name: "set.svg", text: picture::set(&picture) },
        ResultFile { name: "yielded.svg", text: picture::yielded(&yielded) },
    ]
}

/// The states of each stage, from the last one of the stage before.
fn stages(document: &SetDocument) -> Vec<SetStage> {
    let mut from = [0.0; 2];
    let mut list = Vec::new();
    for (n, name) in document.stages.iter().enumerate() {
        let own = document.states.iter().filter(|s| s.stage == n + 1);
        let mut points = vec![from];
        points.extend(own.map(|s| [s.travel, s.effort]));
        from = points[points.len() - 1];
        list.push(SetStage { name: name.clone(), points });
    }
    list
}

/// The answer in one sentence; none if the part was never let down.
fn kept(found: &SetAnalysis, document: &SetDocument) -> Option<String> {
    let (draw, back) = found.draws.iter().rev().find_map(|d| Some((d, d.back?)))?;
    let unit = document.units.travel;
    let spent = found.path.states.last().map_or(0.0, |s| s.plastic_work + s.relaxed);
    if spent <= NOTHING * draw.put_in {
        return Some("it comes back whole: nothing yields".to_owned());
    }
    let verb = if back.free { "keeps a set of" } else { "is held at" };
    let shares: Vec<String> = found
        .draws
        .iter()
        .filter_map(|d| Some(format!("{:.0} %", 100.0 * d.back?.returned / d.put_in)))
        .collect();
    let later = back.later.map_or_else(String::new, |[time, rest]| {
        format!(", {} {unit} when left alone for {}", three_digits(rest), time_words(time))
    });
    Some(format!(
        "{verb} {} {unit} after {} {unit} of draw{later}, and gave back {} of the energy put in",
        three_digits(back.rest),
        three_digits(draw.travel),
        shares.join(", then ")
    ))
}

/// Each draw and what came back.
fn rows(found: &SetAnalysis, document: &SetDocument) -> Vec<Vec<String>> {
    let units = &document.units;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let row = |label: String, value: &dyn Fn(usize) -> String| {
        std::iter::once(label).chain((0..found.draws.len()).map(value)).collect::<Vec<_>>()
    };
    rows.push(row(String::new(), &|n| format!("draw {}", n + 1)));
    rows.push(row(format!("drawn, {}", units.travel), &|n| three_digits(found.draws[n].travel)));
    rows.push(row(format!("needs there, {}", units.effort), &|n| {
        three_digits(found.draws[n].effort)
    }));
    rows.push(row("energy put in, mJ".into(), &|n| three_digits(found.draws[n].put_in)));
    let back = |n: usize, value: &dyn Fn(&crate::analysis::Back) -> String| {
        found.draws[n].back.as_ref().map_or_else(|| "-".to_owned(), value)
    };
    rows.push(row("energy given back, mJ".into(), &|n| back(n, &|b| three_digits(b.returned))));
    rows.push(row("share of it, %".into(), &|n| {
        back(n, &|b| format!("{:.1}", 100.0 * b.returned / found.draws[n].put_in))
    }));
    rows.push(row(format!("set after it, {}", units.travel), &|n| {
        back(n, &|b| three_digits(b.rest))
    }));
    if found.draws.iter().any(|d| d.back.is_some_and(|b| b.later.is_some())) {
        rows.push(row("left alone for".into(), &|n| {
            let later = found.draws[n].back.and_then(|b| b.later);
            later.map_or_else(|| "-".to_owned(), |[time, _]| time_words(time))
        }));
        rows.push(row(format!("set then, {}", units.travel), &|n| {
            let later = found.draws[n].back.and_then(|b| b.later);
            later.map_or_else(|| "-".to_owned(), |[_, rest]| three_digits(rest))
        }));
    }
    rows.push(row("most plastic strain, %".into(), &|n| {
        format!("{:.2}", 100.0 * found.draws[n].most_plastic)
    }));
    rows
}

fn table(case: &Case, found: &SetAnalysis, document: &SetDocument) -> String {
    let region = moving_regions(case).first().copied().unwrap_or_default();
    let mut sides = vec![Side::Left];
    sides.resize(found.draws.len() + 1, Side::Right);
    let done: Vec<String> = found.stages.iter().map(|s| words(*s)).collect();
    let mut text = format!("{}: {region}, {}\n", case.title, done.join(", "));
    if let Some((stage, reached, cause)) = &found.stopped {
        text += &format!(
            "  stopped early in stage {}, at {:.1} % of the draw: {cause}\n",
            stage + 1,
            100.0 * reached
        );
    }
    text += &aligned(&rows(found, document), &sides);
    if let Some(kept) = kept(found, document) {
        text += &format!("  {region} {}\n", kept.trim_start_matches("it "));
    }
    text
}
