//! One rib by three calculations: force along the draw and stress at the root.

use super::chart::{Panel, Series};
use super::part::{rule, text};
use super::{finish, page, palette};
use withy_mesh::number::largest;

/// The curves of a rib.
#[derive(Clone, Copy, Debug)]
pub struct RibPicture<'a> {
    /// The rib.
    pub title: &'a str,
    /// Its material and its end.
    pub subtitle: &'a str,
    /// Full draw (mm); the beam is shown no farther.
    pub draw: f64,
    /// By the formulas: force of bending alone and of all (N/mm), stress (MPa/mm).
    pub formula: [f64; 3],
    /// The beam's draw (mm), force (N), stress (MPa).
    pub beam: [&'a [f64]; 3],
    /// The same of the plane part.
    pub plane: [&'a [f64]; 3],
    /// Yield strength, if it is known (MPa).
    pub strength: Option<f64>,
}

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 860.0;
const FORMULA: &str = palette::LINES[1];
const BEAM: &str = palette::LINES[2];
const PLANE: &str = palette::LINES[0];

/// Draws them.
#[must_use]
pub fn rib(picture: &RibPicture) -> String {
    let mut document = page([WIDTH, HEIGHT], picture.title, picture.subtitle);
    let [bending, stiffness, stress] = picture.formula;
    let straight = |name: &str, slope: f64| Series {
        name: name.into(),
        colour: FORMULA,
        points: vec![[0.0, 0.0], [picture.draw, slope * picture.draw]],
        hollow: Vec::new(),
        aside: true,
    };
    // A line that leaves the others far below would flatten them.
    let shown = bending * picture.draw <= 2.0 * largest(0.0, picture.plane[1].iter().copied());
    let apart = (bending / stiffness - 1.0).abs() > 0.01;
    let mut forces = vec![straight("formula", stiffness)];
    if apart && shown {
        forces.push(Series { colour: palette::FAINT_INK, ..straight("bending alone", bending) });
    }
    forces.extend(computed(picture, 1));
    let mut stresses = vec![straight("formula", stress)];
    if let Some(strength) = picture.strength {
        let points = vec![[0.0, strength], [picture.draw, strength]];
        let line = Series { colour: palette::FAINT_INK, points, ..straight("yield", 0.0) };
        stresses.push(line);
    }
    stresses.extend(computed(picture, 2));
    let panels = [
        (136.0, "force along the draw, N", &forces),
        (506.0, "largest stress of the surface, MPa", &stresses),
    ];
    for (top, label, series) in panels {
        let area = [92.0, top, 770.0, 270.0];
        let panel = Panel { area, x_label: "draw, mm", y_label: label, series };
        document = document.add(panel.draw());
        let mut x = 380.0;
        for s in series {
            let at = top - 19.0;
            document = document.add(rule([x, at], [x + 24.0, at], s.colour, 3.0)).add(text(
                &s.name,
                [x + 30.0, at + 5.0],
                14.0,
                palette::INK,
            ));
            x += 50.0 + 8.0 * s.name.chars().count() as f64;
        }
    }
    finish(&document)
}

/// The beam as a line and the plane part with its states.
fn computed(picture: &RibPicture, which: usize) -> [Series; 2] {
    let points = |curve: &[&[f64]; 3]| {
        let pairs = curve[0].iter().zip(curve[which]).map(|(x, y)| [*x, *y]);
        let within = pairs.filter(|p| p[0] <= picture.draw * (1.0 + 1e-9));
        std::iter::once([0.0, 0.0]).chain(within).collect::<Vec<_>>()
    };
    let line = |name: &str, colour, curve| Series {
        name: name.to_owned(),
        colour,
        points: points(curve),
        hollow: Vec::new(),
        aside: false,
    };
    let beam = Series { aside: true, ..line("beam", BEAM, &picture.beam) };
    [beam, line("plane stress", PLANE, &picture.plane)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rib_shows_its_curves_and_what_they_are_called() {
        let (x, f, s) = ([1.0, 2.0, 3.0], [2.0, 4.0, 7.0], [10.0, 20.0, 30.0]);
        let picture = RibPicture {
            title: "Rib",
            subtitle: "petg",
            draw: 2.0,
            formula: [1.0, 2.0, 9.0],
            beam: [&x, &f, &s],
            plane: [&x[..2], &f[..2], &s[..2]],
            strength: Some(45.0),
        };
        let drawn = rib(&picture);
        for words in ["formula", "bending alone", "beam", "plane stress", "yield", "draw, mm"] {
            assert!(drawn.contains(words), "{words}");
        }
        assert!(!rib(&RibPicture { strength: None, ..picture }).contains(">yield<"));
    }
}
