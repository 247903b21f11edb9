//! The sections with pictures: the part along its draw, its hot spot, its guidance.

use super::data::Data;
use super::markup::{escape, facts, section};
use crate::analysis::{Analysis, Axis, Pass, SpotKind, moving_regions};
use crate::case::Case;
use crate::export::{curve_lines, perfect_lines};
use crate::picture::{
    CurveLine, InlineChart, Stop, heat_colours, inline_chart, said, scale_ticks, settling_strip,
    three_digits,
};
use serde::Serialize;

/// Slider positions between two reported states.
const BETWEEN: usize = 10;
/// Colours of the scale bar's gradient.
const GRADIENT: u32 = 17;

/// A chart with what a marker needs to run along it.
#[derive(Debug, Serialize)]
pub(super) struct Marked {
    id: &'static str,
    #[serde(skip)]
    svg: String,
    area: [f64; 4],
    low: [f64; 2],
    high: [f64; 2],
    lines: Vec<MarkedLine>,
}

#[derive(Debug, Serialize)]
struct MarkedLine {
    colour: &'static str,
    /// By state, rest first; null where there is no number.
    x: Vec<Option<f64>>,
    y: Vec<Option<f64>>,
}

fn marked(id: &'static str, chart: InlineChart, lines: &[CurveLine], states: usize) -> Marked {
    // Lines that begin at the first state have no number at rest.
    let by_state = |list: &[f64]| {
        let missing = states.saturating_sub(list.len());
        std::iter::repeat_n(None, missing).chain(list.iter().copied().map(Some)).collect()
    };
    let drawn = chart.drawn.iter().zip(&chart.colours).filter_map(|(&n, &colour)| {
        let line = lines.get(n)?;
        Some(MarkedLine { colour, x: by_state(&line.travel), y: by_state(&line.effort) })
    });
    let lines = drawn.collect();
    Marked { id, svg: chart.svg, area: chart.area, low: chart.low, high: chart.high, lines }
}

/// Every chart that a marker runs along.
pub(super) fn charts(case: &Case, analysis: &Analysis, data: &Data) -> Vec<Marked> {
    let states = data.rows.len();
    let lines = curve_lines(case, analysis);
    let mut list = Vec::new();
    let chart = inline_chart("Force along the draw", &lines, &perfect_lines(case, analysis), 0);
    list.extend(chart.map(|chart| marked("force", chart, &lines, states)));
    if let Some(first) = lines.first() {
        let energy = [CurveLine {
            name: "stored energy".into(),
            effort: data.rows.iter().map(|r| r.energy).collect(),
            effort_label: "stored energy, mJ".into(),
            ..first.clone()
        }];
        let chart = inline_chart("Stored energy along the draw", &energy, &[], 2);
        list.extend(chart.map(|chart| marked("energy", chart, &energy, states)));
        let guided = |of: fn(&super::data::Numbers) -> Option<f64>, label: &str| {
            let known =
                || data.rows.iter().filter_map(|r| Some((r.travel.first()?, of(r)?, r.stable)));
            [CurveLine {
                name: label.to_owned(),
                travel: known().map(|k| *k.0).collect(),
                effort: known().map(|k| k.1).collect(),
                stable: known().map(|k| k.2).collect(),
                effort_label: label.to_owned(),
                ..first.clone()
            }]
        };
        let panels = [
            ("lateral", guided(|r| r.lateral, "across the draw, N/mm"), 0),
            ("yaw", guided(|r| r.yaw, "in turn, N mm/deg"), 3),
        ];
        for (id, line, colour) in panels {
            if line[0].effort.len() > 1 {
                let words = format!("Stiffness {} along the draw", line[0].effort_label);
                list.extend(
                    inline_chart(&words, &line, &[], colour).map(|c| marked(id, c, &line, states)),
                );
            }
        }
    }
    list
}

fn chart(charts: &[Marked], id: &str) -> String {
    let found = charts.iter().find(|c| c.id == id);
    found.map_or_else(String::new, |c| {
        format!("<div class=\"chart\" id=\"chart-{id}\">{}</div>\n", c.svg)
    })
}

/// The part, its slider, the numbers of a state and the curves.
pub(super) fn part(
    case: &Case,
    analysis: &Analysis,
    data: &Data,
    charts: &[Marked],
    stand_in: &str,
) -> String {
    let sharp = analysis.solution.hot_spot.kind == SpotKind::SharpCorner;
    let Some(last) = data.rows.last() else { return String::new() };
    let most = BETWEEN * (data.rows.len() - 1);
    let names = |list: Vec<&str>| escape(&list.join(", "));
    let held = names(case.holds.iter().map(|h| h.region.as_str()).collect());
    let moved = names(moving_regions(case));
    let moves = if case.drives.is_empty() { "loaded" } else { "driven" };
    let mut numbers = Vec::new();
    for (k, region) in data.moving.iter().enumerate() {
        let [length, force] = region.units;
        let word = if length == "mm" { "draw" } else { "turn" };
        numbers.push((
            format!("{}, {word}", region.name),
            format!("travel-{k}"),
            last.travel[k],
            length,
        ));
        let word = if force == "N" { "force" } else { "moment" };
        numbers.push((
            format!("{}, {word}", region.name),
            format!("effort-{k}"),
            last.effort[k],
            force,
        ));
    }
    numbers.push(("Stored energy".into(), "energy".into(), last.energy, "mJ"));
    let peak = if sharp { "Peak stress, corners left out" } else { "Peak stress" };
    numbers.push((peak.into(), "stress".into(), last.stress, "MPa"));
    numbers.push(("Largest strain".into(), "strain".into(), 100.0 * last.strain, "%"));
    let optional = [
        ("Guided across", "lateral", last.lateral, "N/mm"),
        ("Guided in turn", "yaw", last.yaw, "N mm/deg"),
        ("Smallest gap", "gap", last.gap, "mm"),
    ];
    let mut shown: String = numbers
        .into_iter()
        .map(|(label, id, value, unit)| {
            number(&label, &id, &format!("{} {unit}", three_digits(value)))
        })
        .collect();
    for (label, id, value, unit) in optional {
        let known = data.rows.iter().any(|r| match id {
            "lateral" => r.lateral.is_some(),
            "yaw" => r.yaw.is_some(),
            _ => r.gap.is_some(),
        });
        if known {
            let text =
                value.map_or_else(|| "-".to_owned(), |v| format!("{} {unit}", three_digits(v)));
            shown += &number(label, id, &text);
        }
    }
    let stable = if last.stable { "stable" } else { "not stable" };
    shown += &number("Shape", "stable", stable);
    let unstable = if data.rows.iter().any(|r| !r.stable) {
        "<p class=\"small\">Hollow points: not stable, the real part leaves this path sideways.</p>\n"
    } else {
        ""
    };
    let body = format!(
        "<div class=\"bench\">\n<figure class=\"plate\">\n\
         <canvas id=\"part-view\" role=\"img\" aria-label=\"The part in its shape at the chosen draw, coloured by von Mises \
         stress\"></canvas>\n<noscript><p class=\"small\">The slider needs JavaScript; this is the part at the end of its \
         draw.</p>{stand_in}</noscript>\n{}\
         <figcaption><span class=\"held\">held: {held}</span><span class=\"driven\">{moves}: {moved}</span>\
         <span class=\"rest\">at rest</span><span class=\"ring\">hot spot</span></figcaption>\n</figure>\n\
         <div class=\"slide\" id=\"slide\" hidden>\n<button type=\"button\" id=\"play\" aria-label=\"Play the draw from rest\">Play</button>\n\
         <input type=\"range\" id=\"draw\" aria-label=\"Draw\" min=\"0\" max=\"{most}\" step=\"1\" value=\"{most}\">\n\
         <output for=\"draw\" id=\"draw-said\"></output>\n</div>\n\
         <div class=\"beside\">\n<dl class=\"now\" id=\"now\">\n{shown}</dl>\n<p class=\"small\" id=\"which\" aria-live=\"polite\">\
         The last reported state.</p>\n{}{}{unstable}</div>\n</div>\n",
        scale_bar(data.highest),
        chart(charts, "force"),
        chart(charts, "energy"),
    );
    section("part", "Along the draw", &body)
}

/// Where it pushes rails, pins and itself, from which draw on and how hard.
pub(super) fn contact(case: &Case, analysis: &Analysis, drawn: Option<&str>) -> String {
    let Some(drawn) = drawn else { return String::new() };
    let steps = &analysis.solution.path.steps;
    let mut list = crate::verdict::pushes(case, analysis);
    let touches = steps.last().map_or(&[][..], |s| &s.pushing.touches[..]);
    list.extend(touches.iter().map(|t| ("at the end it pushes".to_owned(), said(t))));
    if list.is_empty() {
        list.push(("pushes".into(), "nothing along the draw".into()));
    }
    let body = format!("<figure class=\"plate\">{drawn}</figure>\n{}", facts(&list));
    section("contact", "What it runs into", &body)
}

fn number(label: &str, id: &str, value: &str) -> String {
    format!("<div><dt>{}</dt><dd data-q=\"{id}\">{}</dd></div>\n", escape(label), escape(value))
}

/// The heat scale with its numbers.
fn scale_bar(highest: f64) -> String {
    let colours = heat_colours(GRADIENT).join(", ");
    let ticks: String = scale_ticks(highest, 5.0)
        .iter()
        .map(|(value, label)| {
            format!("<span style=\"left:{:.2}%\">{label}</span>", 100.0 * value / highest)
        })
        .collect();
    format!(
        "<div class=\"scale\"><span>von Mises stress, MPa</span><div class=\"bar\" style=\"background:linear-gradient(90deg, \
         {colours})\"></div><div class=\"ticks\" id=\"ticks\">{ticks}</div></div>\n"
    )
}

/// The hot spot from near, and how far its stress has settled.
pub(super) fn hot_spot(case: &Case, analysis: &Analysis) -> String {
    let solution = &analysis.solution;
    let spot = &solution.hot_spot;
    let place = format!("({}, {}) mm", three_digits(spot.at[0]), three_digits(spot.at[1]));
    let words = if spot.kind == SpotKind::SharpCorner {
        format!(
            "<p>The part suffers most at a {} at {place}. The finer the mesh, the higher the stress there: it has no \
             finite value. A fillet gives it one.</p>\n",
            escape(&spot.near)
        )
    } else {
        let when = if spot.fraction < 1.0 - 1e-9 {
            format!("at {:.0} % of the draw", 100.0 * spot.fraction)
        } else {
            "at full draw".to_owned()
        };
        format!(
            "<p>The part suffers most on its {} at {place}, {when}: {} MPa von Mises, {}, strain {:.2} %.</p>\n<p>{}</p>\n",
            escape(&spot.near),
            scaled(spot.von_mises),
            // A free edge is under tension or compression alone, but for rounding.
            if spot.tension > 1e-6 * spot.von_mises {
                format!("{} MPa tension", scaled(spot.tension))
            } else {
                "all of it compression".to_owned()
            },
            100.0 * spot.strain,
            escape(&trust(case, &solution.passes, spot.estimated_error)),
        )
    };
    let stops: Vec<Stop> = solution
        .passes
        .iter()
        .map(|p| Stop {
            label: format!("{} el.", p.elements),
            shown: three_digits(p.von_mises),
            value: p.von_mises,
        })
        .collect();
    let strip = settling_strip("Peak stress by mesh, coarse to fine", &stops, case.accuracy);
    let body = format!(
        "<div class=\"pair\">\n<figure class=\"plate\" id=\"close\" hidden><canvas id=\"close-view\" role=\"img\" \
         aria-label=\"The surroundings of the hot spot, coloured by von Mises stress\"></canvas>\
         <figcaption>The hot spot from near, at the draw chosen above.</figcaption></figure>\n<div>\n{words}\
         <figure class=\"chart\">{strip}<figcaption>Peak stress in MPa by mesh (number of elements), as solved; the band is the accuracy asked for, \
         {:.1} % either way.</figcaption></figure>\n</div>\n</div>\n",
        100.0 * case.accuracy
    );
    section("hot-spot", "The hot spot", &body)
}

/// A stress in the text, which the picker scales.
fn scaled(stress: f64) -> String {
    format!("<span data-s=\"{stress}\">{}</span>", three_digits(stress))
}

/// How far the peak can be trusted, in words.
fn trust(case: &Case, passes: &[Pass], error: f64) -> String {
    let asked = 100.0 * case.accuracy;
    let estimated = format!("The estimated error of the mesh is {:.1} %", 100.0 * error);
    let moved = match passes {
        [.., before, last] => {
            let change = 100.0 * ((last.von_mises - before.von_mises) / last.von_mises).abs();
            format!("; the last mesh moved the peak by {change:.1} %")
        }
        _ => String::new(),
    };
    let verdict = if 100.0 * error <= asked {
        format!(", within the {asked:.1} % asked for")
    } else {
        format!(", more than the {asked:.1} % asked for: read it with care")
    };
    let modulus = &case.material.youngs_modulus;
    let spread = match (modulus.low, modulus.high) {
        (Some(low), Some(high)) => format!(
            ". The card's modulus alone leaves {:+.0} to {:+.0} % open",
            100.0 * (low / modulus.value - 1.0),
            100.0 * (high / modulus.value - 1.0)
        ),
        _ => String::new(),
    };
    format!("{estimated}{verdict}{moved}{spread}.")
}

/// What keeps the moving regions in line: the first one along the draw, the others at its end.
pub(super) fn guidance(case: &Case, analysis: &Analysis, data: &Data, charts: &[Marked]) -> String {
    let moving = moving_regions(case);
    let panels = chart(charts, "lateral") + &chart(charts, "yaw");
    let first = moving.first().filter(|n| Axis::line(case, n).is_some());
    let mut body = String::new();
    if let Some(name) = first.filter(|_| !panels.is_empty() && data.rows.len() >= 2) {
        body = format!(
            "<p>What keeps {} on its line: the force that it takes to push it aside by a millimetre, and the moment \
             that it takes to turn it by a degree, each with the other kept. Where either falls to zero it goes its \
             own way.</p>\n<div class=\"pair\">\n{panels}</div>\n",
            escape(name)
        );
    }
    let others: String = crate::verdict::guidance(case, analysis)
        .into_iter()
        .filter(|(region, _)| first != Some(region))
        .flat_map(|(_, lines)| lines)
        .map(|(what, fact)| format!("<li>{}: {}.</li>\n", escape(&what), escape(&fact)))
        .collect();
    if !others.is_empty() {
        body += &format!("<p>At the end of the draw:</p>\n<ul>\n{others}</ul>\n");
    }
    if body.is_empty() {
        return body;
    }
    section("guidance", "Guidance", &body)
}
