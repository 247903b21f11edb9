//! `report.html`: one page that a person reads and publishes.
//!
//! Everything is in the one file, so that it opens from a folder without a network: text and numbers as
//! plain HTML, charts as SVG, and for the slider the part's shape and stress in packed numbers that
//! a script of the page's own draws on a canvas. `set.html`, `release.html`, `spread.html` and `reconcile.html` are made
//! of the same parts, and need no script. Functions from results to text; no file is touched here.

mod assumed;
mod data;
mod figures;
mod head;
mod lasting;
mod launch;
mod markup;
mod materials;
mod pack;
mod page;
mod reconcile;
mod release;
mod set;
mod spread;

use crate::analysis::Analysis;
use crate::case::Case;
use crate::export::Summary;
use data::Data;
use figures::Marked;
pub(crate) use markup::escape;
use markup::json_in_script;
use materials::{Picked, Shelf};
pub use reconcile::{ReconcilePage, reconcile_page};
pub use release::{ReleasePage, release_page};
use serde::Serialize;
pub use set::{SetPage, set_page};
pub use spread::{SpreadPage, spread_page};
use thiserror::Error;
use withy_solver::ModelError;

const SCRIPT: &str = include_str!("page.js");

/// What is reported.
#[derive(Debug)]
pub struct Report<'a> {
    /// What was meant.
    pub case: &'a Case,
    /// What was found.
    pub analysis: &'a Analysis,
    /// The same as data.
    pub summary: &'a Summary,
    /// The command line that gives it, without folders.
    pub command: &'a str,
    /// The heat map as an `svg` element, for readers without JavaScript.
    pub stand_in: &'a str,
    /// What it pushes as an `svg` element, if it meets anything.
    pub contact: Option<&'a str>,
}

/// Why there is no report.
#[derive(Debug, Error)]
pub enum ReportError {
    /// The model of the solved case.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// Its data.
    #[error(transparent)]
    Json(#[from] serde_json::Error),
}

/// What the page's script reads.
#[derive(Serialize)]
struct Embedded<'a> {
    #[serde(flatten)]
    data: &'a Data,
    charts: &'a [Marked],
    cards: Vec<Picked>,
}

/// The page.
///
/// # Errors
/// Never for results of [`crate::analysis::analyse`]; the signature is that of what it calls.
pub fn report(report: &Report) -> Result<String, ReportError> {
    let Report { case, analysis, summary, command, stand_in, contact } = report;
    let (data, (shelf, lasting)) = rayon::join(
        || Data::new(case, analysis),
        || (Shelf::of(case, analysis), lasting::html(case, analysis)),
    );
    let data = data?;
    let charts = figures::charts(case, analysis, &data);
    let judgement = head::judge(case, analysis, shelf.own());
    let speed = analysis.solution.launched.as_ref().map(|l| l.release.speed);
    let keys = head::keys(case, analysis, &case.material, speed);
    let embedded = json_in_script(&Embedded {
        data: &data,
        charts: &charts,
        cards: shelf.picked(case, analysis),
    })?;
    let sections = [
        head::html(case, analysis, &judgement, &keys),
        figures::part(case, analysis, &data, &charts, stand_in),
        figures::contact(case, analysis, *contact),
        figures::hot_spot(case, analysis),
        figures::guidance(case, analysis, &data, &charts),
        materials::html(case, &shelf),
        lasting,
        assumed::assumed(case, analysis, summary),
        launch::html(case, analysis),
        assumed::again(case, summary, command),
    ];
    let live = format!(
        "<p id=\"scaled\" role=\"status\" hidden></p>\n\
         <script type=\"application/json\" id=\"data\">{embedded}</script>\n<script>\n{SCRIPT}</script>\n"
    );
    Ok(page::frame(case, &sections.concat(), Some(&live)))
}
