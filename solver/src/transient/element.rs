//! Algorithmic force of the 6-node triangle over a time step, and its tangent.
//!
//! J. C. Simo and N. Tarnow, "The discrete energy-momentum method", ZAMP 43 (1992) 757-792 (from memory): with the
//! gradient taken half-way and the stress averaged over the step,
//!
//! f = integral t F_half S grad N,  F_half = (F_0 + F_1)/2,  S = D ((E_0 + E_1)/2 + (tau/dt) (E_1 - E_0)),
//!
//! the work f . (u_1 - u_0) is the change of strain energy plus what the strain rate takes, both exactly, for any step;
//! a turn takes nothing.
#![expect(non_snake_case, reason = "symbols of the textbook")]

use crate::element::{PACKED, packed};
use crate::pointwise::{slopes, strain};
use crate::quadrature::DEGREE_2;
use crate::triangle::gradients;

/// An element that is laid out once: gradients and weights at its Gauss points.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    /// Solver nodes.
    pub(super) nodes: [u32; 6],
    G: [[[f64; 2]; 6]; 3],
    /// t w det J (mm3).
    weight: [f64; 3],
}

/// What an element does over a step.
#[derive(Clone, Debug)]
pub(super) struct Stepped {
    pub(super) f: [[f64; 2]; 6],
    /// Strain energy at the end (mJ).
    pub(super) energy: f64,
    /// Work that the strain rate takes (mJ).
    pub(super) lost: f64,
}

/// Law and step.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rate {
    /// (D11 = D22, D12, shear modulus), MPa.
    pub(super) moduli: [f64; 3],
    /// tau / dt.
    pub(super) damping: f64,
}

type State = [[f64; 2]; 6];

impl Laid {
    pub(super) fn new(nodes: [u32; 6], X: &State, thickness: f64) -> Self {
        let mut G = [[[0.0; 2]; 6]; 3];
        let mut weight = [0.0; 3];
        for (q, gauss) in DEGREE_2.iter().enumerate() {
            let (gradients, det) = gradients(X, gauss.xi, gauss.eta);
            G[q] = gradients;
            weight[q] = thickness * gauss.weight * det;
        }
        Self { nodes, G, weight }
    }

    /// Force, energy and loss of the step from `u0` to `u1`.
    pub(super) fn step(&self, u0: &State, u1: &State, rate: &Rate) -> Stepped {
        let mut out = Stepped { f: [[0.0; 2]; 6], energy: 0.0, lost: 0.0 };
        for q in 0..3 {
            let (H0, H1) = (slopes(u0, &self.G[q]), slopes(u1, &self.G[q]));
            let (E0, E1) = (strain(&H0), strain(&H1));
            let change = [0, 1, 2].map(|k| E1[k] - E0[k]);
            let S =
                stress(rate, [0, 1, 2].map(|k| 0.5 * (E0[k] + E1[k]) + rate.damping * change[k]));
            let w = self.weight[q];
            let S1 = stress(rate, E1);
            out.energy += 0.5 * w * dot(S1, E1);
            out.lost += w * rate.damping * dot(stress(rate, change), change);
            let F = half_way(&H0, &H1);
            for (f, g) in out.f.iter_mut().zip(&self.G[q]) {
                let t = [S[0] * g[0] + S[2] * g[1], S[2] * g[0] + S[1] * g[1]];
                for i in 0..2 {
                    f[i] += w * (F[i][0] * t[0] + F[i][1] * t[1]);
                }
            }
        }
        out
    }

    /// The symmetric part of the derivative of the force by `u1` that matters in short steps: B and S are those half-way.
    pub(super) fn tangent(&self, u0: &State, u1: &State, rate: &Rate) -> [f64; PACKED] {
        let mut K = [0.0; PACKED];
        let [d, c, g] = rate.moduli.map(|m| m * (0.5 + rate.damping));
        for q in 0..3 {
            let (H0, H1) = (slopes(u0, &self.G[q]), slopes(u1, &self.G[q]));
            let (E0, E1) = (strain(&H0), strain(&H1));
            let S = stress(
                rate,
                [0, 1, 2].map(|k| 0.5 * (E0[k] + E1[k]) + rate.damping * (E1[k] - E0[k])),
            );
            let F = half_way(&H0, &H1);
            let w = self.weight[q];
            let B: [[f64; 3]; 12] = std::array::from_fn(|n| {
                let (G, F) = (self.G[q][n / 2], F[n % 2]);
                [F[0] * G[0], F[1] * G[1], F[0] * G[1] + F[1] * G[0]]
            });
            for i in 0..12 {
                let b = B[i];
                let D = [d * b[0] + c * b[1], c * b[0] + d * b[1], g * b[2]];
                for j in 0..=i {
                    let mut k = dot(D, B[j]);
                    if i % 2 == j % 2 {
                        let (a, e) = (self.G[q][i / 2], self.G[q][j / 2]);
                        k += 0.5
                            * (a[0] * (S[0] * e[0] + S[2] * e[1])
                                + a[1] * (S[2] * e[0] + S[1] * e[1]));
                    }
                    K[packed(i, j)] += w * k;
                }
            }
        }
        K
    }
}

fn stress(rate: &Rate, E: [f64; 3]) -> [f64; 3] {
    let [d, c, g] = rate.moduli;
    [d * E[0] + c * E[1], c * E[0] + d * E[1], g * E[2]]
}

fn half_way(H0: &[[f64; 2]; 2], H1: &[[f64; 2]; 2]) -> [[f64; 2]; 2] {
    let mean = |i: usize, j: usize| 0.5 * (H0[i][j] + H1[i][j]);
    [[1.0 + mean(0, 0), mean(0, 1)], [mean(1, 0), 1.0 + mean(1, 1)]]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[cfg(test)]
mod tests {
    use super::*;

    const X: State = [[0.0, 0.0], [2.0, 0.2], [0.3, 1.5], [1.0, 0.05], [1.2, 0.9], [0.1, 0.8]];

    fn laid() -> Laid {
        Laid::new([0; 6], &X, 3.0)
    }

    /// A large turn with some strain in it, different at each node.
    fn moved(turn: f64, stretch: f64) -> State {
        X.map(|[x, y]| {
            let (s, c) = turn.sin_cos();
            let (a, b) = (x * (1.0 + stretch * y), y + 0.1 * stretch * x * x);
            [c * a - s * b - x, s * a + c * b - y]
        })
    }

    #[test]
    fn the_work_of_a_step_is_what_is_stored_and_lost() {
        let rate = Rate { moduli: [2200.0, 800.0, 700.0], damping: 0.7 };
        let (u0, u1) = (moved(0.2, 0.03), moved(0.9, -0.05));
        let step = laid().step(&u0, &u1, &rate);
        let before = laid().step(&u0, &u0, &rate).energy;
        let work: f64 =
            (0..6).map(|a| (0..2).map(|i| step.f[a][i] * (u1[a][i] - u0[a][i])).sum::<f64>()).sum();
        assert!(step.lost > 0.0, "strain has changed");
        assert!((work / (step.energy - before + step.lost) - 1.0).abs() < 1e-12);
        // A turn alone: nothing is lost, and forces have no sum and no moment half-way.
        let turned = laid().step(&moved(0.2, 0.03), &moved(1.4, 0.03), &rate);
        assert!(turned.lost < 1e-20, "{}", turned.lost);
        for i in 0..2 {
            assert!(step.f.iter().map(|f| f[i]).sum::<f64>().abs() < 1e-10);
        }
        let moment: f64 = (0..6)
            .map(|a| {
                let x: [f64; 2] = [0, 1].map(|i| X[a][i] + 0.5 * (u0[a][i] + u1[a][i]));
                x[0] * step.f[a][1] - x[1] * step.f[a][0]
            })
            .sum();
        assert!(moment.abs() < 1e-10, "{moment}");
    }

    #[test]
    fn the_tangent_is_the_derivative_of_a_short_step_s_force() {
        let rate = Rate { moduli: [2200.0, 800.0, 700.0], damping: 0.3 };
        let u = moved(0.5, 0.02);
        let tangent = laid().tangent(&u, &u, &rate);
        let h = 1e-6;
        for j in 0..12 {
            let shifted = |s: f64| {
                let mut v = u;
                v[j / 2][j % 2] += s * h;
                laid().step(&u, &v, &rate).f
            };
            let (more, less) = (shifted(1.0), shifted(-1.0));
            for i in 0..12 {
                let slope = (more[i / 2][i % 2] - less[i / 2][i % 2]) / (2.0 * h);
                let k = tangent[packed(i.max(j), i.min(j))];
                assert!((slope - k).abs() < 1e-4 * 2200.0, "{i} {j}: {slope} {k}");
            }
        }
    }
}
