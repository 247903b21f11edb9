//! Half the squared depth of a point below a surface, with its derivatives.
//!
//! With d = x_s - x_m(s), the nearest place x_m(s) of an edge makes f(u, s) = |d|^2 / 2 least, so that the
//! gradient of what is left is d' A, A = dd/du with s kept, and the second derivative is
//!
//! ```text
//! A' A - q q' / f_ss,    q = f_us = -(A' x_m' + (dx_m'/du)' d),    f_ss = |x_m'|^2 - d . x_m''
//! ```
//!
//! with no division by the depth. At an end of the edge s stays, and A' A is all.
//!
//! Towards a sharp outward corner a surface fades: a point that slides past the corner must not lose its
//! push at once. Half the squared depth then counts phi(s) times, which adds ds/du = -q / f_ss times
//! phi' |d|^2 / 2 to the gradient. Of the second derivative only that of s itself is left out, which
//! comes with the square of the depth.

use crate::element::{PACKED, packed};
use crate::triangle::{edge_derivatives, edge_shape};

/// How much a surface counts at a place along it, with the first and second derivative by that place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fade(pub(crate) [f64; 3]);

impl Fade {
    /// Where it counts in full.
    pub(crate) const NONE: Self = Self([1.0, 0.0, 0.0]);

    pub(crate) fn value(&self) -> f64 {
        self.0[0]
    }

    /// From 0 at a distance of 0 to 1 at `length`, as t^2 (3 - 2 t); the distance grows with the place.
    pub(crate) fn from_end(distance: f64, length: f64) -> Self {
        let t = distance / length;
        if t >= 1.0 {
            return Self::NONE;
        }
        let slope = 6.0 * t * (1.0 - t) / length;
        Self([t * t * (3.0 - 2.0 * t), slope, (6.0 - 12.0 * t) / (length * length)])
    }

    /// The same for a distance that falls with the place.
    pub(crate) fn to_end(distance: f64, length: f64) -> Self {
        let Self([value, slope, bend]) = Self::from_end(distance, length);
        Self([value, -slope, bend])
    }

    /// Both together.
    pub(crate) fn and(self, other: Self) -> Self {
        let (Self([a, a1, a2]), Self([b, b1, b2])) = (self, other);
        Self([a * b, a1 * b + a * b1, a2 * b + 2.0 * a1 * b1 + a * b2])
    }
}

/// The second derivatives of the shape functions of a 3-node edge.
const SECOND: [f64; 3] = [4.0, -8.0, 4.0];

/// Half the squared depth, its gradient and its second derivatives by the displacements of six nodes: the
/// point's own edge, then the other edge (zeros for an obstacle).
#[derive(Clone, Copy, Debug)]
pub(crate) struct HalfSquare {
    /// The half square itself.
    pub(crate) value: f64,
    pub(crate) gradient: [f64; 12],
    pub(crate) second: [f64; PACKED],
}

impl HalfSquare {
    /// Below another edge: places of both edges' nodes, where on the own edge, where on the other.
    pub(crate) fn edge(
        own: &[[f64; 2]; 3],
        other: &[[f64; 2]; 3],
        at: f64,
        foot: f64,
        fade: Fade,
    ) -> Self {
        let (n, m) = (edge_shape(at), edge_shape(foot));
        let along = edge_derivatives(foot);
        let sum = |weights: &[f64; 3], x: &[[f64; 2]; 3]| {
            [0, 1].map(|i| (0..3).map(|a| weights[a] * x[a][i]).sum::<f64>())
        };
        let (p, q) = (sum(&n, own), sum(&m, other));
        let d = [p[0] - q[0], p[1] - q[1]];
        let (slope, bend) = (sum(&along, other), sum(&SECOND, other));
        // Of node a: what it adds to d, and to x_m'.
        let share: [f64; 6] = std::array::from_fn(|a| if a < 3 { n[a] } else { -m[a - 3] });
        let turn: [f64; 6] = std::array::from_fn(|a| if a < 3 { 0.0 } else { along[a - 3] });
        let gradient = std::array::from_fn(|i| share[i / 2] * d[i % 2]);
        let mut second = blocks(&share, [1.0, 0.0, 1.0]);
        let mut rate = [0.0; 12];
        if foot > 0.0 && foot < 1.0 {
            let stiff = slope[0] * slope[0] + slope[1] * slope[1] - d[0] * bend[0] - d[1] * bend[1];
            let mixed: [f64; 12] =
                std::array::from_fn(|i| -share[i / 2] * slope[i % 2] - turn[i / 2] * d[i % 2]);
            for i in 0..12 {
                for j in 0..=i {
                    second[packed(i, j)] -= mixed[i] * mixed[j] / stiff;
                }
            }
            rate = mixed.map(|q| -q / stiff);
        }
        let value = 0.5 * (d[0] * d[0] + d[1] * d[1]);
        Self { value, gradient, second }.faded(fade, &rate)
    }

    /// Below the line through `from` with the unit normal `normal`.
    /// `fade` is by the way along the line, which is a quarter turn to the right of the normal.
    pub(crate) fn line(
        place: [f64; 2],
        at: f64,
        from: [f64; 2],
        normal: [f64; 2],
        fade: Fade,
    ) -> Self {
        let gap = (place[0] - from[0]) * normal[0] + (place[1] - from[1]) * normal[1];
        let [x, y] = normal;
        let n = edge_shape(at);
        let along = [y, -x];
        let rate = std::array::from_fn(|i| if i < 6 { n[i / 2] * along[i % 2] } else { 0.0 });
        Self::of_point(at, gap, [gap * x, gap * y], [x * x, x * y, y * y]).faded(fade, &rate)
    }

    /// Inside a circle.
    pub(crate) fn circle(place: [f64; 2], at: f64, centre: [f64; 2], radius: f64) -> Self {
        let arm = [place[0] - centre[0], place[1] - centre[1]];
        let far = arm[0].hypot(arm[1]);
        let [x, y] = arm.map(|a| a / far);
        let (gap, around) = (far - radius, 1.0 - radius / far);
        let second = [x * x + around * y * y, x * y - around * x * y, y * y + around * x * x];
        Self::of_point(at, gap, [gap * x, gap * y], second)
    }

    /// From the gradient and the second derivatives (xx, xy, yy) by the point's own place.
    fn of_point(at: f64, gap: f64, gradient: [f64; 2], second: [f64; 3]) -> Self {
        let n = edge_shape(at);
        let share: [f64; 6] = std::array::from_fn(|a| if a < 3 { n[a] } else { 0.0 });
        Self {
            value: 0.5 * gap * gap,
            gradient: std::array::from_fn(|i| share[i / 2] * gradient[i % 2]),
            second: blocks(&share, second),
        }
    }
}

impl HalfSquare {
    /// The whole times phi of a place whose derivative by the displacements is `rate`.
    fn faded(mut self, Fade([phi, slope, bend]): Fade, rate: &[f64; 12]) -> Self {
        let (value, gradient) = (self.value, self.gradient);
        for i in 0..12 {
            for j in 0..=i {
                let mixed = rate[i] * gradient[j] + gradient[i] * rate[j];
                let turned = bend * value * rate[i] * rate[j];
                let entry = &mut self.second[packed(i, j)];
                *entry = phi * *entry + slope * mixed + turned;
            }
        }
        self.gradient = std::array::from_fn(|i| phi * gradient[i] + slope * value * rate[i]);
        self.value = phi * value;
        self
    }
}

/// share_a share_b times a symmetric 2 x 2 matrix (xx, xy, yy), for all pairs of nodes.
fn blocks(share: &[f64; 6], [xx, xy, yy]: [f64; 3]) -> [f64; PACKED] {
    let mut all = [0.0; PACKED];
    for i in 0..12 {
        for j in 0..=i {
            let entry = match (i % 2, j % 2) {
                (0, 0) => xx,
                (1, 1) => yy,
                _ => xy,
            };
            all[packed(i, j)] = share[i / 2] * share[j / 2] * entry;
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    type Six = [[f64; 2]; 6];

    /// Half the squared distance of a point of the first edge from the second one, by search.
    fn searched(x: &Six, at: f64) -> (f64, f64) {
        let sum = |w: [f64; 3], from: usize| {
            [0, 1].map(|i| (0..3).map(|a| w[a] * x[from + a][i]).sum::<f64>())
        };
        let p = sum(edge_shape(at), 0);
        let f = |s: f64| {
            let q = sum(edge_shape(s), 3);
            0.5 * ((p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2))
        };
        // Bisection of the slope.
        let slope = |s: f64| {
            let (q, t) = (sum(edge_shape(s), 3), sum(edge_derivatives(s), 3));
            -(p[0] - q[0]) * t[0] - (p[1] - q[1]) * t[1]
        };
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if slope(middle) < 0.0 { low = middle } else { high = middle }
        }
        (low, f(low))
    }

    fn check(x: Six, value: impl Fn(&Six) -> f64, term: impl Fn(&Six) -> HalfSquare) {
        let here = term(&x);
        for i in 0..12 {
            let moved = |h: f64| {
                let mut y = x;
                y[i / 2][i % 2] += h;
                y
            };
            // Central differences: h^2 of the next derivative, and rounding over h.
            let h = 1e-5;
            let slope = (value(&moved(h)) - value(&moved(-h))) / (2.0 * h);
            assert!((here.gradient[i] - slope).abs() < 1e-8, "{i}: {} {slope}", here.gradient[i]);
            let (up, down) = (term(&moved(h)), term(&moved(-h)));
            for j in 0..12 {
                let k = if i >= j { packed(i, j) } else { packed(j, i) };
                let rate = (up.gradient[j] - down.gradient[j]) / (2.0 * h);
                assert!((here.second[k] - rate).abs() < 2e-8, "{i} {j}: {} {rate}", here.second[k]);
            }
        }
    }

    const PLACES: Six =
        [[0.1, -0.2], [0.9, -0.25], [1.8, -0.1], [2.2, 0.1], [1.1, 0.16], [-0.3, 0.0]];

    #[test]
    fn forces_and_tangent_below_a_curved_edge_are_the_slopes_of_the_potential() {
        let at = 0.3;
        check(
            PLACES,
            |x| searched(x, at).1,
            |x| {
                let (own, other) = ([x[0], x[1], x[2]], [x[3], x[4], x[5]]);
                HalfSquare::edge(&own, &other, at, searched(x, at).0, Fade::NONE)
            },
        );
    }

    #[test]
    fn a_surface_that_fades_keeps_the_slopes_of_its_potential() {
        let at = 0.3;
        let fade = |s: f64| Fade::from_end(s, 1.0).and(Fade::to_end(1.0 - s, 0.7));
        // Nearer, as the second derivative of the foot is left out.
        let mut x = PLACES;
        let (foot, _) = searched(&x, at);
        let m = edge_shape(foot);
        let n = edge_shape(at);
        for i in 0..2 {
            let gap: f64 = (0..3).map(|a| n[a] * x[a][i] - m[a] * x[3 + a][i]).sum();
            (0..3).for_each(|a| x[a][i] -= 0.9995 * gap);
        }
        check(
            x,
            |x| {
                let (s, value) = searched(x, at);
                fade(s).0[0] * value
            },
            |x| {
                let (own, other) = ([x[0], x[1], x[2]], [x[3], x[4], x[5]]);
                let (s, _) = searched(x, at);
                HalfSquare::edge(&own, &other, at, s, fade(s))
            },
        );
    }

    #[test]
    fn forces_and_tangent_below_a_line_and_in_a_circle_are_the_slopes_of_the_potential() {
        let at = 0.3;
        let place = |x: &Six| {
            let n = edge_shape(at);
            [0, 1].map(|i| (0..3).map(|a| n[a] * x[a][i]).sum::<f64>())
        };
        let normal = [0.6, 0.8];
        let gap = |x: &Six| (place(x)[0] - 0.2) * normal[0] + (place(x)[1] + 0.3) * normal[1];
        check(
            PLACES,
            |x| 0.5 * gap(x).powi(2),
            |x| HalfSquare::line(place(x), at, [0.2, -0.3], normal, Fade::NONE),
        );
        let inside = |x: &Six| (place(x)[0] - 0.1).hypot(place(x)[1] - 1.0) - 1.4;
        check(
            PLACES,
            |x| 0.5 * inside(x).powi(2),
            |x| HalfSquare::circle(place(x), at, [0.1, 1.0], 1.4),
        );
    }
}
