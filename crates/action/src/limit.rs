//! Accepted limits of figures, each with where it comes from. Sources disagree; each row says whose it is.

/// A range that a figure is expected to lie in. SI units.
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    /// Path of the figure, `*` for the pallet.
    pub figure: &'static str,
    /// Least accepted value in the figure's unit at the edge.
    pub least: f64,
    /// Largest accepted value in the figure's unit at the edge.
    pub most: f64,
    /// Where the range comes from.
    pub source: &'static str,
    /// What too little means at the bench.
    pub below: &'static str,
    /// What too much means at the bench; empty where there is no upper end.
    pub above: &'static str,
    /// Parameters that move the figure most directly; `*` for the same pallet, `^` for the other one.
    pub moved_by: &'static [&'static str],
}

const HANDBOOK: &str = "Watch and Clock Escapements, 1904, ch. I";
const COMMON: &str = "common practice, no source";
const STANDARDS: &str =
    "American Watchmakers-Clockmakers Institute, Watchmaking standards, pages on lock and on guard pin shake";

/// The table of accepted limits.
pub const LIMITS: &[Limit] = &[
    Limit {
        figure: "*.lock_deg",
        least: 0.5,
        most: 3.0,
        source: "0.75 to 1.5 deg: Watch and Clock Escapements, 1904, ch. I; up to 3 deg is drawn in Headrick, Clock and Watch Escapement Mechanics, 1997, ch. 13; below 0.5 deg: common practice, no source",
        below: "a worn or uneven tooth may not lock",
        above: "unlocking takes the balance's energy",
        moved_by: &["pallets.*.stone_out_mm", "pallets.^.stone_out_mm", "centres.wheel_pallet_change_mm"],
    },
    Limit {
        figure: "*.drop_deg",
        least: 0.5,
        most: 2.5,
        source: "0.75 to 1.5 deg: Watch and Clock Escapements, 1904, near fig. 108; 2 deg: Headrick, 1997; margins of 0.25 and 0.5 deg are assumed",
        below: "tooth and stone back may touch",
        above: "loud and wasteful",
        moved_by: &["pallets.*.stone_thicker_mm", "pallets.*.stone_spread_mm", "pallets.^.stone_spread_mm"],
    },
    Limit {
        figure: "*.draw_unlocking_deg",
        least: 8.0,
        most: 16.0,
        source: "10 to 15 deg: Watch and Clock Escapements, 1904, and Headrick, 1997; 12 to 15 common practice; measured at the corner, where a draw laid off from the radius is up to 3 deg less",
        below: "the lever does not return to its banking",
        above: "hard to unlock",
        moved_by: &["pallets.*.stone_tilt_deg", "pallets.*.draw_deg"],
    },
    Limit {
        figure: "*.run_deg",
        least: 0.0,
        most: 0.75,
        source: "0.25 to 0.5 deg: common practice, no source; 'a trifle': Kleinlein, Rules and Practice for Adjusting Watches, 1920, sec. 25",
        below: "the lever may meet its banking before let-off",
        above: "more unlocking work, larger lift",
        moved_by: &["bankings.*.open_mm", "pallets.^.stone_out_mm", "fork.bend_mm"],
    },
    Limit {
        figure: "*.safety_lock_guard_deg",
        least: 0.25,
        most: f64::INFINITY,
        source: "guard shake < total lock: American Watchmakers-Clockmakers Institute, Watchmaking standards; 0.75 deg in a worked set; margin of 0.25 deg assumed",
        below: "a jolt may unlock the tooth before the guard holds",
        above: "",
        moved_by: &["guard.longer_mm", "guard.reach_mm", "pallets.*.stone_out_mm"],
    },
    Limit {
        figure: "*.safety_lock_horn_deg",
        least: 0.1,
        most: f64::INFINITY,
        source: "horn clearance < total lock: American Watchmakers-Clockmakers Institute, Watchmaking standards; margin of 0.1 deg assumed",
        below: "a jolt may unlock the tooth while the guard is over the crescent",
        above: "",
        moved_by: &["jewel.out_mm", "fork.horn_freedom_deg", "pallets.*.stone_out_mm"],
    },
    Limit {
        figure: "*.rear_freedom_um",
        least: 5.0,
        most: f64::INFINITY,
        source: "back of stone and tooth must never touch: Kleinlein, Rules and Practice for Adjusting Watches, 1920, sec. 25; margin of 5 um assumed",
        below: "the back of the stone comes near a tooth",
        above: "",
        moved_by: &[
            "pallets.*.stone_thicker_mm",
            "pallets.*.stone_spread_mm",
            "centres.wheel_pallet_change_mm",
            "pallets.*.breadth_deg",
        ],
    },
    Limit {
        figure: "*.balance_lift_deg",
        least: 25.0,
        most: 75.0,
        source: "30 and 40 deg: Watch and Clock Escapements, 1904, p. 55; 48 to 54 deg today: common practice, no source; margins assumed",
        below: "an unusually small lift: the impulse is short",
        above: "an unusually large lift: the balance is disturbed over a long arc",
        moved_by: &["bankings.*.open_mm", "jewel.out_mm", "fork.ratio_of_radii", "balance.lift_deg"],
    },
    Limit {
        figure: "*.knocking_deg",
        least: 300.0,
        most: f64::INFINITY,
        source: "312 to 334 deg for usual forks, derived; reports from 330 deg on; amplitudes of 315 deg are reached",
        below: "the jewel strikes the outside of the fork at an amplitude that a strong mainspring may reach",
        above: "",
        moved_by: &["bankings.*.open_mm", "fork.horn_length_mm", "jewel.width_mm"],
    },
    Limit {
        figure: "out_of_angle_deg",
        least: -0.5,
        most: 0.5,
        source: COMMON,
        below: "out of angle, clockwise: the lever is let off farther on the exit banking's side than on the other",
        above: "out of angle, anticlockwise: the lever is let off farther on the entry banking's side than on the other",
        moved_by: &["fork.bend_mm", "pallets.entry.stone_out_mm", "pallets.exit.stone_out_mm"],
    },
    Limit {
        figure: "out_of_beat_deg",
        least: -2.0,
        most: 2.0,
        source: COMMON,
        below: "out of beat: at rest the jewel stands clockwise of the middle, and the beats are unequal",
        above: "out of beat: at rest the jewel stands anticlockwise of the middle, and the beats are unequal",
        moved_by: &["roller.turn_deg", "bankings.entry.open_mm", "bankings.exit.open_mm"],
    },
    Limit {
        figure: "notch_freedom_deg",
        least: 0.02,
        most: 1.0,
        source: COMMON,
        below: "the jewel binds in the notch",
        above: "lift is lost",
        moved_by: &["fork.notch_width_mm", "jewel.width_mm"],
    },
];

/// Least friction of tooth on stone that is counted on: 0.10 to 0.20 in a watch, common practice; 0.15 steel on sapphire,
/// E. Hahn, note of 31 Jan 2000, quoting the CRC Handbook.
pub(crate) const FRICTION_RATIO: f64 = 0.10;
pub(crate) const FRICTION_SOURCE: &str =
    "draw must exceed the angle of friction; friction 0.10, the least usual in a watch: common practice, no source";

/// Sources quoted by findings that have no range.
pub(crate) const GEOMETRY: &str = "follows from the geometry";
pub(crate) const ORDER_SOURCE: &str = STANDARDS;
pub(crate) const BANKED_SOURCE: &str = "Kleinlein, Rules and Practice for Adjusting Watches, 1920, sec. 25";
pub(crate) const LANDING_SOURCE: &str = HANDBOOK;
