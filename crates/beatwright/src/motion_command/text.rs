//! The same answer as text.

use motion::{FigureUnit, INSTANTS, Place};
use movement::{Origin, ParamId, ParamKind};

use crate::motion_command::report::{Ledger, Report, ms};
use crate::output::edge;
use crate::tables::{bare_table, fixed, right, words};

impl Report<'_> {
    /// Outcome, figures, instants, energy, and what they rest on.
    pub fn text(&self) -> String {
        let mut text = format!("{}: {}\n", self.loaded.statement.name, self.outcome.words);
        let faults = self.loaded.findings.iter().filter(|f| f.gravity == action::Gravity::Fault).count();
        if faults > 0 {
            text.push_str(&format!(
                "`beatwright check` finds {faults} fault{} in the action.\n",
                if faults > 1 { "s" } else { "" }
            ));
        }
        if self.steady.is_some() {
            text.push_str(&format!("\n{}\n{}", self.figure_table(), self.heard_by()));
        }
        if !self.beats.is_empty() {
            text.push_str(&format!("\n{}", self.beat_table()));
        }
        if let Some(ledger) = &self.ledger {
            text.push_str(&format!("\n{}\n", ledger_table(ledger)));
        }
        text.push_str(&format!("\n{}", self.rests_on_text()));
        text
    }

    /// The lift by which the amplitudes heard are read.
    fn heard_by(&self) -> String {
        let id = ParamKind::BalanceHeardLift.once();
        let said = |(_, lift_deg, origin): (ParamId, f64, Origin)| {
            format!("Amplitudes heard are read by a lift of {} deg ({id}, {}).\n", edge(lift_deg), origin.name())
        };
        self.rests_on().find(|(own, ..)| *own == id).map_or(String::new(), said)
    }

    fn figure_table(&self) -> String {
        let mut table = bare_table();
        table.set_header([if self.outcome.runs { "in steady motion" } else { "as it goes" }, "found", "unit"]);
        for (figure, value) in self.shown_figures() {
            let gains = figure.unit == FigureUnit::SecondPerDay && value.is_some_and(|v| v > 0.0);
            let shown = format!("{}{}", if gains { "+" } else { "" }, fixed(value, figure.unit.decimals()));
            table.add_row([words(figure.path), shown, figure.unit.sign().to_owned()]);
        }
        right(&mut table, 1..2);
        table.to_string()
    }

    /// Of a steady motion of two beats a column for each, else a line for each beat.
    fn beat_table(&self) -> String {
        let shown = |v: Option<f64>| v.map_or("-".to_owned(), |v| format!("{v:.3}"));
        let mut table = bare_table();
        if self.steady.is_some() && self.beats.len() == 2 {
            let mut header = vec!["ms since the balance turned".to_owned()];
            header.extend(self.beats.iter().map(|b| format!("{} beat", b.pallet.name())));
            table.set_header(header);
            for column in INSTANTS {
                let mut row = vec![column.words.to_owned()];
                row.extend(self.begun().map(|(b, begins_s)| shown(ms(column, b, begins_s))));
                table.add_row(row);
            }
            let mut row = vec!["amplitude there, deg".to_owned()];
            row.extend(self.beats.iter().map(|b| format!("{:.2}", b.extreme_rad.to_degrees())));
            table.add_row(row);
            right(&mut table, 1..3);
        } else {
            let teeth = self.tooth(0).is_some();
            let mut header = vec!["pallet"];
            header.extend(teeth.then_some("tooth"));
            header.push("begins_ms");
            header.extend(INSTANTS.iter().map(|c| c.key));
            header.push("extreme_deg");
            table.set_header(header);
            for (i, (beat, begins_s)) in self.begun().enumerate() {
                let mut row = vec![beat.pallet.name().to_owned()];
                row.extend(self.tooth(i).map(|tooth| tooth.to_string()));
                row.push(shown(Some(1e3 * begins_s)));
                row.extend(INSTANTS.iter().map(|c| shown(ms(c, beat, begins_s))));
                row.push(format!("{:.2}", beat.extreme_rad.to_degrees()));
                table.add_row(row);
            }
            right(&mut table, 1..3 + INSTANTS.len() + usize::from(teeth));
        }
        format!("{table}\n")
    }

    fn rests_on_text(&self) -> String {
        let of = |wanted: Origin| -> Vec<String> {
            let shown = |(id, value, _): (ParamId, f64, Origin)| format!("{id} = {}", edge(value));
            self.rests_on().filter(|(_, _, origin)| *origin == wanted).map(shown).collect()
        };
        let mut text = String::from("This is a prediction. It rests on\n");
        for (origin, said) in [
            (Origin::Stated, "stated"),
            (Origin::Default, "defaults; state what you know of your movement"),
            (Origin::Derived, "derived"),
        ] {
            let values = of(origin);
            if !values.is_empty() {
                text.push_str(&format!("- {said}: {}\n", values.join(", ")));
            }
        }
        text.push_str("- and on rigid parts in one plane, a balance in poise, a constant torque\n");
        text
    }
}

/// Energies of a mean beat, or of the whole motion where its beats are not whole; and as parts of what the train gives.
fn ledger_table(ledger: &Ledger) -> String {
    let mut table = bare_table();
    let drive_j = ledger.work_j[Place::Drive as usize];
    let of = if ledger.beats.is_some() { "energy of a beat" } else { "energy until then" };
    table.set_header([of, "nJ", "% of the train's"]);
    let mut row = |name: &str, work_j: f64| {
        let (whole, beat) = ledger.nj(work_j);
        let part = (drive_j > 0.0).then(|| 100.0 * work_j / drive_j);
        table.add_row([name.to_owned(), fixed(Some(beat.unwrap_or(whole)), 3), fixed(part, 1)]);
    };
    for place in Place::ALL {
        row(place.name(), ledger.work_j[*place as usize]);
    }
    row("kept in motion and spring", ledger.change_j);
    right(&mut table, 1..3);
    table.to_string()
}
