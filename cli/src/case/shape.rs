//! Shapes by numbers: from their tables to the part that a maker makes of them.
//!
//! What a table leaves out is chosen from what it gives, in proportions that print and work well: common
//! practice, no source.

use super::CaseCause;
use super::placed::Placed;
use super::printer::Printer;
use super::written::PartFile;
use super::written_shapes::{ClipTable, LeafTable, SideWord, SpringTable, TaperWord};
use crate::error::{Refusal, Source};
use crate::maker::rib_axis::Taper;
use crate::maker::rib_spring::{Carriage, Clamp, Frame, Head, Latch, LatchSide, Pull, RibSpring};
use crate::maker::{self, CClip, Leaf, Limits, Made, Unmakeable};
use crate::quantity::{Dimension, Quantity};
use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;
use std::ops::Range;
use withy_mesh::number::max;

/// A part by numbers and the table that made it.
#[derive(Debug)]
pub(super) struct Shaped {
    pub(super) made: Made,
    pub(super) span: Range<usize>,
    /// The numbers of a rib spring.
    pub(super) spring: Option<RibSpring>,
}

/// Makes the shape of the part file, if there is one.
///
/// # Errors
/// Two outlines, or numbers that make no part: at the number to change.
pub(super) fn read(
    file: &PartFile,
    source: &Source,
    printer: Option<&Printer>,
) -> Result<Option<Shaped>, Refusal> {
    let limits = printer.map_or_else(Limits::default, Printer::limits);
    let mut shapes = Vec::new();
    let mut ribs = None;
    if let Some(table) = &file.spring {
        let mut places = Places::default();
        let numbers = spring(table, &mut places);
        let made = maker::rib_spring(&numbers, &limits);
        ribs = Some(numbers);
        shapes.push(("[spring]", "spring", table.span(), places, made));
    }
    if let Some(table) = &file.leaf {
        let mut places = Places::default();
        let made = maker::leaf(&leaf(table, &mut places), &limits);
        shapes.push(("[leaf]", "leaf", table.span(), places, made));
    }
    if let Some(table) = &file.clip {
        let mut places = Places::default();
        let made = maker::c_clip(&clip(table, &mut places), &limits);
        shapes.push(("[clip]", "clip", table.span(), places, made));
    }
    let given = file.outline.drawing.as_ref().map(|_| "a drawing");
    let names: Vec<&'static str> = given.into_iter().chain(shapes.iter().map(|s| s.0)).collect();
    if let [first, second, ..] = names[..] {
        let span = shapes.last().map_or(0..0, |s| s.2.clone());
        return Err(Refusal::at(source, span, CaseCause::OutlineTwice { first, second }));
    }
    let Some((_, shape, span, places, made)) = shapes.pop() else { return Ok(None) };
    match made {
        Ok(made) => Ok(Some(Shaped { made, span, spring: ribs })),
        Err(cause) => {
            let place = places.of(&cause).unwrap_or(span);
            Err(Refusal::at(source, place, CaseCause::BadShape { shape, cause }))
        }
    }
}

/// Where the numbers stand in the part file.
#[derive(Debug, Default)]
struct Places(BTreeMap<&'static str, Range<usize>>);

impl Places {
    /// The place of the number to change, or of the table that lacks it.
    fn of(&self, cause: &Unmakeable) -> Option<Range<usize>> {
        let mut key = cause.key()?;
        loop {
            if let Some(place) = self.0.get(key) {
                return Some(place.clone());
            }
            key = &key[..key.rfind('.')?];
        }
    }

    fn number<D: Dimension>(&mut self, key: &'static str, value: &Placed<Quantity<D>>) -> f64 {
        self.0.insert(key, value.span());
        value.value()
    }

    fn or<D: Dimension>(
        &mut self,
        key: &'static str,
        value: Option<&Placed<Quantity<D>>>,
        usual: f64,
    ) -> f64 {
        value.map_or(usual, |value| self.number(key, value))
    }

    /// A count; what is none becomes 0 and is refused by the maker.
    fn count(&mut self, key: &'static str, value: &Placed<i64>) -> u32 {
        self.0.insert(key, value.span());
        u32::try_from(**value).unwrap_or(0)
    }

    fn table<T>(&mut self, key: &'static str, table: &Placed<T>) {
        self.0.insert(key, table.span());
    }
}

/// The numbers of a rib spring.
fn spring(t: &SpringTable, p: &mut Places) -> RibSpring {
    let width = p.number("width", &t.width);
    let length = p.number("length", &t.length);
    let draw = p.number("draw", &t.draw);
    let fillet = p.or("fillet", t.fillet.as_ref(), width);
    let angle = p.or("angle", t.angle.as_ref(), FRAC_PI_2);
    let middle = p.or("middle", t.middle.as_ref(), width);
    let half_root = 0.5 * width / angle.sin().abs();
    let rail = p.or("frame.rail", t.frame.rail.as_ref(), 3.0 * width);
    let room = half_root + fillet + 0.5 * rail;
    let pull = t.pull.as_ref().map(|pull| {
        p.table("pull", pull);
        Pull {
            width: p.number("pull.width", &pull.width),
            height: p.number("pull.height", &pull.height),
            hole: p.or("pull.hole", pull.hole.as_ref(), 0.0),
            at: pull.at.as_ref().map(|at| p.number("pull.at", at)),
        }
    });
    let latch = t.latch.as_ref().map(|latch| {
        p.table("latch", latch);
        let depth = p.number("latch.depth", &latch.depth);
        Latch {
            side: match latch.side {
                None | Some(SideWord::Both) => LatchSide::Both,
                Some(SideWord::Left) => LatchSide::Left,
                Some(SideWord::Right) => LatchSide::Right,
            },
            depth,
            length: p.or("latch.length", latch.length.as_ref(), depth),
            behind: p.or("latch.behind", latch.behind.as_ref(), depth),
        }
    });
    let banks = t.banks.as_ref().map_or(1, |banks| p.count("banks", banks));
    let pitch = p.or("pitch", t.pitch.as_ref(), 3.75 * width / angle.sin().abs());
    let block = pull.as_ref().map_or(0.0, |pull| pull.height);
    let between = max(4.0 * pitch, block + 2.0 * half_root + 4.0 * fillet + 2.0);
    let notch = latch.as_ref().map_or(0.0, |latch| latch.length + latch.behind + fillet);
    // Without a pull the end of the tail is gripped.
    let at_end = match &pull {
        None => 2.0 * width,
        Some(_) if banks == 1 => block,
        Some(_) => 0.0,
    };
    let tail = half_root + 2.0 * fillet + 1.0 + notch + at_end;
    let tail = p.or("carriage.tail", t.carriage.tail.as_ref(), tail);
    let rise = -length * angle.cos();
    // The tail stays 1 mm before the cross rail at full draw.
    let back = max(room, tail - rise + draw + 1.0);
    let cross = p.or("frame.cross", t.frame.cross.as_ref(), rail);
    let back = if cross > 0.0 { back } else { room };
    RibSpring {
        ribs: p.count("ribs", &t.ribs),
        banks,
        pitch,
        bank_spacing: p.or("bank_spacing", t.bank_spacing.as_ref(), between),
        length,
        angle,
        width,
        middle,
        taper: match t.taper {
            None | Some(TaperWord::Curved) => Taper::Curved,
            Some(TaperWord::Straight) => Taper::Straight,
        },
        bow: p.or("bow", t.bow.as_ref(), 0.0),
        fillet,
        frame: Frame {
            rail,
            front: p.or("frame.front", t.frame.front.as_ref(), room),
            back: p.or("frame.back", t.frame.back.as_ref(), back),
            cross,
            corner: p.or("frame.corner", t.frame.corner.as_ref(), 0.6 * rail),
            inner_corner: p.or("frame.inner_corner", t.frame.inner_corner.as_ref(), fillet),
        },
        carriage: carriage(t, p, tail, width, half_root + 2.0 * fillet),
        latch,
        pull,
        clamp: Clamp {
            length: p.or("clamp.length", t.clamp.length.as_ref(), 10.0),
            at: t.clamp.at.as_ref().map(|at| p.number("clamp.at", at)),
        },
        draw,
    }
}

fn carriage(t: &SpringTable, p: &mut Places, tail: f64, rib: f64, root: f64) -> Carriage {
    let width = p.or("carriage.width", t.carriage.width.as_ref(), 5.5 * rib);
    let head = t.carriage.head.as_ref().map(|head| {
        p.table("carriage.head", head);
        let across = p.number("carriage.head.width", &head.width);
        let cup_radius = p.or("carriage.head.cup_radius", head.cup_radius.as_ref(), 0.0);
        let mouth = if cup_radius > 0.0 { across / 1.5 } else { 0.0 };
        Head {
            width: across,
            height: p.number("carriage.head.height", &head.height),
            cup_radius,
            cup_width: p.or("carriage.head.cup_width", head.cup_width.as_ref(), mouth),
        }
    });
    let height = head.as_ref().map_or(0.0, |head| head.height);
    Carriage {
        width,
        nose: p.or("carriage.nose", t.carriage.nose.as_ref(), root + height + 1.0),
        tail,
        corner: p.or("carriage.corner", t.carriage.corner.as_ref(), 0.17 * width),
        head,
    }
}

/// The numbers of a folded leaf.
fn leaf(t: &LeafTable, p: &mut Places) -> Leaf {
    let width = p.number("width", &t.width);
    Leaf {
        legs: p.count("legs", &t.legs),
        length: p.number("length", &t.length),
        width,
        gap: p.number("gap", &t.gap),
        foot: p.or("foot", t.foot.as_ref(), 3.0 * width),
        tab: p.or("tab", t.tab.as_ref(), 3.0 * width),
        corner: p.or("corner", t.corner.as_ref(), 0.5 * width),
        draw: p.number("draw", &t.draw),
    }
}

/// The numbers of a C-clip.
fn clip(t: &ClipTable, p: &mut Places) -> CClip {
    let rail = p.number("rail", &t.rail);
    let width = p.number("width", &t.width);
    let bore = p.or("bore", t.bore.as_ref(), rail);
    let tip = p.or("tip", t.tip.as_ref(), 2.0 / 3.0 * width);
    CClip {
        rail,
        bore,
        mouth: p.number("mouth", &t.mouth),
        width,
        tip,
        lip: p.or("lip", t.lip.as_ref(), 3.0 * tip),
        foot_width: p.or("foot_width", t.foot_width.as_ref(), 0.5 * bore),
        foot_height: p.or("foot_height", t.foot_height.as_ref(), width),
        fillet: p.or("fillet", t.fillet.as_ref(), 0.5 * width),
    }
}
