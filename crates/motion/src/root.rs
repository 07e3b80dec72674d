//! Where a function of one variable passes 0.

/// Where a function that is positive at 0 and negative at `end` first passes 0, nearly, to a part of `end`;
/// 0 where it is not positive at the start.
///
/// Chords, the end that stays weighed down: N. Anderson, A. Bjorck, BIT 13 (1973) 253-264 (from memory).
pub(crate) fn root(end: f64, located_ratio: f64, value: impl Fn(f64) -> f64) -> f64 {
    let ends = [value(0.0), value(end)];
    root_between(end, ends, located_ratio, value)
}

/// The same with what the function is at 0 and at the end.
pub(crate) fn root_between(end: f64, ends: [f64; 2], located_ratio: f64, value: impl Fn(f64) -> f64) -> f64 {
    let (mut old, mut new) = (0.0, end);
    let [mut at_old, mut at_new] = ends;
    if at_old <= 0.0 {
        return 0.0;
    }
    for _ in 0..100 {
        let (low, high) = (f64::min(old, new), f64::max(old, new));
        let mut next = new - at_new * (new - old) / (at_new - at_old);
        if !(next > low && next < high) {
            next = 0.5 * (low + high);
        }
        if high - low <= located_ratio * end || next == low || next == high {
            break;
        }
        let at_next = value(next);
        if at_next == 0.0 {
            return next;
        }
        if (at_next < 0.0) == (at_new < 0.0) {
            let weight = 1.0 - at_next / at_new;
            at_old *= if weight > 0.0 { weight } else { 0.5 };
        } else {
            (old, at_old) = (new, at_new);
        }
        (new, at_new) = (next, at_next);
    }
    if at_new < 0.0 { new } else { old }
}
