//! Which values a design has.
//!
//! On the grid the last number runs fastest. Samples follow the additive recurrence of the generalised golden
//! ratio, which fills the space evenly from the first sample on: x_n = {s + n a}, a_j = phi^-j, phi^(d+1) = phi + 1
//! (M. Roberts, "The unreasonable effectiveness of quasirandom sequences", 2018, from memory; for one number it is the
//! golden ratio's, of the least discrepancy of its kind).

use super::values::Values;
use crate::design::Written;

/// How designs are chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sampling {
    /// Every value with every other.
    Grid,
    /// So many of the space between.
    Samples {
        /// How many.
        count: usize,
        /// Shifts the sequence; 0 leaves it as it is.
        seed: u64,
    },
}

impl Sampling {
    /// How many designs there are; `None` if more than can be counted.
    #[must_use]
    pub fn designs(&self, values: &[Values]) -> Option<usize> {
        match self {
            Self::Samples { count, .. } => Some(*count),
            Self::Grid => {
                values.iter().try_fold(1usize, |all, v| all.checked_mul(v.count().unwrap_or(1)))
            }
        }
    }

    /// The values of a design, counted from 0.
    #[must_use]
    pub fn values(&self, design: usize, values: &[Values]) -> Vec<Written> {
        match self {
            Self::Grid => {
                let mut rest = design;
                let mut chosen: Vec<Written> = values
                    .iter()
                    .rev()
                    .map(|v| {
                        let count = v.count().unwrap_or(1);
                        let n = rest % count;
                        rest /= count;
                        v.nth(n)
                    })
                    .collect();
                chosen.reverse();
                chosen
            }
            Self::Samples { seed, .. } => {
                let point = point(design, values.len(), *seed);
                values.iter().zip(point).map(|(v, share)| v.at(share)).collect()
            }
        }
    }
}

/// A point of the sequence in the unit cube, counted from 0.
#[must_use]
pub fn point(n: usize, dimensions: usize, seed: u64) -> Vec<f64> {
    let phi = golden(dimensions);
    let mut random = seed;
    (1..=dimensions)
        .map(|j| {
            let start = if seed == 0 { 0.5 } else { uniform(&mut random) };
            let a = phi.powi(-i32::try_from(j).unwrap_or(i32::MAX)).fract();
            (start + (n as f64 + 1.0) * a).fract()
        })
        .collect()
}

/// The positive root of phi^(d+1) = phi + 1, by its fixed point, which contracts by 1/(d + 1) or better.
fn golden(dimensions: usize) -> f64 {
    let exponent = 1.0 / (dimensions as f64 + 1.0);
    (0..64).fold(1.5f64, |phi, _| (1.0 + phi).powf(exponent))
}

/// A number from 0 to below 1 (splitmix64: G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014, from memory).
fn uniform(state: &mut u64) -> f64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grid_holds_every_pair_once_the_last_number_fastest() {
        let whole = |from, to, n| Values::Range {
            from,
            to,
            unit: String::new(),
            whole: true,
            count: Some(n),
        };
        let values = [whole(1.0, 2.0, 2), whole(5.0, 7.0, 3)];
        assert_eq!(Sampling::Grid.designs(&values), Some(6));
        let all: Vec<String> = (0..6)
            .map(|d| Sampling::Grid.values(d, &values).iter().map(Written::bare).collect())
            .collect();
        assert_eq!(all, ["15", "16", "17", "25", "26", "27"]);
    }

    #[test]
    fn samples_fill_every_cell_of_the_plane() {
        // 400 points in 10 x 10 cells, 4 a cell; points thrown at random would leave 100 e^-4 = 2 cells empty and
        // hold 9 or more in some.
        for seed in [0, 1, 2026] {
            let mut cells = [0; 100];
            for n in 0..400 {
                let p = point(n, 2, seed);
                let cell = |x: f64| (0..10).rev().find(|k| f64::from(*k) <= 10.0 * x).unwrap();
                cells[usize::try_from(10 * cell(p[0]) + cell(p[1])).unwrap()] += 1;
            }
            assert!(cells.iter().all(|n| (2..=7).contains(n)), "{seed}: {cells:?}");
        }
        // phi of two dimensions is the plastic number, 1.324717957244746.
        assert!((golden(2) - 1.324_717_957_244_746).abs() < 1e-12);
        assert!((golden(1) - 0.5 * (1.0 + 5f64.sqrt())).abs() < 1e-12);
    }
}
