//! `report.html`: one page that a person reads and publishes.
//!
//! Everything is in the one file, so that it opens from a folder without a network: text and numbers as
//! plain HTML, charts as SVG, and for the slider the part's shape and stress in packed numbers that
//! a script of the page's own draws on a canvas. Functions from results to text; no file is touched here.

mod assumed;
mod data;
mod figures;
mod head;
mod lasting;
mod launch;
mod markup;
mod materials;
mod pack;

use crate::analysis::Analysis;
use crate::case::Case;
use crate::export::Summary;
use data::Data;
use figures::Marked;
pub(crate) use markup::escape;
use markup::json_in_script;
use materials::{Picked, Shelf};
use serde::Serialize;
use thiserror::Error;
use withy_solver::ModelError;

const STYLE: &str = include_str!("page.css");
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
    let data = Data::new(case, analysis)?;
    let charts = figures::charts(case, analysis, &data);
    let shelf = Shelf::of(case, analysis);
    let judgement = head::judge(case, analysis, shelf.own());
    let speed = analysis.solution.launched.as_ref().map(|l| l.release.speed);
    let keys = head::keys(case, analysis, &case.material, speed);
    let embedded = json_in_script(&Embedded {
        data: &data,
        charts: &charts,
        cards: shelf.picked(case, analysis),
    })?;
    let subtitle = format!(
        "{}, {} mm deep. Computed by Withy {} from {}.",
        case.material.title,
        crate::picture::three_digits(case.thickness),
        summary.withy,
        summary.part
    );
    let sections = [
        head::html(case, analysis, &judgement, &keys),
        figures::part(case, analysis, &data, &charts, stand_in),
        figures::contact(case, analysis, *contact),
        figures::hot_spot(case, analysis),
        figures::guidance(case, &data, &charts),
        materials::html(case, &shelf),
        lasting::html(case, analysis),
        assumed::assumed(case, analysis, summary),
        launch::html(case, analysis),
        assumed::again(case, summary, command),
    ];
    Ok(format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <meta name=\"generator\" content=\"Withy {version}\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; \
         script-src 'unsafe-inline'; img-src data:\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<header>\n<h1>{title}</h1>\n\
         <p>{subtitle}</p>\n</header>\n<main>\n{sections}</main>\n<p id=\"scaled\" role=\"status\" hidden></p>\n\
         <script type=\"application/json\" id=\"data\">{embedded}</script>\n<script>\n{SCRIPT}</script>\n</body>\n</html>\n",
        version = escape(summary.withy),
        title = escape(&case.title),
        subtitle = escape(&subtitle),
        sections = sections.concat(),
    ))
}
