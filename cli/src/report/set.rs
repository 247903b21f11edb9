//! `set.html`: whether a part comes back whole.

use super::assumed::told;
use super::head::{Judgement, Key, Standing, capital, heeded};
use super::launch::before_you_let_go;
use super::markup::{escape, section, table};
use super::page::{Plain, plain};
use crate::analysis::SetAnalysis;
use crate::case::Case;
use crate::export::set::SetDocument;
use crate::picture::three_digits;
use withy_mesh::number::max;

/// What is told.
#[derive(Debug)]
pub struct SetPage<'a> {
    /// What was meant.
    pub case: &'a Case,
    /// What was found.
    pub found: &'a SetAnalysis,
    /// The same as data.
    pub document: &'a SetDocument,
    /// What it keeps, in a sentence about the region; none if it was never let down.
    pub kept: Option<&'a str>,
    /// Each draw and what came back: a table.
    pub rows: &'a [Vec<String>],
    /// Force by draw, an `svg` element.
    pub drawn: &'a str,
    /// What yielded, an `svg` element.
    pub yielded: &'a str,
    /// The command line that gives it, without folders.
    pub command: &'a str,
}

/// A set below this part of the draw is seen by no one (common practice, no source).
const NEXT_TO_NOTHING: f64 = 1e-3;
/// What no number of the page tells of.
const OUTSIDE: [&str; 4] = [
    "Hardening is taken from the card, alike in tension and compression and without end: layers and beads may part \
     before that.",
    "What a part keeps depends on how fast it is drawn; the card tells of one speed, that of its test.",
    "Warmth: polymers yield sooner and forget faster well before they soften.",
    "Buckling and twisting out of the print plane.",
];

/// The page.
#[must_use]
pub fn set_page(page: &SetPage) -> String {
    let SetPage { case, document, .. } = page;
    let loops = format!(
        "<figure class=\"chart lone\">{}<figcaption>Each stage is a line of its own; where the way back lies below the \
         way out, the energy between them is lost.</figcaption></figure>\n<h3>Each draw and what came back</h3>\n{}",
        page.drawn,
        table("draws", page.rows)
    );
    let region = escape(&document.region);
    let yielded = format!(
        "<p>Equivalent plastic strain as {region} is left in the end, up to {:.2} %. Peaks at sharp corners and where the part is \
         clamped are painted as the highest other one.</p>\n<figure class=\"plate\">{}</figure>\n",
        100.0 * document.most_plastic_strain,
        page.yielded
    );
    plain(&Plain {
        case,
        judgement: judge(page),
        keys: keys(page),
        cautions: heeded(document.remarks.iter()),
        throws: case.launch.is_some(),
        sections: vec![
            section("loop", "Drawn and let down", &loops),
            section("yielded", "What yielded", &yielded),
            assumed(case, document),
            section("cautions", "Cautions", &before_you_let_go(case.launch.is_some())),
        ],
        made_with: vec![("Stages".into(), document.stages.join(", "))],
        command: page.command,
    })
}

fn judge(page: &SetPage) -> Judgement {
    let (document, found) = (page.document, page.found);
    let unit = document.units.travel;
    let kept = page.kept.iter().map(|k| k.trim_start_matches("it "));
    let mut sentences: Vec<String> = kept.map(|k| format!("{} {k}.", document.region)).collect();
    let back = found.draws.iter().rev().find_map(|d| d.back);
    let drawn = found.draws.iter().fold(0.0, |most, d| max(most, d.travel.abs()));
    let whole = page.kept.is_some_and(|k| k.contains("nothing yields"));
    let (standing, headline) = match (&document.stopped, back) {
        (Some(stopped), _) => {
            sentences.insert(0, format!("{}.", capital(&stopped.cause)));
            let percent = 100.0 * stopped.fraction;
            let text =
                format!("Stopped early, in stage {} at {percent:.1} % of the draw.", stopped.stage);
            (Standing::Stopped, text)
        }
        (None, Some(_)) if whole => (Standing::Fine, "Comes back whole.".to_owned()),
        (None, Some(back)) if back.free && back.rest.abs() < NEXT_TO_NOTHING * drawn => {
            (Standing::Fine, format!("Comes back but for {} {unit}.", three_digits(back.rest)))
        }
        (None, Some(back)) if back.free => {
            (Standing::Limited, format!("Keeps a set of {} {unit}.", three_digits(back.rest)))
        }
        (None, Some(_)) => (Standing::Limited, "Yields, and is held where it was put.".to_owned()),
        (None, None) => (Standing::Limited, "Drawn, and not let down.".to_owned()),
    };
    sentences.extend(beyond_break(page));
    Judgement { standing, headline, sentences }
}

/// Whether more yields than the material bears.
fn beyond_break(page: &SetPage) -> Option<String> {
    let breaks = page.case.material.elongation_at_break.as_ref()?.value;
    let most = page.document.most_plastic_strain;
    (most > breaks).then(|| {
        format!(
            "The plastic strain reaches {:.1} %, beyond the {:.1} % at which the material breaks: the real part tears first.",
            100.0 * most,
            100.0 * breaks
        )
    })
}

fn keys(page: &SetPage) -> Vec<Key> {
    let (document, found) = (page.document, page.found);
    let units = &document.units;
    let mut keys = Vec::new();
    if let Some(draw) = found.draws.last() {
        keys.push(Key::new(
            "Needs at the end of the draw",
            format!("{} {}", three_digits(draw.effort), units.effort),
            format!("{} at {} {}", document.region, three_digits(draw.travel), units.travel),
        ));
    }
    if let Some((draw, back)) = found.draws.iter().rev().find_map(|d| Some((d, d.back?))) {
        keys.push(Key::new(
            if back.free { "Set" } else { "Held at" },
            format!("{} {}", three_digits(back.rest), units.travel),
            format!("after {} {} of draw", three_digits(draw.travel), units.travel),
        ));
        keys.push(Key::new(
            "Given back",
            format!("{:.1} %", 100.0 * back.returned / draw.put_in),
            format!("{} of {} mJ", three_digits(back.returned), three_digits(draw.put_in)),
        ));
    }
    keys.push(Key::new(
        "Most plastic strain",
        format!("{:.2} %", 100.0 * document.most_plastic_strain),
        page.case.material.elongation_at_break.as_ref().map_or_else(String::new, |b| {
            format!("the material breaks at {} %", three_digits(100.0 * b.value))
        }),
    ));
    keys
}

fn assumed(case: &Case, document: &SetDocument) -> String {
    let law = &document.assumed;
    let list = [
        (
            "Law".to_owned(),
            "J2 plasticity in logarithmic strain, hardening alike in all directions".to_owned(),
        ),
        (
            "Yields".to_owned(),
            format!(
                "from {} MPa on, hardens to {} MPa at a rate of {}",
                three_digits(law.first_yield),
                three_digits(law.saturated_yield),
                three_digits(law.hardening_rate)
            ),
        ),
        ("Plane state".to_owned(), law.state.to_owned()),
    ];
    told(case, &list, document.remarks.iter(), &OUTSIDE)
}
