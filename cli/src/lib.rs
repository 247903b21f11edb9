//! The program around the mesher and the solver: what a person writes comes in here, checked.
//!
//! `case` reads a part file and everything that it names; `drawing` turns SVG and DXF into closed
//! loops; `material` knows the cards; `quantity` knows the units; `error` says what is wrong, where,
//! and what to do.
//!
//! Quantities carry their unit, and a wrong one is refused in words:
//!
//! ```
//! use withy::quantity::{Force, Length};
//!
//! let draw: Length = "1.1 in".parse()?;
//! assert!((draw.value() - 27.94).abs() < 1e-12, "inside everything is mm");
//! let wrong = "5 N".parse::<Length>().unwrap_err().to_string();
//! assert!(wrong.contains("expected a length") && wrong.contains("which is a force"), "{wrong}");
//! assert!((("40 lbf".parse::<Force>()?).value() - 177.929).abs() < 1e-3);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! A card tells each of its values with its spread and where it comes from:
//!
//! ```
//! let (petg, remarks) = withy::material::card("petg")?;
//! assert_eq!(petg.youngs_modulus.value, 2050.0);
//! assert_eq!(petg.youngs_modulus.low, Some(1700.0));
//! assert!(remarks.is_empty(), "nothing had to be estimated");
//! # Ok::<(), withy::error::Refusal>(())
//! ```

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
pub mod spread;
pub mod sweep;
pub mod table;
pub mod verdict;
