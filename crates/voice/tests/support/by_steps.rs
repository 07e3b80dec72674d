//! The sound of one impact by another route: each mode as a mass on a spring, pushed by the force and integrated in time by
//! the classical method of Runge and Kutta, in steps far below a sample. Nothing here is limited in band.

use std::f64::consts::{PI, TAU};

use voice::{Blow, Impact, MODES, Mode};

/// Steps while a blow lasts: it ends with one of them.
const BLOW_STEPS: f64 = 24.0;
/// So long it is followed, s: fifteen times as long as the slowest mode dies away.
const LASTS_S: f64 = 0.06;
/// Edge of the contact microphone, Hz, as docs/theory/voice.md gives it.
const HIGH_PASS_HZ: f64 = 30.0;

/// Position and speed of every mode, and what the high-pass takes off.
fn rates(state: &[f64], force_n: f64, modes: &[(Mode, f64)]) -> Vec<f64> {
    let mut out = vec![0.0; state.len()];
    let mut speed = 0.0;
    for (i, (mode, sign)) in modes.iter().enumerate() {
        let (x, v) = (state[2 * i], state[2 * i + 1]);
        let w = TAU * mode.natural_hz;
        out[2 * i] = v;
        out[2 * i + 1] = sign * force_n / mode.mass_kg - w / mode.quality_ratio * v - w * w * x;
        speed += v;
    }
    let last = state.len() - 1;
    out[last] = TAU * HIGH_PASS_HZ * (speed - state[last]);
    out
}

/// Speed heard at each step since the impact, m/s, and the step, s.
pub fn speeds(impact: &Impact, highest_hz: f64, other_side: bool) -> (Vec<f64>, f64) {
    let blow = Blow::of(impact);
    let step_s = blow.lasts_s / BLOW_STEPS;
    let heard = MODES.into_iter().filter(|m| impact.meeting.excites(m.part) && m.natural_hz <= highest_hz);
    let modes: Vec<(Mode, f64)> = heard.map(|m| (m, if m.is_odd && other_side { -1.0 } else { 1.0 })).collect();
    let peak_n = 0.5 * PI * blow.impulse_kg_m_per_s / blow.lasts_s;
    let force_n = |t_s: f64| if t_s < blow.lasts_s { peak_n * (PI * t_s / blow.lasts_s).sin() } else { 0.0 };
    let mut state = vec![0.0; 2 * modes.len() + 1];
    let mut out = Vec::new();
    for n in 0..(LASTS_S / step_s) as usize {
        let speed: f64 = (0..modes.len()).map(|i| state[2 * i + 1]).sum();
        out.push(speed - state[2 * modes.len()]);
        let t_s = n as f64 * step_s;
        let from = |by: &[f64], h_s: f64| -> Vec<f64> { state.iter().zip(by).map(|(x, k)| x + h_s * k).collect() };
        let a = rates(&state, force_n(t_s), &modes);
        let b = rates(&from(&a, 0.5 * step_s), force_n(t_s + 0.5 * step_s), &modes);
        let c = rates(&from(&b, 0.5 * step_s), force_n(t_s + 0.5 * step_s), &modes);
        let d = rates(&from(&c, step_s), force_n(t_s + step_s), &modes);
        for (i, x) in state.iter_mut().enumerate() {
            *x += step_s / 6.0 * (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]);
        }
    }
    (out, step_s)
}
