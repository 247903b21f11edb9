//! A material as it is written: a card file, or the `[material]` of a part file. Both have the same
//! keys, and both may start from another card.

use crate::case::Placed;
use crate::quantity::{DensityKind, Dimension, Quantity, RatioKind, StressKind, TimeKind};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// The keys of a card.
#[derive(Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Written {
    /// The card to start from: a name on the shelf, or the path of a card file.
    pub card: Option<Placed<String>>,
    /// A card of the shelf of the same kind of polymer: what is not written is estimated from its range.
    pub class: Option<Placed<String>>,
    /// What the material is, for people.
    pub title: Option<String>,
    /// What one should know about it.
    pub notes: Option<String>,
    /// Tensile modulus of a bar printed flat (MPa).
    pub youngs_modulus: Option<Placed<Property<StressKind>>>,
    /// Modulus of a bar in bending; serves where the tensile modulus is missing (MPa).
    pub flexural_modulus: Option<Placed<Property<StressKind>>>,
    /// Modulus across printed beads; only `beads` and `bead_angle` of a part compute with it (MPa).
    pub modulus_across: Option<Placed<Property<StressKind>>>,
    /// Modulus of shear between printed beads, likewise (MPa).
    pub shear_modulus: Option<Placed<Property<StressKind>>>,
    /// Poisson's ratio (1).
    pub poissons_ratio: Option<Placed<Property<RatioKind>>>,
    /// Tensile stress at yield (MPa).
    pub yield_strength: Option<Placed<Property<StressKind>>>,
    /// Tensile strain at yield (1).
    pub yield_strain: Option<Placed<Property<RatioKind>>>,
    /// Tensile stress at which the first set begins (MPa).
    pub proportional_limit: Option<Placed<Property<StressKind>>>,
    /// How fast the yield stress grows to the yield strength with plastic strain (1).
    pub hardening_rate: Option<Placed<Property<RatioKind>>>,
    /// Largest tensile stress (MPa).
    pub ultimate_strength: Option<Placed<Property<StressKind>>>,
    /// Tensile strain at break (1).
    pub elongation_at_break: Option<Placed<Property<RatioKind>>>,
    /// Mass by volume (g/mm3).
    pub density: Option<Placed<Property<DensityKind>>>,
    /// Share of the force that is lost in one hour at about half the yield strain (1).
    pub relaxation_one_hour: Option<Placed<Property<RatioKind>>>,
    /// Fall of the modulus by time, both as logarithms (1).
    pub relaxation_exponent: Option<Placed<Property<RatioKind>>>,
    /// Tensile stress by strain after one hour under a kept stress (MPa).
    pub creep_modulus_1h: Option<Placed<Property<StressKind>>>,
    /// The same after 1000 hours (MPa).
    pub creep_modulus_1000h: Option<Placed<Property<StressKind>>>,
    /// Maxwell arms: shares of the modulus at the start, with their relaxation times.
    pub relaxation_terms: Option<Placed<Vec<WrittenTerm>>>,
    /// Strain amplitude at one fully reversed cycle by the line of lives (1).
    pub strain_life_coefficient: Option<Placed<Property<RatioKind>>>,
    /// Fall of the strain amplitude by cycles, both as logarithms (1).
    pub strain_life_exponent: Option<Placed<Property<RatioKind>>>,
    /// Factor on the allowed strain for about 1000 draws (1).
    pub fatigue_factor_1e3: Option<Placed<Property<RatioKind>>>,
    /// Factor on the allowed strain for about 10 000 draws (1).
    pub fatigue_factor_1e4: Option<Placed<Property<RatioKind>>>,
}

impl Written {
    /// Whether anything but the card's name is written.
    pub(super) fn overrules_something(&self) -> bool {
        let stresses = [
            &self.youngs_modulus,
            &self.flexural_modulus,
            &self.modulus_across,
            &self.shear_modulus,
            &self.yield_strength,
            &self.proportional_limit,
            &self.ultimate_strength,
            &self.creep_modulus_1h,
            &self.creep_modulus_1000h,
        ];
        let ratios = [
            &self.poissons_ratio,
            &self.yield_strain,
            &self.hardening_rate,
            &self.elongation_at_break,
            &self.relaxation_one_hour,
            &self.relaxation_exponent,
            &self.strain_life_coefficient,
            &self.strain_life_exponent,
            &self.fatigue_factor_1e3,
            &self.fatigue_factor_1e4,
        ];
        stresses.iter().any(|one| one.is_some())
            || ratios.iter().any(|one| one.is_some())
            || self.density.is_some()
            || self.relaxation_terms.is_some()
    }
}

/// A Maxwell arm.
#[derive(Debug, serde::Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WrittenTerm {
    /// Share of the modulus at the start (1).
    pub share: Quantity<RatioKind>,
    /// Relaxation time (ms; mind the unit).
    pub time: Quantity<TimeKind>,
}

/// A property: the bare quantity, or a table with its spread and where it comes from.
#[derive(Debug)]
pub struct Property<D> {
    /// The value.
    pub value: Quantity<D>,
    /// Lowest value to be expected.
    pub low: Option<Quantity<D>>,
    /// Highest value to be expected.
    pub high: Option<Quantity<D>>,
    /// A data sheet, a bench test, "typical, from memory".
    pub source: Option<String>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields, bound = "D: Dimension")]
struct PropertyTable<D> {
    value: Quantity<D>,
    low: Option<Quantity<D>>,
    high: Option<Quantity<D>>,
    source: Option<String>,
}

struct PropertyVisitor<D>(PhantomData<D>);

impl<D: Dimension> PropertyVisitor<D> {
    fn bare<E: serde::de::Error>(
        quantity: impl Deserializer<'static, Error = E>,
    ) -> Result<Property<D>, E> {
        let value = Quantity::deserialize(quantity)?;
        Ok(Property { value, low: None, high: None, source: None })
    }
}

impl<'de, D: Dimension> Visitor<'de> for PropertyVisitor<D> {
    type Value = Property<D>;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let kind = D::KIND;
        write!(
            f,
            "{}, such as \"{}\", or a table with value, low, high and source",
            kind.name, kind.example
        )
    }

    fn visit_f64<E: serde::de::Error>(self, number: f64) -> Result<Self::Value, E> {
        Self::bare(serde::de::value::F64Deserializer::new(number))
    }

    fn visit_i64<E: serde::de::Error>(self, number: i64) -> Result<Self::Value, E> {
        Self::bare(serde::de::value::I64Deserializer::new(number))
    }

    fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Self::Value, E> {
        Self::bare(serde::de::value::StringDeserializer::new(text.to_owned()))
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
        let table = PropertyTable::deserialize(MapAccessDeserializer::new(map))?;
        Ok(Property { value: table.value, low: table.low, high: table.high, source: table.source })
    }
}

impl<'de, D: Dimension> Deserialize<'de> for Property<D> {
    fn deserialize<T: Deserializer<'de>>(deserializer: T) -> Result<Self, T::Error> {
        deserializer.deserialize_any(PropertyVisitor(PhantomData))
    }
}

impl<D: Dimension> JsonSchema for Property<D> {
    fn schema_name() -> Cow<'static, str> {
        format!("{}_property", Quantity::<D>::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let quantity = generator.subschema_for::<Quantity<D>>();
        json_schema!({
            "anyOf": [quantity, {
                "type": "object",
                "properties": {
                    "value": quantity,
                    "low": quantity,
                    "high": quantity,
                    "source": { "type": "string" },
                },
                "required": ["value"],
                "additionalProperties": false,
            }]
        })
    }
}
