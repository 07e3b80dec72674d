//! Sounds that stand in the way of a watch's, and sounds that are none: made for the checks, from nothing of the product.
//! Every figure in here is invented. Loudness is told by the root of the mean square, full scale 1.

use std::f64::consts::TAU;

use super::made::Dice;

/// What is played over a watch, or alone.
pub struct Other {
    pub rate_hz: u32,
    pub lasts_s: f64,
    pub dice: Dice,
}

/// A resonance that noise or pulses go through.
struct Resonance {
    a: [f64; 2],
    gain: f64,
    y: [f64; 2],
}

impl Resonance {
    fn new(hz: f64, wide_hz: f64, rate: f64) -> Resonance {
        let r = (-std::f64::consts::PI * wide_hz / rate).exp();
        Resonance { a: [2.0 * r * (TAU * hz / rate).cos(), -r * r], gain: 1.0 - r, y: [0.0; 2] }
    }

    fn pass(&mut self, x: f64) -> f64 {
        let y = self.gain * x + self.a[0] * self.y[0] + self.a[1] * self.y[1];
        self.y = [y, self.y[0]];
        y
    }
}

impl Other {
    fn rate(&self) -> f64 {
        f64::from(self.rate_hz)
    }

    fn empty(&self) -> Vec<f64> {
        vec![0.0; (self.lasts_s * self.rate()) as usize]
    }

    pub fn white(&mut self) -> Vec<f64> {
        let mut out = self.empty();
        out.iter_mut().for_each(|x| *x = self.dice.normal());
        loud(out)
    }

    /// Falls by 3 dB an octave, nearly: P. Kellet's filter, from memory.
    pub fn pink(&mut self) -> Vec<f64> {
        let mut b = [0.0; 3];
        let out = self.white().into_iter().map(|w| {
            b[0] = 0.99765 * b[0] + w * 0.099046;
            b[1] = 0.963 * b[1] + w * 0.2965164;
            b[2] = 0.57 * b[2] + w * 1.0526913;
            b[0] + b[1] + b[2] + w * 0.1848
        });
        loud(out.collect())
    }

    /// Mains and what it has above itself.
    pub fn hum(&mut self) -> Vec<f64> {
        let hz = if self.dice.part() < 0.5 { 50.0 } else { 60.0 } * self.dice.between(0.999, 1.001);
        let parts: Vec<_> = (1..40)
            .map(|n| (f64::from(n) * hz, self.dice.part() / f64::from(n), self.dice.between(0.0, TAU)))
            .collect();
        let rate = self.rate();
        let mut out = self.empty();
        for (i, x) in out.iter_mut().enumerate() {
            *x = parts.iter().map(|(hz, a, p)| a * (TAU * hz * i as f64 / rate + p).sin()).sum();
        }
        loud(out)
    }

    /// Syllables of a voice: pulses or breath through three resonances that move from one to the next, with pauses.
    pub fn speech(&mut self) -> Vec<f64> {
        let rate = self.rate();
        let mut out = self.empty();
        let mut i = 0;
        let mut pitch_hz = self.dice.between(90.0, 240.0);
        while i < out.len() {
            if self.dice.part() < 0.2 {
                i += (self.dice.between(0.1, 0.6) * rate) as usize;
                continue;
            }
            let lasts = (self.dice.between(0.06, 0.28) * rate) as usize;
            let breath = self.dice.part() < 0.3;
            let top = 0.45 * rate;
            let low_hz = if breath { [2_500.0, 4_000.0, 6_000.0] } else { [300.0, 900.0, 2_200.0] };
            let mut own = low_hz.map(|low: f64| {
                Resonance::new((low * self.dice.between(1.0, 1.9)).min(top), self.dice.between(60.0, 400.0), rate)
            });
            pitch_hz = (pitch_hz * self.dice.between(0.85, 1.18)).clamp(80.0, 300.0);
            let size = self.dice.between(0.3, 1.0);
            let mut phase = 0.0;
            for k in 0..lasts.min(out.len() - i) {
                phase += pitch_hz / rate * (1.0 + 0.003 * self.dice.normal());
                let pulse = if phase >= 1.0 { 20.0 } else { 0.0 };
                phase -= phase.floor();
                let x = if breath { self.dice.normal() } else { pulse + 0.02 * self.dice.normal() };
                let swell = (std::f64::consts::PI * k as f64 / lasts as f64).sin();
                out[i + k] += size * swell * own.iter_mut().map(|r| r.pass(x)).sum::<f64>();
            }
            i += lasts;
        }
        loud(out)
    }

    /// Notes struck to a measure, four voices, and a brush on every beat of it; no measure is kept to better than a player's
    /// part in a hundred.
    pub fn music(&mut self) -> Vec<f64> {
        let rate = self.rate();
        let mut out = self.empty();
        let step_s = 60.0 / self.dice.between(80.0, 160.0) / 2.0;
        let mut at_s = 0.1;
        while at_s < self.lasts_s - 0.1 {
            let voices = (self.dice.part() * 4.0) as usize;
            for _ in 0..voices {
                let hz = 110.0 * 2_f64.powf((self.dice.part() * 36.0).floor() / 12.0);
                let dies_s = self.dice.between(0.15, 0.8);
                let begin = (at_s * rate) as usize;
                let parts: Vec<_> = (1..9).map(|n| (f64::from(n) * hz, self.dice.part() / f64::from(n))).collect();
                for i in begin..(begin + (4.0 * dies_s * rate) as usize).min(out.len()) {
                    let s = (i - begin) as f64 / rate;
                    let sum: f64 =
                        parts.iter().filter(|p| p.0 < 0.45 * rate).map(|(hz, a)| a * (TAU * hz * s).sin()).sum();
                    out[i] += (1.0 - (-s / 3e-3).exp()) * (-s / dies_s).exp() * sum;
                }
            }
            if self.dice.part() < 0.7 {
                let begin = ((at_s + 0.005 * self.dice.normal()).max(0.0) * rate) as usize;
                let mut before = 0.0;
                for i in begin..(begin + (0.08 * rate) as usize).min(out.len()) {
                    let s = (i - begin) as f64 / rate;
                    let x = self.dice.normal();
                    out[i] += 0.5 * (-s / 0.015).exp() * (x - before);
                    before = x;
                }
            }
            at_s += step_s * (1.0 + 0.01 * self.dice.normal());
        }
        loud(out)
    }

    /// Blows now and then, so many a second, each of its own sound; the loudest sample of the loudest is 1.
    pub fn knocks(&mut self, per_s: f64) -> Vec<f64> {
        let rate = self.rate();
        let mut out = self.empty();
        let mut at_s = 0.0;
        loop {
            at_s += -(1.0 - self.dice.part()).ln() / per_s;
            let begin = (at_s * rate) as usize;
            if begin >= out.len() {
                break;
            }
            let (size, dies_s) = (self.dice.between(0.2, 1.0), self.dice.between(1e-3, 2e-2));
            let rings: [(f64, f64); 3] =
                [0; 3].map(|_| (self.dice.between(200.0, 9_000.0).min(0.45 * rate), self.dice.between(0.0, TAU)));
            for i in begin..(begin + (8.0 * dies_s * rate) as usize).min(out.len()) {
                let s = (i - begin) as f64 / rate;
                out[i] +=
                    size * (-s / dies_s).exp() * rings.iter().map(|(hz, p)| (TAU * hz * s + p).sin()).sum::<f64>()
                        / 3.0;
            }
        }
        out
    }

    /// Clicks that are all the same, at a steady measure, over a little noise.
    pub fn clicks(&mut self, each_s: f64) -> Vec<f64> {
        let rate = self.rate();
        let mut out = self.white();
        let quiet = 10_f64.powf(-self.dice.between(1.0, 3.0));
        out.iter_mut().for_each(|x| *x *= 0.1 * quiet);
        let rings: [(f64, f64); 3] =
            [0; 3].map(|_| (self.dice.between(800.0, 9_000.0).min(0.45 * rate), self.dice.between(0.0, TAU)));
        let dies_s = self.dice.between(3e-4, 4e-3);
        let mut at_s = self.dice.between(0.05, 0.3);
        while at_s < self.lasts_s {
            let begin = (at_s * rate).ceil() as usize;
            for i in begin..(begin + (8.0 * dies_s * rate) as usize).min(out.len()) {
                let s = i as f64 / rate - at_s;
                out[i] += 0.5 * (-s / dies_s).exp() * rings.iter().map(|(hz, p)| (TAU * hz * s + p).sin()).sum::<f64>();
            }
            at_s += each_s;
        }
        out
    }

    /// The same in a room: three reflections and a tail that dies by 60 dB in so long; the tail's energy over the sound's
    /// own.
    pub fn room(&mut self, sound: &[f64], dies_s: f64, tail_ratio: f64) -> Vec<f64> {
        let rate = self.rate();
        let length = (dies_s * rate) as usize;
        // Noise that dies away, thinned to some hundred taps: enough of them to fill every millisecond.
        let taps = 400.min(length);
        let mut answer: Vec<(usize, f64)> = (0..taps)
            .map(|_| {
                let at = self.dice.between(5e-4 * rate, length as f64) as usize;
                (at, self.dice.normal() * (-6.9 * at as f64 / length as f64).exp())
            })
            .collect();
        let size = answer.iter().map(|t| t.1 * t.1).sum::<f64>();
        answer.iter_mut().for_each(|t| t.1 *= (tail_ratio / size).sqrt());
        let mut out = sound.to_vec();
        for (at, size) in answer {
            if at < out.len() {
                for (x, s) in out[at..].iter_mut().zip(sound) {
                    *x += size * s;
                }
            }
        }
        out
    }
}

/// Made so loud that its root mean square is 1.
pub fn loud(mut sound: Vec<f64>) -> Vec<f64> {
    let size = (sound.iter().map(|x| x * x).sum::<f64>() / sound.len().max(1) as f64).sqrt().max(1e-12);
    sound.iter_mut().for_each(|x| *x /= size);
    sound
}
