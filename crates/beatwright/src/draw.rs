//! `drawing`: a part or the assembly to scale.

mod plates;

use action::{MOMENT_NAMES, Moment, Scratch, moment, moment_at};
use drawing::{ContactMark, Options, Plate, Scale, Sheet, Subject, Title, render};
use movement::Pallet;
use serde_json::json;
use std::path::Path;

use crate::cli::DrawingArgs;
use crate::input::{Loaded, load};
use crate::output::{Status, Stop, emit, pretty, write_file};
use crate::tables::verdict;

/// What a drawing is worth, for its title block.
const REMARK: &str = "plan at the wheel's plane; cut stones, jewel and bankings hatched; an estimate from geometry";

/// Draws what the command asks for.
pub fn draw(args: &DrawingArgs) -> Result<Status, Stop> {
    let names = |all: Vec<&str>| all.join(", ");
    let subject = Subject::from_name(&args.part).ok_or_else(|| {
        Stop::problem(
            format!("there is no part '{}' to draw", args.part),
            format!(
                "choose one of {}",
                names(Subject::ALL.iter().map(|s| s.name()).chain(Plate::ALL.iter().map(|p| p.name())).collect())
            ),
        )
    })?;
    let sheet = Sheet::from_name(&args.sheet).ok_or_else(|| {
        Stop::problem(
            format!("there is no sheet '{}'", args.sheet),
            format!("choose one of {}", names(Sheet::ALL.iter().map(|s| s.name()).collect())),
        )
    })?;
    let loaded = load(&args.movement, args.json)?;
    let mut options = Options::new(subject);
    (options.sheet, options.dimensions) = (sheet, !args.plain);
    if let Some(ratio) = args.scale {
        options.scale = Scale::Ratio(ratio);
    }
    let wish = read_moment(&args.moment)?;
    let at = if subject.shows_moment() { place_moment(&loaded, &args.moment, wish)? } else { None };
    place(&mut options, &loaded, at.as_ref());
    if let Subject::Plate(plate) = subject {
        options.panels = plates::panels(plate, &loaded.build.parts, &loaded.action, wish.pallet);
    }
    options.title.date.clone_from(&args.date);
    let svg = render(&loaded.build, &options).map_err(|e| Stop::from_error(&e))?;
    if args.output == Path::new("-") {
        emit(&svg)?;
        return Ok(Status::Ok);
    }
    write_file(&args.output, &svg)?;
    if args.json {
        emit(&pretty(&json!({
            "schema": "beatwright.drawing/1",
            "file": args.output.display().to_string(),
            "part": subject.name(),
            "sheet": sheet.name(),
            "moment": at.as_ref().map(|m| json!({
                "name": m.name,
                "wheel_deg": m.wheel_rad.to_degrees(),
                "lever_deg": m.lever_rad.to_degrees(),
                "jewel_deg": m.jewel_rad.to_degrees(),
            })),
        })))?;
    } else {
        eprintln!("wrote {}", args.output.display());
    }
    Ok(Status::Ok)
}

/// The parts of the options that come from the movement and the moment.
pub fn place(options: &mut Options, loaded: &Loaded, at: Option<&Moment>) {
    options.title = Title {
        name: loaded.statement.name.clone(),
        kind: format!("lever escapement, {} tooth", loaded.statement.kind),
        verdict: verdict(&loaded.findings).1,
        moment: at.map_or(String::new(), |m| m.name.clone()),
        remark: REMARK.to_owned(),
        ..Title::default()
    };
    if let Some(m) = at {
        options.moment = drawing::Moment { wheel_rad: m.wheel_rad, lever_rad: m.lever_rad, jewel_rad: m.jewel_rad };
        options.contacts = vec![ContactMark {
            point_m: m.contact.point_m,
            normal: m.contact.normal,
            label: format!("{} on {}", m.contact.tooth_face.name(), m.contact.stone_face.name()),
        }];
    }
}

/// An instant as it is asked for.
#[derive(Clone, Copy)]
struct MomentWish<'a> {
    pallet: Pallet,
    at: Instant<'a>,
}

#[derive(Clone, Copy)]
enum Instant<'a> {
    Named(&'a str),
    LeverDeg(f64),
}

fn read_moment(text: &str) -> Result<MomentWish<'_>, Stop> {
    let pallet_named = |name: &str| Pallet::BOTH.into_iter().find(|p| p.name() == name);
    let angle = || {
        let (pallet, angle) = text.split_once(':')?;
        Some(MomentWish { pallet: pallet_named(pallet)?, at: Instant::LeverDeg(angle.parse().ok()?) })
    };
    let name = || {
        let (pallet, name) = text.split_once('-').filter(|(_, name)| MOMENT_NAMES.contains(name))?;
        Some(MomentWish { pallet: pallet_named(pallet)?, at: Instant::Named(name) })
    };
    angle().or_else(name).ok_or_else(|| {
        let names: Vec<String> =
            Pallet::BOTH.iter().flat_map(|p| MOMENT_NAMES.iter().map(move |n| format!("{}-{n}", p.name()))).collect();
        Stop::problem(
            format!("there is no moment '{text}'"),
            format!("choose one of {}; or a pallet and a lever angle such as entry:-2.5", names.join(", ")),
        )
    })
}

fn place_moment(loaded: &Loaded, text: &str, wish: MomentWish<'_>) -> Result<Option<Moment>, Stop> {
    let (parts, action, pallet) = (&loaded.build.parts, &loaded.action, wish.pallet);
    let Some(own) = action.of(pallet).next() else {
        eprintln!("note: the cycle cannot be played, so the parts are drawn with all angles 0");
        return Ok(None);
    };
    let mut scratch = Scratch::default();
    match wish.at {
        Instant::LeverDeg(lever_deg) => {
            moment_at(parts, own, lever_deg.to_radians(), &mut scratch).map(Some).ok_or_else(|| {
                let first_rad = own.segments.first().map_or(own.let_off.lever_rad, |s| s.from.lever_rad);
                let ends = [first_rad, own.let_off.lever_rad].map(f64::to_degrees);
                Stop::problem(
                    format!(
                        "at a lever angle of {lever_deg} deg no tooth is on the {} pallet with the jewel in the notch",
                        pallet.name()
                    ),
                    format!("choose a lever angle from {:.3} to {:.3} deg", ends[0].min(ends[1]), ends[0].max(ends[1])),
                )
            })
        }
        Instant::Named(name) => moment(parts, action, pallet, name, &mut scratch).map(Some).ok_or_else(|| {
            Stop::problem(
                format!("this movement has no moment '{text}'"),
                "its lift has no such contact, or the jewel is not in the notch then",
            )
        }),
    }
}
