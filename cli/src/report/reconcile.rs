//! `reconcile.html`: a part against what a scale and a speed meter measured.

use super::assumed::card;
use super::head::{Judgement, Key, Standing, capital, heeded};
use super::launch::before_you_let_go;
use super::markup::{bullets, escape, facts, pair, section};
use super::page::{Plain, plain};
use crate::export::reconciled::words::{lines, part_file};
use crate::export::reconciled::{Document, Found};
use crate::measured::pull::Shape;
use crate::picture::three_digits;

/// What is told.
#[derive(Debug)]
pub struct ReconcilePage<'a> {
    /// What was found.
    pub found: &'a Found<'a>,
    /// The same as data.
    pub document: &'a Document,
    /// Heading and picture of each chart, the picture an `svg` element.
    pub charts: &'a [(&'static str, String)],
    /// The command line that gives it, without folders.
    pub command: &'a str,
}

/// What no number of the page tells of.
const OUTSIDE: [&str; 4] = [
    "A pull tells stiffness, and stiffness alone cannot tell a soft material from thin ribs: measure a rib's width before \
     you trust the modulus.",
    "How fast it was pulled: a slow pull creeps a little and reads soft, and a release is faster than any pull.",
    "A scale that gives, and slack of what holds the part, read as softness: the zero takes slack at the start, and no more.",
    "Strength: what was measured says nothing of where the part yields or breaks unless the pull went there.",
];

/// The page.
#[must_use]
pub fn reconcile_page(page: &ReconcilePage) -> String {
    let ReconcilePage { found, document, .. } = page;
    let case = found.case;
    let told = lines(found, document);
    let copied = part_file(found).join("\n");
    let mut sections = vec![
        section("measured", "Measured against computed", &pair(page.charts)),
        section("numbers", "In numbers", &facts(&told)),
    ];
    if !copied.is_empty() {
        let body = format!(
            "<p>With these lines in the part file every other answer is that of your own print:</p>\n<pre><code>{}</code></pre>\n",
            escape(&copied)
        );
        sections.push(section("copied", "For the part file", &body));
    }
    let throws = document.corrected.cautions.is_some();
    let assumed = format!("{}<h3>Outside of the model</h3>\n{}", card(case), bullets(&OUTSIDE));
    sections.push(section("assumed", "What was assumed", &assumed));
    sections.push(section("cautions", "Cautions", &before_you_let_go(throws)));
    plain(&Plain {
        case,
        judgement: judge(page, &told),
        keys: keys(page),
        cautions: heeded(case.remarks.iter().chain(&found.analysis.solution.remarks)),
        throws,
        sections,
        made_with: Vec::new(),
        command: page.command,
    })
}

fn judge(page: &ReconcilePage, told: &[(String, String)]) -> Judgement {
    let ReconcilePage { found, document, .. } = page;
    let mut standing = Standing::Fine;
    let lost = found.speeds.map(|(losses, _)| losses);
    let headline = match (found.pull, lost) {
        (Some(pull), _) => {
            format!("{} times as stiff as the card says.", three_digits(pull.scale))
        }
        (None, Some(losses)) => {
            format!("{:.0} % of the released energy is lost.", 100.0 * losses.loss)
        }
        (None, None) => "Nothing was measured.".to_owned(),
    };
    let mut sentences = Vec::new();
    let mut tell = |label: &str, before: &str| {
        let matching = told.iter().filter(|(l, _)| l == label);
        sentences.extend(matching.map(|(_, fact)| capital(&format!("{before}{fact}."))));
    };
    if found.pull.is_some() {
        tell("shape", "The curve's shape: ");
        tell("losses", "Lost on the way: ");
    }
    tell("beware", "");
    tell("losses grow", "Losses grow by ");
    tell("corrected", "At full draw with that: ");
    let bends = |s: Shape| matches!(s, Shape::Softens { .. } | Shape::Bends { .. });
    let gains = lost.is_some_and(|l| l.loss < -l.of_meters);
    let strength = found.case.material.yield_strength.as_ref().map(|s| s.value);
    let yields = strength.is_some_and(|s| document.corrected.von_mises > s);
    if found.pull.is_some_and(|p| bends(p.shape)) || gains || yields {
        standing = Standing::Limited;
    }
    Judgement { standing, headline, sentences }
}

fn keys(page: &ReconcilePage) -> Vec<Key> {
    let ReconcilePage { found, document, .. } = page;
    let corrected = &document.corrected;
    let mut keys = Vec::new();
    if let Some(pull) = found.pull {
        let [modulus, half] = found.modulus(pull);
        keys.push(Key::new(
            "Modulus",
            format!("{modulus:.0} MPa"),
            format!("{:.0} to {:.0} with 95 % confidence", modulus - half, modulus + half),
        ));
    }
    if let Some((losses, shots)) = found.speeds {
        let note = if losses.half_width.is_finite() {
            format!("give or take {:.1} with 95 % confidence", 100.0 * losses.half_width)
        } else {
            format!("of {} shot: no scatter is known", shots.len())
        };
        keys.push(Key::new("Losses", format!("{:.1} %", 100.0 * losses.loss), note));
    }
    keys.push(Key::new(
        "Needs at full draw",
        format!("{} {}", three_digits(corrected.effort), corrected.effort_unit),
        format!(
            "at {} {}, {} mJ stored",
            three_digits(corrected.travel),
            corrected.travel_unit,
            three_digits(corrected.energy)
        ),
    ));
    let strength = found.case.material.yield_strength.as_ref();
    keys.push(Key::new(
        "Hot spot",
        format!("{} MPa", three_digits(corrected.von_mises)),
        strength.map_or_else(String::new, |s| {
            format!("{:.0} % of yield", 100.0 * corrected.von_mises / s.value)
        }),
    ));
    if let (Some(speed), Some(energy), Some(launch)) =
        (corrected.speed_m_per_s, corrected.projectile, &found.case.launch)
    {
        keys.push(Key::new(
            "Throws",
            format!("{} m/s", three_digits(speed)),
            format!("{} g, {} mJ", three_digits(launch.mass), three_digits(energy)),
        ));
    }
    keys
}
