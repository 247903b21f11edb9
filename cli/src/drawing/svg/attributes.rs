//! Attributes of an SVG element: numbers with units, transforms, styles, and their places.

use crate::drawing::error::DrawingCause;
use crate::error::{Refusal, Source};
use kurbo::Affine;
use roxmltree::{Attribute, Node};
use std::ops::Range;
use std::str::FromStr;
use svgtypes::{Length, LengthUnit, TransformListParser, TransformListToken};

/// Values longer than this are shortened in complaints (characters).
const SHOWN_VALUE: usize = 40;

/// One element with the text that it was read from.
#[derive(Clone, Copy)]
pub(super) struct Element<'a> {
    node: Node<'a, 'a>,
    source: &'a Source,
}

/// The start tag of an element, without its content.
pub(super) fn tag_span(node: Node, source: &Source) -> Range<usize> {
    let range = node.range();
    let text = source.text().get(range.clone()).unwrap_or_default();
    // The first line of the tag is enough to find it by.
    let length = text.find(['>', '\n']).map_or(text.len(), |at| at + 1);
    range.start..range.start + length
}

impl<'a> Element<'a> {
    pub(super) fn new(node: Node<'a, 'a>, source: &'a Source) -> Self {
        Self { node, source }
    }

    pub(super) fn tag(&self) -> &'a str {
        self.node.tag_name().name()
    }

    pub(super) fn span(&self) -> Range<usize> {
        tag_span(self.node, self.source)
    }

    /// `path 'rib' (line 12)`.
    pub(super) fn words(&self) -> String {
        let line = self.source.line(self.node.range().start);
        match self.node.attribute("id") {
            Some(id) => format!("{} '{id}' (line {line})", self.tag()),
            None => format!("{} (line {line})", self.tag()),
        }
    }

    pub(super) fn attribute(&self, name: &str) -> Option<&'a str> {
        self.node.attribute(name)
    }

    /// A property from the `style` attribute, or else from the attribute of its name.
    pub(super) fn style(&self, property: &str) -> Option<&'a str> {
        let declarations = self.node.attribute("style").unwrap_or_default().split(';');
        let own = declarations.filter_map(|one| one.split_once(':'));
        let matching = own.rev().find(|(name, _)| name.trim() == property);
        let value =
            matching.map(|(_, value)| value.trim()).or_else(|| self.node.attribute(property));
        value.map(|value| value.trim().trim_end_matches("!important").trim_end())
    }

    fn attribute_node(&self, name: &str) -> Option<Attribute<'a, 'a>> {
        self.node.attributes().find(|one| one.namespace().is_none() && one.name() == name)
    }

    /// A complaint about the value of an attribute.
    pub(super) fn refuse(&self, name: &str, why: impl Into<String>) -> Refusal {
        let attribute = self.attribute_node(name);
        let span = attribute.map_or_else(|| self.span(), |one| one.range_value());
        let mut value: String =
            self.attribute(name).unwrap_or_default().chars().take(SHOWN_VALUE).collect();
        if self.attribute(name).is_some_and(|whole| whole.len() > value.len()) {
            value.push_str("...");
        }
        let cause = DrawingCause::BadAttribute {
            element: self.tag().to_owned(),
            attribute: name.to_owned(),
            value,
            why: why.into(),
        };
        Refusal::at(self.source, span, cause)
    }

    /// A complaint about a character, counted from 1, of an attribute's value.
    pub(super) fn refuse_at(&self, name: &str, position: usize, why: impl Into<String>) -> Refusal {
        let start = self
            .attribute_node(name)
            .map_or(self.node.range().start, |one| one.range_value().start);
        let at = start + position.saturating_sub(1);
        Refusal::at(self.source, at..at, DrawingCause::BadPath { position, why: why.into() })
    }

    /// A length in user units, if given; percentages are of `whole`.
    pub(super) fn length(&self, name: &str, whole: f64) -> Result<Option<f64>, Refusal> {
        let Some(text) = self.attribute(name) else { return Ok(None) };
        if text.trim() == "auto" {
            return Ok(None);
        }
        let length = Length::from_str(text).map_err(|_| self.refuse(name, "is not a length"))?;
        match user_units(length, whole) {
            Some(value) if value.is_finite() => Ok(Some(value)),
            Some(_) => Err(self.refuse(name, "is not a finite length")),
            None => Err(self.refuse(name, "depends on a font; give it in mm")),
        }
    }

    pub(super) fn length_or(&self, name: &str, default: f64, whole: f64) -> Result<f64, Refusal> {
        Ok(self.length(name, whole)?.unwrap_or(default))
    }

    /// The element's own transform.
    pub(super) fn transform(&self) -> Result<Affine, Refusal> {
        let Some(text) = self.attribute("transform") else { return Ok(Affine::IDENTITY) };
        let mut whole = Affine::IDENTITY;
        for token in TransformListParser::from(text) {
            let token =
                token.map_err(|error| self.refuse("transform", format!("is wrong: {error}")))?;
            whole *= match token {
                TransformListToken::Matrix { a, b, c, d, e, f } => Affine::new([a, b, c, d, e, f]),
                TransformListToken::Translate { tx, ty } => Affine::translate((tx, ty)),
                TransformListToken::Scale { sx, sy } => Affine::scale_non_uniform(sx, sy),
                TransformListToken::Rotate { angle } => rotation(angle),
                TransformListToken::SkewX { angle } => Affine::skew(angle.to_radians().tan(), 0.0),
                TransformListToken::SkewY { angle } => Affine::skew(0.0, angle.to_radians().tan()),
            };
        }
        let size = whole.determinant().abs();
        if !whole.is_finite() || !size.is_finite() || size <= f64::MIN_POSITIVE {
            return Err(
                self.refuse("transform", "squeezes the shape to nothing, or beyond all bounds")
            );
        }
        Ok(whole)
    }
}

/// A rotation whose quarter turns are exact, so that a turned rectangle stays upright.
fn rotation(degrees: f64) -> Affine {
    let quarters = degrees / 90.0;
    if quarters.fract() == 0.0 {
        let (sin, cos) = match quarters.rem_euclid(4.0) {
            0.0 => (0.0, 1.0),
            1.0 => (1.0, 0.0),
            2.0 => (0.0, -1.0),
            _ => (-1.0, 0.0),
        };
        return Affine::new([cos, sin, -sin, cos, 0.0, 0.0]);
    }
    Affine::rotate(degrees.to_radians())
}

/// Pixels in a unit: CSS Values 3, section 6.2 (1 in = 96 px = 25.4 mm).
fn user_units(length: Length, whole: f64) -> Option<f64> {
    let factor = match length.unit {
        LengthUnit::None | LengthUnit::Px => 1.0,
        LengthUnit::In => 96.0,
        LengthUnit::Cm => 96.0 / 2.54,
        LengthUnit::Mm => 96.0 / 25.4,
        LengthUnit::Pt => 96.0 / 72.0,
        LengthUnit::Pc => 16.0,
        LengthUnit::Percent => whole / 100.0,
        LengthUnit::Em | LengthUnit::Ex => return None,
    };
    Some(length.number * factor)
}
