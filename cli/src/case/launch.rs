//! What is thrown when the part is let go, free of contradictions.

use super::CaseCause;
use super::acts::{Acts, Drive};
use super::placed::Placed;
use super::written::{LaunchLimitTable, LaunchTable, PartFile};
use crate::error::{Refusal, Source};
use crate::material::Card;
use crate::remark::Remark;
use std::ops::Range;

/// Nothing heavier than 10 kg is thrown by a printed spring (g).
const HEAVIEST_G: f64 = 1e4;
/// Tips wider than a metre are no tips (mm).
const WIDEST_TIP_MM: f64 = 1e3;

/// What is thrown.
#[derive(Clone, Debug, PartialEq)]
pub struct Launch {
    /// Its mass (g).
    pub mass: f64,
    /// The driven region that it rides on.
    pub region: String,
    /// Width of what hits first, if known (mm).
    pub tip_diameter: Option<f64>,
    /// Share of the released energy that is lost.
    pub losses: f64,
    /// Friction against the carriage (N).
    pub friction: f64,
    /// Draw at which the carriage meets its stop (mm).
    pub stop: f64,
    /// What is allowed, by whose rule.
    pub limits: Vec<LaunchLimit>,
}

/// A rule about what is thrown.
#[derive(Clone, Debug, PartialEq)]
pub struct LaunchLimit {
    /// Whose rule it is.
    pub name: String,
    /// Highest energy (mJ).
    pub energy: Option<f64>,
    /// Highest energy by area of the tip (mJ/mm2).
    pub energy_per_area: Option<f64>,
    /// Where it is written.
    pub source: String,
}

/// The checked launch of a part file, if it has one.
pub(super) fn launch(
    file: &PartFile,
    source: &Source,
    acts: &Acts,
    material: &Card,
    remarks: &mut Vec<Remark>,
) -> Result<Option<Launch>, Refusal> {
    let Some(table) = &file.launch else { return Ok(None) };
    let drive = drive_of(table, source, acts)?;
    if material.density.is_none() {
        return Err(Refusal::at(source, table.span(), CaseCause::NoDensity));
    }
    let full = drive.shift[0].hypot(drive.shift[1]);
    let number = |what: &str,
                  span: Range<usize>,
                  value: f64,
                  unit: &str,
                  ok: bool,
                  range: String| {
        if ok {
            return Ok(value);
        }
        let found = format!("{value} {unit}").trim_end().to_owned();
        Err(Refusal::at(source, span, CaseCause::OutOfRange { what: what.into(), found, range }))
    };
    let mass = table.mass.value();
    let range = "above 0 g and at most 10 kg".to_owned();
    let mass =
        number("mass", table.mass.span(), mass, "g", mass > 0.0 && mass <= HEAVIEST_G, range)?;
    let tip_diameter = match &table.tip_diameter {
        None => None,
        Some(d) => {
            let (v, range) = (d.value(), "above 0 mm and at most 1 m".to_owned());
            let ok = v > 0.0 && v <= WIDEST_TIP_MM;
            Some(number("tip_diameter", d.span(), v, "mm", ok, range)?)
        }
    };
    let losses = match &table.losses {
        None => {
            let text = "no losses are taken for the launch (losses = 0): in truth part of the energy is lost \
                        in the material and by friction, and the real speed is lower; a measured speed tells";
            remarks.push(Remark::note("no-losses", text));
            0.0
        }
        Some(l) => {
            let (v, range) = (l.value(), "from 0 to below 1 (100 %)".to_owned());
            number("losses", l.span(), v, "", (0.0..1.0).contains(&v), range)?
        }
    };
    let friction = match &table.friction {
        None => 0.0,
        Some(f) => {
            let (v, range) = (f.value(), "0 N or more".to_owned());
            number("friction", f.span(), v, "N", v >= 0.0, range)?
        }
    };
    let stop = match &table.stop {
        None => 0.0,
        Some(s) => {
            let (v, range) =
                (s.value(), format!("from 0 mm (rest) to below the draw of {full} mm"));
            number("stop", s.span(), v, "mm", v >= 0.0 && v < full, range)?
        }
    };
    let limits = table
        .limit
        .iter()
        .map(|limit| checked_limit(limit, tip_diameter.is_some(), source))
        .collect::<Result<_, _>>()?;
    let region = table.region.to_string();
    Ok(Some(Launch { mass, region, tip_diameter, losses, friction, stop, limits }))
}

/// The drive of the region that the projectile rides on.
fn drive_of<'a>(
    table: &Placed<LaunchTable>,
    source: &Source,
    acts: &'a Acts,
) -> Result<&'a Drive, Refusal> {
    let refuse = |why| {
        let cause = CaseCause::BadLaunch { name: table.region.to_string(), why };
        Err(Refusal::at(source, table.region.span(), cause))
    };
    let Some(drive) = acts.drives.iter().find(|d| d.region == *table.region) else {
        return refuse("it is not driven");
    };
    if acts.drives.len() > 1 {
        return refuse("another region is driven too, and would not be let go with it");
    }
    if !acts.loads.is_empty() {
        return refuse(
            "a load acts on the part, and what becomes of it after the release is not told",
        );
    }
    if drive.shift[0].hypot(drive.shift[1]) > 0.0 {
        Ok(drive)
    } else {
        refuse("its drive only turns it, so that its middle stays where it is")
    }
}

fn checked_limit(
    table: &Placed<LaunchLimitTable>,
    tip_is_known: bool,
    source: &Source,
) -> Result<LaunchLimit, Refusal> {
    let refuse = |span: Range<usize>, why| {
        let cause = CaseCause::BadLimit { name: table.name.clone(), why };
        Err(Refusal::at(source, span, cause))
    };
    let energies = [
        table.energy.as_ref().map(|e| (e.value(), e.span())),
        table.energy_per_area.as_ref().map(|e| (e.value(), e.span())),
    ];
    if energies.iter().all(Option::is_none) {
        return refuse(table.span(), "limits nothing");
    }
    for (value, span) in energies.iter().flatten() {
        if *value <= 0.0 {
            return refuse(span.clone(), "must be above zero");
        }
    }
    if let (Some((_, span)), false) = (&energies[1], tip_is_known) {
        return refuse(span.clone(), "is by area of the tip, whose diameter is not given");
    }
    if table.source.trim().is_empty() {
        return refuse(table.source.span(), "says not where it is written");
    }
    Ok(LaunchLimit {
        name: table.name.clone(),
        energy: table.energy.as_ref().map(|e| e.value()),
        energy_per_area: table.energy_per_area.as_ref().map(|e| e.value()),
        source: table.source.to_string(),
    })
}
