//! Values of parameters: a flat store read by `ParamId`, and the resolved movement with the origin of each value.

use std::sync::LazyLock;

use crate::param::{At, Indexed, Pallet, ParamId, ParamKind};
use crate::table::TABLE;

/// Where the values of a kind begin in the flat store; one past the last at the end.
static OFFSETS: LazyLock<Vec<usize>> = LazyLock::new(|| {
    let mut next = 0;
    let mut offsets: Vec<usize> = TABLE
        .iter()
        .map(|row| {
            let here = next;
            next += match row.indexed() {
                Indexed::Once => 1,
                Indexed::ByPallet => 2,
                Indexed::ByTooth => 0,
            };
            here
        })
        .collect();
    offsets.push(next);
    offsets
});

fn dense_index(id: ParamId) -> Option<usize> {
    let base = OFFSETS[id.kind as usize];
    match id.at {
        At::Movement => Some(base),
        At::Pallet(Pallet::Entry) => Some(base),
        At::Pallet(Pallet::Exit) => Some(base + 1),
        At::Tooth(_) => None,
    }
}

/// Values of parameters by name; any may be absent. SI units.
#[derive(Clone, Debug, PartialEq)]
pub struct Values {
    dense: Vec<Option<f64>>,
    teeth: Vec<(ParamId, f64)>,
}

impl Default for Values {
    fn default() -> Self {
        Values { dense: vec![None; OFFSETS[TABLE.len()]], teeth: Vec::new() }
    }
}

impl Values {
    /// SI value of a parameter, or `None` where it is absent.
    pub fn get(&self, id: ParamId) -> Option<f64> {
        match dense_index(id) {
            Some(i) => self.dense[i],
            None => self.teeth.iter().find(|(at, _)| *at == id).map(|(_, v)| *v),
        }
    }

    /// Sets the SI value of a parameter.
    pub fn set(&mut self, id: ParamId, si: f64) {
        match dense_index(id) {
            Some(i) => self.dense[i] = Some(si),
            None => match self.teeth.iter_mut().find(|(at, _)| *at == id) {
                Some((_, v)) => *v = si,
                None => {
                    self.teeth.push((id, si));
                    self.teeth.sort_by_key(|(at, _)| *at);
                }
            },
        }
    }

    /// Takes a parameter away.
    pub fn remove(&mut self, id: ParamId) {
        match dense_index(id) {
            Some(i) => self.dense[i] = None,
            None => self.teeth.retain(|(at, _)| *at != id),
        }
    }

    /// The values stated for single teeth, by tooth, in SI.
    pub fn teeth(&self) -> &[(ParamId, f64)] {
        &self.teeth
    }

    /// Every parameter present with its SI value, in the order of the table, teeth last.
    pub fn iter(&self) -> impl Iterator<Item = (ParamId, f64)> + '_ {
        ParamId::dense().filter_map(|id| self.get(id).map(|v| (id, v))).chain(self.teeth.iter().copied())
    }
}

/// Where a resolved value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The person stated it.
    Stated,
    /// The table's default.
    Default,
    /// Computed from the other values.
    Derived,
}

impl Origin {
    /// The word shown beside a value.
    pub fn name(self) -> &'static str {
        match self {
            Origin::Stated => "stated",
            Origin::Default => "default",
            Origin::Derived => "derived",
        }
    }
}

/// A closed movement: every parameter has a value, and each value its origin. SI units.
/// Made by the synthesis (crate `parts`) from a statement.
#[derive(Clone, Debug)]
pub struct Movement {
    values: Values,
    origins: Vec<Origin>,
}

impl Movement {
    /// A movement that holds what is stated in `stated` and nothing else yet.
    pub fn from_stated(stated: &Values) -> Self {
        Movement { values: stated.clone(), origins: vec![Origin::Stated; OFFSETS[TABLE.len()]] }
    }

    /// Gives a value to a parameter, with its origin.
    pub fn set(&mut self, id: ParamId, si: f64, origin: Origin) {
        self.values.set(id, si);
        if let Some(i) = dense_index(id) {
            self.origins[i] = origin;
        }
    }

    /// SI value and origin, or `None` where the movement does not have it.
    pub fn get(&self, id: ParamId) -> Option<(f64, Origin)> {
        let value = self.values.get(id)?;
        Some((value, dense_index(id).map_or(Origin::Stated, |i| self.origins[i])))
    }

    /// SI value of a parameter that the movement has once.
    ///
    /// # Panics
    /// When the movement was not closed (the synthesis gives every parameter of the table a value).
    pub fn si(&self, kind: ParamKind) -> f64 {
        self.values.get(kind.once()).expect("a closed movement has every value")
    }

    /// SI value of a parameter at a pallet. Panics as [`Movement::si`].
    pub fn si_at(&self, kind: ParamKind, pallet: Pallet) -> f64 {
        self.values.get(kind.at(pallet)).expect("a closed movement has every value")
    }

    /// SI value at a tooth; the table's default where nothing is stated for it.
    pub fn si_tooth(&self, kind: ParamKind, tooth: u16) -> f64 {
        self.values.get(kind.tooth(tooth)).unwrap_or(0.0)
    }

    /// The word chosen for a parameter of unit `Choice`.
    ///
    /// # Panics
    /// As [`Movement::si`], or when the parameter is no choice.
    pub fn word(&self, kind: ParamKind) -> &'static str {
        match kind.param().unit {
            crate::Unit::Choice(words) => words[self.si(kind) as usize],
            _ => panic!("{} is no choice", kind.param().path),
        }
    }

    /// The flat store of values.
    pub fn values(&self) -> &Values {
        &self.values
    }
}
