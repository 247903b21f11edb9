//! The mesh: its elements with their curved sides, and the regions that it follows.

use super::part::{Mark, View, at_rest, footer, marked, part_page, rounded, surface};
use super::{finish, palette};
use std::collections::BTreeSet;
use svg::node::element::{Path, path::Data};
use withy_mesh::Mesh;

const AREA: [f64; 4] = [34.0, 96.0, 932.0, 590.0];

/// Draws the elements of a mesh.
#[must_use]
pub fn net(title: &str, subtitle: &str, mesh: &Mesh, marks: &[Mark]) -> String {
    let rest = at_rest(mesh);
    let view = View::fit(rest.iter().copied(), AREA);
    let body = surface(mesh, rest.clone(), |_| true).border_loops();
    let place = |p: [f64; 2]| {
        let [x, y] = view.place(p);
        (rounded(x), rounded(y))
    };
    let mut drawn = BTreeSet::new();
    let mut data = Data::new();
    for element in mesh.elements() {
        for k in 0..3 {
            let (a, m, b) = (element[k], element[3 + k], element[(k + 1) % 3]);
            if drawn.insert(m) {
                // Through the mid-side node: the parabola's control point is 2 m - (a + b) / 2.
                let [pa, pm, pb] = [a, m, b].map(|n| rest[n.index()]);
                let control = [0, 1].map(|i| 2.0 * pm[i] - 0.5 * (pa[i] + pb[i]));
                data = data.move_to(place(pa));
                let bend = [0, 1].map(|i| (pm[i] - 0.5 * (pa[i] + pb[i])).abs());
                data = if view.length(bend[0] + bend[1]) < 0.02 {
                    data.line_to(place(pb))
                } else {
                    data.quadratic_curve_to((place(control), place(pb)))
                };
            }
        }
    }
    let document = part_page(title, subtitle)
        .add(
            Path::new()
                .set("d", view.rings(&body))
                .set("fill", palette::BODY)
                .set("fill-rule", "evenodd"),
        )
        .add(marked(mesh, &rest, &view, marks))
        .add(
            Path::new()
                .set("d", data)
                .set("fill", "none")
                .set("stroke", palette::INK)
                .set("stroke-width", 0.35),
        )
        .add(footer(marks, &view, None));
    finish(&document)
}
