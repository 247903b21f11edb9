//! A release as a moving picture: one SVG that plays by itself in a browser. The cautions are part of it.

use super::chart::{Panel, Series, plain_line};
use super::inline::lines_inline;
use super::launch::cautions;
use super::part::{View, at_rest, displaced, outline_path, rule, surface, text};
use super::{finish, page, palette};
use svg::node::element::{Animate, Circle, Group, Line, Path};
use withy_mesh::Mesh;
use withy_solver::transient::Instant;

const WIDTH: f64 = 1000.0;
const HEIGHT: f64 = 1010.0;
const AREA: [f64; 4] = [34.0, 100.0, 560.0, 560.0];
/// What lies outside is gone.
const WINDOW: [f64; 4] = [AREA[0] - 10.0, AREA[1] - 20.0, AREA[2] + 20.0, AREA[3] + 40.0];
/// Borders may be off by this much (px): less than a tenth of what an eye sees.
const UNSEEN_PX: f64 = 0.15;
/// Seconds that the picture plays.
const PLAYS: f64 = 6.0;

/// What is drawn.
#[derive(Clone, Debug)]
pub struct MovingPicture<'a> {
    /// Title of the part.
    pub title: &'a str,
    /// What happens.
    pub subtitle: &'a str,
    /// The mesh.
    pub mesh: &'a Mesh,
    /// States: time (ms), displacements (mm).
    pub frames: &'a [(f64, Vec<[f64; 2]>)],
    /// Every moment.
    pub instants: &'a [Instant],
    /// Centre of the projectile when the region is at rest (mm), radius (mm), direction of the throw.
    pub projectile: ([f64; 2], f64, [f64; 2]),
}

/// Draws it.
#[must_use]
pub fn moving(picture: &MovingPicture) -> String {
    let times: Vec<f64> = picture.frames.iter().map(|(t, _)| *t).collect();
    let document = page([WIDTH, HEIGHT], picture.title, picture.subtitle)
        .add(motion(picture))
        .add(charts(picture, &times))
        .add(cautions(HEIGHT - 86.0));
    finish(&document)
}

/// The part alone as it moves, and the charts by time, as elements of a page.
#[must_use]
pub fn moving_inline(picture: &MovingPicture) -> (String, Vec<String>) {
    let [x, y, w, h] = WINDOW;
    let paper = svg::node::element::Rectangle::new()
        .set("x", x)
        .set("y", y)
        .set("width", w)
        .set("height", h)
        .set("fill", palette::PAGE);
    let part = svg::Document::new()
        .set("viewBox", (x, y, w, h))
        .set("role", "img")
        .add(svg::node::element::Title::new("The part as it is let go, slowed down"))
        .add(paper)
        .add(motion(picture));
    let charts = panels(picture).into_iter().map(|(label, lines)| {
        let draw = |panel: &Panel| {
            let frame = panel.frame();
            let lines = lines.iter().map(|l| plain_line(&frame, &l.points, l.colour));
            lines.fold(panel.draw_only(&[]), Group::add)
        };
        lines_inline(&format!("{label} by time"), ["ms", label], &lines, draw).0
    });
    (part.to_string(), charts.collect())
}

/// The part and what it throws.
fn motion(picture: &MovingPicture) -> Group {
    let mesh = picture.mesh;
    let mut document = Group::new();
    let rest = at_rest(mesh);
    let shapes: Vec<Vec<[f64; 2]>> =
        picture.frames.iter().map(|(_, u)| displaced(mesh, u)).collect();
    let (centre, radius, direction) = picture.projectile;
    // Room for the projectile's first way.
    let ball = [-1.0, 3.0].map(|k| [0, 1].map(|i| centre[i] + k * radius * direction[i]));
    let view = View::fit(shapes.iter().flatten().chain(&rest).copied().chain(ball), AREA);
    let outline = surface(mesh, rest.clone(), |_| true).border_loops();
    document = document.add(outline_path(&view, &outline).set("stroke-dasharray", "5 3"));
    let borders: Vec<Vec<Vec<[f64; 2]>>> = shapes
        .iter()
        .map(|points| {
            let loops = surface(mesh, points.clone(), |_| true).border_loops();
            loops.into_iter().map(|ring| ring.iter().map(|p| view.place(*p)).collect()).collect()
        })
        .collect();
    let chosen: Vec<Vec<usize>> = (0..borders.first().map_or(0, Vec::len))
        .map(|r| needed(&borders.iter().map(|b| b[r].as_slice()).collect::<Vec<_>>()))
        .collect();
    let bodies: Vec<String> = borders.iter().map(|b| rings(b, &chosen)).collect();
    if let Some(first) = bodies.first() {
        let body = Path::new()
            .set("d", first.clone())
            .set("fill", palette::BODY)
            .set("fill-rule", "evenodd")
            .set("stroke", palette::INK)
            .set("stroke-width", 1.1)
            .set("stroke-linejoin", "round")
            .add(played("d", &bodies));
        document = document.add(body);
    }
    let times: Vec<f64> = picture.frames.iter().map(|(t, _)| *t).collect();
    let nearest = |time: f64| picture.instants.iter().find(|i| i.time >= time - 1e-9);
    let balls: Vec<[f64; 2]> = times
        .iter()
        .filter_map(|t| nearest(*t))
        .map(|i| view.place([0, 1].map(|k| centre[k] + i.projectile_place * direction[k])))
        .collect();
    if let Some(first) = balls.first() {
        let of =
            |k: usize| -> Vec<String> { balls.iter().map(|b| format!("{:.1}", b[k])).collect() };
        let ball = Circle::new()
            .set("cx", first[0])
            .set("cy", first[1])
            .set("r", view.length(radius))
            .set("fill", palette::LINES[1])
            .set("fill-opacity", 0.85)
            .add(played("cx", &of(0)))
            .add(played("cy", &of(1)));
        // What has left the picture is gone.
        let [x, y, w, h] = WINDOW;
        let window = svg::node::element::ClipPath::new().set("id", "window").add(
            svg::node::element::Rectangle::new()
                .set("x", x)
                .set("y", y)
                .set("width", w)
                .set("height", h),
        );
        document =
            document.add(window).add(Group::new().set("clip-path", "url(#window)").add(ball));
    }
    document
}

/// Speeds, energies and forces by time, each with its label.
fn panels(picture: &MovingPicture) -> [(&'static str, Vec<Series>); 3] {
    let series = |name: &str, colour, value: &dyn Fn(&Instant) -> f64| Series {
        name: name.to_owned(),
        colour,
        points: picture.instants.iter().step_by(3).map(|i| [i.time, value(i)]).collect(),
        hollow: Vec::new(),
        aside: true,
    };
    [
        (
            "speed along the throw, m/s",
            vec![
                series("projectile", palette::LINES[1], &|i| i.projectile_speed),
                series("carriage", palette::LINES[0], &|i| i.speed),
            ],
        ),
        (
            "energy, mJ",
            vec![
                series("stored", palette::LINES[2], &|i| i.strain_energy),
                series("projectile", palette::LINES[1], &|i| i.projectile_energy),
                series("part", palette::LINES[3], &|i| i.kinetic),
            ],
        ),
        (
            "force on what holds it, N",
            vec![series("", palette::LINES[0], &|i| i.frame_force[0].hypot(i.frame_force[1]))],
        ),
    ]
}

/// The same beside the part, with a line that runs along.
fn charts(picture: &MovingPicture, times: &[f64]) -> Group {
    let mut group = Group::new();
    for (k, (label, lines)) in panels(picture).iter().enumerate() {
        let area = [690.0, 140.0 + 265.0 * k as f64, 270.0, 160.0];
        let panel = Panel { area, x_label: "ms", y_label: label, series: lines };
        // Its own lines would be dashed.
        group = group.add(panel.draw_only(&[]));
        let frame = panel.frame();
        for line in lines {
            group = group.add(plain_line(&frame, &line.points, line.colour));
        }
        let mut x = area[0];
        for line in lines.iter().filter(|l| !l.name.is_empty()) {
            let y = area[1] + area[3] + 37.0;
            group = group.add(rule([x, y], [x + 16.0, y], line.colour, 3.0)).add(text(
                &line.name,
                [x + 20.0, y + 5.0],
                13.0,
                palette::INK,
            ));
            x += 36.0 + 7.5 * line.name.chars().count() as f64;
        }
        let places: Vec<String> =
            times.iter().map(|t| format!("{:.1}", frame.place([*t, 0.0])[0])).collect();
        let marker = Line::new()
            .set("x1", area[0])
            .set("x2", area[0])
            .set("y1", area[1])
            .set("y2", area[1] + area[3])
            .set("stroke", palette::FAINT_INK)
            .add(played("x1", &places))
            .add(played("x2", &places));
        group = group.add(marker);
    }
    group
}

/// Values of an attribute, one after the other, over and over.
fn played(attribute: &str, values: &[String]) -> Animate {
    Animate::new()
        .set("attributeName", attribute)
        .set("values", values.join(";"))
        .set("dur", format!("{PLAYS}s"))
        .set("repeatCount", "indefinite")
}

/// Closed rings as path data with the same commands in every state: the chosen points of each (px).
fn rings(rings: &[Vec<[f64; 2]>], chosen: &[Vec<usize>]) -> String {
    let mut text = String::new();
    for (ring, chosen) in rings.iter().zip(chosen) {
        for (k, i) in chosen.iter().enumerate() {
            let [x, y] = ring[*i];
            text += &format!("{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" });
        }
        text.push('Z');
    }
    text
}

/// Points of a ring without which it would be seen to differ in one of its states: chords are halved at the point
/// that lies farthest from them (D. H. Douglas and T. K. Peucker, 1973, from memory), in all states at once.
fn needed(states: &[&[[f64; 2]]]) -> Vec<usize> {
    let count = states.first().map_or(0, |s| s.len());
    if count < 4 {
        return (0..count).collect();
    }
    let mut keep = vec![false; count];
    let half = count / 2;
    keep[0] = true;
    keep[half] = true;
    let mut open = vec![(0, half), (half, count)];
    while let Some((from, to)) = open.pop() {
        let mut worst = (UNSEEN_PX, from);
        for k in from + 1..to {
            for state in states {
                let (a, b, p) = (state[from], state[to % count], state[k]);
                let chord = [b[0] - a[0], b[1] - a[1]];
                let length = chord[0].hypot(chord[1]);
                let off = [p[0] - a[0], p[1] - a[1]];
                let distance = if length > 0.0 {
                    (chord[0] * off[1] - chord[1] * off[0]).abs() / length
                } else {
                    off[0].hypot(off[1])
                };
                if distance > worst.0 {
                    worst = (distance, k);
                }
            }
        }
        if worst.1 > from {
            keep[worst.1] = true;
            open.push((from, worst.1));
            open.push((worst.1, to));
        }
    }
    (0..count).filter(|k| keep[*k]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_that_matters_in_any_state_is_kept() {
        // A square whose sides have points between, one of which moves out in the second state.
        let rest = vec![[0.0, 0.0], [5.0, 0.0], [9.0, 0.0], [9.0, 9.0], [5.0, 9.0], [0.0, 9.0]];
        let mut bent = rest.clone();
        bent[4][1] = 12.0;
        assert_eq!(needed(&[&rest]), [0, 2, 3, 5]);
        assert_eq!(needed(&[&rest, &bent]), [0, 2, 3, 4, 5]);
        assert_eq!(rings(&[rest], &[vec![0, 2, 3]]), "M0.0 0.0L9.0 0.0L9.0 9.0Z");
    }
}
