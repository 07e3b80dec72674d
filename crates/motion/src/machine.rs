//! A movement's parts with their dynamics, ready to run.

use action::Action;
use movement::{ByPallet, Pallet};
use parts::Parts;

use crate::dynamics::{Dynamics, Works};
use crate::error::Error;
use crate::laws::Instant;
use crate::pair::{BALANCE, LEVER, Meeting, WHEEL};
use crate::runner::{Event, Halt, Options, Runner};
use crate::scene::Scene;

/// A freedom of the guard below 0 by no more than this is none, rad: a hundred times the rounding of an angle.
const HERE_RAD: f64 = 1e-13;

/// Parts and dynamics, with what is worked out once for all runs.
#[derive(Clone, Debug)]
pub struct Machine {
    pub(crate) scene: Scene,
    pub(crate) dynamics: Dynamics,
    pub(crate) rest_rad: f64,
    /// Lever and wheel while a tooth is locked on the pallet named and the lever on its banking.
    banked: ByPallet<Result<(f64, f64), NotLocked>>,
}

/// Why no tooth is locked on a pallet with the lever on its banking.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotLocked {
    /// No tooth rests on the stone.
    NoTooth,
    /// The guard lies in the roller there.
    GuardInRoller {
        /// So deep, as an angle of the lever.
        by_rad: f64,
    },
}

/// Angles and speeds of the three bodies, as `Parts` has their poses; anticlockwise positive.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct State {
    /// Since the start.
    pub t_s: f64,
    /// Escape wheel.
    pub wheel_rad: f64,
    /// Lever.
    pub lever_rad: f64,
    /// Balance, from the spring's rest (jewel angle less the roller's turn).
    pub balance_rad: f64,
    /// Escape wheel.
    pub wheel_rad_per_s: f64,
    /// Lever.
    pub lever_rad_per_s: f64,
    /// Balance.
    pub balance_rad_per_s: f64,
}

/// How a motion ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The beats asked for were played.
    Played,
    /// Nothing moves and nothing will: `Motion::bearing` says what it stands on. A balance that creeps to where it stands,
    /// damped beyond swinging, is taken to be there at once.
    Stands,
    /// Contacts block one another while parts still move: no forces and no friction satisfy their laws.
    Jams,
    /// The lever is beyond where a banking should have held it.
    BeyondBankings,
    /// The wheel has turned round once while the balance did not turn: nothing locks it.
    RunsThrough,
    /// It was given up after more steps than are allowed.
    GivenUp,
}

/// A motion played from a state.
#[derive(Clone, Debug)]
pub struct Motion {
    /// How it ended.
    pub ending: Ending,
    /// Where it ended.
    pub state: State,
    /// What touches there, in the order of `Meeting`.
    pub bearing: Vec<Meeting>,
    /// What happened, in order.
    pub events: Vec<Event>,
    /// Work of the drive and losses, by `Place`.
    pub work_j: Works,
    /// Change of kinetic and potential energy from the beginning to the end.
    pub energy_change_j: f64,
    /// Steps of integration.
    pub steps: u64,
}

impl Machine {
    /// Prepares a movement.
    ///
    /// # Errors
    /// [`Error::Value`] for dynamics that nothing can have ([`Dynamics::check`]).
    pub fn new(parts: &Parts, action: &Action, dynamics: Dynamics) -> Result<Machine, Error> {
        dynamics.check()?;
        let bankings = [action.bankings_rad.entry, action.bankings_rad.exit];
        let banked = ByPallet::from_fn(|p: Pallet| {
            let at = action.beats.iter().position(|own| own.pallet == p).ok_or(NotLocked::NoTooth)?;
            let banked = action.beats[at].banked.ok_or(NotLocked::NoTooth)?;
            match action.fork[at].guard_freedom_rad {
                Some(freedom_rad) if freedom_rad < -HERE_RAD => Err(NotLocked::GuardInRoller { by_rad: -freedom_rad }),
                _ => Ok((banked.lever_rad, banked.wheel_rad)),
            }
        });
        Ok(Machine { scene: Scene::new(parts, bankings), dynamics, rest_rad: parts.roller.rest_rad, banked })
    }

    /// Masses, torques and surfaces.
    pub fn dynamics(&self) -> &Dynamics {
        &self.dynamics
    }

    /// A tooth locked on `pallet`, the lever on its banking, the balance held at `amplitude_rad` on the side from which
    /// its beat begins; `None` where none is, see [`Machine::lock`].
    pub fn locked(&self, pallet: Pallet, amplitude_rad: f64) -> Option<State> {
        let state = self.lock(pallet).ok()?;
        Some(State { balance_rad: pallet.outward() * amplitude_rad, ..state })
    }

    /// The same with the balance at the spring's rest.
    ///
    /// # Errors
    /// [`NotLocked`] where no tooth locks, and where the guard lies in the roller with the lever there.
    pub fn lock(&self, pallet: Pallet) -> Result<State, NotLocked> {
        self.banked[pallet].map(|(lever_rad, wheel_rad)| State { wheel_rad, lever_rad, ..State::default() })
    }

    /// Plays a motion until the balance has turned `extremes` times.
    pub fn play(&self, from: &State, extremes: usize, options: Options) -> Motion {
        self.play_seen(from, extremes, options, |_| ())
    }

    /// The same, looked at when it has begun and after every event.
    pub(crate) fn play_seen<'a>(
        &'a self,
        from: &State,
        extremes: usize,
        options: Options,
        mut see: impl FnMut(&Runner<'a>),
    ) -> Motion {
        let mut runner = Runner::new(&self.scene, &self.dynamics, self.rest_rad, options, self.instant(from));
        let energy_j = runner.laws.energy_j(&runner.now.q, &runner.now.v);
        let mut ended = runner.begin();
        see(&runner);
        let (mut seen, mut turned) = (0, 0);
        while ended.is_ok() && turned < extremes {
            ended = runner.advance();
            see(&runner);
            turned += runner.events[seen..].iter().filter(|e| matches!(e, Event::Extreme { .. })).count();
            seen = runner.events.len();
        }
        let ending = match ended {
            Ok(()) => Ending::Played,
            Err(Halt::Stands) => Ending::Stands,
            Err(Halt::Jams) => Ending::Jams,
            Err(Halt::BeyondBankings) => Ending::BeyondBankings,
            Err(Halt::RunsThrough) => Ending::RunsThrough,
            Err(Halt::Endless) => Ending::GivenUp,
        };
        Motion {
            ending,
            state: self.state(&runner.now),
            bearing: runner.touching_meetings(),
            work_j: runner.works,
            energy_change_j: runner.laws.energy_j(&runner.now.q, &runner.now.v) - energy_j,
            steps: runner.steps,
            events: runner.events,
        }
    }

    fn instant(&self, state: &State) -> Instant {
        let (mut q, mut v) = ([0.0; 3], [0.0; 4]);
        (q[WHEEL], q[LEVER], q[BALANCE]) = (state.wheel_rad, state.lever_rad, state.balance_rad + self.rest_rad);
        (v[WHEEL], v[LEVER], v[BALANCE]) = (state.wheel_rad_per_s, state.lever_rad_per_s, state.balance_rad_per_s);
        Instant { t_s: state.t_s, q, v }
    }

    pub(crate) fn state(&self, now: &Instant) -> State {
        State {
            t_s: now.t_s,
            wheel_rad: now.q[WHEEL],
            lever_rad: now.q[LEVER],
            balance_rad: now.q[BALANCE] - self.rest_rad,
            wheel_rad_per_s: now.v[WHEEL],
            lever_rad_per_s: now.v[LEVER],
            balance_rad_per_s: now.v[BALANCE],
        }
    }
}

#[cfg(test)]
mod tests;
