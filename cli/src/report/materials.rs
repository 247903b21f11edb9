//! The shelf beside the part's own material, read from the one solve by the modulus.

use super::head::{self, Judgement, Key};
use super::markup::{escape, section};
use crate::analysis::{Analysis, Axis, moving_regions};
use crate::case::Case;
use crate::comparison::{Fate, Row, SAME_RATIO, rows_by_modulus};
use crate::material::{Card, card, shelf};
use crate::picture::three_digits;
use serde::Serialize;
use withy_solver::PlaneState;

/// A card as the page's picker shows it; the part's own material is the first.
#[derive(Debug, Serialize)]
pub(super) struct Picked {
    /// For the picker.
    label: String,
    /// Forces, energies, stresses and stiffnesses by those of the part's own material.
    factor: f64,
    judgement: Judgement,
    keys: Vec<Key>,
}

/// The shelf as far as one solve serves it.
pub(super) enum Shelf {
    /// Rows, the part's own first.
    Rows(Vec<Row>),
    /// Why there are none.
    LeftOut(String),
}

impl Shelf {
    pub(super) fn of(case: &Case, analysis: &Analysis) -> Self {
        let own = &case.material;
        let is_same = |card: &Card| {
            (card.poissons_ratio.value - own.poissons_ratio.value).abs() <= SAME_RATIO
        };
        // Between fixed walls bending goes with E / (1 - nu^2), so the ratio matters there.
        let serves =
            |card: &Card| analysis.solution.state == PlaneState::PlaneStress || is_same(card);
        // Of other proportions between the moduli of its beads each card takes a solve of its own.
        let beads = case.beads.is_some();
        let others = shelf().filter_map(|name| card(name).ok()).map(|(card, _)| card);
        let others = others.filter(|card| !beads && card != own).filter(serves);
        let cards = std::iter::once(own.clone()).chain(others).collect();
        match rows_by_modulus(case, analysis, cards) {
            Some(rows) => Self::Rows(rows),
            None => Self::LeftOut(
                "The part bears a given force, not a given draw: another material bends farther or less under \
                 it, and its numbers cannot be read from this solve. withy compare solves each material."
                    .into(),
            ),
        }
    }

    /// The part's own row.
    pub(super) fn own(&self) -> Option<&Row> {
        match self {
            Self::Rows(rows) => rows.first(),
            Self::LeftOut(_) => None,
        }
    }

    /// What the picker needs.
    pub(super) fn picked(&self, case: &Case, analysis: &Analysis) -> Vec<Picked> {
        let Self::Rows(rows) = self else { return Vec::new() };
        let picked = |(n, row): (usize, &Row)| Picked {
            label: row.card.title.clone(),
            factor: row.card.youngs_modulus.value / case.material.youngs_modulus.value,
            judgement: if n == 0 {
                head::judge(case, analysis, Some(row))
            } else {
                head::judge_row(case, analysis, row)
            },
            keys: head::keys(case, analysis, &row.card, thrown(row)),
        };
        rows.iter().enumerate().map(picked).collect()
    }
}

/// The speed at which a row throws the part file's projectile from full draw (m/s).
pub(super) fn thrown(row: &Row) -> Option<f64> {
    // Half its mass, its mass, twice its mass.
    row.throws.as_ref()?.full.get(1)?.speed.map(|band| band.value)
}

/// The section.
pub(super) fn html(case: &Case, shelf: &Shelf) -> String {
    let rows = match shelf {
        Shelf::Rows(rows) => rows,
        Shelf::LeftOut(why) => {
            return section(
                "materials",
                "In other materials",
                &format!("<p>{}</p>\n", escape(why)),
            );
        }
    };
    let axis = moving_regions(case).first().map(|name| Axis::of(case, name));
    let [length, force] = axis.map_or(["mm", "N"], Axis::units);
    let throws = rows.iter().any(|row| thrown(row).is_some());
    let mut order: Vec<usize> = (0..rows.len()).collect();
    let rank = |row: &Row| row.fate.map_or(1, |f| 2 * f as usize);
    order.sort_by(|&a, &b| {
        (rank(&rows[a]).cmp(&rank(&rows[b])))
            .then(rows[b].energy.value.total_cmp(&rows[a].energy.value))
    });
    let mut columns = vec![
        ("material".to_owned(), ""),
        ("at full draw".to_owned(), ""),
        (format!("force, {force}"), "n"),
        ("energy, mJ".to_owned(), "n"),
        ("stress, MPa".to_owned(), "n"),
        ("of what it bears".to_owned(), "n"),
        (format!("safe draw, {length}"), "n"),
        ("energy there, mJ".to_owned(), "n"),
    ];
    if throws {
        columns.push(("speed, m/s".to_owned(), "n"));
    }
    let head: String = columns
        .iter()
        .map(|(c, k)| format!("<th scope=\"col\" class=\"{k}\">{}</th>", escape(c)))
        .collect();
    let body: String = order
        .iter()
        .map(|&n| {
            let cells = cells(&rows[n], &case.material, throws);
            let line: String = cells
                .iter()
                .zip(&columns)
                .enumerate()
                .map(|(c, (cell, (column, kind)))| {
                    if c == 0 {
                        format!("<th scope=\"row\">{}</th>", escape(cell))
                    } else {
                        format!(
                            "<td class=\"{kind}\" data-label=\"{}\">{}</td>",
                            escape(column),
                            escape(cell)
                        )
                    }
                })
                .collect();
            let own = if n == 0 { " class=\"own\"" } else { "" };
            format!("<tr data-card=\"{n}\"{own}>{line}</tr>\n")
        })
        .collect();
    let options: String = rows
        .iter()
        .enumerate()
        .map(|(n, row)| {
            let own = if n == 0 { " (as solved)" } else { "" };
            format!("<option value=\"{n}\">{}{own}</option>", escape(&row.card.title))
        })
        .collect();
    let others = rows.iter().any(|r| ratio_differs(r, &case.material));
    let ratio = three_digits(case.material.poissons_ratio.value);
    let mut said = format!(
        "<p>The part is moved by a given draw, so one solve serves every material of the same Poisson's ratio \
         ({ratio}): shape and strain stay, and force, energy, stress and stiffness go with Young's modulus.",
    );
    if case.beads.is_some() {
        said += " It is taken as printed beads, and other materials are softer across theirs by another share: withy \
                 compare solves each share.";
    }
    if others {
        said += " Cards marked ~ have another ratio. In plane stress that alone changes little: up to 0.2 % of the \
                 force and 0.4 % of the stress in the parts that come with Withy. withy compare solves each ratio.";
    }
    said += " What is past yielding is computed as if it were still elastic, and too high.</p>\n";
    let body = format!(
        "{said}<p id=\"picker\" hidden><label for=\"card\">Show this page's numbers for</label> \
         <select id=\"card\">{options}</select></p>\n<table class=\"shelf\">\n<thead><tr>{head}</tr></thead>\n\
         <tbody>\n{body}</tbody>\n</table>\n",
    );
    section("materials", "In other materials", &body)
}

fn ratio_differs(row: &Row, own: &Card) -> bool {
    (row.card.poissons_ratio.value - own.poissons_ratio.value).abs() > SAME_RATIO
}

fn cells(row: &Row, own: &Card, throws: bool) -> Vec<String> {
    let mark = if ratio_differs(row, own) { " ~" } else { "" };
    let fate = match (row.fate, row.worst_fate) {
        (None, _) => "no strength known".to_owned(),
        (Some(fate), Some(worst)) if worst > fate => {
            format!("{}, at worst {}", fate.words(), worst.words())
        }
        (Some(fate), _) => fate.words().to_owned(),
    };
    let share = match row.fate {
        Some(Fate::Snaps) => row.of_break,
        _ => row.of_yield.or(row.of_break),
    };
    let beyond = if row.safe.ends.is_none() { ">= " } else { "" };
    let mut cells = vec![
        format!("{}{mark}", row.card.title),
        fate,
        three_digits(row.effort.value),
        three_digits(row.energy.value),
        three_digits(row.von_mises.value),
        share.map_or_else(|| "-".to_owned(), |band| format!("{:.0} %", 100.0 * band.value)),
        format!("{beyond}{}", three_digits(row.safe.travel.value)),
        format!("{beyond}{}", three_digits(row.safe.energy.value)),
    ];
    if throws {
        cells.push(thrown(row).map_or_else(|| "-".to_owned(), three_digits));
    }
    cells
}
