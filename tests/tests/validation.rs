//! Withy against the outside world.
#![expect(clippy::unwrap_used, reason = "a problem that cannot be set up is a failed test")]

#[path = "problems/bar.rs"]
mod bar;
#[path = "problems/elastica.rs"]
mod elastica;
#[path = "problems/guided.rs"]
mod guided;
#[path = "problems/patch.rs"]
mod patch;
#[path = "problems/rotation.rs"]
mod rotation;
