//! What is lost and borne, in words and as data.

use super::{Draws, Endured, Held, Recovery, TIMES, draws::MOST_DRAWS};
use crate::picture::three_digits;
use schemars::JsonSchema;
use serde::Serialize;

/// One time at full draw, as data.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct HeldSummary {
    /// How long it is kept.
    pub time_s: f64,
    /// Force by the force at once, at the same draw.
    pub force_left: f64,
    /// The same over the card's spread, if it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub force_left_range: Option<[f64; 2]>,
    /// Energy that a quick release gives back.
    #[serde(rename = "energy_mJ")]
    pub energy: f64,
    /// Speed of what is thrown; absent if nothing is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed_m_per_s: Option<f64>,
    /// Where it rests when it is let go then, at once and later.
    pub rests: Vec<RestSummary>,
    /// Whether these are of the part's own shapes; else they are those of a straight spring.
    pub rests_of_the_part: bool,
    /// Travel by the travel at once where a load, not a draw, is kept.
    pub creep: f64,
    /// Which of the card's values it rests on.
    pub rule: &'static str,
}

/// A rest after a time at full draw, as data.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct RestSummary {
    /// How long it has been left alone.
    pub alone_s: f64,
    /// Where it rests, by the draw.
    pub of_draw: f64,
    /// The same over the card's spread, if it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of_draw_range: Option<[f64; 2]>,
}

/// Draws, as data.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct DrawsSummary {
    /// Draws before cracks are to be expected, from and to; absent if the first one is too much.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<[f64; 2]>,
    /// Largest strain of a draw.
    pub strain_largest: f64,
    /// Half of its range.
    pub strain_amplitude: f64,
    /// Mean of the largest and the least strain.
    pub strain_mean: f64,
    /// Where the swing beyond rest comes from: "none", "straight spring", "release in time".
    pub swing: &'static str,
    /// How far the carriage swings beyond rest after a release, by the draw.
    pub overshoot: f64,
    /// Which of the card's values it rests on.
    pub rule: &'static str,
}

impl HeldSummary {
    /// Every time.
    #[must_use]
    pub fn list(held: &Held) -> Vec<Self> {
        let one = |after: &super::HeldFor| Self {
            time_s: after.time / 1e3,
            force_left: after.left.value,
            force_left_range: after.left.range,
            energy: after.energy,
            speed_m_per_s: after.speed,
            rests: alone()
                .zip(&after.rests)
                .map(|((_, time), rest)| RestSummary {
                    alone_s: time / 1e3,
                    of_draw: rest.value,
                    of_draw_range: rest.range,
                })
                .collect(),
            rests_of_the_part: matches!(held.recovery, Recovery::Solved(_)),
            creep: after.creep,
            rule: held.law.rule,
        };
        held.after.iter().map(one).collect()
    }
}

/// How long it is left alone: name and ms.
fn alone() -> impl Iterator<Item = (&'static str, f64)> {
    std::iter::once(("at once", 0.0)).chain(TIMES)
}

impl DrawsSummary {
    /// From the draws.
    #[must_use]
    pub fn new(draws: &Draws) -> Self {
        Self {
            range: match draws.endured {
                Endured::Band(range) => Some(range),
                Endured::NotOne => None,
            },
            strain_largest: draws.cycle.largest,
            strain_amplitude: draws.cycle.amplitude,
            strain_mean: draws.cycle.largest - draws.cycle.amplitude,
            swing: draws.swing.code(),
            overshoot: draws.swing.share(),
            rule: draws.rule,
        }
    }
}

/// Each time and what is left, as pairs: "after 1 h", "80 % of the force (75-88 %), 64 % of the energy: 12 mJ".
#[must_use]
pub fn held_words(held: &Held) -> Vec<(String, String)> {
    let one = |after: &super::HeldFor| {
        let name = format!("after {}", after.name);
        if held.loaded {
            let percent = 100.0 * (after.creep - 1.0);
            return (name, format!("it has given way by another {percent:.0} % of its travel"));
        }
        let percent = |share: f64| format!("{:.0}", 100.0 * share);
        let range = after.left.range.map_or_else(String::new, |[low, high]| {
            format!(" ({}-{} %)", percent(low), percent(high))
        });
        let mut fact = format!(
            "{} % of the force{range}, {} mJ",
            percent(after.left.value),
            three_digits(after.energy)
        );
        if let Some(speed) = after.speed {
            fact += &format!(", {} m/s", three_digits(speed));
        }
        (name, fact)
    };
    held.after.iter().map(one).collect()
}

/// Where it rests when it was forgotten for a day: "12 % of its draw at once, ...".
#[must_use]
pub fn rest_words(held: &Held) -> Option<String> {
    let after = held.after.iter().find(|a| a.name == "1 day").filter(|_| !held.loaded)?;
    let percent = |n: usize| format!("{:.0} %", 100.0 * after.rests[n].value);
    let who = match held.recovery {
        Recovery::Solved(_) => "it rests",
        Recovery::Straight(_) => "a straight spring would rest",
    };
    Some(format!(
        "let go after 1 day, {who} at {} of its draw at once, {} an hour later, {} a day later",
        percent(0),
        percent(2),
        percent(3)
    ))
}

/// Where it rests by the time kept (rows) and left alone (columns), as text; the first row names the columns. None
/// where a load is kept.
#[must_use]
pub fn rest_rows(held: &Held) -> Option<Vec<Vec<String>>> {
    if held.loaded {
        return None;
    }
    let head = std::iter::once("let go after".to_owned())
        .chain(alone().map(
            |(name, _)| if name == "at once" { name.into() } else { format!("{name} later") },
        ));
    let row = |after: &super::HeldFor| -> Vec<String> {
        let rests = after.rests.iter().map(|rest| {
            let range = rest.range.map_or_else(String::new, |[low, high]| {
                format!(" ({:.0}-{:.0})", 100.0 * low, 100.0 * high)
            });
            format!("{:.0} %{range}", 100.0 * rest.value)
        });
        std::iter::once(after.name.to_owned()).chain(rests).collect()
    };
    Some(std::iter::once(head.collect()).chain(held.after.iter().map(row)).collect())
}

/// "some 600 to 30 000 draws before it cracks".
#[must_use]
pub fn draws_words(draws: &Draws) -> String {
    match draws.endured {
        Endured::NotOne => {
            "the first one already goes beyond what the material bears: no count".to_owned()
        }
        Endured::Band([low, _]) if low >= MOST_DRAWS => {
            "more than a million, as far as the card tells".to_owned()
        }
        Endured::Band([low, high]) if high >= MOST_DRAWS => {
            format!("some {} to more than a million before it cracks", one_digit(low))
        }
        Endured::Band([low, high]) => {
            format!("some {} to {} before it cracks", one_digit(low), one_digit(high))
        }
    }
}

/// What both rest on, as sentences.
#[must_use]
pub fn rests_on(held: Option<&Held>, draws: Option<&Draws>) -> Vec<String> {
    let mut list = Vec::new();
    if let Some(held) = held {
        list.push(format!(
            "Kept drawn: by the card's {} ({}). At a kept shape every stress falls by the same share, whatever the              geometry; the energy of a quick release falls with its square. Warmth makes it much worse.",
            held.law.rule, held.law.source
        ));
        if !held.loaded {
            list.push(match held.recovery {
                Recovery::Solved(_) => "Afterwards: by the shapes without force of this very part whose springs keep part of the                      drawn strain, and that part falls in time as a straight spring's does. What has yielded is not in                      it: withy set with [[stage]] hold and rest tells both, point by point."
                    .to_owned(),
                Recovery::Straight(why) => {
                    format!("Afterwards: as a straight spring, because {why}.")
                }
            });
        }
        if held.beyond_half_yield {
            list.push(
                "The hot spot is beyond half the yield strain, where more is lost than the card says."
                    .to_owned(),
            );
        }
    }
    if let Some(draws) = draws {
        let mut text = format!(
            "Draws: by {} ({}), at a strain of {:.2} % in the hot spot",
            draws.rule,
            draws.source,
            100.0 * draws.cycle.largest
        );
        text += &draws.swing.words();
        text += ". Lives scatter widely, so this is a band, and no promise.";
        list.push(text);
    }
    list
}

/// A count with one digit that means something, in groups of three.
fn one_digit(count: f64) -> String {
    let unit = 10f64.powf(count.log10().floor());
    let rounded = (count / unit).round() * unit;
    let digits = format!("{rounded:.0}");
    let mut text = String::new();
    for (k, digit) in digits.chars().enumerate() {
        if k > 0 && (digits.len() - k).is_multiple_of(3) && digits.len() > 4 {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_claim_one_digit() {
        assert_eq!(one_digit(678.0), "700");
        assert_eq!(one_digit(1.2), "1");
        assert_eq!(one_digit(3499.0), "3000");
        assert_eq!(one_digit(26_000.0), "30 000");
        assert_eq!(one_digit(980_000.0), "1 000 000");
    }
}
