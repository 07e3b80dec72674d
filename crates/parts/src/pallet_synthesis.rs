//! Wheel and pallets from whatever was stated: the system of twelve unknowns, its default equations, and what is
//! reported when statements cannot hold together.

use movement::{ByPallet, Diagnostic, Movement, Origin, Pallet, ParamId, ParamKind as K, Unit};
use std::f64::consts::PI;

use crate::build::{exactly, within_ranges};
use crate::closed_form::{Drawn, Frame, Placed, Quantity, StoneDims, UNKNOWNS};
use crate::closing::{Clash, Equation, NotClosed, System, close_system};
use crate::explain::{listed, roughly};
use crate::number::Sloped;

/// Proportions of the half pitch (12 deg of 15 teeth) in the equidistant club-tooth example of the 1904 handbook:
/// 3.5 to the tooth and 7 to the stone. Source: Watch and Clock Escapements, 1904, figs. 22-23.
const TOOTH_OF_HALF_PITCH: f64 = 3.5 / 12.0;
const STONE_OF_HALF_PITCH: f64 = 7.0 / 12.0;

/// Default wanted angles, lever degrees: lift 8.5, lock 1.5, 2.5 of the lift on the tooth, draw 12 from the neutral
/// line. Source: Watch and Clock Escapements, 1904, figs. 20-23.
const LIFT_DEG: f64 = 8.5;
const LOCK_DEG: f64 = 1.5;
const TOOTH_LIFT_DEG: f64 = 2.5;
const DRAW_DEG: f64 = 12.0;

/// Per pallet quantities that may be stated.
const BY_PALLET: [K; 12] = [
    K::PalletLock,
    K::PalletLift,
    K::PalletBreadth,
    K::PalletDrop,
    K::PalletDraw,
    K::PalletLockingDistance,
    K::PalletLetOffDistance,
    K::PalletLockingAngle,
    K::PalletLetOffAngle,
    K::StoneWidth,
    K::StoneFaceAngle,
    K::PalletsPlacingRatio,
];

/// Quantities of the wheel and the lever that may be stated.
const ONCE: [K; 5] =
    [K::WheelToothWidth, K::WheelHeelRadius, K::WheelToothLift, K::WheelToothFaceAngle, K::LeverOutOfAngle];

/// A length of the movement becomes a ratio of R and back; everything else stays.
fn scale(id: ParamId, radius_m: f64) -> f64 {
    if id.param().unit == Unit::Millimetre { radius_m } else { 1.0 }
}

/// Quantities a parameter stands for, with the parameter they are reported under.
fn quantities() -> impl Iterator<Item = (ParamId, Quantity)> {
    let once = ONCE.into_iter().map(|k| (k.once(), Quantity::Param(k.once())));
    let pallets = Pallet::BOTH.into_iter().flat_map(|p| {
        BY_PALLET.into_iter().map(move |k| match k {
            K::PalletsPlacingRatio => (k.once(), Quantity::Placing(p)),
            _ => (k.at(p), Quantity::Param(k.at(p))),
        })
    });
    once.chain(pallets)
}

impl System<UNKNOWNS> for Frame {
    type Quantity = Quantity;

    fn values(&self, at: &[f64; UNKNOWNS], of: impl Iterator<Item = Quantity>) -> Vec<f64> {
        let placed = self.drawn(at).placed();
        of.map(|q| placed.value(q)).collect()
    }

    fn slopes(&self, at: &[f64; UNKNOWNS], of: impl Iterator<Item = Quantity>) -> Vec<[f64; UNKNOWNS]> {
        let placed = self.drawn(&Sloped::unknowns(at)).placed();
        of.map(|q| placed.value(q).slopes).collect()
    }
}

/// Closes wheel and pallets and writes every one of their parameters into `movement`.
/// The toe radius, the centre distance and the counts must be there already.
pub(crate) fn close_pallets(movement: &mut Movement, notes: &mut Vec<Diagnostic>) -> Result<Placed, Vec<Diagnostic>> {
    let radius_m = movement.si(K::WheelLockingRadius);
    let frame = Frame {
        tooth_count: movement.si(K::WheelToothCount),
        spaces_spanned_ratio: movement.si(K::PalletsSpacesSpanned),
        centres_ratio: movement.si(K::CentresWheelPallet) / radius_m,
        draw_depth_rad: ByPallet::from_fn(|p| movement.si_at(K::PalletDrawDepth, p)),
        front_lean_rad: movement.si(K::WheelFrontLean),
        back_lean_rad: movement.si(K::WheelBackLean),
        toe_round_ratio: movement.si(K::WheelToeRound) / radius_m,
        heel_round_ratio: movement.si(K::WheelHeelRound) / radius_m,
        locking_round_ratio: ByPallet::from_fn(|p| movement.si_at(K::StoneLockingRound, p) / radius_m),
        let_off_round_ratio: ByPallet::from_fn(|p| movement.si_at(K::StoneLetOffRound, p) / radius_m),
        read_on: movement.si(K::WheelToothLiftReadOn) as usize,
    };
    let stated = |id: ParamId| movement.get(id).map(|(si, _)| si / scale(id, radius_m));
    let mut equations: Vec<Equation<Quantity>> = quantities()
        .filter_map(|(id, quantity)| stated(id).map(|wanted| Equation { quantity, wanted, stated: true }))
        .collect();
    let reported: Vec<ParamId> = equations.iter().map(|e| reported_under(e.quantity)).collect();
    equations.extend(default_equations(&frame, &stated));

    let guess = first_guess(&frame, &stated);
    let closed = close_system(&equations, guess.unknowns(), &frame)
        .map_err(|e| vec![not_closed(&e, &equations, &reported, radius_m)])?;
    if !closed.clashes.is_empty() {
        return Err(closed.clashes.iter().map(|c| clash(c, &equations, &reported, radius_m)).collect());
    }
    let drawn = frame.drawn(&closed.unknowns).placed();
    let values: Vec<(ParamId, Quantity, f64)> = quantities().map(|(id, q)| (id, q, drawn.value(q))).collect();
    unreached(&values)?;
    let by_default: Vec<Quantity> = (0..equations.len())
        .filter(|&i| closed.accepted[i] && !equations[i].stated)
        .map(|i| equations[i].quantity)
        .collect();
    for (id, quantity, scaled) in values {
        if movement.get(id).is_none() {
            let origin = if by_default.contains(&quantity) { Origin::Default } else { Origin::Derived };
            movement.set(id, scaled * scale(id, radius_m), origin);
        }
    }
    // The equations hold, too, with a corner on the far side of the pallet centre, or turned round by whole turns.
    within_ranges(movement)?;
    impossible(&drawn, radius_m)?;
    note_uneven_share(movement, &drawn, notes);
    Ok(drawn)
}

fn reported_under(quantity: Quantity) -> ParamId {
    match quantity {
        Quantity::Param(id) => id,
        Quantity::Placing(_) => K::PalletsPlacingRatio.once(),
    }
}

/// The equations that hold when nothing else is stated, in the order in which they are tried.
fn default_equations(frame: &Frame, stated: &dyn Fn(ParamId) -> Option<f64>) -> Vec<Equation<Quantity>> {
    let half_pitch = PI / frame.tooth_count;
    let mut out = Vec::with_capacity(14);
    let mut want = |quantity, wanted| out.push(Equation { quantity, wanted, stated: false });
    want(Quantity::Param(K::WheelToothWidth.once()), TOOTH_OF_HALF_PITCH * half_pitch);
    want(Quantity::Param(K::WheelToothLift.once()), TOOTH_LIFT_DEG.to_radians());
    for p in Pallet::BOTH {
        want(Quantity::Placing(p), 0.0);
    }
    for (kind, angle_deg) in [(K::PalletLock, LOCK_DEG), (K::PalletDraw, DRAW_DEG), (K::PalletLift, LIFT_DEG)] {
        for p in Pallet::BOTH {
            want(Quantity::Param(kind.at(p)), angle_deg.to_radians());
        }
    }
    want(Quantity::Param(K::LeverOutOfAngle.once()), 0.0);
    // Last, so that a stated drop or stone width takes the place of the breadth and of nothing else; and of the same
    // stone's breadth: the other hangs on it through the heel alone.
    let mut by_breadth = Pallet::BOTH;
    by_breadth.sort_by_key(|&p| stated(K::PalletDrop.at(p)).or(stated(K::StoneWidth.at(p))).is_some());
    for p in by_breadth {
        want(Quantity::Param(K::PalletBreadth.at(p)), STONE_OF_HALF_PITCH * half_pitch);
    }
    out
}

/// A point from which the search starts: the handbook's construction with whatever is stated put in its place.
/// For the usual statements it is the answer.
fn first_guess(frame: &Frame, stated: &dyn Fn(ParamId) -> Option<f64>) -> Drawn {
    let half_pitch = PI / frame.tooth_count;
    let of = |id: ParamId, otherwise: f64| stated(id).unwrap_or(otherwise);
    let mut d = frame.drawn(&[0.0; UNKNOWNS]);
    d.tooth_width_rad = of(K::WheelToothWidth.once(), TOOTH_OF_HALF_PITCH * half_pitch);
    let placing_ratio = of(K::PalletsPlacingRatio.once(), 0.0);
    let breadth = ByPallet::from_fn(|p| {
        // A wheel uses about 0.3 deg of its half pitch for recoil and the heel's height.
        let from_drop =
            stated(K::PalletDrop.at(p)).map(|drop| half_pitch - d.tooth_width_rad - drop + 0.3_f64.to_radians());
        stated(K::PalletBreadth.at(p)).or(from_drop).unwrap_or(STONE_OF_HALF_PITCH * half_pitch)
    });
    let kappa_locking = ByPallet::from_fn(|p| frame.half_span_rad() - p.outward() * placing_ratio * breadth[p]);
    for p in Pallet::BOTH {
        let locking = frame.rho(1.0, kappa_locking[p]);
        let let_off = frame.rho(1.0, kappa_locking[p] + p.outward() * breadth[p]);
        d.stones[p].locking_distance_ratio = of(K::PalletLockingDistance.at(p), locking);
        d.stones[p].let_off_distance_ratio = of(K::PalletLetOffDistance.at(p), let_off);
        d.stones[p].draw_rad = of(K::PalletDraw.at(p), DRAW_DEG.to_radians());
    }
    // Heel radius from the tooth's share, read where it is said to be (closed form on one arc, secant on the mean).
    let share = of(K::WheelToothLift.once(), TOOTH_LIFT_DEG.to_radians());
    let heel_on = |p: Pallet| {
        let rho = d.stones[p].let_off_distance_ratio;
        let c = frame.centres_ratio;
        (rho * rho + c * c - 2.0 * rho * c * (frame.beta(rho, 1.0) + share).cos()).sqrt()
    };
    d.heel_ratio = of(
        K::WheelHeelRadius.once(),
        match frame.read_on {
            1 => heel_on(Pallet::Entry),
            2 => heel_on(Pallet::Exit),
            _ => 0.5 * (heel_on(Pallet::Entry) + heel_on(Pallet::Exit)),
        },
    );
    // Lock and lift of both pallets, as far as the sum of the two allows; the middle of the travel where it is wanted.
    let lock = |p: Pallet| stated(K::PalletLock.at(p));
    let lift = |p: Pallet| stated(K::PalletLift.at(p));
    let travel = Pallet::BOTH
        .iter()
        .find_map(|&p| {
            Some(lock(p).or_else(|| lift(p).map(|_| LOCK_DEG.to_radians()))? + lift(p).unwrap_or(LIFT_DEG.to_radians()))
        })
        .unwrap_or((LIFT_DEG + LOCK_DEG).to_radians());
    let middle = -of(K::LeverOutOfAngle.once(), 0.0);
    for p in Pallet::BOTH {
        let let_off_eps = middle - p.outward() * 0.5 * travel;
        let lift_rad = lift(p).or(lock(p).map(|l| travel - l)).unwrap_or(travel - LOCK_DEG.to_radians());
        let unlocking_eps = let_off_eps + p.outward() * lift_rad;
        let s = d.stones[p];
        let locking = frame.beta(s.locking_distance_ratio, 1.0) + p.outward() * unlocking_eps;
        let let_off = frame.beta(s.let_off_distance_ratio, d.heel_ratio) + p.outward() * let_off_eps;
        d.stones[p] = StoneDims {
            locking_rad: of(K::PalletLockingAngle.at(p), locking),
            let_off_rad: of(K::PalletLetOffAngle.at(p), let_off),
            ..s
        };
    }
    d
}

fn with_unit(id: ParamId, scaled: f64, radius_m: f64) -> String {
    let unit = id.param().unit;
    let value = unit.from_si(scaled * scale(id, radius_m));
    format!("{value:.4} {}", unit.sign()).trim_end().to_owned()
}

/// A stated value that others already fix. All of them are named alike: which is wrong, only the person can know.
fn clash(clash: &Clash, equations: &[Equation<Quantity>], reported: &[ParamId], radius_m: f64) -> Diagnostic {
    let id = reported[clash.equation];
    let e = equations[clash.equation];
    let shown = |scaled: f64| exactly(id, scaled * scale(id, radius_m));
    if !clash.residual.is_finite() || clash.with.is_empty() {
        // Nothing that is stated fixes it: the parts that the rest leads to do not have it.
        let stated = (0..reported.len()).collect();
        let fault = NotClosed { worst: clash.equation, residual: clash.residual, stated };
        return not_closed(&fault, equations, reported, radius_m).value(shown(e.wanted));
    }
    let all: Vec<usize> = [clash.equation].into_iter().chain(clash.with.iter().copied()).collect();
    let message = format!(
        "these cannot all be stated: {}; with the others kept, {id} would have to be {} (off by {})",
        stated_list(&all, equations, reported, radius_m),
        shown(e.wanted + clash.residual),
        roughly(id, clash.residual.abs() * scale(id, radius_m)),
    );
    let diagnostic = Diagnostic::error("over-determined", message)
        .value(shown(e.wanted))
        .allowed(shown(e.wanted + clash.residual))
        .hint("leave out one of them; it is then derived");
    about_each(diagnostic, &all, reported)
}

fn not_closed(e: &NotClosed, equations: &[Equation<Quantity>], reported: &[ParamId], radius_m: f64) -> Diagnostic {
    let worst = equations[e.worst];
    let id = reported_under(worst.quantity);
    let wanted = with_unit(id, worst.wanted, radius_m);
    let by_default = if worst.stated { "" } else { ", by default" };
    let how_far = if e.residual.is_finite() {
        format!("{id}{by_default} {wanted}, comes out {} off", with_unit(id, e.residual.abs(), radius_m))
    } else {
        format!("{id}{by_default} {wanted}, is out of reach")
    };
    let (message, diagnostic) = if e.stated.is_empty() {
        let about = [K::WheelToothCount.once(), K::PalletsSpacesSpanned.once(), K::CentresWheelPallet.once()];
        let message = format!("no pallets can be found for this wheel: {how_far}");
        (message, about.into_iter().fold(Diagnostic::error("no-such-pallets", ""), Diagnostic::about))
    } else {
        let list = stated_list(&e.stated, equations, reported, radius_m);
        let diagnostic = about_each(Diagnostic::error("no-such-pallets", ""), &e.stated, reported);
        (format!("these cannot be met together: {list}; the nearest found is {how_far}"), diagnostic)
    };
    let diagnostic = if diagnostic.about.contains(&id) { diagnostic } else { diagnostic.about(id) };
    Diagnostic { message, ..diagnostic }
        .hint("check the values named here against one another; leave some out to have them derived")
}

/// Stated equations as they are reported, each parameter once.
fn stated_list(of: &[usize], equations: &[Equation<Quantity>], reported: &[ParamId], radius_m: f64) -> String {
    let mut ids: Vec<ParamId> = of.iter().map(|&i| reported[i]).collect();
    ids.sort_unstable();
    ids.dedup();
    listed(&ids, |id| {
        let at = of.iter().find(|&&i| reported[i] == id)?;
        Some(equations[*at].wanted * scale(id, radius_m))
    })
}

fn about_each(diagnostic: Diagnostic, of: &[usize], reported: &[ParamId]) -> Diagnostic {
    of.iter().fold(diagnostic, |d, &i| if d.about.contains(&reported[i]) { d } else { d.about(reported[i]) })
}

/// That every quantity of the drawing has a value.
fn unreached(values: &[(ParamId, Quantity, f64)]) -> Result<(), Vec<Diagnostic>> {
    let without: Vec<ParamId> = values.iter().filter(|(_, _, value)| !value.is_finite()).map(|(id, ..)| *id).collect();
    if without.is_empty() {
        return Ok(());
    }
    let message = format!(
        "these values lead to a stone that does not meet the circles of the teeth: {} would have no value",
        listed(&without, |_| None)
    );
    let fault = Diagnostic::error("no-such-pallets", message).hint(
        "check the distances and angles of the stones' corners against the centre distance and the wheel's radius",
    );
    Err(vec![without.into_iter().fold(fault, Diagnostic::about)])
}

/// Solutions that no one could cut: they satisfy the equations and are no parts.
fn impossible(d: &Placed, radius_m: f64) -> Result<(), Vec<Diagnostic>> {
    let mut out = Vec::new();
    let pitch = 2.0 * PI / d.drawn().frame.tooth_count;
    if d.drawn().tooth_width_rad <= 0.0 || d.drawn().tooth_width_rad >= 0.8 * pitch {
        out.push(
            Diagnostic::error("no-such-tooth", "the tooth is wider than the wheel has room for, or turned inside out")
                .about(K::WheelToothWidth.once())
                .value(with_unit(K::WheelToothWidth.once(), d.drawn().tooth_width_rad, radius_m))
                .allowed(format!(
                    "more than 0 deg and less than {:.3} deg (0.8 of the pitch)",
                    (0.8 * pitch).to_degrees()
                ))
                .hint("state a smaller tooth_width_deg, or a larger drop or breadth of the stones"),
        );
    }
    for p in Pallet::BOTH {
        let (share, lift) = (d.tooth_share_rad(p), d.value(Quantity::Param(K::PalletLift.at(p))));
        if share >= lift {
            out.push(
                Diagnostic::error(
                    "no-such-share",
                    format!("the tooth would give more than the whole lift on the {} pallet", p.name()),
                )
                .about(K::WheelToothLift.once())
                .about(K::PalletLift.at(p))
                .value(format!("{:.3} deg", share.to_degrees()))
                .allowed(format!("less than {:.3} deg", lift.to_degrees()))
                .hint("state a smaller tooth_lift_deg or heel_radius_mm, or more lift"),
            );
        }
        let width = Quantity::Param(K::StoneWidth.at(p));
        if d.value(width) <= 0.0 {
            out.push(
                Diagnostic::error("no-such-stone", format!("the {} stone is turned inside out: its let-off corner lies on the wrong side of its locking face", p.name()))
                    .about(K::StoneWidth.at(p))
                    .value(with_unit(K::StoneWidth.at(p), d.value(width), radius_m))
                    .allowed("more than 0 mm")
                    .hint("check breadth, drop, distances and angles of this stone"),
            );
        }
    }
    if out.is_empty() { Ok(()) } else { Err(out) }
}

/// A tooth has one heel; its share of the lift can hold on one let-off arc only.
fn note_uneven_share(movement: &Movement, d: &Placed, notes: &mut Vec<Diagnostic>) {
    let id = K::WheelToothLift.once();
    let share = ByPallet::from_fn(|p| d.tooth_share_rad(p).to_degrees());
    // Who says where it is read knows it.
    let said = movement.get(K::WheelToothLiftReadOn.once()).is_some_and(|(_, o)| o == Origin::Stated);
    if !said && movement.get(id).is_some_and(|(_, o)| o == Origin::Stated) && (share.entry - share.exit).abs() > 0.005 {
        let lift = ByPallet::from_fn(|p| d.value(Quantity::Param(K::PalletLift.at(p))).to_degrees());
        notes.push(
            Diagnostic::note(
                "share-holds-on-one-pallet",
                format!(
                    "the tooth has one heel radius, so its share of the lift cannot be the same on both pallets: counted from where the toe meets the let-off corner, entry {:.3} + {:.3}, exit {:.3} + {:.3} deg",
                    lift.entry - share.entry,
                    share.entry,
                    lift.exit - share.exit,
                    share.exit
                ),
            )
            .about(id)
            .value(format!("{:.3} deg, read on the mean", movement.si(K::WheelToothLift).to_degrees()))
            .hint("state wheel.tooth_lift_read_on: \"entry\" or \"exit\" to have it exact on that pallet, \"mean\" to have it so"),
        );
    }
}
