//! What time and use do.

use super::markup::{bullets, escape, facts, section};
use crate::analysis::Analysis;
use crate::case::Case;
use crate::lasting::{draws, draws_words, held, held_words, rest_words, rests_on};

/// The section; nothing if the card tells of neither.
pub(super) fn html(case: &Case, analysis: &Analysis) -> String {
    let (held, draws) = (held(case, analysis), draws(case, analysis));
    let mut list = Vec::new();
    if let Some(held) = &held {
        let words = held_words(held).into_iter();
        list.extend(words.map(|(after, fact)| (format!("Kept drawn, {after}"), fact)));
        list.extend(rest_words(held).map(|rest| ("Afterwards".to_owned(), rest)));
    }
    list.extend(draws.as_ref().map(|d| ("Draws".to_owned(), draws_words(d))));
    if list.is_empty() {
        return String::new();
    }
    let own = escape(&case.material.title);
    let body = format!(
        "<p class=\"own-only\" hidden>This section stays that of {own}.</p>\n{}{}",
        facts(&list),
        bullets(&rests_on(held.as_ref(), draws.as_ref()))
    );
    section("lasting", "What time and use do", &body)
}
