//! The logarithmic strain of the plane, and how stresses and tangents in it become those of `E`.
//!
//! e = ln(C) / 2 with C = I + 2 E. In the plane everything follows from two numbers that are smooth
//! even where the principal stretches are equal: with the mean m and the deviator (d, w) of `E`,
//! p = 1 + 2 m and z = 4 (d^2 + w^2) / p^2,
//!
//! e = g I + s dev(E),  g = ln(p) / 2 + ln(1 - z) / 4,  s = A(z) / p,  A(z) = artanh(sqrt z) / sqrt z.
//!
//! | symbol | meaning | shape |
//! |---|---|---|
//! | `E` | Green-Lagrange strain (E11, E22, 2 E12) | 3 |
//! | `e` | logarithmic strain: mean, half difference, shear, (e11 + e22, e11 - e22, 2 e12) / 2 | 3 |
//! | `T` | conjugate stress (T11 + T22, T11 - T22, 2 T12) (MPa) | 3 |
//! | `S` | second Piola-Kirchhoff stress (S11, S22, S12) (MPa) | 3 |
//! | `D` | tangent, dT/de or dS/dE (MPa) | 3 x 3 |
//!
//! S = T : de/dE and dS/dE = de/dE : dT/de : de/dE + T : d2e/dE2, both exact. Source of the setting: C.
//! Miehe, N. Apel, M. Lambrecht, "Anisotropic additive plasticity in the logarithmic strain space",
//! Comput. Methods Appl. Mech. Eng. 191 (2002), from memory; the formulas of the plane are our own.
#![expect(non_snake_case, reason = "symbols of the textbook")]

/// The logarithmic strain of one Green-Lagrange strain, with its derivatives by (m, d, w).
#[derive(Clone, Copy, Debug)]
pub(crate) struct LogStrain {
    /// Mean, half difference, shear.
    pub(crate) e: [f64; 3],
    first: [[f64; 3]; 3],
    second: [[[f64; 3]; 3]; 3],
}

/// Below this the series of A is taken: its terms beyond the last one are smaller than rounding, and
/// above it the closed forms lose no more than three digits.
const SERIES_BELOW: f64 = 0.05;
const TERMS: i32 = 14;

/// A(z) = artanh(sqrt z) / sqrt z and its two derivatives.
fn artanh_ratio(z: f64) -> [f64; 3] {
    if z < SERIES_BELOW {
        // A = sum of z^k / (2 k + 1), by Horner's rule.
        let mut sums = [0.0; 3];
        for k in (0..TERMS).rev() {
            let (k, odd) = (f64::from(k), f64::from(2 * k + 1));
            let factors = [1.0, k, k * (k - 1.0)];
            for i in 0..3 {
                // The i-th derivative has no terms below k = i.
                if k >= f64::from(u8::try_from(i).unwrap_or(0)) {
                    sums[i] = sums[i] * z + factors[i] / odd;
                }
            }
        }
        return sums;
    }
    let root = z.sqrt();
    let a = root.atanh() / root;
    let slope = (1.0 / (1.0 - z) - a) / (2.0 * z);
    [a, slope, ((1.0 - z).powi(-2) - 3.0 * slope) / (2.0 * z)]
}

impl LogStrain {
    /// NaN where `E` is no strain: a principal stretch that is not positive.
    pub(crate) fn of(E: [f64; 3]) -> Self {
        let [m, d, w] = [0.5 * (E[0] + E[1]), 0.5 * (E[0] - E[1]), 0.5 * E[2]];
        let p = 1.0 + 2.0 * m;
        let z = 4.0 * (d * d + w * w) / (p * p);
        let [A, A1, A2] = artanh_ratio(z);
        let (p2, p3) = (p * p, p * p * p);
        let zi = [-4.0 * z / p, 8.0 * d / p2, 8.0 * w / p2];
        let (md, mw) = (-32.0 * d / p3, -32.0 * w / p3);
        let zij = [[24.0 * z / p2, md, mw], [md, 8.0 / p2, 0.0], [mw, 0.0, 8.0 / p2]];
        let (g1, g2) = (-0.25 / (1.0 - z), -0.25 / ((1.0 - z) * (1.0 - z)));
        let s = A / p;
        let mut first = [[0.0; 3]; 3];
        let mut second = [[[0.0; 3]; 3]; 3];
        let (mut si, mut sij) = ([0.0; 3], [[0.0; 3]; 3]);
        for i in 0..3 {
            let of_m = |k: usize| if k == 0 { 1.0 } else { 0.0 };
            first[0][i] = of_m(i) / p + g1 * zi[i];
            si[i] = A1 * zi[i] / p - of_m(i) * 2.0 * A / p2;
            for j in 0..3 {
                let both = of_m(i) * of_m(j);
                second[0][i][j] = -2.0 * both / p2 + g2 * zi[i] * zi[j] + g1 * zij[i][j];
                sij[i][j] = (A2 * zi[i] * zi[j] + A1 * zij[i][j]) / p
                    - 2.0 * A1 * (zi[i] * of_m(j) + zi[j] * of_m(i)) / p2
                    + 8.0 * A * both / p3;
            }
        }
        for (k, own) in [(1, d), (2, w)] {
            let of_own = |i: usize| if i == k { 1.0 } else { 0.0 };
            for i in 0..3 {
                first[k][i] = si[i] * own + s * of_own(i);
                for j in 0..3 {
                    second[k][i][j] = sij[i][j] * own + si[i] * of_own(j) + si[j] * of_own(i);
                }
            }
        }
        let g = 0.5 * (2.0 * m).ln_1p() + 0.25 * (-z).ln_1p();
        Self { e: [g, s * d, s * w], first, second }
    }

    /// S and dS/dE of a conjugate stress and its tangent.
    pub(crate) fn pull_back(&self, T: [f64; 3], D: &[[f64; 3]; 3]) -> ([f64; 3], [[f64; 3]; 3]) {
        let P = &self.first;
        let mut stress = [0.0; 3];
        let mut H = [[0.0; 3]; 3];
        for i in 0..3 {
            stress[i] = (0..3).map(|k| T[k] * P[k][i]).sum();
            for j in 0..=i {
                let mut sum = 0.0;
                for k in 0..3 {
                    sum += T[k] * self.second[k][i][j];
                    for l in 0..3 {
                        sum += P[k][i] * D[k][l] * P[l][j];
                    }
                }
                H[i][j] = sum;
                H[j][i] = sum;
            }
        }
        // From derivatives by (m, d, w) to those by (E11, E22, 2 E12).
        let by_strain = |v: [f64; 3]| [0.5 * (v[0] + v[1]), 0.5 * (v[0] - v[1]), 0.5 * v[2]];
        let rows = H.map(by_strain);
        let columns: [[f64; 3]; 3] = std::array::from_fn(|j| by_strain(rows.map(|r| r[j])));
        (by_strain(stress), columns)
    }
}

/// Green-Lagrange strain of a principal logarithmic strain.
pub(crate) fn green_lagrange_of(log: f64) -> f64 {
    0.5 * (2.0 * log).exp_m1()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn series_and_closed_form_of_the_ratio_agree_where_they_meet() {
        let below = artanh_ratio(SERIES_BELOW * (1.0 - 1e-14));
        let above = artanh_ratio(SERIES_BELOW);
        for (i, tolerance) in [1e-13, 1e-12, 1e-10].into_iter().enumerate() {
            let gap = (below[i] / above[i] - 1.0).abs();
            assert!(gap <= tolerance, "derivative {i}: {below:?} {above:?}");
        }
    }

    #[test]
    fn principal_strains_are_the_logarithms_of_the_stretches() {
        for (a, b, turn) in [(1.3, 0.8, 0.4), (1.02, 1.02, 1.0), (0.7, 1.9, -0.9), (1.0, 1.0, 0.0)]
        {
            let (a, b, turn): (f64, f64, f64) = (a, b, turn);
            let (c, s) = (turn.cos(), turn.sin());
            let (ea, eb) = (0.5 * (a * a - 1.0), 0.5 * (b * b - 1.0));
            let E = [ea * c * c + eb * s * s, ea * s * s + eb * c * c, 2.0 * (ea - eb) * c * s];
            let [g, d, w] = LogStrain::of(E).e;
            let (la, lb) = (a.ln(), b.ln());
            let expected = [0.5 * (la + lb), 0.5 * (la - lb) * (c * c - s * s), (la - lb) * c * s];
            for (got, want) in [g, d, w].into_iter().zip(expected) {
                assert!((got - want).abs() <= 4e-15, "{a} {b}: {got} {want}");
            }
        }
    }
}
