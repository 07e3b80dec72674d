//! How loud a band of a sound is, some thousand times a second, as it comes.

use std::f64::consts::TAU;

/// Values a second, about: chosen, so that the flank of a shock has some.
const VALUES_HZ: f64 = 16_000.0;

/// A filter of second order: R. Bristow-Johnson's equations, dimensionless (from memory), Q of Butterworth's for one stage.
#[derive(Clone, Copy, Debug)]
struct Stage {
    b: [f64; 3],
    a: [f64; 2],
    x: [f64; 2],
    y: [f64; 2],
}

impl Stage {
    /// Lets through what is above (`high`) or below an edge.
    fn new(edge_hz: f64, rate_hz: f64, high: bool) -> Stage {
        let angle = TAU * edge_hz / rate_hz;
        let (s, c) = angle.sin_cos();
        let alpha = s / std::f64::consts::SQRT_2;
        let a0 = 1.0 + alpha;
        let (edge, middle) = if high { (0.5 * (1.0 + c), -(1.0 + c)) } else { (0.5 * (1.0 - c), 1.0 - c) };
        Stage {
            b: [edge / a0, middle / a0, edge / a0],
            a: [-2.0 * c / a0, (1.0 - alpha) / a0],
            x: [0.0; 2],
            y: [0.0; 2],
        }
    }

    #[inline]
    fn pass(&mut self, x: f64) -> f64 {
        let y = self.b[0] * x + self.b[1] * self.x[0] + self.b[2] * self.x[1]
            - self.a[0] * self.y[0]
            - self.a[1] * self.y[1];
        self.x = [x, self.x[0]];
        self.y = [y, self.y[0]];
        y
    }
}

/// Loudness of a band.
#[derive(Clone, Debug)]
pub(crate) struct Envelope {
    stages: Vec<Stage>,
    /// Samples to a value, and those that the next one has already.
    each: usize,
    have: usize,
    power: f64,
    /// Values a second.
    pub(crate) rate_hz: f64,
}

impl Envelope {
    /// Of the band between two edges; an edge at or beyond what the sampling has is none.
    pub(crate) fn new(edges_hz: [f64; 2], rate_hz: u32) -> Envelope {
        let rate = f64::from(rate_hz);
        let each = ((rate / VALUES_HZ).round() as usize).max(1);
        let mut stages = vec![Stage::new(edges_hz[0], rate, true)];
        if edges_hz[1] < 0.45 * rate {
            stages.push(Stage::new(edges_hz[1], rate, false));
        }
        Envelope { stages, each, have: 0, power: 0.0, rate_hz: rate / each as f64 }
    }

    /// Adds the loudness of samples to what is there.
    pub(crate) fn push(&mut self, sound: &[f32], out: &mut Vec<f32>) {
        // States are held in registers on the way: this is passed by every sample.
        match self.stages[..] {
            [mut one] => {
                self.pass(sound, out, |x| one.pass(x));
                self.stages = vec![one];
            }
            [mut one, mut two] => {
                self.pass(sound, out, |x| two.pass(one.pass(x)));
                self.stages = vec![one, two];
            }
            _ => self.pass(sound, out, |x| x),
        }
    }

    #[inline]
    fn pass(&mut self, sound: &[f32], out: &mut Vec<f32>, mut filter: impl FnMut(f64) -> f64) {
        let (mut have, mut power) = (self.have, self.power);
        for &x in sound {
            let y = filter(f64::from(x));
            power += y * y;
            have += 1;
            if have == self.each {
                out.push((power / self.each as f64).sqrt() as f32);
                (have, power) = (0, 0.0);
            }
        }
        (self.have, self.power) = (have, power);
    }
}
