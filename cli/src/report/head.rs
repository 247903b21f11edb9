//! The answer first: a verdict in plain words, then the numbers that decide.

use super::markup::escape;
use crate::analysis::{Analysis, Axis, Ended, LimitKind, SpotKind, moving_regions};
use crate::case::Case;
use crate::comparison::{Fate, Row};
use crate::material::Card;
use crate::picture::three_digits;
use crate::remark::{Level, Remark};
use crate::verdict::{draw_of, ends};
use serde::Serialize;
use withy_mesh::number::max;

/// How a part fares, for its sign and colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Standing {
    Fine,
    Limited,
    Unstable,
    Stopped,
}

impl Standing {
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Limited => "limited",
            Self::Unstable => "unstable",
            Self::Stopped => "stopped",
        }
    }
}

/// What is said first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Judgement {
    pub(super) standing: Standing,
    pub(super) headline: String,
    pub(super) sentences: Vec<String>,
}

/// One number that decides, in words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Key {
    pub(super) label: String,
    pub(super) value: String,
    pub(super) note: String,
}

impl Key {
    pub(super) fn new(label: &str, value: String, note: String) -> Self {
        Self { label: label.to_owned(), value, note }
    }
}

/// The judgement of the part in its own material; `row` is the same with the spreads of the card, where
/// that is known.
pub(super) fn judge(case: &Case, analysis: &Analysis, row: Option<&Row>) -> Judgement {
    let limits = &analysis.solution.limits;
    let (mut judgement, told) = match (of_shape(analysis), limits.first()) {
        (Some(judgement), _) => (judgement, 0),
        (None, Some(first)) => (limited(&draw_of(case, first), &ends(first), first.kind), 1),
        (None, None) => (fine(case, analysis, &case.material), 0),
    };
    let beyond = limits.iter().skip(told);
    judgement
        .sentences
        .extend(beyond.map(|limit| format!("At {}: {}.", draw_of(case, limit), ends(limit))));
    judgement.sentences.extend(perfect(analysis));
    judgement.sentences.extend(row.and_then(|row| spread(case, row)));
    judgement
}

/// What the shape decides, the same in every material: that there is no path to the end, that it is not
/// stable, or that the stress has no finite value.
fn of_shape(analysis: &Analysis) -> Option<Judgement> {
    let solution = &analysis.solution;
    if let Ended::Early(fraction, cause) = &solution.ended {
        let mut sentences = vec![format!("{}.", capital(&cause.to_string()))];
        if let Some(last) = solution.path.steps.last() {
            let text = format!(
                "The numbers end with the last reported state, at {:.1} % of the draw.",
                100.0 * last.fraction
            );
            sentences.push(text);
        }
        let headline = format!("Stopped early, at {:.1} % of the draw.", 100.0 * fraction);
        return Some(Judgement { standing: Standing::Stopped, headline, sentences });
    }
    if let Some(step) = solution.path.steps.iter().find(|s| !s.is_stable()) {
        let text = "The real part buckles or snaps aside there, to another shape with less force.";
        return Some(Judgement {
            standing: Standing::Unstable,
            headline: format!("Not stable from {:.0} % of the draw on.", 100.0 * step.fraction),
            sentences: vec![text.into()],
        });
    }
    (solution.hot_spot.kind == SpotKind::SharpCorner).then(|| Judgement {
        standing: Standing::Limited,
        headline: "Limited by a sharp inner corner.".into(),
        sentences: vec![
            "The stress there has no finite value, so nothing tells how far the part may be drawn. Round \
             the corner and solve again."
                .into(),
        ],
    })
}

/// Where a perfect part would branch, if the reported one is a little off.
fn perfect(analysis: &Analysis) -> Option<String> {
    let perfect = analysis.solution.perfect.as_ref()?;
    let branch = perfect.path.critical.first()?;
    Some(format!(
        "A perfect part would lose its stability at {:.1} % of the draw; shown is one {} mm off its drawing.",
        100.0 * branch.fraction,
        perfect.amplitude
    ))
}

/// The judgement of a card that was read from the solve by its modulus.
pub(super) fn judge_row(case: &Case, analysis: &Analysis, row: &Row) -> Judgement {
    let place = || at(case, row.safe.travel.value, row.safe.fraction.value);
    let mut judgement = match (of_shape(analysis), row.safe.ends) {
        (Some(mut judgement), Some(kind)) => {
            judgement.sentences.push(format!("At {}: {}.", place(), kind.words()));
            judgement
        }
        (Some(judgement), None) => judgement,
        (None, Some(kind)) => limited(&place(), kind.words(), kind),
        (None, None) => fine(case, analysis, &row.card),
    };
    judgement.sentences.extend(perfect(analysis));
    if row.fate.is_some_and(|f| f > Fate::Fine) {
        judgement.sentences.push(
            "Force, energy and stress at full draw are those of a straight stress-strain line, and too high beyond \
             that."
                .into(),
        );
    }
    judgement.sentences.extend(spread(case, row));
    judgement
}

fn limited(place: &str, words: &str, kind: LimitKind) -> Judgement {
    let standing =
        if kind == LimitKind::Stability { Standing::Unstable } else { Standing::Limited };
    Judgement {
        standing,
        headline: format!("Good for {place}."),
        sentences: vec![format!("Then {words}.")],
    }
}

fn fine(case: &Case, analysis: &Analysis, card: &Card) -> Judgement {
    let solution = &analysis.solution;
    let known = card.yield_strength.is_some() || card.ultimate_strength.is_some();
    let mut virtues = vec![if known { "stays elastic" } else { "stays stable" }];
    if solution.guidance.iter().flatten().flatten().next().is_some() {
        virtues.push("is kept in line");
    }
    if !case.drives.is_empty() {
        virtues.push("pulls back");
    }
    let listed = match virtues.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    };
    let reach = if case.drives.is_empty() { "under all of the load" } else { "all the way" };
    let mut sentences = vec![format!("It {listed} {reach}.")];
    if !known {
        let unknown =
            "No strength is known of this material: nothing tells whether it yields or breaks.";
        sentences.push(unknown.into());
    }
    Judgement {
        standing: Standing::Fine,
        headline: if case.drives.is_empty() {
            "Fine under the full load."
        } else {
            "Fine to full draw."
        }
        .into(),
        sentences,
    }
}

/// What the spreads of the card leave open, if that is worse than the card's values.
fn spread(case: &Case, row: &Row) -> Option<String> {
    let (fate, worst) = (row.fate?, row.worst_fate?);
    let low = row.safe.travel.range?[0];
    let fraction = row.safe.fraction.range?[0];
    (worst > fate).then(|| {
        format!(
            "The values of the card have a spread: at its unfavourable ends the part {} and is good for {} only.",
            worst.words(),
            at(case, low, fraction)
        )
    })
}

/// "4.31 mm (72 % of the draw)".
fn at(case: &Case, travel: f64, fraction: f64) -> String {
    let unit = first_axis(case).map_or("mm", |axis| axis.units()[0]);
    format!("{} {unit} ({:.0} % of the draw)", three_digits(travel), 100.0 * fraction)
}

fn first_axis(case: &Case) -> Option<Axis> {
    moving_regions(case).first().map(|name| Axis::of(case, name))
}

pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// The numbers that decide, for a card; `throws` is the speed of what is thrown (m/s).
pub(super) fn keys(case: &Case, analysis: &Analysis, card: &Card, throws: Option<f64>) -> Vec<Key> {
    let solution = &analysis.solution;
    let factor = card.youngs_modulus.value / case.material.youngs_modulus.value;
    let mut keys = Vec::new();
    let steps = &solution.path.steps;
    let Some(last) = steps.last() else { return keys };
    let end = match (&solution.ended, case.drives.is_empty()) {
        (Ended::Early(..), _) => "in the last state",
        (Ended::Complete, true) => "at full load",
        (Ended::Complete, false) => "at full draw",
    };
    for (k, name) in moving_regions(case).into_iter().enumerate() {
        let axis = Axis::of(case, name);
        let [length, force] = axis.units();
        let effort = |n: usize| factor * axis.effort(&steps[n].reactions[k]);
        let final_effort = effort(steps.len() - 1);
        let most = (0..steps.len()).max_by(|&a, &b| effort(a).total_cmp(&effort(b)));
        let mut note = format!("{name} at {} {length}", three_digits(axis.travel(last.rigid[k])));
        if let Some(n) = most.filter(|&n| n + 1 < steps.len() && effort(n) > 1.005 * final_effort) {
            let travel = three_digits(axis.travel(steps[n].rigid[k]));
            note += &format!("; most {} {force} at {travel} {length}", three_digits(effort(n)));
        }
        let what = if force == "N" { "Force" } else { "Moment" };
        keys.push(Key {
            label: format!("{what} {end}"),
            value: format!("{} {force}", three_digits(final_effort)),
            note,
        });
    }
    keys.push(Key {
        label: "Stored energy".into(),
        value: format!("{} mJ", three_digits(factor * last.strain_energy)),
        note: end.to_owned(),
    });
    keys.extend(stress_keys(analysis, card, factor));
    keys.extend(guidance_key(case, analysis, factor));
    if let (Some(launch), Some(speed)) = (&case.launch, throws) {
        // g (m/s)^2 is mJ.
        let energy = 0.5 * launch.mass * speed * speed;
        keys.push(Key {
            label: "Speed".into(),
            value: format!("{} m/s", three_digits(speed)),
            note: format!("{} g with {} mJ", three_digits(launch.mass), three_digits(energy)),
        });
    }
    keys
}

fn stress_keys(analysis: &Analysis, card: &Card, factor: f64) -> Vec<Key> {
    let spot = &analysis.solution.hot_spot;
    let place =
        format!("{} at ({}, {}) mm", spot.near, three_digits(spot.at[0]), three_digits(spot.at[1]));
    if spot.kind == SpotKind::SharpCorner {
        let value = "no finite stress".into();
        return vec![Key { label: "Hot spot".into(), value, note: place }];
    }
    let (stress, tension) = (factor * spot.von_mises, factor * spot.tension);
    let mut keys = vec![Key {
        label: "Hot spot".into(),
        value: format!("{} MPa", three_digits(stress)),
        note: format!("{place}; strain {:.2} %", 100.0 * spot.strain),
    }];
    let against = match (&card.yield_strength, &card.ultimate_strength) {
        (Some(strength), _) => Some((
            stress,
            strength.value,
            "of yield",
            "stays elastic",
            "yields, takes a set; `withy set` computes how much",
        )),
        (None, Some(strength)) => {
            Some((max(tension, 0.0), strength.value, "of the strength", "holds", "breaks"))
        }
        (None, None) => None,
    };
    if let Some((demand, allowed, of, good, bad)) = against {
        let word = if demand >= allowed { bad } else { good };
        keys.push(Key {
            label: "Margin".into(),
            value: format!("{:.0} % {of}", 100.0 * demand / allowed),
            note: format!("{} of {} MPa: {word}", three_digits(demand), three_digits(allowed)),
        });
    }
    keys
}

fn guidance_key(case: &Case, analysis: &Analysis, factor: f64) -> Option<Key> {
    let solution = &analysis.solution;
    // Of several regions the one that is held least.
    let ends = solution.guidance.iter().enumerate();
    let ends = ends.filter_map(|(k, states)| Some((k, states.last().copied().flatten()?)));
    let (k, last) = ends.min_by(|a, b| a.1.smallest.total_cmp(&b.1.smallest))?;
    let step = solution.path.steps.last()?;
    let name = moving_regions(case).get(k).copied()?;
    let axis = Axis::of(case, name);
    let turn = three_digits(factor * last.yaw * 1f64.to_radians());
    // Force and stiffness go with the modulus: how far it wanders does not.
    let note = match last.wander_per_degree(axis.effort(&step.reactions[k])) {
        Some(aside) => format!(
            "{name} across; {turn} N mm/deg in turn; {} mm aside if pulled 1 deg off",
            three_digits(aside)
        ),
        None => format!("{name}: nothing keeps it from going aside or turning"),
    };
    Some(Key {
        label: "Guidance".into(),
        value: format!("{} N/mm", three_digits(factor * last.lateral)),
        note,
    })
}

/// Both as HTML, the cautions of the solve below them.
pub(super) fn html(
    case: &Case,
    analysis: &Analysis,
    judgement: &Judgement,
    keys: &[Key],
) -> String {
    let remarks = case.remarks.iter().chain(&analysis.solution.remarks);
    verdict(judgement, keys, case.launch.is_some(), &heeded(remarks))
}

/// The remarks that may change a result.
pub(super) fn heeded<'a>(remarks: impl Iterator<Item = &'a Remark>) -> Vec<&'a str> {
    remarks.filter(|r| r.level == Level::Caution).map(|r| r.text.as_str()).collect()
}

/// The first section of a page; what `throws` links to the cautions below.
pub(super) fn verdict(
    judgement: &Judgement,
    keys: &[Key],
    throws: bool,
    cautions: &[&str],
) -> String {
    let sentences: String =
        judgement.sentences.iter().map(|s| format!("<p>{}</p>\n", escape(s))).collect();
    let numbers: String = keys
        .iter()
        .map(|k| {
            format!(
                "<div><dt>{}</dt><dd><strong>{}</strong><span>{}</span></dd></div>\n",
                escape(&k.label),
                escape(&k.value),
                escape(&k.note)
            )
        })
        .collect();
    let cautions = if cautions.is_empty() {
        String::new()
    } else {
        format!(
            "<aside class=\"heed\">\n<h3>To be heeded</h3>\n{}</aside>\n",
            super::markup::bullets(cautions)
        )
    };
    let launch = if throws {
        "<p class=\"let-go\"><a href=\"#cautions\">Before you let go: read the cautions.</a></p>\n"
    } else {
        ""
    };
    format!(
        "<section id=\"verdict\" class=\"{}\">\n<p class=\"headline\" id=\"headline\">{}</p>\n\
         <div id=\"sentences\">\n{sentences}</div>\n<dl class=\"keys\" id=\"keys\">\n{numbers}</dl>\n{launch}{cautions}</section>\n",
        judgement.standing.word(),
        escape(&judgement.headline)
    )
}
