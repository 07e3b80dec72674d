//! Sounds made for the checks, from nothing of the product: noises that ring and die away, at instants of a plain sine's
//! passages, with noise, gaps and other sounds over them. Every figure in here is invented.

use std::f64::consts::{PI, TAU};

/// Random numbers that are the same every time: SplitMix64, G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014 (from memory).
#[derive(Clone)]
pub struct Dice(pub u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to 1.
    pub fn part(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.part()
    }

    /// Of a normal law with standard error 1.
    pub fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.part()).ln()).sqrt() * (TAU * self.part()).cos()
    }
}

/// A watch that is heard.
#[derive(Clone, Debug)]
pub struct Made {
    pub rate_hz: u32,
    pub lasts_s: f64,
    pub per_hour: f64,
    pub rate_s_per_day: f64,
    pub amplitude_deg: f64,
    pub lift_deg: f64,
    pub beat_error_ms: f64,
    /// Scatter of each beat, s.
    pub jitter_s: f64,
    /// Mean power of a beat's noises while they last over that of the noise, dB.
    pub over_noise_db: f64,
    /// How loud the first noise is, as a part of the drop.
    pub first_ratio: f64,
    /// How loud the banking is, as a part of the drop.
    pub banking_ratio: f64,
    /// Beats that are not heard at all, as a part of them.
    pub missing_ratio: f64,
    /// Scatter of how loud each beat is, dB.
    pub loud_db: f64,
    pub seed: u64,
}

impl Default for Made {
    fn default() -> Made {
        Made {
            rate_hz: 48_000,
            lasts_s: 30.0,
            per_hour: 28_800.0,
            rate_s_per_day: 0.0,
            amplitude_deg: 270.0,
            lift_deg: 52.0,
            beat_error_ms: 0.0,
            jitter_s: 10e-6,
            over_noise_db: 30.0,
            first_ratio: 0.25,
            banking_ratio: 0.35,
            missing_ratio: 0.0,
            loud_db: 0.0,
            seed: 1,
        }
    }
}

impl Made {
    /// A beat, s.
    pub fn beat_s(&self) -> f64 {
        3600.0 / self.per_hour / (1.0 + self.rate_s_per_day / 86_400.0)
    }

    /// From the first noise to the drop, s.
    pub fn between_s(&self) -> f64 {
        2.0 * self.beat_s() / PI * (0.5 * self.lift_deg / self.amplitude_deg).asin()
    }

    pub fn sound(&self) -> Vec<f32> {
        let mut dice = Dice(self.seed);
        let rate = f64::from(self.rate_hz);
        let mut out = vec![0.0_f64; (self.lasts_s * rate) as usize];
        // Each side rings in its own way.
        let mut ring = || {
            let top = 0.4 * rate;
            [0; 4].map(|_| {
                let hz = dice.between(3_000.0_f64.min(0.4 * top), 14_000.0_f64.min(top));
                (hz, dice.between(0.3, 1.0), dice.between(4e-4, 1.2e-3))
            })
        };
        let rings = [ring(), ring()];
        let first_s = dice.between(0.05, 0.15);
        let (mut n, mut power) = (0_u32, 0.0);
        loop {
            let side = (n % 2) as usize;
            let off_s = if side == 0 { 0.5e-3 } else { -0.5e-3 } * self.beat_error_ms;
            let t_s = first_s + f64::from(n) * self.beat_s() + off_s + self.jitter_s * dice.normal();
            if t_s + 0.05 > self.lasts_s {
                break;
            }
            let between_s = self.between_s();
            n += 1;
            if dice.part() < self.missing_ratio {
                continue;
            }
            let size = 10_f64.powf(0.05 * self.loud_db * dice.normal());
            let shocks = [(0.0, self.first_ratio), (0.24, 0.35), (0.31, 0.3), (1.0, 1.0), (1.12, self.banking_ratio)];
            for (part, loud) in shocks {
                let at = (t_s + part * between_s) * rate;
                for (hz, amplitude, dies_s) in rings[side] {
                    let phase = dice.between(0.0, TAU);
                    let lasts = (8.0 * dies_s * rate) as usize;
                    let begin = at.ceil() as usize;
                    for i in begin..(begin + lasts).min(out.len()) {
                        let s = (i as f64 - at) / rate;
                        let x = size * loud * amplitude * (-s / dies_s).exp() * (TAU * hz * s + phase).sin();
                        out[i] += x;
                        power += x * x;
                    }
                }
            }
        }
        // The noises are taken to last 2 ms each.
        let mean = power / (f64::from(n) * 5.0 * 2e-3 * rate);
        let noise = (mean * 10_f64.powf(-0.1 * self.over_noise_db)).sqrt();
        let peak = out.iter().fold(0.0_f64, |a, b| a.max(b.abs())).max(1e-9);
        out.iter().map(|x| (0.3 * (x + noise * dice.normal()) / peak) as f32).collect()
    }
}
