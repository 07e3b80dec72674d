//! The table of parameters agrees with itself.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;

use movement::{IfUnstated, Indexed, Pallet, Param, ParamId, TABLE, Unit};

fn ids(row: &Param) -> Vec<ParamId> {
    match row.indexed() {
        Indexed::Once => vec![row.kind.once()],
        Indexed::ByPallet => Pallet::BOTH.map(|p| row.kind.at(p)).to_vec(),
        Indexed::ByTooth => vec![row.kind.tooth(0), row.kind.tooth(59)],
    }
}

#[test]
fn each_row_is_documented_and_its_default_is_in_its_range() {
    for (at, row) in TABLE.iter().enumerate() {
        let path = row.path;
        assert_eq!(row.kind as usize, at, "{path}: the table is in the order of the kinds");
        assert!(row.definition.len() > 10 && row.definition.starts_with(char::is_uppercase), "{path}");
        assert!(!row.definition.ends_with('.'), "{path}: a definition is a phrase");
        assert!(row.min.is_finite() && row.max.is_finite() && row.min <= row.max, "{path}");
        match row.default {
            IfUnstated::Value(value) => assert!(row.min <= value && value <= row.max, "{path}"),
            IfUnstated::Of(factor, powers, words) => {
                assert!(factor > 0.0 && !powers.is_empty() && !words.is_empty(), "{path}");
            }
            IfUnstated::OfWheel(ratio) => assert!(ratio > 0.0 && row.unit == Unit::Millimetre, "{path}"),
            IfUnstated::Closed | IfUnstated::Needed | IfUnstated::Absent => {}
        }
    }
}

#[test]
fn a_default_in_proportion_to_the_wheel_fits_a_usual_wheel() {
    for row in TABLE {
        if let IfUnstated::OfWheel(ratio) = row.default {
            for radius_mm in [2.0, 4.0, 10.0] {
                let value = ratio * radius_mm;
                assert!(row.min <= value && value <= row.max, "{} at {radius_mm} mm", row.path);
            }
        }
    }
}

#[test]
fn the_unit_is_the_end_of_the_key() {
    for row in TABLE {
        let path = row.path;
        match row.unit {
            Unit::Millimetre => assert!(path.ends_with("_mm"), "{path}"),
            Unit::Degree => assert!(path.ends_with("_deg"), "{path}"),
            Unit::MilligramSquareCentimetre => assert!(path.ends_with("_mg_cm2"), "{path}"),
            Unit::MicronewtonMetre => assert!(path.ends_with("_un_m"), "{path}"),
            Unit::PerHour => assert!(path.ends_with("_per_hour"), "{path}"),
            Unit::MillimetrePerSecond => assert!(path.ends_with("_mm_per_s"), "{path}"),
            Unit::Ratio | Unit::Count => assert!(!path.ends_with("_mm") && !path.ends_with("_deg"), "{path}"),
            Unit::Choice(words) => {
                assert_eq!((row.min, row.max), (0.0, words.len() as f64 - 1.0), "{path}");
                assert_eq!(words.iter().collect::<BTreeSet<_>>().len(), words.len(), "{path}");
                assert!(words.iter().all(|w| w.chars().all(|c| c.is_ascii_lowercase() || c == '_')), "{path}");
            }
        }
    }
}

#[test]
fn paths_name_one_parameter_each() {
    let mut seen = BTreeSet::new();
    for row in TABLE {
        for id in ids(row) {
            let path = id.to_string();
            assert_eq!(ParamId::from_path(&path), Some(vec![id]), "{path}");
            assert!(seen.insert(path.clone()), "{path} twice");
        }
        if row.indexed() == Indexed::ByPallet {
            let both = row.path.replacen("*.", "", 1);
            assert_eq!(ParamId::from_path(&both), Some(ids(row)), "{both}");
            assert!(seen.insert(both.clone()), "{both} is the path of another parameter too");
        }
    }
}

#[test]
fn units_convert_both_ways() {
    // A millimetre is 1e-3 m; 180 degrees are pi radians.
    assert_eq!(Unit::Millimetre.to_si(2500.0), 2.5);
    assert_eq!(Unit::Degree.to_si(180.0), std::f64::consts::PI);
    for row in TABLE {
        for edge in [row.min, 0.5 * (row.min + row.max), row.max] {
            let back = row.unit.from_si(row.unit.to_si(edge));
            assert!((back - edge).abs() <= 2.0 * f64::EPSILON * edge.abs(), "{} {edge}", row.path);
        }
    }
}
