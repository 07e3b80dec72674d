//! `drawing`: a part or the assembly to scale.

mod moments;
mod plates;

use action::FigureId;
use drawing::{Figure, Options, Plate, Scale, Sheet, Subject, Title, degrees, render};
use movement::Pallet;
use serde_json::json;
use std::path::Path;

use crate::cli::DrawingArgs;
use crate::input::{Loaded, load};
use crate::output::{Status, Stop, emit, may_write, pretty, write_file};
use crate::tables::verdict;
use moments::{Standing, Wish, usual};
use plates::Shown;

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
    let wish = args.moment.as_deref().map(Wish::read).transpose()?;
    let to_stdout = args.output == Path::new("-");
    if !to_stdout {
        may_write(&args.output, &args.movement.file, "SVG drawing", "out.svg", is_svg, args.force)?;
    }
    let loaded = load(&args.movement, args.json)?;
    let mut options = Options::new(subject);
    (options.sheet, options.dimensions) = (sheet, !args.plain);
    if let Some(ratio) = args.scale {
        options.scale = Scale::Ratio(ratio);
    }
    let at = match (subject.shows_moment(), wish.zip(args.moment.as_deref())) {
        (false, _) => None,
        (true, Some((wish, text))) => Some(wish.place(&loaded, text)?),
        (true, None) => Some(usual(&loaded)),
    };
    place(&mut options, &loaded, at.as_ref());
    let pallet = wish.unwrap_or(Wish::USUAL).pallet;
    let shown = match subject {
        Subject::Plate(plate) => Some(shown_on(plate, &loaded, pallet)?),
        _ => None,
    };
    if let Some(shown) = &shown {
        options.title.moment = shown.said();
        options.panels.clone_from(&shown.panels);
    }
    options.title.date.clone_from(&args.date);
    let svg = render(&loaded.build, &options).map_err(|e| Stop::from_error(&e))?;
    if to_stdout {
        emit(&svg)?;
        return Ok(Status::Ok);
    }
    write_file(&args.output, &svg)?;
    if args.json {
        let moment = at.as_ref().map(|s| (s.name.as_str(), s.moment));
        // Of a plate, where the bodies of its first panel stand.
        let moment = moment.or_else(|| shown.as_ref().and_then(Shown::first));
        emit(&pretty(&json!({
            "schema": "beatwright.drawing/1",
            "file": args.output.display().to_string(),
            "part": subject.name(),
            "sheet": sheet.name(),
            "pallet": shown.as_ref().map(|s| s.pallet.name()),
            "tooth": shown.as_ref().and_then(|s| s.tooth),
            "moment": moment.map(|(name, m)| json!({
                "name": name,
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

/// The panels of a plate, or why there are none.
fn shown_on(plate: Plate, loaded: &Loaded, pallet: Pallet) -> Result<Shown, Stop> {
    let shown = plates::shown(plate, &loaded.build.parts, &loaded.action, pallet);
    if shown.panels.is_empty() {
        return Err(Stop::problem(
            format!("there is nothing to show on the plate '{}' for the {} pallet", plate.name(), pallet.name()),
            format!(
                "`beatwright check` says what the movement does not do; the other side is drawn with --moment {}-banked",
                pallet.other().name()
            ),
        ));
    }
    Ok(shown)
}

/// The parts of the options that come from the movement and the moment.
pub fn place(options: &mut Options, loaded: &Loaded, at: Option<&Standing>) {
    options.title = Title {
        name: loaded.statement.name.clone(),
        kind: format!("lever escapement, {} tooth", loaded.statement.kind),
        verdict: verdict(&loaded.findings).1,
        moment: at.map_or(String::new(), |m| m.name.clone()),
        remark: REMARK.to_owned(),
        ..Title::default()
    };
    options.figures = figures(options.subject, loaded);
    if let Some(standing) = at {
        options.moment = standing.moment;
        options.contacts.extend(standing.contact.clone());
    }
}

/// Figures of the action for the table: what the drawn parts leave free and give.
fn figures(subject: Subject, loaded: &Loaded) -> Vec<Figure> {
    const LIFT: (&str, &str) = ("balance_lift_deg", "lift at the balance");
    let wanted: &[(&str, &str)] = match subject {
        Subject::Fork => &[("guard_freedom_deg", "guard freedom"), ("horn_freedom_deg", "horn freedom"), LIFT],
        Subject::Assembly | Subject::Roller => &[LIFT],
        _ => &[],
    };
    let both = wanted.iter().flat_map(|w| Pallet::BOTH.map(|p| (p, w)));
    let found = both.filter_map(|(p, (name, meaning))| {
        let value_rad = FigureId::from_path(&format!("{}.{name}", p.name()))?.value(&loaded.action)?;
        Some(Figure { meaning: format!("{meaning}, {}", p.name()), value: degrees(value_rad) })
    });
    found.collect()
}

/// Whether a file begins as an SVG document does.
fn is_svg(head: &str) -> bool {
    let text = head.trim_start_matches('\u{feff}').trim_start();
    text.starts_with('<') && text.contains("<svg")
}
