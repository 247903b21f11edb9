//! What is thrown, and the cautions.

use super::markup::{bullets, escape, facts, section};
use crate::analysis::{Analysis, Judged, LimitKind, energy_per_area};
use crate::case::Case;
use crate::picture::three_digits;
use crate::remark::LAUNCH_CAUTIONS;

/// What holds for every drawn part.
const CAUTIONS: [&str; 4] = [
    "A drawn part stores energy: wear eye protection when you try it.",
    "A part that breaks throws splinters. Try it behind a screen first, and never point it at people or animals.",
    "Do not leave it drawn: it creeps, takes a set, and may let go by itself.",
    "Where people's safety depends on it, a licensed engineer decides.",
];

/// The section.
pub(super) fn html(case: &Case, analysis: &Analysis) -> String {
    let solution = &analysis.solution;
    let snaps = solution.path.steps.iter().any(|s| !s.snaps.is_empty())
        || solution.limits.iter().any(|l| l.kind == LimitKind::NoReturn);
    let launch = thrown(case, analysis);
    let heading = if launch.is_some() { "What it throws, and cautions" } else { "Cautions" };
    let body = launch.unwrap_or_default() + &before_you_let_go(case.launch.is_some() || snaps);
    section("cautions", heading, &body)
}

/// The cautions of what `throws`, or those of every drawn part.
pub(super) fn before_you_let_go(throws: bool) -> String {
    let cautions = if throws { bullets(&LAUNCH_CAUTIONS) } else { bullets(&CAUTIONS) };
    format!("<div class=\"heed\">\n<h3>Before you let go</h3>\n{cautions}</div>\n")
}

fn thrown(case: &Case, analysis: &Analysis) -> Option<String> {
    let (launch, launched) = (case.launch.as_ref()?, analysis.solution.launched.as_ref()?);
    let r = &launched.release;
    let mut speed = format!("{} g at {} m/s", three_digits(launch.mass), three_digits(r.speed));
    if let Some([low, high]) = launched.speed_range {
        speed +=
            &format!(", {} to {} m/s by the card's spread", three_digits(low), three_digits(high));
    }
    let mut energy =
        format!("{} mJ, {:.0} % of what is stored", three_digits(r.energy), 100.0 * r.efficiency);
    if let (Some(by_area), Some(tip)) = (energy_per_area(launch, r.energy), launch.tip_diameter) {
        energy +=
            &format!("; {} J/m2 on a tip of {} mm", three_digits(1e3 * by_area), three_digits(tip));
    }
    let losses = if launch.losses > 0.0 || launch.friction > 0.0 {
        format!(
            "{:.0} % of the released energy, friction {} N",
            100.0 * launch.losses,
            three_digits(launch.friction)
        )
    } else {
        "none taken: the real speed is lower".to_owned()
    };
    let size = |v: [f64; 2]| three_digits(v[0].hypot(v[1]));
    let mut list = vec![
        ("Throws".to_owned(), speed),
        ("Energy".to_owned(), energy),
        ("Losses".to_owned(), losses),
        (
            "Leaves".to_owned(),
            format!(
                "{} ms after the release, at {:.2} mm of draw",
                three_digits(r.time),
                r.launched_at
            ),
        ),
        (
            "Left behind".to_owned(),
            format!(
                "{} mJ in the moving part, {} mJ in the spring, {} mJ lost",
                three_digits(r.moving_energy),
                three_digits(r.energy_left),
                three_digits(r.lost)
            ),
        ),
        (
            "Kick".to_owned(),
            format!(
                "recoil {} mN s, up to {} N on what holds it; the stop takes {} mN s",
                size(r.recoil),
                three_digits(r.frame_force),
                size(r.stop_impulse)
            ),
        ),
    ];
    list.extend(launched.others.iter().map(|t| {
        (
            format!("With {} g", three_digits(t.mass)),
            format!("{} m/s, {} mJ", three_digits(t.speed), three_digits(t.energy)),
        )
    }));
    list.extend(launched.limits.iter().map(limit));
    let own = escape(&case.material.title);
    Some(format!(
        "<p class=\"own-only\" hidden>This section stays that of {own}.</p>\n{}",
        facts(&list)
    ))
}

/// Whose rule, and how much of it is used.
pub(super) fn limit(limit: &Judged) -> (String, String) {
    let word = match (limit.is_exceeded(), limit.may_be_exceeded()) {
        (true, _) => "exceeded",
        (false, true) => "not surely kept, the card's spread goes beyond",
        (false, false) => "kept",
    };
    (format!("Limit: {}", limit.name), format!("{word}; {} ({})", limit.shares(), limit.source))
}
