//! Flight of the balance until something happens: across the play of the index, to an angle, a turning or a stop.

use crate::balance::{Balance, BalanceState, Side};
use crate::flight::{Flight, LinearPiece};
use std::convert::Infallible;

/// A balance whose torque is straight in pieces, ready to be flown in closed form.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pieces {
    balance: Balance,
    between: LinearPiece,
    beyond: LinearPiece,
}

/// What ended a flight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrived {
    /// It is at the angle asked for.
    AtAngle,
    /// It stands still at an extreme. Whether it sticks there is seen when it is flown on.
    AtTurning,
    /// It stood still at the start, under a torque no larger than dry friction: nothing moves.
    Sticks,
    /// It is damped so much that it comes to rest without swinging, in unlimited time.
    Creeps,
}

/// A flight and its end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrival {
    /// What ended it.
    pub arrived: Arrived,
    /// Duration; infinite where it creeps.
    pub time_s: f64,
    /// Angle and speed at the end. At an angle asked for, the angle is that one exactly; at a turning the speed is 0.
    pub state: BalanceState,
    /// Taken by viscous resistance; not negative.
    pub viscous_j: f64,
    /// Taken by dry friction; not negative.
    pub dry_j: f64,
}

impl Arrival {
    /// Nothing moves from `state`.
    pub(crate) fn sticking(state: BalanceState) -> Self {
        Arrival { arrived: Arrived::Sticks, time_s: 0.0, state, viscous_j: 0.0, dry_j: 0.0 }
    }
}

impl Balance {
    /// The balance ready for closed forms; `None` where it has none ([`Balance::is_piecewise_linear`]).
    ///
    /// # Arguments
    /// Values that pass [`Balance::check`].
    pub fn pieces(&self) -> Option<Pieces> {
        let piece = |side| LinearPiece::new(self.inertia_kg_m2, self.line(side).0, self.viscous_n_m_s);
        self.is_piecewise_linear().then(|| Pieces {
            balance: *self,
            between: piece(Side::Between),
            beyond: piece(Side::Above),
        })
    }

    /// Sense in which the balance turns or is about to turn, 1 or -1; `None` where it stands and dry friction holds it.
    pub(crate) fn sense_sign(&self, state: BalanceState, applied_n_m: f64) -> Option<f64> {
        if state.speed_rad_per_s != 0.0 {
            return Some(state.speed_rad_per_s.signum());
        }
        let torque_n_m = applied_n_m + self.torque_n_m(state.angle_rad, 0.0);
        (torque_n_m.abs() > self.dry_n_m).then(|| torque_n_m.signum())
    }

    /// Flies from one side of the index's play to the next until `until_rad`, a turning, or a stop. `fly_on` does so on
    /// one side, to the angle given or a turning.
    pub(crate) fn fly_across<E>(
        &self,
        from: BalanceState,
        sense_sign: f64,
        until_rad: Option<f64>,
        mut fly_on: impl FnMut(Side, BalanceState, Option<f64>) -> Result<Arrival, E>,
    ) -> Result<Arrival, E> {
        let ahead = |angle_rad: f64, of: BalanceState| (angle_rad - of.angle_rad) * sense_sign > 0.0;
        let until_rad = until_rad.filter(|until_rad| ahead(*until_rad, from));
        let mut whole = Arrival { arrived: Arrived::AtAngle, time_s: 0.0, state: from, viscous_j: 0.0, dry_j: 0.0 };
        loop {
            let side = self.side(whole.state.angle_rad, sense_sign);
            let edge_rad = self.side_ends_rad(side, sense_sign);
            let next_rad = match (edge_rad, until_rad) {
                (Some(edge_rad), Some(until_rad)) if ahead(until_rad, BalanceState { angle_rad: edge_rad, ..from }) => {
                    Some(edge_rad)
                }
                (edge_rad, until_rad) => until_rad.or(edge_rad),
            };
            let part = fly_on(side, whole.state, next_rad)?;
            whole = Arrival {
                arrived: part.arrived,
                time_s: whole.time_s + part.time_s,
                state: part.state,
                viscous_j: whole.viscous_j + part.viscous_j,
                dry_j: whole.dry_j + part.dry_j,
            };
            // A balance that stands when it reaches an edge has turned there.
            let stands = part.arrived == Arrived::AtAngle && part.state.speed_rad_per_s == 0.0;
            if part.arrived != Arrived::AtAngle || next_rad == until_rad {
                return Ok(whole);
            } else if stands {
                return Ok(Arrival { arrived: Arrived::AtTurning, ..whole });
            }
        }
    }
}

impl Pieces {
    /// The balance.
    pub fn balance(&self) -> &Balance {
        &self.balance
    }

    /// Flies until an angle or, where that is not on the way or not given, until the balance turns.
    ///
    /// # Arguments
    /// `applied_n_m`: constant torque from outside, on top of the balance's own. `until_rad`: an angle ahead; one that is
    /// behind, or where the flight starts, is not on the way.
    ///
    /// # Properties
    /// Kinetic and spring energy change by the work of the applied torque less `viscous_j` and `dry_j`, to 1e-12 of the
    /// energy: `tests/flight.rs`.
    ///
    /// # Limits
    /// Dry friction is the same at rest and in motion.
    pub fn fly(&self, from: BalanceState, applied_n_m: f64, until_rad: Option<f64>) -> Arrival {
        let Some(sense_sign) = self.balance.sense_sign(from, applied_n_m) else {
            return Arrival::sticking(from);
        };
        let dry_n_m = self.balance.dry_n_m;
        let flown = self.balance.fly_across(from, sense_sign, until_rad, |side, from, until_rad| {
            let (_, held_n_m) = self.balance.line(side);
            let piece = if side == Side::Between { &self.between } else { &self.beyond };
            let flight = piece.flight(from, applied_n_m + held_n_m - sense_sign * dry_n_m);
            Ok::<_, Infallible>(arrive(&flight, from, sense_sign, dry_n_m, until_rad))
        });
        match flown {
            Ok(arrival) => arrival,
            Err(never) => match never {},
        }
    }
}

/// Flies on one straight piece to an angle or a turning.
fn arrive(flight: &Flight, from: BalanceState, sense_sign: f64, dry_n_m: f64, until_rad: Option<f64>) -> Arrival {
    if from.speed_rad_per_s == 0.0 && (flight.rest_rad() - from.angle_rad) * sense_sign <= 0.0 {
        // Torque and dry friction are the same to a rounding.
        return Arrival::sticking(from);
    }
    let end = |arrived, time_s, state: BalanceState| Arrival {
        arrived,
        time_s,
        state,
        viscous_j: flight.viscous_j(time_s),
        dry_j: dry_n_m * (state.angle_rad - from.angle_rad).abs(),
    };
    let passed = until_rad.and_then(|angle_rad| Some((angle_rad, flight.passage(angle_rad)?)));
    if let Some((angle_rad, passage)) = passed {
        let state = BalanceState { angle_rad, speed_rad_per_s: passage.speed_rad_per_s };
        return end(Arrived::AtAngle, passage.time_s, state);
    }
    match flight.turning_s() {
        Some(time_s) => {
            let angle_rad = flight.state_at(time_s).angle_rad;
            end(Arrived::AtTurning, time_s, BalanceState { angle_rad, speed_rad_per_s: 0.0 })
        }
        None => {
            end(Arrived::Creeps, f64::INFINITY, BalanceState { angle_rad: flight.rest_rad(), speed_rad_per_s: 0.0 })
        }
    }
}
