//! What time and use do.

use super::markup::{bullets, escape, facts, section, table};
use crate::analysis::{Analysis, Axis, moving_regions};
use crate::case::Case;
use crate::lasting::{Held, TIMES, draws_words, held_words, rest_rows, rest_words, rests_on};
use crate::picture::{RestLine, rests_inline, three_digits};
use rayon::prelude::*;

/// The picture of rests begins so long after letting go, ms: sooner nobody looks.
const FIRST_LOOK: f64 = 1e3;
/// Points of its lines by decade of time.
const BY_DECADE: f64 = 3.0;

/// The section; nothing if the card tells of neither.
pub(super) fn html(case: &Case, analysis: &Analysis) -> String {
    let (held, draws) = (&analysis.solution.held, &analysis.solution.draws);
    let mut list = Vec::new();
    if let Some(held) = held {
        let words = held_words(held).into_iter();
        list.extend(words.map(|(after, fact)| (format!("Kept drawn, {after}"), fact)));
        list.extend(rest_words(held).map(|rest| ("Afterwards".to_owned(), rest)));
    }
    list.extend(draws.as_ref().map(|d| ("Draws".to_owned(), draws_words(d))));
    if list.is_empty() {
        return String::new();
    }
    let rests = held.as_ref().and_then(|held| {
        Some(rests_table(&rest_rows(held)?) + &picture(case, analysis, held).unwrap_or_default())
    });
    let rests = rests.unwrap_or_default();
    let own = escape(&case.material.title);
    let body = format!(
        "<p class=\"own-only\" hidden>This section stays that of {own}.</p>\n{}{rests}{}",
        facts(&list),
        bullets(&rests_on(held.as_ref(), draws.as_ref()))
    );
    section("lasting", "What time and use do", &body)
}

/// Where it rests, by how long it was kept and left alone, of its draw.
fn rests_table(rows: &[Vec<String>]) -> String {
    format!(
        "<h3>Does it come back?</h3>\n<p>Where it rests, of its draw, when it is let go at once:</p>\n{}",
        table("rests", rows)
    )
}

/// The same over time, in the unit of the draw.
fn picture(case: &Case, analysis: &Analysis, held: &Held) -> Option<String> {
    let axis = Axis::of(case, moving_regions(case).first()?);
    let draw = axis.travel(analysis.solution.path.steps.last()?.rigid[0]);
    let last = TIMES[TIMES.len() - 1].1;
    let points = (BY_DECADE * (last / FIRST_LOOK).log10()).ceil();
    let times: Vec<f64> = (0u32..)
        .map(f64::from)
        .take_while(|k| *k <= points)
        .map(|k| FIRST_LOOK * (last / FIRST_LOOK).powf(k / points))
        .collect();
    let line = |(name, kept): (&str, f64)| {
        let rests = held.rests(kept, &times);
        let points = times.iter().zip(&rests).map(|(time, rest)| [time / 1e3, draw * rest.value]);
        let band = rests.iter().map(|rest| rest.range.map(|range| range.map(|r| draw * r)));
        RestLine { name: name.to_owned(), points: points.collect(), band: band.collect() }
    };
    let lines: Vec<RestLine> = TIMES.into_par_iter().map(line).collect();
    let named = |(name, time): (&str, f64)| (name.to_owned(), time / 1e3);
    let marks: Vec<_> = [("1 s", FIRST_LOOK)].into_iter().chain(TIMES).map(named).collect();
    let band = if lines.iter().any(|l| l.band.is_some()) {
        "; the bands are what the card leaves open"
    } else {
        ""
    };
    let unit = axis.units()[0];
    let drawing = rests_inline("Rest over the time since it was let go", unit, &marks, &lines);
    Some(format!(
        "<figure class=\"chart alone\">{drawing}<figcaption>Rest over the time since it was let go, from a draw of {} {unit}{band}.\
         </figcaption></figure>\n",
        three_digits(draw)
    ))
}
