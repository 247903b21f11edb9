//! Holding a result against a reference value.

/// Checks a result to a relative tolerance and prints the row of the table of checks, which
/// `cargo test -- --nocapture` shows.
pub fn relative(what: &str, expected: f64, got: f64, tolerance: f64) {
    let difference = (got - expected) / expected.abs();
    row(what, expected, got, &format!("{:+.3} %", 100.0 * difference));
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
    row(what, expected, got, &format!("{difference:+.1e}"));
    assert!(
        difference.abs() <= tolerance,
        "{what}: expected {expected}, got {got}: off by {difference:.3e}, allowed {tolerance:.1e}"
    );
}

#[expect(clippy::print_stdout, reason = "the table of checks is what a reader of the run wants")]
fn row(what: &str, expected: f64, got: f64, difference: &str) {
    println!("| {what} | {expected:.6} | {got:.6} | {difference} |");
}
