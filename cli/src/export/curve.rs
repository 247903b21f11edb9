//! `curve.csv`: one row a reported state, and the same numbers as lines for the chart.

use crate::analysis::{Analysis, Axis, moving_regions};
use crate::case::Case;
use crate::picture::CurveLine;
use std::fmt::Write as _;
use withy_solver::Step;

/// The table, rest first. Region names with characters that CSV minds are quoted.
#[must_use]
pub fn curve_csv(case: &Case, analysis: &Analysis) -> String {
    let moving = moving_regions(case);
    let path = &analysis.solution.path;
    let mut header = vec!["fraction".to_owned()];
    for region in &moving {
        for column in ["travel_x_mm", "travel_y_mm", "turn_deg"] {
            header.push(format!("{region}_{column}"));
        }
    }
    let reacting: Vec<&str> = path
        .steps
        .first()
        .map_or_else(Vec::new, |s| s.reactions.iter().map(|r| r.region.as_str()).collect());
    for region in &reacting {
        for column in ["force_x_N", "force_y_N"] {
            header.push(format!("{region}_{column}"));
        }
        if moving.contains(region) {
            header.push(format!("{region}_moment_Nmm"));
        }
    }
    for column in
        ["strain_energy_mJ", "peak_von_mises_MPa", "peak_tension_MPa", "peak_strain", "stable"]
    {
        header.push(column.to_owned());
    }
    let quoted: Vec<String> = header.iter().map(|h| quote(h)).collect();
    let mut table = quoted.join(",") + "\n";
    let columns = header.len();
    let rest: Vec<&str> =
        (0..columns).map(|c| if c + 1 == columns { "true" } else { "0" }).collect();
    table += &(rest.join(",") + "\n");
    for (step, peaks) in path.steps.iter().zip(&analysis.solution.peaks) {
        let mut numbers = vec![step.fraction];
        for q in &step.rigid {
            numbers.extend([q[0], q[1], q[2].to_degrees()]);
        }
        for r in &step.reactions {
            numbers.extend(r.force);
            if moving.contains(&r.region.as_str()) {
                numbers.push(r.moment);
            }
        }
        numbers.extend([step.strain_energy, peaks.von_mises, peaks.tension, peaks.strain]);
        for n in numbers {
            // Nine digits: more than any of them means, and the same text on every machine.
            let _ = write!(table, "{},", shortest(n));
        }
        let _ = writeln!(table, "{}", step.is_stable());
    }
    table
}

/// A number with nine significant digits, without a tail of zeros.
pub(crate) fn shortest(value: f64) -> String {
    let text = format!("{value:.8e}");
    match text.parse::<f64>() {
        Ok(rounded) => format!("{rounded}"),
        Err(_) => text,
    }
}

pub(crate) fn quote(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

/// Travel and effort of each driven or loaded region along its draw, rest first.
#[must_use]
pub fn curve_lines(case: &Case, analysis: &Analysis) -> Vec<CurveLine> {
    lines_of(case, &analysis.solution.path.steps)
}

/// The same of the perfect part, where the reported path is that of a part a little off.
#[must_use]
pub fn perfect_lines(case: &Case, analysis: &Analysis) -> Vec<CurveLine> {
    let perfect = analysis.solution.perfect.as_ref();
    perfect.map_or_else(Vec::new, |p| lines_of(case, &p.path.steps))
}

fn lines_of(case: &Case, steps: &[Step]) -> Vec<CurveLine> {
    let stable: Vec<bool> =
        std::iter::once(true).chain(steps.iter().map(|s| s.is_stable())).collect();
    moving_regions(case)
        .into_iter()
        .enumerate()
        .map(|(k, name)| {
            let axis = Axis::of(case, name);
            let travel = steps.iter().map(|s| axis.travel(s.rigid[k]));
            let effort = steps.iter().map(|s| axis.effort(&s.reactions[k]));
            let (travel_label, effort_label) = match axis {
                Axis::Along(_) => ("draw, mm", "force along the draw, N"),
                Axis::Turn(_) => ("turn, degrees", "moment, N mm"),
            };
            CurveLine {
                name: name.to_owned(),
                travel: std::iter::once(0.0).chain(travel).collect(),
                effort: std::iter::once(0.0).chain(effort).collect(),
                stable: stable.clone(),
                travel_label: travel_label.to_owned(),
                effort_label: effort_label.to_owned(),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_nine_digits_and_no_tail() {
        assert_eq!(shortest(0.1), "0.1");
        assert_eq!(shortest(-12.345_678_912_3), "-12.3456789");
        assert_eq!(shortest(0.0), "0");
        assert_eq!(quote("a,\"b\""), "\"a,\"\"b\"\"\"");
    }
}
