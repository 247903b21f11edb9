//! What a person reads after a solve: a few aligned lines, the answer first.

use crate::analysis::{
    Analysis, Axis, Ended, Guidance, Limit, LimitKind, Meeting, SpotKind, energy_per_area,
    moving_regions, push,
};
use crate::case::Case;
use crate::lasting;
use crate::picture::three_digits;
use crate::remark::cautions;
use withy_mesh::number::max;
use withy_solver::Step;

/// A label and what stands beside it.
type Line = (String, String);

/// The verdict as text, one fact a line.
#[must_use]
pub fn verdict(case: &Case, analysis: &Analysis) -> String {
    let mut lines: Vec<Line> = Vec::new();
    let solution = &analysis.solution;
    if let Ended::Early(fraction, cause) = &solution.ended {
        let text = format!("at {:.1} % of the draw: {cause}", 100.0 * fraction);
        lines.push(("stopped early".into(), text));
    }
    lines.extend(efforts(case, analysis));
    lines.extend(estimated_modulus(case, analysis));
    lines.extend(hot_spot(case, analysis));
    lines.push(stability(analysis));
    lines.extend(guidance(case, analysis).into_iter().flat_map(|(_, lines)| lines));
    lines.extend(touching(analysis));
    lines.extend(pushes(case, analysis));
    lines.extend(safe_draw(case, analysis));
    lines.extend(thrown(case, analysis));
    lines.extend(lasting(analysis));
    let bed = case.printing().into_iter().filter(|(label, _)| *label == "bed");
    lines.extend(bed.map(|(label, text)| (label.to_owned(), text)));
    let mut text = aligned(&case.title, &lines);
    if analysis.solution.launched.is_some() {
        text += &cautions();
    }
    text
}

/// A title and under it labels with what stands beside them, aligned.
#[must_use]
pub fn aligned(title: &str, lines: &[(String, String)]) -> String {
    let width = lines.iter().map(|l| l.0.chars().count()).max().unwrap_or(0);
    let mut text = format!("{title}\n");
    for (label, fact) in lines {
        text += &format!("  {label:<width$}  {fact}\n");
    }
    text
}

/// What is thrown, what is left behind, and what the limits say.
fn thrown(case: &Case, analysis: &Analysis) -> Vec<Line> {
    let (Some(launch), Some(launched)) = (&case.launch, &analysis.solution.launched) else {
        return Vec::new();
    };
    let r = &launched.release;
    let mut speed = format!("{} g at {} m/s", three_digits(launch.mass), three_digits(r.speed));
    if let Some([low, high]) = launched.speed_range {
        let spread =
            format!(" ({}-{} by the card's spread)", three_digits(low), three_digits(high));
        speed += &spread;
    }
    let mut energy =
        format!("{} mJ, {:.0} % of what is stored", three_digits(r.energy), 100.0 * r.efficiency);
    if let Some(by_area) = energy_per_area(launch, r.energy) {
        energy += &format!(
            "; {} J/m2 on a tip of {} mm",
            three_digits(1e3 * by_area),
            three_digits(launch.tip_diameter.unwrap_or(0.0))
        );
    }
    let losses =
        if launch.losses > 0.0 || launch.friction > 0.0 { "" } else { " (no losses taken)" };
    let size = |v: [f64; 2]| three_digits(v[0].hypot(v[1]));
    let others: Vec<String> = launched
        .others
        .iter()
        .map(|t| format!("{} g {} m/s", three_digits(t.mass), three_digits(t.speed)))
        .collect();
    let mut lines = vec![
        ("throws".into(), speed + losses),
        ("with".into(), energy),
        (
            "leaves".into(),
            format!(
                "{} ms after the release, at {:.2} mm of draw",
                three_digits(r.time),
                r.launched_at
            ),
        ),
        (
            "left behind".into(),
            format!(
                "{} mJ in the moving part ({} of its {} g count), {} mJ in the spring, {} mJ lost",
                three_digits(r.moving_energy),
                three_digits(r.effective_mass),
                three_digits(launched.part_mass),
                three_digits(r.energy_left),
                three_digits(r.lost)
            ),
        ),
        (
            "kick".into(),
            format!(
                "recoil {} mN s, up to {} N on what holds it; the stop takes {} mN s",
                size(r.recoil),
                three_digits(r.frame_force),
                size(r.stop_impulse)
            ),
        ),
        ("other masses".into(), others.join(", ")),
    ];
    lines.extend(launched.limits.iter().map(|limit| {
        let word = match (limit.is_exceeded(), limit.may_be_exceeded()) {
            (true, _) => "EXCEEDED",
            (false, true) => "NOT SURELY KEPT, the card's spread goes beyond",
            (false, false) => "kept",
        };
        let fact = format!("{}: {word}, {} ({})", limit.name, limit.shares(), limit.source);
        ("limit".into(), fact)
    }));
    lines
}

/// Force, largest force and energy of what is driven or loaded.
fn efforts(case: &Case, analysis: &Analysis) -> Vec<Line> {
    let mut lines = Vec::new();
    let steps = &analysis.solution.path.steps;
    let Some(last) = steps.last() else { return lines };
    for (k, name) in moving_regions(case).into_iter().enumerate() {
        let axis = Axis::of(case, name);
        let effort = |n: usize| axis.effort(&steps[n].reactions[k]);
        let [length, force] = axis.units();
        let q = last.rigid[k];
        let travel = three_digits(axis.travel(q));
        let mut fact =
            format!("{} {force} at {travel} {length}", three_digits(effort(steps.len() - 1)));
        let largest = (0..steps.len())
            .max_by(|&a, &b| effort(a).total_cmp(&effort(b)))
            .unwrap_or(steps.len() - 1);
        if largest + 1 < steps.len() && effort(largest) > 1.005 * effort(steps.len() - 1) {
            let at = three_digits(axis.travel(steps[largest].rigid[k]));
            fact += &format!("; most {} {force} at {at} {length}", three_digits(effort(largest)));
        }
        lines.push((format!("{name} needs"), fact));
        if let Some(drift) = drift(case, name, q) {
            lines.push((format!("{name} wanders"), drift));
        }
    }
    let energy = format!("{} mJ", three_digits(last.strain_energy));
    lines.push(("stored energy".into(), energy));
    lines
}

/// What an estimated modulus leaves open: forces, energies and stresses go with it at the same draw,
/// the draw goes against it under a given force.
fn estimated_modulus(case: &Case, analysis: &Analysis) -> Option<Line> {
    let modulus = &case.material.youngs_modulus;
    let (low, high) = (modulus.low?, modulus.high?);
    let energy = analysis.solution.path.steps.last()?.strain_energy;
    let [low, high] = [low, high].map(|v| v / modulus.value);
    modulus.estimated.then(|| {
        let percents = format!("{:+.0} to {:+.0} %", 100.0 * (low - 1.0), 100.0 * (high - 1.0));
        let fact = if case.loads.is_empty() {
            format!(
                "force, energy and stress may be {percents} off: {} to {} mJ",
                three_digits(low * energy),
                three_digits(high * energy)
            )
        } else {
            format!("stiffness may be {percents} off, and the travel under the load against it")
        };
        ("modulus estimated".into(), fact)
    })
}

/// Where a partly free region went besides its draw.
pub(crate) fn drift(case: &Case, name: &str, q: [f64; 3]) -> Option<String> {
    let drive = case.drives.iter().find(|d| d.region == name)?;
    let mut parts = Vec::new();
    if drive.free.x {
        parts.push(format!("{:+.3} mm along x", q[0]));
    }
    if drive.free.y {
        parts.push(format!("{:+.3} mm along y", q[1]));
    }
    if drive.free.turn {
        parts.push(format!("{:+.3} deg", q[2].to_degrees()));
    }
    (!parts.is_empty()).then(|| parts.join(", "))
}

fn hot_spot(case: &Case, analysis: &Analysis) -> Vec<Line> {
    let spot = &analysis.solution.hot_spot;
    let place = format!("({}, {}) mm", three_digits(spot.at[0]), three_digits(spot.at[1]));
    if spot.kind == SpotKind::SharpCorner {
        let fact = format!("{} at {place}: no finite stress, round it", spot.near);
        return vec![("hot spot".into(), fact)];
    }
    let mut lines = vec![
        ("hot spot".into(), format!("{} at {place}", spot.near)),
        (
            "stress there".into(),
            format!(
                "{} MPa von Mises, {}, strain {:.2} % (error about {:.1} %)",
                three_digits(spot.von_mises),
                tension_words(spot.von_mises, spot.tension),
                100.0 * spot.strain,
                100.0 * spot.estimated_error
            ),
        ),
    ];
    lines.extend(against_material(case, spot.von_mises, spot.tension));
    lines
}

/// The largest principal stress; of pressed material only rounding is left of it.
fn tension_words(von_mises: f64, tension: f64) -> String {
    if tension > 1e-6 * von_mises {
        format!("{} MPa tension", three_digits(tension))
    } else {
        "all of it pressure".to_owned()
    }
}

/// Where more is to be learnt about it.
const TAKES_A_SET: &str = "yields: takes a set (`withy set` computes how much)";

/// The hot spot against what the card allows.
fn against_material(case: &Case, von_mises: f64, tension: f64) -> Option<Line> {
    let card = &case.material;
    if let Some(strength) = &card.yield_strength {
        let share = 100.0 * von_mises / strength.value;
        let word = if von_mises >= strength.value { TAKES_A_SET } else { "stays elastic" };
        let limit = three_digits(strength.value);
        return Some(("against yield".into(), format!("{share:.0} % of {limit} MPa: {word}")));
    }
    let strength = card.ultimate_strength.as_ref()?;
    let share = 100.0 * max(tension, 0.0) / strength.value;
    let word = if tension >= strength.value { "breaks" } else { "holds" };
    let limit = three_digits(strength.value);
    Some(("against breaking".into(), format!("{share:.0} % of {limit} MPa: {word}")))
}

/// What keeps each moving region in line at the end of the draw.
pub(crate) fn guidance<'a>(case: &'a Case, analysis: &Analysis) -> Vec<(&'a str, Vec<Line>)> {
    let solution = &analysis.solution;
    let Some(step) = solution.path.steps.last() else { return Vec::new() };
    let regions = moving_regions(case).into_iter().zip(&solution.guidance).enumerate();
    let ends = regions.filter_map(|(k, (name, states))| {
        let force = Axis::of(case, name).effort(&step.reactions[k]);
        Some((name, guided(name, &states.last().copied().flatten()?, force)))
    });
    ends.collect()
}

/// What keeps one region in line that is pulled by so much (N).
fn guided(name: &str, last: &Guidance, force: f64) -> Vec<Line> {
    let fact = match last.wander_per_degree(force) {
        Some(aside) => format!(
            "{} N/mm across, {} N mm/deg in turn; {} mm aside if pulled 1 deg off",
            three_digits(last.lateral),
            three_digits(last.yaw * 1f64.to_radians()),
            three_digits(aside)
        ),
        None => "lost at full draw: nothing keeps it from going aside or turning".to_owned(),
    };
    let mut lines = vec![(format!("{name} is guided"), fact)];
    lines.extend(last.elsewhere.map(|e| {
        let fact = format!(
            "{} N/mm across, {} N mm/deg in turn about that point",
            three_digits(e.lateral),
            three_digits(e.yaw * 1f64.to_radians())
        );
        let [x, y] = e.at.map(three_digits);
        (format!("at ({x}, {y}) mm"), fact)
    }));
    lines
}

/// That the part runs into itself, which no other number shows.
fn touching(analysis: &Analysis) -> Option<Line> {
    let touch = analysis.solution.limits.iter().find(|l| l.kind == LimitKind::Touch)?;
    let place = touch.place.map_or_else(String::new, |[x, y]| {
        format!(" near ({}, {}) mm", three_digits(x), three_digits(y))
    });
    let fact = format!(
        "ERROR: touches itself{place} at {:.1} % of the draw; numbers beyond are not those of a real \
         part",
        100.0 * touch.fraction
    );
    Some(("gaps".into(), fact))
}

/// What the part pushes, from which draw on and how hard at the end.
pub(crate) fn pushes(case: &Case, analysis: &Analysis) -> Vec<Line> {
    let solution = &analysis.solution;
    let unit = moving_regions(case).first().map_or("mm", |name| Axis::of(case, name).units()[0]);
    let line = |m: &Meeting| {
        let travel =
            m.travel.map_or_else(String::new, |t| format!(" ({} {unit})", three_digits(t)));
        let place = m.place.map_or_else(String::new, |[x, y]| {
            format!(" near ({}, {}) mm", three_digits(x), three_digits(y))
        });
        let hardest = |a: &&Step, b: &&Step| {
            push(a, m.obstacle.as_deref()).total_cmp(&push(b, m.obstacle.as_deref()))
        };
        let hard = solution.path.steps.iter().max_by(hardest).map_or_else(String::new, |step| {
            let force = push(step, m.obstacle.as_deref());
            let when = if solution.path.steps.last() == Some(step) {
                "at the end".to_owned()
            } else {
                format!("at most, at {:.0} % of the draw", 100.0 * step.fraction)
            };
            format!(", with {} N {when}", three_digits(force))
        });
        let what = m.obstacle.as_deref().unwrap_or("itself");
        let fact = format!("from {:.1} % of the draw{travel} on{place}{hard}", 100.0 * m.fraction);
        (format!("pushes {what}"), fact)
    };
    solution.meetings.iter().map(line).collect()
}

/// The first limit within the draw and what a state solved there shows, then the others; or that
/// there is none.
fn safe_draw(case: &Case, analysis: &Analysis) -> Vec<Line> {
    let label = "safe draw".to_owned();
    let [first, others @ ..] = &analysis.solution.limits[..] else {
        return vec![(label, "all of it: no limit is reached".to_owned())];
    };
    let mut lines = vec![(label, format!("{}, then {}", draw_of(case, first), ends(first)))];
    for other in others {
        lines
            .push(("beyond that".to_owned(), format!("{}: {}", draw_of(case, other), ends(other))));
    }
    lines
}

/// "4.31 mm (72 % of the draw)".
pub(crate) fn draw_of(case: &Case, limit: &Limit) -> String {
    let percent = 100.0 * limit.fraction;
    let axis = moving_regions(case).first().map(|name| Axis::of(case, name));
    match axis.zip(limit.travel) {
        Some((axis, travel)) => {
            let [unit, _] = axis.units();
            format!("{} {unit} ({percent:.0} % of the draw)", three_digits(travel))
        }
        None => format!("{percent:.0} % of the draw"),
    }
}

/// What happens at a limit, and the numbers that bear it out.
pub(crate) fn ends(limit: &Limit) -> String {
    let words = match (&limit.region, limit.kind) {
        (Some(region), LimitKind::Hand) => format!("{region} needs more than the hand gives"),
        (Some(region), LimitKind::Guidance) => format!("nothing holds {region} in line"),
        (Some(region), LimitKind::NoReturn) => format!("{region} no longer pulls back"),
        _ => limit.kind.words().to_owned(),
    };
    match limit.quantity {
        _ if !limit.confirmed => format!("{words} (estimated between two states)"),
        Some(q) if q.limit > 0.0 => format!("{words} ({} there)", q.words()),
        _ => words,
    }
}

fn stability(analysis: &Analysis) -> Line {
    if let Some(perfect) = &analysis.solution.perfect
        && let Some(branch) = perfect.path.critical.first()
    {
        let percent = 100.0 * branch.fraction;
        let amplitude = perfect.amplitude;
        let fact = format!(
            "a perfect part buckles at {percent:.1} % of the draw; shown is one {amplitude} mm off"
        );
        return ("stability".into(), fact);
    }
    let unstable = analysis.solution.path.steps.iter().find(|s| !s.is_stable());
    let fact = match unstable {
        None => "stable all along the draw".to_owned(),
        Some(step) => format!("NOT stable from {:.0} % of the draw on", 100.0 * step.fraction),
    };
    ("stability".into(), fact)
}

/// What is lost while it is kept drawn, and how often it may be drawn.
fn lasting(analysis: &Analysis) -> Vec<Line> {
    let mut lines = Vec::new();
    let solution = &analysis.solution;
    if let Some(held) = &solution.held {
        let words = lasting::held_words(held);
        lines.extend(words.into_iter().map(|(after, fact)| (format!("kept drawn, {after}"), fact)));
        lines.extend(lasting::rest_words(held).map(|rest| ("afterwards".to_owned(), rest)));
    }
    let draws = solution.draws.as_ref();
    lines.extend(draws.map(|d| ("draws".into(), lasting::draws_words(d))));
    lines
}
