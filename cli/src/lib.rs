//! The program around the mesher and the solver: what a person writes comes in here, checked.
//!
//! `case` reads a part file and everything that it names; `drawing` turns SVG and DXF into closed
//! loops; `material` knows the cards; `quantity` knows the units; `error` says what is wrong, where,
//! and what to do.

pub mod analysis;
pub mod args;
pub mod case;
pub mod commands;
pub mod comparison;
pub mod design;
pub mod drawing;
pub mod error;
pub mod export;
pub mod lasting;
pub mod live;
pub mod maker;
pub mod material;
pub mod measured;
pub mod picture;
pub mod printing;
pub mod quantity;
pub mod remark;
pub mod report;
pub mod rib;
pub mod seek;
pub mod sweep;
pub mod table;
pub mod verdict;
