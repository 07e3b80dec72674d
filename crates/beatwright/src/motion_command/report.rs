//! What the command says of a motion: its outcome, figures, beats and ledger, as JSON and CSV.

use motion::{Beat, BeatInstant, FIGURES, Figure, INSTANTS, Machine, Motion, Place, Steady};
use movement::{Origin, ParamId, Role};
use serde_json::{Map, Value, json};

use crate::action_command::field;
use crate::input::Loaded;
use crate::json;
use crate::motion_command::outcome::{Found, Outcome, outcome};
use crate::motion_command::setting;
use crate::output::{edge, pretty};

/// Where the energy of a motion went.
pub struct Ledger {
    /// Work of the drive and losses, by `Place`.
    pub work_j: [f64; Place::ALL.len()],
    /// Change of energy from the beginning to the end.
    pub change_j: f64,
    /// Beats over which it was kept, where they are whole.
    pub beats: Option<usize>,
}

impl Ledger {
    /// Of a motion that came to an end of its own.
    pub fn of(motion: &Motion) -> Ledger {
        Ledger { work_j: motion.work_j, change_j: motion.energy_change_j, beats: None }
    }

    /// A work of the whole motion, and of a mean beat where its beats are whole; nJ.
    pub fn nj(&self, work_j: f64) -> (f64, Option<f64>) {
        (1e9 * work_j, self.beats.map(|n| 1e9 * work_j / n as f64))
    }
}

/// An answer of the command.
pub struct Report<'a> {
    /// The movement.
    pub loaded: &'a Loaded,
    /// What became of it.
    pub outcome: Outcome,
    /// The motion that repeats itself.
    pub steady: Option<Steady>,
    /// Whole beats.
    pub beats: Vec<Beat>,
    /// Where the energy went.
    pub ledger: Option<Ledger>,
}

/// An instant since the beat began; `None` where it did not come.
pub fn ms(instant: &BeatInstant, beat: &Beat, begins_s: f64) -> Option<f64> {
    instant.t_s(beat).map(|t_s| 1e3 * (t_s - begins_s))
}

impl<'a> Report<'a> {
    /// An answer that has no more than an outcome yet.
    pub fn new(loaded: &'a Loaded, found: &Found, machine: &Machine) -> Report<'a> {
        let outcome = outcome(found, machine, &loaded.build.parts, &loaded.action);
        Report { loaded, outcome, steady: None, beats: Vec::new(), ledger: None }
    }

    /// The same with the beats and the ledger of a motion.
    pub fn with(self, motion: &Motion, beats: Vec<Beat>) -> Report<'a> {
        let whole = (motion.ending == motion::Ending::Played).then_some(beats.len());
        Report { ledger: Some(Ledger { beats: whole, ..Ledger::of(motion) }), beats, ..self }
    }

    /// Figures of the steady motion, at the edge.
    pub fn figures(&self) -> Vec<(&'static Figure, Option<f64>)> {
        let setting = setting(&self.loaded.build.movement);
        let Some(steady) = &self.steady else { return Vec::new() };
        FIGURES.iter().map(|f| (f, f.value(steady, &setting).map(|si| f.unit.from_si(si)))).collect()
    }

    /// Those of them that a person is shown.
    pub fn shown_figures(&self) -> impl Iterator<Item = (&'static Figure, Option<f64>)> {
        self.figures().into_iter().filter(|(figure, _)| self.steady.as_ref().is_some_and(|s| figure.is_shown(s)))
    }

    /// The beats with the instants at which they begin, s.
    pub fn begun(&self) -> impl Iterator<Item = (&Beat, f64)> {
        let begins = [0.0].into_iter().chain(self.beats.iter().map(|b| b.extreme_s));
        self.beats.iter().zip(begins)
    }

    /// The tooth of each beat of a steady motion whose teeth differ.
    pub fn tooth(&self, beat: usize) -> Option<u16> {
        let differ = self.steady.is_some() && !self.loaded.build.parts.wheel.alike();
        // The motion begins with the first of the action's beats, and both go on in the order of time.
        self.loaded.action.beats.get(beat).filter(|_| differ).map(|own| own.tooth)
    }

    /// Masses, torques and surfaces on which the answer rests, with where they come from.
    pub fn rests_on(&self) -> impl Iterator<Item = (ParamId, f64, Origin)> {
        let movement = &self.loaded.build.movement;
        ParamId::dense().filter(|id| id.param().role == Role::Motion).filter_map(move |id| {
            let (si, origin) = movement.get(id)?;
            Some((id, id.param().unit.from_si(si), origin))
        })
    }

    /// The document.
    pub fn json(&self) -> String {
        let mut document = json::head("beatwright.motion/1", self.loaded);
        let mut put = |key: &str, value: Value| document.insert(key.to_owned(), value);
        put("outcome", json!(self.outcome.code));
        put("reason", json!(self.outcome.words));
        put("steady", self.steady.as_ref().map_or(Value::Null, |_| self.steady_json()));
        put(
            "beats",
            self.begun().enumerate().map(|(i, (b, begins_s))| beat_json(b, begins_s, self.tooth(i))).collect(),
        );
        put("ledger", self.ledger.as_ref().map_or(Value::Null, ledger_json));
        put("energy_change_nj", self.ledger.as_ref().map_or(Value::Null, |l| json!(edge(1e9 * l.change_j))));
        let rests_on = self.rests_on().map(
            |(id, value, origin)| json!({ "path": id.to_string(), "value": edge(value), "origin": origin.name() }),
        );
        put("rests_on", rests_on.collect());
        pretty(&Value::Object(document))
    }

    fn steady_json(&self) -> Value {
        let figures = self.figures().into_iter().map(|(f, v)| (f.path.to_owned(), json!(v.map(edge))));
        Value::Object(figures.collect::<Map<_, _>>())
    }

    /// Of beats one line for each; else one line for the outcome and, of a steady motion, for each figure, each instant and
    /// each place of the ledger; then one for each value on which it rests.
    pub fn csv(&self) -> String {
        let mut text = format!("figure,value,unit,origin\noutcome,{},,\n", self.outcome.code);
        match self.ledger.as_ref().filter(|_| self.steady.is_some()) {
            Some(ledger) => self.steady_csv(ledger, &mut text),
            None if self.beats.is_empty() => {}
            None => return self.beats_csv(),
        }
        for (id, value, origin) in self.rests_on() {
            text.push_str(&format!("{id},{},{},{}\n", field(Some(value)), id.param().unit.sign(), origin.name()));
        }
        text
    }

    fn steady_csv(&self, ledger: &Ledger, text: &mut String) {
        for (f, v) in self.figures() {
            text.push_str(&format!("{},{},{},\n", f.path, field(v), f.unit.sign()));
        }
        for (i, (beat, begins_s)) in self.begun().enumerate() {
            let of = if self.beats.len() == 2 { String::new() } else { format!("oscillation.{}.", i / 2 + 1) };
            let of = format!("{of}{}", beat.pallet.name());
            if let Some(tooth) = self.tooth(i) {
                text.push_str(&format!("{of}.tooth,{tooth},,\n"));
            }
            for column in INSTANTS {
                text.push_str(&format!("{of}.{},{},ms,\n", column.key, field(ms(column, beat, begins_s))));
            }
            text.push_str(&format!("{of}.extreme_deg,{},deg,\n", field(Some(beat.extreme_rad.to_degrees()))));
        }
        let kept = [("kept in motion and spring", ledger.change_j)];
        let places = Place::ALL.iter().map(|place| (place.name(), ledger.work_j[*place as usize]));
        for (name, work_j) in places.chain(kept) {
            let (_, beat) = ledger.nj(work_j);
            text.push_str(&format!("{name},{},nJ/beat,\n", field(beat)));
        }
    }

    fn beats_csv(&self) -> String {
        let keys: Vec<&str> = INSTANTS.iter().map(|c| c.key).collect();
        let mut text = format!("pallet,begins_ms,{},extreme_deg\n", keys.join(","));
        for (beat, begins_s) in self.begun() {
            let times: Vec<String> = INSTANTS.iter().map(|c| field(ms(c, beat, begins_s))).collect();
            let [begins, extreme] = [1e3 * begins_s, beat.extreme_rad.to_degrees()].map(|v| field(Some(v)));
            text.push_str(&format!("{},{begins},{},{extreme}\n", beat.pallet.name(), times.join(",")));
        }
        text
    }
}

fn beat_json(beat: &Beat, begins_s: f64, tooth: Option<u16>) -> Value {
    let mut row = Map::new();
    row.insert("pallet".to_owned(), json!(beat.pallet.name()));
    row.insert("tooth".to_owned(), json!(tooth));
    row.insert("begins_ms".to_owned(), json!(edge(1e3 * begins_s)));
    for column in INSTANTS {
        row.insert(column.key.to_owned(), json!(ms(column, beat, begins_s).map(edge)));
    }
    row.insert("extreme_deg".to_owned(), json!(edge(beat.extreme_rad.to_degrees())));
    Value::Object(row)
}

fn ledger_json(ledger: &Ledger) -> Value {
    let row = |place: &Place| {
        let (whole, beat) = ledger.nj(ledger.work_j[*place as usize]);
        json!({ "place": place.name(), "nj": edge(whole), "nj_per_beat": beat.map(edge) })
    };
    Place::ALL.iter().map(row).collect()
}
