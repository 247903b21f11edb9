//! What the checks of `tests/validation.rs` share: meshes, models, reference values, comparisons.
//!
//! `grid` maps structured meshes, `strip` makes straight slender ones with stiff ends, `pick` finds
//! nodes and edges by place, `solve` runs a model, `adapt` refines it, `reference` reads the values in
//! `reference/`, `part` runs a drawing and a part file through the whole program, `compare` holds a result against one.
#![expect(
    clippy::unwrap_used,
    clippy::missing_panics_doc,
    reason = "only tests call this: whatever cannot be built or solved is a failed test"
)]

pub mod adapt;
pub mod bar;
pub mod compare;
pub mod grid;
pub mod hostile;
pub mod outline;
pub mod part;
pub mod pick;
pub mod reference;
pub mod solve;
pub mod strip;
