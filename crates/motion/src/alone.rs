//! The balance under a prescribed torque: no wheel, no lever, only what they would do to it over given angles.

use crate::balance::{Balance, BalanceState, Side};
use crate::error::Error;
use crate::integrate::{Integrator, leap};
use crate::pieces::{Arrival, Arrived, Pieces};
use std::f64::consts::PI;

/// A constant torque over a range of angles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TorqueSpan {
    /// Lower end.
    pub from_rad: f64,
    /// Upper end; more than the lower.
    pub to_rad: f64,
    /// Anticlockwise positive. Where spans overlap, they add up.
    pub torque_n_m: f64,
}

/// Torque prescribed for either sense of motion.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prescribed {
    /// While the angle rises.
    pub rising: Vec<TorqueSpan>,
    /// While it falls.
    pub falling: Vec<TorqueSpan>,
}

/// A balance and what drives it.
#[derive(Clone, Debug, PartialEq)]
pub struct Alone {
    balance: Balance,
    route: Route,
    rising: Ladder,
    falling: Ladder,
}

/// How the motion between two angles is found.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Route {
    Closed(Pieces),
    Integrated { tolerance_ratio: f64 },
}

/// The sum of the spans: torque by steps of the angle.
#[derive(Clone, Debug, PartialEq)]
struct Ladder {
    /// Rising.
    edges_rad: Vec<f64>,
    /// One more than edges: before, between and after them.
    torques_n_m: Vec<f64>,
}

/// From one extreme to the next, or from the start to the first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HalfSwing {
    /// Duration.
    pub time_s: f64,
    /// The extreme at its end.
    pub turning_rad: f64,
    /// Work of the prescribed torque where it drives.
    pub driven_j: f64,
    /// Work taken by the prescribed torque where it resists; not negative.
    pub resisted_j: f64,
    /// Taken by viscous resistance; not negative.
    pub viscous_j: f64,
    /// Taken by dry friction; not negative.
    pub dry_j: f64,
}

/// Half swings, and whether they went on.
#[derive(Clone, Debug, PartialEq)]
pub struct Swings {
    /// In order of time.
    pub half_swings: Vec<HalfSwing>,
    /// Where the balance stays, if it came to stand before the last half swing asked for.
    pub stops_rad: Option<f64>,
}

/// What becomes of the balance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// One oscillation is like the next.
    Steady(Steady),
    /// It comes to stand.
    Stops {
        /// Where it stays.
        angle_rad: f64,
    },
}

/// A motion that repeats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steady {
    /// From the lower extreme to the upper one, and back.
    pub half_swings: [HalfSwing; 2],
    /// By how much the lower extreme still changed in that oscillation.
    pub residual_rad: f64,
    /// Oscillations flown to find it.
    pub oscillation_count: u32,
}

/// Error allowed in a step where there is no closed form, as a ratio of the swing: chosen so that the energy closes to
/// 1e-12 over a half swing, and near what rounding lets be kept.
const TOLERANCE_RATIO: f64 = 1e-14;

/// Steps in which a half swing has to end; a few tens are needed.
const STEP_COUNT_MAX: u32 = 100_000;

/// Oscillations in which a steady motion has to be found; some five are needed.
const OSCILLATION_COUNT_MAX: u32 = 200;

impl Prescribed {
    /// The torque given for rising angles, and its mirror image while they fall.
    pub fn mirrored(rising: Vec<TorqueSpan>) -> Self {
        let mirror =
            |s: &TorqueSpan| TorqueSpan { from_rad: -s.to_rad, to_rad: -s.from_rad, torque_n_m: -s.torque_n_m };
        Prescribed { falling: rising.iter().map(mirror).collect(), rising }
    }
}

impl Ladder {
    fn new(spans: &[TorqueSpan]) -> Result<Self, Error> {
        for TorqueSpan { from_rad, to_rad, torque_n_m } in spans {
            Error::unless(
                from_rad.is_finite(),
                "lower end of a prescribed torque",
                *from_rad,
                "rad",
                "a finite number",
            )?;
            Error::unless(torque_n_m.is_finite(), "prescribed torque", *torque_n_m, "N m", "a finite number")?;
            let holds = to_rad > from_rad && to_rad.is_finite();
            Error::unless(holds, "upper end of a prescribed torque", *to_rad, "rad", "more than its lower end")?;
        }
        let mut edges_rad: Vec<f64> = spans.iter().flat_map(|s| [s.from_rad, s.to_rad]).collect();
        edges_rad.sort_unstable_by(f64::total_cmp);
        edges_rad.dedup();
        let below = [f64::NEG_INFINITY].into_iter().chain(edges_rad.iter().copied());
        let torque = |low_rad: f64| {
            // A sum in the order given, from every span that holds just above this edge.
            spans.iter().filter(|s| s.from_rad <= low_rad && low_rad < s.to_rad).map(|s| s.torque_n_m).sum()
        };
        Ok(Ladder { torques_n_m: below.map(torque).collect(), edges_rad })
    }

    /// The torque at an angle, and where it next changes; at an edge, on the side toward which `sense_sign` points.
    fn at(&self, angle_rad: f64, sense_sign: f64) -> (f64, Option<f64>) {
        let rising = sense_sign > 0.0;
        let step = self.edges_rad.partition_point(|e| if rising { *e <= angle_rad } else { *e < angle_rad });
        let next = if rising { Some(step) } else { step.checked_sub(1) };
        (self.torques_n_m[step], next.and_then(|i| self.edges_rad.get(i).copied()))
    }
}

impl Alone {
    /// In closed form where there is one, else by integration.
    ///
    /// # Errors
    /// [`Error::Value`] for a value that no balance, or no torque, can have.
    pub fn new(balance: Balance, prescribed: &Prescribed) -> Result<Self, Error> {
        let route = balance.pieces().map_or(Route::Integrated { tolerance_ratio: TOLERANCE_RATIO }, Route::Closed);
        Alone::by(route, balance, prescribed)
    }

    /// By integration, whether or not there is a closed form.
    ///
    /// # Arguments
    /// `tolerance_ratio`: error allowed in a step, as a part of the swing.
    ///
    /// # Errors
    /// As [`Alone::new`].
    pub fn integrated(balance: Balance, prescribed: &Prescribed, tolerance_ratio: f64) -> Result<Self, Error> {
        Alone::by(Route::Integrated { tolerance_ratio }, balance, prescribed)
    }

    fn by(route: Route, balance: Balance, prescribed: &Prescribed) -> Result<Self, Error> {
        balance.check()?;
        let (rising, falling) = (Ladder::new(&prescribed.rising)?, Ladder::new(&prescribed.falling)?);
        Ok(Alone { balance, route, rising, falling })
    }

    /// The balance.
    pub fn balance(&self) -> &Balance {
        &self.balance
    }

    /// Lets it swing from a state.
    ///
    /// A balance that stands starts as the spring pulls, if the torque prescribed for that sense and dry friction let it;
    /// else the other way, if they let it. Where neither can be, it has stopped.
    ///
    /// # Errors
    /// [`Error::Value`] for a state that is no number, [`Error::Step`] when the integration fails.
    pub fn swings(&self, from: BalanceState, half_swing_count: u32) -> Result<Swings, Error> {
        for (what, value_si, unit) in
            [("angle at the start", from.angle_rad, "rad"), ("speed at the start", from.speed_rad_per_s, "rad/s")]
        {
            Error::unless(value_si.is_finite(), what, value_si, unit, "a finite number")?;
        }
        let mut swings = Swings { half_swings: Vec::new(), stops_rad: None };
        let mut state = from;
        for _ in 0..half_swing_count {
            let Some(sense_sign) = self.sense_sign(state) else {
                swings.stops_rad = Some(state.angle_rad);
                break;
            };
            let (half_swing, end, arrived) = self.half_swing(state, sense_sign)?;
            state = end;
            if arrived != Arrived::AtTurning {
                swings.stops_rad = Some(state.angle_rad);
                break;
            }
            swings.half_swings.push(half_swing);
        }
        Ok(swings)
    }

    /// The steady motion: the fixed point of the map that one oscillation makes of its lower extreme, looked for by the
    /// secant in the square of it (the energy), and by the map itself where the secant leads nowhere.
    ///
    /// # Arguments
    /// `start_rad`: amplitude from which to look. `tolerance_rad`: by how much an oscillation may still change it; the
    /// amplitude is then good to that times quality over 2 pi.
    ///
    /// # Errors
    /// [`Error::Unsettled`] when no oscillation repeats, as without losses; those of [`Alone::swings`].
    pub fn steady(&self, start_rad: f64, tolerance_rad: f64) -> Result<Outcome, Error> {
        let mut low_rad = -start_rad;
        let mut last: Option<(f64, f64)> = None;
        let mut residual_rad = f64::INFINITY;
        for oscillation_count in 1..=OSCILLATION_COUNT_MAX {
            let swings = self.swings(BalanceState { angle_rad: low_rad, speed_rad_per_s: 0.0 }, 2)?;
            let [up, down] = swings.half_swings[..] else {
                let angle_rad = swings.stops_rad.unwrap_or(low_rad);
                return Ok(Outcome::Stops { angle_rad });
            };
            residual_rad = down.turning_rad - low_rad;
            if residual_rad.abs() <= tolerance_rad {
                return Ok(Outcome::Steady(Steady { half_swings: [up, down], residual_rad, oscillation_count }));
            }
            let square = low_rad * low_rad;
            let gain = down.turning_rad * down.turning_rad - square;
            let secant = last
                .map(|(square_before, gain_before)| square - gain * (square - square_before) / (gain - gain_before));
            last = Some((square, gain));
            low_rad = match secant {
                Some(next) if next > 0.25 * square && next < 4.0 * square => -next.sqrt(),
                _ => down.turning_rad,
            };
        }
        Err(Error::Unsettled {
            amplitude_rad: low_rad.abs(),
            residual_rad,
            tolerance_rad,
            oscillation_count: OSCILLATION_COUNT_MAX,
        })
    }

    /// Amplitude at which the prescribed work and the losses are equal, to first order; `None` where there is no work, or
    /// nothing that takes it.
    ///
    /// # Source
    /// E2 of docs/theory/oscillator.md.
    pub fn expected_amplitude_rad(&self) -> Option<f64> {
        let work_j = 0.5 * (self.rising.work_j() - self.falling.work_j());
        let dry_n_m = 2.0 * self.balance.dry_n_m;
        let viscous_n_m_per_rad = 0.5 * PI * self.balance.viscous_n_m_s * self.balance.natural_rad_per_s();
        // Positive root of viscous A^2 + dry A = work, without loss of digits where one of them is 0.
        let root_n_m = (dry_n_m * dry_n_m + 4.0 * viscous_n_m_per_rad * work_j.max(0.0)).sqrt();
        let amplitude_rad = 2.0 * work_j / (dry_n_m + root_n_m);
        (work_j > 0.0 && amplitude_rad.is_finite()).then_some(amplitude_rad)
    }

    fn ladder(&self, sense_sign: f64) -> &Ladder {
        if sense_sign > 0.0 { &self.rising } else { &self.falling }
    }

    /// The sense in which it turns or will turn; at rest, that of the spring if the torque prescribed for it lets it, else
    /// the other if that does. Where an extreme has just been reached, only the way back can.
    fn sense_sign(&self, state: BalanceState) -> Option<f64> {
        if state.speed_rad_per_s != 0.0 {
            return Some(state.speed_rad_per_s.signum());
        }
        let pulled_sign = if self.balance.torque_n_m(state.angle_rad, 0.0) < 0.0 { -1.0 } else { 1.0 };
        [pulled_sign, -pulled_sign].into_iter().find(|sense_sign| {
            let (applied_n_m, _) = self.ladder(*sense_sign).at(state.angle_rad, *sense_sign);
            self.balance.sense_sign(state, applied_n_m) == Some(*sense_sign)
        })
    }

    /// From a state to the next extreme.
    fn half_swing(&self, from: BalanceState, sense_sign: f64) -> Result<(HalfSwing, BalanceState, Arrived), Error> {
        let mut state = from;
        let mut whole =
            HalfSwing { time_s: 0.0, turning_rad: 0.0, driven_j: 0.0, resisted_j: 0.0, viscous_j: 0.0, dry_j: 0.0 };
        loop {
            let (applied_n_m, edge_rad) = self.ladder(sense_sign).at(state.angle_rad, sense_sign);
            let part = match &self.route {
                Route::Closed(pieces) => pieces.fly(state, applied_n_m, edge_rad),
                Route::Integrated { tolerance_ratio } => {
                    fly_integrated(&self.balance, state, applied_n_m, edge_rad, *tolerance_ratio)?
                }
            };
            let work_j = applied_n_m * (part.state.angle_rad - state.angle_rad);
            whole.time_s += part.time_s;
            whole.driven_j += work_j.max(0.0);
            whole.resisted_j += (-work_j).max(0.0);
            whole.viscous_j += part.viscous_j;
            whole.dry_j += part.dry_j;
            state = part.state;
            // One that stands at an edge has turned there.
            let stands = part.arrived == Arrived::AtAngle && state.speed_rad_per_s == 0.0;
            if stands || part.arrived != Arrived::AtAngle {
                whole.turning_rad = state.angle_rad;
                return Ok((whole, state, if stands { Arrived::AtTurning } else { part.arrived }));
            }
        }
    }
}

impl Ladder {
    /// Torque over angle, counted for rising angles.
    fn work_j(&self) -> f64 {
        let between = self.edges_rad.windows(2).zip(self.torques_n_m.iter().skip(1));
        between.map(|(edges, torque_n_m)| torque_n_m * (edges[1] - edges[0])).sum()
    }
}

impl Steady {
    /// Half of the turn from one extreme to the other.
    pub fn amplitude_rad(&self) -> f64 {
        0.5 * (self.half_swings[0].turning_rad - self.half_swings[1].turning_rad)
    }

    /// Duration of an oscillation, two beats.
    pub fn period_s(&self) -> f64 {
        self.half_swings[0].time_s + self.half_swings[1].time_s
    }
}

/// Rate, gaining positive: what is counted over what should be, less 1. Times 86 400 it is in s per day.
///
/// # Arguments
/// `period_s` and `nominal_s`: duration of an oscillation, found and wanted.
pub fn rate_ratio(period_s: f64, nominal_s: f64) -> f64 {
    (nominal_s - period_s) / period_s
}

/// [`Pieces::fly`] by integration, for any torque.
fn fly_integrated(
    balance: &Balance,
    from: BalanceState,
    applied_n_m: f64,
    until_rad: Option<f64>,
    tolerance_ratio: f64,
) -> Result<Arrival, Error> {
    let Some(sense_sign) = balance.sense_sign(from, applied_n_m) else { return Ok(Arrival::sticking(from)) };
    balance.fly_across(from, sense_sign, until_rad, |side, from, until_rad| {
        integrate(balance, side, from, sense_sign, applied_n_m, until_rad, tolerance_ratio)
    })
}

/// Integrates angle, speed and viscous loss on one side of the index's play, to an angle or a turning.
fn integrate(
    balance: &Balance,
    side: Side,
    from: BalanceState,
    sense_sign: f64,
    applied_n_m: f64,
    until_rad: Option<f64>,
    tolerance_ratio: f64,
) -> Result<Arrival, Error> {
    let driven_n_m = applied_n_m - sense_sign * balance.dry_n_m;
    let mut slope = |_: f64, y: &[f64; 3]| {
        let torque_n_m = driven_n_m + balance.torque_on_n_m(side, y[0], y[1]);
        [y[1], torque_n_m / balance.inertia_kg_m2, balance.viscous_n_m_s * y[1] * y[1]]
    };
    let natural_rad_per_s = balance.natural_rad_per_s();
    let swing_rad = from.angle_rad.abs()
        + from.speed_rad_per_s.abs() / natural_rad_per_s
        + applied_n_m.abs() / balance.stiffness_n_m_per_rad;
    // The quickest that cubic term and heavy point can make it.
    let stiffest_n_m_per_rad = balance.stiffness_n_m_per_rad
        + 3.0 * balance.cubic_n_m_per_rad3.abs() * swing_rad * swing_rad
        + balance.heavy_spot_n_m;
    let quickest_rad_per_s = (stiffest_n_m_per_rad / balance.inertia_kg_m2).sqrt();
    let scale_si = [
        swing_rad,
        swing_rad * natural_rad_per_s,
        (balance.viscous_n_m_s * natural_rad_per_s).max(balance.stiffness_n_m_per_rad) * swing_rad * swing_rad,
    ];
    let mut integrator =
        Integrator::new(tolerance_ratio, scale_si, 0.05 / quickest_rad_per_s, 0.5 / quickest_rad_per_s);
    let left_rad = |y: &[f64; 3]| until_rad.map_or(f64::INFINITY, |until_rad| (until_rad - y[0]) * sense_sign);
    let (mut time_s, mut y) = (0.0, [from.angle_rad, from.speed_rad_per_s, 0.0]);
    for _ in 0..STEP_COUNT_MAX {
        let step = integrator.step(&mut slope, time_s, &y)?;
        let turns = step.to[1] * sense_sign <= 0.0;
        if !turns && left_rad(&step.to) > 0.0 {
            (time_s, y) = (time_s + step.duration_s, step.to);
            continue;
        }
        let dense = step.dense(&mut slope);
        let at_turning = if turns { dense.root_s(|y| y[1]).filter(|t| *t > time_s) } else { None };
        let passes = at_turning.is_none_or(|turning_s| left_rad(&dense.at(turning_s)) <= 0.0);
        // The continuous extension says when; a step of its own, that long, says what is there.
        let arrived = if passes { Arrived::AtAngle } else { Arrived::AtTurning };
        let found_s = if passes { dense.root_s(left_rad) } else { at_turning };
        let duration_s = found_s.map_or(step.duration_s, |found_s| found_s - time_s);
        let last = leap(&mut slope, time_s, &y, duration_s);
        let state = match (passes, until_rad) {
            // At a grazing passage rounding may let it move back.
            (true, Some(angle_rad)) => {
                BalanceState { angle_rad, speed_rad_per_s: (last.to[1] * sense_sign).max(0.0) * sense_sign }
            }
            _ => BalanceState { angle_rad: last.to[0], speed_rad_per_s: 0.0 },
        };
        return Ok(Arrival {
            arrived,
            time_s: time_s + duration_s,
            state,
            viscous_j: last.to[2],
            dry_j: balance.dry_n_m * (state.angle_rad - from.angle_rad).abs(),
        });
    }
    let Integrator { work, .. } = integrator;
    Err(Error::Step { time_s, step_s: 0.5 / quickest_rad_per_s, step_count: work.step_count + work.given_up_count })
}
