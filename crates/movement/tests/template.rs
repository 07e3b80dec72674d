//! The file that a new movement begins with reads without a remark, and so it does with any one key taken up.
#![allow(clippy::unwrap_used)]

use movement::{At, Indexed, ParamId, TABLE, Unit, read, template};

/// A value in the range of a row, for keys that the template leaves blank.
fn sane(id: ParamId) -> String {
    let row = id.param();
    match row.unit {
        Unit::Choice(words) => format!("\"{}\"", words[words.len() - 1]),
        Unit::Count => row.min.to_string(),
        _ => (row.min + 0.25 * (row.max - row.min)).to_string(),
    }
}

#[test]
fn reads_without_a_remark() {
    for (teeth, radius_mm) in [(15, 4.0), (6, 0.2), (12, 2.5), (18, 3.0), (21, 3.5), (30, 12.0), (60, 100.0)] {
        let reading = read("new.toml", &template("a \"quoted\" name", teeth, radius_mm));
        assert_eq!(reading.diagnostics, [], "{teeth} teeth, {radius_mm} mm");
        assert_eq!(reading.statement.name, "a \"quoted\" name");
    }
}

#[test]
fn names_every_parameter_with_its_definition() {
    let text = template("a", 15, 4.0);
    for row in TABLE {
        let key = row.path.rsplit('.').next().unwrap();
        let line = text.lines().position(|l| l.trim_start_matches('#').starts_with(&format!("{key} =")));
        assert!(line.is_some(), "{}", row.path);
        assert!(text.contains(&format!("# {}\n", row.definition)), "{}", row.path);
    }
}

#[test]
fn any_key_can_be_taken_up() {
    let text = template("a", 15, 4.0);
    let lines: Vec<&str> = text.lines().collect();
    let mut table = String::new();
    let mut taken = 0;
    for (at, line) in lines.iter().enumerate() {
        let bare = line.trim_start_matches('#');
        if bare.starts_with('[') {
            table = bare.trim_matches(['[', ']']).to_owned();
        }
        let Some((key, value)) = bare.split_once(" =") else { continue };
        if !line.starts_with('#') || line.starts_with("# ") {
            continue;
        }
        let id = ParamId::from_path(&format!("{table}.{key}")).unwrap_or_else(|| panic!("{table}.{key}"))[0];
        let value = value.split('#').next().unwrap().trim();
        let value = if value.is_empty() { sane(id) } else { value.to_owned() };
        let mut with: Vec<String> = lines.iter().map(|l| (*l).to_owned()).collect();
        with[at] = format!("{key} = {value}");
        if let At::Tooth(_) = id.at {
            let header = lines.iter().position(|l| *l == "#[wheel.teeth.0]").unwrap();
            with[header] = "[wheel.teeth.0]".to_owned();
        }
        let reading = read("new.toml", &with.join("\n"));
        assert_eq!(reading.diagnostics, [], "{table}.{key} = {value}");
        assert!(reading.statement.values.get(id).is_some(), "{table}.{key}");
        taken += 1;
    }
    let stated = read("new.toml", &text).statement.values;
    let rows_stated = TABLE
        .iter()
        .filter(|row| match row.indexed() {
            Indexed::Once => stated.get(row.kind.once()).is_some(),
            Indexed::ByPallet => stated.get(row.kind.at(movement::Pallet::Entry)).is_some(),
            Indexed::ByTooth => false,
        })
        .count();
    assert_eq!(taken + rows_stated, TABLE.len());
}
