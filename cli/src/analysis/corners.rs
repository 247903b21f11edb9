//! Sharp re-entrant corners: the elastic stress there has no finite value.

use super::hot_spot::{HotSpot, SpotKind};
use crate::case::Case;
use crate::picture::three_digits;
use crate::remark::Remark;
use crate::table::first_few;
use withy_mesh::Mesh;
use withy_mesh::number::max;

/// A joint of two pieces of the outline counts as sharp when it turns inwards by more than this
/// (rad). Below it the singularity is so weak (exponent under 0.1) that a facetted curve, as some
/// drawing programs write it, is meant.
const SHARP_TURN: f64 = 0.35;

/// A sharp re-entrant corner: the elastic stress there has no finite value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Place at rest (mm).
    pub at: [f64; 2],
    /// Interior angle (rad).
    pub angle: f64,
    /// Stresses closer than this are left out of peaks (mm).
    pub radius: f64,
}

/// A remark names at most so many corners.
const MOST_NAMED: usize = 8;

/// Sharp re-entrant corners of a case's part, with the zone around each that the first mesh gives it.
///
/// Corners inside or on a held, driven or loaded region are not listed: stress there is artificial
/// anyway.
#[must_use]
pub fn corners(case: &Case, mesh: &Mesh) -> Vec<Corner> {
    let acting: Vec<&str> = case
        .holds
        .iter()
        .map(|h| h.region.as_str())
        .chain(case.drives.iter().map(|d| d.region.as_str()))
        .chain(case.loads.iter().map(|l| l.region.as_str()))
        .collect();
    let regions = mesh.regions().iter().filter(|r| acting.contains(&r.name.as_str()));
    let mut taken = vec![false; mesh.nodes().len()];
    for n in regions.flat_map(|r| &r.nodes) {
        taken[n.index()] = true;
    }
    let mut longest_edge = vec![0.0; mesh.nodes().len()];
    for e in mesh.elements() {
        let p = [0, 1, 2].map(|k| mesh.nodes()[e[k].index()]);
        for k in 0..3 {
            let length = p[k].distance(p[(k + 1) % 3]);
            for end in [e[k], e[(k + 1) % 3]] {
                longest_edge[end.index()] = max(longest_edge[end.index()], length);
            }
        }
    }
    let border = Neighbours::new(mesh, mesh.boundary().iter().map(|e| e.nodes[0].index()));
    case.outline
        .sharp_reentrant_corners()
        .into_iter()
        .filter(|c| c.angle > std::f64::consts::PI + SHARP_TURN)
        .filter_map(|c| {
            let at = [c.at.x, c.at.y];
            let node = border.nearest(at)?;
            (!taken[node]).then_some(Corner { at, angle: c.angle, radius: longest_edge[node] })
        })
        .collect()
}

/// The nodes of a mesh in the zone of each corner.
pub(super) fn zones(mesh: &Mesh, corners: &[Corner]) -> Vec<Vec<usize>> {
    if corners.is_empty() {
        return Vec::new();
    }
    let all = Neighbours::new(mesh, 0..mesh.nodes().len());
    corners.iter().map(|c| all.within(c.at, c.radius)).collect()
}

/// Nodes whose stress is artificial or singular.
pub(super) fn left_out(mesh: &Mesh, artificial: &[bool], corners: &[Corner]) -> Vec<bool> {
    let mut left_out = artificial.to_vec();
    for node in zones(mesh, corners).into_iter().flatten() {
        left_out[node] = true;
    }
    left_out
}

/// The node at the joint of the outline that is nearest to a place at rest.
pub(super) fn nearest_border_node(mesh: &Mesh, at: [f64; 2]) -> Option<usize> {
    Neighbours::new(mesh, mesh.boundary().iter().map(|e| e.nodes[0].index())).nearest(at)
}

/// Nodes sorted from left to right: those near a place are found in a narrow column.
struct Neighbours {
    /// Place and node.
    sorted: Vec<([f64; 2], usize)>,
}

impl Neighbours {
    fn new(mesh: &Mesh, nodes: impl Iterator<Item = usize>) -> Self {
        let place = |n: usize| [mesh.nodes()[n].x, mesh.nodes()[n].y];
        let mut sorted: Vec<_> = nodes.map(|n| (place(n), n)).collect();
        sorted.sort_by(|(a, i), (b, j)| a[0].total_cmp(&b[0]).then(i.cmp(j)));
        Self { sorted }
    }

    fn within(&self, at: [f64; 2], radius: f64) -> Vec<usize> {
        let from = self.sorted.partition_point(|(p, _)| p[0] < at[0] - radius);
        let column = self.sorted[from..].iter().take_while(|(p, _)| p[0] <= at[0] + radius);
        column.filter(|(p, _)| distance(*p, at) <= radius).map(|(_, n)| *n).collect()
    }

    fn nearest(&self, at: [f64; 2]) -> Option<usize> {
        let middle = self.sorted.partition_point(|(p, _)| p[0] < at[0]);
        let mut best: Option<(f64, usize)> = None;
        let mut look = |(p, n): &([f64; 2], usize)| {
            if best.is_some_and(|(least, _)| (p[0] - at[0]).abs() > least) {
                return false;
            }
            let d = distance(*p, at);
            if best.is_none_or(|(least, _)| d < least) {
                best = Some((d, *n));
            }
            true
        };
        self.sorted[middle..].iter().all(&mut look);
        self.sorted[..middle].iter().rev().all(&mut look);
        best.map(|(_, n)| n)
    }
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Says where the outline's own corners make the stress unbounded.
pub(super) fn remark_on_corners(spot: &HotSpot, corners: &[Corner], remarks: &mut Vec<Remark>) {
    if corners.is_empty() {
        return;
    }
    let places: Vec<String> = corners
        .iter()
        .map(|c| format!("({}, {})", three_digits(c.at[0]), three_digits(c.at[1])))
        .collect();
    let places = first_few(&places, MOST_NAMED, ", ", " mm");
    remarks.push(match spot.kind {
        SpotKind::SharpCorner => Remark::caution(
            "sharp-corner",
            format!(
                "the part suffers most at a sharp re-entrant corner, where the stress has no finite \
                 value: it grows with every finer mesh, and cracks start there. Round it in the \
                 drawing, or with fillet in [outline]. Corners at {places}"
            ),
        ),
        SpotKind::Finite => Remark::note(
            "sharp-corner",
            format!(
                "no stress is given at sharp re-entrant corners, where it has no finite value; they \
                 suffer less than the hot spot here. Corners at {places}"
            ),
        ),
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use withy_mesh::{Curve, Loop, Outline, Point, Sizing, mesh_outline};

    #[test]
    fn neighbours_are_those_that_a_full_search_finds() {
        let p = [(0.0, 0.0), (7.0, 0.0), (9.0, 4.0), (1.0, 3.0)].map(Point::from);
        let curves = (0..4).map(|i| Curve::Line(p[i], p[(i + 1) % 4])).collect();
        let outline = Outline::new(vec![Loop { curves, origin: "quad".into() }], Vec::new());
        let mesh = mesh_outline(&outline.unwrap(), &Sizing::default()).unwrap();
        let all = Neighbours::new(&mesh, 0..mesh.nodes().len());
        let place = |n: usize| [mesh.nodes()[n].x, mesh.nodes()[n].y];
        for at in [[0.1, 0.2], [4.0, 1.7], [12.0, 9.0], [-3.0, 2.0], [7.0, 0.0]] {
            let nearest = all.nearest(at).unwrap();
            let mut within = all.within(at, 1.1);
            within.sort_unstable();
            let expected: Vec<usize> =
                (0..mesh.nodes().len()).filter(|&n| distance(place(n), at) <= 1.1).collect();
            assert_eq!(within, expected, "within 1.1 of {at:?}");
            let least = (0..mesh.nodes().len()).map(|n| distance(place(n), at));
            let least = least.fold(f64::INFINITY, withy_mesh::number::min);
            assert!((distance(place(nearest), at) - least).abs() < 1e-15, "nearest to {at:?}");
        }
    }
}
