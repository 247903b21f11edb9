//! `withy spread`: what the print leaves open.

use super::solve::{
    INTERRUPTED, SOLVED, SolveError, Voice, command_line, go_on, results_folder, run, unfinished,
    unsolvable,
};
use crate::args::SpreadArgs;
use crate::case::{self, CaseCause, Overrides};
use crate::error::Refusal;
use crate::export::spread::Document;
use crate::export::{ResultFile, write_results};
use crate::picture::{Bar, BarPanel, three_digits, tornado, tornado_inline};
use crate::remark::cautions;
use crate::report::{SpreadPage, spread_page};
use crate::spread::{Read, Spread, spread as find_spread};
use crate::table::{Side, aligned};
use std::sync::atomic::AtomicBool;

/// Solves, finds the spread, writes the results, and returns what goes to standard output and the exit status.
///
/// # Errors
/// Input that is refused, a part that is not solved, a folder that cannot be written.
pub fn spread(
    args: &SpreadArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SolveError> {
    let overrides = Overrides { material: args.material.clone(), ..Overrides::default() };
    let case = case::read(&args.part, &overrides).map_err(Box::new)?;
    if case.drives.is_empty() || !case.loads.is_empty() {
        return Err(Box::new(Refusal::of_file(&args.part, CaseCause::LoadedSpread)).into());
    }
    let analysis = run(&case, interrupted, voice)?;
    if let Some(status) = unfinished(&analysis, "written", voice) {
        return Ok((String::new(), status));
    }
    voice.progress("the part with other walls");
    let found = find_spread(&case, &analysis, &mut |_| go_on(interrupted));
    if go_on(interrupted).is_break() {
        return Ok((String::new(), INTERRUPTED));
    }
    let found = found.map_err(|cause| unsolvable(&case, cause))?;
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    let json = Document::new(&case, &found).to_json()?;
    let panels: Vec<BarPanel> =
        found.told().iter().filter_map(|read| panel(&found, read)).collect();
    let subtitle = "what the print leaves open, against the part as solved";
    let drawn = tornado(&case.title, subtitle, &panels, found.base.speed.is_some());
    let rows = rows(&found);
    let titles = panels.iter().map(|p| p.title.clone());
    let page = spread_page(&SpreadPage {
        case: &case,
        analysis: &analysis,
        found: &found,
        rows: &rows,
        bars: &titles.zip(tornado_inline(&panels)).collect::<Vec<_>>(),
        command: &command_line("spread", &case, &[("--material", args.material.clone())]),
    });
    write_results(
        &out,
        &[
            ResultFile { name: "spread.html", text: page },
            ResultFile { name: "spread.json", text: json.clone() },
            ResultFile { name: "spread.svg", text: drawn },
        ],
    )?;
    voice.say(&format!("results are in {}: spread.html, spread.json, spread.svg", out.display()));
    Ok((if args.json { json } else { text(&case.title, &found, &rows) }, SOLVED))
}

fn panel(found: &Spread, (name, unit, of): &Read) -> Option<BarPanel> {
    let base = of(&found.base)?;
    let bars = found.inputs.iter().filter_map(|input| {
        let [low, high] = [of(&input.outcomes[0])?, of(&input.outcomes[1])?];
        Some(Bar {
            name: input.name.to_owned(),
            ends: input.ends.clone(),
            changes: [low / base - 1.0, high / base - 1.0],
        })
    });
    let [low, high] = found.together(of)?;
    let title = format!(
        "{name}: {} {unit}, {} to {} all together",
        three_digits(base),
        three_digits(low),
        three_digits(high)
    );
    Some(BarPanel { title, bars: bars.collect() })
}

/// Each uncertain thing and what it does.
fn rows(found: &Spread) -> Vec<Vec<String>> {
    let told = found.told().into_iter().filter(|r| r.2(&found.base).is_some());
    let told: Vec<Read> = told.collect();
    let mut rows = vec![vec!["what".to_owned(), "from".into(), "to".into()]];
    rows[0].extend(told.iter().map(|r| format!("{} %", r.0)));
    for input in &found.inputs {
        let mut row = vec![input.name.to_owned()];
        row.extend(input.ends.iter().cloned());
        for (_, _, of) in &told {
            let base = of(&found.base).unwrap_or(f64::NAN);
            let change =
                |k: usize| of(&input.outcomes[k]).map_or(f64::NAN, |v| 100.0 * (v / base - 1.0));
            row.push(if input.is_range {
                format!("{:+.1} {:+.1}", change(0), change(1))
            } else {
                format!("{:+.1}", change(0))
            });
        }
        rows.push(row);
    }
    rows
}

fn text(title: &str, found: &Spread, rows: &[Vec<String>]) -> String {
    let mut sides = vec![Side::Right; rows[0].len()];
    sides[..3].fill(Side::Left);
    let mut text = format!("{title}: what the print leaves open\n");
    text += &aligned(rows, &sides);
    text += "\nAll together, if they are independent\n";
    for (name, unit, of) in found.told() {
        if let (Some(base), Some([low, high])) = (of(&found.base), found.together(of)) {
            text += &format!(
                "  {name:<16}{} {unit}, {} to {}\n",
                three_digits(base),
                three_digits(low),
                three_digits(high)
            );
        }
    }
    text += "\nWhere the ranges come from\n";
    for input in &found.inputs {
        text += &format!("  {:<16}{}\n", input.name, input.source);
    }
    for line in &found.left_out {
        text += &format!("  left out        {line}\n");
    }
    if found.base.speed.is_some() {
        text += &cautions();
    }
    text
}
