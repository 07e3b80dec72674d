//! What a parameter is: its place in the movement file, its unit, its range, and the key that names one value of it.

use std::collections::HashMap;
use std::fmt;
use std::sync::LazyLock;

pub use crate::table::ParamKind;
use crate::table::TABLE;

/// Entry pallet (met first by a tooth, on the left of the drawing) or exit pallet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pallet {
    /// The pallet on which a tooth arrives first; left of the line of centres.
    Entry,
    /// The pallet on which a tooth arrives second; right of the line of centres.
    Exit,
}

impl Pallet {
    /// Both pallets, entry first.
    pub const BOTH: [Pallet; 2] = [Pallet::Entry, Pallet::Exit];

    /// The word used for it in movement files and figures: `entry` or `exit`.
    pub fn name(self) -> &'static str {
        match self {
            Pallet::Entry => "entry",
            Pallet::Exit => "exit",
        }
    }

    /// The opposite pallet.
    pub fn other(self) -> Pallet {
        match self {
            Pallet::Entry => Pallet::Exit,
            Pallet::Exit => Pallet::Entry,
        }
    }

    /// Sense, a dimensionless sign, in which the lever turns to lift this pallet out of the wheel: −1 (clockwise) for entry, +1 for exit.
    pub fn outward(self) -> f64 {
        match self {
            Pallet::Entry => -1.0,
            Pallet::Exit => 1.0,
        }
    }
}

/// One value for each pallet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ByPallet<T> {
    /// The entry pallet's.
    pub entry: T,
    /// The exit pallet's.
    pub exit: T,
}

impl<T> ByPallet<T> {
    /// Makes one value per pallet, entry first.
    pub fn from_fn(mut make: impl FnMut(Pallet) -> T) -> Self {
        ByPallet { entry: make(Pallet::Entry), exit: make(Pallet::Exit) }
    }

    /// Applies `change` to both values.
    pub fn map<U>(self, mut change: impl FnMut(T) -> U) -> ByPallet<U> {
        ByPallet { entry: change(self.entry), exit: change(self.exit) }
    }
}

impl<T> std::ops::Index<Pallet> for ByPallet<T> {
    type Output = T;
    fn index(&self, pallet: Pallet) -> &T {
        match pallet {
            Pallet::Entry => &self.entry,
            Pallet::Exit => &self.exit,
        }
    }
}

impl<T> std::ops::IndexMut<Pallet> for ByPallet<T> {
    fn index_mut(&mut self, pallet: Pallet) -> &mut T {
        match pallet {
            Pallet::Entry => &mut self.entry,
            Pallet::Exit => &mut self.exit,
        }
    }
}

/// Unit of a parameter at the edges (files, flags, JSON, screen). Inside, values are SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unit {
    /// Millimetres at the edge, metres inside.
    Millimetre,
    /// Degrees at the edge, radians inside.
    Degree,
    /// A ratio, the same everywhere.
    Ratio,
    /// Moment of inertia: milligrams times square centimetres at the edge, kg m² inside.
    MilligramSquareCentimetre,
    /// Torque: micronewton metres at the edge, N m inside.
    MicronewtonMetre,
    /// Beats an hour at the edge, beats a second inside.
    PerHour,
    /// Millimetres a second at the edge, metres a second inside.
    MillimetrePerSecond,
    /// A whole number.
    Count,
    /// One of a list of words; inside, its index in the list.
    Choice(&'static [&'static str]),
}

impl Unit {
    /// SI value of `value` given in this unit.
    pub fn to_si(self, value: f64) -> f64 {
        match self {
            Unit::Millimetre => value * 1e-3,
            Unit::Degree => value.to_radians(),
            Unit::MilligramSquareCentimetre => value * 1e-10,
            Unit::MicronewtonMetre => value * 1e-6,
            Unit::PerHour => value / 3600.0,
            Unit::MillimetrePerSecond => value * 1e-3,
            Unit::Ratio | Unit::Count | Unit::Choice(_) => value,
        }
    }

    /// Value in this unit of the SI value `si`.
    pub fn from_si(self, si: f64) -> f64 {
        match self {
            Unit::Millimetre => si * 1e3,
            Unit::Degree => si.to_degrees(),
            Unit::MilligramSquareCentimetre => si * 1e10,
            Unit::MicronewtonMetre => si * 1e6,
            Unit::PerHour => si * 3600.0,
            Unit::MillimetrePerSecond => si * 1e3,
            Unit::Ratio | Unit::Count | Unit::Choice(_) => si,
        }
    }

    /// The sign printed after a value; empty for ratios, counts and choices.
    pub fn sign(self) -> &'static str {
        match self {
            Unit::Millimetre => "mm",
            Unit::Degree => "deg",
            Unit::MilligramSquareCentimetre => "mg cm2",
            Unit::MicronewtonMetre => "uN m",
            Unit::PerHour => "1/h",
            Unit::MillimetrePerSecond => "mm/s",
            Unit::Ratio | Unit::Count | Unit::Choice(_) => "",
        }
    }
}

/// What the parameters of one row are indexed by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Indexed {
    /// One value for the movement.
    Once,
    /// One value per pallet (`*` in the path stands for `entry` or `exit`; left out in a file, both are meant).
    ByPallet,
    /// One value per tooth (`*` in the path stands for the tooth number, from 0, in the order of arrival).
    ByTooth,
}

/// Where a value comes from when the movement file does not state it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum IfUnstated {
    /// This value, in the unit of the row.
    Value(f64),
    /// This ratio of the wheel's locking radius (proportions of parts that the action does not touch).
    OfWheel(f64),
    /// A product: a number (SI) times powers of other parameters, with the words for it.
    Of(f64, &'static [(ParamKind, i32)], &'static str),
    /// Closed from the other statements by the synthesis (crate `parts`).
    Closed,
    /// It must be stated.
    Needed,
    /// Nothing: the parameter is a further statement and is simply absent when not made.
    Absent,
}

/// What a parameter is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A wanted figure: an angle or a freedom that the parts are shaped to give.
    Wanted,
    /// A dimension of a part or of the planting.
    Dimension,
    /// A mass, torque or surface: what the drawn parts need to move.
    Motion,
    /// A move made at the bench, or a fault of a part, on top of the drawn dimensions; 0 leaves the part as drawn.
    Bench,
}

/// What the paths of all parameters of a tooth begin with.
const TEETH: &str = "wheel.teeth.";

/// One row of the parameter table.
#[derive(Clone, Copy, Debug)]
pub struct Param {
    /// The kind this row describes.
    pub kind: ParamKind,
    /// Path in the movement file, `*` standing for the index.
    pub path: &'static str,
    /// Letter used in the theory notes.
    pub symbol: &'static str,
    /// Unit at the edge.
    pub unit: Unit,
    /// Smallest allowed value, in that unit.
    pub min: f64,
    /// Largest allowed value, in that unit.
    pub max: f64,
    /// What holds when it is not stated.
    pub default: IfUnstated,
    /// What it is for.
    pub role: Role,
    /// Definition, one line.
    pub definition: &'static str,
}

impl Param {
    /// Whether it says something of the parts as they are drawn.
    pub fn is_drawn(&self) -> bool {
        matches!(self.role, Role::Wanted | Role::Dimension)
    }

    /// What the row is indexed by.
    pub fn indexed(&self) -> Indexed {
        if !self.path.contains('*') {
            Indexed::Once
        } else if self.path.starts_with(TEETH) {
            Indexed::ByTooth
        } else {
            Indexed::ByPallet
        }
    }
}

impl ParamKind {
    /// Its row in the table.
    pub fn param(self) -> &'static Param {
        &TABLE[self as usize]
    }

    /// The parameter of this kind that the movement has once.
    ///
    /// # Panics
    /// In debug builds, when the kind is indexed.
    pub fn once(self) -> ParamId {
        debug_assert_eq!(self.param().indexed(), Indexed::Once);
        ParamId { kind: self, at: At::Movement }
    }

    /// The parameter of this kind at `pallet`.
    pub fn at(self, pallet: Pallet) -> ParamId {
        debug_assert_eq!(self.param().indexed(), Indexed::ByPallet);
        ParamId { kind: self, at: At::Pallet(pallet) }
    }

    /// The parameter of this kind at tooth number `tooth`.
    pub fn tooth(self, tooth: u16) -> ParamId {
        debug_assert_eq!(self.param().indexed(), Indexed::ByTooth);
        ParamId { kind: self, at: At::Tooth(tooth) }
    }
}

/// Which of the values of a kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum At {
    /// The only one.
    Movement,
    /// That of a pallet.
    Pallet(Pallet),
    /// That of a tooth, numbered from 0 in the order in which they arrive at a pallet.
    Tooth(u16),
}

/// Names one parameter of a movement. Its text form is its path in the movement file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ParamId {
    /// The row of the table.
    pub kind: ParamKind,
    /// Which one.
    pub at: At,
}

impl ParamId {
    /// Its row in the table.
    pub fn param(self) -> &'static Param {
        self.kind.param()
    }

    /// Every parameter that is not per tooth, in the order of the table, entry before exit.
    pub fn dense() -> impl Iterator<Item = ParamId> {
        static DENSE: LazyLock<Vec<ParamId>> = LazyLock::new(|| {
            TABLE
                .iter()
                .flat_map(|row| match row.indexed() {
                    Indexed::Once => vec![row.kind.once()],
                    Indexed::ByPallet => Pallet::BOTH.iter().map(|p| row.kind.at(*p)).collect(),
                    Indexed::ByTooth => Vec::new(),
                })
                .collect()
        });
        DENSE.iter().copied()
    }

    /// The parameters that a path means: one, or two where a path leaves the pallet out.
    /// `None` when no row has such a path.
    ///
    /// # Examples
    /// ```
    /// use movement::{Pallet, ParamId, ParamKind};
    /// let both = ParamId::from_path("pallets.lock_deg").expect("a row of the table");
    /// assert_eq!(both, [ParamKind::PalletLock.at(Pallet::Entry), ParamKind::PalletLock.at(Pallet::Exit)]);
    /// assert_eq!(both[1].to_string(), "pallets.exit.lock_deg");
    /// assert!(ParamId::from_path("pallets.lock_mm").is_none());
    /// ```
    pub fn from_path(path: &str) -> Option<Vec<ParamId>> {
        static PATHS: LazyLock<HashMap<String, Vec<ParamId>>> = LazyLock::new(paths);
        PATHS.get(path).cloned().or_else(|| of_tooth(path).map(|id| vec![id]))
    }
}

/// What each path means that names no tooth.
fn paths() -> HashMap<String, Vec<ParamId>> {
    let mut out: HashMap<String, Vec<ParamId>> = HashMap::new();
    for id in ParamId::dense() {
        out.insert(id.to_string(), vec![id]);
        if let Some((before, after)) = id.param().path.split_once("*.") {
            out.entry(format!("{before}{after}")).or_default().push(id);
        }
    }
    out
}

/// The parameter of a tooth with this path.
fn of_tooth(path: &str) -> Option<ParamId> {
    let (number, tail) = path.strip_prefix(TEETH)?.split_once('.')?;
    let tooth: u16 = number.parse().ok().filter(|n: &u16| n.to_string() == number)?;
    let same = |row: &&Param| row.path.strip_prefix(TEETH).and_then(|rest| rest.strip_prefix("*.")) == Some(tail);
    TABLE.iter().find(same).map(|row| row.kind.tooth(tooth))
}

impl fmt::Display for ParamId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let path = self.param().path;
        match self.at {
            At::Movement => f.write_str(path),
            At::Pallet(p) => f.write_str(&path.replacen('*', p.name(), 1)),
            At::Tooth(n) => f.write_str(&path.replacen('*', &n.to_string(), 1)),
        }
    }
}
