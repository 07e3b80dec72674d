//! JSON documents, each with a versioned `schema` and units in its keys. Described in docs/manual/json.md.

use action::{Action, Contact, FigureId, Finding, PalletAction, sample_curve};
use movement::{ParamId, Unit};
use parts::Parts;
use serde_json::{Map, Value, json};

use crate::input::Loaded;
use crate::output::edge;
use crate::tables::verdict;

/// The parts that every document about a movement has.
pub fn head(schema: &str, loaded: &Loaded) -> Map<String, Value> {
    let mut document = Map::new();
    let mut put = |key: &str, value: Value| document.insert(key.to_owned(), value);
    put("schema", json!(schema));
    put("program", json!(concat!("beatwright ", env!("CARGO_PKG_VERSION"))));
    put("file", json!(loaded.statement.source_name()));
    put("name", json!(loaded.statement.name));
    put("kind", json!(loaded.statement.kind));
    put("verdict", json!(verdict(&loaded.findings).0));
    put("findings", loaded.findings.iter().map(finding).collect());
    put("diagnostics", json!(loaded.diagnostics));
    document
}

fn finding(f: &Finding) -> Value {
    let unit = f.figure.map(|id| id.figure().unit);
    json!({
        "gravity": f.gravity.name(),
        "code": f.code,
        "message": f.message,
        "pallet": f.pallet.map(|p| p.name()),
        "tooth": f.tooth,
        "figure": f.figure.map(|id| id.to_string()),
        "found": f.found.zip(unit).map(|(si, u)| edge(u.from_si(si))),
        "unit": unit.map(|u| u.sign()),
        "accepted_least": f.accepted.map(|a| a.0),
        "accepted_most": f.accepted.map(|a| a.1).filter(|m| m.is_finite()),
        "moved_by": f.moved_by.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "source": f.source,
        "place_mm": f.place_m.map(|p| [p.x, p.y].map(|m| edge(m * 1e3))),
    })
}

/// Every figure, nested by pallet: `{"entry": {"lock_deg": 1.5, ...}, "exit": {...}, "out_of_angle_deg": 0.0, ...}`.
pub fn figures(value: impl Fn(FigureId) -> Option<f64>) -> Value {
    let mut out = Map::new();
    for id in FigureId::all() {
        let shown = json!(value(id).map(|si| edge(id.figure().unit.from_si(si))));
        let path = id.to_string();
        match path.split_once('.') {
            Some((pallet, name)) => {
                let nested = out.entry(pallet).or_insert_with(|| json!({}));
                nested[name] = shown;
            }
            None => {
                out.insert(path, shown);
            }
        }
    }
    Value::Object(out)
}

/// Ranges of the figures over the sideshake.
pub fn shaken(loaded: &Loaded) -> Value {
    loaded.shaken.as_ref().map_or(Value::Null, |s| {
        let range = |side: fn(&(f64, f64)) -> f64| figures(|id| s.ranges.get(&id).map(side));
        json!({ "combinations": s.count, "least": range(|r| r.0), "most": range(|r| r.1) })
    })
}

/// Every parameter with its value and origin.
pub fn parameters(loaded: &Loaded) -> Value {
    let one = |id: ParamId| {
        let (si, origin) = loaded.build.movement.get(id)?;
        let param = id.param();
        let value = match param.unit {
            Unit::Choice(words) => json!(words.get(si as usize)),
            unit => json!(edge(unit.from_si(si))),
        };
        Some(json!({ "path": id.to_string(), "value": value, "origin": origin.name(), "definition": param.definition }))
    };
    let teeth = loaded.build.movement.values().teeth().iter().map(|(id, _)| *id);
    ParamId::dense().chain(teeth).filter_map(one).collect()
}

/// Beats of the cycle with their figures and phases.
pub fn beats(parts: &Parts, action: &Action, points: usize) -> Value {
    let one = |(i, beat): (usize, &PalletAction)| {
        let mut figures = Map::new();
        for id in FigureId::all().filter(|id| id.pallet() == Some(beat.pallet)) {
            let name = id.to_string();
            let name = name.split_once('.').map_or(name.as_str(), |(_, n)| n);
            if name != "lock_spread_deg" {
                figures
                    .insert(name.to_owned(), json!(id.of_beat(action, i).map(|si| edge(id.figure().unit.from_si(si)))));
            }
        }
        let phases: Vec<Value> = beat
            .segments
            .iter()
            .map(|s| {
                json!({
                    "tooth_face": s.from.tooth_face.name(),
                    "stone_face": s.from.stone_face.name(),
                    "lever_from_deg": edge_deg(s.from.lever_rad),
                    "lever_to_deg": edge_deg(s.to.lever_rad),
                    "wheel_from_deg": edge_deg(s.from.wheel_rad),
                    "wheel_to_deg": edge_deg(s.to.wheel_rad),
                    "fall_deg": edge_deg(s.fall_rad),
                })
            })
            .collect();
        let curve: Vec<Value> = sample_curve(parts, beat, points).iter().map(|c| point(beat, c)).collect();
        let tooth = (!parts.wheel.alike()).then_some(beat.tooth);
        json!({ "pallet": beat.pallet.name(), "tooth": tooth, "figures": figures, "phases": phases, "curve": curve })
    };
    action.beats.iter().enumerate().map(one).collect()
}

fn edge_deg(angle_rad: f64) -> f64 {
    edge(angle_rad.to_degrees())
}

fn point(beat: &PalletAction, c: &Contact) -> Value {
    let [tooth_face, stone_face] = [c.tooth_face.name(), c.stone_face.name()];
    let numbers = curve_row(beat, c);
    let mut out = Map::new();
    out.insert("tooth_face".to_owned(), json!(tooth_face));
    out.insert("stone_face".to_owned(), json!(stone_face));
    for (name, value) in CURVE_COLUMNS.iter().zip(numbers) {
        out.insert((*name).to_owned(), json!(value.map(edge)));
    }
    Value::Object(out)
}

/// Names of the numbers of a point of a contact curve.
pub const CURVE_COLUMNS: [&str; 10] = [
    "lever_deg",
    "wheel_deg",
    "x_mm",
    "y_mm",
    "normal_x_ratio",
    "normal_y_ratio",
    "wheel_arm_mm",
    "lever_arm_mm",
    "torque_ratio",
    "draw_deg",
];

/// Those numbers; where the wheel has no arm there is no ratio of torques.
pub fn curve_row(beat: &PalletAction, c: &Contact) -> [Option<f64>; 10] {
    [
        Some(c.lever_rad.to_degrees()),
        Some(c.wheel_rad.to_degrees()),
        Some(c.point_m.x * 1e3),
        Some(c.point_m.y * 1e3),
        Some(c.normal.x),
        Some(c.normal.y),
        Some(c.wheel_arm_m * 1e3),
        Some(c.lever_arm_m * 1e3),
        c.torque_ratio(beat.pallet),
        Some(c.draw_rad.to_degrees()),
    ]
}
