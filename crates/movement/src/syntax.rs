//! Recovery from syntax faults: every faulty line is reported once, repaired or blanked, and the rest read on.

use std::collections::BTreeSet;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diagnostic::{Diagnostic, Place};
use crate::place::Lines;

/// A table header that could not be read is replaced by one of this name; what stands under it is left aside.
pub(crate) const UNREADABLE: &str = "unreadable-header";

/// Work spent on recovery, in bytes parsed again.
const BUDGET_BYTES: usize = 4 << 20;
/// Most faulty lines repaired.
const MAX_REPAIRS: usize = 50;
/// Most faults of one pass of the parser that are looked into; the others are only counted.
const MAX_FAULTS: usize = 200;
/// Most parts of a key that the parser takes.
const MAX_KEY_PARTS: usize = 80;

/// A text brought into a form that parses, and the faults found on the way.
pub(crate) struct Recovered {
    /// The text that parses, line for line the original; columns may differ on damaged lines only.
    pub(crate) text: String,
    /// The faults, placed in the original.
    pub(crate) faults: Vec<Diagnostic>,
    /// Number of further faults that were not looked into.
    pub(crate) not_examined: usize,
    /// Lines (from 0) that were blanked or repaired.
    pub(crate) damaged: BTreeSet<usize>,
    /// Whether keys may have been lost that cannot be told from the damaged lines.
    pub(crate) lossy: bool,
}

/// Finds the syntax faults of `text` and a text without them.
pub(crate) fn recover(source: &str, text: &str) -> Recovered {
    let lines = Lines::new(source, text);
    let mut now = Recovered {
        text: text.to_owned(),
        faults: Vec::new(),
        not_examined: 0,
        damaged: BTreeSet::new(),
        lossy: false,
    };
    let rounds = (BUDGET_BYTES / text.len().max(1)).clamp(1, MAX_REPAIRS);
    let mut reported = BTreeSet::new();
    for round in 0.. {
        let repaired = now.text.clone();
        let here = Lines::new(source, &repaired);
        let (table, errors) = DeTable::parse_recoverable(&repaired);
        let mut errors: Vec<_> = errors.iter().collect();
        errors.sort_by_key(|e| e.span().map(|s| s.start));
        now.not_examined = errors.len().saturating_sub(MAX_FAULTS + reported.len());
        errors.truncate(MAX_FAULTS + reported.len());
        let mut found: Vec<Found> =
            errors.iter().map(|e| Found::new(e, &here, table.get_ref(), repaired.len())).collect();
        found.retain(|f| f.line.is_none_or(|line| !reported.contains(&line)));
        found.sort_by_key(|f| (f.line, f.at));
        found.dedup_by_key(|f| f.line);
        if round >= rounds {
            now.lossy |= !found.is_empty();
            now.faults.extend(found.iter().map(|f| f.diagnostic(&lines, &here, text, table.get_ref())));
            break;
        }
        // Faults that leave the rest readable are all taken; of the others only the first, for the rest may follow from it.
        let hard = found.iter().position(|f| !f.soft);
        let taken = &found[..hard.map_or(found.len(), |at| at + 1)];
        now.faults.extend(taken.iter().map(|f| f.diagnostic(&lines, &here, text, table.get_ref())));
        reported.extend(taken.iter().filter_map(|f| f.line));
        let Some(hard) = hard.map(|at| &found[at]) else { break };
        let Some(line) = hard.line else {
            now.lossy = true;
            break;
        };
        now.damaged.insert(line);
        if hard.to_the_end {
            now.lossy = true;
            now.text.truncate(here.span(line).start);
            continue;
        }
        let (put, lossy) = repaired_line(&repaired[here.span(line)], now.damaged.len());
        now.lossy |= lossy;
        now.text.replace_range(here.span(line), &put);
    }
    now.lossy |= now.not_examined > 0;
    now
}

/// What a faulty line is replaced by, and whether that loses the names of the keys under it.
fn repaired_line(line: &str, number: usize) -> (String, bool) {
    let Some(header) = line.trim_start().strip_prefix(['[', '(', '{', '<']) else { return (String::new(), false) };
    let header = header.trim_start_matches(['[', ' ', '\t']);
    let end = header.find(|c: char| !(c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.')));
    let (name, rest) = header.split_at(end.unwrap_or(header.len()));
    let ended = rest.trim_start().chars().next().is_none_or(|c| matches!(c, ']' | ')' | '}' | '>' | '#'));
    if !ended || name.split('.').any(str::is_empty) {
        return (format!("[{UNREADABLE}-{number}]"), true);
    }
    (format!("[{name}]"), false)
}

/// A fault as the parser gives it.
struct Found {
    at: usize,
    line: Option<usize>,
    message: String,
    /// The parser reads on as if the line were not there.
    soft: bool,
    /// The fault swallows the rest of the text.
    to_the_end: bool,
}

impl Found {
    fn new(error: &toml::de::Error, lines: &Lines<'_>, table: &DeTable<'_>, length: usize) -> Self {
        let message = error.message().to_owned();
        let soft = message.starts_with("duplicate key") || message.starts_with("cannot extend value");
        let Some(span) = error.span() else {
            return Found { at: length, line: None, message, soft: false, to_the_end: false };
        };
        let mut at = span.start;
        let mut to_the_end = false;
        // A fault inside a value of several lines is the fault of the line on which the value begins.
        if let Some(value) = value_around(table, &span) {
            let text_value = matches!(value.get_ref(), DeValue::String(_));
            if lines.line(value.span().start) != lines.line(at) {
                to_the_end = text_value && value.span().end >= length;
                at = if text_value && !to_the_end { at } else { value.span().start };
            }
        }
        Found { at, line: Some(lines.line(at)), message, soft, to_the_end }
    }

    fn diagnostic(&self, lines: &Lines<'_>, here: &Lines<'_>, text: &str, table: &DeTable<'_>) -> Diagnostic {
        let Some(line) = self.line else {
            let parts =
                |span: &Range<usize>| text[span.clone()].split('=').next().map_or(0, |k| k.matches('.').count() + 1);
            let longest = lines.spans().find(|span| parts(span) > MAX_KEY_PARTS).unwrap_or(0..0);
            return Diagnostic::error("too-deep", "a key has too many parts")
                .at(lines.place(longest, ""))
                .hint("parameter paths have at most four parts, such as wheel.teeth.3.longer_mm");
        };
        let original = lines.span(line);
        let content = text[original.clone()].trim_end();
        let column = self.at - here.span(line).start;
        let start = (original.start + column).min(original.start + content.len());
        let span = if self.message.starts_with("duplicate key") {
            start..start + key_length(&text[start..])
        } else {
            start..(start + 1).min(original.start + content.len()).max(start)
        };
        let key = content.split_once('=').map_or("", |(key, _)| key.trim());
        let key = if is_bare_path(key) { key } else { "" };
        let place = lines.place(span, key);
        if self.message.starts_with("duplicate key") {
            let what = text[place.start..place.end].to_owned();
            let fault = Diagnostic::error("duplicate-key", format!("`{what}` is stated twice"))
                .at(place)
                .hint("keep one of them");
            return match first_stated(lines, here, text, line, table) {
                Some(first) => fault.related(first, "first stated here"),
                None => fault,
            };
        }
        let message = if content.trim_start().starts_with(['[', '(', '{', '<']) {
            "this table header cannot be read".to_owned()
        } else if content.trim_end().ends_with('=') && !key.is_empty() {
            format!("`{key}` has no value")
        } else {
            self.message.clone()
        };
        let fault = Diagnostic::error("syntax", message).at(place);
        match slip(content) {
            Some(hint) => fault.hint(hint),
            None => fault,
        }
    }
}

fn is_bare_path(key: &str) -> bool {
    !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.'))
}

fn key_length(text: &str) -> usize {
    text.find(|c: char| !(c.is_alphanumeric() || matches!(c, '_' | '-' | '"' | '\''))).unwrap_or(text.len()).max(1)
}

/// The innermost array, inline table or string of several lines that an error lies in.
fn value_around<'v, 'i>(table: &'v DeTable<'i>, error: &Range<usize>) -> Option<&'v Spanned<DeValue<'i>>> {
    let mut open: Vec<&DeTable<'_>> = vec![table];
    let mut around: Option<&Spanned<DeValue<'_>>> = None;
    while let Some(table) = open.pop() {
        for value in table.values() {
            let span = value.span();
            if let DeValue::Table(inner) = value.get_ref() {
                open.push(inner);
            }
            let holds = span.start < error.start && error.start <= span.end;
            if holds && around.is_none_or(|outer| span.len() < outer.span().len()) {
                around = Some(value);
            }
        }
    }
    around
}

/// Where the key of `line`, stated again there, is stated first.
///
/// `table` was read from the text of `here`, which differs from the original on damaged lines.
fn first_stated(lines: &Lines<'_>, here: &Lines<'_>, text: &str, line: usize, table: &DeTable<'_>) -> Option<Place> {
    let content = &text[lines.span(line)];
    let headers = |below: usize| {
        (0..below).rev().map(|l| lines.span(l)).find(|span| text[span.clone()].trim_start().starts_with('['))
    };
    if content.trim_start().starts_with('[') {
        let name = |line: &str| line.split('#').next().unwrap_or_default().trim().to_owned();
        let earlier = (0..line).map(|l| lines.span(l)).find(|s| name(&text[s.clone()]) == name(content))?;
        return Some(lines.place(earlier, ""));
    }
    let header = headers(line).map_or("", |span| &text[span]);
    let alone = format!("{header}\n{content}\n");
    let (alone, _) = DeTable::parse_recoverable(&alone);
    let (mut path, mut from, mut into) = (String::new(), alone.get_ref(), table);
    loop {
        let (key, value) = from.iter().next()?;
        let (first, there) = into.get_key_value(key)?;
        path.push_str(key.get_ref());
        match (value.get_ref(), there.get_ref()) {
            (DeValue::Table(inner), DeValue::Table(stated)) => (from, into) = (inner, stated),
            _ => {
                let line = here.line(first.span().start);
                let start = lines.span(line).start + (first.span().start - here.span(line).start);
                return Some(lines.place(start..start + first.span().len(), &path));
            }
        }
        path.push('.');
    }
}

/// What to do about a line that holds a slip often made.
fn slip(line: &str) -> Option<String> {
    let trimmed = line.trim();
    if trimmed.starts_with("//") || trimmed.starts_with(';') {
        return Some("comments begin with #".to_owned());
    }
    if trimmed.starts_with(['[', '(', '{', '<']) {
        return Some("a table header is written [name] or [name.name], alone on its line".to_owned());
    }
    let Some((key, value)) = trimmed.split_once('=') else {
        return match trimmed.split_once(':') {
            Some((key, value)) if is_bare_path(key.trim()) => {
                Some(format!("write `{} = {}`", key.trim(), value.trim()))
            }
            _ => Some("write a key, `=` and a value on one line".to_owned()),
        };
    };
    if !is_bare_path(key.trim()) {
        return Some("keys are letters, digits, `_` and `-`, joined by points".to_owned());
    }
    slip_in_value(value.split('#').next().unwrap_or_default().trim())
}

/// What to do about a value that is no TOML value, or a string where a number is wanted.
pub(crate) fn slip_in_value(value: &str) -> Option<String> {
    if value.is_empty() {
        return Some("write a value after `=`, or take the line away to leave the parameter unstated".to_owned());
    }
    if let Ok(number) = value.parse::<f64>()
        && number.is_finite()
    {
        return Some(format!("write {number}, with a digit on each side of a point, no leading zeros and no quotes"));
    }
    if value.contains(['\u{2212}', '\u{2013}', '\u{2014}']) {
        return Some("write the plain minus sign -".to_owned());
    }
    let digits = |s: &str| !s.is_empty() && s.chars().all(|c| c.is_ascii_digit());
    if let Some((whole, part)) = value.split_once(',')
        && digits(whole.trim_start_matches(['-', '+']))
        && digits(part)
    {
        return Some(format!("write the decimal point: {whole}.{part}"));
    }
    let number_end = value.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+'))).unwrap_or(0);
    if number_end > 0 && value[..number_end].parse::<f64>().is_ok() {
        let (number, rest) = (&value[..number_end], value[number_end..].trim());
        return Some(if rest.starts_with("//") {
            "comments begin with #".to_owned()
        } else if rest.chars().all(|c| c.is_alphabetic() || matches!(c, '\u{b0}' | '%' | '\'' | '"')) {
            format!("write the number alone, {number}: its unit is the end of the key")
        } else {
            "write one plain number".to_owned()
        });
    }
    if value.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-')) {
        return Some(format!("put a word in quotes: \"{value}\""));
    }
    None
}
