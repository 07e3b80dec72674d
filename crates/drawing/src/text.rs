//! Written text: runs with subscripts, its size estimated so that nothing is written over it.

use movement::Pallet;
use plane::Vector;

use crate::svg::{Svg, escaped};

/// Sizes of type in mm, three of them: capitals about 1.8, 2.5 and 3.5 mm high in the manner of ISO 3098-1:2015.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Size {
    Small,
    Plain,
    Large,
}

impl Size {
    /// Font size in mm.
    pub fn em_mm(self) -> f64 {
        match self {
            Size::Small => 2.5,
            Size::Plain => 3.5,
            Size::Large => 5.0,
        }
    }

    /// Distance from one baseline to the next.
    pub fn line_mm(self) -> f64 {
        1.4 * self.em_mm()
    }

    fn class(self) -> &'static str {
        match self {
            Size::Small => "small",
            Size::Plain => "plain",
            Size::Large => "large",
        }
    }
}

/// Height of capitals and figures over the size of type: a ratio, seen in plain sans faces.
pub(crate) const CAPITAL_RATIO: f64 = 0.73;
/// Size of a subscript over that of its text. A ratio, chosen.
pub(crate) const SUBSCRIPT_RATIO: f64 = 0.72;
/// Width of a space over the size of its text. A ratio, seen in plain sans faces.
const SPACE_EM: f64 = 0.3;
/// How far a subscript is lowered, over the size of its text. A ratio, chosen.
const SUBSCRIPT_DROP_RATIO: f64 = 0.22;

/// A piece of a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Run {
    pub text: String,
    pub subscript: bool,
}

/// A text as runs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Words(pub Vec<Run>);

impl Words {
    pub fn plain(text: impl Into<String>) -> Words {
        Words(vec![Run { text: text.into(), subscript: false }])
    }

    /// A symbol of the parameter table: its first letter, the rest as a subscript.
    pub fn symbol(symbol: &str) -> Words {
        let symbol = symbol.replacen("rho", "\u{3c1}", 1);
        let mut letters = symbol.chars();
        let first: String = letters.next().into_iter().collect();
        let rest: String = letters.collect();
        let mut words = Words::plain(first);
        if !rest.is_empty() {
            words.0.push(Run { text: rest, subscript: true });
        }
        words
    }

    pub fn then(mut self, text: &str) -> Words {
        self.0.push(Run { text: text.to_owned(), subscript: false });
        self
    }

    /// The same with the name of the pallet it belongs to, in short.
    pub fn symbol_at(symbol: &str, pallet: Pallet) -> Words {
        let short = match pallet {
            Pallet::Entry => "en",
            Pallet::Exit => "ex",
        };
        let mut words = Words::symbol(symbol);
        let separator = if words.0.len() > 1 { "," } else { "" };
        let short = format!("{separator}{short}");
        match words.0.get_mut(1) {
            Some(subscript) => subscript.text.push_str(&short),
            None => words.0.push(Run { text: short, subscript: true }),
        }
        words
    }

    /// Estimated width; rather too wide than too narrow.
    pub fn width_mm(&self, size: Size) -> f64 {
        let runs = self.0.iter().map(|r| width_em(&r.text) * if r.subscript { SUBSCRIPT_RATIO } else { 1.0 });
        runs.sum::<f64>() * size.em_mm()
    }

    fn markup(&self, size: Size, svg: &mut Svg) -> String {
        let drop = svg.mm(SUBSCRIPT_DROP_RATIO * size.em_mm());
        let mut out = String::new();
        let mut lowered = false;
        for run in &self.0 {
            if run.subscript == lowered && !run.subscript {
                out.push_str(&escaped(&run.text));
                continue;
            }
            // Renderers drop a space where a run begins: the run is moved along instead.
            let text = escaped(run.text.trim_start());
            let space = run.text.len() - run.text.trim_start().len();
            if run.subscript && out.ends_with('f') {
                // A non-joiner, so that no ligature is made of the letter and its subscript.
                out.push_str("&#8204;");
            }
            let class = if run.subscript { format!(" class=\"sub-{}\"", size.class()) } else { String::new() };
            let shift = if run.subscript == lowered {
                String::new()
            } else {
                format!(" dy=\"{}{drop}\"", if lowered { "-" } else { "" })
            };
            let along = svg.mm(space as f64 * SPACE_EM * size.em_mm());
            let along = if space == 0 { String::new() } else { format!(" dx=\"{along}\"") };
            out.push_str(&format!("<tspan{class}{along}{shift}>{text}</tspan>"));
            lowered = run.subscript;
        }
        out
    }
}

/// Width of a text in ems of a wide plain sans.
fn width_em(text: &str) -> f64 {
    text.chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' | '\u{a0}' => 0.34,
            'f' | 't' | 'r' | '(' | ')' | '/' | '-' => 0.42,
            'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.95,
            '0'..='9' | 'a'..='z' => 0.63,
            'A'..='Z' => 0.73,
            c if u32::from(c) < 0x2000 => 0.75,
            _ => 1.05,
        })
        .sum()
}

/// Where a text stands against its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// Writes upright text with its baseline at `at`.
pub(crate) fn write(svg: &mut Svg, words: &Words, size: Size, anchor: Anchor, at: Vector) {
    write_turned(svg, words, size, anchor, at, 0.0);
}

/// Writes text turned by `angle_rad`, clockwise as seen on the sheet.
pub(crate) fn write_turned(svg: &mut Svg, words: &Words, size: Size, anchor: Anchor, at: Vector, angle_rad: f64) {
    let (x, y) = (svg.mm(at.x), svg.mm(at.y));
    let anchor = match anchor {
        Anchor::Start => "",
        Anchor::Middle => " middle",
        Anchor::End => " end",
    };
    let turn = if angle_rad == 0.0 {
        String::new()
    } else {
        format!(" transform=\"rotate({} {x} {y})\"", svg.mm(angle_rad.to_degrees()))
    };
    let content = words.markup(size, svg);
    svg.element("text", &format!("class=\"{}{anchor}\" x=\"{x}\" y=\"{y}\"{turn}", size.class()), &content);
}

/// Breaks a text into lines no wider than `width_mm`; words that are longer than a line are broken too.
pub(crate) fn wrapped(text: &str, size: Size, width_mm: f64) -> Vec<String> {
    let most_em = width_mm / size.em_mm();
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if width_em(&joined) <= most_em {
            line = joined;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if width_em(&line) > most_em && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::take(&mut line));
                line.push(c);
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}
