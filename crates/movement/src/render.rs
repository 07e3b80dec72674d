//! Diagnostics as text for a terminal: message, place, the lines concerned, allowed range and hint.

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

use crate::diagnostic::{Diagnostic, Place, Severity};
use crate::statement::Statement;

/// Longest line shown whole; of a longer one the message and the place are shown, not the line.
const LONGEST_LINE: usize = 400;

/// Writes diagnostics as text, each with the lines of the statement's text that it is about, and a blank line between.
///
/// `colour` adds terminal colour sequences. The statement is the one that was read, for it keeps the texts.
///
/// # Examples
/// ```
/// let reading = movement::read("a.toml", "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 150\nlocking_radius_mm = 4\n");
/// let text = movement::render(&reading.diagnostics, &reading.statement, false);
/// assert!(text.starts_with("error[out-of-range]: `wheel.tooth_count` is out of range\n --> a.toml:4:15\n"));
/// ```
pub fn render(diagnostics: &[Diagnostic], statement: &Statement, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() }.decor_style(DecorStyle::Ascii);
    let mut text = String::new();
    for diagnostic in diagnostics {
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&renderer.render(&[group(diagnostic, statement)]));
        text.push('\n');
    }
    text
}

fn group<'a>(diagnostic: &'a Diagnostic, statement: &'a Statement) -> Group<'a> {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let mut group = Group::with_title(level.primary_title(diagnostic.message.as_str()).id(diagnostic.code));
    let mut value_shown = false;
    if let Some(place) = &diagnostic.place {
        match shown_text(statement, place) {
            Some(text) => {
                let label = diagnostic.value.as_deref().unwrap_or_default();
                value_shown = true;
                let mut snippet =
                    snippet(text, place).annotation(AnnotationKind::Primary.span(place.start..place.end).label(label));
                for (other, label) in related_in(diagnostic, statement, text) {
                    snippet = snippet.annotation(AnnotationKind::Context.span(other.start..other.end).label(label));
                }
                group = group.element(snippet);
            }
            None => {
                let origin = annotate_snippets::Origin::path(place.source.as_str());
                let (line, column) = (place.line as usize, place.column as usize);
                group = group.element(origin.line(line).char_column(column));
            }
        }
        for (other, label) in &diagnostic.related {
            if let Some(text) = shown_text(statement, other)
                && !same_text(statement, place, other)
            {
                let annotation = AnnotationKind::Context.span(other.start..other.end).label(label.as_str());
                group = group.element(snippet(text, other).annotation(annotation));
            }
        }
    }
    let value = diagnostic.value.as_deref().filter(|_| !value_shown).map(|v| format!("value: {v}"));
    let allowed = diagnostic.allowed.as_deref().map(|a| format!("allowed: {a}"));
    for line in [value, allowed].into_iter().flatten() {
        group = group.element(Level::NOTE.no_name().message(line));
    }
    match &diagnostic.hint {
        Some(hint) => group.element(Level::HELP.with_name("hint").message(hint.as_str())),
        None => group,
    }
}

/// The text of a place, where its line can be shown.
fn shown_text<'a>(statement: &'a Statement, place: &Place) -> Option<&'a str> {
    let text = statement.source_text(place)?;
    let before = text.get(..place.start)?;
    let after = text.get(place.end..)?;
    let length = before.len() - before.rfind('\n').map_or(0, |at| at + 1) + after.find('\n').unwrap_or(after.len());
    (length <= LONGEST_LINE && place.end - place.start <= LONGEST_LINE).then_some(text)
}

fn same_text(statement: &Statement, a: &Place, b: &Place) -> bool {
    match (statement.source_text(a), statement.source_text(b)) {
        (Some(a), Some(b)) => std::ptr::eq(a, b),
        _ => false,
    }
}

fn related_in<'a>(
    diagnostic: &'a Diagnostic,
    statement: &'a Statement,
    text: &'a str,
) -> impl Iterator<Item = (&'a Place, &'a str)> {
    diagnostic.related.iter().filter_map(move |(place, label)| {
        let there = shown_text(statement, place)?;
        std::ptr::eq(there, text).then_some((place, label.as_str()))
    })
}

fn snippet<'a>(text: &'a str, place: &'a Place) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    // Line numbers of an assignment are its number, which is not a line of its text.
    let before = text.get(..place.start).map_or(0, |t| t.matches('\n').count());
    Snippet::source(text).path(place.source.as_str()).line_start((place.line as usize).saturating_sub(before).max(1))
}
