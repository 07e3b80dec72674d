//! Rewriting keeps every comment and every line it has no reason to touch, and what is written reads back.
#![allow(clippy::unwrap_used)]

#[path = "support/bases.rs"]
mod support;

use movement::{IfUnstated, Indexed, Pallet, ParamId, ParamKind, TABLE, Unit, Values, read, rewrite};
use proptest::prelude::*;
use proptest::sample::Index;
use support::bases;

proptest! {
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases.max(400), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_rewritten_reads_back(base in any::<Index>(), changes in prop::collection::vec(change(), 1..10)) {
        let bases = bases();
        let text = base.get(&bases);
        let before = read("before", text).statement.values;
        let changes: Vec<(ParamId, Option<f64>)> = changes
            .into_iter()
            .filter(|(id, edge)| {
                edge.is_some() || !matches!(id.kind, ParamKind::WheelToothCount | ParamKind::WheelLockingRadius)
            })
            .collect();
        let written = rewrite(text, &changes);
        prop_assert!(written.is_ok(), "{:?}", written);
        let written = written.unwrap();
        let after = read("after", &written);
        // A pallet's own key may leave the one for both without effect; there is nothing else to remark.
        prop_assert!(after.diagnostics.iter().all(|d| d.code == "unused"), "{:?}\n{}", after.diagnostics, written);
        let mut wanted = before;
        for (id, edge) in &changes {
            match edge {
                Some(edge) => wanted.set(*id, id.param().unit.to_si(*edge)),
                None => wanted.remove(*id),
            }
        }
        prop_assert_eq!(list(&after.statement.values), list(&wanted), "{}", &written);
        comments_and_other_lines_stay(text, &written, &changes)?;
        // Written again, nothing changes any more.
        let again: Vec<(ParamId, Option<f64>)> = changes.iter().map(|(id, _)| {
            (*id, changes.iter().rev().find(|(i, _)| i == id).and_then(|(_, edge)| *edge))
        }).collect();
        prop_assert_eq!(rewrite(&written, &again).unwrap(), written);
    }
}

/// The line for both pallets serves only the entry pallet here, and is set in the same go.
#[test]
fn one_pallet_set_and_the_other_left_unstated() {
    let text = "format = 1\nname = \"a\"\nwheel.tooth_count = 15\nwheel.locking_radius_mm = 4\npallets.lock_deg = 1.5\npallets.exit.lock_deg = 1.25\n";
    let [entry, exit] = Pallet::BOTH.map(|p| ParamKind::PalletLock.at(p));
    for changes in [[(entry, Some(-5.0)), (exit, None)], [(exit, None), (entry, Some(-5.0))]] {
        let values = read("after", &rewrite(text, &changes).unwrap()).statement.values;
        assert_eq!((values.get(entry), values.get(exit)), (Some((-5.0_f64).to_radians()), None), "{changes:?}");
    }
}

fn list(values: &Values) -> Vec<String> {
    values.iter().map(|(id, si)| format!("{id} = {si:e}")).collect()
}

/// Comments are all there in their order; so are, byte for byte, the lines that state none of the changed keys.
fn comments_and_other_lines_stay(
    text: &str,
    written: &str,
    changes: &[(ParamId, Option<f64>)],
) -> Result<(), TestCaseError> {
    let mut rest = written;
    for comment in text.lines().filter_map(|l| l.find('#').map(|at| &l[at..])) {
        let at = rest.find(comment.trim_end());
        prop_assert!(at.is_some(), "{comment} is gone from\n{written}");
        rest = &rest[at.unwrap()..];
    }
    let keys: Vec<&str> = changes.iter().filter_map(|(id, _)| id.param().path.rsplit('.').next()).collect();
    // The last line may have no line feed, and get one when a line follows it.
    let mut lines = written.split_inclusive('\n');
    for line in text.split_inclusive('\n') {
        let states_changed = keys.iter().any(|key| line.contains(key));
        let inline = line.contains('{');
        if !states_changed && !inline {
            let same = |l: &str| l == line || !line.ends_with('\n') && l.trim_end() == line;
            prop_assert!(lines.any(same), "{line:?} is gone or moved in\n{written}");
        }
    }
    Ok(())
}

prop_compose! {
    fn change()(row in any::<Index>(), which in any::<Index>(), part in 0.0..1.0_f64, some in 0..4_u8) -> (ParamId, Option<f64>) {
        let row = row.get(TABLE);
        let ids: Vec<ParamId> = match row.indexed() {
            Indexed::Once => vec![row.kind.once()],
            Indexed::ByPallet => Pallet::BOTH.map(|p| row.kind.at(p)).to_vec(),
            Indexed::ByTooth => (0..6).map(|n| row.kind.tooth(n)).collect(),
        };
        let id = *which.get(&ids);
        let span = row.max - row.min;
        let edge = match (row.kind, row.unit) {
            (ParamKind::WheelToothCount, _) => (6.0 + (part * 54.0)).floor(),
            (ParamKind::PalletsSpacesSpanned, _) => (part * 12.0).floor() + 0.5,
            (_, Unit::Count | Unit::Choice(_)) => (row.min + part * span).round(),
            _ if part < 0.1 => match row.default { IfUnstated::Value(v) => v, _ => row.min },
            _ => row.min + part * span,
        };
        (id, (some > 0).then_some(edge))
    }
}
