//! An order of points in which neighbours in number are neighbours in place.
//!
//! The Hilbert curve through a square of 2^16 cells a side (Hilbert, "Über die stetige Abbildung
//! einer Linie auf ein Flächenstück", 1891).

use kurbo::{Point, Rect};
use rayon::prelude::*;

/// Bits per coordinate: cells of 1/65536 of the part.
const BITS: u32 = 16;

/// The indices of the points in the order of the curve; ties in their given order.
pub(crate) fn along_curve(points: &[Point], bounds: &Rect) -> Vec<usize> {
    let mut keyed: Vec<(u64, usize)> =
        points.par_iter().enumerate().map(|(i, p)| (place(*p, bounds), i)).collect();
    keyed.par_sort_unstable();
    keyed.into_iter().map(|(_, i)| i).collect()
}

/// How far along the curve the cell of a point is.
fn place(p: Point, bounds: &Rect) -> u64 {
    let side = crate::number::max(bounds.width(), bounds.height());
    let (mut x, mut y) = (cell((p.x - bounds.x0) / side), cell((p.y - bounds.y0) / side));
    let mut distance = 0;
    let mut half = 1u64 << (BITS - 1);
    while half > 0 {
        let (right, upper) = (u64::from(x & half > 0), u64::from(y & half > 0));
        distance += half * half * ((3 * right) ^ upper);
        // Turn the quadrant so that the curve inside it has the first one's orientation.
        if upper == 0 {
            if right == 1 {
                x = (1 << BITS) - 1 - x;
                y = (1 << BITS) - 1 - y;
            }
            std::mem::swap(&mut x, &mut y);
        }
        half >>= 1;
    }
    distance
}

/// The cell of a coordinate in 0..=1, found by halving (no lossy cast).
fn cell(fraction: f64) -> u64 {
    let (mut cell, mut low, mut width) = (0, 0.0, 1.0);
    for _ in 0..BITS {
        width *= 0.5;
        cell <<= 1;
        if fraction >= low + width {
            low += width;
            cell += 1;
        }
    }
    cell
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_visits_a_grid_in_steps_to_neighbouring_cells() {
        let points: Vec<Point> = (0..256u32)
            .map(|i| Point::new((f64::from(i % 16) + 0.5) / 16.0, (f64::from(i / 16) + 0.5) / 16.0))
            .collect();
        let order = along_curve(&points, &Rect::new(0.0, 0.0, 1.0, 1.0));
        for pair in order.windows(2) {
            let step = points[pair[0]].distance(points[pair[1]]);
            assert!((step - 1.0 / 16.0).abs() < 1e-12, "a step of {step}");
        }
    }
}
