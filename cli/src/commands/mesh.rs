//! `withy mesh`: the first mesh of a part, and how good it is.

use super::solve::{SOLVED, SolveError, results_folder};
use crate::analysis::marks;
use crate::args::MeshArgs;
use crate::case::{self, Overrides};
use crate::export::{ResultFile, write_results};
use crate::picture::{net, three_digits};
use crate::verdict::aligned;
use withy_mesh::{Sizing, mesh_outline, quality};

/// Meshes a part, draws the mesh, and returns what goes to standard output and the exit status.
///
/// # Errors
/// An input that is refused, an outline that cannot be meshed.
pub fn mesh(args: &MeshArgs) -> Result<(String, u8), SolveError> {
    let case = case::read(&args.part, &Overrides::default()).map_err(Box::new)?;
    let sizing = Sizing {
        coarsest: args.size.map(|l| l.value()),
        across: args.across.map_or(Sizing::default().across, f64::from),
        ..Sizing::default()
    };
    let mesh = mesh_outline(&case.outline, &sizing)
        .map_err(|e| SolveError::Unsolvable { part: case.path.clone(), cause: e.into() })?;
    let q = quality(&mesh);
    let count = format!("{} elements, {} nodes", q.elements, q.nodes);
    let picture = net(&case.title, &count, &mesh, &marks(&case, &mesh));
    let folder = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    write_results(&folder, &[ResultFile { name: "mesh.svg", text: picture }])?;
    let lines = [
        ("mesh", format!("{count} (triangles of six nodes)")),
        ("area", format!("{} mm2", three_digits(q.area_mm2))),
        (
            "angles",
            format!(
                "from {} deg; on the mean the smallest of an element is {} deg, 60 at best",
                three_digits(q.min_angle_deg),
                three_digits(q.mean_min_angle_deg)
            ),
        ),
        (
            "curved sides",
            format!(
                "the Jacobian falls to {} of its largest value in an element, 1 at best",
                three_digits(q.worst_scaled_jacobian)
            ),
        ),
        ("picture", folder.join("mesh.svg").display().to_string()),
    ];
    let lines = lines.map(|(label, fact)| (label.to_owned(), fact));
    Ok((aligned(&case.title, &lines), SOLVED))
}
