//! A bar of 4 by 2 mm that is stretched along x and free to become thinner: strain is the same everywhere.

use crate::grid::grid;
use crate::pick::{on_x, on_y};
use crate::solve::along;
use withy_mesh::Mesh;
use withy_solver::{Law, Model, Step};

/// Its mesh.
#[must_use]
pub fn mesh() -> Mesh {
    grid(3, 2, |s, t| [4.0 * s, 2.0 * t])
}

/// The bar, 0.5 mm thick, drawn to `stretch` times its length.
#[must_use]
pub fn stretched(mesh: &Mesh, law: impl Into<Law>, stretch: f64) -> Model<'_> {
    Model::new(mesh, law, 0.5)
        .unwrap()
        .support(along("left", on_x(mesh, 0.0), [Some(0.0), None]))
        .unwrap()
        .support(along("axis", on_y(mesh, 0.0), [None, Some(0.0)]))
        .unwrap()
        .support(along("right", on_x(mesh, 4.0), [Some(4.0 * (stretch - 1.0)), None]))
        .unwrap()
}

/// What draws it (N), on 1 mm2 at rest.
#[must_use]
pub fn force(step: &Step) -> f64 {
    step.reactions.iter().find(|r| r.region == "right").unwrap().force[0]
}
