//! Which shapes of the drawing are the part, and which are regions.

use super::CaseCause;
use super::acts::Acts;
use super::nearest::nearest;
use super::placed::Placed;
use super::written::{PartFile, RegionTable};
use crate::drawing::{self, Drawing};
use crate::error::{Refusal, Source};
use crate::maker::Made;
use crate::remark::Remark;
use kurbo::{Point, Rect};
use std::collections::BTreeMap;
use std::ops::Range;
use withy_mesh::{Loop, Outline, Region};

/// The group or layer that holds the part, in any case: `Part` must not silently mean something else.
const PART: &str = "part";

/// Outlines of more curves than this are refused. Each takes an edge of an element at least, so that more
/// of them keep the mesher busy for minutes; a meter of outline in steps of 0.01 mm is within it.
const MOST_PIECES: usize = 100_000;

/// The part and its regions.
///
/// # Errors
/// A region of no or of two definitions, no shape for the part, an outline that is none.
pub(super) fn outline(
    file: &PartFile,
    source: &Source,
    drawing: &Drawing,
    remarks: &mut Vec<Remark>,
) -> Result<Outline, Refusal> {
    let used = used_regions(file);
    let in_drawing =
        |name: &str| drawing.shapes().iter().any(|shape| drawing.is_called(&shape.names, name));
    let mut regions = of_part_file(file, source, &used, &in_drawing, remarks)?;
    for (name, span) in &used {
        if file.regions.keys().all(|known| known.as_str() != *name) {
            regions.push(drawn(name, span, file, source, drawing)?);
        }
    }
    let part = part(&used, drawing, remarks)?;
    if part.is_empty() {
        return Err(Refusal::of_file(drawing.path(), CaseCause::NoPart));
    }
    let pieces: usize = part.iter().map(|one| one.curves.len()).sum();
    if pieces > MOST_PIECES {
        let cause = CaseCause::TooManyPieces { pieces, limit: MOST_PIECES };
        return Err(Refusal::of_file(drawing.path(), cause));
    }
    Outline::new(part, regions).map_err(|error| {
        let origin = error.origin().map(str::to_owned);
        let by_numbers =
            file.regions.iter().find(|(name, _)| Some(origin_of(name, source)) == origin);
        let cause = CaseCause::BadOutline(error);
        match by_numbers {
            Some((name, _)) => Refusal::at(source, name.span(), cause),
            None => drawing.complaint(origin.as_deref(), cause),
        }
    })
}

/// A part by numbers, with the regions that are in use: its own, and those of the part file.
///
/// # Errors
/// A region of no or of two definitions.
pub(super) fn shaped(
    file: &PartFile,
    source: &Source,
    made: &Made,
    acts: &Acts,
    remarks: &mut Vec<Remark>,
) -> Result<Outline, Refusal> {
    let used = used_regions(file);
    let own = made.outline.regions();
    let of_shape = |name: &str| own.iter().any(|region| region.name == name);
    let mut regions = of_part_file(file, source, &used, &of_shape, remarks)?;
    for (name, span) in &used {
        let known = file.regions.keys().map(|known| known.as_str());
        let known: Vec<String> =
            own.iter().map(|r| r.name.as_str()).chain(known).map(str::to_owned).collect();
        if !known.iter().any(|one| one == name) {
            let nearest = nearest(name, known.iter().map(String::as_str)).map(str::to_owned);
            let cause = CaseCause::UnknownRegion { name: (*name).to_owned(), nearest, known };
            return Err(Refusal::at(source, span.clone(), cause));
        }
    }
    let acted = acts.regions();
    let wanted = |name: &str| acted.contains(&name) || used.contains_key(name);
    regions.extend(own.iter().filter(|r| wanted(&r.name)).cloned());
    Outline::new(made.outline.loops().to_vec(), regions)
        .map_err(|error| Refusal::of_text(source, CaseCause::BadOutline(error)))
}

/// The regions that the part file gives by numbers and uses; none may be `known` by another definition.
fn of_part_file(
    file: &PartFile,
    source: &Source,
    used: &BTreeMap<&str, Range<usize>>,
    known: &dyn Fn(&str) -> bool,
    remarks: &mut Vec<Remark>,
) -> Result<Vec<Region>, Refusal> {
    let mut regions = Vec::new();
    for (name, table) in &file.regions {
        if name.as_str() == PART {
            return Err(Refusal::at(source, name.span(), CaseCause::PartAsRegion));
        }
        if known(name) {
            let cause = CaseCause::RegionTwice { name: name.to_string() };
            return Err(Refusal::at(source, name.span(), cause));
        }
        let loops = vec![by_numbers(name, table, source)?];
        if used.contains_key(name.as_str()) {
            regions.push(Region { name: name.to_string(), loops });
        } else {
            let text = format!("region '{}' is defined but not used", **name);
            remarks.push(Remark::note("unused-region", text));
        }
    }
    Ok(regions)
}

/// Every region that the part file refers to, with the place of its first mention.
pub(super) fn used_regions(file: &PartFile) -> BTreeMap<&str, Range<usize>> {
    let holds = file.hold.iter().map(|hold| &hold.region);
    let drives = file.drive.iter().map(|drive| &drive.region);
    let loads = file.load.iter().map(|load| &load.region);
    let mut used = BTreeMap::new();
    let rails = file.rail.iter().filter_map(|rail| rail.region.as_ref());
    let pins = file.pin.iter().filter_map(|pin| pin.region.as_ref());
    for region in holds.chain(drives).chain(loads).chain(rails).chain(pins) {
        used.entry(region.as_str()).or_insert_with(|| region.span());
    }
    used
}

/// A region by numbers, a rectangle or a circle.
fn by_numbers(
    name: &Placed<String>,
    table: &Placed<RegionTable>,
    source: &Source,
) -> Result<Loop, Refusal> {
    let bad = |why: &'static str| {
        Refusal::at(source, table.span(), CaseCause::BadRegion { name: name.to_string(), why })
    };
    let curves = match (table.rectangle, table.circle) {
        (Some(sides), None) => {
            let [x0, y0, x1, y1] = sides.map(|side| side.value());
            let rect = Rect::from_points(Point::new(x0, y0), Point::new(x1, y1));
            if !(rect.width() > 0.0 && rect.height() > 0.0) {
                return Err(bad("has no area"));
            }
            drawing::rectangle(rect)
        }
        (None, Some(circle)) => {
            let [x, y, radius] = circle.map(|number| number.value());
            if radius <= 0.0 {
                return Err(bad("has no area"));
            }
            drawing::circle(Point::new(x, y), radius)
        }
        (Some(_), Some(_)) => return Err(bad("has both a box and a circle")),
        (None, None) => return Err(bad("has neither a box nor a circle")),
    };
    if !drawing::are_within_limits(&curves) {
        return Err(bad("reaches farther than 10 m from the origin"));
    }
    Ok(Loop { curves, origin: origin_of(name, source) })
}

/// What a region by numbers is called in complaints.
fn origin_of(name: &Placed<String>, source: &Source) -> String {
    let line = source.line(name.span().start);
    format!("region '{}' (line {line} of the part file)", **name)
}

/// A region that the drawing names: all shapes of that name together.
fn drawn(
    name: &str,
    span: &Range<usize>,
    file: &PartFile,
    source: &Source,
    drawing: &Drawing,
) -> Result<Region, Refusal> {
    if name == PART {
        return Err(Refusal::at(source, span.clone(), CaseCause::PartAsRegion));
    }
    let loops = drawing.loops(|names| drawing.is_called(names, name))?;
    if !loops.is_empty() {
        return Ok(Region { name: name.to_owned(), loops });
    }
    let in_file = file.regions.keys().map(|known| known.as_str());
    let all = drawing.names().into_iter().filter(|known| *known != PART).chain(in_file);
    let known: Vec<String> = all.map(str::to_owned).collect();
    let nearest = nearest(name, known.iter().map(String::as_str)).map(str::to_owned);
    let cause = CaseCause::UnknownRegion { name: name.to_owned(), nearest, known };
    Err(Refusal::at(source, span.clone(), cause))
}

/// The part: the shapes called `part`, or else every shape that no region names.
fn part(
    used: &BTreeMap<&str, Range<usize>>,
    drawing: &Drawing,
    remarks: &mut Vec<Remark>,
) -> Result<Vec<Loop>, Refusal> {
    let is_part = |names: &[String]| names.iter().any(|name| name.eq_ignore_ascii_case(PART));
    let is_region = |names: &[String]| used.keys().any(|name| drawing.is_called(names, name));
    if !drawing.shapes().iter().any(|shape| is_part(&shape.names)) {
        return drawing.loops(|names| !is_region(names));
    }
    let neither = |names: &[String]| !is_part(names) && !is_region(names);
    let count = drawing.shapes().iter().filter(|shape| neither(&shape.names)).count();
    if count > 0 {
        let text =
            format!("{count} shapes of the drawing are neither in 'part' nor a region in use");
        remarks.push(Remark::note("unused-shapes", text));
    }
    drawing.loops(is_part)
}
