//! Contact without friction: the part against itself, against straight rails and round pins.
//!
//! Where a point of an edge lies inside what it may not enter, at the depth d below the nearest place
//! of that surface, the potential
//!
//! ```text
//! Phi = sum over points of  epsilon t w d^2 / 2
//! ```
//!
//! pushes it out: the pressure is epsilon d, along the normal of that surface. The points are the five
//! Gauss points of each piece of an edge that lies inside something (`pieces`), w their share of its length at
//! rest, t the thickness: the sum is the integral, whatever meets what. As
//! the forces are the gradient of a potential of the state alone, the tangent is symmetric, nothing has
//! to be remembered from state to state, and the work of the drive is found again as strain energy and
//! Phi. The second derivative of d^2 / 2 by way of the nearest point holds all of the geometric part
//! (`terms`).
//!
//! epsilon is [`STIFFNESS`] times the material's modulus over the length of the edge: under a pressure p
//! the surfaces overlap by p / (30 D11) of an edge, less than the edge itself is pressed together. Where
//! two edges of the part meet, each is checked against the other with half of epsilon, so that none
//! is the master.
//!
//! Sources, from memory: P. Wriggers, Computational Contact Mechanics, 2nd ed. (2006), ch. 5 and 6; T. A.
//! Laursen, Computational Contact and Impact Mechanics (2002).

mod border;
mod meeting;
mod passing;
mod pieces;
mod report;
mod room;
mod terms;

pub(crate) use border::Met;
pub(crate) use meeting::{Contact, places};
pub use room::{Overlap, overlap};

use crate::error::ModelError;
use crate::gap::outward;
use withy_mesh::{NodeId, Point, Vec2};

/// Penalty stiffness of contact, in moduli of the material over the length of an edge. Ten times as
/// much changes the half-width and the pressure of a cylinder on a flat by less than a fifth of a per
/// cent and makes the pressure uneven.
pub const STIFFNESS: f64 = 30.0;

/// What a part may not enter.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A straight rail or stop. Going from its first end to the second, the part is on the left.
    Rail {
        /// First end (mm).
        from: [f64; 2],
        /// Second end (mm).
        to: [f64; 2],
    },
    /// A round pin with the part outside.
    Pin {
        /// Its centre (mm).
        at: [f64; 2],
        /// Its radius (mm).
        radius: f64,
    },
}

/// A rigid thing that keeps still and that the part meets.
///
/// Edges that lie within its shape as drawn never meet it. An edge that only a printed part's departure from
/// its drawing ([`withy_mesh::Mesh::moved`]) puts into the shape meets it set back as far: it goes no deeper.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// Its name.
    pub name: String,
    /// Where it is.
    pub shape: Shape,
    /// Only edges with all nodes among these meet it; `None` for any edge.
    pub nodes: Option<Vec<NodeId>>,
}

impl Shape {
    /// How deep a place lies inside it (mm); not above zero outside, and beside a rail's ends.
    #[must_use]
    pub fn depth_in(&self, place: Point) -> f64 {
        if let Self::Rail { from, to } = self {
            let (from, to) = (Point::from((from[0], from[1])), Point::from((to[0], to[1])));
            let along = (place - from).dot(to - from);
            if !(0.0..=(to - from).hypot2()).contains(&along) {
                return 0.0;
            }
        }
        self.depth_below(place)
    }

    /// The same with a rail going on beyond its ends; below zero outside.
    #[must_use]
    pub fn depth_below(&self, place: Point) -> f64 {
        match self {
            Self::Rail { from, to } => {
                let (from, to) = (Point::from((from[0], from[1])), Point::from((to[0], to[1])));
                (place - from).cross(to - from) / (to - from).hypot()
            }
            Self::Pin { at, radius } => radius - place.distance(Point::from((at[0], at[1]))),
        }
    }

    /// The unit normal out of it at a place.
    #[must_use]
    pub fn normal(&self, place: Point) -> Vec2 {
        match self {
            Self::Rail { from, to } => -outward(Vec2::new(to[0] - from[0], to[1] - from[1])),
            Self::Pin { at, .. } => {
                let arm = place - Point::from((at[0], at[1]));
                arm / arm.hypot()
            }
        }
    }

    /// The same as far behind its surface (mm).
    pub(crate) fn set_back(&self, way: f64) -> Self {
        match *self {
            Self::Rail { from, to } => {
                let along = [to[0] - from[0], to[1] - from[1]];
                let share = way / along[0].hypot(along[1]);
                let back = |p: [f64; 2]| [p[0] + share * along[1], p[1] - share * along[0]];
                Self::Rail { from: back(from), to: back(to) }
            }
            Self::Pin { at, radius } => Self::Pin { at, radius: radius - way },
        }
    }
}

impl Obstacle {
    /// Checks its numbers.
    pub(crate) fn check(&self) -> Result<(), ModelError> {
        let (numbers, what, size) = match self.shape {
            Shape::Rail { from, to } => {
                let length = (to[0] - from[0]).hypot(to[1] - from[1]);
                ([from[0], from[1], to[0], to[1]], "length of rail", length)
            }
            Shape::Pin { at, radius } => ([at[0], at[1], 0.0, 0.0], "radius of pin", radius),
        };
        if let Some(&value) = numbers.iter().find(|v| !v.is_finite()) {
            return Err(ModelError::NotFinite {
                what: format!("a place of \"{}\"", self.name),
                value,
            });
        }
        if size > 0.0 && size.is_finite() {
            return Ok(());
        }
        Err(ModelError::NotPositive {
            what: format!("the {what} \"{}\" (mm)", self.name),
            value: size,
        })
    }
}

/// Where and how hard the part pushes in one state.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pushing {
    /// What touches, obstacles in the model's order before edges of the part.
    pub touches: Vec<Touch>,
    /// Energy of the overlap that the penalty leaves (mJ): to be held against the strain energy.
    pub overlap_energy: f64,
}

/// Two surfaces that push.
#[derive(Clone, Debug, PartialEq)]
pub struct Touch {
    /// The obstacle's name; `None` where the part pushes itself.
    pub obstacle: Option<String>,
    /// Force on the part; where it pushes itself on the side whose edge comes first in the outline (N).
    pub force: [f64; 2],
    /// Points under pressure, on both sides where the part pushes itself.
    pub points: Vec<PressedPoint>,
}

/// A point of an edge under pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PressedPoint {
    /// Its edge, counted along the outline as in the mesh.
    pub edge: usize,
    /// Its place at rest (mm).
    pub rest: [f64; 2],
    /// Its place now (mm).
    pub now: [f64; 2],
    /// Force on an area at rest (MPa).
    pub pressure: f64,
    /// Its share of the edge's length at rest (mm).
    pub length: f64,
    /// How deep it lies below the other surface (mm).
    pub depth: f64,
}

impl Touch {
    /// The point under the highest pressure.
    #[must_use]
    pub fn peak(&self) -> Option<&PressedPoint> {
        self.points.iter().max_by(|a, b| a.pressure.total_cmp(&b.pressure))
    }
}
