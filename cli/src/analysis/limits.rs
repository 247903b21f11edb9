//! How far the part may be drawn, and what ends it.
//!
//! Each limit is a quantity that passes a value along the path. Between which two states it does is
//! seen on the reported states, and on one more wherever it dips towards its value between them; the
//! draw itself is then found by solving states in between, and the last state before the limit bears
//! it out. The least of them governs.

use super::bracket::{Left, bracket};
use super::contact::push;
use super::{Axis, Guidance, StepPeaks, guidance};
use crate::case::Case;
use crate::picture::three_digits;
use rayon::prelude::*;
use withy_mesh::number::largest;
use withy_solver::stress::{NodeStress, Recovery};
use withy_solver::{
    Between, CriticalPoint, Equations, Gaps, Model, Narrowest, Step, Stiffness, crosses_itself,
};

/// Limits are located to this part of the draw.
const WIDTH: f64 = 1e-4;

/// Load factors closer than this are the same state.
const SAME: f64 = 1e-12;

/// Stands for the unknown depth of edges that cross, mm: any number below zero brackets the draw, one of
/// the size of small gaps does so in few steps.
const CROSSED: f64 = 0.1;

/// What may end a draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitKind {
    /// The hot spot's von Mises stress reaches the yield strength.
    Yield,
    /// The hot spot's largest principal stress reaches the strength.
    Break,
    /// The pull or twist reaches what the user's hand gives.
    Hand,
    /// Two edges of the part meet.
    Touch,
    /// The part begins to push a rail or a pin: no end of the draw.
    Meets,
    /// Nothing holds the region in line any more.
    Guidance,
    /// The part no longer pulls back.
    NoReturn,
    /// The shape is not stable.
    Stability,
}

impl LimitKind {
    /// What happens there, in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Yield => "it yields and takes a set",
            Self::Break => "it breaks",
            Self::Hand => "it needs more than the hand gives",
            Self::Touch => "it touches itself",
            Self::Meets => "it pushes",
            Self::Guidance => "nothing holds it in line",
            Self::NoReturn => "it no longer pulls back",
            Self::Stability => "it buckles aside",
        }
    }

    /// The limit of a short name.
    #[must_use]
    pub fn of_code(code: &str) -> Option<Self> {
        let all = [
            Self::Yield,
            Self::Break,
            Self::Hand,
            Self::Touch,
            Self::Guidance,
            Self::NoReturn,
            Self::Stability,
        ];
        all.into_iter().find(|kind| kind.code() == code)
    }

    /// A stable short name for programs.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Yield => "yield",
            Self::Break => "break",
            Self::Hand => "hand",
            Self::Touch => "touch",
            Self::Meets => "meets",
            Self::Guidance => "guidance",
            Self::NoReturn => "no-return",
            Self::Stability => "stability",
        }
    }
}

/// A limit that is reached within the draw.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Which.
    pub kind: LimitKind,
    /// The driven or loaded region that it is about, if it is about one.
    pub region: Option<String>,
    /// Fraction of the draw at which it is reached.
    pub fraction: f64,
    /// Travel of the first moving region there, along its draw (mm or degrees).
    pub travel: Option<f64>,
    /// Where in the part, at rest: the place of the stress, or of the gap (mm).
    pub place: Option<[f64; 2]>,
    /// The quantity that reaches its limit; none for stability, which is a change of sign.
    pub quantity: Option<Quantity>,
    /// Whether a state solved there bears it out; if not, it is interpolated between two states.
    pub confirmed: bool,
}

/// A quantity at its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// As solved there.
    pub value: f64,
    /// Where it ends.
    pub limit: f64,
    /// Of both.
    pub unit: &'static str,
}

impl Quantity {
    /// "48.0 MPa".
    #[must_use]
    pub fn words(&self) -> String {
        format!("{} {}", three_digits(self.value), self.unit)
    }
}

/// All that is known about the states of a path.
pub(super) struct Known<'a, 'm> {
    pub(super) case: &'a Case,
    pub(super) model: &'m Model<'m>,
    pub(super) recovery: &'a Recovery<'m>,
    pub(super) left_out: &'a [bool],
    pub(super) gaps: &'a Gaps<'m>,
    pub(super) path: &'a withy_solver::EquilibriumPath,
    pub(super) peaks: &'a [StepPeaks],
    pub(super) guidance: &'a [Vec<Option<Guidance>>],
    pub(super) narrowest: &'a [Narrowest],
    /// Where the perfect part branches, if the path is that of a part a little off.
    pub(super) perfect: Option<&'a [CriticalPoint]>,
    /// Driven and loaded regions, in the model's order.
    pub(super) moving: &'a [&'a str],
}

/// A quantity that is watched along the path.
struct Watched<'a> {
    kind: LimitKind,
    region: Option<&'a str>,
    limit: f64,
    unit: &'static str,
    /// Whether the limit is reached from below.
    rises: bool,
    /// How much is left at rest; infinite if only known to be some.
    at_rest: f64,
    values: Vec<f64>,
    /// What is left at load factors between the reported states, where more is known.
    between: Vec<Left>,
    stiffness: Stiffness,
    measure: Box<dyn Fn(&Step) -> f64 + 'a>,
}

impl Watched<'_> {
    /// What is left before the limit.
    fn margin(&self, value: f64) -> f64 {
        if self.rises { self.limit - value } else { value - self.limit }
    }
}

/// All limits reached within the draw, the first one first; the model's equations are used up.
pub(super) fn limits(known: &Known, equations: Equations) -> Vec<Limit> {
    let mut between = Between::new(known.model, known.path, equations);
    let mut found = Vec::new();
    for mut one in watched(known) {
        if one.kind == LimitKind::Touch {
            one.between.extend(passed(known, &mut between, &one));
        }
        if one.kind == LimitKind::Guidance && one.values.first().is_some_and(|v| *v <= 0.0) {
            // Lost before the first state: what it was at rest is needed to say where.
            let rest = between.at(0.0, Stiffness::Wanted);
            one.at_rest = rest.map_or(f64::NAN, |rest| (one.measure)(&rest));
        }
        found.extend(limit(known, &mut between, &one));
    }
    let falls = |c: &&CriticalPoint| c.negative_pivots[1] > c.negative_pivots[0];
    let stability = |limit: &Limit| limit.kind == LimitKind::Stability;
    let critical = known.perfect.unwrap_or(&known.path.critical);
    if let Some(branch) = critical.iter().find(falls)
        && !found.iter().any(stability)
    {
        // Located by halving solved states when the path was followed.
        found.push(Limit {
            kind: LimitKind::Stability,
            region: None,
            fraction: branch.fraction,
            travel: travel_at(known, branch.fraction),
            place: None,
            quantity: None,
            confirmed: true,
        });
    }
    found.sort_by(|a, b| a.fraction.total_cmp(&b.fraction));
    found
}

/// Everything that can end the draw of a case.
fn watched<'a>(known: &'a Known<'a, '_>) -> Vec<Watched<'a>> {
    let (case, steps) = (known.case, &known.path.steps);
    let mut list = Vec::new();
    let mut stress =
        |kind, limit: f64, of_peaks: fn(&StepPeaks) -> f64, of_node: fn(&NodeStress) -> f64| {
            list.push(Watched {
                kind,
                region: None,
                limit,
                unit: "MPa",
                rises: true,
                at_rest: limit,
                values: known.peaks.iter().map(of_peaks).collect(),
                between: Vec::new(),
                stiffness: Stiffness::Skipped,
                measure: Box::new(move |step| {
                    let field = known.recovery.field(&step.displacements);
                    field.peak(known.left_out, of_node).map_or(0.0, |p| p.value)
                }),
            });
        };
    if let Some(strength) = &case.material.yield_strength {
        stress(LimitKind::Yield, strength.value, |p| p.von_mises, |s| s.von_mises);
    }
    if let Some(strength) = &case.material.ultimate_strength {
        stress(LimitKind::Break, strength.value, |p| p.tension, |s| s.tension);
    }
    for (k, name) in known.moving.iter().enumerate() {
        let axis = Axis::of(case, name);
        let [_, unit] = axis.units();
        let effort = move |step: &Step| axis.effort(&step.reactions[k]);
        let values: Vec<f64> = steps.iter().map(effort).collect();
        let pulls = k == 0 || values.first().is_some_and(|v| *v > 0.0);
        let hand = case.hand.and_then(|hand| match axis {
            Axis::Along(_) => hand.force,
            Axis::Turn(_) => hand.moment,
        });
        let ends = [
            hand.map(|limit| (LimitKind::Hand, limit, true, limit)),
            // At rest there is no force; just behind it there is. What the other drives push along from the
            // beginning does not pull back, and is not meant to.
            pulls.then_some((LimitKind::NoReturn, 0.0, false, f64::INFINITY)),
        ];
        list.extend(ends.into_iter().flatten().map(|(kind, limit, rises, at_rest)| Watched {
            kind,
            region: Some(name),
            limit,
            unit,
            rises,
            at_rest,
            values: values.clone(),
            between: Vec::new(),
            stiffness: Stiffness::Skipped,
            measure: Box::new(effort),
        }));
    }
    list.push(touch(known));
    list.extend(case.obstacles.iter().filter_map(|o| meets(known, &o.name)));
    list.extend((0..known.moving.len()).filter_map(|k| straight(known, k)));
    list.extend(known.perfect.is_none().then(|| stable(steps)));
    list
}

/// The part touching itself: what is left of its narrowest gap, and less than nothing where edges cross.
fn touch<'a>(known: &'a Known<'a, '_>) -> Watched<'a> {
    let left = |n: &Narrowest| match n.crossing {
        Some(_) => -CROSSED,
        None => n.width().unwrap_or(f64::INFINITY),
    };
    let pushes = |step: &Step| push(step, None) > 0.0;
    Watched {
        kind: LimitKind::Touch,
        region: None,
        limit: 0.0,
        unit: "mm",
        rises: false,
        at_rest: f64::INFINITY,
        values: known
            .path
            .steps
            .iter()
            .zip(known.narrowest)
            .map(|(step, n)| if pushes(step) { -CROSSED } else { left(n) })
            .collect(),
        between: begun(known, None),
        stiffness: Stiffness::Skipped,
        measure: Box::new(move |step| {
            if pushes(step) { -CROSSED } else { left(&known.gaps.at(&step.displacements)) }
        }),
    }
}

/// Places between two states looked at for edges that touch there and in neither.
const LOOKS: u32 = 4;

/// Where edges meet between two reported states and in neither of them: on the polynomial through the states, and in
/// the equilibrium there.
fn passed(known: &Known, between: &mut Between, touch: &Watched) -> Vec<Left> {
    let rest = (0.0, touch.at_rest);
    let states = known.path.steps.iter().zip(&touch.values).map(|(s, v)| (s.fraction, *v));
    let states: Vec<Left> = std::iter::once(rest).chain(states).collect();
    let free = |pair: &&[Left]| pair.iter().all(|s| s.1 > 0.0);
    let looks: Vec<f64> = states
        .windows(2)
        .take_while(free)
        .flat_map(|pair| {
            let (from, width) = (pair[0].0, pair[1].0 - pair[0].0);
            (1..LOOKS).map(move |k| from + width * f64::from(k) / f64::from(LOOKS))
        })
        .collect();
    let crosses =
        |at: &&f64| between.guessed(**at).is_some_and(|u| crosses_itself(known.model.mesh(), &u));
    let Some(&first) = looks.par_iter().find_first(crosses) else { return Vec::new() };
    let step = between.at(first, touch.stiffness);
    step.map_or_else(|_| Vec::new(), |step| vec![(first, (touch.measure)(&step))])
}

/// The part pushing a rail or a pin; only whether it does is known.
fn meets<'a>(known: &'a Known<'a, '_>, name: &'a str) -> Option<Watched<'a>> {
    let left = move |step: &Step| {
        if push(step, Some(name)) > 0.0 { -1.0 } else { f64::INFINITY }
    };
    let values: Vec<f64> = known.path.steps.iter().map(left).collect();
    let between = begun(known, Some(name));
    (values.iter().any(|v| *v < 0.0) || !between.is_empty()).then(|| Watched {
        kind: LimitKind::Meets,
        region: Some(name),
        limit: 0.0,
        unit: "",
        rises: false,
        at_rest: f64::INFINITY,
        values,
        between,
        stiffness: Stiffness::Skipped,
        measure: Box::new(left),
    })
}

/// Where the path began to push something, the states before and behind, reported or not.
fn begun(known: &Known, obstacle: Option<&str>) -> Vec<Left> {
    let all = known.path.steps.iter().flat_map(|s| &s.begun);
    all.filter(|b| b.obstacle.as_deref() == obstacle)
        .flat_map(|b| [(b.before, f64::INFINITY), (b.fraction, -CROSSED)])
        .collect()
}

/// A moving region held in line.
fn straight<'a>(known: &'a Known<'a, '_>, index: usize) -> Option<Watched<'a>> {
    let states = known.guidance.get(index)?;
    let first = states.iter().flatten().next()?;
    let name = known.moving.get(index)?;
    // Where the tangent is singular nothing is left of it.
    let smallest = |g: Option<Guidance>| g.map_or(0.0, |g| g.smallest);
    Some(Watched {
        kind: LimitKind::Guidance,
        region: Some(name),
        limit: 0.0,
        unit: "N/mm",
        rises: false,
        at_rest: first.smallest,
        values: states.iter().map(|g| smallest(*g)).collect(),
        between: Vec::new(),
        stiffness: Stiffness::Wanted,
        measure: Box::new(move |step| smallest(guidance::of_state(known.case, name, index, step))),
    })
}

/// The shape being stable, by the sign of the tangent's pivots.
fn stable<'a>(steps: &[Step]) -> Watched<'a> {
    let sign = |step: &Step| if step.is_stable() { f64::INFINITY } else { -1.0 };
    Watched {
        kind: LimitKind::Stability,
        region: None,
        limit: 0.0,
        unit: "",
        rises: false,
        at_rest: f64::INFINITY,
        values: steps.iter().map(sign).collect(),
        between: Vec::new(),
        stiffness: Stiffness::Skipped,
        measure: Box::new(sign),
    }
}

/// Whether there is a reported state at a load factor, or it is rest.
fn reported(known: &Known, fraction: f64) -> bool {
    fraction <= 0.0 || known.path.steps.iter().any(|s| (s.fraction - fraction).abs() < SAME)
}

/// Where a watched quantity first reaches its limit.
fn limit(known: &Known, between: &mut Between, one: &Watched) -> Option<Limit> {
    let mut margins: Vec<Left> = std::iter::once((0.0, one.at_rest))
        .chain(known.path.steps.iter().zip(&one.values).map(|(s, v)| (s.fraction, one.margin(*v))))
        .chain(one.between.iter().filter(|(at, _)| !reported(known, *at)).copied())
        .collect();
    margins.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut probe = |fraction: f64| {
        let step = between.at(fraction, one.stiffness).ok()?;
        Some(one.margin((one.measure)(&step)))
    };
    let (before, behind) = bracket(&margins, &mut probe)?;
    let mut margin = |step: &Step| one.margin((one.measure)(step));
    let located = if behind.0 <= 0.0 {
        between.at(0.0, one.stiffness)
    } else {
        between.last_before_zero(before, behind, WIDTH, one.stiffness, &mut margin)
    };
    let quantity = |value: f64| {
        let (limit, unit) = (one.limit, one.unit);
        (one.kind != LimitKind::Stability).then_some(Quantity { value, limit, unit })
    };
    let made = |fraction, travel, quantity, confirmed| Limit {
        kind: one.kind,
        region: one.region.map(str::to_owned),
        fraction,
        travel,
        place: None,
        quantity,
        confirmed,
    };
    Some(match located {
        Ok(step) => {
            let value = (one.measure)(&step);
            // A gap may be followed only from close by.
            let value = if value.is_finite() { value } else { one.limit };
            let travel =
                known.moving.first().map(|n| Axis::of(known.case, n).travel(step.rigid[0]));
            let place = place_of(known, one.kind, &step);
            Limit { place, ..made(step.fraction, travel, quantity(value), true) }
        }
        Err(_) => {
            let share = before.1 / (before.1 - behind.1);
            // Where nothing can be interpolated, the state before is the safe one.
            let share = if share.is_finite() { share } else { 0.0 };
            let fraction = before.0 + share * (behind.0 - before.0);
            made(fraction, travel_at(known, fraction), quantity(one.limit), false)
        }
    })
}

/// Where in the part a limit is reached, at rest.
fn place_of(known: &Known, kind: LimitKind, step: &Step) -> Option<[f64; 2]> {
    let stress = |measure: fn(&NodeStress) -> f64| {
        let field = known.recovery.field(&step.displacements);
        let node = field.peak(known.left_out, measure)?.node;
        let p = known.model.mesh().nodes()[node.index()];
        Some([p.x, p.y])
    };
    match kind {
        LimitKind::Yield => stress(|s| s.von_mises),
        LimitKind::Break => stress(|s| s.tension),
        LimitKind::Touch => {
            let [a, b] = known.gaps.at(&step.displacements).gap?.rest;
            Some([0, 1].map(|i| 0.5 * (a[i] + b[i])))
        }
        LimitKind::Meets => None,
        LimitKind::Hand | LimitKind::Guidance | LimitKind::NoReturn | LimitKind::Stability => None,
    }
}

/// Travel of the first moving region at a fraction of the draw, on the line between two states.
fn travel_at(known: &Known, fraction: f64) -> Option<f64> {
    let axis = Axis::of(known.case, known.moving.first()?);
    let states = std::iter::once((0.0, 0.0))
        .chain(known.path.steps.iter().map(|s| (s.fraction, axis.travel(s.rigid[0]))));
    let states: Vec<(f64, f64)> = states.collect();
    let behind = states.iter().position(|s| s.0 >= fraction)?;
    let (b, a) = (states[behind], states[behind.saturating_sub(1)]);
    let width = largest(f64::MIN_POSITIVE, [b.0 - a.0]);
    Some(a.1 + (b.1 - a.1) * (fraction - a.0) / width)
}
