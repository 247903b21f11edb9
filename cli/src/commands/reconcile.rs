//! `withy reconcile`: a solved part against what a scale and a speed meter measured.

use super::solve::{SOLVED, SolveError, Voice, command_line, results_folder, run, unfinished};
use crate::analysis::{Analysis, Axis, moving_regions, shot};
use crate::args::ReconcileArgs;
use crate::case::{self, Case, Overrides};
use crate::error::Refusal;
use crate::export::reconciled::words::text;
use crate::export::reconciled::{Document, Found};
use crate::export::{ResultFile, write_results};
use crate::measured::pull::{Computed, PROPORTIONAL, Pull, reconcile as fit_pull};
use crate::measured::speeds::{Measured, Meters, losses};
use crate::measured::{MeasuredCause, Readings};
use crate::picture::{self, MeasuredPicture, SpeedsPicture, three_digits};
use crate::quantity::{AngleKind, ForceKind, LengthKind, MassKind, MomentKind, Ratio, SpeedKind};
use crate::report::{ReconcilePage, reconcile_page};
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use withy_solver::SmoothCurve;
use withy_solver::curve::stencil;
use withy_solver::release::{Shot, USUAL_PIECES, release};

/// If nothing is said: of a speed meter with two light gates, and of kitchen scales (common practice, no source).
const SPEED_ERROR: f64 = 0.01;
const MASS_ERROR: f64 = 0.005;
const FORCE_ERROR: f64 = 0.01;
/// Masses by which the curve of speeds is drawn.
const DRAWN_MASSES: u32 = 24;

/// Readings of one pull, in the part's own units.
struct PullReadings {
    name: String,
    draws: Vec<f64>,
    forces: Vec<f64>,
}

/// Reconciles, writes the results, and returns what goes to standard output and the exit status.
///
/// # Errors
/// Input that is refused; a part without a solution up to full draw.
pub fn reconcile(
    args: &ReconcileArgs,
    interrupted: &AtomicBool,
    voice: &mut dyn Voice,
) -> Result<(String, u8), SolveError> {
    let overrides = Overrides { material: args.material.clone(), ..Overrides::default() };
    let case = case::read(&args.part, &overrides).map_err(Box::new)?;
    let unfit = |why: &str| {
        SolveError::from(Box::new(Refusal::of_file(&args.part, MeasuredCause::Unfit(why.into()))))
    };
    if case.drives.is_empty() {
        return Err(unfit("this part bears a dead load, and has no draw to measure along"));
    }
    let pull_readings = match &args.pull {
        Some(path) => Some(read_pull(&case, path).map_err(Box::new)?),
        None => None,
    };
    let shots = match &args.speeds {
        Some(path) if case.launch.is_none() => {
            let why = "speeds need a [launch] in the part file, which says what is thrown";
            return Err(Box::new(Refusal::of_file(path, MeasuredCause::Unfit(why.into()))).into());
        }
        Some(path) => Some((Readings::open(path).map_err(Box::new)?, path)),
        None => None,
    };
    let shots = match &shots {
        Some((table, _)) => Some((read_speeds(&case, table).map_err(Box::new)?, table)),
        None => None,
    };
    let analysis = run(&case, interrupted, voice)?;
    if let Some(status) = unfinished(&analysis, "reconciled", voice) {
        return Ok((String::new(), status));
    }
    let computed = computed(&case, &analysis).ok_or_else(|| unfit("its draw does not grow"))?;
    let pull = match &pull_readings {
        None => None,
        Some(readings) => {
            let found = fit_pull(&computed, &readings.draws, &readings.forces);
            Some(found.ok_or_else(|| unfit("too few readings of the pull lie within its draw"))?)
        }
    };
    let scale = pull.as_ref().map_or(1.0, |p| p.scale);
    let meters = Meters {
        speed: args.speed_error.map_or(SPEED_ERROR, |e| e.value()),
        mass: args.mass_error.map_or(MASS_ERROR, |e| e.value()),
    };
    let fitted = match (&shots, &analysis.solution.launched, &case.launch) {
        (Some((shots, table)), Some(launched), Some(launch)) => {
            let way = launched.way.scaled(scale, 1.0);
            let found = losses(&way, &shot(launch), shots, meters).ok_or_else(|| {
                let why =
                    "a shot's draw lies beyond the computed one, or its mass is not thrown at all";
                Box::new(table.complaint(MeasuredCause::Unfit(why.into())))
            })?;
            Some(found)
        }
        (Some(_), None, _) => {
            return Err(unfit("its launch could not be computed: see `withy solve`"));
        }
        _ => None,
    };
    let found = Found {
        case: &case,
        analysis: &analysis,
        pull: pull.as_ref(),
        pull_file: pull_readings.as_ref().map(|r| r.name.as_str()),
        readings: pull_readings.as_ref().map_or(0, |r| r.draws.len()),
        force_error: args.force_error.map_or(FORCE_ERROR, |e| e.value()),
        speeds: fitted.as_ref().zip(shots.as_ref().map(|(shots, _)| &shots[..])),
        meters,
    };
    let document = Document::new(&found);
    let json = document.to_json()?;
    let out = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    let [drawn, page] =
        pictured(&found, &document, &computed, pull_readings.as_ref(), &again(args, &case));
    write_results(
        &out,
        &[
            ResultFile { name: "reconcile.html", text: page },
            ResultFile { name: "reconcile.json", text: json.clone() },
            ResultFile { name: "reconcile.svg", text: drawn },
        ],
    )?;
    voice.say(&format!(
        "results are in {}: reconcile.html, reconcile.json, reconcile.svg",
        out.display()
    ));
    Ok((if args.json { json } else { text(&found, &document) }, SOLVED))
}

/// The first moving region's readings: draw and force, or turn and moment.
fn read_pull(case: &Case, path: &std::path::Path) -> Result<PullReadings, Refusal> {
    let table = Readings::open(path)?;
    let region = moving_regions(case).first().copied().unwrap_or_default();
    let (draws, forces) = match Axis::of(case, region) {
        Axis::Along(_) => {
            (table.column::<LengthKind>("draw")?, table.column::<ForceKind>("force")?)
        }
        Axis::Turn(_) => {
            let turns = table.column::<AngleKind>("turn")?;
            (turns.iter().map(|t| t.to_degrees()).collect(), table.column::<MomentKind>("moment")?)
        }
    };
    for (k, x) in draws.iter().enumerate() {
        if *x < 0.0 {
            let (found, range) = (three_digits(*x), "0 or more, from rest");
            return Err(
                table.complaint_at(k, MeasuredCause::OutOfRange { what: "draw", found, range })
            );
        }
    }
    if draws.len() < 2 {
        return Err(table.complaint(MeasuredCause::TooFew { found: draws.len(), needed: 2 }));
    }
    Ok(PullReadings { name: table.name(), draws, forces })
}

/// The shots: mass and speed, and the draw if there is such a column.
fn read_speeds(case: &Case, table: &Readings) -> Result<Vec<Measured>, Refusal> {
    let speeds = table.column::<SpeedKind>("speed")?;
    let masses = if table.has("mass") {
        table.column::<MassKind>("mass")?
    } else {
        vec![case.launch.as_ref().map_or(f64::NAN, |l| l.mass); speeds.len()]
    };
    let draws = if table.has("draw") { Some(table.column::<LengthKind>("draw")?) } else { None };
    let mut shots = Vec::new();
    for (k, (mass, speed)) in masses.iter().zip(&speeds).enumerate() {
        for (what, value) in [("mass", *mass), ("speed", *speed)] {
            if value <= 0.0 {
                let (found, range) = (three_digits(value), "above 0");
                return Err(table.complaint_at(k, MeasuredCause::OutOfRange { what, found, range }));
            }
        }
        let draw = draws.as_ref().map(|d| d[k]);
        shots.push(Measured { mass: *mass, speed: *speed, draw });
    }
    if shots.is_empty() {
        return Err(table.complaint(MeasuredCause::TooFew { found: 0, needed: 1 }));
    }
    Ok(shots)
}

/// Force along the draw of the first moving region, and where the straight line ends.
fn computed(case: &Case, analysis: &Analysis) -> Option<Computed> {
    let axis = Axis::of(case, moving_regions(case).first()?);
    let steps = &analysis.solution.path.steps;
    let of = |value: &dyn Fn(&withy_solver::Step) -> f64| -> Vec<f64> {
        std::iter::once(0.0).chain(steps.iter().map(value)).collect()
    };
    let draws = of(&|s| axis.travel(s.rigid[0]));
    let efforts = of(&|s| axis.effort(&s.reactions[0]));
    if !draws.windows(2).all(|w| w[1] > w[0]) {
        return None;
    }
    // Slopes of cubics through the nearest states: a curve with a hump keeps it.
    let slopes = (0..draws.len())
        .map(|i| stencil(&draws, i, 4).iter().map(|&(k, w)| w * efforts[k]).sum())
        .collect();
    let force = SmoothCurve::with_slopes(draws.clone(), efforts, slopes)?;
    let proportional = case.material.yield_strength.as_ref().and_then(|strength| {
        let limit = PROPORTIONAL * strength.value;
        let peaks: Vec<f64> = std::iter::once(0.0)
            .chain(analysis.solution.peaks.iter().map(|p| p.von_mises))
            .collect();
        let k = (1..peaks.len()).find(|&k| peaks[k] >= limit)?;
        let share = (limit - peaks[k - 1]) / (peaks[k] - peaks[k - 1]);
        Some(draws[k - 1] + share * (draws[k] - draws[k - 1]))
    });
    Some(Computed { force, proportional })
}

/// The command line that gives the same, without folders.
fn again(args: &ReconcileArgs, case: &Case) -> String {
    let name = |path: &PathBuf| path.file_name().map(|n| n.to_string_lossy().into_owned());
    let share = |share: Option<Ratio>| share.map(|s| format!("{} %", 100.0 * s.value()));
    let options = [
        ("--pull", args.pull.as_ref().and_then(name)),
        ("--speeds", args.speeds.as_ref().and_then(name)),
        ("--speed-error", share(args.speed_error)),
        ("--mass-error", share(args.mass_error)),
        ("--force-error", share(args.force_error)),
        ("--material", args.material.clone()),
    ];
    command_line("reconcile", case, &options)
}

/// `reconcile.svg`, and the page with the same charts.
fn pictured(
    found: &Found,
    document: &Document,
    computed: &Computed,
    readings: Option<&PullReadings>,
    command: &str,
) -> [String; 2] {
    let region = moving_regions(found.case).first().copied().unwrap_or_default();
    let axis = Axis::of(found.case, region);
    let scale = found.pull.map_or(1.0, |p| p.scale);
    let of_curve = |factor: f64| -> Vec<[f64; 2]> {
        let end = computed.force.places().last().copied().unwrap_or(1.0);
        (0..=100)
            .map(|k| end * f64::from(k) / 100.0)
            .map(|x| [x, factor * computed.force.at(x)])
            .collect()
    };
    let lines = [of_curve(1.0), of_curve(scale)];
    let zero = found.pull.map_or(0.0, |p: &Pull| p.zero);
    let dots: Vec<[f64; 2]> = readings.map_or_else(Vec::new, |r| {
        r.draws.iter().zip(&r.forces).map(|(x, f)| [x - zero, *f]).collect()
    });
    let mut speeds: Option<[Vec<[f64; 2]>; 3]> = None;
    if let (Some((losses, shots)), Some(launched), Some(launch)) =
        (found.speeds, &found.analysis.solution.launched, &found.case.launch)
    {
        let way = launched.way.scaled(scale, 1.0);
        let full: Vec<[f64; 2]> =
            shots.iter().filter(|s| s.draw.is_none()).map(|s| [s.mass, s.speed]).collect();
        let most = shots.iter().fold(launch.mass, |m, s| withy_mesh::number::max(m, s.mass));
        let curve = |loss: f64| -> Vec<[f64; 2]> {
            let masses =
                (1..=DRAWN_MASSES).map(|k| 1.2 * most * f64::from(k) / f64::from(DRAWN_MASSES));
            let shot = Shot { losses: loss, ..shot(launch) };
            masses
                .filter_map(|mass| {
                    let found = release(&way, &Shot { mass, ..shot }, USUAL_PIECES).ok()?;
                    Some([mass, found.speed])
                })
                .collect()
        };
        let loss = withy_mesh::number::max(losses.loss, 0.0);
        speeds = Some([curve(0.0), curve(loss), full]);
    }
    let mut facts = Vec::new();
    if let Some(pull) = found.pull {
        let modulus = pull.scale * found.case.material.youngs_modulus.value;
        facts.push(format!("E = {} MPa", three_digits(modulus)));
    }
    if let Some((losses, _)) = found.speeds {
        facts.push(format!("{:.0} % of the energy lost", 100.0 * losses.loss));
    }
    let subtitle = format!("measured against computed: {}", facts.join(", "));
    let picture = MeasuredPicture {
        title: &found.case.title,
        subtitle: &subtitle,
        units: axis.units(),
        pull: found.pull.map(|_| [&lines[0][..], &lines[1][..], &dots[..]]),
        speeds: speeds.as_ref().map(|[lossless, reconciled, measured]| SpeedsPicture {
            lossless,
            reconciled,
            measured,
            uncertainty: found.meters.speed,
        }),
    };
    let charts = picture::measured_inline(&picture);
    let page = reconcile_page(&ReconcilePage { found, document, charts: &charts, command });
    [picture::measured(&picture), page]
}
