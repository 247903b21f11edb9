//! Repeated timings and what to make of them.

use std::time::Instant;

/// Times of the same work, repeated (s).
#[derive(Clone, Debug, PartialEq)]
pub struct Times(Vec<f64>);

impl Times {
    /// Runs `work` once to warm up and then so many times.
    pub fn of(repeats: usize, mut work: impl FnMut()) -> Self {
        work();
        let mut times: Vec<f64> = (0..repeats.max(1))
            .map(|_| {
                let start = Instant::now();
                work();
                start.elapsed().as_secs_f64()
            })
            .collect();
        times.sort_by(f64::total_cmp);
        Self(times)
    }

    /// The middle one: what is usual.
    #[must_use]
    pub fn median(&self) -> f64 {
        self.0[self.0.len() / 2]
    }

    /// The best one: what the machine can do when nothing disturbs it.
    #[must_use]
    pub fn best(&self) -> f64 {
        self.0[0]
    }
}

/// The exponent p of the power law `y = c x^p` through some pairs, by least squares of the logarithms.
#[must_use]
pub fn growth(pairs: &[(f64, f64)]) -> f64 {
    let logs: Vec<(f64, f64)> = pairs.iter().map(|(x, y)| (x.ln(), y.ln())).collect();
    let n = logs.len() as f64;
    let (mx, my) =
        (logs.iter().map(|l| l.0).sum::<f64>() / n, logs.iter().map(|l| l.1).sum::<f64>() / n);
    let slope: f64 = logs.iter().map(|l| (l.0 - mx) * (l.1 - my)).sum();
    slope / logs.iter().map(|l| (l.0 - mx).powi(2)).sum::<f64>()
}

/// The most memory that this process has held so far (MB), where the system tells.
#[must_use]
pub fn most_memory() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    let kilobytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes / 1024.0)
}

#[cfg(test)]
mod tests {
    use super::growth;

    #[test]
    fn a_power_law_gives_its_exponent() {
        let pairs = [10.0, 100.0, 700.0, 5000.0f64].map(|x| (x, 3.0 * x.powf(1.25)));
        assert!((growth(&pairs) - 1.25).abs() < 1e-12, "{}", growth(&pairs));
    }
}
