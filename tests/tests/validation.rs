//! Withy against the outside world.
#![expect(clippy::unwrap_used, reason = "a problem that cannot be set up is a failed test")]

#[path = "problems/balance.rs"]
mod balance;
#[path = "problems/bar.rs"]
mod bar;
#[path = "problems/columns.rs"]
mod columns;
#[path = "problems/curved.rs"]
mod curved;
#[path = "problems/elastica.rs"]
mod elastica;
#[path = "problems/guided.rs"]
mod guided;
#[path = "problems/membranes.rs"]
mod membranes;
#[path = "problems/patch.rs"]
mod patch;
#[path = "problems/ribs.rs"]
mod ribs;
#[path = "problems/rotation.rs"]
mod rotation;
#[path = "problems/small.rs"]
mod small;
#[path = "problems/toggle.rs"]
mod toggle;
#[path = "problems/truss.rs"]
mod truss;
#[path = "problems/whole_parts.rs"]
mod whole_parts;
