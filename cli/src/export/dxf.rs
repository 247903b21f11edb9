//! DXF of release 12, the one that every program reads: closed polylines, arcs as bulges, in millimetres.
//!
//! Group codes after the published DXF reference. A bulge is the tangent of a quarter of the arc's turn,
//! so that lines and arcs are exact; a cubic becomes lines within the tolerance. The part is on layer
//! `part`, each region on a layer of its name, so that the file can be drawn on and solved again.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use withy_mesh::{Curve, Loop, Outline, Point};

/// Arcs turn by no more than this from corner to corner (rad): bulges of half circles are allowed, but
/// say little about the radius.
const WIDEST_ARC: f64 = 2.0;
/// The part's layer.
const PART: &str = "part";

/// The outline and its regions as the text of a DXF file.
#[must_use]
pub fn dxf(outline: &Outline, tolerance: f64) -> String {
    let mut layers = vec![(PART.to_owned(), outline.loops())];
    let mut taken: BTreeSet<String> = BTreeSet::from([PART.to_owned()]);
    for region in outline.regions() {
        let mut layer = layer(&region.name);
        while !taken.insert(layer.to_lowercase()) {
            layer.push('_');
        }
        layers.push((layer, &region.loops));
    }
    let bounds = outline.bounds();
    let mut text = String::new();
    let pair = |text: &mut String, code: u32, value: &str| {
        let _ = writeln!(text, "{code:>3}\n{value}");
    };
    for (code, value) in [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")] {
        pair(&mut text, code, value);
    }
    for (code, value) in [(9, "$INSUNITS"), (70, "4"), (9, "$EXTMIN")] {
        pair(&mut text, code, value);
    }
    point(&mut text, Point::new(bounds.x0, bounds.y0));
    pair(&mut text, 9, "$EXTMAX");
    point(&mut text, Point::new(bounds.x1, bounds.y1));
    let count = layers.len().to_string();
    for (code, value) in [
        (0, "ENDSEC"),
        (0, "SECTION"),
        (2, "TABLES"),
        (0, "TABLE"),
        (2, "LAYER"),
        (70, count.as_str()),
    ] {
        pair(&mut text, code, value);
    }
    for (n, (layer, _)) in layers.iter().enumerate() {
        // The part in the colour of the background's contrast, regions in others.
        let colour = if n == 0 { 7 } else { 1 + (n - 1) % 6 };
        for (code, value) in [
            (0, "LAYER"),
            (2, layer.as_str()),
            (70, "0"),
            (62, colour.to_string().as_str()),
            (6, "CONTINUOUS"),
        ] {
            pair(&mut text, code, value);
        }
    }
    for (code, value) in [(0, "ENDTAB"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")] {
        pair(&mut text, code, value);
    }
    for (layer, loops) in &layers {
        for one in *loops {
            polyline(&mut text, layer, one, tolerance);
        }
    }
    pair(&mut text, 0, "ENDSEC");
    pair(&mut text, 0, "EOF");
    text
}

fn point(text: &mut String, p: Point) {
    let _ = writeln!(text, " 10\n{}\n 20\n{}", number(p.x), number(p.y));
}

/// A closed polyline.
fn polyline(text: &mut String, layer: &str, one: &Loop, tolerance: f64) {
    let _ =
        writeln!(text, "  0\nPOLYLINE\n  8\n{layer}\n 66\n1\n 70\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0");
    for curve in &one.curves {
        let (pieces, bulge) = match curve {
            Curve::Line(..) => (1, 0.0),
            Curve::Arc(arc) => {
                let pieces = (1..8u32).find(|n| arc.sweep.abs() <= WIDEST_ARC * f64::from(*n));
                let pieces = pieces.unwrap_or(8);
                (pieces, (0.25 * arc.sweep / f64::from(pieces)).tan())
            }
            Curve::Cubic(_) => (curve.chords(tolerance), 0.0),
        };
        for k in 0..pieces {
            let p = curve.at(f64::from(k) / f64::from(pieces));
            let _ = writeln!(text, "  0\nVERTEX\n  8\n{layer}");
            point(text, p);
            text.push_str(" 30\n0.0\n");
            if bulge != 0.0 {
                let _ = writeln!(text, " 42\n{}", number(bulge));
            }
        }
    }
    let _ = writeln!(text, "  0\nSEQEND\n  8\n{layer}");
}

/// A name that a layer of this release may have.
fn layer(name: &str) -> String {
    let allowed = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_' || c == '$';
    name.chars().map(|c| if allowed(c) { c } else { '_' }).collect()
}

fn number(v: f64) -> String {
    format!("{v:.9}")
}
