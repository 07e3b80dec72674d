//! From a question of the page to its answer. Nothing is kept between two questions.

use movement::{Diagnostic, ParamId, Reading, Statement, Unit};

use crate::bench::curve::curve;
use crate::bench::played::played;
use crate::bench::sheet::{Wanted, diagnostics, sheet};
use crate::bench::sound::amplitude;
use crate::bench::wire::{Answer, Ask, Change};
use crate::input::{Loaded, work_out};
use crate::output::Stop;

/// Answers the question `text`; what cannot be read is a problem of revision 0.
pub fn answer(text: &str) -> Answer {
    let ask: Ask = match serde_json::from_str(text) {
        Ok(ask) => ask,
        Err(e) => return problem(0, "bad-question", format!("could not read the question: {e}")),
    };
    match ask {
        Ask::Sheet { revision, name, text, set, beat, sideshake, brief, shown } => {
            let wanted = Wanted { beat: beat as usize, held: brief.then(|| held(&set)), shown };
            sheet_answer(revision, &name, &text, &set, &wanted, sideshake)
        }
        Ask::Rewrite { revision, name, text, changes } => rewritten(revision, &name, &text, &changes),
        Ask::Sweep { revision, name, text, set, axis, figures } => {
            let (statement, found) = read(&name, &text, &set);
            if found.iter().any(Diagnostic::is_error) {
                return refused(revision, "bad-movement", &found, &statement);
            }
            curve(revision, &statement, &axis, &figures)
        }
        Ask::Played { revision, name, text, set, from_rest } => {
            let (statement, found) = read(&name, &text, &set);
            if found.iter().any(Diagnostic::is_error) {
                return refused(revision, "bad-movement", &found, &statement);
            }
            match work_out(statement.clone(), found) {
                Ok(loaded) => match played(&loaded, from_rest) {
                    Ok(played) => Answer::Played { revision, played: Box::new(played) },
                    Err(stop) => stopped(revision, stop),
                },
                Err(faults) => refused(revision, "bad-movement", &faults.diagnostics, &statement),
            }
        }
        Ask::Amplitude { revision, lift_deg, beat_s, between_ms, step_ms } => {
            amplitude(revision, lift_deg, beat_s, between_ms, step_ms)
        }
        Ask::Begin { revision, tooth_count, locking_radius_mm } => {
            match crate::new_file::text("New movement", tooth_count, locking_radius_mm) {
                Ok(text) => Answer::Text { revision, text },
                Err(stop) => stopped(revision, stop),
            }
        }
    }
}

fn read(name: &str, text: &str, set: &[String]) -> (Statement, Vec<Diagnostic>) {
    let Reading { mut statement, diagnostics: mut found, .. } = movement::read(name, text);
    if !found.iter().any(Diagnostic::is_error)
        && let Err(faults) = statement.set_all(set)
    {
        found.extend(faults);
    }
    (statement, found)
}

/// The parameters that overrides are of.
fn held(set: &[String]) -> Vec<ParamId> {
    let keys = set.iter().filter_map(|s| s.split_once('='));
    keys.flat_map(|(key, _)| ParamId::from_path(key.trim()).unwrap_or_default()).collect()
}

fn sheet_answer(revision: u32, name: &str, text: &str, set: &[String], wanted: &Wanted, sideshake: bool) -> Answer {
    let (statement, found) = read(name, text, set);
    let rows = |found: &[Diagnostic]| diagnostics(found, name, text);
    if found.iter().any(Diagnostic::is_error) {
        return Answer::Sheet { revision, diagnostics: rows(&found), sheet: None };
    }
    let mut loaded: Loaded = match work_out(statement, found) {
        Ok(loaded) => loaded,
        Err(refused) => return Answer::Sheet { revision, diagnostics: rows(&refused.diagnostics), sheet: None },
    };
    if wanted.held.is_none() {
        loaded.tell_moves();
    }
    if sideshake && let Err(stop) = loaded.try_sideshake() {
        return stopped(revision, stop);
    }
    Answer::Sheet { revision, diagnostics: rows(&loaded.diagnostics), sheet: Some(Box::new(sheet(&loaded, wanted))) }
}

fn rewritten(revision: u32, name: &str, text: &str, changes: &[Change]) -> Answer {
    let mut statement = movement::read(name, text).statement;
    // Overrides know every way of writing a value, and what is wrong with it.
    let set: Vec<String> = changes.iter().map(|c| format!("{}={}", c.path, c.value.as_deref().unwrap_or(""))).collect();
    if let Err(faults) = statement.set_all(&set) {
        return refused(revision, "bad-value", &faults, &statement);
    }
    let ids = changes.iter().flat_map(|c| ParamId::from_path(&c.path).unwrap_or_default());
    let edge = |id: ParamId| statement.values.get(id).map(|si| as_written(id.param().unit, si));
    let values: Vec<(ParamId, Option<f64>)> = ids.map(|id| (id, edge(id))).collect();
    match movement::rewrite(text, &values) {
        Ok(text) => Answer::Text { revision, text },
        Err(faults) => refused(revision, "bad-value", &faults, &statement),
    }
}

/// A value at the edge without the last digits that a conversion to SI and back leaves.
fn as_written(unit: Unit, si: f64) -> f64 {
    let edge = unit.from_si(si);
    let short: f64 = format!("{edge:.12}").parse().unwrap_or(edge);
    if unit.to_si(short) == si { short } else { edge }
}

fn problem(revision: u32, code: &str, message: String) -> Answer {
    Answer::Problem { revision, code: code.to_owned(), message, diagnostics: Vec::new() }
}

/// The question is about a text with faults.
pub fn refused(revision: u32, code: &str, found: &[Diagnostic], statement: &Statement) -> Answer {
    let rows = diagnostics(found, statement.source_name(), statement.text());
    let message = rows.first().map_or(String::new(), |d| d.message.clone());
    Answer::Problem { revision, code: code.to_owned(), message, diagnostics: rows }
}

/// It could not be done.
pub fn stopped(revision: u32, stop: Stop) -> Answer {
    match stop {
        Stop::Problem { code, message, hint } => {
            let message = hint.map_or(message.clone(), |hint| format!("{message}: {hint}"));
            problem(revision, code, message)
        }
        Stop::Cancelled => problem(revision, "stopped", "stopped before it was done".to_owned()),
        Stop::Reported | Stop::PipeClosed => problem(revision, "not-done", "could not be done".to_owned()),
    }
}
