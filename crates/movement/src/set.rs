//! Overrides: values set on a statement from the command line or by a sweep, with the checks of the file.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place};
use crate::keys::{Known, TOP_KEYS, known, meant_parameter, some_parameter_of, tooth_number};
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
                let placed = self.placed(fault.about(*id));
                let place = placed.place.map(|place| self.at_tooth_number(place, number));
                faults.push(Diagnostic { place, ..placed });
            }
        }
        faults
    }

    /// The number of the tooth in the key of an override; the place as it is for a value of the file.
    fn at_tooth_number(&self, place: Place, number: u16) -> Place {
        if place.source != SET_SOURCE {
            return place;
        }
        let text = self.source_text(&place).unwrap_or_default();
        match text.find(&place.key).zip(tooth_number_in(&place.key)) {
            Some((at, digits)) if place.key[digits.clone()] == number.to_string() => {
                place_in(text, at + digits.start..at + digits.end, &place.key, place.line as usize)
            }
            _ => place,
        }
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

/// The span of the tooth's number in `wheel.teeth.3.longer_mm`.
fn tooth_number_in(key: &str) -> Option<std::ops::Range<usize>> {
    let start = "wheel.teeth.".len();
    let rest = key.strip_prefix("wheel.teeth.")?;
    Some(start..start + rest.find('.')?)
}

/// The fault of an override whose key is no parameter's.
fn no_parameter(text: &str, key: &str, number: usize) -> Diagnostic {
    let at = text.len() - text.trim_start().len();
    let at_key = |span: std::ops::Range<usize>| place_in(text, at + span.start..at + span.end, key, number);
    let whole = at_key(0..key.len());
    let segments: Vec<&str> = key.split('.').collect();
    if TOP_KEYS.contains(&key) {
        let message = format!("only parameters can be set, and `{key}` is none");
        let hint = format!("change it in the movement file, where `{key} = ...` stands at the top");
        return Diagnostic::error("not-a-parameter", message).at(whole).hint(hint);
    }
    if matches!(known(&segments), Known::Table) {
        let message = format!("only parameters can be set, and `{key}` is a table of them");
        let fault = Diagnostic::error("not-a-parameter", message).at(whole);
        return match some_parameter_of(key) {
            Some(path) => fault.hint(format!("set its parameters one by one, such as {path}=...")),
            None => fault.hint("set its parameters one by one"),
        };
    }
    // A tooth's number that no wheel has.
    if let Some(digits) = tooth_number_in(key)
        && let Some(tooth) = tooth_number(&key[digits.clone()])
        && ParamId::from_path(&key.replacen(&key[digits.clone()], "0", 1)).is_some()
        && let Some(fault) = no_such_tooth(tooth, None)
    {
        return fault.at(at_key(digits));
    }
    let fault = Diagnostic::error("unknown-key", format!("no parameter `{}` is known", shown(key))).at(whole);
    fault.hint(meant_parameter(key).unwrap_or("`beatwright schema` lists every key".to_owned()))
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
        return Err(no_parameter(text, key, number));
    };
    if value.is_empty() {
        return Ok(Change { ids, edge: None, place });
    }
    match from_text(ids[0].param(), key, value) {
        Ok(edge) => Ok(Change { ids, edge: Some(edge), place }),
        Err(fault) => Err(Diagnostic { about: ids, ..fault.at(place) }),
    }
}
