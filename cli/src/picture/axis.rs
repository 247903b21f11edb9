//! Round numbers for axes and legends.

/// Ticks at round numbers covering low..=high, about `count` of them, with their labels.
pub(super) fn ticks(low: f64, high: f64, count: f64) -> Vec<(f64, String)> {
    let step = round_step((high - low) / count);
    if !(step > 0.0 && step.is_finite()) {
        return vec![(low, label(low, 1.0))];
    }
    let first = (low / step - 1e-9).ceil();
    let mut list = Vec::new();
    let mut k = 0.0;
    loop {
        let value = (first + k) * step;
        if value > high + 1e-9 * step || k > 100.0 {
            return list;
        }
        list.push((value, label(value, step)));
        k += 1.0;
    }
}

/// The nearest 1, 2 or 5 times a power of ten, not below the given step.
pub(super) fn round_step(step: f64) -> f64 {
    if !(step > 0.0 && step.is_finite()) {
        return 0.0;
    }
    let power = 10f64.powf(step.log10().floor());
    let scaled = step / power;
    let round = if scaled <= 1.0 + 1e-9 {
        1.0
    } else if scaled <= 2.0 + 1e-9 {
        2.0
    } else if scaled <= 5.0 + 1e-9 {
        5.0
    } else {
        10.0
    };
    round * power
}

/// A tick's label with just the decimals its step needs.
fn label(value: f64, step: f64) -> String {
    let decimals = (0..9).find(|&d| {
        let scaled = step * 10f64.powi(d);
        (scaled - scaled.round()).abs() < 1e-6
    });
    let text = format!("{value:.*}", usize::try_from(decimals.unwrap_or(9)).unwrap_or(9));
    // No "-0".
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// A value to about three significant digits, as people write it.
pub fn three_digits(value: f64) -> String {
    let size = value.abs();
    if !value.is_finite() {
        "not a number".to_owned()
    } else if size >= 99.95 {
        format!("{value:.0}")
    } else if size >= 9.995 {
        format!("{value:.1}")
    } else if size >= 0.0995 || size <= 0.0 {
        format!("{value:.2}")
    } else if size >= 0.001 {
        format!("{value:.4}")
    } else {
        format!("{value:.1e}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_cover_the_range() {
        let texts =
            |low, high| -> Vec<String> { ticks(low, high, 5.0).into_iter().map(|t| t.1).collect() };
        assert_eq!(texts(0.0, 6.0), ["0", "2", "4", "6"]);
        assert_eq!(texts(-0.3, 0.31), ["-0.2", "0.0", "0.2"]);
        assert_eq!(texts(0.0, 43.0), ["0", "10", "20", "30", "40"]);
        assert_eq!(ticks(1.0, 1.0, 5.0).len(), 1, "an empty range has one tick");
        assert_eq!(ticks(0.0, f64::NAN, 5.0).len(), 1, "and so has no range at all");
    }
}
