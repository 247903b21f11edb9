//! Triangles with what lies along each of their sides.
//!
//! Side `3 t + k` of triangle t goes from its corner k to its corner k + 1; its twin is the same side seen from
//! the other triangle. Everything lies in flat lists, triangle by triangle along the numbers of the vertices, so
//! that walks around a vertex stay in the cache if vertices of neighbouring numbers are neighbours in place.

use crate::triangulate::Net;
use kurbo::Point;

/// No side, and no edge of the net.
pub(crate) const NONE: u32 = u32::MAX;

/// The triangles of the material.
#[derive(Clone, Debug)]
pub(crate) struct Surface {
    /// For every side the vertex where it begins.
    from: Vec<u32>,
    /// For every side its twin, or [`NONE`] at the border.
    twin: Vec<u32>,
    /// For every side the edge of the net that it lies on, or [`NONE`].
    edge: Vec<u32>,
    /// For every vertex a side that begins there, or [`NONE`].
    first: Vec<u32>,
}

/// The side that follows in the same triangle.
pub(crate) fn next(side: u32) -> u32 {
    if side % 3 == 2 { side - 2 } else { side + 1 }
}

/// The side before in the same triangle.
pub(crate) fn previous(side: u32) -> u32 {
    if side.is_multiple_of(3) { side + 2 } else { side - 1 }
}

/// Numbers of vertices and sides are kept short: the largest mesh has far fewer than 2^32 of them.
pub(crate) fn short(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(NONE)
}

impl Surface {
    /// The surface of counter-clockwise triangles in which no side occurs twice in the same direction.
    pub(crate) fn new(net: &Net<'_>, triangles: &[[usize; 3]]) -> Self {
        let n = net.points.len();
        let given: Vec<u32> = triangles.iter().flatten().map(|&v| short(v)).collect();
        let leaving = Leaving::new(n, &given);
        let mut from = Vec::with_capacity(given.len());
        // In the order of their least corners, which come first.
        for v in 0..n {
            for &side in leaving.of(v) {
                let corners = [side, next(side), previous(side)].map(|s| given[s as usize]);
                if corners[0] < corners[1] && corners[0] < corners[2] {
                    from.extend(corners);
                }
            }
        }
        let leaving = Leaving::new(n, &from);
        let first = (0..n).map(|v| leaving.of(v).first().copied().unwrap_or(NONE)).collect();
        let (twin, edge) = (vec![NONE; from.len()], vec![NONE; from.len()]);
        let mut surface = Self { from, twin, edge, first };
        for side in 0..surface.sides() {
            if surface.twin[side as usize] == NONE {
                let (a, b) = (surface.from(side), surface.to(side));
                if let Some(&twin) = leaving.of(b as usize).iter().find(|&&s| surface.to(s) == a) {
                    surface.twin[side as usize] = twin;
                    surface.twin[twin as usize] = side;
                }
            }
        }
        for (e, edge) in net.edges.iter().enumerate() {
            let [a, b] = edge.ends;
            for (a, b) in [(a, short(b)), (b, short(a))] {
                if let Some(&side) = leaving.of(a).iter().find(|&&s| surface.to(s) == b) {
                    surface.edge[side as usize] = short(e);
                }
            }
        }
        surface
    }

    /// Number of sides, three to a triangle.
    pub(crate) fn sides(&self) -> u32 {
        short(self.from.len())
    }

    /// Number of triangles.
    pub(crate) fn len(&self) -> usize {
        self.from.len() / 3
    }

    /// The vertex where a side begins.
    pub(crate) fn from(&self, side: u32) -> u32 {
        self.from[side as usize]
    }

    /// The vertex where a side ends.
    pub(crate) fn to(&self, side: u32) -> u32 {
        self.from(next(side))
    }

    /// The same side in the triangle behind it, if there is one.
    pub(crate) fn twin(&self, side: u32) -> Option<u32> {
        let twin = self.twin[side as usize];
        (twin != NONE).then_some(twin)
    }

    /// The edge of the net that a side lies on.
    pub(crate) fn edge(&self, side: u32) -> Option<usize> {
        let edge = self.edge[side as usize];
        (edge != NONE).then_some(edge as usize)
    }

    /// The corners of a triangle.
    pub(crate) fn corners(&self, t: usize) -> [usize; 3] {
        [0, 1, 2].map(|k| self.from[3 * t + k] as usize)
    }

    /// The corners of all triangles.
    pub(crate) fn triangles(&self) -> impl Iterator<Item = [usize; 3]> {
        (0..self.len()).map(|t| self.corners(t))
    }

    /// The sides that begin at a vertex in the inside of the material, counter-clockwise.
    pub(crate) fn spokes(&self, v: usize) -> impl Iterator<Item = u32> {
        let first = self.first[v];
        let known = (first != NONE).then_some(first);
        std::iter::successors(known, move |&s| self.twin(previous(s)).filter(|&t| t != first))
    }

    /// Whether a triangle is counter-clockwise.
    pub(crate) fn is_upright(&self, points: &[Point], t: usize) -> bool {
        let [a, b, c] = self.corners(t).map(|v| points[v]);
        (b - a).cross(c - a) > 0.0
    }

    /// Puts the other diagonal into the square of the triangles at both sides of a side.
    ///
    /// With a side from a to b, c behind it and d beyond its twin, the triangles become (c, a, d) and (d, b, c).
    pub(crate) fn flip(&mut self, side: u32, twin: u32) {
        let (bc, ca) = (next(side), previous(side));
        let (ad, db) = (next(twin), previous(twin));
        let [a, b, c, d] = [side, twin, ca, db].map(|s| self.from(s));
        let outer = [bc, ca, ad, db].map(|s| (self.twin[s as usize], self.edge[s as usize]));
        // In the places of the old sides: c-a, a-d, d-c in the one triangle and d-b, b-c, c-d in the other.
        let places = [ca, side, bc, db, twin, ad];
        for (place, v) in places.into_iter().zip([c, a, d, d, b, c]) {
            self.from[place as usize] = v;
            self.first[v as usize] = place;
        }
        for (place, (twin, edge)) in
            [(ca, outer[1]), (side, outer[2]), (db, outer[3]), (twin, outer[0])]
        {
            self.twin[place as usize] = twin;
            self.edge[place as usize] = edge;
            if twin != NONE {
                self.twin[twin as usize] = place;
            }
        }
        self.twin[bc as usize] = ad;
        self.twin[ad as usize] = bc;
        self.edge[bc as usize] = NONE;
        self.edge[ad as usize] = NONE;
    }

    /// Puts other triangles in the place of those around a vertex, which fill the polygon of its neighbours;
    /// returns their sides. Two places of triangles stay empty until [`Surface::compact`].
    pub(crate) fn replace_star(&mut self, v: usize, triangles: &[[u32; 3]]) -> Vec<u32> {
        let spokes: Vec<u32> = self.spokes(v).collect();
        let rim: Vec<Rim> = spokes.iter().map(|&s| self.rim(next(s))).collect();
        self.first[v] = NONE;
        let mut sides = Vec::with_capacity(3 * triangles.len());
        for (k, spoke) in spokes.iter().enumerate() {
            let place = spoke - spoke % 3;
            for side in place..place + 3 {
                let i = side as usize;
                (self.from[i], self.twin[i], self.edge[i]) = (NONE, NONE, NONE);
                if let Some(triangle) = triangles.get(k) {
                    self.from[i] = triangle[i % 3];
                    self.first[self.from[i] as usize] = side;
                    sides.push(side);
                }
            }
        }
        for &side in &sides {
            let (a, b) = (self.from(side), self.to(side));
            let inner = sides.iter().find(|&&s| self.from(s) == b && self.to(s) == a).copied();
            let outer = rim.iter().find(|r| r.ends == [a, b]).map(|r| (r.twin, r.edge));
            let (twin, edge) = outer.unwrap_or((inner.unwrap_or(NONE), NONE));
            (self.twin[side as usize], self.edge[side as usize]) = (twin, edge);
            if twin != NONE {
                self.twin[twin as usize] = side;
            }
        }
        sides
    }

    fn rim(&self, side: u32) -> Rim {
        let (twin, edge) = (self.twin[side as usize], self.edge[side as usize]);
        Rim { ends: [self.from(side), self.to(side)], twin, edge }
    }

    /// Fills the empty places of triangles with the last ones.
    pub(crate) fn compact(&mut self) {
        let mut t = 0;
        while t < self.len() {
            while self.len() > t && self.from[self.from.len() - 1] == NONE {
                let sides = self.from.len() - 3;
                self.from.truncate(sides);
                self.twin.truncate(sides);
                self.edge.truncate(sides);
            }
            if t < self.len() && self.from[3 * t] == NONE {
                for k in 0..3 {
                    let (old, new) = (self.from.len() - 3 + k, 3 * t + k);
                    self.from[new] = self.from[old];
                    self.twin[new] = self.twin[old];
                    self.edge[new] = self.edge[old];
                    self.first[self.from[new] as usize] = short(new);
                    if let Some(twin) = self.twin(short(new)) {
                        self.twin[twin as usize] = short(new);
                    }
                    self.from[old] = NONE;
                }
            }
            t += 1;
        }
    }

    /// Numbers the vertices anew.
    pub(crate) fn renumber(&mut self, vertices: usize, numbers: &[usize]) {
        let mut first = vec![NONE; vertices];
        for (v, &side) in self.first.iter().enumerate() {
            if side != NONE {
                first[numbers[v]] = side;
            }
        }
        self.first = first;
        self.from.iter_mut().for_each(|v| *v = short(numbers[*v as usize]));
    }
}

/// A side of the polygon around a vertex, and what is beyond.
struct Rim {
    ends: [u32; 2],
    twin: u32,
    edge: u32,
}

/// The sides that begin at each vertex.
struct Leaving {
    start: Vec<u32>,
    sides: Vec<u32>,
}

impl Leaving {
    fn new(points: usize, from: &[u32]) -> Self {
        let mut start = vec![0u32; points + 1];
        from.iter().for_each(|&v| start[v as usize + 1] += 1);
        for v in 0..points {
            start[v + 1] += start[v];
        }
        let mut free = start.clone();
        let mut sides = vec![0; from.len()];
        for (s, &v) in from.iter().enumerate() {
            sides[free[v as usize] as usize] = short(s);
            free[v as usize] += 1;
        }
        Self { start, sides }
    }

    fn of(&self, v: usize) -> &[u32] {
        &self.sides[self.start[v] as usize..self.start[v + 1] as usize]
    }
}
