//! The part as drawn in every picture: its place on the page, its rest outline, its regions.

use super::axis::round_step;
use super::contour::{Surface, simplified};
use super::palette;
use svg::Document;
use svg::node::element::{Definitions, Group, Line, Path, Pattern, Rectangle, Text, path::Data};
use withy_mesh::{Mesh, NodeId};

/// What a region does in the model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Kept still, in both directions or along one.
    Held,
    /// Moved by the draw.
    Driven,
    /// Under a dead force or moment.
    Loaded,
}

/// A region to mark.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Its name in the part file.
    pub name: String,
    /// What it does.
    pub role: Role,
    /// Its nodes.
    pub nodes: Vec<NodeId>,
    /// From where to where it goes at full draw, or along which it is pushed (mm); none if still.
    pub arrow: Option<[f64; 2]>,
}

/// Borders are simplified by this much of the page (px): a tenth of a stroke.
pub(super) const SIMPLIFY_PX: f64 = 0.06;

/// Maps the part's millimetres, y up, to the page's pixels, y down.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    scale: f64,
    left: f64,
    bottom: f64,
    /// Borders are simplified by this much (px).
    simplify: f64,
}

impl View {
    /// Fits points into the box `[x, y, width, height]` of the page.
    pub(super) fn fit(points: impl Iterator<Item = [f64; 2]>, [x, y, w, h]: [f64; 4]) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in points {
            for i in 0..2 {
                low[i] = if p[i] < low[i] { p[i] } else { low[i] };
                high[i] = if p[i] > high[i] { p[i] } else { high[i] };
            }
        }
        let size = [high[0] - low[0], high[1] - low[1]];
        let (across, up) = (w / size[0], h / size[1]);
        let scale = if across < up { across } else { up };
        Self {
            scale,
            left: x + 0.5 * (w - scale * size[0]) - scale * low[0],
            bottom: y + h - 0.5 * (h - scale * size[1]) + scale * low[1],
            simplify: SIMPLIFY_PX,
        }
    }

    /// The same view with borders simplified by this much (px).
    pub(super) fn simplified_by(self, simplify: f64) -> Self {
        Self { simplify, ..self }
    }

    pub(super) fn place(&self, p: [f64; 2]) -> [f64; 2] {
        [self.left + self.scale * p[0], self.bottom - self.scale * p[1]]
    }

    /// A length on the page (px).
    pub(super) fn length(&self, mm: f64) -> f64 {
        self.scale * mm
    }

    /// Closed rings as path data.
    pub(super) fn rings(&self, rings: &[Vec<[f64; 2]>]) -> Data {
        let mut data = Data::new();
        for ring in rings {
            let ring = simplified(ring, self.simplify / self.scale);
            for (i, p) in ring.iter().enumerate() {
                let [x, y] = self.place(*p);
                let at = (rounded(x), rounded(y));
                data = if i == 0 { data.move_to(at) } else { data.line_to(at) };
            }
            data = data.close();
        }
        data
    }
}

/// Hundredths of a pixel: finer than any screen, short as text.
#[expect(
    clippy::cast_possible_truncation,
    reason = "picture coordinates are a few thousand pixels"
)]
pub(super) fn rounded(px: f64) -> f32 {
    ((px * 100.0).round() / 100.0) as f32
}

/// Node positions with displacements.
pub(super) fn displaced(mesh: &Mesh, displacements: &[[f64; 2]]) -> Vec<[f64; 2]> {
    mesh.nodes().iter().zip(displacements).map(|(p, u)| [p.x + u[0], p.y + u[1]]).collect()
}

/// Node positions at rest.
pub(super) fn at_rest(mesh: &Mesh) -> Vec<[f64; 2]> {
    mesh.nodes().iter().map(|p| [p.x, p.y]).collect()
}

/// Each chosen element as four flat triangles.
pub(super) fn surface(
    mesh: &Mesh,
    points: Vec<[f64; 2]>,
    chosen: impl Fn(usize) -> bool,
) -> Surface {
    let triangles = mesh
        .elements()
        .iter()
        .enumerate()
        .filter(|(e, _)| chosen(*e))
        .flat_map(|(_, n)| {
            let n = n.map(NodeId::index);
            [[n[0], n[3], n[5]], [n[3], n[1], n[4]], [n[5], n[4], n[2]], [n[3], n[4], n[5]]]
        })
        .collect();
    Surface::new(points, triangles)
}

/// Size of the pages that show the part (px).
pub(super) const PAGE_SIZE: [f64; 2] = [1000.0, 760.0];

/// A page that shows the part, with its heading and the hatches of its marks.
pub(super) fn part_page(title: &str, subtitle: &str) -> Document {
    super::page(PAGE_SIZE, title, subtitle).add(definitions())
}

/// All regions, and over them the arrows of those that move.
pub(super) fn marked(mesh: &Mesh, points: &[[f64; 2]], view: &View, marks: &[Mark]) -> Group {
    let regions = marks.iter().map(|m| mark(mesh, points, view, m));
    let arrows = marks.iter().filter_map(|m| motion_arrow(points, view, m));
    regions.chain(arrows).fold(Group::new(), Group::add)
}

/// What explains the picture, along its lower edge; `dashes` are those of the rest outline, if it is shown.
pub(super) fn footer(marks: &[Mark], view: &View, dashes: Option<&str>) -> Group {
    let [width, height] = PAGE_SIZE;
    Group::new().add(key(marks, [34.0, height - 34.0], dashes)).add(scale_bar(
        view,
        [width - 210.0, height - 34.0],
        120.0,
    ))
}

/// The part where no stress is shown.
pub(super) fn body_path(view: &View, rings: &[Vec<[f64; 2]>]) -> Path {
    Path::new()
        .set("d", view.rings(rings))
        .set("fill", palette::BODY)
        .set("fill-rule", "evenodd")
        .set("stroke", palette::INK)
        .set("stroke-width", 1.1)
}

/// The rest outline as a faint line.
pub(super) fn outline_path(view: &View, rings: &[Vec<[f64; 2]>]) -> Path {
    Path::new()
        .set("d", view.rings(rings))
        .set("fill", "none")
        .set("stroke", palette::REST)
        .set("stroke-width", 1)
}

/// A straight line.
pub(super) fn rule(from: [f64; 2], to: [f64; 2], colour: &str, width: f64) -> Line {
    Line::new()
        .set("x1", rounded(from[0]))
        .set("y1", rounded(from[1]))
        .set("x2", rounded(to[0]))
        .set("y2", rounded(to[1]))
        .set("stroke", colour)
        .set("stroke-width", width)
}

/// The hatch patterns that marks are filled with.
fn definitions() -> Definitions {
    let hatch = |id: &str, colour: &str, angle: f64| {
        Pattern::new()
            .set("id", id)
            .set("width", 6)
            .set("height", 6)
            .set("patternUnits", "userSpaceOnUse")
            .set("patternTransform", format!("rotate({angle})"))
            .add(
                Rectangle::new()
                    .set("width", 6)
                    .set("height", 6)
                    .set("fill", colour)
                    .set("fill-opacity", 0.14),
            )
            .add(
                Line::new()
                    .set("x2", 0)
                    .set("y2", 6)
                    .set("stroke", colour)
                    .set("stroke-width", 2.2),
            )
    };
    Definitions::new().add(hatch("held", palette::HELD, 45.0)).add(hatch(
        "driven",
        palette::DRIVEN,
        -45.0,
    ))
}

/// Draws a region where it is: hatched over its area, a thick line along its edges.
fn mark(mesh: &Mesh, points: &[[f64; 2]], view: &View, mark: &Mark) -> Group {
    let mut inside = vec![false; mesh.nodes().len()];
    for n in &mark.nodes {
        inside[n.index()] = true;
    }
    let (pattern, colour) = match mark.role {
        Role::Held => ("url(#held)", palette::HELD),
        Role::Driven | Role::Loaded => ("url(#driven)", palette::DRIVEN),
    };
    let covered = |e: usize| mesh.elements()[e].iter().all(|n| inside[n.index()]);
    let area = surface(mesh, points.to_vec(), covered).border_loops();
    let mut group = Group::new().set("fill", "none").set("stroke", colour);
    if !area.is_empty() {
        group = group.add(
            Path::new().set("d", view.rings(&area)).set("fill", pattern).set("stroke-width", 1),
        );
    }
    let mut data = Data::new();
    for edge in mesh.boundary().iter().filter(|e| e.nodes.iter().all(|n| inside[n.index()])) {
        for (i, n) in edge.nodes.iter().enumerate() {
            let [x, y] = view.place(points[n.index()]);
            let at = (rounded(x), rounded(y));
            data = if i == 0 { data.move_to(at) } else { data.line_to(at) };
        }
    }
    group.add(
        Path::new()
            .set("d", data)
            .set("stroke-width", 3)
            .set("stroke-linecap", "round")
            .set("stroke-linejoin", "round"),
    )
}

/// An arrow between two places of the page.
fn arrow(from: [f64; 2], to: [f64; 2], colour: &str) -> Group {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let length = dx.hypot(dy);
    let (ux, uy) = if length > 0.0 { (dx / length, dy / length) } else { (1.0, 0.0) };
    let head = |along: f64, across: f64| {
        (rounded(to[0] - along * ux - across * uy), rounded(to[1] - along * uy + across * ux))
    };
    let shaft = Line::new()
        .set("x1", rounded(from[0]))
        .set("y1", rounded(from[1]))
        .set("x2", rounded(to[0] - 9.0 * ux))
        .set("y2", rounded(to[1] - 9.0 * uy));
    let tip = Path::new()
        .set(
            "d",
            Data::new()
                .move_to(head(0.0, 0.0))
                .line_to(head(13.0, 6.0))
                .line_to(head(13.0, -6.0))
                .close(),
        )
        .set("fill", colour)
        .set("stroke", "none");
    // A pale rim keeps the arrow readable over dark stress.
    Group::new()
        .add(
            shaft
                .clone()
                .set("stroke", palette::PAGE)
                .set("stroke-width", 6)
                .set("stroke-opacity", 0.8),
        )
        .add(shaft.set("stroke", colour).set("stroke-width", 3))
        .add(tip)
}

/// The arrow of a mark that moves or is pushed, long enough to see.
fn motion_arrow(points: &[[f64; 2]], view: &View, mark: &Mark) -> Option<Group> {
    let motion = mark.arrow?;
    let size = motion[0].hypot(motion[1]);
    if size.is_nan() || size <= 0.0 || mark.nodes.is_empty() {
        return None;
    }
    let count = mark.nodes.len() as f64;
    let center =
        [0, 1].map(|i| mark.nodes.iter().map(|n| points[n.index()][i]).sum::<f64>() / count);
    let [x, y] = view.place(center);
    // A force has no length in the part's millimetres.
    let length = match mark.role {
        Role::Loaded => FORCE_ARROW_PX,
        Role::Held | Role::Driven => withy_mesh::number::max(view.length(size), SHORTEST_ARROW_PX),
    };
    let direction = [motion[0] / size, -motion[1] / size];
    let half = [0.5 * length * direction[0], 0.5 * length * direction[1]];
    Some(arrow([x - half[0], y - half[1]], [x + half[0], y + half[1]], palette::DRIVEN))
}

/// Shorter arrows are not seen as arrows (px).
const SHORTEST_ARROW_PX: f64 = 46.0;
/// Arrows of forces (px).
const FORCE_ARROW_PX: f64 = 60.0;

/// A line of text.
pub(super) fn text(content: &str, [x, y]: [f64; 2], size: f64, colour: &str) -> Text {
    Text::new(content)
        .set("x", rounded(x))
        .set("y", rounded(y))
        .set("font-size", size)
        .set("fill", colour)
}

/// A bar of a round number of millimetres, about a fifth of the picture.
fn scale_bar(view: &View, [x, y]: [f64; 2], widest: f64) -> Group {
    let mut mm = round_step(0.55 * widest / view.scale);
    if view.length(mm) > widest {
        mm = round_step(0.2 * widest / view.scale);
    }
    let end = x + view.length(mm);
    let tick = |at: f64| {
        Line::new()
            .set("x1", rounded(at))
            .set("x2", rounded(at))
            .set("y1", y - 5.0)
            .set("y2", y + 5.0)
    };
    Group::new()
        .set("stroke", palette::INK)
        .set("stroke-width", 1.5)
        .add(Line::new().set("x1", rounded(x)).set("x2", rounded(end)).set("y1", y).set("y2", y))
        .add(tick(x))
        .add(tick(end))
        .add(
            text(&format!("{mm} mm"), [end + 8.0, y + 5.0], 14.0, palette::INK)
                .set("stroke", "none"),
        )
}

/// The key to the marks under a picture, with a sample of the line at rest in these dashes.
fn key(marks: &[Mark], [x, y]: [f64; 2], dashes: Option<&str>) -> Group {
    let mut group = Group::new();
    let mut at = x;
    let mut entry = |sample: Group, label: &str| {
        let taken = std::mem::replace(&mut group, Group::new());
        group = taken.add(sample).add(text(label, [at + 30.0, y + 5.0], 14.0, palette::INK));
        at += 54.0 + 7.4 * label.chars().count() as f64;
        at
    };
    let swatch = |at: f64, fill: &str, stroke: &str| {
        Group::new().add(
            Rectangle::new()
                .set("x", rounded(at))
                .set("y", y - 8.0)
                .set("width", 22)
                .set("height", 16)
                .set("fill", fill)
                .set("stroke", stroke),
        )
    };
    let names = |role: Role| {
        let list: Vec<&str> =
            marks.iter().filter(|m| m.role == role).map(|m| m.name.as_str()).collect();
        list.join(", ")
    };
    let mut next = x;
    for (role, word, fill, colour) in [
        (Role::Held, "held", "url(#held)", palette::HELD),
        (Role::Driven, "driven", "url(#driven)", palette::DRIVEN),
        (Role::Loaded, "loaded", "url(#driven)", palette::DRIVEN),
    ] {
        if marks.iter().any(|m| m.role == role) {
            next = entry(swatch(next, fill, colour), &format!("{word}: {}", names(role)));
        }
    }
    if let Some(dashes) = dashes {
        let line = rule([next, y], [next + 22.0, y], palette::REST, 1.5);
        entry(Group::new().add(line.set("stroke-dasharray", dashes)), "at rest");
    }
    group
}
