//! The text form of DXF: pairs of lines, a group code and a value; a code 0 begins a record.
//!
//! Read here rather than by a general reader because a shape must never be cut short: every pair is
//! checked, every record knows its line, and a file that ends early is refused.

use crate::drawing::error::DrawingCause;
use crate::error::{Refusal, Source};
use std::ops::Range;

/// One group code with its value.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair<'a> {
    pub(super) code: i32,
    pub(super) value: &'a str,
    /// The value's line, counted from 1.
    line: usize,
}

/// A record: what it is, and its pairs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Record<'a> {
    pub(super) kind: &'a str,
    pub(super) pairs: &'a [Pair<'a>],
    line: usize,
    source: &'a Source,
}

/// All pairs of a file.
pub(super) fn pairs(source: &Source) -> Result<Vec<Pair<'_>>, Refusal> {
    let not_dxf = |line: usize, why: String| {
        Refusal::at(source, source.line_range(line), DrawingCause::NotDxf { why })
    };
    if source.text().contains('\0') {
        return Err(not_dxf(1, "it is a binary file".into()));
    }
    let mut pairs = Vec::new();
    let mut lines = source.text().trim_start_matches('\u{feff}').lines().enumerate();
    while let Some((number, code)) = lines.next() {
        if code.trim().is_empty() && pairs.last().is_some_and(is_end) {
            continue; // blank lines after the end
        }
        let parsed = code.trim().parse::<i32>();
        let shown: String = code.trim().chars().take(40).collect();
        let code = parsed
            .map_err(|_| not_dxf(number + 1, format!("\"{shown}\" should be a group code")))?;
        let Some((number, value)) = lines.next() else {
            return Err(not_dxf(number + 1, "the file ends after a group code".into()));
        };
        if code != 999 {
            pairs.push(Pair { code, value: value.trim(), line: number + 1 });
        }
    }
    match pairs.last() {
        Some(last) if is_end(last) => Ok(pairs),
        Some(last) => Err(not_dxf(last.line, "the file ends before its end mark, EOF".into())),
        None => Err(not_dxf(1, "it is empty".into())),
    }
}

fn is_end(pair: &Pair) -> bool {
    pair.code == 0 && pair.value == "EOF"
}

/// Pairs cut into records.
pub(super) fn records<'a>(pairs: &'a [Pair<'a>], source: &'a Source) -> Vec<Record<'a>> {
    let starts: Vec<usize> = (0..pairs.len()).filter(|at| pairs[*at].code == 0).collect();
    let ends = starts.iter().skip(1).copied().chain([pairs.len()]);
    let record = |(start, end): (&usize, usize)| Record {
        kind: pairs[*start].value,
        pairs: &pairs[start + 1..end],
        line: pairs[*start].line,
        source,
    };
    starts.iter().zip(ends).map(record).collect()
}

impl<'a> Record<'a> {
    /// `LWPOLYLINE (line 210)`.
    pub(super) fn words(&self) -> String {
        format!("{} (line {})", self.kind, self.line)
    }

    pub(super) fn span(&self) -> Range<usize> {
        self.source.line_range(self.line)
    }

    /// A complaint about the record as a whole.
    pub(super) fn refuse(&self, why: impl Into<String>) -> Refusal {
        let cause = DrawingCause::BadEntity { entity: self.words(), why: why.into() };
        Refusal::at(self.source, self.span(), cause)
    }

    /// A complaint of another kind.
    pub(super) fn refuse_as(&self, cause: DrawingCause) -> Refusal {
        Refusal::at(self.source, self.span(), cause)
    }

    pub(super) fn text(&self, code: i32) -> Option<&'a str> {
        self.pairs.iter().find(|pair| pair.code == code).map(|pair| pair.value)
    }

    /// A number, which must be finite.
    pub(super) fn number_of(&self, pair: &Pair) -> Result<f64, Refusal> {
        match pair.value.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(self.bad_value(pair, "a finite number")),
        }
    }

    fn bad_value(&self, pair: &Pair, expected: &'static str) -> Refusal {
        let value = pair.value.chars().take(40).collect();
        let cause =
            DrawingCause::BadDxfValue { entity: self.words(), code: pair.code, expected, value };
        Refusal::at(self.source, self.source.line_range(pair.line), cause)
    }

    pub(super) fn number(&self, code: i32) -> Result<Option<f64>, Refusal> {
        let pair = self.pairs.iter().find(|pair| pair.code == code);
        pair.map(|pair| self.number_of(pair)).transpose()
    }

    pub(super) fn number_or(&self, code: i32, default: f64) -> Result<f64, Refusal> {
        Ok(self.number(code)?.unwrap_or(default))
    }

    pub(super) fn needed(&self, code: i32) -> Result<f64, Refusal> {
        self.number(code)?.ok_or_else(|| self.refuse(format!("group code {code} is missing")))
    }

    /// All numbers of one code, in order.
    pub(super) fn numbers(&self, code: i32) -> Result<Vec<f64>, Refusal> {
        self.pairs
            .iter()
            .filter(|pair| pair.code == code)
            .map(|pair| self.number_of(pair))
            .collect()
    }

    pub(super) fn integer_or(&self, code: i32, default: i64) -> Result<i64, Refusal> {
        let Some(pair) = self.pairs.iter().find(|pair| pair.code == code) else {
            return Ok(default);
        };
        pair.value.parse().map_err(|_| self.bad_value(pair, "a whole number"))
    }
}
