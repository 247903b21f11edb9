//! How large elements may be at every place of the part.
//!
//! Sources of size sit at points `x_i`: the curvature of the outline, the local thickness, lengths
//! that the drawing dictates, and the caller's wishes. The size field is their graded minimum,
//! `h(x) = min_i h_i + g |x - x_i|`, evaluated exactly through a search tree: neighbouring
//! elements differ by the gradation g, and no source can make another one coarser.

use crate::arrangement::{Arrangement, Strand};
use crate::curve::Curve;
use crate::error::MeshError;
use crate::number::{max, min};
use crate::outline::{Outline, THIN_FRACTION};
use crate::thickness::{Gauge, Side};
use crate::tip::Tips;
use crate::tree::BoxTree;
use kurbo::{Point, Rect};
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Growth of the element size per unit of distance: each row is some three tenths larger. Elements are small where stress
/// gathers, and need not be far around: on the demo's parts energies are within 0.02 % of those at 0.25. Angles stay
/// above 30 degrees, which at 0.35 they do not.
const GRADATION: f64 = 0.3;
/// Edge length of the triangles in a row of unit height: 1.155 if they were equilateral, a little
/// less so that no row is lost where they are not.
const ROW: f64 = 1.1;
/// Turn of an arc within one element (rad): 30 degrees, which a quadratic edge follows to 0.01 % of the radius. Rounded
/// outward corners carry next to nothing; walls that are bent ask for their layers.
const TURN_PER_ELEMENT: f64 = std::f64::consts::FRAC_PI_6;
/// Turn of a fillet within one element (rad): 20 degrees. Stress gathers there, and a finer start saves a mesh
/// (measured on ribs with fillets of their own width: 22.5 degrees miss the peak by 10 %, 20 degrees by 6 %).
const FILLET_TURN_PER_ELEMENT: f64 = std::f64::consts::PI / 9.0;
/// Without a wish of the caller, no element is larger than this fraction of the part.
const COARSEST_FRACTION: f64 = 1.0 / 16.0;
/// First samples of a strand: the part's size holds this many.
const SAMPLES_ACROSS_PART: f64 = 100.0;
/// Fewer places than this are looked up by one thread.
const PLACES_AT_ONCE: usize = 1024;
/// Samples stand closer than this part of the thickness: between them the gradation adds up to a fifteenth of the
/// size that three layers ask for.
const SPACING_PER_THICKNESS: f64 = 0.15;
/// The caller is asked whether to stop once in so many strands.
const STRANDS_AT_ONCE: usize = 1024;
/// A piece with one sample is cut into this many at once at most, where the part is thinner than they are long.
const MOST_PIECES: f64 = 32.0;
/// No more pieces than this come of one.
const MOST_SHARES: f64 = 1024.0;

/// A place where elements may not be larger than a size, and grow from there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizeWish {
    /// The place (mm).
    pub at: Point,
    /// Largest edge length of an element there (mm).
    pub size: f64,
}

/// How fine a mesh is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Sizing {
    /// No element edge longer than this (mm); by default a sixteenth of the part.
    pub coarsest: Option<f64>,
    /// No wish, thickness or curvature asks for less than this (mm). The drawing's own short
    /// pieces still do: a node sits at the end of every piece.
    pub finest: Option<f64>,
    /// Layers of elements across every rib and wall.
    pub across: f64,
    /// Places to be meshed finer than the outline asks for.
    pub wishes: Vec<SizeWish>,
    /// More elements than this are refused.
    pub most_elements: usize,
}

impl Default for Sizing {
    fn default() -> Self {
        Self {
            coarsest: None,
            finest: None,
            across: 3.0,
            wishes: Vec::new(),
            most_elements: 400_000,
        }
    }
}

/// The graded size field.
#[derive(Debug)]
pub(crate) struct SizeField {
    sources: Vec<(Point, f64)>,
    tree: BoxTree,
    coarsest: f64,
    /// The source that decided at the last place asked for, only ever a guess.
    last: AtomicUsize,
}

impl SizeField {
    /// The field of an outline, and its sharp tips.
    pub(crate) fn new(
        outline: &Outline,
        arrangement: &Arrangement,
        sizing: &Sizing,
        stop: &dyn Fn() -> bool,
    ) -> Result<(Self, Tips), MeshError> {
        let positive = |what, value: f64| {
            if value > 0.0 && value.is_finite() {
                Ok(value)
            } else {
                Err(MeshError::BadSize { what, value })
            }
        };
        let size = outline.size();
        let coarsest = sizing
            .coarsest
            .map_or(Ok(COARSEST_FRACTION * size), |h| positive("the coarsest element size", h))?;
        let finest = sizing.finest.map_or(Ok(0.0), |h| positive("the finest element size", h))?;
        let across = positive("the number of layers across", sizing.across)?;
        let gauge = Gauge::new(outline, arrangement);
        let (mut sources, mut wedges) = (Vec::new(), Vec::new());
        for (index, strands) in arrangement.strands.chunks(STRANDS_AT_ONCE).enumerate() {
            if stop() {
                return Err(MeshError::Interrupted);
            }
            let sampled = strands.par_iter().enumerate().map(|(k, strand)| {
                let mut sampler = Sampler::new(&gauge, size, across);
                sampler.strand(index * STRANDS_AT_ONCE + k, strand);
                (sampler.sources, sampler.wedges)
            });
            for (some_sources, some_wedges) in sampled.collect::<Vec<_>>() {
                sources.extend(some_sources);
                wedges.extend(some_wedges);
            }
        }
        for wish in &sizing.wishes {
            positive("a wished element size", wish.size)?;
            if !wish.at.is_finite() {
                return Err(MeshError::BadSize { what: "the place of a wish", value: f64::NAN });
            }
            sources.push((wish.at, wish.size));
        }
        for source in sources.iter_mut().chain(wedges.iter_mut().map(|w| &mut w.1)) {
            source.1 = max(source.1, finest);
        }
        sources.extend(dictated(arrangement));
        let without_wedges = Self::of_sources(sources, coarsest);
        let tips = Tips::new(arrangement, &without_wedges);
        let beyond = |&(tip, source): &(usize, (Point, f64))| {
            let distance = source.0.distance(arrangement.vertices[tip]);
            (distance >= tips.quiet(tip)).then_some(source)
        };
        let more: Vec<(Point, f64)> = wedges.iter().filter_map(beyond).collect();
        if more.is_empty() {
            return Ok((without_wedges, tips));
        }
        let mut sources = without_wedges.sources;
        sources.extend(more);
        Ok((Self::of_sources(sources, coarsest), tips))
    }

    fn of_sources(mut sources: Vec<(Point, f64)>, coarsest: f64) -> Self {
        sources.retain(|s| s.1 < coarsest);
        let boxes: Vec<Rect> = sources.iter().map(|s| Rect::from_points(s.0, s.0)).collect();
        let mut tree = BoxTree::with_costs(&boxes, |i| sources[i].1);
        let sources = tree.renumber().into_iter().map(|i| sources[i]).collect();
        Self { sources, tree, coarsest, last: AtomicUsize::new(0) }
    }

    /// A bound of the size at most so far from a place where it is known (mm).
    pub(crate) fn most_within(size: f64, distance: f64) -> f64 {
        size + GRADATION * distance
    }

    /// A bound of the size at least so far from a place where it is known (mm).
    pub(crate) fn least_within(size: f64, distance: f64) -> f64 {
        size - GRADATION * distance
    }

    /// Element size at a place (mm).
    pub(crate) fn at(&self, p: Point) -> f64 {
        let (size, source) = self.at_from(p, self.last.load(Ordering::Relaxed));
        self.last.store(source, Ordering::Relaxed);
        size
    }

    /// Element sizes at many places (mm), neighbours in number mostly neighbours in place, and their sources.
    pub(crate) fn at_all(&self, places: &[Point]) -> Vec<(f64, usize)> {
        let near = |guess: &mut usize, p: &Point| {
            let found = self.at_from(*p, *guess);
            *guess = found.1;
            found
        };
        places.par_iter().with_min_len(PLACES_AT_ONCE).map_init(|| 0, near).collect()
    }

    /// Element size at a place (mm), and the source that decides about it.
    ///
    /// The source that decides nearby gives a close bound, which cuts the search short; the size does not
    /// depend on it.
    pub(crate) fn at_from(&self, p: Point, guess: usize) -> (f64, usize) {
        let graded = |i: usize| {
            let (at, h) = self.sources[i];
            h + GRADATION * (at - p).hypot2().sqrt()
        };
        let known = guess < self.sources.len();
        let bound = if known { min(graded(guess), self.coarsest) } else { self.coarsest };
        let (size, source) = self.tree.least(p, GRADATION, bound, graded);
        (size, source.unwrap_or(guess))
    }
}

/// Strands shorter than the elements around them: their length is an element's edge in any case.
fn dictated(arrangement: &Arrangement) -> impl Iterator<Item = (Point, f64)> {
    arrangement.strands.iter().map(|s| {
        let part = s.part();
        (part.at(0.5), part.length())
    })
}

struct Sampler<'g> {
    gauge: &'g Gauge,
    sources: Vec<(Point, f64)>,
    /// Sources between strands that share a vertex, with that vertex.
    wedges: Vec<(usize, (Point, f64))>,
    size: f64,
    across: f64,
    /// A guess of the next ball's radius on the left and on the right (mm).
    radius: [f64; 2],
}

impl<'g> Sampler<'g> {
    fn new(gauge: &'g Gauge, size: f64, across: f64) -> Self {
        let (sources, wedges) = (Vec::new(), Vec::new());
        Self { gauge, sources, wedges, size, across, radius: [f64::INFINITY; 2] }
    }

    /// Samples curvature and thickness along a strand, denser where the part is thin.
    fn strand(&mut self, index: usize, strand: &Strand) {
        let [from, to] = strand.range;
        let length = strand.length();
        let least = match strand.curve {
            Curve::Line(..) => 1,
            Curve::Arc(_) => 8,
            Curve::Cubic(_) => 8,
        };
        let wanted = length * SAMPLES_ACROSS_PART / self.size;
        let n = (least..1000u32).find(|&n| f64::from(n) >= wanted).unwrap_or(1000);
        let t = |k: u32| from + (to - from) * f64::from(k) / f64::from(n);
        let mut stack: Vec<([f64; 2], f64)> = (0..n).map(|k| ([t(k), t(k + 1)], 1.0)).collect();
        while let Some(([t0, t1], share)) = stack.pop() {
            let middle = 0.5 * (t0 + t1);
            let before = (self.sources.len(), self.wedges.len());
            let thickness = self.sample(index, strand, middle);
            let spacing = strand.curve.derivative(middle).hypot() * (t1 - t0);
            let wanted = spacing / (SPACING_PER_THICKNESS * thickness);
            let most = min(MOST_PIECES, MOST_SHARES / share);
            let pieces = min(wanted, most).ceil();
            if !(pieces >= 2.0) {
                continue;
            }
            if wanted <= most {
                // The pieces stand close enough; this place adds nothing to them.
                self.sources.truncate(before.0);
                self.wedges.truncate(before.1);
            }
            let at = |k: f64| t0 + (t1 - t0) * k / pieces;
            let mut k = 0.0;
            while k < pieces {
                stack.push(([at(k), at(k + 1.0)], share * pieces));
                k += 1.0;
            }
        }
    }

    /// Adds the sources of one place; returns the thickness there (infinite if there is none).
    fn sample(&mut self, index: usize, strand: &Strand, t: f64) -> f64 {
        let p = strand.curve.at(t);
        let curvature = strand.curve.curvature(t);
        let radius = 1.0 / curvature.abs();
        if radius.is_finite() {
            // The part lies to the left of its outline: what turns right is hollow.
            let is_fillet = strand.outline.is_some() && curvature < 0.0;
            let turn = if is_fillet { FILLET_TURN_PER_ELEMENT } else { TURN_PER_ELEMENT };
            // A cusp has no radius at all: nothing finer than what is refused as too thin.
            self.sources.push((p, max(turn * radius, THIN_FRACTION * self.size)));
        }
        // Between region borders no layers are needed, only elements as small as the gap.
        let (sides, layers): (&[Side], f64) = match strand.outline {
            Some(_) => (&[Side::Left], self.across),
            None => (&[Side::Left, Side::Right], 1.0),
        };
        let mut thinnest = f64::INFINITY;
        for (k, &side) in sides.iter().enumerate() {
            if let Some(ball) = self.gauge.ball(index, strand, t, side, self.radius[k]) {
                // Twice the radius: too large a guess costs a step less than too small a one.
                self.radius[k] = ball.thickness;
                let h = ROW * ball.thickness / layers;
                // The way to the centre too: else the gradation leaves fewer layers in mid-rib.
                for source in [(p, h), (p.midpoint(ball.center), h), (ball.center, h)] {
                    match ball.tip {
                        Some(tip) => self.wedges.push((tip, source)),
                        None => self.sources.push(source),
                    }
                }
                thinnest = min(thinnest, ball.thickness);
            }
        }
        thinnest
    }
}
