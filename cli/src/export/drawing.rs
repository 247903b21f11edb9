//! The outline and its regions as a drawing (SVG) that Withy reads back to the same curves.
//!
//! One user unit is one millimetre; the page's y points down. Arcs stay arcs.

use crate::report::escape;
use std::fmt::Write as _;
use withy_mesh::{Curve, Loop, Outline, Point};

/// Where the part has no page of its own, white space around it (mm).
const MARGIN_MM: f64 = 5.0;
/// An arc of more than this is written as two (rad): the ends of a half circle say little about its
/// centre.
const WIDEST_ARC: f64 = 2.0;
/// Colours of held and driven places, and of others.
const COLOURS: [&str; 4] = ["#5c7f67", "#b5651d", "#3b6a8f", "#7a5c8f"];

/// A page: where its lower left corner is in the part's coordinates, and its size (mm).
#[derive(Clone, Copy, Debug, PartialEq)]
struct Page {
    x0: f64,
    y1: f64,
    size: [f64; 2],
}

/// The drawing's text; on a page of this size with its origin at (0, 0) if there is one that holds the
/// part (mm).
#[must_use]
pub fn drawing(title: &str, outline: &Outline, page: Option<[f64; 2]>) -> String {
    let page = page_of(outline, page);
    let [w, h] = page.size.map(number);
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- One user unit is one millimetre; y points down here. -->\n\
         <svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n\
         \u{20} <title>{}</title>\n\
         \u{20} <g id=\"part\" fill=\"#d9e2e4\" stroke=\"#37474f\" stroke-width=\"0.25\" fill-rule=\"evenodd\">\n\
         \u{20}   <path d=\"",
        escape(title)
    );
    text += &path(outline.loops(), &page);
    text += "\"/>\n  </g>\n";
    if !outline.regions().is_empty() {
        text += "  <g id=\"regions\" stroke-width=\"0.25\" stroke-dasharray=\"1 0.6\" fill-rule=\"evenodd\">\n";
        for (n, region) in outline.regions().iter().enumerate() {
            let colour = COLOURS[n % COLOURS.len()];
            let _ = writeln!(
                text,
                "    <path id=\"{}\" fill=\"{colour}\" fill-opacity=\"0.25\" stroke=\"{colour}\" d=\"{}\"/>",
                escape(&region.name),
                path(&region.loops, &page)
            );
        }
        text += "  </g>\n";
    }
    text += "</svg>\n";
    text
}

fn page_of(outline: &Outline, page: Option<[f64; 2]>) -> Page {
    let b = outline.bounds();
    match page {
        Some(size) if b.x0 >= 0.0 && b.y0 >= 0.0 && b.x1 <= size[0] && b.y1 <= size[1] => {
            Page { x0: 0.0, y1: size[1], size }
        }
        _ => Page {
            x0: b.x0 - MARGIN_MM,
            y1: b.y1 + MARGIN_MM,
            size: [b.width() + 2.0 * MARGIN_MM, b.height() + 2.0 * MARGIN_MM],
        },
    }
}

fn path(loops: &[Loop], page: &Page) -> String {
    let place = |p: Point| format!("{} {}", number(p.x - page.x0), number(page.y1 - p.y));
    let mut words = Vec::new();
    for one in loops {
        let Some(first) = one.curves.first() else { continue };
        words.push(format!("M {}", place(first.start())));
        for curve in &one.curves {
            match curve {
                Curve::Line(_, b) => words.push(format!("L {}", place(*b))),
                Curve::Cubic(c) => {
                    words.push(format!("C {} {} {}", place(c.p1), place(c.p2), place(c.p3)));
                }
                Curve::Arc(arc) => {
                    let pieces = if arc.sweep.abs() > WIDEST_ARC { 2u32 } else { 1 };
                    let r = number(arc.radius);
                    // Counter-clockwise with y up is against the page's positive angle.
                    let sweep = u8::from(arc.sweep < 0.0);
                    words.extend((1..=pieces).map(|k| {
                        let end = curve.at(f64::from(k) / f64::from(pieces));
                        format!("A {r} {r} 0 0 {sweep} {}", place(end))
                    }));
                }
            }
        }
        words.push("Z".to_owned());
    }
    words.join(" ")
}

/// Nine decimals, without the zeros at their end.
fn number(v: f64) -> String {
    let text = format!("{v:.9}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
