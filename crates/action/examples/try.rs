//! Prints the action of a movement given as key=value pairs; for looking at while developing.

use ParamKind as K;
use movement::*;
fn main() {
    let mut v = Values::default();
    let d = f64::to_radians;
    v.set(K::WheelToothCount.once(), 15.0);
    v.set(K::WheelLockingRadius.once(), 2.5e-3);
    for a in std::env::args().skip(1) {
        let (k, x) = a.split_once('=').unwrap();
        for id in ParamId::from_path(k).unwrap() {
            let u = id.param().unit;
            v.set(id, u.to_si(x.parse().unwrap()));
        }
    }
    let _ = d;
    let b = parts::build(&v).unwrap_or_else(|e| {
        for x in &e {
            println!("{}: {} {:?}", x.code, x.message, x.hint)
        }
        std::process::exit(1)
    });
    let mut s = action::Scratch::default();
    let a = action::solve(&b.parts, &mut s);
    println!("{:?} {:?} notch {:?}", a.bankings_rad.map(|x| x.map(f64::to_degrees)), a.broken, a.notch);
    for (i, p) in a.beats.iter().enumerate() {
        let g = |x: f64| x.to_degrees();
        println!(
            "{:?} t{} lock {:.4} total {:.4} lift {:.4} ({:.4}+{:.4}) drop {:.4} ({:.4} mm) travel {:.4} recoil {:.4} run {:.4} unlock {:.4} letoff {:.4} draw@land {:.4} draw@corner {:.4} depth {:.2}um {:.3} rear {:?}",
            p.pallet,
            p.tooth,
            g(p.lock_rad),
            g(p.total_lock_rad),
            g(p.lift_rad),
            g(p.lift_on_stone_rad),
            g(p.lift_on_tooth_rad),
            g(p.drop_rad),
            p.drop_m * 1e3,
            g(p.travel_rad),
            g(p.recoil_from_drop_rad),
            g(p.run_rad),
            g(p.unlocking.lever_rad),
            g(p.let_off.lever_rad),
            g(p.landing.draw_rad),
            g(p.face_end.draw_rad),
            p.lock_depth_m * 1e6,
            p.total_lock_of_face_ratio,
            a.rear[i].map(|r| (r.gap_m * 1e3, g(r.lever_rad)))
        );
        for s in &p.segments {
            println!(
                "    {:?}x{:?} lever {:.4}->{:.4} wheel {:.4}->{:.4} ratio {:.3}->{:.3} slide {:.3} fall {:.2e}",
                s.from.tooth_face,
                s.from.stone_face,
                g(s.from.lever_rad),
                g(s.to.lever_rad),
                g(s.from.wheel_rad),
                g(s.to.wheel_rad),
                1.0 / s.from.torque_ratio(p.pallet),
                1.0 / s.to.torque_ratio(p.pallet),
                s.from.sliding_m * 1e3,
                s.fall_rad
            );
        }
        let f = &a.fork[i];
        let o = |x: Option<f64>| x.map(|v| (v.to_degrees() * 1e4).round() / 1e4);
        println!(
            "    fork engage {:?} {:?} {} release {:?} lift {:?} norun {:?} strikes {:?} guard {:?} horn {:?}-{:?} holds g {:.2} h {:.2} overbank {} knock {:?} btd {:?} {:?} {:?}",
            o(f.engaging_rad),
            f.engaging_face,
            f.enters,
            o(f.releasing_rad),
            o(f.balance_lift_rad),
            o(f.balance_lift_no_run_rad),
            f.leaving_strikes,
            o(f.guard_freedom_rad),
            o(f.horn_freedom_rad),
            o(f.horn_freedom_largest_rad),
            g(f.guard_holds_from_rad),
            g(f.horn_holds_to_rad),
            f.can_overbank,
            o(f.knocking_rad),
            o(f.banked_to_drop.guard_freedom_rad),
            o(f.banked_to_drop.horn_freedom_rad),
            f.banked_to_drop.jewel_strikes
        );
    }
}
