//! From byte offsets in a text to lines and columns.

use std::ops::Range;

use crate::diagnostic::Place;

/// The beginnings of the lines of a text.
pub(crate) struct Lines<'t> {
    source: &'t str,
    text: &'t str,
    starts: Vec<usize>,
}

impl<'t> Lines<'t> {
    /// Indexes `text`, which comes from `source`.
    pub(crate) fn new(source: &'t str, text: &'t str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Lines { source, text, starts }
    }

    /// Number of the line that holds byte `at`, from 0.
    pub(crate) fn line(&self, at: usize) -> usize {
        self.starts.partition_point(|start| *start <= at) - 1
    }

    /// Bytes of line number `line` (from 0) without its line feed.
    pub(crate) fn span(&self, line: usize) -> Range<usize> {
        let end = self.starts.get(line + 1).map_or(self.text.len(), |next| next - 1);
        self.starts[line]..end
    }

    /// The lines in order, as [`Lines::span`].
    pub(crate) fn spans(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        (0..self.starts.len()).map(|line| self.span(line))
    }

    /// The place of a span; brought onto character borders and into the text.
    pub(crate) fn place(&self, span: Range<usize>, key: &str) -> Place {
        let start = self.text.floor_char_boundary(span.start.min(self.text.len()));
        let end = self.text.ceil_char_boundary(span.end.clamp(start, self.text.len()));
        let line = self.line(start);
        let column = self.text[self.starts[line]..start].chars().count();
        let count = |n: usize| u32::try_from(n + 1).unwrap_or(u32::MAX);
        Place {
            source: self.source.to_owned(),
            start,
            end,
            line: count(line),
            column: count(column),
            key: key.to_owned(),
        }
    }
}
