//! The sheet round the picture: frame, title block, table of dimensions, notes, scale bar.

use plane::Vector;

use crate::options::{DrawingError, Moment, Options, Sheet, Subject};
use crate::room::{Ink, Room, TextBox};
use crate::scene::{Row, degrees};
use crate::svg::Svg;
use crate::text::{Anchor, Size, Words, wrapped, write};
use crate::view::{Rect, scale_text};

/// Margins of the frame: 20 mm on the left for filing, 10 mm elsewhere (ISO 5457:1999).
const FILING_MM: f64 = 20.0;
const MARGIN_MM: f64 = 10.0;
/// Width of the title block and of the column above it, in mm; chosen so that an A4 sheet keeps a square picture.
const COLUMN_MM: f64 = 88.0;
/// Inner distance of texts from the lines round them, in mm; chosen.
const PAD_MM: f64 = 1.6;
/// Height of a caption in a cell, and least height of a cell, in mm; chosen with the type.
const CAPTION_MM: f64 = 3.2;
const CELL_MM: f64 = 8.6;
/// Columns of the table from the left: symbols, meanings, values (right). In mm; chosen.
const SYMBOL_MM: f64 = 11.0;
const VALUE_MM: f64 = 19.0;
/// Longest and shortest scale bar, in mm; chosen.
const BAR_MOST_MM: f64 = 50.0;

/// Where things lie on the sheet.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub frame: Rect,
    /// For the picture and its dimensions.
    pub picture: Rect,
    /// For an enlarged detail, where there is room for one.
    pub spare: Option<Rect>,
    block: Rect,
    table: Rect,
    cells: Vec<Vec<Cell>>,
    rows: Vec<TableRow>,
    notes: Vec<Vec<String>>,
}

/// A cell of the title block.
#[derive(Clone, Debug)]
struct Cell {
    caption: &'static str,
    lines: Vec<String>,
    size: Size,
    width_mm: f64,
}

impl Cell {
    fn height_mm(&self) -> f64 {
        (CAPTION_MM + self.lines.len() as f64 * self.size.line_mm() + 0.6).max(CELL_MM)
    }
}

#[derive(Clone, Debug)]
struct TableRow {
    row: Row,
    meaning: Vec<String>,
}

impl TableRow {
    fn height_mm(&self) -> f64 {
        self.meaning.len().max(1) as f64 * Size::Small.line_mm() + 0.9
    }
}

impl Plan {
    /// Shares out the sheet.
    ///
    /// # Errors
    /// [`DrawingError::TextTooLong`] when title, table and notes do not fit.
    pub fn new(options: &Options, rows: &[Row], ratio_text: &str) -> Result<Plan, DrawingError> {
        let (width, height) = options.sheet.size_mm();
        if options.sheet == Sheet::Page {
            return Ok(Plan::page(width, height, &options.notes));
        }
        let frame = Rect::new(FILING_MM, MARGIN_MM, width - MARGIN_MM, height - MARGIN_MM);
        let cells = cells(options, ratio_text);
        let block_mm: f64 = cells.iter().map(|line| height_of(line)).sum();
        let block = Rect::new(frame.high.x - COLUMN_MM, frame.high.y - block_mm, frame.high.x, frame.high.y);
        let landscape = width > height;
        let text_mm = if landscape { COLUMN_MM } else { frame.size().x - COLUMN_MM };
        let rows = if options.dimensions { table_rows(rows, text_mm) } else { Vec::new() };
        let inner_mm = text_mm - 2.0 * PAD_MM - 5.0;
        let notes: Vec<_> = options.notes.iter().map(|note| wrapped(note, Size::Small, inner_mm)).collect();
        let heading = |any: bool| if any { 6.5 } else { 0.0 };
        let rows_mm: f64 = heading(!rows.is_empty()) + rows.iter().map(TableRow::height_mm).sum::<f64>();
        let lines: usize = notes.iter().map(Vec::len).sum();
        let notes_mm = heading(!notes.is_empty()) + lines as f64 * Size::Small.line_mm();
        let table_mm = rows_mm + notes_mm + if rows_mm + notes_mm > 0.0 { 2.0 } else { 0.0 };

        let (needed, room) = if landscape {
            (block_mm + table_mm, frame.size().y)
        } else {
            // The picture keeps at least half of an upright sheet.
            (block_mm.max(table_mm), 0.5 * frame.size().y)
        };
        if needed > room {
            return Err(DrawingError::TextTooLong { height_mm: needed, room_mm: room });
        }
        let (table, picture, spare) = if landscape {
            let table = Rect::new(block.low.x, frame.low.y, frame.high.x, frame.low.y + table_mm);
            let spare = Rect::new(block.low.x, table.high.y, frame.high.x, block.low.y);
            (table, Rect::new(frame.low.x, frame.low.y, block.low.x, frame.high.y), Some(spare))
        } else {
            let top = frame.high.y - needed;
            let table = Rect::new(frame.low.x, frame.high.y - table_mm, block.low.x, frame.high.y);
            (table, Rect::new(frame.low.x, frame.low.y, frame.high.x, top), None)
        };
        Ok(Plan { frame, picture: picture.grown(-2.0), spare, block, table, cells, rows, notes })
    }

    /// A page: the picture, and the notes along its lower edge.
    fn page(width: f64, height: f64, notes: &[String]) -> Plan {
        let frame = Rect::new(0.0, 0.0, width, height);
        let none = Rect::new(0.0, 0.0, 0.0, 0.0);
        let (cells, rows) = Default::default();
        let notes: Vec<_> = notes.iter().map(|note| wrapped(note, Size::Small, width - 4.0 * PAD_MM)).collect();
        let lines: usize = notes.iter().map(Vec::len).sum();
        let mut picture = frame.grown(-1.0);
        picture.high.y -= lines as f64 * Size::Small.line_mm();
        Plan { frame, picture, spare: None, block: none, table: none, cells, rows, notes }
    }

    /// Writes everything but the picture.
    pub fn write(&self, svg: &mut Svg, options: &Options) {
        if options.sheet == Sheet::Page {
            self.write_page_notes(svg);
            return;
        }
        svg.open("g", "class=\"sheet\"");
        svg.rect("frame", self.frame.low, self.frame.size());
        self.centring_marks(svg, options.sheet);
        self.write_block(svg);
        self.write_table(svg);
        svg.close();
    }

    fn write_page_notes(&self, svg: &mut Svg) {
        if self.notes.is_empty() {
            return;
        }
        let step = Size::Small.line_mm();
        svg.open("g", "class=\"notes\"");
        for (i, line) in self.notes.iter().flatten().enumerate() {
            let at = Vector::new(2.0 * PAD_MM, self.picture.high.y + (i as f64 + 0.72) * step);
            write(svg, &Words::plain(line.as_str()), Size::Small, Anchor::Start, at);
        }
        svg.close();
    }

    /// Short strokes at the middles of the sides (ISO 5457:1999).
    fn centring_marks(&self, svg: &mut Svg, sheet: Sheet) {
        let (width, height) = sheet.size_mm();
        let middle = Vector::new(0.5 * width, 0.5 * height);
        let at = Vector::new;
        for (a, b) in [
            (at(0.0, middle.y), at(self.frame.low.x, middle.y)),
            (at(width, middle.y), at(self.frame.high.x, middle.y)),
            (at(middle.x, 0.0), at(middle.x, self.frame.low.y)),
            (at(middle.x, height), at(middle.x, self.frame.high.y)),
        ] {
            svg.segment("cell", a, b);
        }
    }

    fn write_block(&self, svg: &mut Svg) {
        svg.open("g", "class=\"title-block\"");
        svg.rect("frame", self.block.low, self.block.size());
        let mut y = self.block.low.y;
        for line in &self.cells {
            let height = height_of(line);
            let mut x = self.block.low.x;
            for cell in line {
                let corner = Vector::new(x, y);
                svg.rect("cell", corner, Vector::new(cell.width_mm, height));
                let caption = corner + Vector::new(PAD_MM, CAPTION_MM);
                write(svg, &Words::plain(cell.caption), Size::Small, Anchor::Start, caption);
                let step = cell.size.line_mm();
                for (i, text) in cell.lines.iter().enumerate() {
                    let at = corner + Vector::new(PAD_MM, CAPTION_MM + 0.8 * step + i as f64 * step);
                    write(svg, &Words::plain(text.as_str()), cell.size, Anchor::Start, at);
                }
                x += cell.width_mm;
            }
            y += height;
        }
        svg.close();
    }

    fn write_table(&self, svg: &mut Svg) {
        let left = self.table.low.x + PAD_MM;
        let right = self.table.high.x - PAD_MM;
        let step = Size::Small.line_mm();
        let mut y = self.table.low.y;
        let heading = |svg: &mut Svg, text: &str, y: f64| {
            write(svg, &Words::plain(text), Size::Plain, Anchor::Start, Vector::new(left, y + 4.6));
        };
        if !self.rows.is_empty() {
            svg.open("g", "class=\"table\"");
            heading(svg, "Dimensions", y);
            y += 6.5;
            for row in &self.rows {
                svg.segment("thin", Vector::new(left, y), Vector::new(right, y));
                let baseline = y + 0.45 + 0.72 * step;
                write(svg, &row.row.symbol, Size::Small, Anchor::Start, Vector::new(left, baseline));
                for (i, text) in row.meaning.iter().enumerate() {
                    let at = Vector::new(left + SYMBOL_MM, baseline + i as f64 * step);
                    write(svg, &Words::plain(text.as_str()), Size::Small, Anchor::Start, at);
                }
                write(
                    svg,
                    &Words::plain(row.row.value.as_str()),
                    Size::Small,
                    Anchor::End,
                    Vector::new(right, baseline),
                );
                y += row.height_mm();
            }
            svg.segment("thin", Vector::new(left, y), Vector::new(right, y));
            svg.close();
        }
        if !self.notes.is_empty() {
            svg.open("g", "class=\"notes\"");
            heading(svg, "Notes", y);
            y += 6.5;
            for (i, note) in self.notes.iter().enumerate() {
                for (j, text) in note.iter().enumerate() {
                    let baseline = y + 0.72 * step;
                    if j == 0 {
                        write(
                            svg,
                            &Words::plain(format!("{}", i + 1)),
                            Size::Small,
                            Anchor::Start,
                            Vector::new(left, baseline),
                        );
                    }
                    write(
                        svg,
                        &Words::plain(text.as_str()),
                        Size::Small,
                        Anchor::Start,
                        Vector::new(left + 5.0, baseline),
                    );
                    y += step;
                }
            }
            svg.close();
        }
    }
}

fn height_of(line: &[Cell]) -> f64 {
    line.iter().map(Cell::height_mm).fold(0.0, f64::max)
}

fn cells(options: &Options, ratio_text: &str) -> Vec<Vec<Cell>> {
    let title = &options.title;
    let cell = |caption, text: &str, size, width_mm: f64| Cell {
        caption,
        lines: wrapped(text, size, width_mm - 2.0 * PAD_MM),
        size,
        width_mm,
    };
    let mut lines = Vec::new();
    let mut wide = |caption, text: &str, size| {
        if !text.trim().is_empty() {
            lines.push(vec![cell(caption, text, size, COLUMN_MM)]);
        }
    };
    wide("Movement", &title.name, Size::Large);
    wide("Drawing", options.subject.title(), Size::Plain);
    wide("Kind", &title.kind, Size::Small);
    wide("Verdict", &title.verdict, Size::Small);
    if options.subject.shows_moment() {
        wide("Moment", &moment_text(options), Size::Small);
    } else if matches!(options.subject, Subject::Plate(_)) {
        wide("Pallet and tooth", &title.moment, Size::Small);
    }
    let third = COLUMN_MM / 3.0;
    lines.push(vec![
        cell("Scale", ratio_text, Size::Plain, third),
        cell("Units", "mm, deg", Size::Plain, third),
        cell("Sheet", options.sheet.title(), Size::Plain, third),
    ]);
    let mut last = vec![cell("Seen from", "bridge side", Size::Plain, third)];
    last.push(cell("Revision", &title.revision, Size::Plain, third));
    last.push(cell("Date", &title.date, Size::Plain, third));
    lines.push(last);
    if !title.remark.trim().is_empty() {
        lines.push(vec![cell("Remark", &title.remark, Size::Small, COLUMN_MM)]);
    }
    lines
}

/// Which instant it is: name, and the angles of lever, wheel and jewel.
fn moment_text(options: &Options) -> String {
    let Moment { wheel_rad, lever_rad, jewel_rad } = options.moment;
    let name = &options.title.moment;
    let separator = if name.is_empty() { "" } else { ": " };
    let [lever, wheel, jewel] = [lever_rad, wheel_rad, jewel_rad].map(degrees);
    format!("{name}{separator}lever {lever}, wheel {wheel}, jewel {jewel}")
}

fn table_rows(rows: &[Row], width_mm: f64) -> Vec<TableRow> {
    let meaning_mm = width_mm - 2.0 * PAD_MM - SYMBOL_MM - VALUE_MM;
    let row = |row: &Row| TableRow { meaning: wrapped(&row.meaning, Size::Small, meaning_mm), row: row.clone() };
    rows.iter().map(row).collect()
}

/// Writes a bar of true length in the first corner of the picture, from the lower left, that is free; takes its room.
pub(crate) fn scale_bar(svg: &mut Svg, picture: &Rect, ratio: f64, room: &mut Room) {
    let true_mm = crate::view::round_length(BAR_MOST_MM / ratio);
    let long_mm = true_mm * ratio;
    let half = Vector::new(0.5 * long_mm + 7.0, 3.0);
    let (low, high) = (picture.low, picture.high);
    let (left, right) = (low.x + 8.5, high.x - 8.5 - long_mm);
    let corners = [(left, high.y - 5.0), (right, high.y - 5.0), (left, low.y + 7.0), (right, low.y + 7.0)];
    let place = |(x, y): (f64, f64)| TextBox {
        centre: Vector::new(x + 0.5 * long_mm, y - 2.0),
        half,
        along: Vector::new(1.0, 0.0),
    };
    let free = corners.into_iter().find(|c| room.text_cost(&place(*c)).is_some());
    // The scale stands in the title block too.
    let Some(corner) = free else { return };
    let at = |x: f64, y: f64| Vector::new(corner.0 + x, corner.1 + y);
    svg.open("g", &format!("class=\"scale-bar\" data-true-mm=\"{true_mm}\""));
    for i in 0..5 {
        let class = if i % 2 == 0 { "bar-full" } else { "cell" };
        svg.rect(class, at(0.2 * long_mm * f64::from(i), -1.4), Vector::new(0.2 * long_mm, 1.4));
    }
    svg.rect("cell", at(0.0, -1.4), Vector::new(long_mm, 1.4));
    write(svg, &Words::plain("0"), Size::Small, Anchor::Middle, at(0.0, -2.4));
    let end = Words::plain(format!("{true_mm} mm"));
    write(svg, &end, Size::Small, Anchor::Middle, at(long_mm, -2.4));
    let scale = Words::plain(scale_text(ratio));
    write(svg, &scale, Size::Small, Anchor::Middle, at(0.5 * long_mm, -2.4));
    svg.close();
    room.add_text(place(corner));
    room.add_line(at(0.0, 0.0), at(long_mm, 0.0), Ink::Outline);
}
