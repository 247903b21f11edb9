//! What was reconciled, in words.

use super::{Document, Found};
use crate::analysis::{Axis, moving_regions};
use crate::measured::pull::{Pull, Shape};
use crate::measured::speeds::{Losses, Measured};
use crate::picture::three_digits;
use crate::remark::cautions;
use crate::verdict::aligned;

/// What a person reads.
#[must_use]
pub fn text(found: &Found, document: &Document) -> String {
    let indented = part_file(found).into_iter().map(|line| format!("  {line}\n"));
    let mut text = aligned(&found.case.title, &lines(found, document));
    text += "\nFor the part file\n";
    text.extend(indented);
    if document.corrected.cautions.is_some() {
        text += &cautions();
    }
    text
}

/// Facts with their labels.
#[must_use]
pub fn lines(found: &Found, document: &Document) -> Vec<(String, String)> {
    let mut lines: Vec<(String, String)> = Vec::new();
    if let Some(pull) = found.pull {
        lines.extend(of_pull(found, pull));
    } else {
        lines.push(("pull".into(), "not measured: the card's modulus is taken".into()));
    }
    if let Some((losses, shots)) = found.speeds {
        lines.extend(of_speeds(found, losses, shots));
    }
    let c = &document.corrected;
    let mut corrected = format!(
        "{} {} at {} {}, {} mJ stored, {} MPa in the hot spot",
        three_digits(c.effort),
        c.effort_unit,
        three_digits(c.travel),
        c.travel_unit,
        three_digits(c.energy),
        three_digits(c.von_mises)
    );
    if let Some(strength) = &found.case.material.yield_strength {
        corrected += &format!(" ({:.0} % of yield)", 100.0 * c.von_mises / strength.value);
    }
    lines.push(("corrected".into(), corrected));
    if let (Some(speed), Some(energy), Some(launch)) =
        (c.speed_m_per_s, c.projectile, &found.case.launch)
    {
        let fact = format!(
            "{} g at {} m/s, {} mJ",
            three_digits(launch.mass),
            three_digits(speed),
            three_digits(energy)
        );
        lines.push(("throws".into(), fact));
    }
    lines
}

/// What the part file says with what was found, line by line.
#[must_use]
pub fn part_file(found: &Found) -> Vec<String> {
    let mut lines = Vec::new();
    if let (Some(pull), Some(file)) = (found.pull, found.pull_file) {
        let [modulus, half] = found.modulus(pull);
        lines.push("[material]".to_owned());
        lines.push(format!(
            "youngs_modulus = {{ value = \"{:.0} MPa\", low = \"{:.0} MPa\", high = \"{:.0} MPa\", \
             source = \"pull of this part, {file}\" }}",
            modulus,
            modulus - half,
            modulus + half
        ));
    }
    if let Some((losses, _)) = found.speeds
        && losses.loss >= 0.0
    {
        lines.push("[launch]".to_owned());
        lines.push(format!("losses = \"{:.0} %\"", 100.0 * losses.loss));
    }
    lines
}

fn of_pull(found: &Found, pull: &Pull) -> Vec<(String, String)> {
    let axis =
        Axis::of(found.case, moving_regions(found.case).first().copied().unwrap_or_default());
    let [length, force] = axis.units();
    let [modulus, half] = found.modulus(pull);
    let mut readings = format!("{} readings, {} used", found.readings, pull.used);
    if pull.beyond > 0 {
        readings +=
            &format!("; {} lie beyond the computed draw: solve farther to use them", pull.beyond);
    }
    let thicker = 100.0 * (pull.scale.cbrt() - 1.0);
    let mut lines = vec![
        ("pull".into(), readings),
        (
            "modulus".into(),
            format!(
                "{modulus:.0} MPa, {:.0} to {:.0} with 95 % confidence: {:.2} times the card's",
                modulus - half,
                modulus + half,
                pull.scale
            ),
        ),
        (
            "or the width".into(),
            format!(
                "ribs {:.1} % {} than drawn would do the same: measure one",
                thicker.abs(),
                if thicker < 0.0 { "narrower" } else { "wider" }
            ),
        ),
        (
            "scatter".into(),
            format!("{} {force} about the reconciled curve", three_digits(pull.scatter)),
        ),
    ];
    if pull.zero != 0.0 {
        let fact = format!(
            "the part begins to resist at {} {length} of the readings, give or take {}",
            three_digits(pull.zero),
            three_digits(pull.zero_half_width)
        );
        lines.push(("zero".into(), fact));
    }
    let shape = match pull.shape {
        Shape::AsComputed => "as computed: only scatter is left".to_owned(),
        Shape::Unknown => "too few readings to tell".to_owned(),
        Shape::Softens { from, at_end } => format!(
            "falls below the computed curve beyond {} {length}, {:.0} % at the end: it yields (or creeps while it is \
             pulled). The modulus is that of the readings below",
            three_digits(from),
            100.0 * at_end
        ),
        Shape::Bends { at_end } => format!(
            "bends away from the computed curve all along, {:+.0} % at full draw: geometry. Look at widths, fillets \
             and what holds the part",
            100.0 * at_end
        ),
    };
    lines.push(("shape".into(), shape));
    lines
}

fn of_speeds(found: &Found, losses: &Losses, shots: &[Measured]) -> Vec<(String, String)> {
    let percent = |v: f64| format!("{:.1}", 100.0 * v);
    let mut fact = format!("{} % of the released energy", percent(losses.loss));
    if losses.half_width.is_finite() {
        fact += &format!(", give or take {} with 95 % confidence", percent(losses.half_width));
    }
    let meters = found.meters;
    let mut lines = vec![
        ("speeds".to_owned(), format!("{} shots", shots.len())),
        ("losses".to_owned(), fact),
        (
            "meters".to_owned(),
            format!(
                "speeds to {} % and masses to {} % leave an energy open by {} %, 2 dv/v + dm/m",
                percent(meters.speed),
                percent(meters.mass),
                percent(2.0 * meters.speed + meters.mass)
            ),
        ),
    ];
    if losses.loss < -losses.of_meters {
        let fact = "the shots have more energy than is computed: the modulus of a fast release is higher than that \
                    of a slow pull, or the part is stiffer than taken";
        lines.push(("beware".to_owned(), fact.to_owned()));
    }
    if let Some(trend) = losses.trend {
        let fact = format!(
            "{:+.1} % for each doubling of the mass: losses by friction grow with mass, a wrong moving mass makes them \
             fall",
            100.0 * trend
        );
        lines.push(("losses grow".to_owned(), fact));
    }
    if found.pull.is_none() {
        let fact = "without a pull, losses and a wrong modulus cannot be told apart";
        lines.push(("beware".to_owned(), fact.to_owned()));
    }
    lines
}
