//! Whether a part that departs from its drawing still fits beside what it meets.

use super::border::{Border, Partner, parabola};
use crate::dofs::Dofs;
use crate::model::Model;

/// The deepest place of a shape in what it may not enter.
#[derive(Clone, Debug, PartialEq)]
pub struct Overlap {
    /// The obstacle's name; `None` where the part lies in itself.
    pub obstacle: Option<String>,
    /// Where, in that shape (mm).
    pub place: [f64; 2],
    /// How deep (mm).
    pub depth: f64,
}

/// Where a model's part would lie deepest in its obstacles, and in itself if it meets itself, if its mesh nodes
/// were shifted so far; `None` if nowhere.
///
/// # Panics
/// If there is not one shift for each node of the mesh.
#[must_use]
pub fn overlap(model: &Model, shifts: &[[f64; 2]]) -> Option<Overlap> {
    assert_eq!(shifts.len(), model.mesh().nodes().len(), "one shift for each node");
    let dofs = Dofs::new(model);
    let (x, _) = dofs.laid_out(model.mesh());
    let border = Border::new(model.mesh(), &dofs, &x, model.obstacles(), model.meets_itself());
    let shifted = |(x, &n): (&[f64; 2], &u32)| {
        let shift = shifts[n as usize];
        [x[0] + shift[0], x[1] + shift[1]]
    };
    let places: Vec<[f64; 2]> = x.iter().zip(&dofs.mesh_node).map(shifted).collect();
    // What stretches edges beyond all measure leaves no mesh to speak of either.
    let meetings = border.meetings(&places)?;
    let deepest = meetings.iter().max_by(|a, b| a.depth.total_cmp(&b.depth))?;
    let place = parabola(&border.edges[deepest.edge], &places).at(deepest.s);
    Some(Overlap {
        obstacle: match deepest.partner {
            Partner::Obstacle(k) => Some(border.obstacles[k].name.clone()),
            Partner::Edge(..) => None,
        },
        place: [place.x, place.y],
        depth: deepest.depth,
    })
}
