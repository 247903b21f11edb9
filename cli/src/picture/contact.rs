//! What the part pushes: rails and pins where they are, pressure as a comb into the edges that bear it.

use super::axis::three_digits;
use super::palette;
use super::part::{PAGE_SIZE, View, rounded, rule, text};
use crate::case::Obstacle;
use svg::node::element::{Circle, Group};
use withy_mesh::Mesh;
use withy_mesh::number::{largest, min};
use withy_solver::{Pushing, Shape, Touch};

/// The longest tooth of the comb (px).
const TOOTH_PX: f64 = 26.0;
/// Strokes on the solid side of a rail: how far apart, how long (px).
const STROKES_PX: [f64; 2] = [9.0, 8.0];
/// No rail has more of them (its scale may be anything).
const MOST_STROKES: u32 = 400;
/// So many touches are named under a picture.
const NAMED: usize = 3;

/// What the part may meet, and where it pushes.
#[derive(Clone, Copy, Debug)]
pub struct Met<'a> {
    /// Rails and pins.
    pub obstacles: &'a [Obstacle],
    /// What pushes in the state that is shown; none at rest.
    pub pushing: Option<&'a Pushing>,
}

impl Met<'_> {
    /// Places that a picture has to hold besides the part: where things are that it may push (mm).
    pub(super) fn extent(&self) -> impl Iterator<Item = [f64; 2]> {
        self.obstacles.iter().flat_map(|o| match o.shape {
            Shape::Rail { from, to } => [from, to],
            Shape::Pin { at, radius } => [-radius, radius].map(|r| at.map(|x| x + r)),
        })
    }

    /// Rails and pins.
    pub(super) fn drawn(&self, view: &View) -> Group {
        self.obstacles.iter().fold(Group::new(), |group, o| {
            group.add(match o.shape {
                Shape::Rail { from, to } => rail(view.place(from), view.place(to)),
                Shape::Pin { at, radius } => pin(view.place(at), view.length(radius)),
            })
        })
    }

    /// The pressure on edges, each tooth as long as its pressure; `points` are the nodes' places now.
    pub(super) fn comb(&self, mesh: &Mesh, points: &[[f64; 2]], view: &View) -> Group {
        let all = || self.pushing.into_iter().flat_map(|p| &p.touches).flat_map(|t| &t.points);
        let highest = largest(0.0, all().map(|p| p.pressure));
        let mut group = Group::new().set("stroke-opacity", 0.85);
        for point in all().filter(|_| highest > 0.0) {
            let nodes = mesh.boundary()[point.edge].nodes;
            let [a, b] = [nodes[0], nodes[2]].map(|n| view.place(points[n.index()]));
            let along = [b[0] - a[0], b[1] - a[1]];
            let length = along[0].hypot(along[1]);
            // The material is on the left of its border; on the page y goes down.
            let inward = [along[1] / length, -along[0] / length];
            let from = view.place(point.now);
            let tooth = TOOTH_PX * point.pressure / highest;
            let to = [0, 1].map(|i| from[i] + tooth * inward[i]);
            group = group.add(rule(from, to, palette::PRESSED, 1.6));
        }
        group
    }

    /// Who pushes how hard, in a line under the picture.
    pub(super) fn line(&self) -> Group {
        let touches = self.pushing.map_or(&[][..], |p| &p.touches[..]);
        if touches.is_empty() {
            return Group::new();
        }
        let mut words: Vec<String> = touches.iter().take(NAMED).map(said).collect();
        if touches.len() > NAMED {
            words.push(format!("and {} more", touches.len() - NAMED));
        }
        let [_, height] = PAGE_SIZE;
        let sentence = format!("pushes {}", words.join("; "));
        Group::new().add(text(&sentence, [34.0, height - 60.0], 14.0, palette::PRESSED))
    }
}

/// "pin 1 with 19.0 N, at most 310 MPa".
#[must_use]
pub fn said(touch: &Touch) -> String {
    let what = touch.obstacle.as_deref().unwrap_or("itself");
    let force = touch.force[0].hypot(touch.force[1]);
    let peak = touch.peak().map_or(0.0, |p| p.pressure);
    format!("{what} with {} N, at most {} MPa", three_digits(force), three_digits(peak))
}

/// A line with strokes on its solid side, the right one on the way from its first end to the second.
fn rail(from: [f64; 2], to: [f64; 2]) -> Group {
    let way = [to[0] - from[0], to[1] - from[1]];
    let length = way[0].hypot(way[1]);
    let along = way.map(|w| w / length);
    // To the right of the way, on a page with y down.
    let solid = [-along[1], along[0]];
    let [apart, long] = STROKES_PX;
    let mut group = Group::new().add(rule(from, to, palette::INK, 2.0));
    for k in 0..MOST_STROKES {
        let at = apart * (f64::from(k) + 0.5);
        if at > length {
            break;
        }
        let start = [0, 1].map(|i| from[i] + at * along[i]);
        let end = [0, 1].map(|i| start[i] + long * (solid[i] - 0.7 * along[i]));
        group = group.add(rule(start, end, palette::INK, 1.0));
    }
    group
}

fn pin(centre: [f64; 2], radius: f64) -> Group {
    let arm = min(0.5 * radius, 5.0);
    let [x, y] = centre;
    let circle = Circle::new()
        .set("cx", rounded(x))
        .set("cy", rounded(y))
        .set("r", rounded(radius))
        .set("fill", palette::PAGE)
        .set("stroke", palette::INK)
        .set("stroke-width", 2);
    Group::new().add(circle).add(rule([x - arm, y], [x + arm, y], palette::INK, 1.0)).add(rule(
        [x, y - arm],
        [x, y + arm],
        palette::INK,
        1.0,
    ))
}
