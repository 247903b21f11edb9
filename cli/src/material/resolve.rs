//! From layers of written cards to one card: the part file's values first, then the card's, then those
//! of the card that it starts from; what is still missing by a stated rule.

use super::estimate;
use super::shelf::{self, shelf};
use super::written::{Property, Written};
use super::{Card, Datum, RelaxationTerm};
use crate::case::{CaseCause, Placed, nearest, toml_text};
use crate::error::{Refusal, Source};
use crate::quantity::Dimension;
use crate::remark::Remark;
use std::ops::Range;
use std::path::Path;

/// Cards may start from each other so many times; a longer chain is a circle.
const LONGEST_CHAIN: usize = 8;
/// Below -1 no solid is stable; at 0.5 it has no volume change, which the stiffness cannot express.
const POISSON_RANGE: (f64, f64) = (-1.0, 0.5);

/// A card file and its text.
struct Opened {
    written: Written,
    source: Source,
    name: String,
}

/// A written card, where it stands, and what it is called.
#[derive(Clone, Copy)]
struct Layer<'a> {
    written: &'a Written,
    source: &'a Source,
    name: &'a str,
}

/// The card that a part file means.
///
/// `directory` is the part file's; `instead` overrules its `card` and is relative to the working
/// directory.
///
/// # Errors
/// A card that is not there, a value that cannot be, no modulus at all.
pub fn resolve(
    part: &Placed<Written>,
    source: &Source,
    directory: &Path,
    instead: Option<&str>,
    remarks: &mut Vec<Remark>,
) -> Result<Card, Refusal> {
    let mut opened: Vec<Opened> = Vec::new();
    if let Some(name) = instead {
        opened.push(open(name, Path::new(""), source, None)?);
    } else if let Some(name) = &part.card {
        opened.push(open(name, directory, source, Some(name.span()))?);
    }
    while let Some(last) = opened.last() {
        let Some(base) = &last.written.card else { break };
        if opened.len() >= LONGEST_CHAIN {
            let why = "the cards start from each other in a circle".into();
            return Err(Refusal::at(&last.source, base.span(), CaseCause::BadToml { why }));
        }
        let beside = last.source.path().parent().unwrap_or(Path::new(""));
        let next = open(base, beside, &last.source, Some(base.span()))?;
        opened.push(next);
    }
    let own = Layer { written: part, source, name: "part file" };
    let cards = opened.iter().map(|card| Layer {
        written: &card.written,
        source: &card.source,
        name: &card.name,
    });
    if instead.is_some() && part.overrules_something() {
        let text =
            "the card of the command line replaces the whole of [material], overruled values too";
        remarks.push(Remark::note("material-replaced", text));
    }
    // A card from the command line is the user's last word: values meant for another card do not mix with it.
    let layers: Vec<Layer> = if instead.is_some() {
        cards.collect()
    } else {
        std::iter::once(own).chain(cards).collect()
    };
    Layers { layers }.card(part.span(), source, remarks)
}

/// A card by its name on the shelf, or by its path, with nothing to overrule it.
///
/// # Errors
/// As [`resolve`].
pub fn card(name: &str) -> Result<(Card, Vec<Remark>), Refusal> {
    let nobody = Source::new(Path::new("the command line"), String::new());
    let written = Placed::new(Written::default(), 0..0);
    let mut remarks = Vec::new();
    let card = resolve(&written, &nobody, Path::new(""), Some(name), &mut remarks)?;
    Ok((card, remarks))
}

/// A card from the shelf, or from a file of the user's own.
fn open(
    name: &str,
    directory: &Path,
    source: &Source,
    span: Option<Range<usize>>,
) -> Result<Opened, Refusal> {
    let source = if let Some(text) = shelf::text(name) {
        Source::new(Path::new(&format!("{name} (card on the shelf)")), text.to_owned())
    } else {
        let path = directory.join(name);
        let looks_like_path = name.contains(['/', '\\', '.']);
        if !path.is_file() || !looks_like_path {
            return Err(Refusal::at_or_of(source, span, unknown_card(name)));
        }
        toml_text::open(&path)?
    };
    Ok(Opened { written: toml_text::parse(&source)?, source, name: name.to_owned() })
}

fn unknown_card(name: &str) -> CaseCause {
    let known: Vec<String> = shelf().map(str::to_owned).collect();
    let nearest = nearest(name, known.iter().map(String::as_str)).map(str::to_owned);
    CaseCause::UnknownCard { name: name.into(), nearest, known }
}

struct Layers<'a> {
    layers: Vec<Layer<'a>>,
}

impl Layers<'_> {
    fn card(
        &self,
        span: Range<usize>,
        source: &Source,
        remarks: &mut Vec<Remark>,
    ) -> Result<Card, Refusal> {
        let text = |pick: fn(&Written) -> &Option<String>| {
            self.layers.iter().find_map(|layer| pick(layer.written).clone())
        };
        let name = self.layers.iter().map(|layer| layer.name).find(|name| *name != "part file");
        let name = name.unwrap_or("part file").to_owned();
        let class = self.class()?;
        let flexural_modulus = self.positive("flexural_modulus", |card| &card.flexural_modulus)?;
        let youngs_modulus = self
            .positive("youngs_modulus", |card| &card.youngs_modulus)?
            .or_else(|| estimate::from_flexural(flexural_modulus.as_ref(), remarks))
            .or_else(|| Some(estimate::modulus_of_class(class.as_ref()?, remarks)))
            .ok_or_else(|| Refusal::at(source, span, CaseCause::NoModulus))?;
        let poissons_ratio = self
            .poissons_ratio()?
            .or_else(|| Some(estimate::poissons_ratio_of_class(class.as_ref()?, remarks)))
            .unwrap_or_else(|| estimate::usual_poissons_ratio(remarks));
        let mut card = Card {
            title: text(|card| &card.title).unwrap_or_else(|| name.clone()),
            notes: text(|card| &card.notes),
            name,
            youngs_modulus,
            flexural_modulus,
            poissons_ratio,
            modulus_across: self.positive("modulus_across", |card| &card.modulus_across)?,
            shear_modulus: self.positive("shear_modulus", |card| &card.shear_modulus)?,
            yield_strength: self.positive("yield_strength", |card| &card.yield_strength)?,
            yield_strain: self.positive("yield_strain", |card| &card.yield_strain)?,
            proportional_limit: self
                .positive("proportional_limit", |card| &card.proportional_limit)?,
            hardening_rate: self.positive("hardening_rate", |card| &card.hardening_rate)?,
            ultimate_strength: self
                .positive("ultimate_strength", |card| &card.ultimate_strength)?,
            elongation_at_break: self
                .positive("elongation_at_break", |card| &card.elongation_at_break)?,
            density: self.positive("density", |card| &card.density)?,
            relaxation_one_hour: self
                .share("relaxation_one_hour", |card| &card.relaxation_one_hour)?,
            relaxation_exponent: self
                .share("relaxation_exponent", |card| &card.relaxation_exponent)?,
            creep_modulus_1h: self.positive("creep_modulus_1h", |card| &card.creep_modulus_1h)?,
            creep_modulus_1000h: self
                .positive("creep_modulus_1000h", |card| &card.creep_modulus_1000h)?,
            relaxation_terms: self.relaxation_terms()?,
            strain_life_coefficient: self
                .positive("strain_life_coefficient", |card| &card.strain_life_coefficient)?,
            strain_life_exponent: self
                .share("strain_life_exponent", |card| &card.strain_life_exponent)?,
            fatigue_factor_1e3: self
                .share("fatigue_factor_1e3", |card| &card.fatigue_factor_1e3)?,
            fatigue_factor_1e4: self
                .share("fatigue_factor_1e4", |card| &card.fatigue_factor_1e4)?,
        };
        if let Some(class) = &class {
            estimate::fill_from_class(&mut card, class, remarks);
        }
        Ok(card)
    }

    /// The card of the shelf that stands for the material's kind, if one is named.
    fn class(&self) -> Result<Option<Card>, Refusal> {
        let named = self.layers.iter().find_map(|l| Some((l.source, l.written.class.as_ref()?)));
        let Some((source, name)) = named else { return Ok(None) };
        if shelf::text(name).is_none() {
            return Err(Refusal::at(source, name.span(), unknown_card(name)));
        }
        card(name).map(|(class, _)| Some(class))
    }

    /// The Maxwell arms: positive, and together less than all of the modulus.
    fn relaxation_terms(&self) -> Result<Vec<RelaxationTerm>, Refusal> {
        let first = self
            .layers
            .iter()
            .find_map(|layer| Some((layer, layer.written.relaxation_terms.as_ref()?)));
        let Some((layer, written)) = first else { return Ok(Vec::new()) };
        let refuse = |what: &str, found: f64, range: &str| {
            let cause = CaseCause::OutOfRange {
                what: what.into(),
                found: found.to_string(),
                range: range.into(),
            };
            Err(Refusal::at(layer.source, written.span(), cause))
        };
        let mut terms = Vec::new();
        for one in written.iter() {
            let term = RelaxationTerm { share: one.share.value(), time: one.time.value() };
            if !(term.share > 0.0 && term.share < 1.0) {
                return refuse("share of a relaxation term", term.share, "above 0 and below 1");
            }
            if !(term.time > 0.0 && term.time.is_finite()) {
                return refuse("time of a relaxation term (ms)", term.time, "above 0");
            }
            terms.push(term);
        }
        let sum: f64 = terms.iter().map(|t| t.share).sum();
        if sum >= 1.0 {
            return refuse("sum of the shares of relaxation_terms", sum, "below 1 (100 %)");
        }
        Ok(terms)
    }

    /// A value that must be above zero.
    fn positive<D: Dimension>(
        &self,
        what: &str,
        pick: fn(&Written) -> &Option<Placed<Property<D>>>,
    ) -> Result<Option<Datum>, Refusal> {
        self.checked(what, pick, |value| value > 0.0, "above zero")
    }

    /// A value between nothing and all.
    fn share<D: Dimension>(
        &self,
        what: &str,
        pick: fn(&Written) -> &Option<Placed<Property<D>>>,
    ) -> Result<Option<Datum>, Refusal> {
        self.checked(what, pick, |value| (0.0..=1.0).contains(&value), "between 0 and 1 (100 %)")
    }

    fn poissons_ratio(&self) -> Result<Option<Datum>, Refusal> {
        let allowed = |value: f64| value > POISSON_RANGE.0 && value < POISSON_RANGE.1;
        let range = "above -1 and below 0.5";
        self.checked("poissons_ratio", |card| &card.poissons_ratio, allowed, range)
    }

    fn checked<D: Dimension>(
        &self,
        what: &str,
        pick: impl Fn(&Written) -> &Option<Placed<Property<D>>>,
        allowed: impl Fn(f64) -> bool,
        range: &str,
    ) -> Result<Option<Datum>, Refusal> {
        let first =
            self.layers.iter().find_map(|layer| Some((layer, pick(layer.written).as_ref()?)));
        let Some((layer, property)) = first else { return Ok(None) };
        let value = property.value.value();
        let low = property.low.map(|low| low.value());
        let high = property.high.map(|high| high.value());
        let refuse = |what: String, found: f64, range: String| {
            let cause = CaseCause::OutOfRange { what, found: found.to_string(), range };
            Err(Refusal::at(layer.source, property.span(), cause))
        };
        for number in [Some(value), low, high].into_iter().flatten() {
            if !allowed(number) {
                return refuse(what.to_owned(), number, range.to_owned());
            }
        }
        if low.is_some_and(|low| low > value) || high.is_some_and(|high| high < value) {
            return refuse(
                format!("the value of {what}"),
                value,
                "between its own low and high".into(),
            );
        }
        let source = property.source.clone().unwrap_or_else(|| layer.name.to_owned());
        Ok(Some(Datum { value, low, high, source, estimated: false }))
    }
}
