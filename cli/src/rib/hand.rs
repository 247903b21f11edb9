//! The hand calculation: formulas for small deflections.
//!
//! With I = t w^3/12, A = t w, s and c the sine and cosine of the angle between draw and rib: a draw d
//! moves the rib's end by d s across the rib and d c along it.
//!
//! | end | across the rib | root moment | source |
//! |---|---|---|---|
//! | kept from turning | V = 12 E I/L^3 (d s) | V L/2 | W. C. Young, Roark's Formulas for Stress and Strain, table of beams, case 1b (one end fixed, the other guided) |
//! | free to turn | V = 3 E I/L^3 (d s) | V L | the same, case 1a (cantilever) |
//! | any | N = E A/L (d c) along the rib | | S. Timoshenko, Strength of Materials, part I |
//!
//! All from memory. Where the end may go aside, the force along the draw F has no company: V = F s, N = F c,
//! and the two deflections add: 1/k = s^2/k_V + c^2/k_N. Shear is left out, as handbooks do: its share is
//! 12 E I/(k G A L^2), about 3 (w/L)^2.

use super::{End, Rib};

/// The formulas evaluated: all in proportion to the draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hand {
    /// Force along the draw by draw, bending alone (N/mm).
    pub bending: f64,
    /// Force along the draw by draw, bending and stretching (N/mm).
    pub stiffness: f64,
    /// Stress of the surface at the root by draw, of bending and stretching (MPa/mm).
    pub stress: f64,
}

/// Evaluates the formulas for a rib.
#[must_use]
pub fn hand(rib: &Rib) -> Hand {
    let e = rib.material.youngs_modulus.value;
    let (w, l) = (rib.width, rib.length);
    let area = rib.thickness * w;
    let inertia = area * w * w / 12.0;
    let (s, c) = rib.across_along();
    let (factor, lever) = match rib.end {
        End::Guided | End::Aside => (12.0, 0.5 * l),
        End::Free => (3.0, l),
    };
    let across = factor * e * inertia / l.powi(3);
    let along = e * area / l;
    // Shear and normal force of the rib, and force along the draw, by draw.
    let (bending, stiffness, v, n) = match rib.end {
        End::Guided => {
            (across * s * s, across * s * s + along * c * c, across * s, along * c.abs())
        }
        End::Aside | End::Free => {
            let k = 1.0 / (s * s / across + c * c / along);
            (across / (s * s), k, k * s, k * c.abs())
        }
    };
    let stress = n / area + v * lever * 0.5 * w / inertia;
    Hand { bending, stiffness, stress }
}

/// The formulas in words: name, formula, source.
#[must_use]
pub fn formulas(end: End) -> Vec<[&'static str; 3]> {
    let roark = "Roark's Formulas for Stress and Strain, table of beams";
    let mut list = match end {
        End::Guided => vec![
            ["guided beam, bending alone", "F = 12 E I/L^3 s^2 d", roark],
            [
                "with its stretching",
                "F = (12 E I/L^3 s^2 + E A/L c^2) d",
                "bar: Timoshenko, Strength of Materials",
            ],
            [
                "surface at the root",
                "stress = (E c/L + 3 E w s/L^2) d",
                "M = V L/2, M w/(2 I) + N/A",
            ],
        ],
        End::Aside => vec![
            ["guided beam, bending alone", "F = 12 E I/(L^3 s^2) d", roark],
            [
                "with its stretching",
                "d = (L^3 s^2/(12 E I) + L c^2/(E A)) F",
                "bar: Timoshenko, Strength of Materials",
            ],
            ["surface at the root", "stress = F s L w/(4 I) + F c/A", "M = V L/2, M w/(2 I) + N/A"],
        ],
        End::Free => vec![
            ["cantilever, bending alone", "F = 3 E I/(L^3 s^2) d", roark],
            [
                "with its stretching",
                "d = (L^3 s^2/(3 E I) + L c^2/(E A)) F",
                "bar: Timoshenko, Strength of Materials",
            ],
            ["surface at the root", "stress = F s L w/(2 I) + F c/A", "M = V L, M w/(2 I) + N/A"],
        ],
    };
    list.push(["", "I = t w^3/12, A = t w; s, c: sine and cosine of the angle", ""]);
    list
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// 40 x 2 x 5 mm of E = 2000 MPa at an angle (degrees).
    pub(crate) fn rib(degrees: f64, end: End) -> Rib {
        let (mut material, _) = crate::material::card("petg").unwrap();
        material.youngs_modulus.value = 2000.0;
        material.poissons_ratio.value = 0.35;
        Rib {
            length: 40.0,
            width: 2.0,
            thickness: 5.0,
            angle: degrees.to_radians(),
            draw: 4.0,
            fillet: 1.0,
            end,
            material,
            steps: 4,
            accuracy: 0.05,
            remarks: Vec::new(),
        }
    }

    #[test]
    fn a_square_rib_is_the_handbooks_beam() {
        // F = 1 N bends the cantilever by 3.2 mm with 12 MPa at its root: L^3/(3 E I), 6 F L/(t w^2).
        let h = hand(&rib(90.0, End::Free));
        assert!((1.0 / h.stiffness - 3.2).abs() < 1e-12, "{h:?}");
        assert!((h.stress / h.stiffness - 12.0).abs() < 1e-12, "{h:?}");
        // Guided: four times as stiff, and at the same draw 3 E w d/L^2 = 7.5 MPa/mm.
        for end in [End::Guided, End::Aside] {
            let h = hand(&rib(90.0, end));
            assert!((h.stiffness * 0.8 - 1.0).abs() < 1e-12, "{h:?}");
            assert!((h.stress - 7.5).abs() < 1e-12, "{h:?}");
            assert!((h.bending - h.stiffness).abs() < 1e-12, "nothing stretches");
        }
    }

    #[test]
    fn an_inclined_rib_stretches_where_its_carriage_is_kept_in_line() {
        // E A/L = 500 N/mm by c^2 = 3/4 and 1.25 N/mm by 1/4.
        let h = hand(&rib(30.0, End::Guided));
        assert!((h.stiffness - (375.0 + 0.3125)).abs() < 1e-9, "{h:?}");
        assert!((h.bending - 0.3125).abs() < 1e-12, "{h:?}");
        let free = hand(&rib(30.0, End::Aside));
        assert!((1.0 / free.stiffness - (0.25 / 1.25 + 0.75 / 500.0)).abs() < 1e-12, "{free:?}");
    }
}
