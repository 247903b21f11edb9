//! `spread.html`: what a print leaves open.

use super::assumed::card;
use super::head::{Judgement, Key, Standing, heeded};
use super::launch::before_you_let_go;
use super::markup::{bullets, facts, pair, section, table};
use super::page::{Plain, plain};
use crate::analysis::{Analysis, SpotKind};
use crate::case::Case;
use crate::picture::three_digits;
use crate::spread::Spread;

/// What is told.
#[derive(Debug)]
pub struct SpreadPage<'a> {
    /// What was meant.
    pub case: &'a Case,
    /// The part as solved.
    pub analysis: &'a Analysis,
    /// What was found.
    pub found: &'a Spread,
    /// Each uncertain thing and what it does: a table.
    pub rows: &'a [Vec<String>],
    /// Title and bars of each outcome, the bars an `svg` element.
    pub bars: &'a [(String, String)],
    /// The command line that gives it, without folders.
    pub command: &'a str,
}

/// The page.
#[must_use]
pub fn spread_page(page: &SpreadPage) -> String {
    let SpreadPage { case, analysis, found, .. } = page;
    let throws = found.base.speed.is_some();
    let body = format!(
        "<p>Each uncertain thing at both of its ends, all else as solved; the longest bar on top, all on one scale.</p>\n\
         {}<h3>The same in numbers, in per cent of the solved value</h3>\n{}",
        pair(page.bars),
        table("spread", page.rows)
    );
    let sources: Vec<(String, String)> =
        found.inputs.iter().map(|i| (i.name.to_owned(), i.source.clone())).collect();
    let left_out = if found.left_out.is_empty() {
        String::new()
    } else {
        format!("<h3>Left out</h3>\n{}", bullets(&found.left_out))
    };
    let assumed = format!("{}{left_out}{}", facts(&sources), card(case));
    plain(&Plain {
        case,
        judgement: judge(page),
        keys: keys(found),
        cautions: heeded(case.remarks.iter().chain(&analysis.solution.remarks)),
        throws,
        sections: vec![
            section("open", "What does how much", &body),
            section("sources", "Where the ranges come from", &assumed),
            section("cautions", "Cautions", &before_you_let_go(throws)),
        ],
        made_with: Vec::new(),
        command: page.command,
    })
}

fn judge(page: &SpreadPage) -> Judgement {
    let SpreadPage { case, analysis, found, .. } = page;
    let [(effort, unit, of), ..] = found.told();
    let base = three_digits(found.base.effort);
    let headline = match found.together(of) {
        Some([low, high]) => {
            format!(
                "{base} {unit} as solved, {} to {} as printed.",
                three_digits(low),
                three_digits(high)
            )
        }
        None => format!("{base} {unit} as solved."),
    };
    let mut sentences = Vec::new();
    let reach = |i: &crate::spread::Input| {
        let changes = i.outcomes.each_ref().map(|o| (o.effort / found.base.effort - 1.0).abs());
        withy_mesh::number::max(changes[0], changes[1])
    };
    let ranges = found.inputs.iter().filter(|i| i.is_range);
    if let Some(most) = ranges.max_by(|a, b| reach(a).total_cmp(&reach(b))) {
        sentences.push(format!(
            "Of the {effort}, the {} leaves most open: up to {:.0} % either way. To measure it on your own print narrows \
             everything.",
            most.name,
            100.0 * reach(most)
        ));
    }
    let mut standing = Standing::Fine;
    let finite = analysis.solution.hot_spot.kind != SpotKind::SharpCorner;
    let stress = found.together(|o| Some(o.stress)).filter(|_| finite);
    if let (Some([_, high]), Some(strength)) = (stress, &case.material.yield_strength) {
        let yields = strength.low.unwrap_or(strength.value);
        if high >= yields {
            standing = Standing::Limited;
        }
        let word = if found.base.stress >= strength.value {
            "it yields as solved already"
        } else if high >= yields {
            "it may yield"
        } else {
            "it stays elastic"
        };
        sentences.push(format!(
            "The hot spot may see up to {} MPa, of {} MPa that it surely bears: {word}.",
            three_digits(high),
            three_digits(yields)
        ));
    }
    Judgement { standing, headline, sentences }
}

fn keys(found: &Spread) -> Vec<Key> {
    let key = |(name, unit, of): &crate::spread::Read| {
        let (base, [low, high]) = (of(&found.base)?, found.together(of)?);
        let value = format!("{} to {} {unit}", three_digits(low), three_digits(high));
        let label = super::head::capital(name);
        Some(Key::new(&label, value, format!("{} {unit} as solved", three_digits(base))))
    };
    found.told().iter().filter_map(key).collect()
}
