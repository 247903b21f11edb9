//! `withy bench`: a bending test of a printed strip becomes a modulus and a card.

use super::solve::{SOLVED, SolveError};
use crate::args::BenchArgs;
use crate::case::{CaseCause, Placed, toml_text};
use crate::error::{Refusal, Source};
use crate::export::folder::write_file;
use crate::material::card;
use crate::measured::pull::Shape;
use crate::measured::strip::{Strip, Tested};
use crate::measured::{MeasuredCause, Readings};
use crate::picture::three_digits;
use crate::quantity::{ForceKind, Length, LengthKind};
use crate::verdict::aligned;
use serde::Deserialize;
use withy_solver::bending_test::BendingTest;

/// A strip file as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StripFile {
    title: Option<String>,
    test: Test,
    span: Placed<Length>,
    width: Placed<Length>,
    thickness: Placed<Length>,
    readings: Placed<String>,
    card: Option<Placed<String>>,
}

/// How it was bent.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Test {
    ThreePoint,
    Cantilever,
}

/// A strip must be this much longer than thick, else shear takes part: ISO 178 asks for 16 between its rollers.
const LEAST_SLENDERNESS: f64 = 10.0;
const USUAL_SLENDERNESS: f64 = 16.0;
/// Readings that a modulus and its spread need.
const FEWEST: usize = 3;

/// Reads, fits, writes the card if asked to, and returns what goes to standard output and the exit status.
///
/// # Errors
/// What cannot be read or understood; readings that tell no modulus; a card that cannot be written.
pub fn bench(args: &BenchArgs) -> Result<(String, u8), SolveError> {
    let source = toml_text::open(&args.strip).map_err(Box::new)?;
    let file: StripFile = toml_text::parse(&source).map_err(Box::new)?;
    let strip = strip(&source, &file).map_err(Box::new)?;
    let path = args.strip.with_file_name(file.readings.as_str());
    let table =
        Readings::open(&path).map_err(|e| Box::new(e.or_at(&source, file.readings.span())))?;
    let deflections = table.column::<LengthKind>("deflection").map_err(Box::new)?;
    let forces = table.column::<ForceKind>("force").map_err(Box::new)?;
    let strength = match &file.card {
        Some(name) => {
            let (card, _) = card(name).map_err(Box::new)?;
            card.yield_strength.map(|s| s.value)
        }
        None => None,
    };
    if deflections.len() < FEWEST {
        let cause = MeasuredCause::TooFew { found: deflections.len(), needed: FEWEST };
        return Err(Box::new(table.complaint(cause)).into());
    }
    for (k, x) in deflections.iter().enumerate() {
        if !(0.0..=strip.most()).contains(x) {
            let cause = MeasuredCause::Unfit(format!(
                "a deflection of {} mm is not between 0 and {} mm, up to which this test tells a modulus",
                three_digits(*x),
                three_digits(strip.most())
            ));
            return Err(Box::new(table.complaint_at(k, cause)).into());
        }
    }
    let tested = strip.modulus(&deflections, &forces, strength).ok_or_else(|| {
        let why = "these readings tell no modulus: force must grow with deflection";
        Box::new(table.complaint(MeasuredCause::Unfit(why.into())))
    })?;
    if tested.modulus.is_nan() || tested.modulus <= 0.0 {
        let why = "these readings give a modulus below zero: are deflection and force in their right columns?";
        return Err(Box::new(table.complaint(MeasuredCause::Unfit(why.into()))).into());
    }
    let card = card_text(&file, &strip, &tested, &table.name());
    let mut text = report(&file, &strip, &tested, deflections.len());
    match &args.out {
        Some(out) => {
            write_file(out, &card)?;
            text += &format!("\nthe card is {}\n", out.display());
        }
        None => text += &format!("\nThe card (--out writes it)\n{card}"),
    }
    Ok((text, SOLVED))
}

fn strip(source: &Source, file: &StripFile) -> Result<Strip, Refusal> {
    for (what, length) in
        [("span", &file.span), ("width", &file.width), ("thickness", &file.thickness)]
    {
        if !(length.value() > 0.0 && length.value() < 1e4) {
            let cause = CaseCause::OutOfRange {
                what: what.into(),
                found: format!("{} mm", length.value()),
                range: "above 0 and below 10 m".into(),
            };
            return Err(Refusal::at(source, length.span(), cause));
        }
    }
    let test = match file.test {
        Test::ThreePoint => BendingTest::ThreePoint,
        Test::Cantilever => BendingTest::Cantilever,
    };
    let strip = Strip {
        test,
        span: file.span.value(),
        width: file.width.value(),
        thickness: file.thickness.value(),
    };
    if strip.span < LEAST_SLENDERNESS * strip.thickness {
        let cause = CaseCause::OutOfRange {
            what: "span".into(),
            found: format!("{} mm", three_digits(strip.span)),
            range: format!(
                "at least {LEAST_SLENDERNESS} times the thickness ({} mm), else shear takes part; {USUAL_SLENDERNESS} \
                 times is what ISO 178 asks for",
                three_digits(LEAST_SLENDERNESS * strip.thickness)
            ),
        };
        return Err(Refusal::at(source, file.span.span(), cause));
    }
    Ok(strip)
}

fn report(file: &StripFile, strip: &Strip, tested: &Tested, readings: usize) -> String {
    let percent = |v: f64| format!("{:+.1} %", 100.0 * v);
    let (kind, formula) = match strip.test {
        BendingTest::ThreePoint => ("three-point", "E = L^3 F / (4 b h^3 s), ISO 178"),
        BendingTest::Cantilever => ("cantilever", "E = 4 L^3 F / (b h^3 s)"),
    };
    let mut lines = vec![
        (
            "test".to_owned(),
            format!(
                "{kind}, {readings} readings to {:.2} % surface strain",
                100.0 * tested.largest_strain
            ),
        ),
        (
            "modulus".into(),
            format!(
                "{:.0} MPa, {:.0} to {:.0} with 95 % confidence",
                tested.modulus,
                tested.modulus - tested.half_width,
                tested.modulus + tested.half_width
            ),
        ),
        (
            "small deflections".into(),
            format!(
                "{formula}: {:.0} MPa from the last reading, {} off",
                tested.of_formula,
                percent(tested.of_formula / tested.modulus - 1.0)
            ),
        ),
    ];
    if let Some(chord) = tested.chord {
        lines.push((
            "chord".into(),
            format!("{chord:.0} MPa between 0.05 and 0.25 % of strain, as ISO 178 takes it"),
        ));
    }
    if tested.pull.zero != 0.0 {
        let zero = three_digits(tested.pull.zero);
        lines.push((
            "zero".into(),
            format!("the strip begins to resist at {zero} mm of the readings"),
        ));
    }
    let shape = match tested.pull.shape {
        Shape::AsComputed => "that of an elastic strip: only scatter is left".to_owned(),
        Shape::Unknown => "too few readings to tell".to_owned(),
        Shape::Softens { from, at_end } => format!(
            "softens beyond {} mm, {} at the end: it yields or creeps; the modulus is that of the readings below",
            three_digits(from),
            percent(at_end)
        ),
        Shape::Bends { at_end } => format!(
            "bends away from an elastic strip, {} at the end: creep, a give of the supports, or yielding",
            percent(at_end)
        ),
    };
    lines.push(("shape".into(), shape));
    if strip.span < USUAL_SLENDERNESS * strip.thickness {
        let fact = format!(
            "the span is {:.0} times the thickness, less than the {USUAL_SLENDERNESS:.0} of ISO 178: shear makes the \
             modulus look lower by about {:.0} %",
            strip.span / strip.thickness,
            100.0 * shear_share(strip)
        );
        lines.push(("beware".into(), fact));
    }
    aligned(file.title.as_deref().unwrap_or("Printed strip"), &lines)
}

/// Share of the deflection that is shear's: (h/L)^2 E / (G k) times 1 on rollers, 1/4 of a cantilever, with E/G =
/// 2 (1 + 0.38) and k = 5/6 (S. Timoshenko, Strength of Materials, part 1, from memory).
fn shear_share(strip: &Strip) -> f64 {
    let ratio = (strip.thickness / strip.span).powi(2) * 2.0 * 1.38 / (5.0 / 6.0);
    match strip.test {
        BendingTest::ThreePoint => ratio,
        BendingTest::Cantilever => 0.25 * ratio,
    }
}

/// A card of the user's own.
fn card_text(file: &StripFile, strip: &Strip, tested: &Tested, readings: &str) -> String {
    let kind = match strip.test {
        BendingTest::ThreePoint => "three-point bending",
        BendingTest::Cantilever => "cantilever bending",
    };
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let mut text = String::new();
    if let Some(title) = &file.title {
        text += &format!("title = {}\n", quoted(title));
    }
    if let Some(card) = &file.card {
        text += &format!("card = {}\n", quoted(card));
    }
    let source = quoted(&format!("{kind} of a printed strip, {readings}"));
    let [low, high] = [-1.0, 1.0].map(|side| tested.modulus + side * tested.half_width);
    text += &format!(
        "youngs_modulus = {{ value = \"{:.0} MPa\", low = \"{:.0} MPa\", high = \"{:.0} MPa\", source = {source} }}\n",
        tested.modulus,
        low.floor(),
        high.ceil()
    );
    text
}
