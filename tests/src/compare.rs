//! Holding a result against a reference value.

/// Checks a result to a relative tolerance and prints the row of the table of checks, which
/// `cargo test -- --nocapture` shows.
pub fn relative(what: &str, expected: f64, got: f64, tolerance: f64) {
    let difference = (got - expected) / expected.abs();
    let shown = if difference.abs() < 1e-5 {
        format!("{difference:+.1e}")
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
    row(what, &printed(expected), got, &format!("{difference:+.1e}"));
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
    // Plain digits where they read well.
    if value.abs() >= 1e-2 || value.abs() <= 0.0 {
        format!("{value:.5}")
    } else {
        format!("{value:.3e}")
    }
}
