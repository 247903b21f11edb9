//! What every page is framed by, and the pages that need no script.

use super::assumed;
use super::head::{Judgement, Key, verdict};
use super::markup::escape;
use crate::case::Case;
use crate::picture::three_digits;

const STYLE: &str = include_str!("page.css");

/// A whole page around its sections; `live` are scripts, which no browser runs that is not told of them.
pub(super) fn frame(case: &Case, sections: &str, live: Option<&str>) -> String {
    let subtitle = format!(
        "{}, {} mm deep. Computed by Withy {} from {}.",
        case.material.title,
        three_digits(case.thickness),
        env!("CARGO_PKG_VERSION"),
        case.file_name()
    );
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <meta name=\"generator\" content=\"Withy {version}\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline';{scripts} \
         img-src data:\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<header>\n<h1>{title}</h1>\n\
         <p>{subtitle}</p>\n</header>\n<main>\n{sections}</main>\n{live}</body>\n</html>\n",
        version = env!("CARGO_PKG_VERSION"),
        scripts = if live.is_some() { " script-src 'unsafe-inline';" } else { "" },
        title = escape(&case.title),
        subtitle = escape(&subtitle),
        live = live.unwrap_or_default(),
    )
}

/// A page that needs no script.
#[derive(Debug)]
pub(super) struct Plain<'a> {
    pub(super) case: &'a Case,
    pub(super) judgement: Judgement,
    pub(super) keys: Vec<Key>,
    /// What is to be heeded, below the numbers.
    pub(super) cautions: Vec<&'a str>,
    /// Whether something flies.
    pub(super) throws: bool,
    pub(super) sections: Vec<String>,
    /// Beside the files and the version.
    pub(super) made_with: Vec<(String, String)>,
    /// The command line that gives it, without folders.
    pub(super) command: &'a str,
}

/// The page.
pub(super) fn plain(page: &Plain) -> String {
    let mut sections = vec![verdict(&page.judgement, &page.keys, page.throws, &page.cautions)];
    sections.extend_from_slice(&page.sections);
    let list: Vec<_> = [
        ("Part file".to_owned(), page.case.file_name()),
        ("Drawing".to_owned(), assumed::drawing(page.case)),
        ("Withy".to_owned(), env!("CARGO_PKG_VERSION").to_owned()),
    ]
    .into_iter()
    .chain(page.made_with.iter().cloned())
    .collect();
    sections.push(assumed::same_again(&list, page.command));
    frame(page.case, &sections.concat(), None)
}
