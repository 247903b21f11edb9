//! What the part meets: itself, rails and pins.

use super::CaseCause;
use super::length;
use super::written::PartFile;
use crate::error::{Refusal, Source};
use withy_solver::Shape;

/// Whether edges of the part that touch push on each other.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SelfContact {
    /// Only if they touch: the part is solved again then.
    #[default]
    Auto,
    /// From the start.
    On,
    /// Never: they run through each other, which is told as an error.
    Off,
}

/// A rigid thing that keeps still and that the part meets.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// Its name.
    pub name: String,
    /// Where it is (mm).
    pub shape: Shape,
    /// Only edges in this region meet it.
    pub region: Option<String>,
}

/// Reads `contact` of `[solve]`.
pub(super) fn choice(file: &PartFile) -> SelfContact {
    match file.solve.contact {
        None => SelfContact::Auto,
        Some(true) => SelfContact::On,
        Some(false) => SelfContact::Off,
    }
}

/// Reads `[[rail]]` and `[[pin]]`.
pub(super) fn obstacles(file: &PartFile, source: &Source) -> Result<Vec<Obstacle>, Refusal> {
    let mut list: Vec<Obstacle> = Vec::new();
    for (n, rail) in file.rail.iter().enumerate() {
        let [from, to] = [&rail.from, &rail.to].map(|p| p.each_ref().map(|x| x.value()));
        if (to[0] - from[0]).hypot(to[1] - from[1]) <= 0.0 {
            let cause = CaseCause::OutOfRange {
                what: "to".into(),
                found: "the same place as `from`".into(),
                range: "apart from `from`: a rail has a length".into(),
            };
            return Err(Refusal::at(source, rail.to.span(), cause));
        }
        list.push(Obstacle {
            name: rail.name.clone().unwrap_or_else(|| format!("rail {}", n + 1)),
            shape: Shape::Rail { from, to },
            region: rail.region.as_ref().map(|r| r.to_string()),
        });
    }
    for (n, pin) in file.pin.iter().enumerate() {
        list.push(Obstacle {
            name: pin.name.clone().unwrap_or_else(|| format!("pin {}", n + 1)),
            shape: Shape::Pin {
                at: pin.at.each_ref().map(|x| x.value()),
                radius: length(source, "radius", &pin.radius)?,
            },
            region: pin.region.as_ref().map(|r| r.to_string()),
        });
    }
    Ok(list)
}
