//! Holding a result against a reference value.

/// Differences below this are rounding, which no two machines share.
const ROUNDING: f64 = 1e-6;

/// Checks a result to a relative tolerance and prints the row of the table of checks, which
/// `cargo test -- --nocapture` shows.
pub fn relative(what: &str, expected: f64, got: f64, tolerance: f64) {
    let difference = (got - expected) / expected.abs();
    let shown = if difference.abs() < ROUNDING {
        "below 1e-6".to_owned()
    } else if difference.abs() < 1e-5 {
        format!("{difference:+.0e}")
    } else {
        format!("{:+.3} %", 100.0 * difference)
    };
    row(what, &printed(expected), got, &shown);
    assert!(
        difference.abs() <= tolerance,
        "{what}: expected {expected}, got {got}: off by {:.4} %, allowed {:.4} %",
        100.0 * difference,
        100.0 * tolerance
    );
}

/// Checks a result to an absolute tolerance and prints its row.
pub fn absolute(what: &str, expected: f64, got: f64, tolerance: f64) {
    let difference = got - expected;
    let shown = if difference.abs() < ROUNDING {
        "below 1e-6".to_owned()
    } else {
        format!("{difference:+.1e}")
    };
    row(what, &printed(expected), got, &shown);
    assert!(
        difference.abs() <= tolerance,
        "{what}: expected {expected}, got {got}: off by {difference:.3e}, allowed {tolerance:.1e}"
    );
}

/// Checks that a result lies between two bounds and prints its row.
pub fn between(what: &str, low: f64, high: f64, got: f64) {
    row(what, &format!("{low} to {high}"), got, "");
    assert!(got >= low && got <= high, "{what}: {got} is not between {low} and {high}");
}

#[expect(clippy::print_stdout, reason = "the table of checks is what a reader of the run wants")]
fn row(what: &str, expected: &str, got: f64, difference: &str) {
    println!("| {what} | {expected} | {} | {difference} |", printed(got));
}

fn printed(value: f64) -> String {
    let size = value.abs();
    if size < 1e-9 {
        "0".to_owned()
    } else if (1e-2..1e5).contains(&size) {
        // Plain digits where they read well: five significant ones.
        let whole = [1.0, 10.0, 100.0, 1e3, 1e4].iter().filter(|&&w| size >= w).count();
        format!("{value:.*}", 5 - whole)
    } else {
        format!("{value:.3e}")
    }
}
