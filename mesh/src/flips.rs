//! Delaunay triangles again after vertices have moved a little: edges are flipped where the circle through
//! a triangle holds the vertex behind an edge (C. L. Lawson, "Software for C1 surface interpolation", 1977,
//! from memory). Edges of the net are never flipped. Far cheaper than a new triangulation.

use crate::triangulate::{Net, key};
use kurbo::Point;
use rustc_hash::FxHashSet;

const NONE: u32 = u32::MAX;
/// A flip must gain this much, relative to the lengths involved: a circle through four vertices, as regular
/// places have, is flipped neither way.
const GAIN: f64 = 1e-10;
/// Flips per triangle that are ever needed; beyond, something is wrong with the numbers.
const MOST_FLIPS: usize = 50;

/// Triangles with the triangle behind each side; side k goes from corner k to corner k + 1.
struct Neighbourhood {
    corners: Vec<[usize; 3]>,
    behind: Vec<[u32; 3]>,
}

impl Net<'_> {
    /// Flips edges until all triangles are Delaunay but for the net's edges. `None` if a triangle is turned
    /// over or the triangles do not fit together: then they must be made anew.
    pub(crate) fn flipped(&self, triangles: &[[usize; 3]]) -> Option<Vec<[usize; 3]>> {
        let upright = |t: &[usize; 3]| {
            let [a, b, c] = t.map(|v| self.points[v]);
            (b - a).cross(c - a) > 0.0
        };
        if !triangles.iter().all(upright) {
            return None;
        }
        let edges: FxHashSet<(usize, usize)> =
            self.edges.iter().map(|e| key(e.ends[0], e.ends[1])).collect();
        let mut near = Neighbourhood::new(triangles)?;
        let mut stack: Vec<(u32, u8)> = Vec::new();
        for t in 0..triangles.len() {
            for k in 0..3u8 {
                // Each side once, from the triangle of the smaller number.
                if near.behind[t][k as usize] != NONE && near.behind[t][k as usize] > index(t) {
                    stack.push((index(t), k));
                }
            }
        }
        let mut left = MOST_FLIPS * triangles.len();
        while let Some((t, k)) = stack.pop() {
            let Some((other, j)) = near.opposite(t, k) else { continue };
            let [a, b] = [near.corners[t as usize][k as usize], near.corners[t as usize][next(k)]];
            let apex = near.corners[t as usize][last(k)];
            let beyond = near.corners[other as usize][last(j)];
            let p = [a, b, apex, beyond].map(|v| self.points[v]);
            if !inside_circle(p) || edges.contains(&key(a, b)) {
                continue;
            }
            left = left.checked_sub(1)?;
            near.flip((t, k), (other, j));
            // The four sides around may have lost their property.
            for (t, k) in [(t, 0), (t, 2), (other, 0), (other, 1)] {
                if near.behind[t as usize][k as usize] != NONE {
                    stack.push((t, k));
                }
            }
        }
        Some(near.corners)
    }
}

impl Neighbourhood {
    fn new(triangles: &[[usize; 3]]) -> Option<Self> {
        let mut sides: Vec<(usize, usize, u32, u8)> = Vec::with_capacity(3 * triangles.len());
        for (t, corners) in triangles.iter().enumerate() {
            for k in 0..3u8 {
                let (a, b) = key(corners[k as usize], corners[next(k)]);
                sides.push((a, b, index(t), k));
            }
        }
        sides.sort_unstable();
        let mut behind = vec![[NONE; 3]; triangles.len()];
        let mut rest = &sides[..];
        while let Some(first) = rest.first() {
            let count = rest.iter().take_while(|s| (s.0, s.1) == (first.0, first.1)).count();
            match rest[..count] {
                [_] => {}
                [a, b] => {
                    behind[a.2 as usize][a.3 as usize] = b.2;
                    behind[b.2 as usize][b.3 as usize] = a.2;
                }
                _ => return None,
            }
            rest = &rest[count..];
        }
        Some(Self { corners: triangles.to_vec(), behind })
    }

    /// The triangle behind a side, and which of its sides that is.
    fn opposite(&self, t: u32, k: u8) -> Option<(u32, u8)> {
        let other = self.behind[t as usize][k as usize];
        let shared = self.corners[t as usize][next(k)];
        let j = (0..3u8).find(|&j| {
            self.behind.get(other as usize).is_some_and(|b| b[j as usize] == t)
                && self.corners[other as usize][j as usize] == shared
        })?;
        Some((other, j))
    }

    /// Puts the other diagonal into the square of two triangles.
    ///
    /// With the side from a to b, c behind it in `t` and d in `other`, these become (c, a, d) and (d, b, c).
    fn flip(&mut self, (t, k): (u32, u8), (other, j): (u32, u8)) {
        let (t, o) = (t as usize, other as usize);
        let [a, b, c] = [k as usize, next(k), last(k)].map(|i| self.corners[t][i]);
        let d = self.corners[o][last(j)];
        let [bc, ca] = [next(k), last(k)].map(|i| self.behind[t][i]);
        // In `other` side j goes from b to a, then a to d, then d to b.
        let [ad, db] = [next(j), last(j)].map(|i| self.behind[o][i]);
        self.corners[t] = [c, a, d];
        self.behind[t] = [ca, ad, index(o)];
        self.corners[o] = [d, b, c];
        self.behind[o] = [db, bc, index(t)];
        self.replace(ad, index(o), index(t), [a, d]);
        self.replace(bc, index(t), index(o), [b, c]);
    }

    /// The side between two vertices now has another triangle behind it.
    fn replace(&mut self, of: u32, old: u32, new: u32, ends: [usize; 2]) {
        let Some(behind) = self.behind.get_mut(of as usize) else { return };
        let corners = self.corners[of as usize];
        for k in 0..3u8 {
            let own = key(corners[k as usize], corners[next(k)]);
            if behind[k as usize] == old && own == key(ends[0], ends[1]) {
                behind[k as usize] = new;
            }
        }
    }
}

fn next(k: u8) -> usize {
    [1, 2, 0][k as usize]
}

fn last(k: u8) -> usize {
    [2, 0, 1][k as usize]
}

fn index(t: usize) -> u32 {
    u32::try_from(t).unwrap_or(NONE)
}

/// Whether `d`, behind the side from a to b of a counter-clockwise triangle a, b, c, is clearly inside its
/// circle: the angles at c and d together exceed half a turn. The two triangles then make a convex square.
fn inside_circle([a, b, c, d]: [Point; 4]) -> bool {
    let (ca, cb, da, db) = (a - c, b - c, a - d, b - d);
    // sin (gamma + delta) times the four lengths, negative beyond half a turn.
    let sum = ca.cross(cb) * da.dot(db) + ca.dot(cb) * db.cross(da);
    let scale = (ca.hypot2() * cb.hypot2() * da.hypot2() * db.hypot2()).sqrt();
    sum < -GAIN * scale
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Curve, Loop, Outline, Sizing};

    #[test]
    fn a_bad_diagonal_is_flipped_and_a_good_one_kept() {
        let p = [(0.0, 0.0), (4.0, 0.0), (5.0, 1.0), (1.0, 1.0)].map(Point::from);
        // Angles at the ends of the long diagonal are small: those at the short one's are large.
        assert!(inside_circle([p[0], p[2], p[3], p[1]]), "long diagonal");
        assert!(!inside_circle([p[1], p[3], p[0], p[2]]), "short diagonal");
        let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(Point::from);
        let [a, b, c, d] = square;
        assert!(!inside_circle([a, c, d, b]) && !inside_circle([b, d, a, c]), "a square: neither");
    }

    /// A mesh of the program after its vertices were jostled: the flipped triangles are Delaunay, cover the
    /// same area and keep every outline edge.
    #[test]
    fn jostled_triangles_are_delaunay_again() {
        let corners = [(0.0, 0.0), (30.0, 0.0), (30.0, 14.0), (0.0, 14.0)].map(Point::from);
        let curves = (0..4).map(|i| Curve::Line(corners[i], corners[(i + 1) % 4])).collect();
        let outline =
            Outline::new(vec![Loop { curves, origin: "plate".into() }], Vec::new()).unwrap();
        let arrangement = crate::arrangement::arrange(&outline);
        let sizing = Sizing { coarsest: Some(1.0), ..Sizing::default() };
        let (field, tips) =
            crate::sizing::SizeField::new(&outline, &arrangement, &sizing, &|| false).unwrap();
        let (points, edges) =
            crate::division::divide(&arrangement, &field, &tips, 100_000).unwrap();
        let mut net = Net::new(&arrangement.strands, &tips, points, edges);
        let triangles = crate::refine::refine(&mut net, &field, 30.0, 100_000, &|| false).unwrap();
        for v in (0..net.points.len()).filter(|&v| !net.fixed[v]) {
            let angle = 2.4 * v as f64;
            net.points[v] += kurbo::Vec2::from_angle(angle) * 0.12;
        }
        let flipped = net.flipped(&triangles).expect("nothing is turned over by 0.12 mm");
        let area = |list: &[[usize; 3]]| -> f64 {
            list.iter()
                .map(|t| {
                    let [a, b, c] = t.map(|v| net.points[v]);
                    assert!((b - a).cross(c - a) > 0.0, "upright");
                    0.5 * (b - a).cross(c - a)
                })
                .sum()
        };
        assert!((area(&flipped) - 420.0).abs() < 1e-9, "the whole plate");
        assert_ne!(flipped, triangles, "there was something to flip");
        let near = Neighbourhood::new(&flipped).unwrap();
        for t in 0..flipped.len() {
            for k in 0..3u8 {
                let Some((other, j)) = near.opposite(index(t), k) else { continue };
                let four = [
                    near.corners[t][k as usize],
                    near.corners[t][next(k)],
                    near.corners[t][last(k)],
                    near.corners[other as usize][last(j)],
                ];
                assert!(!inside_circle(four.map(|v| net.points[v])), "Delaunay at {four:?}");
            }
        }
    }
}
