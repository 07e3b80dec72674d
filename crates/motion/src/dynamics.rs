//! Masses, torques and surfaces: what the drawn parts need to move.

use parts::Face;

use crate::balance::Balance;
use crate::error::Error;
use crate::pair::Meeting;

/// What moves the parts and what resists them. SI; torques and inertias about each body's own axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dynamics {
    /// Escape wheel and what drives it.
    pub wheel: Drive,
    /// Lever with its stones and arbor.
    pub lever: LeverMass,
    /// Balance with hairspring.
    pub balance: Balance,
    /// Tooth on stone.
    pub stone: Surface,
    /// Jewel on fork.
    pub fork: Surface,
    /// Guard on safety roller.
    pub guard: Surface,
    /// Lever on banking; its friction has no arm.
    pub banking: Surface,
    /// Speed of approach below which two parts stay together, m/s; 1e-4 or more.
    pub keep_m_per_s: f64,
}

/// The escape wheel's side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// Inertia of wheel and pinion, that of the train reflected to it.
    pub inertia_kg_m2: f64,
    /// Torque on the wheel while it advances.
    pub torque_n_m: f64,
    /// Torque against which it is turned back: larger by twice the train's friction.
    pub recoil_torque_n_m: f64,
    /// Part by which the torque rises and falls once a turn of the wheel.
    pub swing_ratio: f64,
    /// Wheel angle at which it is largest.
    pub swing_rad: f64,
}

/// The lever's side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeverMass {
    /// Inertia.
    pub inertia_kg_m2: f64,
    /// Friction of its pivots.
    pub pivot_n_m: f64,
    /// Mass, times gravity, times the distance of the centre of mass from the axis: its torque at a right angle.
    pub unbalance_n_m: f64,
    /// Lever angle at which the centre of mass hangs straight down.
    pub unbalance_rad: f64,
}

/// Two surfaces that slide and strike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Coefficient of friction.
    pub friction_ratio: f64,
    /// Coefficient of restitution, separating speed over closing speed.
    pub rebound_ratio: f64,
}

/// Rebounds slower than this are lower than what is taken for touching, m/s: 1e-4 m/s against the 100 m/s2 of a beat
/// rises 5e-11 m; derived in docs/theory/motion.md, Limits.
const LEAST_KEEP_M_PER_S: f64 = 1e-4;

impl Dynamics {
    /// Looks at the values.
    ///
    /// # Errors
    /// [`Error::Value`] for the first that nothing can have.
    pub fn check(&self) -> Result<(), Error> {
        self.balance.check()?;
        let (wheel, lever) = (&self.wheel, &self.lever);
        let at_least = |what, value_si: f64, unit, least: f64, needs| {
            Error::unless(value_si >= least && value_si.is_finite(), what, value_si, unit, needs)
        };
        for (what, value_si) in
            [("inertia of the wheel", wheel.inertia_kg_m2), ("inertia of the lever", lever.inertia_kg_m2)]
        {
            Error::unless(value_si > 0.0 && value_si.is_finite(), what, value_si, "kg m2", "more than 0")?;
        }
        at_least("torque on the wheel", wheel.torque_n_m, "N m", 0.0, "0 or more")?;
        let recoil = "the torque on the advancing wheel or more";
        at_least("torque on the wheel turned back", wheel.recoil_torque_n_m, "N m", wheel.torque_n_m, recoil)?;
        let swings = (0.0..=1.0).contains(&wheel.swing_ratio);
        Error::unless(swings, "swing of the torque", wheel.swing_ratio, "(ratio)", "0 to 1")?;
        at_least("friction of the lever's pivots", lever.pivot_n_m, "N m", 0.0, "0 or more")?;
        at_least("unbalance of the lever", lever.unbalance_n_m, "N m", 0.0, "0 or more")?;
        for (what, angle_rad) in
            [("angle of the torque's swing", wheel.swing_rad), ("angle of the lever's unbalance", lever.unbalance_rad)]
        {
            Error::unless(angle_rad.is_finite(), what, angle_rad, "rad", "a finite number")?;
        }
        for surface in [self.stone, self.fork, self.guard, self.banking] {
            at_least("coefficient of friction", surface.friction_ratio, "(ratio)", 0.0, "0 or more")?;
            let rebounds = (0.0..1.0).contains(&surface.rebound_ratio);
            Error::unless(rebounds, "coefficient of restitution", surface.rebound_ratio, "(ratio)", "0 to below 1")?;
        }
        let keep = "1e-4 m/s or more: slower rebounds are lower than what is taken for touching";
        at_least("speed below which parts stay together", self.keep_m_per_s, "m/s", LEAST_KEEP_M_PER_S, keep)
    }

    /// What two parts are to one another.
    pub(crate) fn surface(&self, meeting: Meeting) -> Surface {
        match meeting {
            Meeting::ToothEntry | Meeting::ToothExit => self.stone,
            Meeting::JewelFork => self.fork,
            Meeting::GuardRoller => self.guard,
            Meeting::BankingEntry | Meeting::BankingExit => self.banking,
        }
    }
}

macro_rules! places {
    ($($(#[$doc:meta])* $name:ident = $word:literal,)*) => {
        /// Where energy goes in the escapement.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        pub enum Place { $($(#[$doc])* $name,)* }

        impl Place {
            /// Every place, in order.
            pub const ALL: &[Place] = &[$(Place::$name,)*];

            /// Its words.
            pub fn name(self) -> &'static str {
                match self { $(Place::$name => $word,)* }
            }
        }
    };
}

places! {
    /// Given by the train to the wheel; negative where the wheel is turned back.
    Drive = "given by the train",
    /// Friction on the entry stone's locking face and corner.
    EntryLocking = "friction on the entry locking face",
    /// Friction on the rest of the entry stone.
    EntryImpulse = "friction on the entry impulse face",
    /// Friction on the exit stone's locking face and corner.
    ExitLocking = "friction on the exit locking face",
    /// Friction on the rest of the exit stone.
    ExitImpulse = "friction on the exit impulse face",
    /// Friction of jewel and fork.
    Jewel = "friction of the jewel",
    /// Friction of guard and roller.
    Guard = "friction of the guard",
    /// Friction of the lever's pivots.
    LeverPivots = "pivots of the lever",
    /// Dry friction of the balance pivots.
    BalancePivots = "pivots of the balance",
    /// Resistance that grows with the balance's speed: air, and loss inside the hairspring.
    Air = "air and hairspring",
    /// Tooth striking a locking face.
    DropShock = "tooth striking the locking face",
    /// Tooth striking a stone anywhere else.
    ImpulseShock = "tooth striking the impulse face",
    /// Jewel striking the fork.
    JewelShock = "jewel striking the fork",
    /// Lever striking a banking.
    BankingShock = "lever striking a banking",
    /// Guard striking the roller.
    GuardShock = "guard striking the roller",
}

impl Place {
    /// Where the friction of a contact goes; a banking has none.
    pub(crate) fn of_friction(meeting: Meeting, stone: Face) -> Place {
        let locking = matches!(stone, Face::StoneLocking | Face::LockingCorner);
        match (meeting, locking) {
            (Meeting::ToothEntry, true) => Place::EntryLocking,
            (Meeting::ToothEntry, false) => Place::EntryImpulse,
            (Meeting::ToothExit, true) => Place::ExitLocking,
            (Meeting::ToothExit, false) => Place::ExitImpulse,
            (Meeting::JewelFork, _) => Place::Jewel,
            (Meeting::GuardRoller, _) => Place::Guard,
            (Meeting::BankingEntry | Meeting::BankingExit, _) => Place::BankingShock,
        }
    }

    /// Where the loss of a shock goes.
    pub(crate) fn of_shock(meeting: Meeting, stone: Face) -> Place {
        match meeting {
            Meeting::ToothEntry | Meeting::ToothExit if stone == Face::StoneLocking => Place::DropShock,
            Meeting::ToothEntry | Meeting::ToothExit => Place::ImpulseShock,
            Meeting::JewelFork => Place::JewelShock,
            Meeting::GuardRoller => Place::GuardShock,
            Meeting::BankingEntry | Meeting::BankingExit => Place::BankingShock,
        }
    }
}

/// Number of places.
pub(crate) const PLACES: usize = Place::ALL.len();

/// Energy by place, J.
pub(crate) type Works = [f64; PLACES];
