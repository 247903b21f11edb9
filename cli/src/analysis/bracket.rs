//! Between which two states a limit is reached first.

/// A state is solved where the parabola through three states dips below this part of its middle one.
const DIP: f64 = 0.5;

/// A load factor and what is left there before a limit.
pub(super) type Left = (f64, f64);

/// The last place with something left and the first one without, rest being the first of `margins`.
///
/// Where the margin has a dip that a parabola takes far enough down, a state is solved at its bottom.
pub(super) fn bracket(
    margins: &[Left],
    probe: &mut dyn FnMut(f64) -> Option<f64>,
) -> Option<(Left, Left)> {
    if margins.first().is_some_and(|m| m.1 <= 0.0) {
        return Some((margins[0], margins[0]));
    }
    for n in 1..margins.len() {
        // Written so that a NaN counts as nothing left.
        let left = margins[n].1 > 0.0;
        if !left {
            return Some((margins[n - 1], margins[n]));
        }
        let Some(next) = margins.get(n + 1) else { continue };
        let Some((at, least)) = bottom(margins[n - 1], margins[n], *next) else { continue };
        if least > DIP * margins[n].1 || next.1 <= 0.0 {
            continue;
        }
        if let Some(found) = probe(at).filter(|found| *found <= 0.0) {
            let before = if at < margins[n].0 { margins[n - 1] } else { margins[n] };
            return Some((before, (at, found)));
        }
    }
    None
}

/// The lowest point of the parabola through three points, if the middle one is the lowest of them.
fn bottom(a: Left, b: Left, c: Left) -> Option<Left> {
    if !(a.1 > b.1 && b.1 < c.1 && a.1.is_finite() && c.1.is_finite()) {
        return None;
    }
    let (left, right) = ((b.1 - a.1) / (b.0 - a.0), (c.1 - b.1) / (c.0 - b.0));
    let curvature = (right - left) / (c.0 - a.0);
    // Newton's form: slope at b is the mean of the chords weighted by the other's length.
    let slope = (left * (c.0 - b.0) + right * (b.0 - a.0)) / (c.0 - a.0);
    let shift = -0.5 * slope / curvature;
    (curvature > 0.0).then_some((b.0 + shift, b.1 + 0.5 * slope * shift))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn never(_: f64) -> Option<f64> {
        panic!("nothing is to be solved")
    }

    #[test]
    fn the_first_zero_is_between_two_states() {
        let margins = [(0.0, 4.0), (0.25, 3.0), (0.5, 1.0), (0.75, -1.0), (1.0, -3.0)];
        assert_eq!(bracket(&margins, &mut never), Some(((0.5, 1.0), (0.75, -1.0))));
        assert_eq!(bracket(&margins[..3], &mut never), None);
        let nan = [(0.0, 4.0), (0.5, f64::NAN)];
        assert!(bracket(&nan, &mut never).is_some(), "what is no number is not left");
    }

    #[test]
    fn what_is_gone_at_rest_is_reached_at_rest() {
        let margins = [(0.0, -2.0), (0.5, -2.0)];
        assert_eq!(bracket(&margins, &mut never), Some(((0.0, -2.0), (0.0, -2.0))));
    }

    /// (x - 0.6)^2 - 0.01 is above zero at all four states, and below it from 0.5 to 0.7.
    #[test]
    fn a_dip_between_two_states_is_looked_into() {
        let left = |x: f64| (x - 0.6) * (x - 0.6) - 0.01;
        let margins = [0.0, 0.25, 0.45, 0.75, 1.0].map(|x| (x, left(x)));
        let mut asked = Vec::new();
        let found = bracket(&margins, &mut |x| {
            asked.push(x);
            Some(left(x))
        });
        assert!(asked.len() == 1 && (asked[0] - 0.6).abs() < 1e-12, "{asked:?}");
        let (before, behind) = found.unwrap();
        assert!(before == margins[2] && (behind.1 + 0.01).abs() < 1e-12, "{found:?}");
    }
}
