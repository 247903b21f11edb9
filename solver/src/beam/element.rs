//! The beam element: 3 nodes, shape functions of degree 2, 2 Gauss points (reduced, so that neither
//! shear nor stretching locks).
//!
//! Source: E. Reissner, "On one-dimensional finite-strain beam theory: the plane problem", ZAMP 23 (1972)
//! 795-804; J. C. Simo, "A finite strain beam formulation", CMAME 49 (1985) 55-70 (both from memory).
//!
//! | symbol | meaning | shape |
//! |---|---|---|
//! | `u` | displacement and turn of the nodes: start, middle, end | 3 x 3 |
//! | `n`, `d` | shape functions, their derivatives along the reference axis | 3 |
//! | `c`, `s` | cosine and sine of the section's direction, reference plus turn | |
//! | `e`, `g` | strains of the axis: stretch and shear, (1 + e, g) = R' dx/dS | |
//! | `k` | change of curvature, d(turn)/dS | |
//! | `N`, `Q`, `M` | section forces: normal, shear, moment | |
//! | `H` | second derivatives of the energy density by (dx/dS, dy/dS, turn) | 3 x 3 |
#![expect(non_snake_case, reason = "symbols of the textbook")]

use super::section::Section;

/// The Gauss points of two-point quadrature lie at plus and minus 1/sqrt(3); their weights are 1.
const XI: f64 = 0.577_350_269_189_625_8;

/// Shape functions at the Gauss points: start, middle, end.
const N_AT: [[f64; 3]; 2] = [shapes(-XI), shapes(XI)];
/// Their derivatives by xi.
const D_AT: [[f64; 3]; 2] = [slopes(-XI), slopes(XI)];

const fn shapes(xi: f64) -> [f64; 3] {
    [0.5 * xi * (xi - 1.0), 1.0 - xi * xi, 0.5 * xi * (xi + 1.0)]
}

const fn slopes(xi: f64) -> [f64; 3] {
    [xi - 0.5, -2.0 * xi, xi + 0.5]
}

/// What an element is at one Gauss point, unloaded.
#[derive(Clone, Copy, Debug)]
pub(super) struct GaussPoint {
    /// Unit tangent of the reference axis.
    tangent: [f64; 2],
    /// Length of the axis by xi (mm), which is the weight too.
    weight: f64,
    section: Section,
}

/// An element between three nodes.
pub(super) type Element = [GaussPoint; 2];

/// An element through three places (start, middle, end); `section` by xi in -1 to 1.
/// `None` if the places do not lie along a line in this order.
pub(super) fn element(places: &[[f64; 2]; 3], sections: [Section; 2]) -> Option<Element> {
    let point = |q: usize| {
        let d = [0, 1].map(|i| (0..3).map(|a| D_AT[q][a] * places[a][i]).sum::<f64>());
        let weight = d[0].hypot(d[1]);
        let chord = [0, 1].map(|i| places[2][i] - places[0][i]);
        let forward = d[0] * chord[0] + d[1] * chord[1] > 0.0;
        forward.then_some(GaussPoint {
            tangent: d.map(|x| x / weight),
            weight,
            section: sections[q],
        })
    };
    Some([point(0)?, point(1)?])
}

/// Where the Gauss points of an element lie, as a part of its length.
pub(super) const GAUSS_AT: [f64; 2] = [0.5 - 0.5 * XI, 0.5 + 0.5 * XI];

/// Energy (mJ), nodal forces (start, middle, end; N, N, N mm).
#[inline(always)]
pub(super) fn force(element: &Element, u: &[[f64; 3]; 3]) -> (f64, [[f64; 3]; 3]) {
    let mut energy = 0.0;
    let mut f = [[0.0; 3]; 3];
    for q in 0..2 {
        let at = Strained::new(element, q, u);
        energy += at.energy();
        at.add_force(q, &mut f);
    }
    (energy, f)
}

/// The same with the tangent stiffness, its blocks by pairs of nodes (`k[a][b]`, b >= a).
#[inline(always)]
pub(super) fn stiffness(element: &Element, u: &[[f64; 3]; 3]) -> (f64, [[f64; 3]; 3], Blocks) {
    let mut energy = 0.0;
    let mut f = [[0.0; 3]; 3];
    let mut K = [[[[0.0; 3]; 3]; 3]; 3];
    for q in 0..2 {
        let at = Strained::new(element, q, u);
        energy += at.energy();
        at.add_force(q, &mut f);
        at.add_stiffness(q, &mut K);
    }
    (energy, f, K)
}

/// Blocks of a stiffness by pairs of nodes.
pub(super) type Blocks = [[[[f64; 3]; 3]; 3]; 3];

/// A Gauss point in a deformed state.
struct Strained {
    section: Section,
    weight: f64,
    d: [f64; 3],
    c: f64,
    s: f64,
    e: f64,
    g: f64,
    k: f64,
}

impl Strained {
    #[inline(always)]
    fn new(element: &Element, q: usize, u: &[[f64; 3]; 3]) -> Self {
        let GaussPoint { tangent: [c0, s0], weight, section } = element[q];
        let d = D_AT[q].map(|x| x / weight);
        let n = &N_AT[q];
        let along = |i: usize| d[0] * u[0][i] + d[1] * u[1][i] + d[2] * u[2][i];
        let turn = n[0] * u[0][2] + n[1] * u[1][2] + n[2] * u[2][2];
        // cos - 1 from half the angle: small strains keep their digits.
        let (sin2, cos2) = (0.5 * turn).sin_cos();
        let (sin, less) = (2.0 * sin2 * cos2, -2.0 * sin2 * sin2);
        let c = c0 * (1.0 + less) - s0 * sin;
        let s = s0 * (1.0 + less) + c0 * sin;
        let (du, dv) = (along(0), along(1));
        let e = less + c * du + s * dv;
        let g = -sin - s * du + c * dv;
        Self { section, weight, d, c, s, e, g, k: along(2) }
    }

    #[inline(always)]
    fn energy(&self) -> f64 {
        let Section { axial, shear, bending, .. } = self.section;
        let Self { e, g, k, .. } = self;
        0.5 * self.weight * (axial * e * e + shear * g * g + bending * k * k)
    }

    #[inline(always)]
    fn add_force(&self, q: usize, f: &mut [[f64; 3]; 3]) {
        let Section { axial, shear, bending, .. } = self.section;
        let Self { c, s, weight, .. } = *self;
        let (N, Q, M) = (axial * self.e, shear * self.g, bending * self.k);
        let x = weight * (N * c - Q * s);
        let y = weight * (N * s + Q * c);
        let turn = weight * (N * self.g - Q * (1.0 + self.e));
        for a in 0..3 {
            f[a][0] += self.d[a] * x;
            f[a][1] += self.d[a] * y;
            f[a][2] += N_AT[q][a] * turn + self.d[a] * weight * M;
        }
    }

    #[inline(always)]
    fn add_stiffness(&self, q: usize, K: &mut Blocks) {
        let Section { axial, shear, bending, .. } = self.section;
        let Self { c, s, g, weight, .. } = *self;
        let l = 1.0 + self.e;
        let (N, Q) = (axial * self.e, shear * g);
        // dF/d(turn) in the section's own axes, F the force in the fixed ones.
        let (p, r) = (axial * g - Q, N - shear * l);
        let H = [
            [axial * c * c + shear * s * s, (axial - shear) * c * s, p * c - r * s],
            [0.0, axial * s * s + shear * c * c, p * s + r * c],
            [0.0, 0.0, axial * g * g - N * l + shear * l * l - Q * g],
        ];
        for a in 0..3 {
            let (da, na) = (weight * self.d[a], weight * N_AT[q][a]);
            for b in a..3 {
                let (db, nb) = (self.d[b], N_AT[q][b]);
                let block = &mut K[a][b];
                let dd = da * db;
                block[0][0] += dd * H[0][0];
                block[0][1] += dd * H[0][1];
                block[1][0] += dd * H[0][1];
                block[1][1] += dd * H[1][1];
                block[0][2] += da * nb * H[0][2];
                block[1][2] += da * nb * H[1][2];
                block[2][0] += na * db * H[0][2];
                block[2][1] += na * db * H[1][2];
                block[2][2] += na * nb * H[2][2] + dd * bending;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An arc of a tapered beam, and a state far from rest.
    fn strained() -> (Element, [[f64; 3]; 3]) {
        let place = |a: f64| [5.0 * a.sin(), 5.0 * (1.0 - a.cos())];
        let section = |w: f64| Section::new(90.0 * w, 30.0 * w, 7.0 * w * w * w, w).unwrap();
        let places = [place(0.2), place(0.5), place(0.8)];
        let u = [[0.1, -0.2, 0.4], [0.7, 0.3, 0.9], [0.6, 1.1, 1.3]];
        (element(&places, [section(1.0), section(1.4)]).unwrap(), u)
    }

    #[test]
    fn forces_are_slopes_of_the_energy() {
        let (element, u) = strained();
        let (_, f) = force(&element, &u);
        let h = 1e-5;
        for a in 0..3 {
            for i in 0..3 {
                let at = |step: f64| {
                    let mut moved = u;
                    moved[a][i] += step;
                    force(&element, &moved).0
                };
                let slope = (at(h) - at(-h)) / (2.0 * h);
                // Second differences of energies of 100 mJ: h^2 and 1e-16 x 100 / h, both 1e-9.
                assert!((slope - f[a][i]).abs() < 1e-7, "f[{a}][{i}] {} {slope}", f[a][i]);
            }
        }
    }

    #[test]
    fn stiffness_is_the_slope_of_the_forces() {
        let (element, u) = strained();
        let (_, _, k) = stiffness(&element, &u);
        let h = 1e-6;
        for b in 0..3 {
            for j in 0..3 {
                let at = |step: f64| {
                    let mut moved = u;
                    moved[b][j] += step;
                    force(&element, &moved).1
                };
                let (up, down) = (at(h), at(-h));
                for a in 0..=b {
                    for i in 0..3 {
                        let slope = (up[a][i] - down[a][i]) / (2.0 * h);
                        // Forces of some 100 N over 1e-6: 1e-8.
                        let off = (slope - k[a][b][i][j]).abs();
                        assert!(off < 1e-6, "k[{a}][{b}][{i}][{j}] off by {off}");
                    }
                }
            }
        }
    }

    #[test]
    fn energy_and_forces_turn_with_a_rigid_motion() {
        let (element, u) = strained();
        let place = |a: f64| [5.0 * a.sin(), 5.0 * (1.0 - a.cos())];
        let places = [place(0.2), place(0.5), place(0.8)];
        let (turn, shift) = (2.3_f64, [4.0, -7.0]);
        let (s, c) = turn.sin_cos();
        let moved = [0, 1, 2].map(|a| {
            let [x, y] = [places[a][0] + u[a][0], places[a][1] + u[a][1]];
            let to = [c * x - s * y + shift[0], s * x + c * y + shift[1]];
            [to[0] - places[a][0], to[1] - places[a][1], u[a][2] + turn]
        });
        let (energy, f) = force(&element, &u);
        let (after, g) = force(&element, &moved);
        assert!((after / energy - 1.0).abs() < 1e-13, "{energy} {after}");
        for a in 0..3 {
            let [x, y, m] = f[a];
            let turned = [c * x - s * y, s * x + c * y, m];
            for i in 0..3 {
                assert!((g[a][i] - turned[i]).abs() < 1e-11, "node {a}: {:?} {turned:?}", g[a]);
            }
        }
        // And a rigid motion alone strains nothing.
        let alone = [0, 1, 2].map(|a| {
            let [x, y] = places[a];
            [c * x - s * y + shift[0] - x, s * x + c * y + shift[1] - y, turn]
        });
        assert!(force(&element, &alone).0 < 1e-25, "rounding alone");
    }
}
