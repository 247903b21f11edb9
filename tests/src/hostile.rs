//! Any bytes whatever through the readers and the mesher: each function takes an input, and panics if the program
//! would, or if what it made of the input is wrong. The fuzzers of `fuzz/` call them, and the test `corpora` calls
//! them on every input that was once worth keeping.

use kurbo::CubicBez;
use std::path::Path;
use withy::case::{Overrides, read};
use withy::drawing;
use withy::error::Source;
use withy::measured::Readings;
use withy::quantity::{ForceKind, LengthKind};
use withy_mesh::{Curve, Loop, Outline, Point, Sizing, mesh_outline};

/// A mesh of more would only take time.
const MOST_ELEMENTS: usize = 3000;
/// Inputs of more bytes make slow runs, not new paths.
const LARGEST: usize = 20_000;

/// A drawing in SVG.
pub fn svg(bytes: &[u8]) {
    drawn("x.svg", bytes);
}

/// A drawing in DXF.
pub fn dxf(bytes: &[u8]) {
    drawn("x.dxf", bytes);
}

fn drawn(name: &str, bytes: &[u8]) {
    if bytes.len() > LARGEST {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).unwrap();
    let drawing = match drawing::read(&path) {
        Ok(drawing) => drawing,
        Err(refusal) => return explained(&refusal),
    };
    match drawing.loops(|_| true) {
        Ok(loops) => outlined(loops),
        Err(refusal) => explained(&refusal),
    }
}

/// A part file beside a sound drawing.
pub fn part(bytes: &[u8]) {
    if bytes.len() > LARGEST {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let drawing = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 100 50' width='100mm' height='50mm'>\
         <g id='part'><rect x='10' y='20' width='80' height='4'/></g>\
         <rect id='root' x='10' y='20' width='5' height='4'/><rect id='tip' x='85' y='20' width='5' height='4'/></svg>";
    std::fs::write(folder.path().join("blade.svg"), drawing).unwrap();
    let path = folder.path().join("blade.toml");
    std::fs::write(&path, bytes).unwrap();
    match read(&path, &Overrides::default()) {
        Ok(case) => {
            assert!(case.thickness > 0.0 && case.steps > 0, "a case that can be solved");
            let acts = case.holds.len() + case.drives.len() + case.loads.len();
            assert!(acts > 0, "something acts on it");
        }
        Err(refusal) => explained(&refusal),
    }
}

/// A table of readings.
pub fn readings(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes).into_owned();
    match Readings::parse(Source::new(Path::new("pull.csv"), text)) {
        Ok(table) => {
            for column in [table.column::<LengthKind>("draw"), table.column::<ForceKind>("force")] {
                match column {
                    Ok(values) => assert!(
                        values.len() == table.len() && values.iter().all(|v| v.is_finite()),
                        "as many numbers as readings"
                    ),
                    Err(refusal) => explained(&refusal),
                }
            }
        }
        Err(refusal) => explained(&refusal),
    }
}

/// Loops of lines and curves, two bytes a coordinate: a loop begins at each odd first byte.
pub fn outline(bytes: &[u8]) {
    let mut loops: Vec<Vec<Curve>> = Vec::new();
    for piece in bytes.chunks_exact(9).take(60) {
        let at = |k: usize| f64::from(i16::from_le_bytes([piece[k], piece[k + 1]])) / 256.0;
        let end = Point::new(at(1), at(3));
        let control = Point::new(at(5), at(7));
        if loops.is_empty() || piece[0] & 1 == 1 {
            loops.push(vec![Curve::Line(end, control)]);
            continue;
        }
        let Some(current) = loops.last_mut() else { continue };
        let Some(start) = current.last().map(Curve::end) else { continue };
        current.push(match piece[0] & 6 {
            2 => Curve::Cubic(CubicBez::new(start, control, control, end)),
            _ => Curve::Line(start, end),
        });
    }
    for curves in &mut loops {
        if let (Some(first), Some(last)) = (curves.first(), curves.last()) {
            let closing = Curve::Line(last.end(), first.start());
            curves.push(closing);
        }
    }
    outlined(
        loops.into_iter().map(|curves| Loop { curves, origin: "a loop".to_owned() }).collect(),
    );
}

/// An outline is refused in words, or its mesh fills it.
fn outlined(loops: Vec<Loop>) {
    let outline = match Outline::new(loops, Vec::new()) {
        Ok(outline) => outline,
        Err(error) => return assert!(!error.to_string().is_empty(), "words"),
    };
    let sizing = Sizing { most_elements: MOST_ELEMENTS, ..Sizing::default() };
    match mesh_outline(&outline, &sizing) {
        Ok(mesh) => {
            let found = withy_mesh::quality(&mesh);
            assert!(found.min_angle_deg > 0.0, "no element is flat: {found:?}");
            // Sides of curves are parabolas.
            let off = (found.area_mm2 - outline.area()).abs();
            assert!(off <= 1e-2 * outline.area(), "{} mm2 of {}", found.area_mm2, outline.area());
        }
        Err(error) => assert!(!error.to_string().is_empty(), "words"),
    }
}

/// A refusal has words, and its place lies in its file.
fn explained(refusal: &withy::error::Refusal) {
    assert!(!refusal.to_string().is_empty(), "words");
    let mut shown = String::new();
    let handler =
        miette::GraphicalReportHandler::new_themed(miette::GraphicalTheme::unicode_nocolor());
    handler.render_report(&mut shown, refusal).unwrap();
    assert!(!shown.is_empty(), "and a picture of the place");
    if let Some((line, column)) = refusal.line_column() {
        assert!(line > 0 && column > 0, "counted from 1");
    }
}
