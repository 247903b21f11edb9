//! `withy release`: a solved part let go in time.

use super::solve::{
    INTERRUPTED, SOLVED, STOPPED, SolveError, Voice, command_line, go_on, results_folder, run,
    unfinished, unsolvable,
};
use crate::analysis::{InTime, InTimeError, Launched, Solution, energy_per_area, in_time};
use crate::args::ReleaseArgs;
use crate::case::{self, Case, CaseCause, Launch, Overrides};
use crate::error::Refusal;
use crate::export::in_time::{Document, csv};
use crate::export::{ResultFile, write_results};
use crate::lasting::{Draws, Swing, draws_words, swung};
use crate::picture::{self, MovingPicture, three_digits};
use crate::remark::cautions;
use crate::report::{ReleasePage, release_page};
use crate::verdict::aligned;
use std::sync::atomic::AtomicBool;
use withy_mesh::number::{max, min};
use withy_solver::endurance::Cycle;

/// Solves, lets go, writes the results, and returns what goes to standard output and the exit status.
///
/// # Errors
/// Input that is refused, a part that is not solved, a folder that cannot be written.
pub fn release(
    args: &ReleaseArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SolveError> {
    let overrides = Overrides { material: args.material.clone(), ..Overrides::default() };
    let case = case::read(&args.part, &overrides).map_err(Box::new)?;
    let unfit = |why: String| {
        SolveError::from(Box::new(Refusal::of_file(&args.part, CaseCause::NoRelease(why))))
    };
    let Some(launch) = &case.launch else {
        return Err(unfit("the part file has no [launch], which says what is thrown".into()));
    };
    let analysis = run(&case, interrupted, voice)?;
    if let Some(status) = unfinished(&analysis, "let go", voice) {
        return Ok((String::new(), status));
    }
    let Some(launched) = &analysis.solution.launched else {
        let why = analysis.solution.remarks.iter().find(|r| r.code == "no-launch");
        return Err(unfit(why.map_or_else(|| "no launch is computed".into(), |r| r.text.clone())));
    };
    let mut pass = |_| go_on(interrupted);
    let mut tell = |share: f64| {
        voice.progress(&format!("released: {:.0} % of the time", 100.0 * share));
        go_on(interrupted)
    };
    let found = match in_time(&case, launched, analysis.solution.state, &mut pass, &mut tell) {
        Ok(found) => found,
        Err(InTimeError::Interrupted) => return Ok((String::new(), INTERRUPTED)),
        Err(InTimeError::NoLaunch(why)) => return Err(unfit(why.to_owned())),
        Err(InTimeError::Analysis(cause)) => return Err(unsolvable(&case, cause)),
        Err(InTimeError::Model(cause)) => return Err(unsolvable(&case, cause.into())),
        Err(stopped @ InTimeError::Stopped { .. }) => {
            voice.say(&format!("{stopped}; nothing was written"));
            return Ok((String::new(), STOPPED));
        }
    };
    let spot = &analysis.solution.hot_spot;
    let draws = drawn_often(&case, &analysis.solution, &found);
    let document = Document::new(&case, launched, &found, spot.strain, draws.as_ref());
    let json = document.to_json()?;
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    let lines = lines(launch, launched, &found, spot.strain, draws.as_ref());
    let (picture, (moving, charts)) = moving(&case, &found, |picture| {
        (picture::moving(picture), picture::moving_inline(picture))
    });
    let page = release_page(&ReleasePage {
        case: &case,
        launch,
        analysis: &analysis,
        launched,
        found: &found,
        draws: draws.as_ref(),
        lines: &lines,
        moving: &moving,
        charts: &charts,
        command: &command_line("release", &case, &[("--material", args.material.clone())]),
    });
    write_results(
        &out,
        &[
            ResultFile { name: "release.html", text: page },
            ResultFile { name: "release.json", text: json.clone() },
            ResultFile { name: "release.csv", text: csv(&found) },
            ResultFile { name: "release.svg", text: picture },
        ],
    )?;
    voice.say(&format!(
        "results are in {}: release.html, release.json, release.csv, release.svg",
        out.display()
    ));
    let text = if args.json { json } else { aligned(&case.title, &lines) + &cautions() };
    Ok((text, SOLVED))
}

/// How often the part may be let go as it was followed.
fn drawn_often(case: &Case, solution: &Solution, found: &InTime) -> Option<Draws> {
    let [largest, amplitude] = found.cycle?.map(|share| share * solution.hot_spot.strain);
    let full = case.drives.first().map(|d| d.shift[0].hypot(d.shift[1]))?;
    let swing = Swing::InTime(found.overshoot / full);
    swung(case, solution, Cycle { largest, amplitude }, swing)
}

/// What a person reads, fact by fact.
fn lines(
    launch: &Launch,
    launched: &Launched,
    found: &InTime,
    drawn_strain: f64,
    draws: Option<&Draws>,
) -> Vec<(String, String)> {
    let reduced = launched.release.speed;
    let energy = 0.5 * launch.mass * found.speed * found.speed;
    let mut speed = format!(
        "{} g at {} m/s in time, {} m/s by the solved path ({:+.1} %)",
        three_digits(launch.mass),
        three_digits(found.speed),
        three_digits(reduced),
        100.0 * (found.speed / reduced - 1.0)
    );
    if found.caught_again {
        speed += "; it is let go for moments and caught again";
    }
    let mut with = format!("{} mJ", three_digits(energy));
    if let Some(by_area) = energy_per_area(launch, energy) {
        with += &format!(", {} J/m2 on its tip", three_digits(1e3 * by_area));
    }
    let hz: Vec<String> = found.frequencies.iter().map(|f| three_digits(*f)).collect();
    let mut lines = vec![
        ("throws".to_owned(), speed),
        ("with".into(), with),
        ("leaves".into(), format!("{} ms after the release", three_digits(found.leaves))),
        ("overshoot".into(), format!("{} mm beyond rest", three_digits(found.overshoot))),
        (
            "frame feels".into(),
            format!(
                "up to {} N, {} ms after the release",
                three_digits(found.frame_force[0]),
                three_digits(found.frame_force[1])
            ),
        ),
        ("rings at".into(), format!("{} Hz", hz.join(", "))),
        ("energy kept".into(), format!("to {:.0e} of it", max(found.energy_error, 1e-16))),
    ];
    if let Some([factor, time]) = found.strain {
        let fact = if factor > 1.0 + 1e-6 {
            format!(
                "{factor:.2} times the drawn one, {} ms after the release: {:.2} %",
                three_digits(time),
                100.0 * factor * drawn_strain
            )
        } else {
            "never above the drawn one".to_owned()
        };
        lines.insert(4, ("largest strain".into(), fact));
    }
    if launch.friction > 0.0 {
        let until = found.instants.last().map_or(f64::NAN, |i| i.time);
        let taken = format!("{} mJ within {} ms", three_digits(found.rubbed), three_digits(until));
        lines.push(("friction takes".into(), taken));
    }
    if let Some(draws) = draws {
        let strains = format!(
            "{}, at a strain of {:.2} % with an amplitude of {:.2} %{}",
            draws_words(draws),
            100.0 * draws.cycle.largest,
            100.0 * draws.cycle.amplitude,
            draws.swing.words()
        );
        lines.push(("draws".into(), strains));
    }
    lines
}

/// What comes of the moving picture.
fn moving<T>(case: &Case, found: &InTime, of: impl FnOnce(&MovingPicture) -> T) -> T {
    let launch = case.launch.as_ref();
    let radius = launch.and_then(|l| l.tip_diameter).map_or(4.0, |d| 0.5 * d);
    let region = launch.map_or("", |l| l.region.as_str());
    let n = found.direction;
    // In front of the region, at rest.
    let nodes: Vec<[f64; 2]> = found
        .mesh
        .regions()
        .iter()
        .filter(|r| r.name == region)
        .flat_map(|r| &r.nodes)
        .map(|id| {
            let p = found.mesh.nodes()[id.index()];
            [p.x, p.y]
        })
        .collect();
    let along = |p: &[f64; 2]| p[0] * n[0] + p[1] * n[1];
    let across = |p: &[f64; 2]| p[1] * n[0] - p[0] * n[1];
    let middle = nodes.iter().map(across).sum::<f64>() / nodes.len().max(1) as f64;
    // It rides in front of all that is drawn as far as the region, on its middle line.
    let drawn = found.frames.first().map_or(&[][..], |f| &f.1);
    let far = drawn.iter().map(along).fold(0.0, min);
    let carried = found.mesh.nodes().iter().zip(drawn).filter(|(p, u)| {
        along(u) < 0.9 * far && (across(&[p.x, p.y]) - middle).abs() < 0.25 * radius
    });
    let front = carried.map(|(p, _)| along(&[p.x, p.y]));
    let front = front.chain(nodes.iter().map(along)).fold(f64::NEG_INFINITY, max);
    let reach = front + radius;
    let centre = [n[0] * reach - n[1] * middle, n[1] * reach + n[0] * middle];
    let time = found.frames.last().map_or(0.0, |f| f.0);
    let subtitle = format!(
        "let go at full draw: {} ms, slowed down; {} m/s, {} mm beyond rest",
        three_digits(time),
        three_digits(found.speed),
        three_digits(found.overshoot)
    );
    of(&MovingPicture {
        title: &case.title,
        subtitle: &subtitle,
        mesh: &found.mesh,
        frames: &found.frames,
        instants: &found.instants,
        projectile: (centre, radius, n),
    })
}
