//! Reading a movement file: syntax, then keys, types, ranges and completeness, all faults at once.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diagnostic::{Diagnostic, Place, Severity};
use crate::keys::{self, Known, TOP_KEYS, known, meant};
use crate::limits::{too_deep, too_large};
use crate::param::ParamId;
use crate::place::Lines;
use crate::statement::{KINDS, Statement};
use crate::syntax::{self, Recovered, UNREADABLE};
use crate::table::ParamKind;
use crate::value::{from_toml, kind_of, nearest, shown, words_text, wrong_type};
use crate::values::Values;

/// The newest format of movement files that is known.
pub const FORMAT: u32 = 1;

/// Most diagnostics given for one file; a note tells how many more there are.
pub const MAX_DIAGNOSTICS: usize = 50;

/// What reading a movement file gives: a statement of all that could be read, and every fault.
#[derive(Clone, Debug)]
pub struct Reading {
    /// What the file states. Where there are errors it lacks what they concern.
    pub statement: Statement,
    /// Faults and remarks in the order of the file.
    pub diagnostics: Vec<Diagnostic>,
    /// Number of errors, those beyond [`MAX_DIAGNOSTICS`] counted too.
    pub error_count: usize,
}

impl Reading {
    /// Whether the statement must not be used.
    pub fn has_errors(&self) -> bool {
        self.diagnostics.iter().any(Diagnostic::is_error)
    }
}

/// Reads a movement file. `source_name` is the name of the file in diagnostics; no file is opened.
///
/// # Returns
/// The statement and every diagnostic, at most [`MAX_DIAGNOSTICS`] and a note that counts the rest.
/// A value that is absent from the statement is not stated; none is ever put in its place here.
///
/// # Limits
/// [`MAX_BYTES`](crate::MAX_BYTES) and [`MAX_NESTING`](crate::MAX_NESTING); beyond them the file is refused with an error.
///
/// # Examples
/// ```
/// let reading = movement::read("a.toml", "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = -4\n");
/// let fault = &reading.diagnostics[0];
/// assert_eq!((fault.code, fault.value.as_deref()), ("out-of-range", Some("-4 mm")));
/// assert_eq!(fault.place.as_ref().map(|p| (p.line, p.column)), Some((5, 21)));
/// ```
pub fn read(source_name: &str, text: &str) -> Reading {
    let mut statement = Statement::from_values("", Values::default());
    statement.source = Arc::from(source_name);
    if let Some(fault) = too_large(source_name, text.len()) {
        return Reading { statement, diagnostics: vec![fault], error_count: 1 };
    }
    statement.text = Arc::from(text);
    let lines = Lines::new(source_name, text);
    if let Some(fault) = too_deep(&lines, text) {
        return Reading { statement, diagnostics: vec![fault], error_count: 1 };
    }
    let recovered = syntax::recover(source_name, text);
    let repaired = Lines::new(source_name, &recovered.text);
    let (table, _) = DeTable::parse_recoverable(&recovered.text);
    let mut reader = Reader {
        lines,
        repaired,
        text,
        recovered: &recovered,
        found: recovered.faults.clone(),
        stated: Vec::new(),
        faulty: BTreeSet::new(),
        teeth: BTreeMap::new(),
        headers: BTreeMap::new(),
    };
    if reader.format(table.get_ref()) {
        reader.top(table.get_ref(), &mut statement);
        reader.table(table.get_ref(), &mut Vec::new());
        reader.fill(&mut statement);
    }
    let errors = reader.found.iter().filter(|d| d.is_error()).count();
    Reading {
        diagnostics: ordered(reader.found, recovered.not_examined),
        statement,
        error_count: errors + recovered.not_examined,
    }
}

/// Reads a movement file from bytes, which need not be UTF-8: then that is the fault, at the first bad byte.
pub fn read_bytes(source_name: &str, bytes: &[u8]) -> Reading {
    if let Some(fault) = too_large(source_name, bytes.len()) {
        let mut statement = Statement::from_values("", Values::default());
        statement.source = Arc::from(source_name);
        return Reading { statement, diagnostics: vec![fault], error_count: 1 };
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => read(source_name, text),
        Err(error) => {
            let at = error.valid_up_to();
            let mut statement = Statement::from_values("", Values::default());
            statement.source = Arc::from(source_name);
            statement.text = Arc::from(String::from_utf8_lossy(bytes));
            let place = Lines::new(source_name, &statement.text).place(at..at + 1, "");
            let fault = Diagnostic::error("not-utf8", "the file is not UTF-8 text")
                .at(place)
                .value(format!("byte 0x{:02x} at offset {at}", bytes[at]))
                .hint("save the file as UTF-8");
            Reading { statement, diagnostics: vec![fault], error_count: 1 }
        }
    }
}

/// Diagnostics in the order of the file, the number of them limited.
///
/// `not_examined` counts the faults that are beyond the limit in any case.
fn ordered(mut found: Vec<Diagnostic>, not_examined: usize) -> Vec<Diagnostic> {
    found.sort_by_key(|d| (d.place.is_none(), d.place.as_ref().map(|p| p.start), d.severity));
    let beyond = found.len().saturating_sub(MAX_DIAGNOSTICS);
    let more = beyond + not_examined;
    if beyond > 0 {
        // Errors are kept before warnings, so that a file with errors always shows one.
        let keep = found.iter().filter(|d| d.is_error()).count().min(MAX_DIAGNOSTICS);
        let (mut errors, mut others) = (keep, MAX_DIAGNOSTICS - keep);
        found.retain(|d| {
            let room = if d.severity == Severity::Error { &mut errors } else { &mut others };
            let stays = *room > 0;
            *room = room.saturating_sub(1);
            stays
        });
    }
    for d in found.iter_mut().filter(|d| d.code == "unknown-key") {
        d.hint = d.place.as_ref().and_then(|p| meant(&p.key)).or_else(|| d.hint.take());
    }
    if more > 0 {
        found.push(
            Diagnostic::note("more", format!("{more} further faults are not shown"))
                .hint("mend these first: many others may follow from them"),
        );
    }
    found
}

/// One statement of the file.
struct Stated {
    ids: Vec<ParamId>,
    edge: f64,
    place: Place,
}

struct Reader<'t> {
    lines: Lines<'t>,
    repaired: Lines<'t>,
    text: &'t str,
    recovered: &'t Recovered,
    found: Vec<Diagnostic>,
    stated: Vec<Stated>,
    /// Parameters stated with a fault; they count as stated but get no value.
    faulty: BTreeSet<ParamId>,
    /// Teeth named, with the place of the first naming.
    teeth: BTreeMap<u64, Place>,
    /// Where the tables at the top begin.
    headers: BTreeMap<String, Place>,
}

impl Reader<'_> {
    /// Bytes in the original of a span of the repaired text.
    fn original(&self, span: Range<usize>) -> Range<usize> {
        let line = self.repaired.line(span.start);
        let (from, to) = (self.repaired.span(line), self.lines.span(line));
        if self.recovered.damaged.contains(&line) {
            return to;
        }
        to.start + (span.start - from.start)..to.start + (span.end - from.start)
    }

    fn place(&self, span: Range<usize>, key: &str) -> Place {
        self.lines.place(self.original(span), key)
    }

    fn written(&self, span: Range<usize>) -> &str {
        self.text.get(self.original(span)).unwrap_or_default()
    }

    /// Whether a damaged line may have held `key`.
    fn lost(&self, key: &str) -> bool {
        self.recovered.lossy
            || self.recovered.damaged.iter().any(|line| {
                let line = &self.text[self.lines.span(*line)];
                line.contains(key)
            })
    }

    /// Checks `format`; false when nothing else of the file can be judged.
    fn format(&mut self, table: &DeTable<'_>) -> bool {
        let allowed = format!("{FORMAT}");
        let Some(value) = table.get("format") else {
            if !self.lost("format") {
                self.found.push(
                    Diagnostic::error("missing-format", "the file does not state its format")
                        .at(self.lines.place(0..0, "format"))
                        .allowed(allowed)
                        .hint(format!("write `format = {FORMAT}` as the first line")),
                );
            }
            return true;
        };
        let place = self.place(value.span(), "format");
        let written = shown(self.written(value.span()));
        let number = match value.get_ref() {
            DeValue::Integer(digits) => i128::from_str_radix(digits.as_str(), digits.radix()).ok(),
            _ => None,
        };
        match number {
            Some(n) if n == i128::from(FORMAT) => true,
            Some(n) if n > i128::from(FORMAT) => {
                let fault = Diagnostic::error("newer-format", "the format of this file is newer than known here")
                    .at(place)
                    .value(written)
                    .allowed(allowed)
                    .hint("read it with a newer version of the program");
                self.found.push(fault);
                false
            }
            _ => {
                let fault = Diagnostic::error("bad-format", "`format` needs the number of a known format")
                    .at(place)
                    .value(written)
                    .allowed(allowed)
                    .hint(format!("write `format = {FORMAT}`"));
                self.found.push(fault);
                true
            }
        }
    }

    /// Reads the keys at the top that are no parameters.
    fn top(&mut self, table: &DeTable<'_>, statement: &mut Statement) {
        let mut text = |key: &str| -> Option<(String, Place)> {
            let value = table.get(key)?;
            let place = self.place(value.span(), key);
            if let DeValue::String(text) = value.get_ref() {
                return Some((text.clone().into_owned(), place));
            }
            let message = format!("`{key}` needs a string, not {}", kind_of(value.get_ref()));
            let fault = Diagnostic::error("wrong-type", message)
                .value(shown(self.written(value.span())))
                .hint(format!("write `{key} = \"...\"`"))
                .at(place);
            self.found.push(fault);
            None
        };
        let (name, notes, kind) = (text("name"), text("notes"), text("kind"));
        match name {
            Some((name, place)) if name.trim().is_empty() || name.chars().any(char::is_control) => self.found.push(
                Diagnostic::error("bad-name", "`name` needs at least one letter and no control characters")
                    .value(format!("\"{}\"", shown(&name.escape_debug().to_string())))
                    .hint("name the movement in one line of text")
                    .at(place),
            ),
            Some((name, _)) => statement.name = name,
            None if table.contains_key("name") || self.lost("name") => {}
            None => self.found.push(
                Diagnostic::error("missing", "the movement has no name")
                    .at(self.lines.place(0..0, "name"))
                    .hint("write `name = \"...\"` under the format"),
            ),
        }
        statement.notes = notes.map(|(notes, _)| notes);
        if let Some((kind, place)) = kind {
            match KINDS.iter().find(|k| **k == kind) {
                Some(known) => statement.kind = known,
                None => {
                    let fault = Diagnostic::error("unknown-kind", "`kind` does not know this kind of escapement")
                        .value(format!("\"{}\"", shown(&kind)))
                        .allowed(words_text(KINDS))
                        .at(place);
                    self.found.push(match nearest(&kind, KINDS) {
                        Some(near) => fault.hint(format!("did you mean \"{near}\"?")),
                        None => fault.hint(format!(
                            "write one of the kinds allowed, or leave the key out, which means \"{}\"",
                            KINDS[0]
                        )),
                    });
                }
            }
        }
    }

    /// Reads the parameters of a table and of the tables in it.
    fn table(&mut self, table: &DeTable<'_>, path: &mut Vec<String>) {
        for (key, value) in table {
            let segment = key.get_ref().as_ref();
            let top = path.is_empty();
            if top && (TOP_KEYS.contains(&segment) || segment.starts_with(UNREADABLE)) {
                continue;
            }
            path.push(segment.to_owned());
            self.entry(key, value, path);
            path.pop();
        }
    }

    fn entry(&mut self, key: &Spanned<toml::de::DeString<'_>>, value: &Spanned<DeValue<'_>>, path: &mut Vec<String>) {
        let segments: Vec<&str> = path.iter().map(String::as_str).collect();
        let written = path.join(".");
        match (known(&segments), value.get_ref()) {
            (Known::Nothing, _) => {
                let place = self.place(key.span(), &written);
                let what = if matches!(value.get_ref(), DeValue::Table(_)) { "table" } else { "key" };
                let fault = Diagnostic::error("unknown-key", format!("no {what} `{}` is known", shown(&written)));
                self.found.push(fault.at(place).hint("take it away; `beatwright schema` lists every key"));
            }
            (Known::Table, DeValue::Table(inner)) => {
                if path.len() == 1 {
                    self.headers.insert(written.clone(), self.place(key.span(), &written));
                }
                if let ["wheel", "teeth", number] = segments[..]
                    && let Some(number) = keys::tooth_number(number)
                {
                    let place = self.place(key.span(), &written);
                    self.teeth.insert(number, place);
                    if number > most_teeth() as u64 {
                        return;
                    }
                }
                self.table(inner, path);
            }
            (Known::Table, other) => {
                let place = self.place(value.span(), &written);
                let list = matches!(other, DeValue::Array(_));
                let hint = if list { "write it once, with single brackets: " } else { "write its keys under " };
                let fault = Diagnostic::error("wrong-type", format!("`{written}` is a table, not {}", kind_of(other)))
                    .hint(format!("{hint}[{written}]"));
                self.found.push(fault.at(place));
            }
            (Known::Parameters(ids), value_ref) => {
                let param = ids[0].param();
                let place = self.place(value.span(), &written);
                let read = match value_ref {
                    DeValue::Table(_) => {
                        Err(wrong_type(param, &written, "a table").hint(match written.rsplit_once('.') {
                            Some((table, last)) if ids.len() == 2 => {
                                format!("for one pallet write `{table}.entry.{last}` or `{table}.exit.{last}`")
                            }
                            _ => format!("write `{written} = ...`"),
                        }))
                    }
                    other => from_toml(param, &written, other, self.written(value.span())),
                };
                match read {
                    Ok(edge) => self.stated.push(Stated { ids, edge, place }),
                    Err(fault) => {
                        self.faulty.extend(&ids);
                        self.found.push(Diagnostic { about: ids, ..fault.at(place) });
                    }
                }
            }
        }
    }

    /// Puts what was read into the statement and checks that it is complete.
    fn fill(&mut self, statement: &mut Statement) {
        let mut places = BTreeMap::new();
        // What is stated for both pallets first, so that what is stated for one overrides it.
        self.stated.sort_by_key(|s| std::cmp::Reverse(s.ids.len()));
        for s in &self.stated {
            for id in s.ids.iter().filter(|id| !self.faulty.contains(id)) {
                statement.values.set(*id, id.param().unit.to_si(s.edge));
                places.insert(*id, s.place.clone());
            }
        }
        for s in self.stated.iter().filter(|s| s.ids.len() == 2) {
            let over: Vec<&Place> = s.ids.iter().filter_map(|id| places.get(id)).filter(|p| **p != s.place).collect();
            if over.len() == 2 {
                let key = &s.place.key;
                let mut warning =
                    Diagnostic::warning("unused", format!("`{key}` has no effect: each pallet states its own"))
                        .hint("take it away, or one of the others")
                        .at(s.place.clone());
                warning.about.clone_from(&s.ids);
                for place in over {
                    warning = warning.related(place.clone(), "overridden here");
                }
                self.found.push(warning);
            }
        }
        statement.places = Arc::new(places);
        let count = ParamKind::WheelToothCount.once();
        let teeth =
            if self.faulty.contains(&count) || self.lost("tooth_count") { None } else { statement.values.get(count) };
        for (number, place) in &self.teeth {
            if let Some(fault) = no_such_tooth(*number, teeth) {
                for id in statement.values.teeth().iter().map(|(id, _)| *id).collect::<Vec<_>>() {
                    if id.at == crate::At::Tooth(*number as u16) {
                        statement.values.remove(id);
                    }
                }
                self.found.push(fault.at(place.clone()));
            }
        }
        let misnamed: Vec<String> = self
            .found
            .iter()
            .filter(|d| d.code == "unknown-key")
            .take(MAX_DIAGNOSTICS)
            .filter_map(|d| meant(&d.place.as_ref()?.key))
            .collect();
        for fault in statement.missing() {
            // What is there with a fault, or under a wrong name, is not missing as well.
            let excused = fault.about.iter().any(|id| {
                let path = id.to_string();
                let (table, key) = path.rsplit_once('.').unwrap_or_default();
                self.faulty.contains(id)
                    || self.lost(key)
                    || misnamed.iter().any(|hint| [table, &path].iter().any(|p| hint.contains(&format!("`{p}`"))))
            });
            if excused {
                continue;
            }
            let key = fault.about[0].to_string();
            let table = key.split('.').next().unwrap_or_default();
            let place = self.headers.get(table).cloned().unwrap_or_else(|| self.lines.place(0..0, ""));
            self.found.push(fault.at(Place { key, ..place }));
        }
    }
}

/// Largest number of teeth of a wheel.
fn most_teeth() -> f64 {
    ParamKind::WheelToothCount.param().max
}

/// The fault of naming a tooth that a wheel of `teeth` teeth does not have; with `None` the count is not known.
pub(crate) fn no_such_tooth(number: u64, teeth: Option<f64>) -> Option<Diagnostic> {
    let teeth = teeth.unwrap_or(most_teeth());
    (number as f64 >= teeth).then(|| {
        Diagnostic::error("no-such-tooth", format!("the wheel has no tooth {number}"))
            .value(number.to_string())
            .allowed(format!("0 to {}", teeth - 1.0))
            .hint("teeth are numbered from 0 in the order in which they arrive")
    })
}
