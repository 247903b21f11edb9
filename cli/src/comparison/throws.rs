//! What a part throws in other materials: energies go with the modulus and masses with the density along
//! the shapes of a material of their own proportions, where it was solved, and else of the part's own material.

use super::beads::Proportions;
use super::row::{Band, Row, span};
use crate::analysis::{Analysis, shot};
use crate::case::{Case, Launch};
use crate::material::Card;
use rayon::prelude::*;
use withy_solver::release::{Shot, USUAL_PIECES, WayBack, release};

/// Factors of the projectile's mass.
const MASSES: [f64; 3] = [0.5, 1.0, 2.0];

/// What is thrown from full draw, and from the card's own safe draw.
#[derive(Clone, Debug, PartialEq)]
pub struct Throws {
    /// From full draw, by mass.
    pub full: Vec<Throw>,
    /// From the largest safe draw, by mass.
    pub safe: Vec<Throw>,
}

/// One projectile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Throw {
    /// Its mass (g).
    pub mass: f64,
    /// Its speed (m/s); none where the carriage does not come to its stop.
    pub speed: Option<Band>,
}

/// Fills in what each row throws, if anything is thrown; `ways` are those of other proportions, with the part's own
/// modulus and density.
pub(super) fn throw(
    case: &Case,
    base: &Analysis,
    ways: &[(Proportions, Option<WayBack>)],
    rows: &mut [Row],
) {
    let (Some(launch), Some(launched)) = (&case.launch, &base.solution.launched) else { return };
    rows.par_iter_mut().for_each(|row| {
        let kind = Proportions::of(case, &row.card);
        let solved = ways.iter().find(|(other, _)| other.is_alike(&kind));
        let way = solved.map_or(Some(&launched.way), |(_, way)| way.as_ref());
        row.throws = way.and_then(|way| throws(launch, way, &case.material, row));
    });
}

fn throws(launch: &Launch, solved: &WayBack, own: &Card, row: &Row) -> Option<Throws> {
    let density = row.card.density.as_ref()?.value / own.density.as_ref()?.value;
    let way = |modulus: f64| solved.scaled(modulus / own.youngs_modulus.value, density);
    let modulus = &row.card.youngs_modulus;
    let moduli: Vec<f64> =
        std::iter::once(modulus.value).chain(modulus.low).chain(modulus.high).collect();
    let full: Vec<WayBack> = moduli.into_iter().map(way).collect();
    let from = |[modulus, fraction]: &[f64; 2]| way(*modulus).from_draw(fraction * solved.full());
    let safe: Option<Vec<WayBack>> = row.safe.corners.iter().map(from).collect();
    Some(Throws { full: by_mass(launch, &full), safe: by_mass(launch, &safe.unwrap_or_default()) })
}

/// Speeds over the ways of the corners, the card's own first.
fn by_mass(launch: &Launch, ways: &[WayBack]) -> Vec<Throw> {
    let speed = |mass: f64| {
        let shot = Shot { mass, ..shot(launch) };
        let found = |way| release(way, &shot, USUAL_PIECES).map(|r| r.speed).ok();
        let speeds = ways.iter().map(found).collect::<Option<Vec<f64>>>()?;
        let value = *speeds.first()?;
        Some(Band { value, range: (speeds.len() > 1).then(|| span(&speeds)) })
    };
    MASSES.map(|f| f * launch.mass).map(|mass| Throw { mass, speed: speed(mass) }).into()
}
