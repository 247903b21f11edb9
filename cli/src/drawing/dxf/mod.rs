//! DXF: the entities of model space, block references unfolded, layers as names.
//!
//! Group codes after the published DXF reference. Lines, arcs, circles, polylines with bulges,
//! ellipses and splines become exact curves; anything else is named in a remark. Coordinates are taken
//! as they stand, in the unit that `$INSUNITS` states.

mod entities;
mod pairs;
mod spline;
#[cfg(test)]
mod spline_tests;
#[cfg(test)]
mod tests;

use super::error::DrawingCause;
use super::geometry::{is_point, is_within_limits, mapped};
use super::{Drawing, MOST_CURVES, Names, Shape};
use crate::error::{Refusal, Source};
use crate::remark::Remark;
use entities::Outline;
use kurbo::{Affine, Point, Vec2};
use pairs::Record;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use withy_mesh::Curve;

/// Blocks may refer to blocks so deep.
const DEEPEST: usize = 32;
/// Block references may unfold to so many copies.
const MOST_COPIES: usize = 10_000;
/// More entities than this are refused, those of unfolded blocks included.
const MOST_ENTITIES: usize = 4_000_000;

/// A drawing from the text of a DXF file.
pub(super) fn read(source: &Source) -> Result<Drawing, Refusal> {
    let pairs = pairs::pairs(source)?;
    let records = pairs::records(&pairs, source);
    let file = File::new(&records, source)?;
    let mut remarks = Vec::new();
    let scale = unit_mm(file.header, &mut remarks)?;
    let mut walker = Walker {
        file: &file,
        shapes: Vec::new(),
        left_out: BTreeMap::new(),
        blocks: Vec::new(),
        copies: 0,
        entities: 0,
        curves: 0,
    };
    walker.entities(&file.entities, Affine::scale(scale), None)?;
    let left_out = walker
        .left_out
        .iter()
        .map(|(what, count)| Remark::caution("left-out", format!("left out: {what} ({count})")));
    remarks.extend(left_out);
    let shapes = walker.shapes;
    Ok(Drawing {
        source: source.clone(),
        shapes,
        foreign: Vec::new(),
        page: None,
        remarks,
        names: Names::IgnoringCase,
    })
}

struct Block<'a> {
    base: Point,
    entities: Vec<Record<'a>>,
}

/// The sections that matter.
struct File<'a> {
    header: Option<Record<'a>>,
    hidden_layers: BTreeSet<String>,
    blocks: HashMap<String, Block<'a>>,
    entities: Vec<Record<'a>>,
}

impl<'a> File<'a> {
    fn new(records: &[Record<'a>], source: &Source) -> Result<Self, Refusal> {
        let mut file = Self {
            header: None,
            hidden_layers: BTreeSet::new(),
            blocks: HashMap::new(),
            entities: Vec::new(),
        };
        let mut section = "";
        let mut block: Option<(String, Block)> = None;
        let mut any = false;
        for record in records {
            match (section, record.kind) {
                (_, "SECTION") => {
                    any = true;
                    section = record.text(2).unwrap_or_default();
                    if section == "HEADER" {
                        file.header = Some(*record);
                    }
                }
                (_, "ENDSEC") => section = "",
                ("TABLES", "LAYER") => file.layer(record)?,
                ("BLOCKS", "BLOCK") => {
                    let base = Point::new(record.number_or(10, 0.0)?, record.number_or(20, 0.0)?);
                    let name = record.text(2).unwrap_or_default().to_lowercase();
                    block = Some((name, Block { base, entities: Vec::new() }));
                }
                ("BLOCKS", "ENDBLK") => file.blocks.extend(block.take()),
                ("BLOCKS", _) => {
                    if let Some((_, block)) = &mut block {
                        block.entities.push(*record);
                    }
                }
                ("ENTITIES", _) => file.entities.push(*record),
                _ => {}
            }
        }
        if any {
            return Ok(file);
        }
        let cause = DrawingCause::NotDxf { why: "it has no sections".into() };
        Err(Refusal::at(source, source.line_range(1), cause))
    }

    /// Layers that are switched off (negative colour) or frozen (flag 1) are not seen.
    fn layer(&mut self, record: &Record) -> Result<(), Refusal> {
        let (off, frozen) = (record.integer_or(62, 7)? < 0, record.integer_or(70, 0)? & 1 != 0);
        if off || frozen {
            self.hidden_layers.insert(record.text(2).unwrap_or_default().to_lowercase());
        }
        Ok(())
    }
}

/// Millimetres in a unit of the drawing.
fn unit_mm(header: Option<Record>, remarks: &mut Vec<Remark>) -> Result<f64, Refusal> {
    let variable = |record: &Record| {
        let at =
            record.pairs.iter().position(|pair| pair.code == 9 && pair.value == "$INSUNITS")?;
        record.pairs.get(at + 1).map(|pair| pair.value.to_owned())
    };
    let Some((record, unit)) = header.and_then(|record| Some((record, variable(&record)?))) else {
        remarks.push(no_unit());
        return Ok(1.0);
    };
    Ok(match unit.as_str() {
        "0" => {
            remarks.push(no_unit());
            1.0
        }
        "1" => 25.4,
        "2" => 304.8,
        "4" => 1.0,
        "5" => 10.0,
        "6" => 1e3,
        "8" => 25.4e-6,
        "9" => 0.0254,
        "10" => 914.4,
        "12" => 1e-6,
        "13" => 1e-3,
        "14" => 100.0,
        _ => {
            return Err(
                record.refuse(format!("$INSUNITS is {unit}, no unit that a part is drawn in"))
            );
        }
    })
}

fn no_unit() -> Remark {
    Remark::caution("no-unit", "the drawing states no unit ($INSUNITS): millimetres are taken")
}

struct Walker<'a> {
    file: &'a File<'a>,
    shapes: Vec<Shape>,
    /// What was left out and why, with how many.
    left_out: BTreeMap<String, usize>,
    /// Blocks being unfolded.
    blocks: Vec<String>,
    copies: usize,
    entities: usize,
    curves: usize,
}

impl Walker<'_> {
    fn leave_out(&mut self, what: String) {
        *self.left_out.entry(what).or_default() += 1;
    }

    /// All entities of model space or of a block; `layer` is what layer 0 stands for inside a block.
    fn entities(
        &mut self,
        records: &[Record],
        to_mm: Affine,
        layer: Option<&str>,
    ) -> Result<(), Refusal> {
        let mut rest = records;
        while let Some((record, after)) = rest.split_first() {
            // Vertices and attributes follow their entity as records of their own.
            let is_own = |record: &&Record| matches!(record.kind, "VERTEX" | "ATTRIB" | "SEQEND");
            let own = after.iter().take_while(is_own).count();
            let (vertices, next) = after.split_at(own);
            rest = next;
            self.entities += 1;
            if self.entities > MOST_ENTITIES {
                return Err(record.refuse_as(DrawingCause::TooManyCopies { limit: MOST_COPIES }));
            }
            let own_layer = record.text(8).unwrap_or("0");
            let layer = if own_layer == "0" { layer.unwrap_or("0") } else { own_layer };
            if self.is_seen(record, layer)? {
                if record.kind == "INSERT" {
                    self.insert(record, to_mm, layer)?;
                } else {
                    self.entity(record, vertices, to_mm, layer)?;
                }
            }
        }
        Ok(())
    }

    fn is_seen(&mut self, record: &Record, layer: &str) -> Result<bool, Refusal> {
        let why = if record.integer_or(67, 0)? == 1 {
            "in paper space".to_owned()
        } else if record.integer_or(60, 0)? == 1 {
            "invisible".to_owned()
        } else if self.file.hidden_layers.contains(&layer.to_lowercase()) {
            format!("on layer '{layer}', which is off or frozen")
        } else {
            return Ok(true);
        };
        self.leave_out(format!("{} {why}", record.kind));
        Ok(false)
    }

    fn entity(
        &mut self,
        record: &Record,
        vertices: &[Record],
        to_mm: Affine,
        layer: &str,
    ) -> Result<(), Refusal> {
        let Some(outline) = entities::outline(record, vertices)? else {
            self.leave_out(format!("{}, which has no outline that is understood", record.kind));
            return Ok(());
        };
        let in_mm = |curves: Vec<Curve>| -> Vec<Curve> {
            let all = curves.iter().flat_map(|curve| mapped(curve, to_mm));
            all.filter(|curve| !is_point(curve)).collect()
        };
        let (loops, chains) = match outline {
            Outline::Closed(curves) => (vec![in_mm(curves)], vec![]),
            Outline::Open(curves) => (vec![], vec![in_mm(curves)]),
            Outline::Ellipse(unit) => (vec![super::geometry::whole_ellipse(to_mm * unit)], vec![]),
        };
        let all = || loops.iter().chain(&chains).flatten();
        self.curves += all().count();
        if self.curves > MOST_CURVES {
            return Err(record.refuse_as(DrawingCause::TooManyCurves { limit: MOST_CURVES }));
        }
        if !all().all(is_within_limits) {
            return Err(record.refuse_as(DrawingCause::OutOfBounds { what: record.words() }));
        }
        if all().next().is_some() {
            let names = vec![layer.to_owned()];
            self.shapes.push(Shape {
                names,
                loops,
                chains,
                origin: record.words(),
                span: record.span(),
            });
        }
        Ok(())
    }

    /// A block reference, or a grid of them.
    fn insert(&mut self, record: &Record, to_mm: Affine, layer: &str) -> Result<(), Refusal> {
        let name = record.text(2).unwrap_or_default();
        let key = name.to_lowercase();
        let file = self.file;
        let Some(block) = file.blocks.get(&key) else {
            return Err(record.refuse_as(DrawingCause::UnknownReference { name: name.into() }));
        };
        if self.blocks.contains(&key) {
            return Err(record.refuse_as(DrawingCause::ContainsItself { name: name.into() }));
        }
        if self.blocks.len() >= DEEPEST {
            return Err(record.refuse_as(DrawingCause::TooDeep { limit: DEEPEST }));
        }
        let (columns, rows) = (record.integer_or(70, 1)?.max(1), record.integer_or(71, 1)?.max(1));
        let count = usize::try_from(columns.saturating_mul(rows)).unwrap_or(usize::MAX);
        self.copies = self.copies.saturating_add(count);
        if self.copies > MOST_COPIES {
            return Err(record.refuse_as(DrawingCause::TooManyCopies { limit: MOST_COPIES }));
        }
        let at = Vec2::new(record.needed(10)?, record.needed(20)?);
        let (sx, sy) = (record.number_or(41, 1.0)?, record.number_or(42, 1.0)?);
        if sx == 0.0 || sy == 0.0 {
            return Err(record.refuse("its scale is zero"));
        }
        let spacing = (record.number_or(44, 0.0)?, record.number_or(45, 0.0)?);
        let turn = Affine::rotate(record.number_or(50, 0.0)?.to_radians());
        let place = to_mm * entities::plane(record)? * Affine::translate(at) * turn;
        let own = Affine::scale_non_uniform(sx, sy) * Affine::translate(-block.base.to_vec2());
        self.blocks.push(key);
        for row in 0..rows {
            for column in 0..columns {
                let shift = grid_shift(column, row, spacing);
                self.entities(
                    &block.entities,
                    place * Affine::translate(shift) * own,
                    Some(layer),
                )?;
            }
        }
        self.blocks.pop();
        Ok(())
    }
}

#[expect(clippy::cast_precision_loss, reason = "at most 10 000 copies")]
fn grid_shift(column: i64, row: i64, (dx, dy): (f64, f64)) -> Vec2 {
    Vec2::new(column as f64 * dx, row as f64 * dy)
}
