//! Draws every subject of a demo movement (invented dimensions) as SVG and PNG: `cargo run -p drawing --example sheet -- FOLDER`.
use drawing::{ContactMark, Moment, Options, Scale, Sheet, Subject, Title, render};
use movement::{ParamKind as K, Values};
use plane::Vector;
use resvg::{tiny_skia, usvg};
use std::error::Error;
use std::path::Path;

/// Pixels per mm of the pictures.
const PIXELS_PER_MM: f32 = 6.0;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("usage: sheet FOLDER")?;
    std::fs::create_dir_all(&folder)?;
    let mut stated = Values::default();
    stated.set(K::WheelToothCount.once(), 15.0);
    stated.set(K::WheelLockingRadius.once(), 2.5e-3);
    let mut side = stated.clone();
    side.set(K::LeverLineAngle.once(), 90_f64.to_radians());
    side.set(K::BankingsForm.once(), 1.0);
    let mut single = stated.clone();
    single.set(K::RollerForm.once(), 1.0);
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_system_fonts();
    let fonts = std::sync::Arc::new(fonts);
    let moment = Moment { wheel_rad: -0.065, lever_rad: 5_f64.to_radians(), jewel_rad: -60_f64.to_radians() };
    for (name, stated) in [("in-line", &stated), ("side", &side), ("single", &single)] {
        let build = parts::build(stated).map_err(|faults| format!("{faults:?}"))?;
        for subject in Subject::ALL {
            for sheet in [Sheet::A4Landscape, Sheet::A3Landscape, Sheet::A4Portrait] {
                let at_moment = subject.shows_moment();
                let stone = &build.parts.lever.stones.entry;
                let corner = build.parts.lever_pose(moment.lever_rad).point(stone.locking_corner_m);
                let contacts =
                    vec![ContactMark { point_m: corner, normal: Vector::new(-1.0, 0.2), label: "locked".to_owned() }];
                let options = Options {
                    sheet,
                    moment,
                    scale: Scale::Fit,
                    title: Title {
                        name: "Demo movement".to_owned(),
                        kind: "Club-tooth lever".to_owned(),
                        verdict: "Sound: every tooth locks, draws, lifts and drops safely on both pallets.".to_owned(),
                        revision: "A".to_owned(),
                        ..Title::default()
                    },
                    contacts: if subject == Subject::Assembly && name == "in-line" { contacts } else { Vec::new() },
                    notes: if at_moment {
                        vec!["Drawn with the entry pallet locked, the jewel on its way in.".to_owned()]
                    } else {
                        Vec::new()
                    },
                    ..Options::new(subject)
                };
                let place = Path::new(&folder).join(format!("{name}-{}-{}", subject.name(), sheet.name()));
                match render(&build, &options) {
                    Ok(svg) => {
                        std::fs::write(place.with_extension("svg"), &svg)?;
                        let tree = usvg::Tree::from_str(
                            &svg,
                            &usvg::Options { fontdb: fonts.clone(), ..usvg::Options::default() },
                        )?;
                        // The tree's unit is the CSS pixel, 96 to the inch.
                        let factor = PIXELS_PER_MM * 25.4 / 96.0;
                        let size = tree.size().to_int_size().scale_by(factor).ok_or("no size")?;
                        let mut pixels = tiny_skia::Pixmap::new(size.width(), size.height()).ok_or("no picture")?;
                        resvg::render(&tree, tiny_skia::Transform::from_scale(factor, factor), &mut pixels.as_mut());
                        pixels.save_png(place.with_extension("png"))?;
                    }
                    Err(e) => eprintln!("{}: {e}", place.display()),
                }
            }
        }
    }
    Ok(())
}
