//! Meshes refined where the error estimate asks for it.

use crate::solve::at_full;
use withy_mesh::number::max;
use withy_mesh::{Mesh, Outline, Sizing, mesh_outline};
use withy_solver::adapt::{Target, size_wishes};
use withy_solver::stress::{Recovery, StressField};
use withy_solver::{Model, Step};

/// A problem at its full (small) load on one mesh.
#[derive(Debug)]
pub struct Solved {
    /// The state.
    pub step: Step,
    /// Recovered stresses.
    pub field: StressField,
    /// Nodes whose stress is artificial.
    pub artificial: Vec<bool>,
    /// Estimated relative error in energy norm.
    pub estimate: f64,
}

impl Solved {
    /// Solves a model in one step.
    #[must_use]
    pub fn new(model: &Model) -> Self {
        let step = at_full(model);
        let recovery = Recovery::new(model);
        let field = recovery.field(&step.displacements);
        let estimate = recovery.error(&step.displacements, &field).relative();
        Self { field, artificial: recovery.artificial().to_vec(), estimate, step }
    }

    /// The largest principal stress outside artificial places (MPa).
    #[must_use]
    pub fn peak_tension(&self) -> f64 {
        self.field.peak(&self.artificial, |s| s.tension).unwrap().value
    }

    /// The largest principal stress of either sign outside artificial places (MPa).
    #[must_use]
    pub fn peak_principal(&self) -> f64 {
        self.field.peak(&self.artificial, |s| max(s.tension, -s.compression)).unwrap().value
    }
}

/// How the model of a problem is built on any mesh of its outline.
pub type Build<'b> = dyn for<'m> Fn(&'m Mesh) -> Model<'m> + 'b;

/// Solves on the usual mesh of an outline, then on so many better ones; the last mesh and its result.
#[must_use]
pub fn adapted(outline: &Outline, build: &Build, target: Target, passes: u32) -> (Mesh, Solved) {
    let mut sizing = Sizing::default();
    let mut mesh = mesh_outline(outline, &sizing).unwrap();
    for _ in 0..passes {
        let model = build(&mesh);
        let step = at_full(&model);
        let recovery = Recovery::new(&model);
        let field = recovery.field(&step.displacements);
        let error = recovery.error(&step.displacements, &field);
        let wishes = size_wishes(&model, &field, &error, recovery.artificial(), target);
        if wishes.is_empty() {
            break;
        }
        sizing.wishes.extend(wishes);
        mesh = mesh_outline(outline, &sizing).unwrap();
    }
    let solved = Solved::new(&build(&mesh));
    (mesh, solved)
}
