//! A design as beams: a rib spring of numbers, in milliseconds.
//!
//! Beams know no contact between edges, no frame corners and no imperfection: what touches, and what a part off
//! its drawing does, plane stress tells. The stress is that of a stretched
//! edge by the law of the plane part. What moves is
//! the carriage, rigid, with ribs and frame along their beams.

use super::outcome::{Outcome, mass};
use crate::analysis::{Guidance, LimitKind, shot};
use crate::case::Case;
use crate::maker::{BeamState, Beams, beams};
use withy_mesh::number::{largest, max, min};
use withy_solver::beam::{BeamStep, MemberId};
use withy_solver::curve::stencil;
use withy_solver::release::{USUAL_PIECES, WayBack, release};
use withy_solver::{Elastic, PlaneState, SmoothCurve, Stiffness};

/// States that a velocity is taken from, as for the plane part.
const STENCIL: usize = 5;

/// The numbers of a rib spring.
///
/// # Errors
/// Why beams cannot tell them, in words.
pub fn outcome(case: &Case) -> Result<Outcome, String> {
    let spring = case.spring.as_ref().ok_or("beams need a part with [spring]")?;
    if case.drives.len() != 1 || !case.loads.is_empty() {
        return Err("beams are drawn by the grip alone: take [[drive]] and [[load]] out".into());
    }
    let card = &case.material;
    let (modulus, ratio) = (card.youngs_modulus.value, card.poissons_ratio.value);
    let law = Elastic::new(modulus, ratio, PlaneState::PlaneStress).map_err(|e| e.to_string())?;
    let beams = beams(spring, &law, case.thickness).map_err(|e| e.to_string())?;
    let steps = beams.follow(case.steps, Stiffness::Wanted);
    let states: Vec<BeamState> = steps.iter().map(|step| beams.state(step)).collect();
    let last = *states.last().ok_or("no step of the beams converged")?;
    let complete = states.len() == usize::try_from(case.steps).unwrap_or(0);
    let guidance = guidance(case, &beams, &steps);
    let ends = first_limit(case, &states, &guidance);
    let launched = if complete { launched(case, &beams, &steps, &states) } else { None };
    let strain = largest(0.0, states.iter().map(|s| s.strain));
    let least = |value: &dyn Fn(&Guidance) -> f64| guidance.iter().map(value).reduce(min);
    Ok(Outcome {
        complete,
        draw: last.draw,
        effort: last.force,
        largest_effort: largest(0.0, states.iter().map(|s| s.force)),
        energy: last.energy,
        strain,
        stress: edge_stress(case, strain),
        safe_draw: ends.map_or(last.draw, |(draw, _)| draw),
        ends_by: ends.map(|(_, kind)| kind),
        across: least(&|g| g.lateral),
        in_turn: least(&|g| g.yaw.to_radians()),
        stable: states.iter().all(|s| s.stable),
        mass: mass(case),
        bed_share: case.printability.bed.map(|fit| fit.share),
        speed: launched.map(|l| l[0]),
        thrown: launched.map(|l| l[1]),
    })
}

/// Cauchy stress of an edge stretched by a nominal strain e (MPa), St. Venant-Kirchhoff: with E11 = e + e^2/2 it is
/// E E11 (1 + e) by the section that is left, 1 - 2 nu E11.
fn edge_stress(case: &Case, e: f64) -> f64 {
    let card = &case.material;
    let green = e + 0.5 * e * e;
    let left = 1.0 - 2.0 * card.poissons_ratio.value * green;
    card.youngs_modulus.value * green * (1.0 + e) / left
}

/// What keeps the grip in line, by state.
fn guidance(case: &Case, beams: &Beams, steps: &[BeamStep]) -> Vec<Guidance> {
    let bounds = case.outline.bounds();
    let lever = 0.5 * min(bounds.width(), bounds.height());
    let of =
        |step: &BeamStep| Guidance::new(&step.stiffness[beams.grip.index()], [0.0, -1.0], lever);
    steps.iter().map(of).collect()
}

/// The first draw at which a limit is reached, on straight lines between the states, and which.
fn first_limit(
    case: &Case,
    states: &[BeamState],
    guidance: &[Guidance],
) -> Option<(f64, LimitKind)> {
    let stress = |limit: Option<f64>| -> Vec<f64> {
        let Some(limit) = limit else { return Vec::new() };
        states.iter().map(|s| limit - edge_stress(case, s.strain)).collect()
    };
    let yields = case.material.yield_strength.as_ref().map(|d| d.value);
    let breaks = case.material.ultimate_strength.as_ref().map(|d| d.value);
    let hand = case.hand.and_then(|hand| hand.force);
    let by_hand = match hand {
        None => Vec::new(),
        Some(limit) => states.iter().map(|s| limit - s.force).collect(),
    };
    // What is left before each limit: at rest, and by state.
    let watched = [
        (LimitKind::Yield, yields, stress(yields)),
        (LimitKind::Break, breaks, stress(breaks)),
        (LimitKind::Hand, hand, by_hand),
        (LimitKind::NoReturn, None, states.iter().map(|s| s.force).collect()),
        (LimitKind::Guidance, None, guidance.iter().map(|g| g.smallest).collect()),
        (
            LimitKind::Stability,
            None,
            states.iter().map(|s| if s.stable { 1.0 } else { -1.0 }).collect(),
        ),
    ];
    let draw_of = |(kind, at_rest, left): (LimitKind, Option<f64>, Vec<f64>)| {
        // A NaN is a limit too.
        let past = left.iter().position(|l| *l < 0.0 || l.is_nan())?;
        let (before, at) = match past {
            0 => (0.0, at_rest),
            n => (states[n - 1].draw, Some(left[n - 1])),
        };
        let share = at.map_or(0.0, |a| a / (a - left[past]));
        let share = if share.is_finite() { share } else { 0.0 };
        Some((before + share * (states[past].draw - before), kind))
    };
    let found = watched.into_iter().filter_map(draw_of);
    found.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Speed (m/s) and energy (mJ) of what is thrown.
fn launched(
    case: &Case,
    beams: &Beams,
    steps: &[BeamStep],
    states: &[BeamState],
) -> Option<[f64; 2]> {
    let launch = case.launch.as_ref()?;
    let density = case.material.density.as_ref()?.value;
    let rest = std::iter::once(0.0);
    let draw: Vec<f64> = rest.clone().chain(states.iter().map(|s| s.draw)).collect();
    let energy = rest.clone().chain(states.iter().map(|s| s.energy)).collect();
    let force = rest.chain(states.iter().map(|s| s.force)).collect();
    let energy = SmoothCurve::with_slopes(draw.clone(), energy, force)?;
    let mass =
        SmoothCurve::through(draw.clone(), effective_masses(case, beams, steps, &draw, density))?;
    let way = WayBack::straight(energy, mass)?;
    let found = release(&way, &shot(launch), USUAL_PIECES).ok()?;
    Some([found.speed, found.energy])
}

/// Mass at the carriage by draw, rest first (g): integral rho t w |du/dx|^2 ds over ribs and frame, and the
/// carriage, which is what else there is of the part.
fn effective_masses(
    case: &Case,
    beams: &Beams,
    steps: &[BeamStep],
    draw: &[f64],
    density: f64,
) -> Vec<f64> {
    let by_area = density * case.thickness;
    let members: Vec<MemberId> = beams.ribs.iter().chain(&beams.frame).copied().collect();
    // Areas that move with each node of each member (mm2).
    let areas: Vec<Vec<f64>> = members.iter().map(|m| node_areas(beams, *m)).collect();
    let ribs: f64 = areas[..beams.ribs.len()].iter().flatten().sum();
    let carriage = max(0.0, case.outline.area() - ribs - beams.frame_area);
    (0..draw.len())
        .map(|i| {
            let weights = stencil(draw, i, STENCIL);
            let mut area = carriage;
            for (member, areas) in members.iter().zip(&areas) {
                for (node, own) in areas.iter().enumerate() {
                    let mut velocity = [0.0; 2];
                    for &(k, w) in weights.iter().filter(|(k, _)| *k > 0) {
                        let u = steps[k - 1].members[member.index()][node];
                        velocity[0] += w * u[0];
                        velocity[1] += w * u[1];
                    }
                    area += own * (velocity[0] * velocity[0] + velocity[1] * velocity[1]);
                }
            }
            by_area * area
        })
        .collect()
}

/// Areas around the nodes of a member, by Simpson's rule over each element of three nodes (mm2).
fn node_areas(beams: &Beams, member: MemberId) -> Vec<f64> {
    let places = beams.model.places(member);
    let widths = beams.model.widths(member);
    let mut areas = vec![0.0; places.len()];
    for (e, pair) in widths.windows(2).enumerate() {
        let (p, q) = (places[2 * e], places[2 * e + 2]);
        let length = (q[0] - p[0]).hypot(q[1] - p[1]);
        let middle = 0.5 * (pair[0] + pair[1]);
        for (k, (weight, width)) in
            [(1.0, pair[0]), (4.0, middle), (1.0, pair[1])].into_iter().enumerate()
        {
            areas[2 * e + k] += weight * width * length / 6.0;
        }
    }
    areas
}
