//! One DXF entity to its curves, in the drawing's own unit.

use super::pairs::Record;
use super::spline;
use crate::drawing::geometry::{SAME_MM, unit_arc};
use crate::error::Refusal;
use kurbo::{Affine, Point, Vec2};
use std::f64::consts::TAU;
use withy_mesh::{Arc, Curve};

/// What an entity draws.
pub(super) enum Outline {
    /// A closed loop.
    Closed(Vec<Curve>),
    /// A chain with two ends, which may meet.
    Open(Vec<Curve>),
    /// The image of the unit circle.
    Ellipse(Affine),
}

/// The outline of an entity, or nothing if it is of a kind that has none.
pub(super) fn outline(record: &Record, vertices: &[Record]) -> Result<Option<Outline>, Refusal> {
    let placed = |curve: Curve| -> Result<Vec<Curve>, Refusal> {
        let plane = plane(record)?;
        Ok(crate::drawing::geometry::mapped(&curve, plane))
    };
    Ok(Some(match record.kind {
        "LINE" => Outline::Open(vec![line(record)?]),
        "CIRCLE" => {
            let unit =
                Affine::translate(point(record, 10)?.to_vec2()) * Affine::scale(radius(record)?);
            Outline::Ellipse(plane(record)? * unit)
        }
        "ARC" => {
            let (start, end) = (record.needed(50)?, record.needed(51)?);
            let sweep = (end - start).rem_euclid(360.0);
            let sweep = if sweep == 0.0 { 360.0 } else { sweep };
            Outline::Open(placed(Curve::Arc(Arc {
                center: point(record, 10)?,
                radius: radius(record)?,
                start: start.to_radians(),
                sweep: sweep.to_radians(),
            }))?)
        }
        "ELLIPSE" => ellipse(record)?,
        "LWPOLYLINE" => light_polyline(record)?,
        "POLYLINE" => match polyline(record, vertices)? {
            Some(outline) => outline,
            None => return Ok(None),
        },
        "SPLINE" => {
            plane(record)?; // only to refuse one that stands askew: its points are in space
            Outline::Open(spline::curves(record)?)
        }
        _ => return Ok(None),
    }))
}

/// The map from an entity's own plane to the drawing's: the identity, or x turned over if its extrusion
/// points down (the arbitrary axis rule for the normal 0, 0, -1).
pub(super) fn plane(record: &Record) -> Result<Affine, Refusal> {
    let normal =
        [record.number_or(210, 0.0)?, record.number_or(220, 0.0)?, record.number_or(230, 1.0)?];
    let upright = normal[0].abs() <= 1e-9 && normal[1].abs() <= 1e-9;
    if upright && normal[2] > 0.0 {
        Ok(Affine::IDENTITY)
    } else if upright && normal[2] < 0.0 {
        Ok(Affine::FLIP_X)
    } else {
        Err(record.refuse("it does not lie in the x-y plane"))
    }
}

fn point(record: &Record, code: i32) -> Result<Point, Refusal> {
    Ok(Point::new(record.needed(code)?, record.needed(code + 10)?))
}

fn radius(record: &Record) -> Result<f64, Refusal> {
    let radius = record.needed(40)?;
    if radius > 0.0 { Ok(radius) } else { Err(record.refuse("its radius is not above zero")) }
}

fn line(record: &Record) -> Result<Curve, Refusal> {
    let rise = record.number_or(31, 0.0)? - record.number_or(30, 0.0)?;
    if rise.abs() > SAME_MM {
        return Err(record.refuse("its ends differ in z: it does not lie in the x-y plane"));
    }
    Ok(Curve::Line(point(record, 10)?, point(record, 11)?))
}

/// Centre and major axis are in space, so only the sense of rotation depends on the extrusion.
fn ellipse(record: &Record) -> Result<Outline, Refusal> {
    let (center, major) = (point(record, 10)?, point(record, 11)?.to_vec2());
    let ratio = record.needed(40)?;
    if !(ratio > 0.0 && major.hypot() > 0.0) {
        return Err(record.refuse("an axis has no length"));
    }
    let sense = plane(record)?.determinant();
    let minor = Vec2::new(-major.y, major.x) * ratio * sense;
    let unit = Affine::new([major.x, major.y, minor.x, minor.y, center.x, center.y]);
    let (start, end) = (record.number_or(41, 0.0)?, record.number_or(42, TAU)?);
    let sweep = (end - start).rem_euclid(TAU);
    // Whole turns are written with as many digits of 2 pi as the program saw fit.
    if sweep < 1e-9 || TAU - sweep < 1e-9 {
        return Ok(Outline::Ellipse(unit));
    }
    Ok(Outline::Open(unit_arc(unit, start, sweep)))
}

/// A corner of a polyline and the bulge of the piece that follows.
#[derive(Clone, Copy)]
struct Corner {
    at: Point,
    bulge: f64,
}

fn light_polyline(record: &Record) -> Result<Outline, Refusal> {
    let mut corners: Vec<Corner> = Vec::new();
    let mut x = None;
    for pair in record.pairs {
        match pair.code {
            10 => x = Some(record.number_of(pair)?),
            20 => {
                let x = x.take().ok_or_else(|| record.refuse("a corner lacks its x"))?;
                corners.push(Corner { at: Point::new(x, record.number_of(pair)?), bulge: 0.0 });
            }
            42 => {
                if let Some(corner) = corners.last_mut() {
                    corner.bulge = record.number_of(pair)?;
                }
            }
            _ => {}
        }
    }
    let stated = record.integer_or(90, 0)?;
    if x.is_some() || (stated != 0 && usize::try_from(stated) != Ok(corners.len())) {
        return Err(record.refuse(format!("it states {stated} corners but has {}", corners.len())));
    }
    chain(record, &corners, record.integer_or(70, 0)? & 1 != 0)
}

/// The older polyline, its corners as records of their own. Meshes (flags 16 and 64) have no outline.
fn polyline(record: &Record, vertices: &[Record]) -> Result<Option<Outline>, Refusal> {
    let flags = record.integer_or(70, 0)?;
    if flags & (16 | 64) != 0 {
        return Ok(None);
    }
    if vertices.last().is_none_or(|last| last.kind != "SEQEND") {
        return Err(record.refuse("its corners end without SEQEND"));
    }
    let mut corners = Vec::new();
    for vertex in vertices.iter().filter(|vertex| vertex.kind == "VERTEX") {
        // Flag 16: a control point of a fitted spline, beside the points on it.
        if vertex.integer_or(70, 0)? & 16 == 0 {
            corners.push(Corner { at: point(vertex, 10)?, bulge: vertex.number_or(42, 0.0)? });
        }
    }
    let heights =
        vertices.iter().map(|vertex| vertex.number_or(30, 0.0)).collect::<Result<Vec<_>, _>>()?;
    let first = heights.first().copied().unwrap_or(0.0);
    let is_3d = flags & 8 != 0;
    let is_corner = |at: &usize| vertices[*at].kind == "VERTEX";
    if is_3d && (0..heights.len()).filter(is_corner).any(|at| (heights[at] - first).abs() > SAME_MM)
    {
        return Err(record.refuse("its corners differ in z: it does not lie in the x-y plane"));
    }
    chain(record, &corners, flags & 1 != 0).map(Some)
}

fn chain(record: &Record, corners: &[Corner], closed: bool) -> Result<Outline, Refusal> {
    let plane = plane(record)?;
    let count = if closed { corners.len() } else { corners.len().saturating_sub(1) };
    let piece =
        |at: usize| bulged(corners[at].at, corners[(at + 1) % corners.len()].at, corners[at].bulge);
    // A repeated corner draws nothing.
    let pieces = (0..count).map(piece).filter(|curve| !crate::drawing::geometry::is_point(curve));
    let curves = pieces.flat_map(|curve| crate::drawing::geometry::mapped(&curve, plane)).collect();
    Ok(if closed { Outline::Closed(curves) } else { Outline::Open(curves) })
}

/// The piece between two corners: an arc over the angle whose quarter has the tangent `bulge`, positive
/// counter-clockwise.
fn bulged(a: Point, b: Point, bulge: f64) -> Curve {
    let chord = b - a;
    if bulge.abs() < 1e-12 || chord.hypot() <= SAME_MM {
        return Curve::Line(a, b);
    }
    let left = Vec2::new(-chord.y, chord.x);
    let center = a.midpoint(b) + left * ((1.0 - bulge * bulge) / (4.0 * bulge));
    let radius = chord.hypot() * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    Curve::Arc(Arc { center, radius, start: (a - center).atan2(), sweep: 4.0 * bulge.atan() })
}
