//! Check values of the balance alone as data: what an entry says, what is measured, and how they are compared.

use libm::j1;
use motion::alone::{Alone, Outcome, Prescribed, Steady, TorqueSpan, rate_ratio};
use motion::{Arrived, Balance, BalanceState, IndexPins};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::path::{Path, PathBuf};

/// Seconds of a day.
const DAY_S: f64 = 86_400.0;

/// One file: a source, the balances its values are given for, and the values.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Published {
    /// Author, title, year; where several, each with its mark.
    pub source: String,
    /// Balances by name.
    pub given: BTreeMap<String, Given>,
    /// The values.
    pub check: Vec<Check>,
}

/// A balance and its prescribed torque.
#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Given {
    inertia_kg_m2: f64,
    /// One of the two.
    stiffness_n_m_per_rad: Option<f64>,
    beats_per_hour: Option<f64>,
    /// All viscous, in place of `viscous_n_m_s`.
    quality_ratio: Option<f64>,
    #[serde(default)]
    viscous_n_m_s: f64,
    #[serde(default)]
    dry_n_m: f64,
    /// Mass times radius, in a gravity of 9.80665 m/s2.
    #[serde(default)]
    heavy_spot_mg_mm: f64,
    #[serde(default)]
    heavy_spot_deg: f64,
    index: Option<Index>,
    /// While rising; mirrored while falling.
    #[serde(default)]
    spans: Vec<Span>,
    /// Where a figure is wanted, or is looked for.
    amplitude_rad: Option<f64>,
    /// Full angle of the lift at the balance.
    lift_deg: Option<f64>,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
struct Index {
    free_deg: f64,
    /// Length of the spring behind the pins over the whole: the stiffness between them is 1/(1 + it) of that beyond.
    behind_ratio: f64,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
struct Span {
    from_deg: f64,
    to_deg: f64,
    torque_n_m: f64,
}

/// What stands behind a value.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq, PartialOrd, Ord)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// Printed in the source named.
    Published,
    /// Common practice.
    Practice,
    /// Computed from the source's figures by a route of its own, away from this program.
    Derived,
    /// An approximate formula.
    ClosedForm,
}

/// One entry: figures of one balance, side by side with what is printed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// What is measured, in words.
    pub quantity: String,
    /// What stands behind the value.
    pub status: Status,
    /// Section or script.
    pub place: String,
    /// Name of the balance it is given for.
    pub given: String,
    /// As printed.
    pub printed: String,
    /// Names of figures; one, when it is given at several values.
    pub figures: Vec<String>,
    /// What is varied, and its values: one for each expected value.
    pub over: Option<String>,
    #[serde(default)]
    pub at: Vec<f64>,
    /// The values printed, in the units of the figures.
    pub expect: Vec<f64>,
    /// Largest difference accepted, in the units of the figures.
    pub tolerance: f64,
    /// Why that much.
    pub reason: String,
    /// Where the source's definition is not ours.
    pub differs: Option<String>,
}

/// One comparison.
pub struct Residual {
    pub text: String,
    pub holds: bool,
}

/// Every file of the directory that is about the balance alone, by name.
pub fn read_all(directory: &Path) -> Vec<(PathBuf, Published)> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(directory)
        .unwrap_or_else(|e| panic!("{}: {e}", directory.display()))
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.file_name().unwrap().to_string_lossy().starts_with("alone_"))
        .collect();
    paths.sort();
    paths
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            let file = toml::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            (path, file)
        })
        .collect()
}

/// Compares one entry; an entry that cannot be compared is a failure that says why.
pub fn compare(check: &Check, given: &Given, tolerance_scale: f64) -> Result<Vec<Residual>, String> {
    let counts = (check.figures.len(), check.at.len(), check.expect.len());
    match (&check.over, counts) {
        (None, (figures, 0, expected)) if figures == expected && expected > 0 => {}
        (Some(_), (1, values, expected)) if values == expected && expected > 0 => {}
        _ => return Err(format!("{counts:?} figures, values, expected values")),
    }
    if [&check.reason, &check.printed, &check.place, &check.quantity].iter().any(|text| text.trim().is_empty()) {
        return Err("quantity, printed, place and reason must say something".to_owned());
    }
    let mut out = Vec::new();
    for (i, expect) in check.expect.iter().enumerate() {
        let name = &check.figures[i % check.figures.len()];
        let (mut given, mut at) = (given.clone(), None);
        if let Some(over) = &check.over {
            at = Some(check.at[i]);
            given.vary(over, check.at[i])?;
        }
        let found = given.value(name)?;
        let residual = found - expect;
        out.push(Residual {
            text: format!(
                "{name}{}: {found:.6e}, printed {expect}, residual {residual:+.2e}, tolerance {:.1e}",
                at.map_or(String::new(), |at| format!(" at {at}")),
                check.tolerance
            ),
            // The 1e-12 lets a residual of exactly half a digit through; it is no part of the tolerance.
            holds: residual.abs() <= check.tolerance * tolerance_scale + 1e-12 * expect.abs(),
        });
    }
    Ok(out)
}

impl Given {
    pub fn balance(&self) -> Balance {
        let tuned = match (self.stiffness_n_m_per_rad, self.beats_per_hour) {
            (Some(stiffness_n_m_per_rad), None) => {
                Balance { stiffness_n_m_per_rad, ..Balance::tuned(self.inertia_kg_m2, 3600.0) }
            }
            (None, Some(beats_per_hour)) => Balance::tuned(self.inertia_kg_m2, beats_per_hour),
            other => panic!("stiffness or beats: {other:?}"),
        };
        let balance = Balance {
            viscous_n_m_s: self.viscous_n_m_s,
            dry_n_m: self.dry_n_m,
            heavy_spot_n_m: self.heavy_spot_mg_mm * 1e-9 * 9.806_65,
            heavy_spot_rad: self.heavy_spot_deg.to_radians(),
            index: self.index.map(|index| IndexPins {
                free_rad: index.free_deg.to_radians(),
                free_stiffness_ratio: 1.0 / (1.0 + index.behind_ratio),
            }),
            ..tuned
        };
        self.quality_ratio.map_or(balance, |quality_ratio| balance.with_losses(quality_ratio, 1.0, 1.0))
    }

    fn prescribed(&self) -> Prescribed {
        let spans = self.spans.iter().map(|s| TorqueSpan {
            from_rad: s.from_deg.to_radians(),
            to_rad: s.to_deg.to_radians(),
            torque_n_m: s.torque_n_m,
        });
        Prescribed::mirrored(spans.collect())
    }

    fn vary(&mut self, over: &str, value: f64) -> Result<(), String> {
        match over {
            "torque_ratio" => self.spans.iter_mut().for_each(|s| s.torque_n_m *= value),
            "amplitude_deg" => self.amplitude_rad = Some(value.to_radians()),
            "heavy_spot_deg" => self.heavy_spot_deg = value,
            "inertia_ratio" | "stiffness_ratio" => {
                self.stiffness_n_m_per_rad = Some(self.balance().stiffness_n_m_per_rad);
                self.beats_per_hour = None;
                let of = if over == "inertia_ratio" {
                    Some(&mut self.inertia_kg_m2)
                } else {
                    self.stiffness_n_m_per_rad.as_mut()
                };
                *of.unwrap() *= value;
            }
            _ => return Err(format!("{over} is nothing that can be varied")),
        }
        Ok(())
    }

    fn amplitude_rad(&self) -> Result<f64, String> {
        self.amplitude_rad.ok_or("no amplitude is given".to_owned())
    }

    fn steady(&self) -> Result<Steady, String> {
        let alone = Alone::new(self.balance(), &self.prescribed()).map_err(|fault| fault.to_string())?;
        let start_rad = alone.expected_amplitude_rad().ok_or("nothing drives it")?;
        match alone.steady(start_rad, 1e-13) {
            Ok(Outcome::Steady(steady)) => Ok(steady),
            other => Err(format!("not steady: {other:?}")),
        }
    }

    /// A figure, in the unit of its name.
    fn value(&self, figure: &str) -> Result<f64, String> {
        let balance = self.balance();
        let natural_s = 2.0 * PI / balance.natural_rad_per_s();
        Ok(match figure {
            "stiffness_n_m_per_rad" => balance.stiffness_n_m_per_rad,
            "natural_beats_per_hour" => 7200.0 / free_period_s(&balance, 1.0),
            "damping_ratio" => damping_ratio(&balance),
            "viscous_quality_ratio" => Balance { dry_n_m: 0.0, ..balance }.quality_ratio(1.0),
            "sticking_rad" => sticking_rad(&balance),
            "sticking_deg" => sticking_rad(&balance).to_degrees(),
            "next_extreme_rad" => next_extreme_rad(&balance, self.amplitude_rad()?),
            "half_swing_loss_deg" => {
                let amplitude_rad = self.amplitude_rad()?;
                (amplitude_rad - next_extreme_rad(&balance, amplitude_rad)).to_degrees()
            }
            "free_rate_s_per_day" => DAY_S * rate_ratio(free_period_s(&balance, self.amplitude_rad()?), natural_s),
            "free_rate_sign" => rate_ratio(free_period_s(&balance, self.amplitude_rad()?), natural_s).signum(),
            "rate_270_less_240_s_per_day" => {
                let rate = |deg: f64| rate_ratio(free_period_s(&balance, deg.to_radians()), natural_s);
                DAY_S * (rate(270.0) - rate(240.0))
            }
            "poise_factor_s_per_day" => poise_factor_s_per_day(&balance, self.amplitude_rad()?),
            "poise_zero_deg" => zero(self.amplitude_rad()?, |rad| poise_factor_s_per_day(&balance, rad)).to_degrees(),
            "poise_most_lost_rad" => {
                let slope = |rad: f64| {
                    poise_factor_s_per_day(&balance, rad + 0.001) - poise_factor_s_per_day(&balance, rad - 0.001)
                };
                zero(self.amplitude_rad()?, slope)
            }
            "lift_time_ms" => {
                let lift_deg = self.lift_deg.ok_or("no lift is given")?;
                1e3 * lift_time_s(&balance, self.amplitude_rad()?, lift_deg.to_radians())
            }
            _ => self.steady_value(figure, natural_s)?,
        })
    }

    fn steady_value(&self, figure: &str, natural_s: f64) -> Result<f64, String> {
        let balance = self.balance();
        let steady = self.steady()?;
        let (amplitude_rad, period_s) = (steady.amplitude_rad(), steady.period_s());
        let mean = |of: fn(&motion::alone::HalfSwing) -> f64| 0.5 * steady.half_swings.iter().map(of).sum::<f64>();
        let lost_j = mean(|h| h.dry_j) + mean(|h| h.viscous_j);
        // As a change of the period over the nominal one, which is how the scripts count it.
        let excess = |nominal_s: f64| -DAY_S * (period_s - nominal_s) / nominal_s;
        Ok(match figure {
            "amplitude_rad" => amplitude_rad,
            "amplitude_deg" => amplitude_rad.to_degrees(),
            "driven_j" => mean(|h| h.driven_j),
            "resisted_j" => mean(|h| h.resisted_j),
            "net_j" => mean(|h| h.driven_j - h.resisted_j),
            "dry_j" => mean(|h| h.dry_j),
            "viscous_j" => mean(|h| h.viscous_j),
            "stored_j" => balance.spring_energy_j(amplitude_rad),
            "quality_ratio" => PI * balance.spring_energy_j(amplitude_rad) / lost_j,
            "power_w" => 2.0 * mean(|h| h.driven_j - h.resisted_j) / period_s,
            "rate_s_per_day" => DAY_S * rate_ratio(period_s, natural_s),
            "period_against_natural_s_per_day" => excess(natural_s),
            "period_against_free_s_per_day" => {
                let z = damping_ratio(&balance);
                excess(natural_s / (1.0 - z * z).sqrt())
            }
            "first_order_s_per_day" => self.first_order_s_per_day(amplitude_rad, |_| true),
            "first_order_driving_s_per_day" => self.first_order_s_per_day(amplitude_rad, |torque_n_m| torque_n_m > 0.0),
            "first_order_resisting_s_per_day" => {
                self.first_order_s_per_day(amplitude_rad, |torque_n_m| torque_n_m < 0.0)
            }
            _ => return Err(format!("{figure} is no figure")),
        })
    }

    /// E3 of docs/theory/oscillator.md at the amplitude found.
    fn first_order_s_per_day(&self, amplitude_rad: f64, counts: impl Fn(f64) -> bool) -> f64 {
        let height = |deg: f64| (amplitude_rad * amplitude_rad - deg.to_radians().powi(2)).sqrt();
        let spans = self.spans.iter().filter(|s| counts(s.torque_n_m));
        let sum: f64 = spans.map(|s| s.torque_n_m * (height(s.from_deg) - height(s.to_deg))).sum();
        -DAY_S * sum / (PI * self.balance().stiffness_n_m_per_rad * amplitude_rad * amplitude_rad)
    }
}

fn at_rest(angle_rad: f64) -> BalanceState {
    BalanceState { angle_rad, speed_rad_per_s: 0.0 }
}

/// The oscillation of the balance without losses and without drive, flown from one extreme and back.
pub fn free_period_s(balance: &Balance, amplitude_rad: f64) -> f64 {
    let lossless = Balance { viscous_n_m_s: 0.0, dry_n_m: 0.0, ..*balance };
    let alone = Alone::new(lossless, &Prescribed::default()).unwrap();
    let swings = alone.swings(at_rest(-amplitude_rad), 2).unwrap();
    assert_eq!((swings.half_swings.len(), swings.stops_rad), (2, None));
    swings.half_swings.iter().map(|h| h.time_s).sum()
}

fn next_extreme_rad(balance: &Balance, amplitude_rad: f64) -> f64 {
    let flown = balance.pieces().unwrap().fly(at_rest(-amplitude_rad), 0.0, None);
    assert_eq!(flown.arrived, Arrived::AtTurning);
    flown.state.angle_rad
}

/// From how much less the next extreme is, without dry friction.
fn damping_ratio(balance: &Balance) -> f64 {
    let decrement = -next_extreme_rad(&Balance { dry_n_m: 0.0, ..*balance }, 1.0).ln();
    decrement / decrement.hypot(PI)
}

/// The largest angle at which a balance that stands stays, by halving.
fn sticking_rad(balance: &Balance) -> f64 {
    let pieces = balance.pieces().unwrap();
    let (mut stays, mut goes) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (stays + goes);
        let sticks = pieces.fly(at_rest(middle), 0.0, None).arrived == Arrived::Sticks;
        *if sticks { &mut stays } else { &mut goes } = middle;
    }
    stays
}

/// Rate that a small want of poise makes, over its moment as a part of the stiffness: heavy point down, less heavy point
/// up, by half, so that the second order goes out.
fn poise_factor_s_per_day(balance: &Balance, amplitude_rad: f64) -> f64 {
    const SPOT_RATIO: f64 = 1e-4;
    let rate = |heavy_spot_rad| {
        let heavy_spot_n_m = SPOT_RATIO * balance.stiffness_n_m_per_rad;
        let spotted = Balance { heavy_spot_n_m, heavy_spot_rad, ..*balance };
        rate_ratio(free_period_s(&spotted, amplitude_rad), 2.0 * PI / balance.natural_rad_per_s())
    };
    DAY_S * (rate(0.0) - rate(PI)) / (2.0 * SPOT_RATIO)
}

/// Duration of the lift about the middle, without losses.
fn lift_time_s(balance: &Balance, amplitude_rad: f64, lift_rad: f64) -> f64 {
    let pieces = balance.pieces().unwrap();
    let enters = pieces.fly(at_rest(-amplitude_rad), 0.0, Some(-0.5 * lift_rad));
    let leaves = pieces.fly(enters.state, 0.0, Some(0.5 * lift_rad));
    assert_eq!((enters.arrived, leaves.arrived), (Arrived::AtAngle, Arrived::AtAngle));
    leaves.time_s
}

/// A zero near `start`, by the secant.
fn zero(start: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (mut last, mut x) = (start, start + 0.01);
    let mut at_last = of(last);
    for _ in 0..20 {
        let at_x = of(x);
        if (x - last).abs() < 1e-8 || at_x == at_last {
            break;
        }
        (last, x, at_last) = (x, x - at_x * (x - last) / (at_x - at_last), at_x);
    }
    x
}

/// Moment of the heavy point from the rates with it down and up at one amplitude, E4 of docs/theory/oscillator.md.
pub fn heavy_spot_from_rates_n_m(stiffness_n_m_per_rad: f64, amplitude_rad: f64, down_less_up_s_per_day: f64) -> f64 {
    stiffness_n_m_per_rad * amplitude_rad * down_less_up_s_per_day / (2.0 * DAY_S * j1(amplitude_rad))
}
