//! The JSON Schema of movement files, made from the table, for editors.

use schemars::json_schema;
use serde_json::{Map, Value, json};

use crate::FORMAT;
use crate::param::{IfUnstated, Indexed, Pallet, Param, Unit};
use crate::statement::KINDS;
use crate::table::{ParamKind, TABLE};
use crate::value::{allowed_text, unstated_text};

/// The JSON Schema (draft 2020-12) of a movement file, seen as JSON.
///
/// It states what can be said of keys and single values: names, types, ranges, words. What binds several values
/// (a tooth beyond the count) is left to [`read`](crate::read()).
///
/// # Examples
/// ```
/// let schema = movement::json_schema();
/// assert_eq!(schema["properties"]["wheel"]["properties"]["tooth_count"]["minimum"], 6);
/// ```
pub fn json_schema() -> Value {
    let mut tables = Table::default();
    for row in TABLE {
        let pattern: Vec<&str> = row.path.split('.').collect();
        match row.indexed() {
            Indexed::Once | Indexed::ByTooth => tables.put(&pattern, row),
            Indexed::ByPallet => {
                let both: Vec<&str> = pattern.iter().copied().filter(|s| *s != "*").collect();
                tables.put(&both, row);
                for pallet in Pallet::BOTH {
                    let one: Vec<&str> = pattern.iter().map(|s| if *s == "*" { pallet.name() } else { s }).collect();
                    tables.put(&one, row);
                }
            }
        }
    }
    let mut properties = Map::new();
    properties.insert(
        "format".to_owned(),
        json!({ "description": "Format of movement files", "type": "integer", "const": FORMAT }),
    );
    properties.insert(
        "name".to_owned(),
        json!({
            "description": "Name of the movement, one line", "type": "string",
            "pattern": "^[^\\u0000-\\u001f\\u007f-\\u009f]*[^\\s\\u0000-\\u001f\\u007f-\\u009f][^\\u0000-\\u001f\\u007f-\\u009f]*$",
        }),
    );
    properties.insert("notes".to_owned(), json!({ "description": "Free text", "type": "string" }));
    properties
        .insert("kind".to_owned(), json!({ "description": "Kind of escapement", "enum": KINDS, "default": KINDS[0] }));
    let Value::Object(made) = tables.schema(&[]) else { unreachable!("a table is described by an object") };
    if let Some(Value::Object(made)) = made.get("properties") {
        properties.extend(made.clone());
    }
    let needed = |row: &&Param| row.default == IfUnstated::Needed;
    let mut required = vec!["format".to_owned(), "name".to_owned()];
    for row in TABLE.iter().filter(needed) {
        let table = row.path.split('.').next().unwrap_or_default().to_owned();
        if !required.contains(&table) {
            required.push(table);
        }
    }
    let size = [ParamKind::WheelLockingRadius, ParamKind::CentresWheelPallet].map(|kind| {
        let (table, key) = kind.param().path.split_once('.').expect("a table and a key");
        json!({ "required": [table], "properties": { table: { "required": [key] } } })
    });
    let schema = json_schema!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Movement file",
        "description": "A lever escapement stated by wanted angles and by dimensions; what is not stated is derived.",
        "type": "object",
        "properties": properties,
        "required": required,
        "anyOf": size,
        "additionalProperties": false,
    });
    schema.to_value()
}

/// Tables and rows by key, in the order of the parameter table.
#[derive(Default)]
struct Table {
    entries: Vec<(String, Entry)>,
}

enum Entry {
    Table(Table),
    Row(&'static Param),
}

impl Table {
    fn put(&mut self, path: &[&str], row: &'static Param) {
        let Some((key, rest)) = path.split_first() else { return };
        if rest.is_empty() {
            self.entries.push(((*key).to_owned(), Entry::Row(row)));
            return;
        }
        let at = self.entries.iter().position(|(k, _)| k == key).unwrap_or_else(|| {
            self.entries.push(((*key).to_owned(), Entry::Table(Table::default())));
            self.entries.len() - 1
        });
        if let Entry::Table(inner) = &mut self.entries[at].1 {
            inner.put(rest, row);
        }
    }

    fn schema(&self, path: &[&str]) -> Value {
        let (mut properties, mut patterns, mut required) = (Map::new(), Map::new(), Vec::new());
        for (key, entry) in &self.entries {
            match entry {
                Entry::Table(inner) => {
                    let inner_path = [path, &[key.as_str()]].concat();
                    let to = if key == "*" { &mut patterns } else { &mut properties };
                    let key = if key == "*" { tooth_pattern() } else { key.clone() };
                    to.insert(key, inner.schema(&inner_path));
                }
                Entry::Row(row) => {
                    if row.default == IfUnstated::Needed {
                        required.push(key.clone());
                    }
                    properties.insert(key.clone(), row_schema(row));
                }
            }
        }
        let mut schema = json!({ "type": "object", "properties": properties, "additionalProperties": false });
        if !patterns.is_empty() {
            schema["patternProperties"] = Value::Object(patterns);
        }
        if !required.is_empty() {
            schema["required"] = json!(required);
        }
        schema
    }
}

/// Keys of teeth: the numbers from 0 to the largest count less one.
fn tooth_pattern() -> String {
    let last = ParamKind::WheelToothCount.param().max as u32 - 1;
    let numbers: Vec<String> = (0..=last).map(|n| n.to_string()).collect();
    format!("^({})$", numbers.join("|"))
}

fn row_schema(row: &Param) -> Value {
    let description = format!("{}. {}; {}.", row.definition, allowed_text(row), unstated_text(row));
    let number = |n: f64| if n.fract() == 0.0 { json!(n as i64) } else { json!(n) };
    let mut schema = match row.unit {
        Unit::Choice(words) => json!({ "description": description, "enum": words }),
        unit => {
            let kind = if unit == Unit::Count { "integer" } else { "number" };
            json!({ "description": description, "type": kind, "minimum": number(row.min), "maximum": number(row.max) })
        }
    };
    if row.kind == ParamKind::PalletsSpacesSpanned {
        let halves = (0..).map(|n| f64::from(n) + 0.5).take_while(|n| *n <= row.max).filter(|n| *n >= row.min);
        schema = json!({ "description": description, "type": "number", "enum": halves.collect::<Vec<_>>() });
    }
    if let IfUnstated::Value(value) = row.default {
        schema["default"] = match row.unit {
            Unit::Choice(words) => json!(words[value as usize]),
            _ => number(value),
        };
    }
    schema
}
