//! The one table of parameters. Schema, documentation, defaults and ranges are all read from it.

use crate::param::IfUnstated::{Absent, Closed, Needed, Of, OfWheel, Value};
use crate::param::Param;
use crate::param::Role::{Bench, Dimension, Motion, Wanted};
use crate::param::Unit::{
    Choice, Count, Degree, MicronewtonMetre, MilligramSquareCentimetre, Millimetre, MillimetrePerSecond, PerHour, Ratio,
};

macro_rules! table {
    ($($kind:ident $path:literal $symbol:literal, $unit:expr, $min:literal..$max:literal, $default:expr, $role:expr, $definition:literal;)*) => {
        /// The kinds of parameters, in the order of the table.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum ParamKind { $(#[doc = $definition] $kind,)* }

        /// Every kind of parameter, one row each.
        pub const TABLE: &[Param] = &[$(Param {
            kind: ParamKind::$kind, path: $path, symbol: $symbol, unit: $unit, min: $min as f64, max: $max as f64,
            default: $default, role: $role, definition: $definition,
        },)*];
    };
}

#[rustfmt::skip]
mod rows {
    use super::*;
    table! {
        WheelToothCount "wheel.tooth_count" "N", Count, 6..60, Needed, Dimension, "Number of teeth of the escape wheel";
        WheelLockingRadius "wheel.locking_radius_mm" "R", Millimetre, 0.2..100, Closed, Dimension, "Distance of the toe (the tooth's locking corner) from the wheel centre";
        WheelHeelRadius "wheel.heel_radius_mm" "Rh", Millimetre, 0.2..150, Closed, Dimension, "Distance of the heel (the tooth's letting-off corner) from the wheel centre";
        WheelToothWidth "wheel.tooth_width_deg" "t", Degree, 0.1..30, Closed, Dimension, "Angle at the wheel centre from toe to heel";
        WheelToothLift "wheel.tooth_lift_deg" "tl", Degree, 0..12, Closed, Wanted, "Share of the lift that the tooth's impulse face gives, in lever degrees, read where tooth_lift_read_on says";
        WheelToothLiftReadOn "wheel.tooth_lift_read_on" "", Choice(&["mean", "entry", "exit"]), 0..2, Value(0.0), Wanted, "The let-off arc on which the tooth's share of the lift is read: of the entry pallet, of the exit pallet, or the mean of both";
        WheelToothFaceAngle "wheel.tooth_face_angle_deg" "f", Degree, 5..95, Absent, Dimension, "Angle at the toe between the impulse face and the outward radius";
        WheelFrontLean "wheel.front_lean_deg" "fl", Degree, 0..45, Value(24.0), Dimension, "Angle at the toe between the tooth front and the radius; the toe leads";
        WheelBackLean "wheel.back_lean_deg" "bl", Degree, -40..60, Value(10.0), Dimension, "Angle at the heel between the back of the heel and the radius; positive when the back slopes away behind the heel";
        WheelHeelDepth "wheel.heel_depth_mm" "hd", Millimetre, 0.005..20, OfWheel(0.05), Dimension, "Length of the straight back of the heel";
        WheelRootRadius "wheel.root_radius_mm" "Rr", Millimetre, 0.1..100, OfWheel(0.78), Dimension, "Radius of the rim between the teeth";
        WheelRimRadius "wheel.rim_radius_mm" "Ri", Millimetre, 0.05..100, OfWheel(0.66), Dimension, "Inner radius of the rim";
        WheelHubRadius "wheel.hub_radius_mm" "Rb", Millimetre, 0.02..80, OfWheel(0.2), Dimension, "Radius of the hub";
        WheelBoreRadius "wheel.bore_radius_mm" "Ra", Millimetre, 0.01..60, OfWheel(0.1), Dimension, "Radius of the bore";
        WheelSpokeCount "wheel.spoke_count" "ns", Count, 0..12, Value(4.0), Dimension, "Number of spokes; 0 for a full web";
        WheelSpokeWidth "wheel.spoke_width_mm" "ws", Millimetre, 0.01..20, OfWheel(0.1), Dimension, "Width of a spoke";
        WheelToeRound "wheel.toe_round_mm" "rt", Millimetre, 0..2, Value(0.0), Dimension, "Radius of the rounding of the toe";
        WheelToeChamfer "wheel.toe_chamfer_mm" "ct", Millimetre, 0..2, Value(0.0), Dimension, "Length taken off each face by a chamfer at the toe";
        WheelHeelRound "wheel.heel_round_mm" "rh", Millimetre, 0..2, Value(0.0), Dimension, "Radius of the rounding of the heel";
        WheelHeelChamfer "wheel.heel_chamfer_mm" "ch", Millimetre, 0..2, Value(0.0), Dimension, "Length taken off each face by a chamfer at the heel";
        WheelRadiusChange "wheel.radius_change_mm" "dR", Millimetre, -2..2, Value(0.0), Bench, "Added to toe and heel radius of every tooth, the rest unchanged (a wheel cut large, or topped)";
        WheelEccentricity "wheel.eccentricity_mm" "e", Millimetre, 0..2, Value(0.0), Bench, "Distance of the toothing's centre from the axis of the arbor (half the total indicator reading)";
        WheelEccentricityAngle "wheel.eccentricity_angle_deg" "ea", Degree, -360..360, Value(0.0), Bench, "Direction of that displacement, anticlockwise from the toe of tooth 0";
        WheelInertia "wheel.inertia_mg_cm2" "Jw", MilligramSquareCentimetre, 0.0000001..100000000, Of(0.018, &[(ParamKind::BalanceInertia, 1)], "0.018 of balance.inertia_mg_cm2"), Motion, "Moment of inertia of escape wheel and pinion, that of the train reflected to them";
        WheelTorque "wheel.torque_un_m" "M", MicronewtonMetre, 0..100000000, Of(15.8, &[(ParamKind::BalanceInertia, 1), (ParamKind::BalanceBeats, 2)], "1.6 of the hairspring's stiffness per radian"), Motion, "Torque on the escape wheel while it advances";
        TrainFriction "wheel.train_friction_ratio" "ft", Ratio, 0..1, Value(0.0), Motion, "Friction of the train as a part of the torque: turned back, the wheel is driven with 1 + twice this";
        ToothLonger "wheel.teeth.*.longer_mm" "dl", Millimetre, -2..2, Value(0.0), Bench, "This tooth's toe and heel stand so much farther from the wheel centre (negative: short)";
        ToothBent "wheel.teeth.*.bent_deg" "db", Degree, -10..10, Value(0.0), Bench, "This tooth is turned about the wheel centre, anticlockwise positive (late)";
        PalletsSpacesSpanned "pallets.spaces_spanned" "k", Ratio, 0.5..12.5, Value(2.5), Dimension, "Tooth spaces spanned by the pallets; a whole number and a half";
        PalletsPlacingRatio "pallets.placing_ratio" "s", Ratio, -0.5..1.5, Closed, Wanted, "Placing of the stones: 0 equidistant lockings, 1/2 circular, 1 equidistant lettings-off";
        PalletLock "pallets.*.lock_deg" "lock", Degree, -5..10, Closed, Wanted, "Lock when the drop ends, in lever degrees";
        PalletLift "pallets.*.lift_deg" "lift", Degree, 1..30, Closed, Wanted, "Lift from unlocking to let-off, in lever degrees";
        PalletBreadth "pallets.*.breadth_deg" "w", Degree, 0.3..30, Closed, Wanted, "Angle at the wheel centre between the circle of the locking corner and that of the let-off corner, both met on the toe circle";
        PalletDrop "pallets.*.drop_deg" "drop", Degree, 0..15, Absent, Wanted, "Free angle of the wheel after this pallet lets go (entry: inside drop; exit: outside drop)";
        PalletDraw "pallets.*.draw_deg" "draw", Degree, -20..45, Closed, Wanted, "Draw from the neutral line (square to the line from pallet centre to contact), at the depth draw_depth_deg";
        PalletDrawDepth "pallets.*.draw_depth_deg" "dd", Degree, 0..10, Value(0.0), Wanted, "Depth of lock, in lever degrees, at which the draw is stated; 0 is at the locking corner as it unlocks";
        PalletLockingDistance "pallets.*.locking_distance_mm" "rhoL", Millimetre, 0.05..200, Closed, Dimension, "Distance of the stone's locking corner from the pallet centre";
        PalletLetOffDistance "pallets.*.let_off_distance_mm" "rhoX", Millimetre, 0.05..200, Closed, Dimension, "Distance of the stone's let-off corner from the pallet centre";
        PalletLockingAngle "pallets.*.locking_angle_deg" "aL", Degree, 0..180, Closed, Dimension, "Angle at the pallet centre from the line to the wheel centre to the locking corner, lever in the middle";
        PalletLetOffAngle "pallets.*.let_off_angle_deg" "aX", Degree, 0..180, Closed, Dimension, "Angle at the pallet centre from the line to the wheel centre to the let-off corner, lever in the middle";
        StoneWidth "pallets.*.stone_width_mm" "b", Millimetre, 0.005..40, Closed, Dimension, "Width of the stone, square to its locking face";
        StoneFaceAngle "pallets.*.impulse_face_angle_deg" "fi", Degree, -60..80, Closed, Dimension, "Angle between the impulse face and a cut square to the locking face; positive when the let-off corner reaches farther toward the wheel";
        StoneLength "pallets.*.stone_length_mm" "ls", Millimetre, 0.05..60, OfWheel(0.42), Dimension, "Length of the locking side of the stone";
        StoneImpulseDome "pallets.*.impulse_dome_mm" "hi", Millimetre, 0..0.5, Value(0.0), Dimension, "Rise of a domed impulse face over its chord, in the middle; 0 is flat";
        StoneLockingDome "pallets.*.locking_dome_mm" "hl", Millimetre, 0..0.5, Value(0.0), Dimension, "Rise of a domed locking face over its chord, in the middle of the stone's length; 0 is flat";
        StoneLockingRound "pallets.*.locking_corner_round_mm" "rL", Millimetre, 0..2, Value(0.0), Dimension, "Radius of the rounding of the locking corner";
        StoneLockingChamfer "pallets.*.locking_corner_chamfer_mm" "cL", Millimetre, 0..2, Value(0.0), Dimension, "Length taken off each face by a chamfer at the locking corner";
        StoneLetOffRound "pallets.*.let_off_corner_round_mm" "rX", Millimetre, 0..2, Value(0.0), Dimension, "Radius of the rounding of the let-off corner";
        StoneLetOffChamfer "pallets.*.let_off_corner_chamfer_mm" "cX", Millimetre, 0..2, Value(0.0), Dimension, "Length taken off each face by a chamfer at the let-off corner";
        StoneOut "pallets.*.stone_out_mm" "so", Millimetre, -2..2, Value(0.0), Bench, "Stone moved along its slot, parallel to its locking face; positive is out, toward the wheel";
        StoneTilt "pallets.*.stone_tilt_deg" "st", Degree, -20..20, Value(0.0), Bench, "Stone turned in its slot about the tilt pivot; positive gives more draw";
        StoneTiltPivot "pallets.*.stone_tilt_pivot_mm" "sp", Millimetre, -5..20, Value(0.0), Bench, "Distance of the tilt pivot up the locking face from the locking corner; 0 is the corner";
        StoneLean "pallets.*.stone_lean_deg" "sl", Degree, -30..30, Value(0.0), Bench, "Stone rolled about its long axis out of upright; the wheel's plane then cuts it wider by 1/cos";
        StoneSpread "pallets.*.stone_spread_mm" "ss", Millimetre, -2..2, Value(0.0), Bench, "Stone moved away from the line of centres, square to it";
        StoneThicker "pallets.*.stone_thicker_mm" "sk", Millimetre, -2..2, Value(0.0), Bench, "Stone thicker on its let-off side, square to the locking face: the let-off corner moves, and the impulse face runs from the locking corner to it, so its angle changes";
        LeverOutOfAngle "lever.out_of_angle_deg" "oa", Degree, -5..5, Closed, Wanted, "Middle of the travel between the two let-offs, from the fork in the middle; anticlockwise positive";
        LeverLineAngle "lever.line_angle_deg" "la", Degree, -180..180, Value(0.0), Dimension, "Angle at the pallet centre from the line of centres, produced, to the balance centre; 0 in-line lever, 90 right-angled, anticlockwise positive";
        LeverBarWidth "lever.bar_width_mm" "wb", Millimetre, 0.01..20, OfWheel(0.14), Dimension, "Width of the lever bar, on whose sides the bankings bear";
        LeverArmWidth "lever.arm_width_mm" "wa", Millimetre, 0.01..20, OfWheel(0.2), Dimension, "Width of the pallet arms";
        LeverInertia "lever.inertia_mg_cm2" "Jl", MilligramSquareCentimetre, 0.0000001..100000000, Of(0.016, &[(ParamKind::BalanceInertia, 1)], "0.016 of balance.inertia_mg_cm2"), Motion, "Moment of inertia of lever, stones and arbor about the pallet axis";
        LeverPivotFriction "lever.pivot_friction_un_m" "Rl", MicronewtonMetre, 0..100000000, Value(0.0), Motion, "Friction torque of the lever's pivots";
        ForkLength "fork.length_mm" "l", Millimetre, 0.1..300, Closed, Dimension, "Distance from the pallet centre to the jewel's centre as it enters the notch";
        ForkRatioOfRadii "fork.ratio_of_radii" "q", Ratio, 0.5..20, Absent, Wanted, "Fork length divided by the jewel's distance from the balance centre";
        ForkNotchWidth "fork.notch_width_mm" "wn", Millimetre, 0.01..20, Closed, Dimension, "Width of the fork notch";
        ForkNotchFreedom "fork.notch_freedom_mm" "nf", Millimetre, 0..2, Closed, Wanted, "Notch width less jewel width";
        ForkNotchDepth "fork.notch_depth_mm" "nd", Millimetre, 0.01..30, Closed, Dimension, "Depth of the notch from its mouth";
        ForkHornLength "fork.horn_length_mm" "hn", Millimetre, 0..50, Closed, Dimension, "Length of a horn along its inner curve, from the notch corner";
        ForkHornFreedom "fork.horn_freedom_deg" "hf", Degree, 0..10, Closed, Wanted, "Lever angle from the banking at which the horn meets the jewel's circle";
        ForkBend "fork.bend_mm" "fb", Millimetre, -2..2, Value(0.0), Bench, "Fork bent sideways, measured at the notch; anticlockwise positive";
        ForkLonger "fork.longer_mm" "fx", Millimetre, -2..2, Value(0.0), Bench, "Fork head moved away from the pallet centre along the bar (stretched; negative: shortened)";
        GuardForm "guard.form" "", Choice(&["dart", "pin"]), 0..1, Closed, Dimension, "Guard: a dart, or an upright pin, which stands in the lever behind the notch; dart with a double roller, pin with a single one";
        GuardReach "guard.reach_mm" "gr", Millimetre, 0.1..300, Closed, Dimension, "Distance of the guard's tip from the pallet centre";
        GuardFreedom "guard.freedom_deg" "gf", Degree, 0..10, Closed, Wanted, "Lever angle from the banking to the guard touching the safety roller";
        GuardWidth "guard.width_mm" "gw", Millimetre, 0.005..10, OfWheel(0.05), Dimension, "Width of the dart at its root, or diameter of the guard pin";
        GuardTipRound "guard.tip_round_mm" "gt", Millimetre, 0..5, OfWheel(0.008), Dimension, "Radius of the dart's tip";
        GuardBend "guard.bend_mm" "gb", Millimetre, -2..2, Value(0.0), Bench, "Guard bent sideways, measured at its tip; anticlockwise positive";
        GuardLonger "guard.longer_mm" "gx", Millimetre, -2..2, Value(0.0), Bench, "Guard brought forward (lengthened; negative: shortened)";
        JewelShape "jewel.shape" "", Choice(&["half_moon", "oval", "round", "triangular"]), 0..3, Value(0.0), Dimension, "Section of the impulse jewel";
        JewelWidth "jewel.width_mm" "wj", Millimetre, 0.01..20, Closed, Dimension, "Width of the jewel across the fork";
        JewelWidthAngle "jewel.width_deg" "wja", Degree, 1..60, Closed, Wanted, "Width of the jewel as an angle at the balance centre";
        JewelCutRatio "jewel.cut_ratio" "cj", Ratio, 0..0.9, Value(0.4), Dimension, "Part of the diameter cut away from a half-moon jewel, or by which an oval is flattened";
        JewelOut "jewel.out_mm" "jo", Millimetre, -2..2, Value(0.0), Bench, "Jewel set farther from the balance centre";
        JewelLean "jewel.lean_deg" "jl", Degree, -30..30, Value(0.0), Bench, "Jewel leaning out of upright, in the direction lean_direction_deg";
        JewelLeanDirection "jewel.lean_direction_deg" "jd", Degree, -360..360, Value(0.0), Bench, "Direction of that lean: 0 outward, anticlockwise positive";
        JewelHeight "jewel.height_mm" "jh", Millimetre, 0..20, OfWheel(0.1), Dimension, "Height of the lever's plane over the root of the jewel; a lean moves the jewel there by height times tangent";
        RollerForm "roller.form" "", Choice(&["double", "single"]), 0..1, Closed, Dimension, "Double roller (own safety roller) or single roller (crescent in the one roller); double unless guard.form is pin";
        RollerJewelDistance "roller.jewel_distance_mm" "r", Millimetre, 0.02..100, Closed, Dimension, "Distance of the jewel's centre from the balance centre";
        RollerRadius "roller.radius_mm" "ro", Millimetre, 0.02..120, Closed, Dimension, "Radius of the impulse roller";
        RollerSafetyRadius "roller.safety_radius_mm" "rg", Millimetre, 0.02..120, Closed, Dimension, "Radius of the safety roller (double), or of the guarded edge (single)";
        RollerSafetyRatio "roller.safety_ratio" "qg", Ratio, 0.2..2, Closed, Wanted, "Safety radius divided by the jewel's distance from the balance centre";
        RollerCrescent "roller.crescent_half_angle_deg" "cr", Degree, 2..60, Closed, Dimension, "Half the width of the crescent (passing hollow), as an angle at the balance centre";
        RollerCrescentDepth "roller.crescent_depth_mm" "cd", Millimetre, 0.005..60, Closed, Dimension, "Depth of the crescent below the roller's edge";
        RollerTurn "roller.turn_deg" "tu", Degree, -180..180, Value(0.0), Bench, "Roller turned on the staff: the jewel stands so far from the line of centres when the balance is at rest; anticlockwise positive";
        RollerCrescentTurn "roller.crescent_turn_deg" "tc", Degree, -60..60, Value(0.0), Bench, "Safety roller turned against the impulse roller; anticlockwise positive";
        BalanceLift "balance.lift_deg" "lb", Degree, 5..120, Closed, Wanted, "Lift at the balance: from the jewel meeting the notch, lever on its banking, to let-off, run included; the mean of both pallets where they differ";
        BalanceLiftOfRadii "balance.lift_of_radii_deg" "lr", Degree, 5..120, Closed, Wanted, "Balance angle of the lever's travel between the let-offs by the radii alone: jewel's centre on the fork's middle at both ends, no freedom, no run";
        BalanceHeardLift "balance.heard_lift_deg" "lh", Degree, 5..120, Of(1.0, &[(ParamKind::BalanceLift, 1)], "balance.lift_deg, the geometric lift"), Motion, "Lift by which an amplitude is read from the sound, such as an effective lift; no part is made by it";
        BalanceInertia "balance.inertia_mg_cm2" "Jb", MilligramSquareCentimetre, 0.00001..1000000000, Of(1e4, &[(ParamKind::WheelLockingRadius, 5)], "10,000 kg/m3 times the fifth power of the locking radius"), Motion, "Moment of inertia of the balance";
        BalanceBeats "balance.beats_per_hour" "n", PerHour, 1800..72000, Value(18000.0), Motion, "Beats an hour of the free balance: with its inertia, the stiffness of the hairspring";
        BalanceQuality "balance.quality_ratio" "Q", Ratio, 2..100000, Value(250.0), Motion, "Quality factor of the balance at quality_amplitude_deg: 2 pi times the energy it has over what it loses in an oscillation";
        BalanceQualityAmplitude "balance.quality_amplitude_deg" "Aq", Degree, 10..340, Value(270.0), Motion, "Amplitude at which the quality factor is stated";
        BalanceDryLoss "balance.dry_loss_ratio" "sd", Ratio, 0..1, Value(0.25), Motion, "Part of that loss which is dry friction at the pivots; the rest grows with the speed";
        SpringCubic "balance.spring_cubic_ratio" "c3", Ratio, -0.02..0.02, Value(0.0), Motion, "How the hairspring departs from a straight line: its torque is k a (1 + c3 a2), a in radians";
        CentresWheelPallet "centres.wheel_pallet_mm" "C", Millimetre, 0.2..300, Closed, Dimension, "Distance from wheel centre to pallet centre";
        CentresPalletBalance "centres.pallet_balance_mm" "D", Millimetre, 0.2..400, Closed, Dimension, "Distance from pallet centre to balance centre";
        CentresWheelPalletChange "centres.wheel_pallet_change_mm" "dC", Millimetre, -2..2, Value(0.0), Bench, "Wheel and pallet centres farther apart than the parts were made for";
        CentresPalletBalanceChange "centres.pallet_balance_change_mm" "dD", Millimetre, -2..2, Value(0.0), Bench, "Pallet and balance centres farther apart than the parts were made for";
        BankingsForm "bankings.form" "", Choice(&["pins", "walls"]), 0..1, Value(0.0), Dimension, "Banking pins or solid walls";
        BankingsDistance "bankings.distance_mm" "pd", Millimetre, 0.05..300, Closed, Dimension, "Distance from the pallet centre, along the bar, at which the lever meets a banking";
        BankingsPinRadius "bankings.pin_radius_mm" "pr", Millimetre, 0.01..10, OfWheel(0.06), Dimension, "Radius of a banking pin";
        BankingRun "bankings.*.run_deg" "run", Degree, -2..5, Closed, Wanted, "Run: lever angle from the drop on this pallet to the banking";
        BankingLeverAngle "bankings.*.lever_angle_deg" "ba", Degree, -5..40, Closed, Dimension, "Lever angle at this banking, from the fork in the middle, counted positive on both sides (entry: lever turned anticlockwise)";
        BankingOpen "bankings.*.open_mm" "bo", Millimetre, -2..2, Value(0.0), Bench, "Banking moved away from the lever, square to the bar";
        WheelSideshake "pivots.wheel_sideshake_mm" "fw", Millimetre, 0..0.5, Value(0.0), Dimension, "Freedom of the escape wheel's pivots in their holes (hole less pivot diameter)";
        PalletSideshake "pivots.pallet_sideshake_mm" "fp", Millimetre, 0..0.5, Value(0.0), Dimension, "Freedom of the pallet arbor's pivots in their holes";
        BalanceSideshake "pivots.balance_sideshake_mm" "fs", Millimetre, 0..0.5, Value(0.0), Dimension, "Freedom of the balance pivots in their holes";
        WheelAlong "pivots.wheel_along_mm" "pwy", Millimetre, -1..1, Value(0.0), Bench, "Escape wheel's axis shifted along the line of centres, toward the pallets";
        WheelAcross "pivots.wheel_across_mm" "pwx", Millimetre, -1..1, Value(0.0), Bench, "Escape wheel's axis shifted across the line of centres, to the right";
        PalletAlong "pivots.pallet_along_mm" "ppy", Millimetre, -1..1, Value(0.0), Bench, "Pallet axis shifted along the line of centres, away from the wheel";
        PalletAcross "pivots.pallet_across_mm" "ppx", Millimetre, -1..1, Value(0.0), Bench, "Pallet axis shifted across the line of centres, to the right";
        BalanceAlong "pivots.balance_along_mm" "pby", Millimetre, -1..1, Value(0.0), Bench, "Balance axis shifted along the line of centres, away from the wheel";
        BalanceAcross "pivots.balance_across_mm" "pbx", Millimetre, -1..1, Value(0.0), Bench, "Balance axis shifted across the line of centres, to the right";
        StoneFriction "surfaces.stone_friction_ratio" "mus", Ratio, 0..2, Value(0.12), Motion, "Coefficient of friction of tooth and stone";
        JewelFriction "surfaces.jewel_friction_ratio" "muj", Ratio, 0..2, Value(0.12), Motion, "Coefficient of friction of jewel and fork";
        GuardFriction "surfaces.guard_friction_ratio" "mug", Ratio, 0..2, Value(0.15), Motion, "Coefficient of friction of guard and safety roller";
        StoneRebound "surfaces.stone_rebound_ratio" "es", Ratio, 0..0.95, Value(0.3), Motion, "Restitution of tooth and stone: speed of separation over speed of approach";
        JewelRebound "surfaces.jewel_rebound_ratio" "ej", Ratio, 0..0.95, Value(0.3), Motion, "Restitution of jewel and fork";
        GuardRebound "surfaces.guard_rebound_ratio" "eg", Ratio, 0..0.95, Value(0.3), Motion, "Restitution of guard and safety roller";
        BankingRebound "surfaces.banking_rebound_ratio" "eb", Ratio, 0..0.95, Value(0.3), Motion, "Restitution of lever and banking";
        KeepSpeed "surfaces.keep_mm_per_s" "vk", MillimetrePerSecond, 0.1..100, Value(5.0), Motion, "Speed of approach below which two parts stay together";
    }
}
pub use rows::{ParamKind, TABLE};
