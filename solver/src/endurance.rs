//! Strain-life: how many draws a strain is borne.
//!
//! sqrt(largest * amplitude) = coefficient * N^-exponent
//!
//! Basquin's power law of life on the parameter of K. N. Smith, P. Watson and T. H. Topper (J. Materials 5,
//! 1970, from memory), which counts the mean strain in: a draw from rest to `s` and back has the amplitude
//! s/2. Lives of polymers scatter by a factor of 3 to 10 (common practice, no source), so that a count
//! is never shown without its band.

/// A card's line of lives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrainLife {
    /// Strain at N = 1 by the power law: amplitude of a fully reversed cycle.
    pub coefficient: f64,
    /// Fall of strain by draws, both as logarithms.
    pub exponent: f64,
}

/// One cycle of strain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycle {
    /// Largest strain.
    pub largest: f64,
    /// Half of the range.
    pub amplitude: f64,
}

impl Cycle {
    /// From rest to `largest`, and back beyond rest by a share of it.
    #[must_use]
    pub fn drawn(largest: f64, overshoot: f64) -> Self {
        Self { largest, amplitude: 0.5 * largest * (1.0 + overshoot) }
    }

    /// The amplitude of a fully reversed cycle that does as much.
    #[must_use]
    pub fn equivalent(self) -> f64 {
        (self.largest * self.amplitude).sqrt()
    }
}

impl StrainLife {
    /// The line through two points: strains that are borne so many times when drawn from rest. None unless it
    /// falls.
    #[must_use]
    pub fn through(first: [f64; 2], second: [f64; 2]) -> Option<Self> {
        let [[n1, s1], [n2, s2]] = [first, second];
        let exponent = (s1 / s2).ln() / (n2 / n1).ln();
        let coefficient = Cycle::drawn(s1, 0.0).equivalent() * n1.powf(exponent);
        (exponent > 0.0 && coefficient.is_finite()).then_some(Self { coefficient, exponent })
    }

    /// How often a cycle is borne.
    #[must_use]
    pub fn draws(&self, cycle: Cycle) -> f64 {
        (self.coefficient / cycle.equivalent()).powf(1.0 / self.exponent)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_passes_its_points() {
        let line = StrainLife::through([1e3, 0.026], [1e4, 0.020]).unwrap();
        for (n, s) in [(1e3, 0.026), (1e4, 0.020)] {
            assert!((line.draws(Cycle::drawn(s, 0.0)) / n - 1.0).abs() < 1e-12);
        }
        // Basquin by hand: log10(0.026 / 0.020) = 0.11394 by decade.
        assert!((line.exponent - 0.113_943).abs() < 1e-6);
        assert!(StrainLife::through([1e3, 0.02], [1e4, 0.02]).is_none());
    }

    #[test]
    fn a_fully_reversed_cycle_counts_its_amplitude_and_overshoot_costs_draws() {
        let reversed = Cycle::drawn(0.01, 1.0);
        assert!((reversed.equivalent() - 0.01).abs() < 1e-15);
        let line = StrainLife { coefficient: 0.1, exponent: 0.1 };
        assert!((line.draws(reversed) / 1e10 - 1.0).abs() < 1e-9);
        // Smith, Watson, Topper: from rest, amplitude is sqrt(1/2) of the fully reversed one, 2^5 lives.
        let drawn = line.draws(Cycle::drawn(0.01, 0.0));
        assert!((drawn / 32e10 - 1.0).abs() < 1e-9);
    }
}
