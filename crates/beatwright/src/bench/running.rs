//! What the escapement does in time, for the page.

use motion::Place;
use movement::Origin;

use crate::bench::wire::{LedgerRow, MotionFigure, Running};
use crate::input::Loaded;
use crate::motion_command::sought;
use crate::output::Stop;
use crate::tables::words;

/// The motion of a movement.
pub fn running(loaded: &Loaded) -> Running {
    match sought(loaded) {
        Ok(report) => {
            let drive_j = report.ledger.as_ref().map_or(0.0, |l| l.work_j[Place::Drive as usize]);
            let steady = report.steady.is_some();
            let ledger = report.ledger.iter().filter(|_| steady).flat_map(|ledger| {
                Place::ALL.iter().map(move |place| {
                    let work_j = ledger.work_j[*place as usize];
                    LedgerRow {
                        place: place.name().to_owned(),
                        nj_per_beat: ledger.nj(work_j).1.unwrap_or(0.0),
                        share_ratio: work_j / drive_j,
                    }
                })
            });
            let figures = report.shown_figures().map(|(figure, value)| MotionFigure {
                path: figure.path.to_owned(),
                name: words(figure.path),
                unit: figure.unit.sign().to_owned(),
                decimals: figure.unit.decimals() as u8,
                definition: figure.definition.to_owned(),
                value,
            });
            let defaults = report.rests_on().filter(|(_, _, origin)| *origin == Origin::Default);
            Running {
                outcome: report.outcome.code.to_owned(),
                sentence: report.outcome.words.clone(),
                runs: report.outcome.runs,
                figures: figures.collect(),
                ledger: ledger.collect(),
                defaults: defaults.map(|(id, ..)| id.to_string()).collect(),
            }
        }
        Err(stop) => {
            let sentence = match stop {
                Stop::Problem { message, .. } => message,
                Stop::Cancelled | Stop::Reported | Stop::PipeClosed => "not worked out".to_owned(),
            };
            Running {
                outcome: "not-sought".to_owned(),
                sentence,
                runs: false,
                figures: Vec::new(),
                ledger: Vec::new(),
                defaults: Vec::new(),
            }
        }
    }
}
