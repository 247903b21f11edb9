//! `release.html`: a part let go in time.

use super::assumed::card;
use super::head::{Judgement, Key, Standing, heeded};
use super::launch::{before_you_let_go, limit};
use super::markup::{bullets, facts, section};
use super::page::{Plain, plain};
use crate::analysis::{Analysis, InTime, Judged, Launched, energy_per_area};
use crate::case::{Case, Launch};
use crate::lasting::{Draws, Endured};
use crate::picture::three_digits;
use crate::verdict::{draw_of, ends};

/// What is told.
#[derive(Debug)]
pub struct ReleasePage<'a> {
    /// What was meant.
    pub case: &'a Case,
    /// What is thrown.
    pub launch: &'a Launch,
    /// The drawn part.
    pub analysis: &'a Analysis,
    /// Its launch along the solved path.
    pub launched: &'a Launched,
    /// What was found in time.
    pub found: &'a InTime,
    /// How often it bears that, if the card tells.
    pub draws: Option<&'a Draws>,
    /// Facts with their labels.
    pub lines: &'a [(String, String)],
    /// The part as it moves, an `svg` element.
    pub moving: &'a str,
    /// Charts by time, `svg` elements.
    pub charts: &'a [String],
    /// The command line that gives it, without folders.
    pub command: &'a str,
}

/// A strain on the way that is larger than the drawn one by less than a printed digit is not told in a sentence.
const SEEN: f64 = 1.005;
/// What no number of the page tells of.
const OUTSIDE: [&str; 5] = [
    "Damping is one number for the whole part, set so that it takes the losses: single vibrations may last longer or \
     shorter.",
    "Air, and the spin of what is thrown.",
    "What holds the part is taken as stiff; a frame that gives takes some of the energy.",
    "Friction other than the part file's, and blows of the part on itself, on rails and on pins.",
    "A fast pull finds most polymers stiffer than the slow test of the card, and more brittle.",
];

/// The page.
#[must_use]
pub fn release_page(page: &ReleasePage) -> String {
    let ReleasePage { case, launch, launched, found, .. } = page;
    // g (m/s)^2 is mJ.
    let energy = 0.5 * launch.mass * found.speed * found.speed;
    let judged: Vec<Judged> =
        launched.limits.iter().map(|l| l.with_energy(energy / launched.release.energy)).collect();
    let charts: String = page
        .charts
        .iter()
        .map(|chart| format!("<figure class=\"chart\">{chart}</figure>\n"))
        .collect();
    let motion = format!(
        "<figure class=\"plate lone\">{}<figcaption>From full draw on, {} ms slowed down to some seconds, over and over. Dashed: at rest.\
         </figcaption></figure>\n<div class=\"pair\">\n{charts}</div>\n",
        page.moving,
        three_digits(found.frames.last().map_or(0.0, |f| f.0))
    );
    let mut numbers = page.lines.to_vec();
    numbers.extend(judged.iter().map(limit));
    let rules = if judged.is_empty() {
        "<p>No limit was given to compare with: local rules decide what is allowed, <code>[[launch.limit]]</code> in the part \
         file compares.</p>\n"
    } else {
        ""
    };
    let assumed = format!("{}<h3>Outside of the model</h3>\n{}", card(case), bullets(&OUTSIDE));
    let remarks = case.remarks.iter().chain(&page.analysis.solution.remarks);
    plain(&Plain {
        case,
        judgement: judge(page, &judged),
        keys: keys(page, energy),
        // Limits are judged here by the energy in time.
        cautions: heeded(remarks.filter(|r| r.code != "launch-limit")),
        throws: true,
        sections: vec![
            section("motion", "Let go", &motion),
            section("numbers", "In numbers", &(facts(&numbers) + rules)),
            section("cautions", "Cautions", &before_you_let_go(true)),
            section("assumed", "What was assumed", &assumed),
        ],
        made_with: vec![
            ("Mesh".into(), format!("{} 6-node triangles", found.mesh.elements().len())),
            ("Steps in time".into(), (found.instants.len() - 1).to_string()),
        ],
        command: page.command,
    })
}

fn judge(page: &ReleasePage, judged: &[Judged]) -> Judgement {
    let ReleasePage { case, found, analysis, .. } = page;
    let solution = &analysis.solution;
    let mut sentences = Vec::new();
    let mut limited = false;
    for limit in judged.iter().filter(|l| l.may_be_exceeded()) {
        let word = if limit.is_exceeded() { "exceeds" } else { "may exceed" };
        sentences.push(format!("It {word} the limit {}: {}.", limit.name, limit.shares()));
        limited = true;
    }
    if let Some(first) = solution.limits.first() {
        sentences.push(format!(
            "The draw goes too far: at {}, {}.",
            draw_of(case, first),
            ends(first)
        ));
        limited = true;
    }
    if let Some([factor, time]) = found.strain.filter(|[factor, _]| *factor > SEEN) {
        let strain = factor * solution.hot_spot.strain;
        let yields = case.material.yield_strength.as_ref();
        let yields = yields.map(|y| y.value / case.material.youngs_modulus.value);
        let mut text = format!(
            "On the way the hot spot is strained by {:.2} %, {factor:.2} times as much as drawn, {} ms after the release",
            100.0 * strain,
            three_digits(time)
        );
        if let Some(yields) = yields.filter(|y| strain > *y) {
            text += &format!(": beyond the {:.2} % at which it yields", 100.0 * yields);
            limited = true;
        }
        sentences.push(text + ".");
    }
    if page.draws.is_some_and(|d| d.endured == Endured::NotOne) {
        sentences.push("By the card's line of lives it does not bear one such release.".to_owned());
        limited = true;
    }
    if found.caught_again {
        sentences
            .push("What is thrown is let go for moments and caught again on its way.".to_owned());
    }
    sentences.push(format!(
        "Afterwards it swings {} mm beyond rest, and pulls at what holds it with up to {} N.",
        three_digits(found.overshoot),
        three_digits(found.frame_force[0])
    ));
    Judgement {
        standing: if limited { Standing::Limited } else { Standing::Fine },
        headline: format!(
            "Throws {} g at {} m/s.",
            three_digits(page.launch.mass),
            three_digits(found.speed)
        ),
        sentences,
    }
}

fn keys(page: &ReleasePage, energy: f64) -> Vec<Key> {
    let ReleasePage { launch, launched, found, .. } = page;
    let reduced = launched.release.speed;
    let by_area = energy_per_area(launch, energy);
    vec![
        Key::new(
            "Speed",
            format!("{} m/s", three_digits(found.speed)),
            format!(
                "{} m/s by the solved path ({:+.1} %)",
                three_digits(reduced),
                100.0 * (found.speed / reduced - 1.0)
            ),
        ),
        Key::new(
            "Energy",
            format!("{} mJ", three_digits(energy)),
            by_area.map_or_else(String::new, |e| {
                // 1 mJ/mm2 is 1000 J/m2.
                format!("{} J/m2 on its tip", three_digits(1e3 * e))
            }),
        ),
        Key::new(
            "Leaves after",
            format!("{} ms", three_digits(found.leaves)),
            "from the release on".into(),
        ),
        Key::new(
            "Swings beyond rest",
            format!("{} mm", three_digits(found.overshoot)),
            "room that the carriage needs".into(),
        ),
        Key::new(
            "Frame feels",
            format!("{} N", three_digits(found.frame_force[0])),
            format!("{} ms after the release", three_digits(found.frame_force[1])),
        ),
    ]
}
