//! Gauss points of the reference triangle with corners (0, 0), (1, 0), (0, 1).
//!
//! Weights add up to 1/2, the area of that triangle. Source: D. A. Dunavant, "High degree efficient
//! symmetrical Gaussian quadrature rules for the triangle", IJNME 21 (1985) 1129-1148, from memory;
//! the tests integrate every monomial up to the stated degree.

/// A point of the reference triangle and its weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaussPoint {
    /// First reference coordinate.
    pub xi: f64,
    /// Second reference coordinate.
    pub eta: f64,
    /// Weight; all weights of a rule add up to 1/2.
    pub weight: f64,
}

/// Exact for degree 2: the rule of the 6-node triangle's internal force and tangent.
///
/// Three points carry 3 x 3 strains, the 12 - 3 deformation modes of the element: no hourglass.
pub const DEGREE_2: [GaussPoint; 3] = [
    GaussPoint { xi: 1.0 / 6.0, eta: 1.0 / 6.0, weight: 1.0 / 6.0 },
    GaussPoint { xi: 2.0 / 3.0, eta: 1.0 / 6.0, weight: 1.0 / 6.0 },
    GaussPoint { xi: 1.0 / 6.0, eta: 2.0 / 3.0, weight: 1.0 / 6.0 },
];

const A4: f64 = 0.445_948_490_915_965;
const B4: f64 = 0.091_576_213_509_771;
const WA4: f64 = 0.223_381_589_678_011 / 2.0;
const WB4: f64 = 0.109_951_743_655_322 / 2.0;

/// Exact for degree 4: for areas and errors of quadratic fields.
pub const DEGREE_4: [GaussPoint; 6] = [
    GaussPoint { xi: A4, eta: A4, weight: WA4 },
    GaussPoint { xi: 1.0 - 2.0 * A4, eta: A4, weight: WA4 },
    GaussPoint { xi: A4, eta: 1.0 - 2.0 * A4, weight: WA4 },
    GaussPoint { xi: B4, eta: B4, weight: WB4 },
    GaussPoint { xi: 1.0 - 2.0 * B4, eta: B4, weight: WB4 },
    GaussPoint { xi: B4, eta: 1.0 - 2.0 * B4, weight: WB4 },
];

const A6: f64 = 0.249_286_745_170_910;
const B6: f64 = 0.063_089_014_491_502;
const C6: f64 = 0.310_352_451_033_785;
const D6: f64 = 0.053_145_049_844_816;
const WA6: f64 = 0.116_786_275_726_379 / 2.0;
const WB6: f64 = 0.050_844_906_370_207 / 2.0;
const WC6: f64 = 0.082_851_075_618_374 / 2.0;

/// Exact for degree 6: for masses of curved quadratic elements.
pub const DEGREE_6: [GaussPoint; 12] = [
    GaussPoint { xi: A6, eta: A6, weight: WA6 },
    GaussPoint { xi: 1.0 - 2.0 * A6, eta: A6, weight: WA6 },
    GaussPoint { xi: A6, eta: 1.0 - 2.0 * A6, weight: WA6 },
    GaussPoint { xi: B6, eta: B6, weight: WB6 },
    GaussPoint { xi: 1.0 - 2.0 * B6, eta: B6, weight: WB6 },
    GaussPoint { xi: B6, eta: 1.0 - 2.0 * B6, weight: WB6 },
    GaussPoint { xi: C6, eta: D6, weight: WC6 },
    GaussPoint { xi: D6, eta: C6, weight: WC6 },
    GaussPoint { xi: C6, eta: 1.0 - C6 - D6, weight: WC6 },
    GaussPoint { xi: 1.0 - C6 - D6, eta: C6, weight: WC6 },
    GaussPoint { xi: D6, eta: 1.0 - C6 - D6, weight: WC6 },
    GaussPoint { xi: 1.0 - C6 - D6, eta: D6, weight: WC6 },
];

/// Two Gauss points on 0..=1 with weights 1/2: exact for degree 3 along an edge.
pub const EDGE_DEGREE_3: [(f64, f64); 2] =
    [(0.211_324_865_405_187_1, 0.5), (0.788_675_134_594_812_9, 0.5)];

/// Three Gauss points on 0..=1: exact for degree 5 along an edge.
pub const EDGE_DEGREE_5: [(f64, f64); 3] = [
    (0.112_701_665_379_258_3, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];

/// Five Gauss points on 0..=1: exact for degree 9 along an edge.
pub const EDGE_DEGREE_9: [(f64, f64); 5] = [
    (0.046_910_077_030_668_0, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_24),
    (0.5, 64.0 / 225.0),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_24),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// `∫ xi^p eta^q = p! q! / (p + q + 2)!` over the reference triangle.
    fn monomial(p: u32, q: u32) -> f64 {
        let factorial = |n: u32| (1..=n).map(f64::from).product::<f64>();
        factorial(p) * factorial(q) / factorial(p + q + 2)
    }

    #[test]
    fn rules_integrate_every_monomial_of_their_degree() {
        for (rule, degree) in [(&DEGREE_2[..], 2), (&DEGREE_4[..], 4), (&DEGREE_6[..], 6)] {
            for p in 0..=degree {
                for q in 0..=degree - p {
                    let sum: f64 = rule
                        .iter()
                        .map(|g| {
                            g.weight
                                * g.xi.powi(i32::try_from(p).unwrap())
                                * g.eta.powi(i32::try_from(q).unwrap())
                        })
                        .sum();
                    // The constants carry 15 digits.
                    assert!((sum - monomial(p, q)).abs() < 1e-14, "xi^{p} eta^{q}: {sum}");
                }
            }
        }
    }

    #[test]
    fn edge_rules_integrate_every_power_of_their_degree() {
        for (rule, degree) in
            [(&EDGE_DEGREE_3[..], 3), (&EDGE_DEGREE_5[..], 5), (&EDGE_DEGREE_9[..], 9)]
        {
            for p in 0..=degree {
                let sum: f64 = rule.iter().map(|(s, w)| w * s.powi(p)).sum();
                assert!((sum - 1.0 / f64::from(p + 1)).abs() < 1e-14, "s^{p}: {sum}");
            }
        }
    }
}
