//! A search for the numbers of a rib spring that stores or throws most, or needs the least force.
//!
//! | file | what |
//! |---|---|
//! | `description` | the search file, checked |
//! | `trial` | one design by one model, from the journal or computed |
//! | `wish` | what is wanted, within what; how far a design is from it |
//! | `search` | rounds of searches by beams, each confirmed in plane stress |
//!
//! Designs are searched by COBYLA (M. J. D. Powell 1994), which models goal and conditions by linear functions, from
//! several starts: the part as it is, and points that fill the space evenly. Conditions are constraints of the search,
//! not penalties; a design that cannot be made breaks one by what it lacks. Beams stand for the part: what they are off
//! by is measured in plane stress, and the next round corrects for it (the ratio of a fine model to a coarse one, carried
//! along: R. T. Haftka, "Combining global and local approximations", AIAA J. 29, 1991, from memory). Only a design that
//! plane stress confirms, its hot spot converged, is a result.

pub mod description;
pub mod search;
pub mod trial;
pub mod wish;

pub use description::{Seek, read};
pub use search::{Confirmed, Found, search};
