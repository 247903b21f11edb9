//! Better shaped triangles by moving the vertices that lie on no strand.
//!
//! Optimal Delaunay smoothing: a vertex moves to the mean of the circumcentres of its triangles,
//! weighted with their areas (Chen and Xu, "Optimal Delaunay triangulations", 2004), here divided
//! by the square of the wanted size so that graded meshes stay graded. Vertices are dropped where edges are much
//! too short, and the triangulation is rebuilt between the steps. At the end, stars with a small
//! angle are improved directly: a pattern search moves one vertex at a time so that the smallest
//! angle around it grows.

use crate::error::MeshError;
use crate::refine::{circumcenter, largest_cotangent};
use crate::sizing::SizeField;
use crate::triangulate::{Net, key};
use kurbo::{Point, Vec2};
use rustc_hash::FxHashSet;

/// Rounds of dropping, smoothing and rebuilding: four are where the gain ends.
const ROUNDS: usize = 4;
const STEPS_PER_ROUND: usize = 2;
/// An edge shorter than this part of the wanted size loses a vertex.
const SHORT_EDGE: f64 = 0.6;
/// A vertex lower than this above an edge of the net, relative to its length, is dropped.
const LOW_APEX: f64 = 0.4;
/// Stars below this angle (degrees) are searched for a better place of their vertex.
const SEARCH_BELOW_DEG: f64 = 34.0;
/// Rounds of the search, each followed by a new triangulation.
const SEARCH_ROUNDS: usize = 4;
/// Smoothing must not make a good star worse than this (degrees).
const KEEP_DEG: f64 = 25.0;

/// Triangles around each vertex, in one list.
struct Stars {
    first: Vec<usize>,
    triangles: Vec<usize>,
}

impl Stars {
    fn new(points: usize, triangles: &[[usize; 3]]) -> Self {
        let mut first = vec![0; points + 1];
        triangles.iter().flatten().for_each(|&v| first[v + 1] += 1);
        for v in 0..points {
            first[v + 1] += first[v];
        }
        let mut next = first.clone();
        let mut list = vec![0; 3 * triangles.len()];
        for (t, corners) in triangles.iter().enumerate() {
            for &v in corners {
                list[next[v]] = t;
                next[v] += 1;
            }
        }
        Self { first, triangles: list }
    }

    fn of(&self, v: usize) -> &[usize] {
        &self.triangles[self.first[v]..self.first[v + 1]]
    }
}

/// Smooths the mesh; returns its triangles.
pub(crate) fn smooth(
    net: &mut Net<'_>,
    mut triangles: Vec<[usize; 3]>,
    field: &SizeField,
    size: f64,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<[usize; 3]>, MeshError> {
    // Vertices move by a fraction of the size, which changes by a quarter of that: it is asked for once.
    for _ in 0..ROUNDS {
        if stop() {
            return Err(MeshError::Interrupted);
        }
        find_sizes(net, &triangles, field);
        if drop_short(net, &triangles, field) {
            triangles = net.conform(size)?.1;
            find_sizes(net, &triangles, field);
        }
        let stars = Stars::new(net.points.len(), &triangles);
        for _ in 0..STEPS_PER_ROUND {
            for v in (0..net.points.len()).filter(|&v| !net.fixed[v]) {
                move_to_center(&mut net.points, v, stars.of(v), &triangles, &net.wanted);
            }
        }
        triangles = reconnected(net, &triangles, size)?;
    }
    for _ in 0..SEARCH_ROUNDS {
        if stop() {
            return Err(MeshError::Interrupted);
        }
        let stars = Stars::new(net.points.len(), &triangles);
        let mut moved = false;
        for v in (0..net.points.len()).filter(|&v| !net.fixed[v]) {
            moved |= search(&mut net.points, v, stars.of(v), &triangles);
        }
        if !moved {
            break;
        }
        triangles = reconnected(net, &triangles, size)?;
    }
    Ok(triangles)
}

/// Asks for the size at each vertex where it is not known yet.
fn find_sizes(net: &mut Net<'_>, triangles: &[[usize; 3]], field: &SizeField) {
    // Triangle by triangle, so that each place is near the one before.
    for &v in triangles.iter().flatten() {
        if net.wanted[v].is_nan() {
            net.wanted[v] = field.at(net.points[v]);
        }
    }
}

/// The triangles of vertices that have moved: by flips, or else made anew.
fn reconnected(
    net: &mut Net<'_>,
    triangles: &[[usize; 3]],
    size: f64,
) -> Result<Vec<[usize; 3]>, MeshError> {
    match net.flipped(triangles) {
        Some(triangles) => Ok(triangles),
        None => Ok(net.conform(size)?.1),
    }
}

fn corners(points: &[Point], triangle: [usize; 3]) -> [Point; 3] {
    triangle.map(|v| points[v])
}

/// Removes one movable end of every edge that is much too short, not two in one neighbourhood.
fn drop_short(net: &mut Net<'_>, triangles: &[[usize; 3]], field: &SizeField) -> bool {
    let mut marked = vec![false; net.points.len()];
    let mut touched = vec![false; net.points.len()];
    let mut any = false;
    let stars = Stars::new(net.points.len(), triangles);
    let edges: FxHashSet<(usize, usize)> =
        net.edges.iter().map(|e| key(e.ends[0], e.ends[1])).collect();
    for t in triangles {
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            let (p, q) = (net.points[a], net.points[b]);
            let free = if net.fixed[a] { b } else { a };
            let length = p.distance(q);
            let mut drop = None;
            if !net.fixed[free]
                && !touched[a]
                && !touched[b]
                // Asking for the size at the middle is dear; mostly the ends' sizes rule it out.
                && length < SHORT_EDGE * SizeField::most_within(net.wanted[a], 0.5 * length)
                && length < SHORT_EDGE * field.at(p.midpoint(q))
            {
                drop = Some(free);
            }
            // A vertex that a halved edge has come too close to.
            let apex = t[(k + 2) % 3];
            if drop.is_none() && net.fixed[a] && net.fixed[b] && !net.fixed[apex] && !touched[apex]
            {
                let height = (q - p).cross(net.points[apex] - p) / length;
                if height < LOW_APEX * length && edges.contains(&key(a, b)) {
                    drop = Some(apex);
                }
            }
            if let Some(v) = drop {
                marked[v] = true;
                any = true;
                for &s in stars.of(v) {
                    triangles[s].iter().for_each(|&v| touched[v] = true);
                }
            }
        }
    }
    if any {
        net.remove(&marked);
    }
    any
}

/// The smallest angle of a star (degrees), negative if one of its triangles is turned over.
fn star_angle(points: &[Point], star: &[usize], triangles: &[[usize; 3]]) -> f64 {
    let mut most = f64::NEG_INFINITY;
    for &t in star {
        let p = corners(points, triangles[t]);
        if !((p[1] - p[0]).cross(p[2] - p[0]) > 0.0) {
            return -1.0;
        }
        most = crate::number::max(most, largest_cotangent(p).0);
    }
    1.0f64.atan2(most).to_degrees()
}

fn move_to_center(
    points: &mut [Point],
    v: usize,
    star: &[usize],
    triangles: &[[usize; 3]],
    wanted: &[f64],
) {
    let old = points[v];
    let (mut sum, mut weights) = (Vec2::ZERO, 0.0);
    for &t in star {
        let p = corners(points, triangles[t]);
        let area = (p[1] - p[0]).cross(p[2] - p[0]);
        let h: f64 = triangles[t].iter().map(|&k| wanted[k]).sum();
        let weight = area / (h * h);
        sum += (circumcenter(p) - old) * weight;
        weights += weight;
    }
    let shift = sum / weights;
    if !shift.is_finite() {
        return;
    }
    points[v] = old + shift;
    let after = star_angle(points, star, triangles);
    if !(after >= KEEP_DEG) {
        points[v] = old;
        if after > star_angle(points, star, triangles) {
            points[v] = old + shift;
        }
    }
}

/// Moves a vertex of a bad star to where the smallest angle around it is larger.
fn search(points: &mut [Point], v: usize, star: &[usize], triangles: &[[usize; 3]]) -> bool {
    let mut best = star_angle(points, star, triangles);
    if !(best < SEARCH_BELOW_DEG) || star.is_empty() {
        return false;
    }
    let reach: f64 =
        star.iter().flat_map(|&t| triangles[t]).map(|k| points[k].distance(points[v])).sum::<f64>()
            / (2.0 * star.len() as f64);
    let mut step = 0.3 * reach;
    let mut moved = false;
    for _ in 0..10 {
        let old = points[v];
        let mut at = old;
        for k in 0..8u32 {
            let angle = f64::from(k) * std::f64::consts::FRAC_PI_4;
            points[v] = old + Vec2::from_angle(angle) * step;
            let angle = star_angle(points, star, triangles);
            if angle > best + 1e-3 {
                (best, at) = (angle, points[v]);
            }
        }
        points[v] = at;
        if at == old {
            step *= 0.5;
        } else {
            moved = true;
        }
    }
    moved
}
