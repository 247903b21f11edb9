//! The outline and the region borders, cut where they meet into strands between shared vertices.
//!
//! A strand is what the mesh follows: a piece of one curve without branches inside. Outline
//! strands bound the material; region strands run through it. A region's border that stays within
//! [`NEAR_MM`] of the outline is no strand: a thin box drawn around an edge only selects it, and
//! must not force elements of its own width. For the same reason no region makes a vertex closer
//! than that to another one.

use crate::border::Border;
use crate::curve::Curve;
use crate::intersect::meetings;
use crate::number::min;
use crate::outline::Outline;
use crate::tree::BoxTree;
use kurbo::{Point, Rect};

/// Region borders and vertices closer than this to the outline are moved onto it (mm).
const NEAR_MM: f64 = 0.01;
/// On very small parts: the same as a fraction of the part's size.
const NEAR_FRACTION: f64 = 1e-3;
/// Curves this close meet (mm).
const MEET_MM: f64 = 1e-6;

/// A piece of a curve between two vertices.
#[derive(Clone, Debug)]
pub(crate) struct Strand {
    pub(crate) curve: Curve,
    /// Parameters of its two ends on the curve, ascending.
    pub(crate) range: [f64; 2],
    /// Vertices at its two ends.
    pub(crate) ends: [usize; 2],
    /// Loop and curve of the outline; none for a region border.
    pub(crate) outline: Option<[usize; 2]>,
}

impl Strand {
    /// The piece as a curve of its own.
    pub(crate) fn part(&self) -> Curve {
        self.curve.part(self.range[0], self.range[1])
    }

    /// Arc length (mm).
    pub(crate) fn length(&self) -> f64 {
        self.part().length()
    }
}

/// Vertices and the strands between them.
#[derive(Clone, Debug)]
pub(crate) struct Arrangement {
    pub(crate) vertices: Vec<Point>,
    pub(crate) strands: Vec<Strand>,
}

/// What counts as the same place for a region's border, on a part of this size (mm).
pub(crate) fn near_distance(size: f64) -> f64 {
    min(NEAR_MM, NEAR_FRACTION * size)
}

/// A cut of an outline curve: parameter and vertex.
type Cut = (f64, usize);

struct Builder<'a> {
    border: &'a Border,
    near: f64,
    vertices: Vec<Point>,
    joints: BoxTree,
    joint_count: usize,
    /// Per loop and curve.
    cuts: Vec<Vec<Vec<Cut>>>,
}

/// Cuts the outline and its regions' borders at each other.
pub(crate) fn arrange(outline: &Outline) -> Arrangement {
    let mut vertices = Vec::new();
    let mut cuts = Vec::new();
    for one in outline.loops() {
        let first = vertices.len();
        let n = one.curves.len();
        vertices.extend(one.curves.iter().map(Curve::start));
        cuts.push((0..n).map(|i| vec![(0.0, first + i), (1.0, first + (i + 1) % n)]).collect());
    }
    let boxes: Vec<Rect> = vertices.iter().map(|p| Rect::from_points(*p, *p)).collect();
    let mut builder = Builder {
        border: outline.border(),
        near: near_distance(outline.size()),
        joints: BoxTree::new(&boxes),
        joint_count: vertices.len(),
        vertices,
        cuts,
    };
    let region_strands = builder.region_strands(outline);
    let mut strands = Vec::new();
    for (loop_index, one) in outline.loops().iter().enumerate() {
        for (curve_index, curve) in one.curves.iter().enumerate() {
            let cuts = &mut builder.cuts[loop_index][curve_index];
            cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
            strands.extend(cuts.windows(2).map(|pair| Strand {
                curve: *curve,
                range: [pair[0].0, pair[1].0],
                ends: [pair[0].1, pair[1].1],
                outline: Some([loop_index, curve_index]),
            }));
        }
    }
    strands.extend(region_strands);
    Arrangement { vertices: builder.vertices, strands }
}

impl Builder<'_> {
    fn region_strands(&mut self, outline: &Outline) -> Vec<Strand> {
        let reach = outline.bounds().inflate(self.near, self.near);
        let curves: Vec<Curve> = outline
            .regions()
            .iter()
            .flat_map(|r| &r.loops)
            .flat_map(|l| &l.curves)
            .filter(|c| touches(&c.bounds(), &reach))
            .copied()
            .collect();
        let cuts = self.cut_regions(outline, &curves);
        let mut strands: Vec<Strand> = Vec::new();
        for (curve, cuts) in curves.iter().zip(&cuts) {
            for pair in cuts.windows(2) {
                if let Some(strand) = self.strand(curve, [pair[0], pair[1]]) {
                    strands.push(strand);
                }
            }
        }
        self.without_twins(strands)
    }

    /// Parameters where each region curve begins, ends, or meets the outline or another region.
    fn cut_regions(&self, outline: &Outline, curves: &[Curve]) -> Vec<Vec<f64>> {
        let mut cuts: Vec<Vec<f64>> = vec![vec![0.0, 1.0]; curves.len()];
        let boxes: Vec<Rect> =
            curves.iter().map(|c| c.bounds().inflate(MEET_MM, MEET_MM)).collect();
        let tree = BoxTree::new(&boxes);
        for (k, curve) in curves.iter().enumerate() {
            let mut partners = Vec::new();
            self.border.for_each_curve_in(&boxes[k], |l, c| partners.push((l, c)));
            partners.sort_unstable();
            partners.dedup();
            for (l, c) in partners {
                let with = &outline.loops()[l].curves[c];
                cuts[k].extend(meetings(curve, with, MEET_MM).iter().map(|t| t[0]));
            }
            let mut others = Vec::new();
            tree.for_each_in(&boxes[k], |m| others.push(m));
            others.sort_unstable();
            for m in others.into_iter().filter(|&m| m > k) {
                for [t, u] in meetings(curve, &curves[m], MEET_MM) {
                    cuts[k].push(t);
                    cuts[m].push(u);
                }
            }
        }
        for (cuts, curve) in cuts.iter_mut().zip(curves) {
            cuts.sort_by(f64::total_cmp);
            // The same place found twice differs by rounding, or by the tolerance of meeting.
            let same = 4.0 * MEET_MM / curve.length();
            cuts.dedup_by(|b, a| *b - *a <= same);
            if let Some(last) = cuts.last_mut() {
                *last = 1.0;
            }
        }
        cuts
    }

    /// The strand of a piece of region border, if it runs through the material.
    fn strand(&mut self, curve: &Curve, range: [f64; 2]) -> Option<Strand> {
        let at = |k: u32| curve.at(range[0] + (range[1] - range[0]) * f64::from(k) / 8.0);
        let near = |p: Point| self.border.nearest(p, self.near * (1.0 + 1e-9)).is_some();
        let hugs = (0..=8).all(|k| near(at(k)));
        if !hugs && !self.border.contains(at(4)) {
            return None;
        }
        // The ends of a stretch along the outline are vertices even where it is no strand.
        let ends = [self.vertex(at(0)), self.vertex(at(8))];
        let collapsed =
            ends[0] == ends[1] && curve.part(range[0], range[1]).length() <= 8.0 * self.near;
        (!hugs && !collapsed).then_some(Strand { curve: *curve, range, ends, outline: None })
    }

    /// The vertex at a place: an existing one nearby, else one on the outline nearby, else new.
    fn vertex(&mut self, p: Point) -> usize {
        if let Some(known) = self.known_vertex(p) {
            return known;
        }
        if let Some(on) = self.border.nearest(p, self.near) {
            if let Some(known) = self.known_vertex(on.at) {
                return known;
            }
            self.vertices.push(on.at);
            self.cuts[on.loop_index][on.curve_index].push((on.t, self.vertices.len() - 1));
        } else {
            self.vertices.push(p);
        }
        self.vertices.len() - 1
    }

    fn known_vertex(&self, p: Point) -> Option<usize> {
        let (mut least, mut found) =
            self.joints.least(p, 1.0, self.near, |i| self.vertices[i].distance(p));
        for i in self.joint_count..self.vertices.len() {
            let distance = self.vertices[i].distance(p);
            if distance < least {
                (least, found) = (distance, Some(i));
            }
        }
        found
    }

    /// Strands without those that run along an earlier one: regions that share a border.
    fn without_twins(&self, strands: Vec<Strand>) -> Vec<Strand> {
        let mut kept: Vec<Strand> = Vec::new();
        let mut by_ends: std::collections::BTreeMap<[usize; 2], Vec<usize>> =
            std::collections::BTreeMap::new();
        for strand in strands {
            let mut ends = strand.ends;
            ends.sort_unstable();
            let rivals = by_ends.entry(ends).or_default();
            let middle = strand.curve.at(0.5 * (strand.range[0] + strand.range[1]));
            let along = |&k: &usize| {
                let other: &Strand = &kept[k];
                let part = other.curve.part(other.range[0], other.range[1]);
                part.nearest(middle).1 <= self.near
            };
            if !rivals.iter().any(along) {
                rivals.push(kept.len());
                kept.push(strand);
            }
        }
        kept
    }
}

fn touches(a: &Rect, b: &Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}
