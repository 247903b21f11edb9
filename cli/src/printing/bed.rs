//! Whether a part fits a bed, also when it is turned.
//!
//! At an angle the part needs the rectangle that its convex hull spans there. Between two angles at
//! which a side of the hull lies flat, each side of that rectangle is d cos(angle - phase) between two
//! fixed corners, which is concave; so the larger of both shares of the bed is least at such an angle or
//! where both shares are equal (rotating calipers: G. T. Toussaint, "Solving geometric problems with the
//! rotating calipers", 1983, from memory).

use std::f64::consts::FRAC_PI_2;
use withy_mesh::number::{max, min};
use withy_mesh::{Outline, Point, Vec2};

/// The hull is made of chords of the outline within this (mm).
const CHORD_MM: f64 = 1e-3;
/// What fits by less than rounding fits.
const ROUNDING: f64 = 1e-9;

/// How a part lies on a bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// How far it is turned, counter-clockwise; 0 if it fits as drawn (rad).
    pub turn: f64,
    /// What it needs then, along the bed's sides (mm).
    pub needs: [f64; 2],
    /// The larger of its two shares of the bed: it fits up to 1.
    pub share: f64,
}

impl Fit {
    /// Whether it is on the bed.
    #[must_use]
    pub fn fits(&self) -> bool {
        self.share <= 1.0 + ROUNDING
    }
}

/// The fit as drawn, or turned by a right angle, or else at the best of all angles.
#[must_use]
pub fn fit(outline: &Outline, bed: [f64; 2]) -> Fit {
    let points: Vec<Point> =
        crate::export::flat::polygons(outline, CHORD_MM).into_iter().take(1).flatten().collect();
    fit_of(&hull(points), bed)
}

fn fit_of(hull: &[Point], bed: [f64; 2]) -> Fit {
    for turn in [0.0, FRAC_PI_2] {
        let as_drawn = at(hull, bed, turn);
        if as_drawn.fits() {
            return as_drawn;
        }
    }
    let mut turns: Vec<f64> = Vec::new();
    let sides = hull.iter().zip(hull.iter().cycle().skip(1));
    turns.extend(sides.map(|(a, b)| (-(*b - *a).atan2()).rem_euclid(FRAC_PI_2)));
    turns.sort_by(f64::total_cmp);
    turns.push(turns.first().map_or(FRAC_PI_2, |first| first + FRAC_PI_2));
    let mut best = at(hull, bed, 0.0);
    let mut consider = |turn: f64| {
        for turn in [turn, turn + FRAC_PI_2] {
            let here = at(hull, bed, turn);
            if here.share < best.share {
                best = here;
            }
        }
    };
    for pair in turns.windows(2) {
        consider(pair[0]);
        let middle = 0.5 * (pair[0] + pair[1]);
        for quarter in [0.0, FRAC_PI_2] {
            if let Some(equal) = equal_shares(hull, bed, middle + quarter)
                && equal - quarter > pair[0]
                && equal - quarter < pair[1]
            {
                consider(equal - quarter);
            }
        }
    }
    best
}

/// What a hull needs at an angle.
fn at(hull: &[Point], bed: [f64; 2], turn: f64) -> Fit {
    let needs = [0.0, -FRAC_PI_2].map(|quarter| {
        let direction = Vec2::from_angle(quarter - turn);
        // Turning the part is turning the directions the other way.
        let along = hull.iter().map(|p| p.to_vec2().dot(direction));
        let (low, high) = along
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), s| (min(low, s), max(high, s)));
        high - low
    });
    let share = max(needs[0] / bed[0], needs[1] / bed[1]);
    Fit { turn, needs, share }
}

/// The angle near `turn` at which the same corners need equal shares of both sides.
fn equal_shares(hull: &[Point], bed: [f64; 2], turn: f64) -> Option<f64> {
    let spans = [0.0, -FRAC_PI_2].map(|quarter| {
        let direction = Vec2::from_angle(quarter - turn);
        let by = |a: &&Point, b: &&Point| {
            a.to_vec2().dot(direction).total_cmp(&b.to_vec2().dot(direction))
        };
        let (low, high) = (hull.iter().min_by(by), hull.iter().max_by(by));
        low.zip(high).map_or(Vec2::ZERO, |(low, high)| *high - *low)
    });
    // d . (cos t, -sin t)/bed x = e . (-sin t, -cos t)/bed y
    let (d, e) = (spans[0] / bed[0], spans[1] / bed[1]);
    let (of_cos, of_sin) = (d.x + e.y, -d.y + e.x);
    if of_sin.hypot(of_cos) <= 0.0 {
        return None;
    }
    let angle = (-of_cos).atan2(of_sin);
    // Known up to half turns.
    let half = std::f64::consts::PI;
    Some(angle + half * ((turn - angle) / half).round())
}

/// The convex hull, counter-clockwise (A. M. Andrew's monotone chain, 1979, from memory).
fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let chain = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..]
                && (b - a).cross(p - b) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut all = chain(&mut points.iter().copied());
    all.extend(chain(&mut points.iter().rev().copied()));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(w: f64, h: f64) -> Vec<Point> {
        hull([(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(Point::from).to_vec())
    }

    #[test]
    fn a_bar_longer_than_the_bed_fits_across_it() {
        // Along the diagonal a bar of 300 x 10 needs (300 + 10)/sqrt 2 = 219.2 mm of both sides.
        let fit = fit_of(&rectangle(300.0, 10.0), [220.0, 220.0]);
        assert!(fit.fits(), "{fit:?}");
        let needed = 310.0 / 2.0_f64.sqrt();
        assert!((fit.share - needed / 220.0).abs() < 1e-12, "{fit:?}");
        let quarter = fit.turn.rem_euclid(FRAC_PI_2).to_degrees();
        assert!((quarter - 45.0).abs() < 1e-9, "{quarter}");
        assert!(!fit_of(&rectangle(302.0, 10.0), [220.0, 220.0]).fits(), "312/sqrt 2 is 220.6");
        let upright = fit_of(&rectangle(200.0, 90.0), [100.0, 210.0]);
        assert!(upright.fits() && (upright.turn - FRAC_PI_2).abs() < 1e-12, "{upright:?}");
    }

    #[test]
    fn no_angle_is_better_than_the_one_that_is_found() {
        let mut seed = 7u64;
        let mut random = || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            f64::from(u32::try_from(seed >> 33).unwrap_or(0)) / f64::from(1u32 << 31)
        };
        for _ in 0..200 {
            let points: Vec<Point> =
                (0..7).map(|_| Point::new(300.0 * random(), 120.0 * random())).collect();
            let (hull, bed) = (hull(points), [60.0 + 60.0 * random(), 60.0 + 60.0 * random()]);
            let found = fit_of(&hull, bed);
            if found.fits() {
                continue;
            }
            let step = 1e-3;
            let mut least = f64::INFINITY;
            for k in 0..3142 {
                least = min(least, at(&hull, bed, f64::from(k) * step).share);
            }
            assert!(found.share <= least + 1e-12, "{found:?}, but {least}");
            // A share changes by no more than the part's size over the bed in a radian.
            assert!(least - found.share < 6.0 * step, "{found:?}, but {least}");
        }
    }
}
