//! Flight of the balance in closed form, within one straight piece of its torque.
//!
//! Inside: `I a'' + c a' + k a = T`, written about its own rest `T / k`, with the decay `g = c / 2I`, the natural
//! frequency `w^2 = k / I` and the split `l^2 = |w^2 - g^2|`. Displacements are counted from the start of the flight, so
//! that a short one keeps its digits.

use crate::balance::BalanceState;
use std::f64::consts::PI;

/// Inertia, stiffness and viscous resistance, with what every flight under them needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinearPiece {
    inertia_kg_m2: f64,
    stiffness_n_m_per_rad: f64,
    viscous_n_m_s: f64,
    decay_per_s: f64,
    natural_rad2_per_s2: f64,
    split_per_s: f64,
    damping: Damping,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Damping {
    Under,
    Critical,
    Over,
}

/// One flight under a constant torque, from a given state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flight {
    piece: LinearPiece,
    from: BalanceState,
    /// Start less rest.
    offset_rad: f64,
    /// `g v0 + w^2 offset`, the deceleration at the start less `g v0`.
    pull_rad_per_s2: f64,
}

/// When and how fast an angle is passed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passage {
    /// From the start of the flight.
    pub time_s: f64,
    /// Anticlockwise positive.
    pub speed_rad_per_s: f64,
}

/// What two exponentials or a damped sine and cosine have become: `even` = e^-gt cos(lt) - 1 and `odd` = e^-gt sin(lt)/l,
/// with cosh and sinh where the damping is over critical.
struct Progress {
    even_ratio: f64,
    odd_s: f64,
}

/// Largest phase, in radians, that a Taylor series of fifth order closes: for the speed 0.001^5 / 120 is less than a
/// rounding.
const CLOSE_RAD: f64 = 1e-3;

/// Parts of such a phase that a parabola closes alone, and of a Newton step after which the next is less than a rounding.
/// Ratios, chosen from the error of third and of second order.
const GRAZING_RATIO: f64 = 1e-6;
const SETTLED_RATIO: f64 = 1e-8;

/// Bound on the evaluations and on the Newton steps after one, only so that the search ends: one or two are needed.
const SEARCH_COUNT: u32 = 100;

impl LinearPiece {
    /// # Arguments
    /// Inertia and stiffness more than 0, viscous resistance not negative.
    pub fn new(inertia_kg_m2: f64, stiffness_n_m_per_rad: f64, viscous_n_m_s: f64) -> Self {
        let decay_per_s = 0.5 * viscous_n_m_s / inertia_kg_m2;
        let natural_rad2_per_s2 = stiffness_n_m_per_rad / inertia_kg_m2;
        let natural_rad_per_s = natural_rad2_per_s2.sqrt();
        let split_rad2_per_s2 = (natural_rad_per_s - decay_per_s) * (natural_rad_per_s + decay_per_s);
        let damping = if split_rad2_per_s2 > 0.0 {
            Damping::Under
        } else if split_rad2_per_s2 < 0.0 {
            Damping::Over
        } else {
            Damping::Critical
        };
        LinearPiece {
            inertia_kg_m2,
            stiffness_n_m_per_rad,
            viscous_n_m_s,
            decay_per_s,
            natural_rad2_per_s2,
            split_per_s: split_rad2_per_s2.abs().sqrt(),
            damping,
        }
    }

    /// The flight from a state under a constant torque: the sum of whatever does not depend on angle and speed, dry
    /// friction with its sign among it.
    pub fn flight(&self, from: BalanceState, torque_n_m: f64) -> Flight {
        let offset_rad = from.angle_rad - torque_n_m / self.stiffness_n_m_per_rad;
        let pull_rad_per_s2 = self.decay_per_s * from.speed_rad_per_s + self.natural_rad2_per_s2 * offset_rad;
        Flight { piece: *self, from, offset_rad, pull_rad_per_s2 }
    }

    /// Moment of inertia.
    pub fn inertia_kg_m2(&self) -> f64 {
        self.inertia_kg_m2
    }

    /// The two decays of an overdamped piece, the slow one first.
    fn decays_per_s(&self) -> (f64, f64) {
        let fast_per_s = self.decay_per_s + self.split_per_s;
        (self.natural_rad2_per_s2 / fast_per_s, fast_per_s)
    }

    fn progress(&self, time_s: f64) -> Progress {
        match self.damping {
            Damping::Under => {
                let shrink = (-self.decay_per_s * time_s).exp_m1();
                let (sin, cos) = (0.5 * self.split_per_s * time_s).sin_cos();
                let cos_less_1 = -2.0 * sin * sin;
                Progress {
                    even_ratio: shrink + cos_less_1 + shrink * cos_less_1,
                    odd_s: 2.0 * (1.0 + shrink) * sin * cos / self.split_per_s,
                }
            }
            Damping::Critical => {
                let shrink = (-self.decay_per_s * time_s).exp_m1();
                Progress { even_ratio: shrink, odd_s: (1.0 + shrink) * time_s }
            }
            Damping::Over => {
                let (slow_per_s, fast_per_s) = self.decays_per_s();
                let slow = (-slow_per_s * time_s).exp_m1();
                let odd_s = -(1.0 + slow) * (-2.0 * self.split_per_s * time_s).exp_m1() / (2.0 * self.split_per_s);
                Progress { even_ratio: 0.5 * (slow + (-fast_per_s * time_s).exp_m1()), odd_s }
            }
        }
    }

    /// Angular frequency, or fast decay, that says how much a short time is.
    fn pace_per_s(&self) -> f64 {
        match self.damping {
            Damping::Under => self.natural_rad2_per_s2.sqrt(),
            Damping::Critical | Damping::Over => self.decay_per_s + self.split_per_s,
        }
    }
}

impl Flight {
    /// Where the torque vanishes.
    pub fn rest_rad(&self) -> f64 {
        self.from.angle_rad - self.offset_rad
    }

    /// Angle and speed after a time, before or after it turns.
    ///
    /// # Accuracy
    /// A few roundings of the amplitude: `tests/flight.rs` compares with the integrator to 1e-10 and flies back.
    pub fn state_at(&self, time_s: f64) -> BalanceState {
        let (moved_rad, speed_rad_per_s) = self.moved(time_s);
        BalanceState { angle_rad: self.from.angle_rad + moved_rad, speed_rad_per_s }
    }

    fn moved(&self, time_s: f64) -> (f64, f64) {
        let Progress { even_ratio, odd_s } = self.piece.progress(time_s);
        let v0 = self.from.speed_rad_per_s;
        let moved_rad = self.offset_rad * (even_ratio + self.piece.decay_per_s * odd_s) + v0 * odd_s;
        (moved_rad, v0 + v0 * even_ratio - self.pull_rad_per_s2 * odd_s)
    }

    /// The next instant after the start at which the balance stands still, or `None` where it never does again: at its
    /// rest, or crawling toward it without swinging.
    pub fn turning_s(&self) -> Option<f64> {
        let (v0, pull) = (self.from.speed_rad_per_s, self.pull_rad_per_s2);
        let LinearPiece { split_per_s, damping, .. } = self.piece;
        if v0 == 0.0 {
            return (damping == Damping::Under && pull != 0.0).then(|| PI / split_per_s);
        }
        let (along, toward) = (v0.abs(), pull * v0.signum());
        match damping {
            Damping::Under => Some((along * split_per_s).atan2(toward) / split_per_s),
            Damping::Critical => (toward > 0.0).then(|| along / toward),
            Damping::Over => {
                (toward > along * split_per_s).then(|| (along * split_per_s / toward).atanh() / split_per_s)
            }
        }
    }

    /// The first passage of an angle after the start, or `None` if the balance turns, or comes to rest, before it.
    ///
    /// # Properties
    /// `state_at` the time given back is at the angle, and moves as fast, to a few roundings of the amplitude, however
    /// near the angle is to the turning.
    ///
    /// # Accuracy
    /// The time carries the rounding of the angle divided by the speed: near a turning, its square root.
    /// `tests/flight.rs`.
    pub fn passage(&self, angle_rad: f64) -> Option<Passage> {
        let start_speed = self.from.speed_rad_per_s;
        let sense_sign = if start_speed != 0.0 { start_speed.signum() } else { -self.offset_rad.signum() };
        // From here on, everything is counted in the sense of the motion.
        let distance_rad = (angle_rad - self.from.angle_rad) * sense_sign;
        if distance_rad <= 0.0 || (start_speed == 0.0 && self.offset_rad == 0.0) {
            return None;
        }
        let (end_s, reach_rad) = match self.turning_s() {
            Some(turning_s) => (turning_s, self.moved(turning_s).0 * sense_sign),
            None => (f64::INFINITY, -self.offset_rad * sense_sign),
        };
        if distance_rad > reach_rad || (end_s.is_infinite() && distance_rad >= reach_rad) {
            return None;
        }
        let offset_rad = self.offset_rad * sense_sign;
        let first_s = self.first_guess_s(distance_rad, reach_rad, offset_rad, end_s);
        let passage = self.search(distance_rad, sense_sign, first_s, end_s);
        Some(Passage { speed_rad_per_s: passage.speed_rad_per_s * sense_sign, ..passage })
    }

    /// When the undamped motion passes, with the first order of the damping; exact at the turning.
    fn first_guess_s(&self, distance_rad: f64, reach_rad: f64, offset_rad: f64, end_s: f64) -> f64 {
        let LinearPiece { decay_per_s, natural_rad2_per_s2, split_per_s, damping, .. } = self.piece;
        // Sine squared of half the phase that is left to the turning.
        let left_ratio = 0.5 * (reach_rad - distance_rad) / (reach_rad + offset_rad);
        if damping == Damping::Under && left_ratio < 0.975 {
            let (sin, cos) = (left_ratio.sqrt(), (1.0 - left_ratio).sqrt());
            let left_rad = 2.0 * sin.asin();
            let cotangent = if sin > 0.0 { 0.5 * (cos / sin - sin / cos) * left_rad } else { 1.0 };
            let guess_s = end_s - (left_rad + decay_per_s / split_per_s * (cotangent - 1.0)) / split_per_s;
            if guess_s > 0.0 && guess_s <= end_s {
                return guess_s;
            }
        }
        // Near an extreme that has just been left the phase of the next says little; with much damping, nothing: a parabola.
        let speed = self.from.speed_rad_per_s.abs();
        let acceleration = -(natural_rad2_per_s2 * offset_rad + 2.0 * decay_per_s * speed);
        let square = speed * speed + 2.0 * acceleration * distance_rad;
        (2.0 * distance_rad / (speed + square.max(0.0).sqrt())).min(end_s)
    }

    /// Follows the closed form from a guess to the passage. One evaluation and a Taylor series is the usual way; the
    /// bounds, between which the distance only grows, are for guesses that were far off.
    fn search(&self, distance_rad: f64, sense_sign: f64, first_s: f64, end_s: f64) -> Passage {
        let LinearPiece { decay_per_s, natural_rad2_per_s2, .. } = self.piece;
        let close_s = CLOSE_RAD / self.piece.pace_per_s();
        let (mut low_s, mut high_s, mut time_s) = (0.0, end_s, first_s);
        for _ in 0..SEARCH_COUNT {
            let (moved_rad, speed) = self.moved(time_s);
            let (moved_rad, speed) = (moved_rad * sense_sign, speed * sense_sign);
            let missing_rad = distance_rad - moved_rad;
            // Derivatives of the angle from the second on.
            let next = |rate: f64, of: f64| -(natural_rad2_per_s2 * of + 2.0 * decay_per_s * rate);
            let d2 = next(speed, self.offset_rad * sense_sign + moved_rad);
            let d3 = next(d2, speed);
            let d4 = next(d3, d2);
            let d5 = next(d4, d3);
            let square = speed * speed + 2.0 * d2 * missing_rad;
            let mut step_s = if square > 0.0 {
                2.0 * missing_rad / (speed.max(0.0) + square.sqrt())
            } else if d2 < 0.0 {
                -speed / d2
            } else {
                0.0
            };
            let (d2, d3, d4, d5) = (d2 * (1.0 / 2.0), d3 * (1.0 / 6.0), d4 * (1.0 / 24.0), d5 * (1.0 / 120.0));
            let speed_after = |s: f64| speed + s * (2.0 * d2 + s * (3.0 * d3 + s * (4.0 * d4 + s * 5.0 * d5)));
            // At a grazing passage the slope has no digits; there the parabola is all there is, and enough.
            let mut settled = step_s.abs() <= GRAZING_RATIO * close_s;
            for _ in 0..SEARCH_COUNT {
                let s = step_s;
                let gone_rad = s * (speed + s * (d2 + s * (d3 + s * (d4 + s * d5))));
                let slope = speed_after(s);
                if settled || slope <= 0.0 || s.abs() > close_s {
                    break;
                }
                let correction_s = (missing_rad - gone_rad) / slope;
                step_s += correction_s;
                // The next would be of the size of its square.
                settled = correction_s.abs() <= SETTLED_RATIO * step_s.abs();
            }
            if settled && step_s.abs() <= close_s {
                // At a grazing passage rounding may let it move back.
                return Passage { time_s: time_s + step_s, speed_rad_per_s: speed_after(step_s).max(0.0) };
            }
            if missing_rad > 0.0 {
                low_s = time_s;
            } else {
                high_s = time_s;
            }
            let next_s = time_s + step_s;
            time_s = if next_s > low_s && next_s < high_s {
                next_s
            } else if high_s.is_finite() {
                0.5 * (low_s + high_s)
            } else {
                2.0 * time_s
            };
        }
        let (_, speed) = self.moved(time_s);
        Passage { time_s, speed_rad_per_s: (speed * sense_sign).max(0.0) }
    }

    /// Energy that the viscous resistance takes from the start to a time: the integral of its torque over the angle.
    ///
    /// # Accuracy
    /// A rounding of the energy stored, `tests/flight.rs`. Within 1e-5 of critical damping up to six digits less.
    pub fn viscous_j(&self, time_s: f64) -> f64 {
        let LinearPiece { viscous_n_m_s, decay_per_s: g, split_per_s: l, natural_rad2_per_s2: w2, .. } = self.piece;
        if viscous_n_m_s == 0.0 {
            return 0.0;
        }
        let (v0, pull) = (self.from.speed_rad_per_s, self.pull_rad_per_s2);
        // Integral of e^-rt.
        let spent = |rate_per_s: f64| -(-rate_per_s * time_s).exp_m1() / rate_per_s;
        let square_rad2_per_s = match self.piece.damping {
            Damping::Under => {
                let shrink = (-2.0 * g * time_s).exp_m1();
                let (sin, cos) = (l * time_s).sin_cos();
                // e^-2gt times cosine, less 1, and times sine of twice the phase; and the integrals with e^-2gt alone, with
                // the cosine and with the sine.
                let even = shrink - 2.0 * sin * sin * (1.0 + shrink);
                let odd = 2.0 * (1.0 + shrink) * sin * cos;
                let mean_s = spent(2.0 * g);
                let even_s = (l * odd - g * even) / (2.0 * w2);
                let odd_s = -(g * odd + l * even) / (2.0 * w2);
                let p = pull / l;
                0.5 * v0 * v0 * (mean_s + even_s) - v0 * p * odd_s + 0.5 * p * p * (mean_s - even_s)
            }
            Damping::Critical => {
                let left = (-2.0 * g * time_s).exp();
                let zeroth = spent(2.0 * g);
                // A time without end times nothing left is nothing.
                let fading_s = if left > 0.0 { time_s * left } else { 0.0 };
                let first = (zeroth - fading_s) / (2.0 * g);
                let second = (2.0 * first - if left > 0.0 { time_s * fading_s } else { 0.0 }) / (2.0 * g);
                v0 * v0 * zeroth - 2.0 * v0 * pull * first + pull * pull * second
            }
            Damping::Over => {
                let (slow_per_s, fast_per_s) = self.piece.decays_per_s();
                let (slow, fast) = (0.5 * (v0 - pull / l), 0.5 * (v0 + pull / l));
                slow * slow * spent(2.0 * slow_per_s)
                    + 2.0 * slow * fast * spent(2.0 * g)
                    + fast * fast * spent(2.0 * fast_per_s)
            }
        };
        viscous_n_m_s * square_rad2_per_s
    }

    /// Energy that a constant torque against the motion, such as dry friction, takes from the start to a time before the
    /// balance turns: the torque times the angle turned through.
    pub fn dry_j(&self, dry_n_m: f64, time_s: f64) -> f64 {
        dry_n_m * self.moved(time_s).0.abs()
    }
}
