//! Integration over the pieces of an edge that lie inside something.
//!
//! A rule for the whole edge would see a kink wherever the edge leaves what it lies in, or the nearest place
//! passes from one edge to the next: pressure would come out uneven between meshes that do not match (by 4 and
//! 14 % in the patch test of blocks), and a pin would be borne by one point at a time. Pieces between the kinks
//! are smooth (segment to segment; from memory: M. Puso and T. Laursen, Comput. Methods Appl. Mech. Engrg. 193
//! (2004) 601-629, who do so for multipliers).

use crate::quadrature::EDGE_DEGREE_9;

/// Parts of an edge shorter than this, in parts of it, bear nothing (rounding).
const SLIVER: f64 = 1e-9;
/// How often a place is halved where an edge enters something: to 1e-7 of it. What is left out or in grows with
/// the cube of that.
const HALVINGS: usize = 24;

/// Integration over the parts of an edge that lie inside something: `cuts` are where that may turn a corner,
/// `look` what is found at a place, `add` is given each point with its weight.
///
/// Between the cuts depths are smooth, and at the ends of what lies inside they are zero: so what five points
/// give for half their squares has the slopes of its own potential, as if it were integrated exactly.
pub(super) fn over_pieces<T: Copy>(
    mut cuts: Vec<f64>,
    look: impl Fn(f64) -> Option<T>,
    mut add: impl FnMut(f64, f64, T),
) {
    cuts.sort_unstable_by(f64::total_cmp);
    for piece in cuts.windows(2).filter(|p| p[1] - p[0] > SLIVER) {
        let [from, to] = [piece[0], piece[1]];
        let at = |t: f64| from + (to - from) * t;
        let inner = EDGE_DEGREE_9.map(|(t, _)| look(at(t)));
        // The ends belong to the neighbours as well: only what lies beside them tells.
        let places: [f64; 7] = std::array::from_fn(|k| match k {
            0 => SLIVER,
            6 => 1.0 - SLIVER,
            k => EDGE_DEGREE_9[k - 1].0,
        });
        let inside: [bool; 7] = std::array::from_fn(|k| match k {
            0 | 6 => look(at(places[k])).is_some(),
            k => inner[k - 1].is_some(),
        });
        if inside == [true; 7] {
            for ((t, weight), found) in EDGE_DEGREE_9.into_iter().zip(inner) {
                found.into_iter().for_each(|found| add(at(t), weight * (to - from), found));
            }
            continue;
        }
        let mut start = inside[0].then_some(0.0);
        for k in 1..7 {
            if inside[k] != inside[k - 1] {
                let turn = between(places[k - 1], places[k], |t| look(at(t)).is_some());
                if let Some(start) = start.take() {
                    points(at(start), at(turn), &look, &mut add);
                } else {
                    start = Some(turn);
                }
            }
        }
        if let Some(start) = start {
            points(at(start), to, &look, &mut add);
        }
    }
}

/// The points of a part that lies wholly inside something.
fn points<T>(
    from: f64,
    to: f64,
    look: &impl Fn(f64) -> Option<T>,
    add: &mut impl FnMut(f64, f64, T),
) {
    for (t, weight) in EDGE_DEGREE_9 {
        let s = from + (to - from) * t;
        look(s).into_iter().for_each(|found| add(s, weight * (to - from), found));
    }
}

/// Where a property begins or ends between two places that differ in it, by halving.
fn between(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    let first = holds(low);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if holds(middle) == first { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_inside_is_integrated_exactly_wherever_it_ends() {
        // Half the square of 0.6 - s^2 where that is above zero, from 0.2 on: a kink at 0.2, an end in between.
        let depth = |s: f64| Some(0.6 - s * s).filter(|d| *d > 0.0 && s > 0.2);
        let mut sum = 0.0;
        over_pieces(vec![1.0, 0.2, 0.0], depth, |_, weight, d| sum += 0.5 * weight * d * d);
        let whole = |s: f64| 0.5 * (0.36 * s - 0.4 * s.powi(3) + 0.2 * s.powi(5));
        let expected = whole(0.6f64.sqrt()) - whole(0.2);
        // A polynomial of degree 4; its end is found to 1e-7 and weighs with the cube of that.
        assert!((sum - expected).abs() < 1e-14, "{sum} {expected}");
        over_pieces(vec![0.0, 1.0], |_| None::<f64>, |_, _, _| unreachable!("nothing is inside"));
    }
}
