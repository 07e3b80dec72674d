//! `action`: the whole action as tables, CSV or JSON.

use action::{FigureId, sample_curve};
use serde_json::Value;

use crate::check::{report, status};
use crate::cli::ActionArgs;
use crate::input::{Loaded, load_quietly};
use crate::json::{self, CURVE_COLUMNS, curve_row};
use crate::output::{Status, Stop, edge, emit, pretty};
use crate::tables::phase_table;

/// Shows the action of a movement.
pub fn show_action(args: &ActionArgs) -> Result<Status, Stop> {
    let loaded = load_quietly(&args.movement, args.json)?;
    let points = usize::from(args.points);
    let text = if args.json {
        let mut document = json::head("beatwright.action/1", &loaded);
        document.insert("figures".to_owned(), json::figures(|id| id.value(&loaded.action)));
        document.insert("sideshake".to_owned(), json::shaken(&loaded));
        document.insert("beats".to_owned(), json::beats(&loaded.build.parts, &loaded.action, points));
        pretty(&Value::Object(document))
    } else if args.curve {
        curve_csv(&loaded, points)
    } else if args.csv {
        beat_csv(&loaded)
    } else {
        format!("{}\n{}", report(&loaded), phase_table(&loaded.action, loaded.build.parts.wheel.alike()))
    };
    emit(&text)?;
    if !args.json {
        loaded.remark();
    }
    Ok(status(&loaded))
}

/// A field of a CSV line: a number with the digits of JSON, or nothing.
pub fn field(value: Option<f64>) -> String {
    value.filter(|v| v.is_finite()).map_or(String::new(), |v| edge(v).to_string())
}

fn beat_csv(loaded: &Loaded) -> String {
    let stems: Vec<String> = FigureId::all()
        .filter_map(|id| id.to_string().strip_prefix("entry.").filter(|s| *s != "lock_spread_deg").map(str::to_owned))
        .collect();
    let mut text = format!("pallet,tooth,{}\n", stems.join(","));
    for (i, beat) in loaded.action.beats.iter().enumerate() {
        text.push_str(&format!("{},{}", beat.pallet.name(), beat.tooth));
        for stem in &stems {
            let id = FigureId::from_path(&format!("{}.{stem}", beat.pallet.name()));
            text.push_str(&format!(
                ",{}",
                field(id.and_then(|id| Some(id.figure().unit.from_si(id.of_beat(&loaded.action, i)?))))
            ));
        }
        text.push('\n');
    }
    text
}

fn curve_csv(loaded: &Loaded, points: usize) -> String {
    let mut text = format!("pallet,tooth,tooth_face,stone_face,{}\n", CURVE_COLUMNS.join(","));
    for beat in &loaded.action.beats {
        for c in sample_curve(&loaded.build.parts, beat, points) {
            text.push_str(&format!(
                "{},{},{},{}",
                beat.pallet.name(),
                beat.tooth,
                c.tooth_face.name(),
                c.stone_face.name()
            ));
            for value in curve_row(beat, &c) {
                text.push_str(&format!(",{}", field(value)));
            }
            text.push('\n');
        }
    }
    text
}
