//! Overrides: values set on a statement from the command line or by a sweep, with the checks of the file.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place};
use crate::keys::meant;
use crate::param::{At, IfUnstated, ParamId};
use crate::place::Lines;
use crate::read::no_such_tooth;
use crate::statement::{SET_SOURCE, Statement};
use crate::table::ParamKind;
use crate::value::{check, from_text, shown, value_text};

/// What an assignment does, once read.
struct Change {
    ids: Vec<ParamId>,
    /// In the unit of the row; `None` takes the statement away.
    edge: Option<f64>,
    place: Place,
}

impl Statement {
    /// Makes one override `key=value`, where the key is a path of the movement file and the value a number or a word.
    /// `key=` takes the statement away, so that the parameter is derived or has its default again.
    ///
    /// # Errors
    /// Every fault of the assignment and of the statement it would leave; the values are then unchanged.
    ///
    /// # Examples
    /// ```
    /// use movement::{Pallet, ParamKind};
    /// let mut statement = movement::read("a.toml", &movement::template("a", 15, 4.0)).statement;
    /// statement.set("pallets.exit.lock_deg=1.25").expect("within the range");
    /// let lock = statement.values.get(ParamKind::PalletLock.at(Pallet::Exit)).expect("just set");
    /// assert_eq!(lock, 1.25_f64.to_radians());
    /// let faults = statement.set("pallets.exit.lock_mm=1.25").expect_err("a lock is an angle");
    /// assert_eq!(faults[0].hint.as_deref(), Some("it is stated in degrees: write `pallets.exit.lock_deg`"));
    /// ```
    pub fn set(&mut self, assignment: &str) -> Result<(), Vec<Diagnostic>> {
        self.set_all(&[assignment])
    }

    /// Makes several overrides at once; whether the statement is complete is judged after the last.
    ///
    /// # Errors
    /// As [`Statement::set`], the faults of all the assignments together.
    pub fn set_all(&mut self, assignments: &[impl AsRef<str>]) -> Result<(), Vec<Diagnostic>> {
        let before = self.clone();
        let mut faults = Vec::new();
        for assignment in assignments {
            let assignment = assignment.as_ref();
            self.overrides.push(assignment.to_owned());
            match read_assignment(assignment, self.overrides.len()) {
                Ok(change) => self.apply(change),
                Err(fault) => faults.push(fault),
            }
        }
        faults.extend(self.incomplete());
        if faults.is_empty() {
            return Ok(());
        }
        // The texts stay, for the faults point into them.
        let tried = std::mem::replace(self, before);
        self.overrides = tried.overrides;
        Err(faults)
    }

    /// Sets one parameter to a value in the unit of its row.
    ///
    /// # Errors
    /// A value that is out of range, or that leaves a statement which is incomplete; the values are then unchanged.
    pub fn set_value(&mut self, id: ParamId, edge_value: f64) -> Result<(), Vec<Diagnostic>> {
        let key = id.to_string();
        let shown = value_text(id.param(), edge_value);
        let number = shown.split_whitespace().next().unwrap_or_default();
        let text = format!("{key}={number}");
        let end = self.overrides.len();
        if let Err(fault) = check(id.param(), &key, edge_value) {
            let place = place_in(&text, key.len() + 1..text.len(), &key, end + 1);
            self.overrides.push(text);
            return Err(vec![fault.about(id).at(place)]);
        }
        let before = self.clone();
        // A value set again takes the place of the one before, so that a long row of them does not pile up.
        let slot = match self.place(id) {
            Some(place) if place.source == SET_SOURCE && place.key == key => place.line as usize - 1,
            _ => end,
        };
        let place = place_in(&text, key.len() + 1..text.len(), &key, slot + 1);
        if slot == end {
            self.overrides.push(text);
        } else {
            self.overrides[slot] = text;
        }
        self.apply(Change { ids: vec![id], edge: Some(edge_value), place });
        let faults = self.incomplete();
        if faults.is_empty() {
            return Ok(());
        }
        *self = before;
        Err(faults)
    }

    /// The errors of parameters that must be stated and are not.
    pub fn missing(&self) -> Vec<Diagnostic> {
        let mut faults: Vec<Diagnostic> = ParamId::dense()
            .filter(|id| id.param().default == IfUnstated::Needed && self.values.get(*id).is_none())
            .map(|id| {
                let row = id.param();
                Diagnostic::error("missing", format!("`{id}` must be stated"))
                    .about(id)
                    .allowed(crate::allowed_text(row))
                    .hint(format!("state it; it means: {}", row.definition))
            })
            .collect();
        let scale = [ParamKind::WheelLockingRadius.once(), ParamKind::CentresWheelPallet.once()];
        if scale.iter().all(|id| self.values.get(*id).is_none()) {
            let [radius, centres] = scale;
            let message = format!("nothing states the size: neither `{radius}` nor `{centres}` is given");
            let fault = Diagnostic::error("missing", message)
                .about(radius)
                .about(centres)
                .allowed(crate::allowed_text(radius.param()))
                .hint("state one of the two; the rest is closed from it");
            faults.push(fault);
        }
        faults
    }

    /// Every error of the statement as a whole.
    fn incomplete(&self) -> Vec<Diagnostic> {
        let mut faults = self.missing();
        let teeth = self.values.get(ParamKind::WheelToothCount.once());
        for (id, _) in self.values.teeth() {
            if let At::Tooth(number) = id.at
                && let Some(fault) = no_such_tooth(u64::from(number), teeth)
            {
                faults.push(self.placed(fault.about(*id)));
            }
        }
        faults
    }

    fn apply(&mut self, change: Change) {
        let places = Arc::make_mut(&mut self.places);
        for id in change.ids {
            match change.edge {
                Some(edge) => {
                    self.values.set(id, id.param().unit.to_si(edge));
                    places.insert(id, change.place.clone());
                }
                None => {
                    self.values.remove(id);
                    places.remove(&id);
                }
            }
        }
    }
}

fn place_in(text: &str, span: std::ops::Range<usize>, key: &str, number: usize) -> Place {
    let place = Lines::new(SET_SOURCE, text).place(span, key);
    Place { line: u32::try_from(number).unwrap_or(u32::MAX), ..place }
}

fn read_assignment(text: &str, number: usize) -> Result<Change, Diagnostic> {
    let Some((key, value)) = text.split_once('=') else {
        return Err(Diagnostic::error("bad-assignment", "an override needs a key, `=` and a value")
            .value(shown(text))
            .hint("write it as pallets.lock_deg=1.5, or with nothing after = to take the statement away")
            .at(place_in(text, 0..text.len(), "", number)));
    };
    let start = key.len() + 1 + (value.len() - value.trim_start().len());
    let (key, value) = (key.trim(), value.trim());
    let place = place_in(text, start..start + value.len(), key, number);
    let Some(ids) = ParamId::from_path(key) else {
        let at = text.len() - text.trim_start().len();
        let place = place_in(text, at..at + key.len(), key, number);
        let fault = Diagnostic::error("unknown-key", format!("no key `{}` is known", shown(key))).at(place);
        return Err(fault.hint(meant(key).unwrap_or("`beatwright schema` lists every key".to_owned())));
    };
    if value.is_empty() {
        return Ok(Change { ids, edge: None, place });
    }
    match from_text(ids[0].param(), key, value) {
        Ok(edge) => Ok(Change { ids, edge: Some(edge), place }),
        Err(fault) => Err(Diagnostic { about: ids, ..fault.at(place) }),
    }
}
