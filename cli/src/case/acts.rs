//! What is held, driven and loaded, free of contradictions.

use super::CaseCause;
use super::placed::Placed;
use super::written::{Axis, DriveTable, Freedom, HoldTable, LoadTable, PartFile};
use crate::error::{Refusal, Source};
use crate::maker::Made;
use std::collections::BTreeMap;

/// Which directions of a region are held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// To the right.
    pub x: bool,
    /// Up.
    pub y: bool,
}

/// A region that is kept still.
#[derive(Clone, Debug, PartialEq)]
pub struct Hold {
    /// The region.
    pub region: String,
    /// In these directions.
    pub along: Held,
}

/// Which motions of a driven region find their own equilibrium.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Free {
    /// To the right.
    pub x: bool,
    /// Up.
    pub y: bool,
    /// About its centroid.
    pub turn: bool,
}

/// A region that moves as one rigid body.
#[derive(Clone, Debug, PartialEq)]
pub struct Drive {
    /// The region.
    pub region: String,
    /// Its shift at full draw; zero where it is free (mm).
    pub shift: [f64; 2],
    /// Its turn at full draw, counter-clockwise; zero where it is free (rad).
    pub turn: f64,
    /// What is not prescribed.
    pub free: Free,
}

/// A force and a moment on a region, at full draw.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// The region.
    pub region: String,
    /// In x and y (N).
    pub force: [f64; 2],
    /// About its centroid, counter-clockwise (N mm).
    pub moment: f64,
}

/// All of them.
#[derive(Debug)]
pub(super) struct Acts {
    pub(super) holds: Vec<Hold>,
    pub(super) drives: Vec<Drive>,
    pub(super) loads: Vec<Load>,
}

impl Acts {
    /// Checks each by itself, then all together. A shape by numbers holds and drives what the file leaves
    /// to it.
    pub(super) fn new(
        file: &PartFile,
        source: &Source,
        shaped: Option<&Made>,
    ) -> Result<Self, Refusal> {
        let whole = |cause: CaseCause| Err(Refusal::of_text(source, cause));
        let mut holds =
            file.hold.iter().map(|table| hold(table, source)).collect::<Result<Vec<_>, _>>()?;
        if let Some(made) = shaped.filter(|_| holds.is_empty()) {
            holds.clone_from(&made.holds);
        }
        if holds.is_empty() {
            return whole(CaseCause::NoHold);
        }
        let nothing_acts = file.drive.is_empty() && file.load.is_empty();
        if nothing_acts && shaped.is_none() {
            return whole(CaseCause::NothingActs);
        }
        refuse_conflicts(file, source)?;
        let drives = file.drive.iter().map(|table| drive(table, source));
        let loads = file.load.iter().map(|table| load(table, &holds, source));
        let (mut drives, loads): (Vec<Drive>, Vec<Load>) =
            (drives.collect::<Result<_, _>>()?, loads.collect::<Result<_, _>>()?);
        if let Some(made) = shaped.filter(|_| nothing_acts) {
            drives.clone_from(&made.drives);
        }
        Ok(Self { holds, drives, loads })
    }

    /// The regions that are held, driven or loaded.
    pub(super) fn regions(&self) -> Vec<&str> {
        let holds = self.holds.iter().map(|hold| hold.region.as_str());
        let drives = self.drives.iter().map(|drive| drive.region.as_str());
        holds.chain(drives).chain(self.loads.iter().map(|load| load.region.as_str())).collect()
    }
}

/// A region may be held and loaded (along other directions), nothing else twice.
fn refuse_conflicts(file: &PartFile, source: &Source) -> Result<(), Refusal> {
    let holds = file.hold.iter().map(|table| (&table.region, "held"));
    let drives = file.drive.iter().map(|table| (&table.region, "driven"));
    let loads = file.load.iter().map(|table| (&table.region, "loaded"));
    let mut seen: BTreeMap<&str, &'static str> = BTreeMap::new();
    for (region, what) in holds.chain(drives).chain(loads) {
        let Some(first) = seen.insert(region.as_str(), what) else { continue };
        if first == "held" && what == "loaded" {
            continue; // looked at direction by direction in `load`
        }
        let second = if first == what { "listed so twice" } else { what };
        let cause = CaseCause::Conflict { name: region.to_string(), first, second };
        return Err(Refusal::at(source, region.span(), cause));
    }
    Ok(())
}

fn hold(table: &HoldTable, source: &Source) -> Result<Hold, Refusal> {
    let region = table.region.to_string();
    let Some(along) = &table.along else {
        return Ok(Hold { region, along: Held { x: true, y: true } });
    };
    if along.is_empty() {
        let cause = CaseCause::BadDirections { list: "along", why: "names no direction".into() };
        return Err(Refusal::at(source, along.span(), cause));
    }
    refuse_repeats("along", along, source)?;
    let has = |axis: Axis| along.iter().any(|one| **one == axis);
    Ok(Hold { region, along: Held { x: has(Axis::X), y: has(Axis::Y) } })
}

fn refuse_repeats<T: PartialEq + std::fmt::Debug>(
    list: &'static str,
    words: &[Placed<T>],
    source: &Source,
) -> Result<(), Refusal> {
    let repeated = words.iter().enumerate().find(|(at, word)| words[..*at].contains(word));
    let Some((_, word)) = repeated else { return Ok(()) };
    let why = format!("names \"{}\" twice", format!("{:?}", **word).to_lowercase());
    Err(Refusal::at(source, word.span(), CaseCause::BadDirections { list, why }))
}

fn drive(table: &DriveTable, source: &Source) -> Result<Drive, Refusal> {
    let name = || table.region.to_string();
    refuse_repeats("free", &table.free, source)?;
    let has = |freedom: Freedom| table.free.iter().any(|one| **one == freedom);
    let free = Free { x: has(Freedom::X), y: has(Freedom::Y), turn: has(Freedom::Turn) };
    let shift = table.shift.as_ref().map_or([0.0; 2], |shift| shift.map(|length| length.value()));
    let turn = table.turn.as_ref().map_or(0.0, |turn| turn.value());
    let moved = [
        ("x", free.x, shift[0] != 0.0, table.shift.as_ref().map(Placed::span)),
        ("y", free.y, shift[1] != 0.0, table.shift.as_ref().map(Placed::span)),
        ("turn", free.turn, turn != 0.0, table.turn.as_ref().map(Placed::span)),
    ];
    for (direction, is_free, is_moved, span) in &moved {
        if *is_free && *is_moved {
            let cause = CaseCause::FreeAndMoved { name: name(), direction };
            return Err(Refusal::at(
                source,
                span.clone().unwrap_or_else(|| table.region.span()),
                cause,
            ));
        }
    }
    if !moved.iter().any(|(_, _, is_moved, _)| *is_moved) {
        return Err(Refusal::at(
            source,
            table.region.span(),
            CaseCause::ZeroDrive { name: name() },
        ));
    }
    Ok(Drive { region: name(), shift, turn, free })
}

fn load(table: &LoadTable, holds: &[Hold], source: &Source) -> Result<Load, Refusal> {
    let region = table.region.to_string();
    let force =
        table.force.as_ref().map_or([0.0; 2], |force| force.map(|component| component.value()));
    let moment = table.moment.as_ref().map_or(0.0, |moment| moment.value());
    if force.iter().all(|component| *component == 0.0) && moment == 0.0 {
        return Err(Refusal::at(source, table.region.span(), CaseCause::ZeroLoad { name: region }));
    }
    let held = holds.iter().find(|hold| hold.region == region).map(|hold| hold.along);
    let resisted = |held: Held| {
        (held.x && force[0] != 0.0) || (held.y && force[1] != 0.0) || (held.x && held.y)
    };
    if held.is_some_and(resisted) {
        let cause = CaseCause::Conflict { name: region, first: "held", second: "loaded" };
        return Err(Refusal::at(source, table.region.span(), cause));
    }
    Ok(Load { region, force, moment })
}
