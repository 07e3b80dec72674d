//! What does not change with the movement: the tables of parameters and figures, for the page.

use action::{FigureId, LIMITS};
use movement::{At, Indexed, Pallet, ParamId, Role, TABLE, Unit, unstated_text};

use crate::bench::recording::MOST_BYTES;
use crate::bench::wire::{FigureDefinition, ParameterRow, Tables};
use crate::input::DEMO;
use crate::tables::words;

/// Both tables.
pub fn tables() -> Tables {
    Tables {
        parameters: TABLE.iter().flat_map(rows).collect(),
        figures: FigureId::all().map(figure).collect(),
        motion_figures: motion::FIGURES.iter().map(motion_figure).collect(),
        demo: DEMO.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        recording_bytes_most: MOST_BYTES as u32,
    }
}

fn rows(param: &'static movement::Param) -> Vec<ParameterRow> {
    let row = |path: String| ParameterRow {
        path,
        symbol: param.symbol.to_owned(),
        unit: param.unit.sign().to_owned(),
        least: param.min,
        most: param.max,
        choices: match param.unit {
            Unit::Choice(words) => words.iter().map(|w| (*w).to_owned()).collect(),
            _ => Vec::new(),
        },
        unstated: unstated_text(param),
        role: match param.role {
            Role::Dimension => "dimension",
            Role::Wanted => "wanted",
            Role::Motion => "motion",
            Role::Bench => "bench",
        }
        .to_owned(),
        definition: param.definition.to_owned(),
    };
    match param.indexed() {
        Indexed::Once | Indexed::ByTooth => vec![row(param.path.to_owned())],
        Indexed::ByPallet => {
            Pallet::BOTH.map(|p| row(ParamId { kind: param.kind, at: At::Pallet(p) }.to_string())).into()
        }
    }
}

fn figure(id: FigureId) -> FigureDefinition {
    let figure = id.figure();
    let limit = LIMITS.iter().find(|l| l.figure == figure.path);
    FigureDefinition {
        path: id.to_string(),
        group: figure.group.to_owned(),
        words: words(figure.path.trim_start_matches("*.")),
        pallet: id.pallet().map(|p| p.name().to_owned()),
        unit: figure.unit.sign().to_owned(),
        decimals: figure.unit.decimals() as u32,
        definition: figure.definition.to_owned(),
        accepted_least: limit.map(|l| l.least),
        accepted_most: limit.map(|l| l.most).filter(|m| m.is_finite()),
        source: limit.map(|l| l.source.to_owned()),
    }
}

fn motion_figure(figure: &motion::Figure) -> FigureDefinition {
    FigureDefinition {
        path: figure.path.to_owned(),
        group: "motion".to_owned(),
        words: words(figure.path),
        pallet: None,
        unit: figure.unit.sign().to_owned(),
        decimals: figure.unit.decimals() as u32,
        definition: figure.definition.to_owned(),
        accepted_least: None,
        accepted_most: None,
        source: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use action::FIGURES;

    #[test]
    fn every_figure_and_parameter_is_there() {
        let all = tables();
        assert_eq!(all.figures.len(), FigureId::all().count());
        assert!(FIGURES.len() < all.figures.len() && all.parameters.len() > TABLE.len());
    }
}
