//! The basic shapes: SVG 2, chapter 10.

use super::Context;
use super::attributes::Element;
use super::path::{self, Outline, Pen};
use crate::drawing::geometry::whole_ellipse;
use crate::error::Refusal;
use kurbo::{Affine, Point, Vec2};
use withy_mesh::number::min;

/// Whether an element of this name has an outline.
pub(super) fn is_shape(tag: &str) -> bool {
    matches!(tag, "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" | "use")
}

/// The outline of any shape, in millimetres.
pub(super) fn outline(element: &Element, context: &Context) -> Result<Outline, Refusal> {
    match element.tag() {
        "path" => path::outline(element, context.transform),
        "rect" => rectangle(element, context),
        "circle" | "ellipse" => ellipse(element, context),
        "line" => line(element, context),
        _ => polyline(element, context),
    }
}

fn rectangle(element: &Element, context: &Context) -> Result<Outline, Refusal> {
    let [across, up] = context.view;
    let (x, y) = (element.length_or("x", 0.0, across)?, element.length_or("y", 0.0, up)?);
    let (w, h) = (size(element, "width", across)?, size(element, "height", up)?);
    let mut pen = Pen::new(context.transform);
    if !(w > 0.0 && h > 0.0) {
        return Ok(pen.finish()); // no area: not drawn
    }
    let radius = |name: &str, whole: f64| match element.length(name, whole)? {
        Some(r) if r < 0.0 => Err(element.refuse(name, "must not be negative")),
        other => Ok(other),
    };
    let (rx, ry) = (radius("rx", across)?, radius("ry", up)?);
    let rx = min(rx.or(ry).unwrap_or(0.0), 0.5 * w);
    let ry = min(ry.or(radius("rx", across)?).unwrap_or(0.0), 0.5 * h);
    let rounded = rx > 0.0 && ry > 0.0;
    let (rx, ry) = if rounded { (rx, ry) } else { (0.0, 0.0) };
    let corner = |pen: &mut Pen, x: f64, y: f64| {
        if rounded {
            pen.arc_to(Vec2::new(rx, ry), 0.0, false, true, Point::new(x, y));
        }
    };
    pen.move_to(Point::new(x + rx, y));
    pen.line_to(Point::new(x + w - rx, y));
    corner(&mut pen, x + w, y + ry);
    pen.line_to(Point::new(x + w, y + h - ry));
    corner(&mut pen, x + w - rx, y + h);
    pen.line_to(Point::new(x + rx, y + h));
    corner(&mut pen, x, y + h - ry);
    pen.line_to(Point::new(x, y + ry));
    corner(&mut pen, x + rx, y);
    pen.close();
    Ok(pen.finish())
}

fn ellipse(element: &Element, context: &Context) -> Result<Outline, Refusal> {
    let [across, up] = context.view;
    let (cx, cy) = (element.length_or("cx", 0.0, across)?, element.length_or("cy", 0.0, up)?);
    let (rx, ry) = if element.tag() == "circle" {
        let diagonal = across.hypot(up) * std::f64::consts::FRAC_1_SQRT_2;
        let r = size(element, "r", diagonal)?;
        (r, r)
    } else {
        // One radius alone serves for both.
        let (rx, ry) = (element.length("rx", across)?, element.length("ry", up)?);
        let both = (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
        if both.0 < 0.0 || both.1 < 0.0 {
            return Err(
                element.refuse(if both.0 < 0.0 { "rx" } else { "ry" }, "must not be negative")
            );
        }
        both
    };
    let mut pen = Pen::new(Affine::IDENTITY);
    if rx > 0.0 && ry > 0.0 {
        let unit = Affine::translate((cx, cy)) * Affine::scale_non_uniform(rx, ry);
        let curves = whole_ellipse(context.transform * unit);
        let start = curves.first().map(withy_mesh::Curve::start).unwrap_or_default();
        pen.move_to(start);
        curves.into_iter().for_each(|curve| pen.push(curve));
        pen.close();
    }
    Ok(pen.finish())
}

fn line(element: &Element, context: &Context) -> Result<Outline, Refusal> {
    let [across, up] = context.view;
    let mut pen = Pen::new(context.transform);
    pen.move_to(Point::new(
        element.length_or("x1", 0.0, across)?,
        element.length_or("y1", 0.0, up)?,
    ));
    pen.line_to(Point::new(
        element.length_or("x2", 0.0, across)?,
        element.length_or("y2", 0.0, up)?,
    ));
    Ok(pen.finish())
}

fn polyline(element: &Element, context: &Context) -> Result<Outline, Refusal> {
    let text = element.attribute("points").unwrap_or_default();
    let mut numbers = Vec::new();
    let mut rest = svgtypes::NumberListParser::from(text);
    for number in &mut rest {
        numbers
            .push(number.map_err(|error| element.refuse("points", format!("is wrong: {error}")))?);
    }
    if numbers.len() % 2 != 0 {
        return Err(element.refuse("points", "has an odd number of coordinates"));
    }
    let mut pen = Pen::new(context.transform);
    for (count, pair) in numbers.chunks_exact(2).enumerate() {
        let p = Point::new(pair[0], pair[1]);
        if count == 0 { pen.move_to(p) } else { pen.line_to(p) }
    }
    if element.tag() == "polygon" {
        pen.close();
    }
    Ok(pen.finish())
}

fn size(element: &Element, name: &str, whole: f64) -> Result<f64, Refusal> {
    let value = element.length_or(name, 0.0, whole)?;
    if value < 0.0 { Err(element.refuse(name, "must not be negative")) } else { Ok(value) }
}
