//! The three calculations side by side, in words and as data.

use super::hand::{Hand, formulas};
use super::{Curve, Departure, End, Rib};
use crate::picture::three_digits;
use crate::table::{Side, aligned, wrapped};
use serde_json::{Value, json};

/// Beyond this share a formula counts as wrong.
pub const WRONG: f64 = 0.05;

/// All that was computed about a rib.
#[derive(Clone, Debug)]
pub struct Compared {
    /// The rib.
    pub rib: Rib,
    /// The formulas.
    pub hand: Hand,
    /// How far beam and plane part are off the straight rib, if that buckles (mm).
    pub imperfect: Option<f64>,
    /// The beam, farther than the draw.
    pub beam: Curve,
    /// The plane part.
    pub plane: Curve,
    /// Where the plane part yields, if it does within the draw (mm).
    pub plane_yields: Option<f64>,
    /// Where the plane part suffers most, in words.
    pub hot_spot: String,
    /// Elements of the plane part's last mesh.
    pub elements: usize,
}

impl Compared {
    /// The beam's force and stress at a draw, between its states.
    fn beam_at(&self, draw: f64) -> Option<[f64; 2]> {
        let n = self.beam.draw.iter().position(|x| *x >= draw * (1.0 - 1e-9))?;
        let (x1, f1, s1) = (self.beam.draw[n], self.beam.force[n], self.beam.stress[n]);
        let (x0, f0, s0) = match n {
            0 => (0.0, 0.0, 0.0),
            n => (self.beam.draw[n - 1], self.beam.force[n - 1], self.beam.stress[n - 1]),
        };
        let t = (draw - x0) / (x1 - x0);
        Some([f0 + t * (f1 - f0), s0 + t * (s1 - s0)])
    }

    /// Peak of the plane part over the surface stress of the beam, and the draw at which: in the last state
    /// before the beam yields, or else in the first. Beyond that it mixes with the turning of the rib.
    #[must_use]
    pub fn concentration(&self) -> Option<(f64, f64)> {
        let ratio = |n: usize| {
            let draw = *self.plane.draw.get(n)?;
            let [_, stress] = self.beam_at(draw)?;
            Some((self.plane.stress[n] / stress, draw, stress))
        };
        let states = (0..self.plane.draw.len()).map_while(ratio);
        let strength = self.strength().unwrap_or(f64::INFINITY);
        let elastic = states.take_while(|(_, _, stress)| *stress < strength).last();
        elastic.or_else(|| ratio(0)).map(|(k, draw, _)| (k, draw))
    }

    fn strength(&self) -> Option<f64> {
        self.rib.material.yield_strength.as_ref().map(|d| d.value)
    }

    /// The text of standard output.
    #[must_use]
    pub fn text(&self) -> String {
        let rib = &self.rib;
        let mut text = format!(
            "{}\n  {}, E = {} MPa; root fillets of {} mm; {}\n\n",
            rib.title(),
            rib.material.title,
            three_digits(rib.material.youngs_modulus.value),
            three_digits(rib.fillet),
            rib.end.words()
        );
        text += &self.table();
        text += "\nThe formulas\n";
        let rows: Vec<Vec<String>> =
            formulas(rib.end).iter().map(|r| r.map(str::to_owned).to_vec()).collect();
        text += &aligned(&rows, &[Side::Left; 3]);
        text += "  E modulus, L length, w width, t thickness, d draw, F force along the draw; all for small draws,\n  \
                 sources from memory\n";
        text += "\nWhere they hold\n";
        text += &facts(&self.validity());
        text += "\nStress at the root\n";
        text += &facts(&self.stress());
        text
    }

    fn table(&self) -> String {
        let head = [
            "draw",
            "bending",
            "formula",
            "beam",
            "plane stress",
            "formula",
            "formula",
            "beam",
            "plane stress",
        ];
        let under = [
            "mm",
            "force, N",
            "force, N",
            "force, N",
            "force, N",
            "off by",
            "stress, MPa",
            "stress, MPa",
            "stress, MPa",
        ];
        let mut rows = vec![head.map(str::to_owned).to_vec(), under.map(str::to_owned).to_vec()];
        for (n, &draw) in self.plane.draw.iter().enumerate() {
            let (force, stress) = (self.plane.force[n], self.plane.stress[n]);
            let beam = self.beam_at(draw).map(|b| b.map(three_digits));
            let [beam_force, beam_stress] = beam.unwrap_or_else(|| ["-".into(), "-".into()]);
            rows.push(vec![
                three_digits(draw),
                three_digits(self.hand.bending * draw),
                three_digits(self.hand.stiffness * draw),
                beam_force,
                three_digits(force),
                percent(self.hand.stiffness * draw / force - 1.0),
                three_digits(self.hand.stress * draw),
                beam_stress,
                three_digits(stress),
            ]);
        }
        aligned(&rows, &[Side::Right; 9])
    }

    fn validity(&self) -> Vec<Vec<String>> {
        let rib = &self.rib;
        let mut rows = Vec::new();
        let mut row = |label: &str, fact: String| rows.push(vec![label.to_owned(), fact]);
        let of = |departure: Departure, from: &Curve| {
            let last = from.draw.last().copied().unwrap_or(f64::NAN);
            match departure {
                Departure::FromTheStart => "from the start".to_owned(),
                Departure::At(draw) => format!("from {} mm on", three_digits(draw)),
                Departure::NotYet => format!("not up to {} mm", three_digits(last)),
            }
        };
        let share = format!("off by more than {:.0} %", 100.0 * WRONG);
        let stiffness = self.hand.stiffness;
        row(
            &format!("formula {share}"),
            format!(
                "against the beam {}; against plane stress {}",
                of(self.beam.departs(stiffness, WRONG), &self.beam),
                of(self.plane.departs(stiffness, WRONG), &self.plane)
            ),
        );
        let apart = (self.hand.bending / stiffness - 1.0).abs() > 0.01;
        if apart {
            row(
                &format!("bending alone {share}"),
                format!(
                    "against the beam {}",
                    of(self.beam.departs(self.hand.bending, WRONG), &self.beam)
                ),
            );
        }
        if let (Some(draw), Some(force)) = (self.plane.draw.last(), self.plane.force.last())
            && let Some([beam, _]) = self.beam_at(*draw)
        {
            row(
                &format!("at {} mm", three_digits(*draw)),
                format!(
                    "formula {} and beam {} against plane stress",
                    percent(stiffness * draw / force - 1.0),
                    percent(beam / force - 1.0)
                ),
            );
        }
        if let Some(off) = self.imperfect {
            row(
                "buckling",
                format!(
                    "a perfect rib buckles on the way: beam and plane stress are those of one {off} mm off its drawing"
                ),
            );
        }
        if let Some(n) = self.beam.stable.iter().position(|s| !s) {
            row(
                "beam",
                format!(
                    "not stable from {} mm on: a real rib buckles aside there",
                    three_digits(self.beam.draw[n])
                ),
            );
        }
        let searle = rib.thickness * rib.thickness / (rib.width * self.radius());
        let large = match rib.end {
            End::Guided => {
                "the formula knows no large turns and no stretching that comes of bending"
            }
            End::Aside | End::Free => "the formula knows no large turns",
        };
        row(
            "why they differ",
            format!(
                "{large}; formula and beam know no root that gives way and no fillets that shorten the rib"
            ),
        );
        if searle > 1.0 {
            row(
                "thickness",
                format!(
                    "Searle's t^2/(R w) is {}: above about 1 a rib stiffens towards E/(1 - nu^2), which none of the three includes (Ashwell 1950, from memory)",
                    three_digits(searle)
                ),
            );
        }
        rows
    }

    /// The smallest radius to which the formula bends the rib at full draw (mm).
    fn radius(&self) -> f64 {
        let rib = &self.rib;
        let (s, _) = rib.across_along();
        let (factor, draw) = match rib.end {
            End::Guided | End::Aside => (6.0, rib.draw),
            End::Free => (3.0, rib.draw),
        };
        rib.length * rib.length / (factor * draw * s)
    }

    fn stress(&self) -> Vec<Vec<String>> {
        let mut rows = Vec::new();
        let mut row = |label: &str, fact: String| rows.push(vec![label.to_owned(), fact]);
        let concentration = self.concentration();
        if let Some((k, draw)) = concentration {
            row(
                "concentration",
                format!(
                    "{}: at {} mm plane stress peaks at so many times the beam's surface ({})",
                    three_digits(k),
                    three_digits(draw),
                    self.hot_spot
                ),
            );
        }
        let Some(strength) = self.strength() else {
            row("yield", format!("the card {} has no yield strength", self.rib.material.name));
            return rows;
        };
        let at = format!("at {} MPa (yield strength)", three_digits(strength));
        row(
            "largest draw",
            format!("formula {} mm {at}", three_digits(strength / self.hand.stress)),
        );
        let last = self.beam.draw.last().copied().unwrap_or(f64::NAN);
        let reached = |stress: f64| match self.beam.reaches(stress) {
            Some(draw) => format!("{} mm", three_digits(draw)),
            None => format!("beyond {} mm", three_digits(last)),
        };
        row("", format!("beam {}", reached(strength)));
        if let Some(k) = concentration.map(|c| c.0).filter(|k| *k > 1.0) {
            row("", format!("beam with that concentration {}", reached(strength / k)));
        }
        let end = self.plane.draw.last().copied().unwrap_or(f64::NAN);
        row(
            "",
            match self.plane_yields {
                Some(draw) => format!("plane stress {} mm", three_digits(draw)),
                None => format!("plane stress beyond {} mm", three_digits(end)),
            },
        );
        rows
    }

    /// The same as data.
    #[must_use]
    pub fn json(&self) -> String {
        let rib = &self.rib;
        let departure = |d: Departure| match d {
            Departure::FromTheStart => json!(0.0),
            Departure::At(draw) => json!(draw),
            Departure::NotYet => Value::Null,
        };
        let curve = |c: &Curve| json!({ "draw_mm": c.draw, "force_N": c.force, "stress_MPa": c.stress, "stable": c.stable });
        let document = json!({
            "format": "withy-rib/1",
            "rib": {
                "length_mm": rib.length, "width_mm": rib.width, "thickness_mm": rib.thickness,
                "angle_deg": rib.angle.to_degrees(), "draw_mm": rib.draw, "fillet_mm": rib.fillet,
                "end": rib.end, "material": rib.material.name,
                "youngs_modulus_MPa": rib.material.youngs_modulus.value,
            },
            "formula": {
                "bending_N_per_mm": self.hand.bending,
                "stiffness_N_per_mm": self.hand.stiffness,
                "stress_MPa_per_mm": self.hand.stress,
                "wrong_against_beam_from_mm": departure(self.beam.departs(self.hand.stiffness, WRONG)),
                "wrong_against_plane_stress_from_mm": departure(self.plane.departs(self.hand.stiffness, WRONG)),
            },
            "imperfection_mm": self.imperfect,
            "beam": curve(&self.beam),
            "plane_stress": curve(&self.plane),
            "elements": self.elements,
            "concentration": self.concentration().map(|c| c.0),
            "yield_strength_MPa": self.strength(),
            "largest_draw_mm": {
                "formula": self.strength().map(|s| s / self.hand.stress),
                "beam": self.strength().and_then(|s| self.beam.reaches(s)),
                "plane_stress": self.plane_yields,
            },
        });
        format!("{document:#}\n")
    }
}

/// Labels and facts, long ones on several lines.
fn facts(rows: &[Vec<String>]) -> String {
    let width = rows.iter().map(|r| r[0].chars().count()).max().unwrap_or(0);
    let line = |r: &Vec<String>| {
        let whole = format!("  {:<width$}  {}", r[0], r[1]);
        wrapped(&whole, 100, width + 4) + "\n"
    };
    rows.iter().map(line).collect()
}

fn percent(share: f64) -> String {
    format!("{:+.1} %", 100.0 * share)
}
