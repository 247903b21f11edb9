//! The page of an SVG: its size, its view box, and the map from user units to millimetres, y up.
//!
//! The map is `flip * scale * shift`: user units to pixels by the view box, pixels to millimetres by
//! 25.4/96, and y counted from the lower edge of the page.

use super::Context;
use super::attributes::Element;
use crate::error::Refusal;
use crate::remark::Remark;
use kurbo::Affine;
use std::str::FromStr;
use svgtypes::{Align, AspectRatio, ViewBox};
use withy_mesh::number::{max, min};

/// A pixel is 1/96 inch.
const MM_PER_PX: f64 = 25.4 / 96.0;

/// What the outermost element says.
pub(super) struct Page {
    pub(super) to_mm: Affine,
    /// Width and height that percentages refer to (user units).
    pub(super) view: [f64; 2],
    pub(super) size_mm: Option<[f64; 2]>,
    pub(super) remarks: Vec<Remark>,
}

/// The page of the outermost `svg`.
pub(super) fn of_root(root: Element) -> Result<Page, Refusal> {
    let view_box = view_box(&root)?;
    let mut remarks = Vec::new();
    let (width, height) = (page_length(&root, "width")?, page_length(&root, "height")?);
    let size = match (width, height, view_box) {
        (Some(w), Some(h), _) => Some([w, h]),
        (Some(w), None, Some(v)) => Some([w, w * v.h / v.w]),
        (None, Some(h), Some(v)) => Some([h * v.w / v.h, h]),
        (None, None, Some(v)) => {
            let text = "the drawing states no width and height: one user unit is taken as one pixel, \
                        1/96 inch; give the svg element a width and a height in mm";
            remarks.push(Remark::caution("no-page-size", text));
            Some([v.w, v.h])
        }
        (_, _, None) => {
            let text = "the drawing states neither its size nor a viewBox: one user unit is taken as \
                        one pixel, 1/96 inch, and y is counted upwards from the drawing's own origin";
            remarks.push(Remark::caution("no-page-size", text));
            None
        }
    };
    let fit = match (view_box, size) {
        (Some(v), Some([w, h])) => fit(&root, v, w, h)?,
        _ => Affine::IDENTITY,
    };
    let height = size.map_or(0.0, |[_, h]| h);
    let flip = Affine::new([MM_PER_PX, 0.0, 0.0, -MM_PER_PX, 0.0, height * MM_PER_PX]);
    let view = view_box.map(|v| [v.w, v.h]).or(size).unwrap_or([100.0, 100.0]);
    let size_mm = size.map(|[w, h]| [w * MM_PER_PX, h * MM_PER_PX]);
    Ok(Page { to_mm: flip * fit, view, size_mm, remarks })
}

/// A nested `svg`: a view of its own at x, y.
pub(super) fn of_nested(element: &Element, context: &Context) -> Result<Context, Refusal> {
    let x = element.length_or("x", 0.0, context.view[0])?;
    let y = element.length_or("y", 0.0, context.view[1])?;
    let w = element.length_or("width", context.view[0], context.view[0])?;
    let h = element.length_or("height", context.view[1], context.view[1])?;
    within(element, context, Affine::translate((x, y)), w, h)
}

/// A `symbol` as a `use` element shows it.
pub(super) fn of_symbol(
    symbol: &Element,
    user: &Element,
    context: &Context,
) -> Result<Context, Refusal> {
    let size = |name: &str, whole: f64| {
        let own = symbol.length(name, whole)?;
        Ok(user.length(name, whole)?.or(own).unwrap_or(whole))
    };
    let w = size("width", context.view[0])?;
    let h = size("height", context.view[1])?;
    within(symbol, context, Affine::IDENTITY, w, h)
}

fn within(
    element: &Element,
    context: &Context,
    place: Affine,
    w: f64,
    h: f64,
) -> Result<Context, Refusal> {
    let mut inner = context.clone();
    inner.transform *= place;
    inner.view = [w, h];
    if let Some(v) = view_box(element)? {
        if !(w > 0.0 && h > 0.0) {
            return Err(element.refuse("width", "leaves no room for the viewBox"));
        }
        inner.transform *= fit(element, v, w, h)?;
        inner.view = [v.w, v.h];
    }
    Ok(inner)
}

/// A page length in pixels; a percentage or "auto" is as good as none.
fn page_length(root: &Element, name: &str) -> Result<Option<f64>, Refusal> {
    if root.attribute(name).is_some_and(|text| text.trim_end().ends_with('%')) {
        return Ok(None);
    }
    match root.length(name, 0.0)? {
        Some(length) if length > 0.0 => Ok(Some(length)),
        Some(_) => Err(root.refuse(name, "must be above zero")),
        None => Ok(None),
    }
}

fn view_box(element: &Element) -> Result<Option<ViewBox>, Refusal> {
    let Some(text) = element.attribute("viewBox") else { return Ok(None) };
    let parsed = ViewBox::from_str(text)
        .map_err(|error| element.refuse("viewBox", format!("is wrong: {error}")))?;
    let finite = [parsed.x, parsed.y, parsed.w, parsed.h].iter().all(|number| number.is_finite());
    if finite && parsed.w > 0.0 && parsed.h > 0.0 {
        Ok(Some(parsed))
    } else {
        Err(element.refuse("viewBox", "has no size"))
    }
}

/// The map from a view box into a w by h rectangle: SVG 2, section 8.2.
fn fit(element: &Element, v: ViewBox, w: f64, h: f64) -> Result<Affine, Refusal> {
    let text = element.attribute("preserveAspectRatio").unwrap_or("xMidYMid");
    let aspect = AspectRatio::from_str(text)
        .map_err(|_| element.refuse("preserveAspectRatio", "is not understood"))?;
    let (sx, sy) = (w / v.w, h / v.h);
    if aspect.align == Align::None {
        return Ok(Affine::scale_non_uniform(sx, sy) * Affine::translate((-v.x, -v.y)));
    }
    let scale = if aspect.slice { max(sx, sy) } else { min(sx, sy) };
    let (room_x, room_y) = (w - scale * v.w, h - scale * v.h);
    let (share_x, share_y) = match aspect.align {
        Align::None | Align::XMinYMin => (0.0, 0.0),
        Align::XMidYMin => (0.5, 0.0),
        Align::XMaxYMin => (1.0, 0.0),
        Align::XMinYMid => (0.0, 0.5),
        Align::XMidYMid => (0.5, 0.5),
        Align::XMaxYMid => (1.0, 0.5),
        Align::XMinYMax => (0.0, 1.0),
        Align::XMidYMax => (0.5, 1.0),
        Align::XMaxYMax => (1.0, 1.0),
    };
    let place = Affine::translate((share_x * room_x, share_y * room_y));
    Ok(place * Affine::scale(scale) * Affine::translate((-v.x, -v.y)))
}
