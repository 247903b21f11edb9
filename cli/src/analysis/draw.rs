//! What a case moves, and along what: its draw.

use crate::case::{Case, Load};
use withy_solver::Reaction;

/// Loads on regions that no drive moves; a load on a driven region acts with the drive.
pub(super) fn loads_alone(case: &Case) -> impl Iterator<Item = &Load> {
    case.loads.iter().filter(|load| case.drives.iter().all(|d| d.region != load.region))
}

/// Names of the driven and loaded regions, in the model's order.
#[must_use]
pub fn moving_regions(case: &Case) -> Vec<&str> {
    let drives = case.drives.iter().map(|d| d.region.as_str());
    drives.chain(loads_alone(case).map(|l| l.region.as_str())).collect()
}

/// What counts as the draw of a region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Axis {
    /// A shift along a unit vector.
    Along([f64; 2]),
    /// A turn, by its sign.
    Turn(f64),
}

impl Axis {
    /// The axis of a driven or loaded region: its shift if it has one, else its force, else its turn.
    #[must_use]
    pub fn of(case: &Case, region: &str) -> Self {
        let drive = case.drives.iter().find(|d| d.region == region);
        let load = case.loads.iter().find(|l| l.region == region);
        let vectors = [drive.map(|d| d.shift), load.map(|l| l.force)];
        for v in vectors.into_iter().flatten() {
            let size = v[0].hypot(v[1]);
            if size > 0.0 {
                return Self::Along([v[0] / size, v[1] / size]);
            }
        }
        let turn = drive.map_or(0.0, |d| d.turn) + load.map_or(0.0, |l| l.moment);
        Self::Turn(if turn < 0.0 { -1.0 } else { 1.0 })
    }

    /// The unit vector of a region's shift; `None` if it is turned.
    #[must_use]
    pub fn line(case: &Case, region: &str) -> Option<[f64; 2]> {
        match Self::of(case, region) {
            Self::Along(draw) => Some(draw),
            Self::Turn(_) => None,
        }
    }

    /// Travel along the axis (mm or degrees).
    #[must_use]
    pub fn travel(self, q: [f64; 3]) -> f64 {
        match self {
            Self::Along(d) => q[0] * d[0] + q[1] * d[1],
            Self::Turn(sign) => sign * q[2].to_degrees(),
        }
    }

    /// Effort along the axis (N or N mm), positive where the part resists.
    #[must_use]
    pub fn effort(self, reaction: &Reaction) -> f64 {
        match self {
            Self::Along(d) => reaction.force[0] * d[0] + reaction.force[1] * d[1],
            Self::Turn(sign) => sign * reaction.moment,
        }
    }

    /// Units of travel and effort.
    #[must_use]
    pub fn units(self) -> [&'static str; 2] {
        match self {
            Self::Along(_) => ["mm", "N"],
            Self::Turn(_) => ["deg", "N mm"],
        }
    }
}
