//! The outline of a part: closed loops of curves and the named areas laid over them.
//!
//! Loops are stored with the material on their left: the outer loop counter-clockwise and first,
//! openings clockwise. A region is an area (one or more loops, even-odd) that the mesh must follow.

use crate::border::Border;
use crate::check;
use crate::curve::Curve;
use crate::error::OutlineError;
use kurbo::{Point, Rect};

/// Two edges of the outline closer than this fraction of the part's size are refused: between
/// them, coordinates of double precision still carry ten digits, but no printer resolves them.
pub const THIN_FRACTION: f64 = 1e-5;

/// A closed chain of curves: each ends where the next begins, the last where the first begins.
#[derive(Clone, Debug, PartialEq)]
pub struct Loop {
    /// The pieces in order.
    pub curves: Vec<Curve>,
    /// Where the loop comes from, in words for a complaint: `"path 'rib' (line 12)"`.
    pub origin: String,
}

impl Loop {
    /// Signed area, positive counter-clockwise (mm2).
    #[must_use]
    pub fn area(&self) -> f64 {
        // Summed around a point of the loop, so that parts far from the origin keep their digits.
        let Some(first) = self.curves.first() else { return 0.0 };
        let shift = first.start().to_vec2();
        let moved = |c: &Curve| c.doubled_area() - shift.cross(c.end() - c.start());
        0.5 * self.curves.iter().map(moved).sum::<f64>()
    }

    /// The same loop traversed the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self {
            curves: self.curves.iter().rev().map(Curve::reversed).collect(),
            origin: self.origin.clone(),
        }
    }
}

/// A named area laid over the part; what it covers is held, driven or loaded as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    /// The name that the part file uses.
    pub name: String,
    /// Its border, even-odd; loops need no orientation.
    pub loops: Vec<Loop>,
}

/// A checked outline: the only way to a mesh.
#[derive(Clone, Debug)]
pub struct Outline {
    loops: Vec<Loop>,
    regions: Vec<Region>,
    border: Border,
}

impl Outline {
    /// Checks closed loops, in any order and orientation (even-odd), and the regions over them.
    ///
    /// Gaps up to 1e-6 mm are shut, pieces up to that length are dropped, arcs of more than a half
    /// circle are cut into equal pieces. A region loop may cross itself, the outline and others.
    ///
    /// # Errors
    ///
    /// What the loops bound is not one piece of material that can be computed; the error names the
    /// place and the mend.
    pub fn new(loops: Vec<Loop>, regions: Vec<Region>) -> Result<Self, OutlineError> {
        if loops.iter().all(|l| l.curves.is_empty()) {
            return Err(OutlineError::Empty);
        }
        let loops = loops.iter().map(check::close).collect::<Result<Vec<_>, _>>()?;
        let loops = check::arrange(loops)?;
        let regions = regions
            .into_iter()
            .map(|region| {
                let loops = region.loops.iter().filter(|l| !l.curves.is_empty());
                let loops = loops.map(check::close).collect::<Result<Vec<_>, _>>()?;
                Ok(Region { name: region.name, loops })
            })
            .collect::<Result<Vec<_>, OutlineError>>()?;
        let border = Border::new(&loops);
        Ok(Self { loops, regions, border })
    }

    /// The loops, material on the left: the outer one first, then the openings.
    #[must_use]
    pub fn loops(&self) -> &[Loop] {
        &self.loops
    }

    /// The regions as given, their gaps shut.
    #[must_use]
    pub fn regions(&self) -> &[Region] {
        &self.regions
    }

    /// The smallest upright rectangle that holds the part (mm).
    #[must_use]
    pub fn bounds(&self) -> Rect {
        self.border.bounds()
    }

    /// The larger side of the bounding rectangle (mm).
    #[must_use]
    pub fn size(&self) -> f64 {
        crate::number::max(self.bounds().width(), self.bounds().height())
    }

    /// Area of the material (mm2).
    #[must_use]
    pub fn area(&self) -> f64 {
        self.loops.iter().map(Loop::area).sum()
    }

    /// Whether a point is in the material. On the border itself either answer may come.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        self.border.contains(p)
    }

    /// Distance from a point to the border, from either side (mm).
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        self.border.nearest(p, f64::INFINITY).map_or(f64::INFINITY, |near| near.distance)
    }

    pub(crate) fn border(&self) -> &Border {
        &self.border
    }
}
