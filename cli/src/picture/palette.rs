//! Colours of the pictures, chosen once.
//!
//! The heat scale is magma turned round: pale where little happens, dark where much does, so that a
//! part lies quietly on a white page and its hot spot stands out. It is perceptually even, works in
//! grey and for all common colour vision deficiencies.

/// Text and axes.
pub(super) const INK: &str = "#2b2b33";
/// Secondary text, rules.
pub(super) const FAINT_INK: &str = "#7c7c88";
/// Grid lines.
pub(super) const GRID: &str = "#e3e3e8";
/// The page.
pub(super) const PAGE: &str = "#ffffff";
/// Outline of the part at rest.
pub(super) const REST: &str = "#a9a9b5";
/// Fill of the part where no stress is shown.
pub(super) const BODY: &str = "#d8dde6";
/// Held regions.
pub(super) const HELD: &str = "#3d6b8e";
/// Driven and loaded regions, and their arrows.
pub(super) const DRIVEN: &str = "#b3541e";
/// Pressure on edges.
pub(super) const PRESSED: &str = "#1f7a5c";
/// First and second line of a chart.
pub(super) const LINES: [&str; 4] = ["#2f5d8a", "#b3541e", "#4d7d3a", "#7a4b8f"];

/// Ends of the heat scale on magma's 0..=1: neither pure white nor black.
const PALEST: f64 = 0.985;
const DARKEST: f64 = 0.12;

/// Colour of a value on the heat scale, 0 lowest, 1 highest.
pub(super) fn heat(t: f64) -> String {
    let at = PALEST + (DARKEST - PALEST) * t.clamp(0.0, 1.0);
    let c = colorous::MAGMA.eval_continuous(at);
    format!("#{:02x}{:02x}{:02x}", c.r, c.g, c.b)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIE lightness of an sRGB colour "#rrggbb".
    fn lightness(hex: &str) -> f64 {
        let channel = |i: usize| {
            let v = f64::from(u8::from_str_radix(&hex[i..i + 2], 16).unwrap()) / 255.0;
            if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        let y = 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5);
        if y > 0.008_856 { 116.0 * y.cbrt() - 16.0 } else { 903.3 * y }
    }

    #[test]
    fn the_heat_scale_darkens_evenly() {
        let steps: Vec<f64> = (0..=16).map(|i| lightness(&heat(f64::from(i) / 16.0))).collect();
        for pair in steps.windows(2) {
            let drop = pair[0] - pair[1];
            // Even would be 5.2 to 5.6 a step; a hue-driven scale jumps by many times that.
            assert!(drop > 3.0 && drop < 8.0, "{drop} in {steps:?}");
        }
    }
}
