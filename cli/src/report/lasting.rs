//! What time and use do.

use super::markup::{bullets, escape, facts, section};
use crate::analysis::Analysis;
use crate::case::Case;
use crate::lasting::{draws_words, held_words, rest_rows, rest_words, rests_on};

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
    let rests = held.as_ref().and_then(rest_rows).map_or_else(String::new, |rows| table(&rows));
    let own = escape(&case.material.title);
    let body = format!(
        "<p class=\"own-only\" hidden>This section stays that of {own}.</p>\n{}{rests}{}",
        facts(&list),
        bullets(&rests_on(held.as_ref(), draws.as_ref()))
    );
    section("lasting", "What time and use do", &body)
}

/// Where it rests, by how long it was kept and left alone, of its draw.
fn table(rows: &[Vec<String>]) -> String {
    let cells = |row: &[String], tag: &str| -> String {
        row.iter().map(|cell| format!("<{tag}>{}</{tag}>", escape(cell))).collect()
    };
    let head = rows.first().map_or_else(String::new, |row| cells(row, "th"));
    let body: String =
        rows.iter().skip(1).map(|row| format!("<tr>{}</tr>\n", cells(row, "td"))).collect();
    format!(
        "<h3>Does it come back?</h3>\n<p>Where it rests, of its draw, when it is let go at once:</p>\n\
         <table class=\"rests\">\n<thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>\n"
    )
}
