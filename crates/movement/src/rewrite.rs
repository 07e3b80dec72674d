//! Writing values into a movement file that a person wrote: comments, order and everything untouched stay as they are.

use std::collections::BTreeSet;

use toml::de::{DeTable, DeValue};
use toml_edit::{DocumentMut, InlineTable, Item, Table, TableLike, Value};

use crate::diagnostic::Diagnostic;
use crate::param::{At, ParamId, Unit};
use crate::place::Lines;
use crate::read::read;
use crate::value::check;

/// Writes values into the text of a movement file.
///
/// # Arguments
/// `changes` gives each parameter its value in the unit of its row, or `None` to leave it unstated.
///
/// # Returns
/// The new text. A value is replaced where it stands and a text that already states the value is left as it is.
/// A new key goes to the end of its table, which is made where it is missing. A line that states what is to be
/// unstated is commented out, not deleted. A value stated for both pallets stays one where both get the same,
/// and is split where they do not. Where nothing changes the text is returned as it is; where something does, dotted
/// keys of one table that stand apart are brought together.
///
/// # Errors
/// The errors of the text, where it cannot be read, and of values out of range; nothing is written then.
///
/// # Examples
/// ```
/// use movement::{Pallet, ParamKind, rewrite};
/// let text = "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15  # club\nlocking_radius_mm = 4.0\n";
/// let text = rewrite(text, &[(ParamKind::WheelLockingRadius.once(), Some(4.25)), (ParamKind::WheelToothCount.once(), Some(18.0))]);
/// assert_eq!(text.expect("in range"), "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 18  # club\nlocking_radius_mm = 4.25\n");
/// ```
pub fn rewrite(text: &str, changes: &[(ParamId, Option<f64>)]) -> Result<String, Vec<Diagnostic>> {
    let reading = read("", text);
    let mut faults: Vec<Diagnostic> = reading.diagnostics.into_iter().filter(Diagnostic::is_error).collect();
    for (id, edge) in changes {
        if let Some(edge) = edge
            && let Err(fault) = check(id.param(), &id.to_string(), *edge)
        {
            faults.push(fault.about(*id));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut file = match text.parse::<DocumentMut>() {
        Ok(document) => File { document, unstated: BTreeSet::new() },
        Err(error) => return Err(vec![Diagnostic::error("syntax", error.message().to_owned())]),
    };
    let untouched = file.document.to_string();
    for (at, (id, edge)) in changes.iter().enumerate() {
        // A later change of the same parameter stands.
        if !changes[at + 1..].iter().any(|(later, _)| later == id) {
            file.change(*id, *edge, changes);
        }
    }
    let File { document, unstated } = file;
    let written = document.to_string();
    if unstated.is_empty() && written == untouched {
        return Ok(text.to_owned());
    }
    Ok(line_ends_of(text, &comment_out(&written, &unstated)))
}

struct File {
    document: DocumentMut,
    /// Paths whose lines are to be commented out at the end.
    unstated: BTreeSet<String>,
}

impl File {
    fn change(&mut self, id: ParamId, edge: Option<f64>, changes: &[(ParamId, Option<f64>)]) {
        let own = id.to_string();
        let At::Pallet(pallet) = id.at else {
            return self.write(&own, id, edge);
        };
        let shared = id.param().path.replacen("*.", "", 1);
        let other = id.kind.at(pallet.other());
        let states = |file: &File, path: &str| file.stated(path);
        let wanted = |id: ParamId| changes.iter().rev().find(|(i, _)| *i == id).map(|(_, edge)| *edge);
        let neither = !states(self, &own) && !states(self, &other.to_string());
        if neither && wanted(other) == Some(edge) {
            // Both pallets alike, and no statement of a single one: one statement for both.
            return self.write(&shared, id, edge);
        }
        if !states(self, &shared) || states(self, &own) && edge.is_some() {
            return self.write(&own, id, edge);
        }
        let other_own = states(self, &other.to_string());
        match edge {
            Some(_) if other_own => self.write(&shared, id, edge),
            Some(_) => self.write(&own, id, edge),
            None => {
                if !other_own {
                    // What the line for both gave the other pallet, or was just made to give it, stays its own.
                    let kept = wanted(other).unwrap_or_else(|| self.edge(&shared, other));
                    self.write(&other.to_string(), other, kept);
                }
                self.write(&shared, id, None);
                if states(self, &own) {
                    self.write(&own, id, None);
                }
            }
        }
    }

    fn item(&self, path: &str) -> Option<&Item> {
        let mut item = self.document.as_item();
        for segment in path.split('.') {
            item = item.as_table_like()?.get(segment)?;
        }
        Some(item)
    }

    fn stated(&self, path: &str) -> bool {
        !self.unstated.contains(path) && self.item(path).is_some_and(Item::is_value)
    }

    /// The value that the text gives, in the unit of the row.
    fn edge(&self, path: &str, id: ParamId) -> Option<f64> {
        if self.unstated.contains(path) {
            return None;
        }
        match (self.item(path)?.as_value()?, id.param().unit) {
            (Value::String(word), Unit::Choice(words)) => {
                words.iter().position(|w| w == word.value()).map(|at| at as f64)
            }
            (Value::Integer(whole), _) => Some(*whole.value() as f64),
            (Value::Float(number), _) => Some(*number.value()),
            _ => None,
        }
    }

    fn is_value(&self, path: &str, id: ParamId, edge: Option<f64>) -> bool {
        self.edge(path, id) == edge
    }

    fn write(&mut self, path: &str, id: ParamId, edge: Option<f64>) {
        let Some(edge) = edge else { return self.remove(path) };
        if self.is_value(path, id, Some(edge)) {
            return;
        }
        self.unstated.remove(path);
        let mut value = match id.param().unit {
            Unit::Choice(words) => Value::from(words[edge as usize]),
            Unit::Count => Value::from(edge as i64),
            _ => Value::from(edge),
        };
        let (tables, key) = path.rsplit_once('.').expect("every parameter is in a table");
        let table = table_at(self.document.as_table_mut(), tables);
        if let Some(Item::Value(old)) = table.get_mut(key) {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        } else {
            table.insert(key, Item::Value(value));
        }
    }

    fn remove(&mut self, path: &str) {
        let Some((tables, key)) = path.rsplit_once('.') else { return };
        let mut table: &mut dyn TableLike = self.document.as_table_mut();
        let mut in_line = false;
        for segment in tables.split('.') {
            let Some(next) = table.get_mut(segment) else { return };
            in_line |= next.is_inline_table();
            let Some(next) = next.as_table_like_mut() else { return };
            table = next;
        }
        if !table.contains_key(key) {
            return;
        }
        // In an inline table there is no line to comment out.
        if in_line {
            table.remove(key);
        } else {
            self.unstated.insert(path.to_owned());
        }
    }
}

/// The table of this path, made where it is missing in the way of the table around it.
fn table_at<'d>(root: &'d mut Table, path: &str) -> &'d mut dyn TableLike {
    let mut table: &mut dyn TableLike = root;
    let mut in_line = false;
    for segment in path.split('.') {
        let dotted = table.is_dotted();
        let item = table.entry(segment).or_insert_with(|| {
            if in_line {
                let mut new = InlineTable::new();
                new.set_dotted(true);
                Item::Value(Value::InlineTable(new))
            } else {
                let mut new = Table::new();
                new.set_dotted(dotted);
                new.set_implicit(true);
                Item::Table(new)
            }
        });
        in_line = item.is_inline_table();
        table = item.as_table_like_mut().expect("a text without errors has tables where tables are due");
    }
    table
}

/// Puts `# ` before the lines that state these paths.
fn comment_out(text: &str, paths: &BTreeSet<String>) -> String {
    if paths.is_empty() {
        return text.to_owned();
    }
    let lines = Lines::new("", text);
    let (table, _) = DeTable::parse_recoverable(text);
    let mut at: Vec<usize> = paths
        .iter()
        .filter_map(|path| {
            let mut spot = None;
            let mut inside = Some(table.get_ref());
            for segment in path.split('.') {
                let (key, value) = inside?.get_key_value(segment)?;
                spot = Some(key.span().start);
                inside = match value.get_ref() {
                    DeValue::Table(table) => Some(table),
                    _ => None,
                };
            }
            spot.map(|spot| lines.span(lines.line(spot)).start)
        })
        .collect();
    at.sort_unstable();
    let mut commented = text.to_owned();
    for start in at.into_iter().rev() {
        commented.insert_str(start, "# ");
    }
    commented
}

/// `written` with the byte order mark and the line ends of `text`, line by line where a line is in both.
fn line_ends_of(text: &str, written: &str) -> String {
    fn lines(text: &str) -> Vec<(&str, &str)> {
        text.split_inclusive('\n')
            .map(|line| {
                let bare = line.trim_end_matches('\n').trim_end_matches('\r');
                (bare, &line[bare.len()..])
            })
            .collect()
    }
    const MARK: &str = "\u{feff}";
    let old = lines(text.strip_prefix(MARK).unwrap_or(text));
    let mut out = if text.starts_with(MARK) { MARK.to_owned() } else { String::new() };
    let mut end = old.first().map_or("\n", |(_, end)| end);
    let mut next = 0;
    let new = lines(written.strip_prefix(MARK).unwrap_or(written));
    for (number, (line, _)) in new.iter().enumerate() {
        if let Some(found) = old[next..].iter().position(|(bare, _)| bare == line) {
            end = old[next + found].1;
            next += found + 1;
        }
        let last_of_both = number + 1 == new.len() && text.ends_with(|c| c != '\n');
        out.push_str(line);
        out.push_str(match end {
            _ if last_of_both => "",
            "" => "\n",
            end => end,
        });
    }
    out
}
