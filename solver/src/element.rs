//! Energy, internal force and consistent tangent of the 6-node triangle, total Lagrangian.
//!
//! | symbol | meaning | shape |
//! |---|---|---|
//! | `X`, `u` | reference positions, displacements, dof 2 a + i | 12 |
//! | `G` | gradients of the shape functions by X | 6 x 2 |
//! | `F` | deformation gradient I + sum u_a G_a | 2 x 2 |
//! | `E`, `S` | Green-Lagrange strain, second Piola-Kirchhoff stress (11, 22, 12) | 3 |
//! | `B` | dE (with 2 E12) by dof: (F_i1 G_a1, F_i2 G_a2, F_i1 G_a2 + F_i2 G_a1) | 12 x 3 |
//! | `f` | internal force, integral of t B' S | 12 |
//! | `K` | tangent, integral of t (B' D B + G_a . S G_b I), lower triangle by rows | 78 |
//!
//! Source: T. Belytschko, W. K. Liu, B. Moran, "Nonlinear Finite Elements for Continua and
//! Structures", ch. 4 and 6 (from memory). Eight elements are computed at once.
#![expect(non_snake_case, reason = "symbols of the textbook")]

use crate::lanes::Lanes;
use crate::quadrature::DEGREE_2;
use crate::triangle::shape_derivatives;

/// Entries of the lower triangle of a 12 x 12 matrix.
pub(crate) const PACKED: usize = 78;

/// Where entry (i, j), i >= j, of a symmetric 12 x 12 matrix stands in its packed lower triangle.
#[inline(always)]
pub(crate) const fn packed(i: usize, j: usize) -> usize {
    i * (i + 1) / 2 + j
}

/// What a batch of eight elements yields.
#[derive(Clone, Debug)]
pub(crate) struct BatchResult {
    pub(crate) K: [Lanes; PACKED],
    pub(crate) f: [Lanes; 12],
    pub(crate) energy: Lanes,
    /// The smallest det F at the Gauss points.
    pub(crate) det_F: Lanes,
}

impl BatchResult {
    pub(crate) fn new() -> Self {
        Self {
            K: [Lanes::ZERO; PACKED],
            f: [Lanes::ZERO; 12],
            energy: Lanes::ZERO,
            det_F: Lanes::ZERO,
        }
    }
}

/// Shape function derivatives at the three Gauss points.
const DN: [[[f64; 2]; 6]; 3] = [
    shape_derivatives(DEGREE_2[0].xi, DEGREE_2[0].eta),
    shape_derivatives(DEGREE_2[1].xi, DEGREE_2[1].eta),
    shape_derivatives(DEGREE_2[2].xi, DEGREE_2[2].eta),
];

/// Gradients G at a Gauss point, and its volume weight t w det J.
#[inline(always)]
fn reference_gradients<const FUSED: bool>(
    X: &[Lanes; 12],
    dN: &[[f64; 2]; 6],
    thickness_weight: f64,
) -> ([[Lanes; 2]; 6], Lanes) {
    let mut J = [[Lanes::ZERO; 2]; 2];
    for a in 0..6 {
        for i in 0..2 {
            for j in 0..2 {
                J[i][j] = X[2 * a + i].times_plus::<FUSED>(Lanes::splat(dN[a][j]), J[i][j]);
            }
        }
    }
    let det = J[0][0].times_plus::<FUSED>(J[1][1], -(J[0][1] * J[1][0]));
    let r = det.recip();
    let inverse = [[J[1][1] * r, -(J[0][1] * r)], [-(J[1][0] * r), J[0][0] * r]];
    let mut G = [[Lanes::ZERO; 2]; 6];
    for a in 0..6 {
        let (d0, d1) = (Lanes::splat(dN[a][0]), Lanes::splat(dN[a][1]));
        for j in 0..2 {
            G[a][j] = d1.times_plus::<FUSED>(inverse[1][j], d0 * inverse[0][j]);
        }
    }
    (G, det * Lanes::splat(thickness_weight))
}

/// Energy, force and, if `TANGENT`, tangent of eight elements of one linear E-S law.
///
/// `moduli` are (D11 = D22, D12, shear modulus) in MPa; lengths in mm.
#[inline(always)]
pub(crate) fn batch<const FUSED: bool, const TANGENT: bool>(
    X: &[Lanes; 12],
    u: &[Lanes; 12],
    moduli: [f64; 3],
    thickness: f64,
    out: &mut BatchResult,
) {
    let half = Lanes::splat(0.5);
    let [d, c, g] = moduli.map(Lanes::splat);
    if TANGENT {
        out.K = [Lanes::ZERO; PACKED];
    }
    out.f = [Lanes::ZERO; 12];
    out.energy = Lanes::ZERO;
    out.det_F = Lanes::splat(f64::INFINITY);
    for q in 0..3 {
        let (G, w) = reference_gradients::<FUSED>(X, &DN[q], thickness * DEGREE_2[q].weight);
        // F - I = sum u_a G_a.
        let mut H = [[Lanes::ZERO; 2]; 2];
        for a in 0..6 {
            for i in 0..2 {
                for j in 0..2 {
                    H[i][j] = u[2 * a + i].times_plus::<FUSED>(G[a][j], H[i][j]);
                }
            }
        }
        let one = Lanes::splat(1.0);
        let F = [[one + H[0][0], H[0][1]], [H[1][0], one + H[1][1]]];
        out.det_F = out.det_F.smaller(F[0][0] * F[1][1] - F[0][1] * F[1][0]);
        // E = sym H + H'H / 2, free of the cancellation in (F'F - I) / 2.
        let E = [
            H[0][0] + half * (H[0][0] * H[0][0] + H[1][0] * H[1][0]),
            H[1][1] + half * (H[0][1] * H[0][1] + H[1][1] * H[1][1]),
            H[0][1] + H[1][0] + (H[0][0] * H[0][1] + H[1][0] * H[1][1]),
        ];
        let S = [
            d.times_plus::<FUSED>(E[0], c * E[1]),
            d.times_plus::<FUSED>(E[1], c * E[0]),
            g * E[2],
        ];
        let density = half * (S[0] * E[0] + S[1] * E[1] + S[2] * E[2]);
        out.energy = w.times_plus::<FUSED>(density, out.energy);
        let mut B = [[Lanes::ZERO; 3]; 12];
        for a in 0..6 {
            for i in 0..2 {
                let (F1, F2) = (F[i][0], F[i][1]);
                let b = [F1 * G[a][0], F2 * G[a][1], F1.times_plus::<FUSED>(G[a][1], F2 * G[a][0])];
                let s = b[0].times_plus::<FUSED>(S[0], b[1].times_plus::<FUSED>(S[1], b[2] * S[2]));
                let n = 2 * a + i;
                out.f[n] = w.times_plus::<FUSED>(s, out.f[n]);
                B[n] = b;
            }
        }
        if TANGENT {
            add_tangent::<FUSED>(&G, &S, &B, [d * w, c * w, g * w], w, &mut out.K);
        }
    }
}

/// Adds w (B' D B + G_a . S G_b I) of one Gauss point; `D` comes multiplied by w.
#[inline(always)]
fn add_tangent<const FUSED: bool>(
    G: &[[Lanes; 2]; 6],
    S: &[Lanes; 3],
    B: &[[Lanes; 3]; 12],
    D: [Lanes; 3],
    w: Lanes,
    K: &mut [Lanes; PACKED],
) {
    for i in 0..12 {
        let b = B[i];
        let DB = [
            D[0].times_plus::<FUSED>(b[0], D[1] * b[1]),
            D[0].times_plus::<FUSED>(b[1], D[1] * b[0]),
            D[2] * b[2],
        ];
        for j in 0..=i {
            let k = &mut K[packed(i, j)];
            *k = DB[0].times_plus::<FUSED>(
                B[j][0],
                DB[1].times_plus::<FUSED>(B[j][1], DB[2].times_plus::<FUSED>(B[j][2], *k)),
            );
        }
    }
    for a in 0..6 {
        let t = [w * (S[0] * G[a][0] + S[2] * G[a][1]), w * (S[2] * G[a][0] + S[1] * G[a][1])];
        for b in 0..=a {
            let s = t[0].times_plus::<FUSED>(G[b][0], t[1] * G[b][1]);
            for i in 0..2 {
                let k = &mut K[packed(2 * a + i, 2 * b + i)];
                *k = *k + s;
            }
        }
    }
}
