//! A refusal: which file, where in it, what is wrong, and what to do about it.
//!
//! Each stage has its own enum of causes (`DrawingCause`, `CaseCause`); a [`Refusal`] puts a cause
//! at its place in the user's own file. Its `Display` is one line, `file:line:column: what`; as a
//! `miette` diagnostic it also shows the line itself and the mend.

use crate::case::CaseCause;
use crate::drawing::DrawingCause;
use crate::measured::MeasuredCause;
use crate::sweep::SweepCause;
use miette::{Diagnostic, LabeledSpan, MietteSpanContents, SourceCode, SourceSpan, SpanContents};
use std::fmt;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The exit status of the program for input that it refused.
pub const EXIT_REFUSED: i32 = 2;

/// A line longer than this is not shown in a complaint, only its number: a drawing may hold megabytes in one line.
const LONGEST_SHOWN_LINE: usize = 300;

/// The text of one of the user's files, with its name and where its lines begin. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Source {
    inner: Arc<SourceText>,
}

#[derive(Debug)]
struct SourceText {
    path: PathBuf,
    text: String,
    line_starts: Vec<usize>,
}

impl Source {
    /// Takes the text of the file at `path`.
    #[must_use]
    pub fn new(path: &Path, text: String) -> Self {
        let breaks = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
        let line_starts = std::iter::once(0).chain(breaks.map(|(at, _)| at + 1)).collect();
        Self { inner: Arc::new(SourceText { path: path.to_path_buf(), text, line_starts }) }
    }

    /// Where the text was read from.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.inner.path
    }

    /// The whole text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.inner.text
    }

    /// The line that holds a byte, counted from 1.
    #[must_use]
    pub fn line(&self, offset: usize) -> usize {
        self.inner.line_starts.partition_point(|start| *start <= offset)
    }

    /// The column of a byte, counted from 1 in characters.
    #[must_use]
    pub fn column(&self, offset: usize) -> usize {
        let start = self.inner.line_starts[self.line(offset) - 1];
        let line = self.text().get(start..offset).unwrap_or_default();
        line.chars().count() + 1
    }

    /// The byte range of a line counted from 1, without its line break.
    #[must_use]
    pub fn line_range(&self, line: usize) -> Range<usize> {
        let starts = &self.inner.line_starts;
        let end_of_text = self.text().len();
        let start = starts.get(line.saturating_sub(1)).copied().unwrap_or(end_of_text);
        let end = starts.get(line).map_or(end_of_text, |next| next - 1);
        start..end
    }
}

/// What is wrong, whichever stage found it.
#[derive(Debug, thiserror::Error)]
pub enum Cause {
    /// In a drawing.
    #[error(transparent)]
    Drawing(#[from] DrawingCause),
    /// In a part file or a material card.
    #[error(transparent)]
    Case(#[from] CaseCause),
    /// In a table of readings.
    #[error(transparent)]
    Measured(#[from] MeasuredCause),
    /// In the description of a sweep or a search.
    #[error(transparent)]
    Sweep(#[from] SweepCause),
}

impl Cause {
    fn mend(&self) -> Option<String> {
        match self {
            Self::Drawing(cause) => cause.mend(),
            Self::Case(cause) => cause.mend(),
            Self::Measured(cause) => cause.mend(),
            Self::Sweep(cause) => cause.mend(),
        }
    }
}

/// Input that was refused.
#[derive(Debug)]
pub struct Refusal {
    cause: Box<Cause>,
    source: Source,
    span: Option<Range<usize>>,
}

impl Refusal {
    /// A complaint about a place in a file.
    pub fn at(source: &Source, span: Range<usize>, cause: impl Into<Cause>) -> Self {
        let end = source.text().len();
        let span = span.start.min(end)..span.end.min(end);
        Self { cause: Box::new(cause.into()), source: source.clone(), span: Some(span) }
    }

    /// A complaint about a file as a whole, or one that could not be read.
    pub fn of_file(path: &Path, cause: impl Into<Cause>) -> Self {
        let source = Source::new(path, String::new());
        Self { cause: Box::new(cause.into()), source, span: None }
    }

    /// A complaint about a place in a file, or about the command line if there is none.
    pub fn at_or_of(source: &Source, span: Option<Range<usize>>, cause: impl Into<Cause>) -> Self {
        match span {
            Some(span) => Self::at(source, span, cause),
            None => Self::of_file(Path::new("the command line"), cause),
        }
    }

    /// A complaint about the text of a file as a whole.
    pub fn of_text(source: &Source, cause: impl Into<Cause>) -> Self {
        Self::at(source, 0..0, cause)
    }

    /// The same complaint; if it is about a file that is not there, moved to where that file is named.
    #[must_use]
    pub fn or_at(self, source: &Source, span: Range<usize>) -> Self {
        let missing = matches!(
            *self.cause,
            Cause::Drawing(DrawingCause::Unreadable { .. } | DrawingCause::UnknownKind { .. })
        );
        if missing { Self { source: source.clone(), span: Some(span), ..self } } else { self }
    }

    /// What is wrong.
    #[must_use]
    pub fn cause(&self) -> &Cause {
        &self.cause
    }

    /// The file that must be mended.
    #[must_use]
    pub fn file(&self) -> &Path {
        self.source.path()
    }

    /// Line and column in that file, counted from 1, if a place is known.
    #[must_use]
    pub fn line_column(&self) -> Option<(usize, usize)> {
        let start = self.span.as_ref()?.start;
        Some((self.source.line(start), self.source.column(start)))
    }

    /// What to do about it.
    #[must_use]
    pub fn mend(&self) -> Option<String> {
        self.cause.mend()
    }

    fn shown_span(&self) -> Option<Range<usize>> {
        let span = self.span.clone()?;
        let line = self.source.line_range(self.source.line(span.start));
        let shown = line.len() <= LONGEST_SHOWN_LINE;
        shown.then(|| span.start..span.end.clamp(span.start, line.end.max(span.start)))
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file().display())?;
        if let Some((line, column)) = self.line_column() {
            write!(f, ":{line}:{column}")?;
        }
        write!(f, ": {}", self.cause)
    }
}

impl std::error::Error for Refusal {}

impl Diagnostic for Refusal {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.mend().map(|mend| Box::new(mend) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.shown_span().map(|_| &self.source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let span = self.shown_span()?;
        let label = LabeledSpan::new(Some("here".into()), span.start, span.len());
        Some(Box::new(std::iter::once(label)))
    }
}

impl SourceCode for Source {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, miette::MietteError> {
        let contents = self.inner.text.as_str().read_span(span, before, after)?;
        let name = self.path().display().to_string();
        Ok(Box::new(MietteSpanContents::new_named(
            name,
            contents.data(),
            *contents.span(),
            contents.line(),
            contents.column(),
            contents.line_count(),
        )))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_counted_in_lines_and_characters() {
        let source = Source::new(Path::new("a.toml"), "é = 1\n\nb = 2\n".into());
        assert_eq!((source.line(0), source.column(0)), (1, 1), "the first character");
        assert_eq!((source.line(3), source.column(3)), (1, 3), "after a two-byte character");
        let b = source.text().find('b').unwrap();
        assert_eq!((source.line(b), source.column(b)), (3, 1), "after an empty line");
        assert_eq!(source.line(source.text().len()), 4, "the end of the text");
        assert_eq!(&source.text()[source.line_range(3)], "b = 2", "a line without its break");
    }
}
