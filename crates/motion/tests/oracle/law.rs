//! The law of a contact: a spring and a damper that never pull, friction that grows to its limit over a small slip.

/// Damping ratio with which a spring and damper that never pull give back a part `rebound_ratio` of the speed of closing,
/// whatever that speed.
///
/// A mass m on a spring k with a damper `2 z sqrt(k m)` comes in at a speed of 1 and leaves when the force, not the depth,
/// is 0. With cos a = z the depth is `exp(-z w t) sin(w t sin a) / (w sin a)`; force and so acceleration are 0 at
/// `w t sin a = 2 a`, where the speed is `-exp(-2 a z / sin a)`. That is solved for z by halving; beyond z = 1 the angle is
/// imaginary and circular functions become hyperbolic ones.
pub fn damping_ratio(rebound_ratio: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1e3);
    for _ in 0..200 {
        let z: f64 = 0.5 * (low + high);
        if returned_ratio(z) > rebound_ratio { low = z } else { high = z }
    }
    0.5 * (low + high)
}

fn returned_ratio(z: f64) -> f64 {
    let part = if z < 1.0 {
        z.acos() / (1.0 - z * z).sqrt()
    } else if z > 1.0 {
        z.acosh() / (z * z - 1.0).sqrt()
    } else {
        1.0
    };
    (-2.0 * z * part).exp()
}

/// Part of its limit that friction reaches at a slip, against it: in proportion up to `full_m_per_s`, then all of it.
#[inline]
pub fn rubbing(slip_m_per_s: f64, full_m_per_s: f64) -> f64 {
    (slip_m_per_s / full_m_per_s).clamp(-1.0, 1.0)
}

/// Force of spring and damper at a depth and a rate of the gap, for the mass that the contact feels; never a pull.
#[inline]
pub fn press_n(stiffness_n_per_m: f64, damping_ratio: f64, mass_kg: f64, depth_m: f64, opening_m_per_s: f64) -> f64 {
    let damper = 2.0 * damping_ratio * (stiffness_n_per_m * mass_kg).sqrt();
    (stiffness_n_per_m * depth_m - damper * opening_m_per_s).max(0.0)
}
