//! Rounds of searches by beams, each confirmed in plane stress.

use super::Seek;
use super::trial::{SeekStop, Trial, Trials};
use super::wish::{Correction, Goal, Wish};
use crate::design::{Model, Outcome};
use crate::sweep::run::each;
use crate::sweep::sampling::point;
use cobyla::{RhoBeg, StopTols, minimize};
use std::cell::{Cell, RefCell};
use std::sync::atomic::AtomicBool;
use withy_mesh::number::{largest, max, min};

/// The search stays this part within its limits, so that what is left of the beams' error does not pass them.
const MARGIN: f64 = 0.004;
/// The first step, as a part of each range: in the first round, and in those that begin near their end.
const FIRST_STEPS: [f64; 2] = [0.2, 0.06];
/// A search ends when its steps are shorter than this part of each range.
const LAST_STEP: f64 = 1e-3;
/// First steps of searches begun anew, one after the other as long as nothing is gained, as parts of the first.
const RESTART_STEPS: [f64; 3] = [1.0, 0.5, 0.25];
/// A gain below this is none.
const LEAST_GAIN: f64 = 1e-3;
/// Designs nearer than this in every range are one.
const ALIKE: f64 = 0.01;
/// A condition that is broken by less than rounding is kept.
const ROUNDING: f64 = 1e-9;

/// A design that plane stress has solved, or why it has not.
#[derive(Clone, Debug)]
pub struct Confirmed {
    /// In the unit cube.
    pub point: Vec<f64>,
    /// The round that proposed it; 0 for the part as it is.
    pub round: usize,
    /// By beams, not corrected.
    pub beam: Option<Outcome>,
    /// In plane stress.
    pub plane: Result<Outcome, String>,
    /// The conditions that plane stress finds broken, by how much of their limits.
    pub broken: Vec<(&'static str, f64)>,
}

impl Confirmed {
    /// Whether plane stress bears it out.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.plane.is_ok() && self.broken.is_empty()
    }
}

/// What a search has found.
#[derive(Clone, Debug)]
pub struct Found {
    /// The part as it is.
    pub start: Confirmed,
    /// Proposed designs, round by round, the best of each first.
    pub confirmed: Vec<Confirmed>,
    /// The best that holds, by its place in `confirmed`.
    pub best: Option<usize>,
    /// What beams were off by, by round, as the search took it.
    pub corrections: Vec<Correction>,
}

/// How good a design is.
struct Tried {
    point: Vec<f64>,
    /// How far it is from the conditions; 0 if it keeps them.
    violation: f64,
    cost: f64,
}

/// Searches. `tell` is told what is being done.
///
/// # Errors
/// Interrupted, a journal that cannot be written, or a part that beams cannot solve as it is.
pub fn search(
    seek: &Seek,
    trials: &Trials,
    interrupted: &AtomicBool,
    tell: &mut dyn FnMut(&str),
) -> Result<Found, SeekStop> {
    let origin: Vec<f64> = seek.variables.iter().map(|v| v.start).collect();
    tell("the part as it is, in both models");
    let first = match trials.at(&origin, Model::Beam)? {
        Trial::Solved(outcome) => outcome,
        Trial::Lacks(_, why) => return Err(SeekStop::NoStart(why)),
    };
    let start = confirm(seek, trials, &origin, 0)?;
    let mut correction =
        start.plane.as_ref().map_or(Correction::NONE, |plane| Correction::of(plane, &first));
    let mut corrections = Vec::new();
    let mut confirmed: Vec<Confirmed> = Vec::new();
    let dimensions = origin.len();
    let mut starts: Vec<Vec<f64>> = vec![origin];
    let seed = seek.seed.max(1);
    starts.extend((0..seek.starts - 1).map(|n| point(n, dimensions, seed)));
    for round in 1..=seek.rounds {
        tell(&format!("round {round} of {}: {} searches by beams", seek.rounds, starts.len()));
        corrections.push(correction);
        let run = Run { seek, trials, first: &first, correction };
        let step = FIRST_STEPS[usize::from(round > 1)];
        let tried = in_parallel(&starts, interrupted, &|start| run.from(start, step))?;
        let mut tried: Vec<(usize, Tried)> = tried.into_iter().enumerate().collect();
        tried.sort_by(|a, b| {
            let order = a.1.violation.total_cmp(&b.1.violation);
            order.then(a.1.cost.total_cmp(&b.1.cost)).then(a.0.cmp(&b.0))
        });
        let mut chosen: Vec<Vec<f64>> = Vec::new();
        for (_, one) in tried {
            let far = |other: &Vec<f64>| apart(other, &one.point, ALIKE);
            if chosen.len() < seek.confirm && chosen.iter().all(far) {
                chosen.push(one.point);
            }
        }
        tell(&format!(
            "round {round} of {}: {} designs in plane stress",
            seek.rounds,
            chosen.len()
        ));
        let found =
            in_parallel(&chosen, interrupted, &|point| confirm(seek, trials, point, round))?;
        let solved = found.iter().find_map(|c| c.plane.as_ref().ok().zip(c.beam.as_ref()));
        correction = solved.map_or(correction, |(plane, beam)| Correction::of(plane, beam));
        confirmed.extend(found);
        starts = chosen;
    }
    let cost = |c: &Confirmed| {
        c.plane.as_ref().map_or(f64::INFINITY, |plane| seek.wish.cost(plane, &first))
    };
    let holding = confirmed.iter().enumerate().filter(|(_, c)| c.holds());
    let best = holding.min_by(|a, b| cost(a.1).total_cmp(&cost(b.1))).map(|(n, _)| n);
    Ok(Found { start, confirmed, best, corrections })
}

/// Whether two designs differ by more than a part of some range.
fn apart(a: &[f64], b: &[f64], by: f64) -> bool {
    largest(0.0, a.iter().zip(b).map(|(a, b)| (a - b).abs())) > by
}

/// What becomes of points, in their order.
fn in_parallel<T: Send>(
    points: &[Vec<f64>],
    interrupted: &AtomicBool,
    compute: &(dyn Fn(&[f64]) -> Result<T, SeekStop> + Sync),
) -> Result<Vec<T>, SeekStop> {
    let numbers: Vec<usize> = (0..points.len()).collect();
    let mut found: Vec<(usize, T)> = Vec::new();
    each(&numbers, interrupted, &|n| Some(compute(&points[n])), &mut |n, result| {
        found.push((n, result?));
        Ok::<(), SeekStop>(())
    })?;
    if found.len() < points.len() {
        return Err(SeekStop::Interrupted);
    }
    found.sort_by_key(|(n, _)| *n);
    Ok(found.into_iter().map(|(_, one)| one).collect())
}

/// A design in plane stress, against the conditions.
fn confirm(
    seek: &Seek,
    trials: &Trials,
    point: &[f64],
    round: usize,
) -> Result<Confirmed, SeekStop> {
    let beam = match trials.at(point, Model::Beam)? {
        Trial::Solved(outcome) => Some(outcome),
        Trial::Lacks(..) => None,
    };
    let plane = match trials.at(point, Model::PlaneStress)? {
        Trial::Solved(outcome) => Ok(outcome),
        Trial::Lacks(_, why) => Err(why),
    };
    let broken = plane.as_ref().map_or(Vec::new(), |plane| broken(&seek.wish, plane));
    Ok(Confirmed { point: point.to_vec(), round, beam, plane, broken })
}

/// The conditions that a design breaks in plane stress.
fn broken(wish: &Wish, plane: &Outcome) -> Vec<(&'static str, f64)> {
    let values = wish.conditions(plane, Model::PlaneStress, 0.0);
    let named = Wish::NAMES.into_iter().zip(values);
    // A NaN is no proof.
    named.filter(|(_, g)| *g < -ROUNDING || g.is_nan()).map(|(name, g)| (name, -g)).collect()
}

/// One round's searches.
struct Run<'a> {
    seek: &'a Seek,
    trials: &'a Trials<'a>,
    first: &'a Outcome,
    correction: Correction,
}

/// What the search by linear models asks of a point.
#[derive(Clone)]
struct Asked {
    point: Vec<f64>,
    cost: f64,
    conditions: [f64; Wish::CONDITIONS],
}

impl Run<'_> {
    /// A search from a start; the best design that it tried.
    fn from(&self, start: &[f64], step: f64) -> Result<Tried, SeekStop> {
        let last: RefCell<Option<Asked>> = RefCell::new(None);
        let best: RefCell<Option<Tried>> = RefCell::new(None);
        let stop: RefCell<Option<SeekStop>> = RefCell::new(None);
        let asked_for = Cell::new(0);
        let ask = |x: &[f64]| -> Asked {
            let known = last.borrow().clone().filter(|asked| asked.point == x);
            if let Some(known) = known {
                return known;
            }
            let halted = stop.borrow().is_some();
            asked_for.set(asked_for.get() + 1);
            let asked = if halted { Err(SeekStop::Interrupted) } else { self.ask(x) };
            let asked = asked.unwrap_or_else(|why| {
                stop.borrow_mut().get_or_insert(why);
                Asked { point: x.to_vec(), cost: 0.0, conditions: [0.0; Wish::CONDITIONS] }
            });
            let violation = asked.conditions.iter().fold(0.0, |v, g| max(v, -g));
            let better = best.borrow().as_ref().is_none_or(|b| {
                (max(violation, ROUNDING), asked.cost) < (max(b.violation, ROUNDING), b.cost)
            });
            if better && !halted {
                let point = asked.point.clone();
                *best.borrow_mut() = Some(Tried { point, violation, cost: asked.cost });
            }
            *last.borrow_mut() = Some(asked.clone());
            asked
        };
        let cost = |x: &[f64], _: &mut ()| ask(x).cost;
        let condition =
            |n: usize| move |ask: &dyn Fn(&[f64]) -> Asked, x: &[f64]| ask(x).conditions[n];
        let conditions: Vec<_> = (0..Wish::CONDITIONS)
            .map(|n| {
                let (ask, condition) = (&ask, condition(n));
                move |x: &[f64], _: &mut ()| condition(ask, x)
            })
            .collect();
        let bounds = vec![(0.0, 1.0); start.len()];
        let ends = || StopTols {
            ftol_rel: 0.0,
            ftol_abs: 0.0,
            xtol_rel: 0.0,
            xtol_abs: vec![LAST_STEP; start.len()],
        };
        // Kinks stall linear models: they are made anew at the best design, until that no longer helps.
        let mut begin = start.to_vec();
        let mut idle = 0;
        while idle < RESTART_STEPS.len() && asked_for.get() < self.seek.designs {
            let standing = || best.borrow().as_ref().map(|b| (max(b.violation, ROUNDING), b.cost));
            let before = standing();
            // Its own verdict does not matter: the best design that was tried does.
            let _ = minimize(
                cost,
                &begin,
                &bounds,
                &conditions,
                (),
                self.seek.designs - asked_for.get(),
                RhoBeg::All(step * RESTART_STEPS[idle]),
                Some(ends()),
            );
            if stop.borrow().is_some() {
                break;
            }
            let gained = match (before, standing()) {
                (Some(before), Some(now)) => {
                    now.0 < before.0 - LEAST_GAIN || now.1 < before.1 - LEAST_GAIN
                }
                _ => true,
            };
            idle = if gained { 0 } else { idle + 1 };
            if let Some(best) = best.borrow().as_ref() {
                begin.clone_from(&best.point);
            }
        }
        drop(conditions);
        if let Some(why) = stop.into_inner() {
            return Err(why);
        }
        best.into_inner().ok_or(SeekStop::Interrupted)
    }

    fn ask(&self, x: &[f64]) -> Result<Asked, SeekStop> {
        let point: Vec<f64> = x.iter().map(|v| min(1.0, max(0.0, *v))).collect();
        let (cost, conditions) = match self.trials.at(&point, Model::Beam)? {
            Trial::Solved(outcome) => {
                let likely = self.correction.apply(&outcome);
                let wish = &self.seek.wish;
                (wish.cost(&likely, self.first), wish.conditions(&likely, Model::Beam, MARGIN))
            }
            // Worth nothing, and this far from being made.
            Trial::Lacks(lack, _) => {
                let mut conditions = [0.0; Wish::CONDITIONS];
                conditions[0] = lack;
                (if self.seek.wish.goal == Goal::LeastForce { 2.0 } else { 0.0 }, conditions)
            }
        };
        Ok(Asked { point: x.to_vec(), cost, conditions })
    }
}
