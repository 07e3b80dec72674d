//! `drawing`: a part or the assembly to scale.

use action::{MOMENT_NAMES, Moment, Scratch, moment, moment_at};
use drawing::{ContactMark, Options, Scale, Sheet, Subject, Title, render};
use movement::Pallet;
use serde_json::json;
use std::path::Path;

use crate::cli::DrawingArgs;
use crate::input::{Loaded, load};
use crate::output::{Status, Stop, emit, pretty, write_file};
use crate::tables::verdict;

/// Draws what the command asks for.
pub fn draw(args: &DrawingArgs) -> Result<Status, Stop> {
    let names = |all: Vec<&str>| all.join(", ");
    let subject = Subject::from_name(&args.part).ok_or_else(|| {
        Stop::problem(
            format!("there is no part '{}' to draw", args.part),
            format!("choose one of {}", names(Subject::ALL.iter().map(|s| s.name()).collect())),
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
    let at = find_moment(&loaded, &args.moment)?;
    place(&mut options, &loaded, at.as_ref());
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

/// The moment of that name, or at that lever angle; `None` when the movement has no action to take it from.
pub fn find_moment(loaded: &Loaded, text: &str) -> Result<Option<Moment>, Stop> {
    let (parts, action) = (&loaded.build.parts, &loaded.action);
    if action.beats.is_empty() {
        eprintln!("note: the cycle cannot be played, so the parts are drawn with all angles 0");
        return Ok(None);
    }
    let unknown = || {
        let names: Vec<String> =
            Pallet::BOTH.iter().flat_map(|p| MOMENT_NAMES.iter().map(move |n| format!("{}-{n}", p.name()))).collect();
        Stop::problem(
            format!("there is no moment '{text}'"),
            format!("choose one of {}; or a pallet and a lever angle such as entry:-2.5", names.join(", ")),
        )
    };
    let pallet_named = |name: &str| Pallet::BOTH.into_iter().find(|p| p.name() == name);
    let mut scratch = Scratch::default();
    if let Some((pallet, angle)) = text.split_once(':') {
        let pallet = pallet_named(pallet).ok_or_else(unknown)?;
        let lever_deg: f64 = angle.parse().map_err(|_| unknown())?;
        let own = action.of(pallet).next().ok_or_else(unknown)?;
        return moment_at(parts, own, lever_deg.to_radians(), &mut scratch).map(Some).ok_or_else(|| {
            let ends =
                [own.segments.first().map_or(own.let_off.lever_rad, |s| s.from.lever_rad), own.let_off.lever_rad]
                    .map(f64::to_degrees);
            Stop::problem(
                format!(
                    "at a lever angle of {lever_deg} deg no tooth is on the {} pallet with the jewel in the notch",
                    pallet.name()
                ),
                format!("choose a lever angle from {:.3} to {:.3} deg", ends[0].min(ends[1]), ends[0].max(ends[1])),
            )
        });
    }
    let (pallet, name) = text.split_once('-').ok_or_else(unknown)?;
    let pallet = pallet_named(pallet).ok_or_else(unknown)?;
    if !MOMENT_NAMES.contains(&name) {
        return Err(unknown());
    }
    moment(parts, action, pallet, name, &mut scratch).map(Some).ok_or_else(|| {
        Stop::problem(
            format!("this movement has no moment '{text}'"),
            "its lift has no such contact, or the jewel is not in the notch then",
        )
    })
}
