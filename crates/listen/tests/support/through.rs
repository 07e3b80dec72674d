//! A watch and what it is heard through: the kinds of the suite.

use super::made::{Dice, Made};
use super::other::{Other, loud};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Through {
    Clean,
    Noise,
    Loud,
    Hum,
    Knocks,
    Speech,
    Music,
    Second,
    Clipped,
    Gain,
    Gaps,
    Missing,
    Room,
    AnyBeat,
    Slow,
    Rates,
    Short,
}

impl Through {
    pub const ALL: [Through; 17] = [
        Through::Clean,
        Through::Noise,
        Through::Loud,
        Through::Hum,
        Through::Knocks,
        Through::Speech,
        Through::Music,
        Through::Second,
        Through::Clipped,
        Through::Gain,
        Through::Gaps,
        Through::Missing,
        Through::Room,
        Through::AnyBeat,
        Through::Slow,
        Through::Rates,
        Through::Short,
    ];

    /// Whether its count of beats is none of a usual train's: it has to be told.
    pub fn is_told(self) -> bool {
        matches!(self, Through::AnyBeat | Through::Slow)
    }

    pub fn draw(self, dice: &mut Dice, seed: u64) -> Made {
        let usual = [14_400.0, 16_200.0, 18_000.0, 19_800.0, 21_600.0, 25_200.0, 28_800.0, 36_000.0];
        let mut made = Made {
            per_hour: usual[(dice.part() * 8.0) as usize],
            rate_hz: [44_100, 48_000, 96_000][(dice.part() * 3.0) as usize],
            rate_s_per_day: dice.between(-120.0, 120.0),
            amplitude_deg: dice.between(150.0, 320.0),
            lift_deg: dice.between(44.0, 58.0),
            beat_error_ms: dice.between(0.0, 5.0),
            jitter_s: dice.between(0.0, 60e-6),
            over_noise_db: dice.between(20.0, 30.0),
            first_ratio: dice.between(0.2, 0.5),
            banking_ratio: dice.between(0.1, 0.6),
            loud_db: dice.between(0.0, 2.0),
            seed,
            ..Made::default()
        };
        match self {
            Through::Clean => made.over_noise_db = dice.between(30.0, 50.0),
            Through::Noise => made.over_noise_db = dice.between(5.0, 20.0),
            Through::Loud => made.over_noise_db = dice.between(0.0, 3.0),
            Through::Missing => made.missing_ratio = dice.between(0.05, 0.3),
            // Any count of beats, of trains that nobody makes too.
            Through::AnyBeat => made.per_hour = dice.between(14_400.0, 43_200.0).round(),
            // Slower ones need sides of two kinds, which these have.
            Through::Slow => made.per_hour = dice.between(7_200.0, 14_400.0).round(),
            Through::Rates => {
                made.rate_hz = [8_000, 11_025, 16_000, 22_050, 32_000, 192_000][(dice.part() * 6.0) as usize]
            }
            Through::Short => made.lasts_s = dice.between(8.0, 15.0),
            _ => {}
        }
        made
    }

    pub fn sound(self, made: &Made, mut dice: Dice) -> Vec<f32> {
        let own: Vec<f64> = made.sound().iter().map(|x| f64::from(*x)).collect();
        let mut other = Other { rate_hz: made.rate_hz, lasts_s: made.lasts_s, dice: Dice(dice.0 + 17) };
        let size = (own.iter().map(|x| x * x).sum::<f64>() / own.len() as f64).sqrt();
        let with = |own: &[f64], over: &[f64], times: f64| -> Vec<f64> {
            own.iter().zip(over).map(|(a, b)| a + times * size * b).collect()
        };
        let db = |db: f64| 10_f64.powf(0.05 * db);
        let sound = match self {
            Through::Hum => with(&own, &other.hum(), db(dice.between(0.0, 30.0))),
            Through::Knocks => {
                let per_s = dice.between(0.2, 2.0);
                let times = dice.between(0.2, 2.0);
                own.iter().zip(other.knocks(per_s)).map(|(a, b)| a + times * b).collect()
            }
            Through::Speech => with(&own, &other.speech(), db(dice.between(-6.0, 10.0))),
            Through::Music => with(&own, &other.music(), db(dice.between(-6.0, 10.0))),
            Through::Second => {
                let own_per_hour = dice.part() < 0.5;
                let mut beside = Through::Clean.draw(&mut dice, made.seed + 7);
                (beside.rate_hz, beside.lasts_s) = (made.rate_hz, made.lasts_s);
                if own_per_hour {
                    beside.per_hour = made.per_hour;
                }
                let sound: Vec<f64> = beside.sound().iter().map(|x| f64::from(*x)).collect();
                with(&own, &loud(sound), db(dice.between(-20.0, -8.0)))
            }
            Through::Clipped => {
                let times = dice.between(4.0, 15.0);
                own.iter().map(|x| (times * x).clamp(-1.0, 1.0)).collect()
            }
            Through::Gain => {
                // Turned up and down in steps of up to 10 dB.
                let step = (dice.between(2.0, 8.0) * f64::from(made.rate_hz)) as usize;
                let sizes: Vec<f64> = (0..own.len() / step + 1).map(|_| db(dice.between(-10.0, 10.0))).collect();
                own.iter().enumerate().map(|(i, x)| x * sizes[i / step]).collect()
            }
            Through::Gaps => {
                let mut sound = own;
                for _ in 0..4 {
                    let begin = (dice.between(0.0, made.lasts_s) * f64::from(made.rate_hz)) as usize;
                    let lasts = (dice.between(0.2, 2.0) * f64::from(made.rate_hz)) as usize;
                    let end = (begin + lasts).min(sound.len());
                    sound[begin.min(end)..end].fill(0.0);
                }
                sound
            }
            Through::Room => {
                let (dies_s, tail) = (dice.between(0.05, 0.3), db(2.0 * dice.between(-12.0, -2.0)));
                other.room(&own, dies_s, tail)
            }
            _ => own,
        };
        sound.iter().map(|x| *x as f32).collect()
    }
}
