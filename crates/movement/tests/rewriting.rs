//! Rewriting keeps every comment and every line it has no reason to touch.
#![allow(clippy::unwrap_used)]

use movement::{Pallet, ParamId, ParamKind, read, rewrite, template};
use proptest::prelude::*;

const CHANGED: [(ParamKind, f64, f64); 6] = [
    (ParamKind::WheelToothWidth, 2.0, 8.0),
    (ParamKind::PalletLock, 0.5, 4.0),
    (ParamKind::PalletDraw, 5.0, 20.0),
    (ParamKind::StoneOut, -0.1, 0.1),
    (ParamKind::BankingRun, 0.0, 1.0),
    (ParamKind::BankingOpen, -0.1, 0.1),
];

fn change() -> impl Strategy<Value = (ParamId, Option<f64>)> {
    (0..CHANGED.len(), any::<bool>(), prop::option::weighted(0.8, 0.0..1.0_f64)).prop_map(|(at, exit, part)| {
        let (kind, least, most) = CHANGED[at];
        let pallet = if exit { Pallet::Exit } else { Pallet::Entry };
        let by_pallet = kind.param().path.contains('*');
        (if by_pallet { kind.at(pallet) } else { kind.once() }, part.map(|p| least + p * (most - least)))
    })
}

/// The comments of a text without strings that hold `#`: what stands behind the first `#` of each line.
fn comments(text: &str) -> Vec<String> {
    text.lines().filter_map(|line| line.split_once('#')).map(|(_, c)| c.trim().to_owned()).collect()
}

proptest! {
    #[test]
    fn comments_stay_and_values_are_read_back(changes in prop::collection::vec(change(), 1..8), terse in any::<bool>()) {
        let terse_text = "# head\nformat = 1 # f\nname = \"a\"\n\n[wheel] # w\ntooth_count = 15 # n\nlocking_radius_mm = 4.0\n\
                          [pallets]\n# over the lock\nlock_deg = 1.5 # both\nexit.draw_deg = 12.0 # exit\n# end\n";
        let text = if terse { terse_text.to_owned() } else { template("t", 15, 4.0) };
        let written = rewrite(&text, &changes).unwrap();
        let before = read("a", &text).statement.values;
        let reading = read("a", &written);
        prop_assert!(reading.diagnostics.iter().all(|d| d.code == "unused"), "{written}");
        // Comments, in their order, are among those of the new text.
        let after = comments(&written);
        let mut rest = after.iter();
        for comment in comments(&text) {
            prop_assert!(rest.any(|c| *c == comment || c.ends_with(&format!("# {comment}"))), "lost {comment:?} in\n{written}");
        }
        for id in ParamId::dense() {
            let wanted = match changes.iter().rev().find(|(at, _)| *at == id) {
                Some((_, edge)) => edge.map(|e| id.param().unit.to_si(e)),
                None => before.get(id),
            };
            prop_assert_eq!(reading.statement.values.get(id), wanted, "{} in\n{}", id, written);
        }
        // A second time there is nothing left to do.
        prop_assert_eq!(rewrite(&written, &changes).unwrap(), written);
    }
}
