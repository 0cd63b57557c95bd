//! Running text, tables and photographs down the sheets, with frame, title block and page n of N.
//!
//! It breaks lines by measured widths and breaks pages between rows; it never cuts text off, except in the
//! title block, whose fields are told in full on the first sheet. It knows nothing of plots or verdicts.
//!
//! Longer than most files because everything that moves the pen shares its one state: where it stands.

use super::fonts::{Fonts, Weight};
use super::marks::Mark;
use super::page::{Ink, Pen, Place, SHEET_HEIGHT, SHEET_WIDTH, Sheet, Style};

/// Left edge of what is written, in millimetres.
pub const LEFT: f32 = 25.0;
/// Right edge of what is written, in millimetres.
pub const RIGHT: f32 = 195.0;
/// Width of what is written, in millimetres.
pub const WIDTH: f32 = RIGHT - LEFT;
const TOP: f32 = 17.0;
const BOTTOM: f32 = 262.0;
/// The least of what follows a lesser heading that stands on the same sheet, in millimetres.
const LEAST_WITH_HEADING: f32 = 11.0;
/// Room for the head of a table, in millimetres.
const TABLE_HEAD: f32 = 8.0;
/// The place kept free on the first sheet for the visible signature: left, top, width, height in millimetres.
pub const SIGNATURE_BOX: (f32, f32, f32, f32) = (LEFT, 222.0, WIDTH, 40.0);

/// Running text.
pub const BODY: Style = Style::new(Weight::Regular, 9.0);
/// Running text that matters.
pub const STRONG: Style = Style::new(Weight::Semibold, 9.0);
/// Labels, captions, sources.
pub const SMALL: Style = Style::new(Weight::Regular, 7.5).with_ink(Ink::QUIET);

/// A field of the title block.
#[derive(Debug, Clone)]
pub struct Field {
    /// Small print above.
    pub label: String,
    /// What it says.
    pub value: String,
    /// Width as a share of its row.
    pub share: f32,
}

impl Field {
    /// A field.
    pub fn new(label: &str, value: impl Into<String>, share: f32) -> Self {
        Self { label: label.to_owned(), value: value.into(), share }
    }
}

/// What stands on every sheet (after ISO 7200).
#[derive(Debug, Clone, Default)]
pub struct TitleBlock {
    /// Upper row; the sheet number is added at its end.
    pub upper: Vec<Field>,
    /// Lower row.
    pub lower: Vec<Field>,
    /// One line at the head of every sheet.
    pub head: String,
    /// A word across every sheet, such as `DRAFT`.
    pub across: Option<String>,
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// A verdict mark before the text.
    pub mark: Option<Mark>,
    /// Text, wrapped as needed.
    pub text: String,
    /// Its look.
    pub style: Style,
}

impl Cell {
    /// Plain text.
    pub fn text(text: impl Into<String>) -> Self {
        Self { mark: None, text: text.into(), style: Style::new(Weight::Regular, 8.0) }
    }

    /// Text that matters.
    pub fn strong(text: impl Into<String>) -> Self {
        Self { mark: None, text: text.into(), style: Style::new(Weight::Semibold, 8.0) }
    }

    /// Small print.
    pub fn small(text: impl Into<String>) -> Self {
        Self { mark: None, text: text.into(), style: SMALL }
    }

    /// A verdict: mark and word.
    pub fn verdict(mark: Mark) -> Self {
        Self { mark: Some(mark), ..Self::strong(mark.word()) }
    }

    /// A mark with other words.
    pub fn marked(mark: Mark, text: impl Into<String>) -> Self {
        Self { mark: Some(mark), ..Self::text(text) }
    }
}

/// On which side of its column a cell's text stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Side {
    /// Words.
    #[default]
    Left,
    /// Numbers.
    Right,
}

/// A column of a table.
#[derive(Debug, Clone, Copy)]
pub struct Column<'t> {
    /// Heading.
    pub title: &'t str,
    /// Width as a share of the table.
    pub share: f32,
    /// Alignment.
    pub side: Side,
}

impl<'t> Column<'t> {
    /// A column of words.
    pub const fn words(title: &'t str, share: f32) -> Self {
        Self { title, share, side: Side::Left }
    }

    /// A column of numbers.
    pub const fn numbers(title: &'t str, share: f32) -> Self {
        Self { title, share, side: Side::Right }
    }
}

/// A photograph with its caption.
#[derive(Debug, Clone)]
pub struct Picture {
    /// Name under which `paper` holds the photograph; `None` where the document does not hold it.
    pub resource: Option<String>,
    /// Pixels.
    pub width: u32,
    /// Pixels.
    pub height: u32,
    /// What it shows, first line strong; the rest small.
    pub caption: Vec<String>,
}

/// The sheets in the making and where the pen stands.
#[derive(Debug)]
pub struct Flow<'f> {
    fonts: &'f Fonts,
    block: TitleBlock,
    sheets: Vec<Sheet>,
    y: f32,
    first_bottom: f32,
    /// Lesser headings that wait for what follows them.
    kept: Vec<Kept>,
}

/// A lesser heading that is written together with the first of what follows, never alone at the foot of a sheet.
#[derive(Debug, Clone)]
struct Kept {
    lines: Vec<String>,
    style: Style,
    above: f32,
    below: f32,
}

impl Kept {
    fn height(&self) -> f32 {
        self.above + lines_height(&self.lines, self.style) + self.below
    }
}

impl<'f> Flow<'f> {
    /// Begins with the first sheet, whose foot is kept free for the visible signature.
    pub fn new(fonts: &'f Fonts, block: TitleBlock) -> Self {
        Self {
            fonts,
            block,
            sheets: vec![Sheet::default()],
            y: TOP,
            first_bottom: SIGNATURE_BOX.1 - 4.0,
            kept: Vec::new(),
        }
    }

    /// Begins a paper that nobody signs: no sheet keeps a place free.
    pub fn without_signature(fonts: &'f Fonts, block: TitleBlock) -> Self {
        Self { first_bottom: BOTTOM, ..Self::new(fonts, block) }
    }

    /// Moves down.
    pub fn space(&mut self, mm: f32) {
        self.y += mm;
    }

    /// Begins a new sheet unless this much room is left: beside the lesser headings that wait, which are written
    /// now. Whatever is drawn must ask for its first piece here.
    pub fn need(&mut self, mm: f32) {
        let kept = std::mem::take(&mut self.kept);
        let headings: f32 = kept.iter().map(Kept::height).sum();
        let least = if kept.is_empty() { 0.0 } else { LEAST_WITH_HEADING };
        // What is taller than a sheet breaks anyway: it begins right after its heading.
        let room = mm.max(least).min(BOTTOM - TOP - headings);
        if !self.at_top() && self.y + headings + room > self.bottom() {
            self.new_sheet();
        }
        for one in kept {
            if !self.at_top() {
                self.space(one.above);
            }
            self.draw_lines(&one.lines, one.style, LEFT);
            self.space(one.below);
        }
    }

    /// Begins a new sheet.
    pub fn new_sheet(&mut self) {
        self.sheets.push(Sheet::default());
        self.y = TOP;
    }

    /// Whether this is the first sheet.
    pub fn is_first_sheet(&self) -> bool {
        self.sheets.len() == 1
    }

    /// Draws on the first sheet, wherever the text has got to.
    pub fn on_first_sheet(&mut self, draw: impl FnOnce(&mut Sheet, &Fonts)) {
        let fonts = self.fonts;
        draw(&mut self.sheets[0], fonts);
    }

    /// Whether nothing is written on this sheet yet.
    pub fn at_top(&self) -> bool {
        self.y <= TOP
    }

    /// The document's title.
    pub fn title(&mut self, text: &str) {
        self.lines(text, Style::new(Weight::Semibold, 20.0), LEFT, WIDTH);
        self.space(1.0);
    }

    /// A heading with a rule under it; room for what follows is kept with it.
    pub fn heading(&mut self, text: &str) {
        if !self.at_top() {
            self.space(3.5);
        }
        self.need(28.0);
        self.lines(text, Style::new(Weight::Semibold, 12.5), LEFT, WIDTH);
        let y = self.y + 0.6;
        self.sheet().line(&[(LEFT, y), (RIGHT, y)], Pen { width: 1.0, ink: Ink::TEXT });
        self.space(2.6);
    }

    /// A lesser heading: it stands on the same sheet as the first of what follows.
    pub fn subheading(&mut self, text: &str) {
        self.keep(text, Style::new(Weight::Semibold, 9.5), 2.2, 0.8);
    }

    /// A line in strong type that leads to what follows, on the same sheet as the first of it.
    pub fn lead(&mut self, text: &str) {
        self.keep(text, STRONG, 0.0, 1.2);
    }

    fn keep(&mut self, text: &str, style: Style, above: f32, below: f32) {
        let lines = self.wrap(text, style, WIDTH);
        self.kept.push(Kept { lines, style, above, below });
    }

    /// A paragraph.
    pub fn paragraph(&mut self, text: &str, style: Style) {
        self.lines(text, style, LEFT, WIDTH);
        self.space(1.2);
    }

    /// A paragraph set in, with a verdict mark hanging before it.
    pub fn marked(&mut self, mark: Mark, text: &str, style: Style) {
        const INDENT: f32 = 6.0;
        self.need(style.line_height());
        let base = self.y + ascent(style);
        let fonts = self.fonts;
        mark.draw(self.sheet(), fonts, (LEFT + 2.2, base - 1.05), 3.3);
        self.lines(text, style, LEFT + INDENT, WIDTH - INDENT);
        self.space(0.8);
    }

    /// A paragraph set in, with a sign hanging before it.
    pub fn item(&mut self, sign: &str, text: &str, style: Style) {
        const INDENT: f32 = 6.0;
        self.need(style.line_height());
        let base = self.y + ascent(style);
        let fonts = self.fonts;
        self.sheet().text(fonts, (LEFT, base), style, sign);
        self.lines(text, style, LEFT + INDENT, WIDTH - INDENT);
        self.space(0.6);
    }

    /// A mark with a paragraph beside it, framed: what a hurried reader must see.
    pub fn banner(&mut self, mark: Mark, lead: &str, text: &str) {
        let lead_style = Style::new(Weight::Semibold, 13.0);
        let inner = WIDTH - 22.0;
        let lead_lines = self.wrap(lead, lead_style, inner);
        let text_lines = self.wrap(text, BODY, inner);
        let height = lines_height(&lead_lines, lead_style) + lines_height(&text_lines, BODY) + 6.0;
        self.need(height);
        let top = self.y;
        let fonts = self.fonts;
        self.sheet().rectangle((LEFT, top), WIDTH, height, Some(Ink::WASH), Some(Pen::WIDE));
        mark.draw(self.sheet(), fonts, (LEFT + 9.5, top + height / 2.0), 9.0);
        self.y = top + 2.6;
        self.draw_lines(&lead_lines, lead_style, LEFT + 19.0);
        self.draw_lines(&text_lines, BODY, LEFT + 19.0);
        self.y = top + height + 2.0;
    }

    /// A framed note: a caution, a limit of what the document says.
    pub fn note(&mut self, lead: &str, text: &str) {
        let inner = WIDTH - 8.0;
        let lead_lines = self.wrap(lead, STRONG, inner);
        let text_lines = self.wrap(text, BODY, inner);
        let height = lines_height(&lead_lines, STRONG) + lines_height(&text_lines, BODY) + 4.0;
        self.need(height.min(BOTTOM - TOP));
        let top = self.y;
        if height <= BOTTOM - TOP {
            self.sheet().rectangle((LEFT, top), WIDTH, height, None, Some(Pen::NARROW));
            self.sheet().rectangle((LEFT, top), 1.6, height, Some(Ink::TEXT), None);
        }
        self.y = top + 1.8;
        self.draw_lines(&lead_lines, STRONG, LEFT + 5.0);
        self.draw_lines(&text_lines, BODY, LEFT + 5.0);
        self.space(4.2);
    }

    /// Label and value, in as many columns as asked for.
    pub fn facts(&mut self, columns: u8, facts: &[(&str, String)]) {
        let columns = columns.max(1);
        let width = WIDTH / f32::from(columns);
        let value_style = Style::new(Weight::Regular, 9.0);
        for row in facts.chunks(columns.into()) {
            let wrapped: Vec<Vec<String>> =
                row.iter().map(|(_, value)| self.wrap(value, value_style, width - 4.0)).collect();
            let tallest = wrapped.iter().map(|lines| lines_height(lines, value_style)).fold(0.0, f32::max);
            self.need(tallest + 5.0);
            let top = self.y;
            let fonts = self.fonts;
            let mut x = LEFT;
            for ((label, _), lines) in row.iter().zip(&wrapped) {
                self.y = top;
                self.sheet().text(fonts, (x, top + ascent(SMALL)), SMALL, label);
                self.y = top + SMALL.line_height();
                self.draw_lines(lines, value_style, x);
                x += width;
            }
            self.y = top + SMALL.line_height() + tallest + 1.4;
        }
    }

    /// A table with a head that comes again on every sheet. Rows break between sheets, a row taller than a
    /// sheet breaks within.
    pub fn table(&mut self, columns: &[Column<'_>], rows: &[Vec<Cell>]) {
        let total: f32 = columns.iter().map(|column| column.share).sum();
        let widths: Vec<f32> = columns.iter().map(|column| column.share / total * WIDTH).collect();
        // The head with its first row, so that neither stands alone.
        let first = rows.first().map_or(0.0, |row| row_height(row, &self.wrap_row(row, &widths)));
        self.need((first + TABLE_HEAD).max(20.0));
        self.table_head(columns, &widths);
        for row in rows {
            let wrapped = self.wrap_row(row, &widths);
            let height = row_height(row, &wrapped);
            if self.y + height > self.bottom() && height <= BOTTOM - TOP - 8.0 {
                self.new_sheet();
                self.table_head(columns, &widths);
            }
            let mut done = vec![0_usize; row.len()];
            loop {
                let slice_top = self.y;
                let room = (self.bottom() - slice_top - 2.0).max(0.0);
                let mut deepest = slice_top;
                let mut left_over = false;
                let mut x = LEFT;
                for (index, cell) in row.iter().enumerate() {
                    let (Some(lines), Some(width), Some(column)) =
                        (wrapped.get(index), widths.get(index), columns.get(index))
                    else {
                        continue;
                    };
                    let fresh = done[index] == 0;
                    let mut y = slice_top + 0.8;
                    while let Some(line) = lines.get(done[index]) {
                        if y + cell.style.line_height() > slice_top + room {
                            left_over = true;
                            break;
                        }
                        self.cell_line(cell, line, *column, (x, y), *width, fresh && done[index] == 0);
                        done[index] += 1;
                        y += cell.style.line_height();
                    }
                    deepest = deepest.max(y);
                    x += width;
                }
                self.y = deepest + 0.9;
                let y = self.y;
                self.sheet().line(&[(LEFT, y), (RIGHT, y)], Pen::HAIR);
                if !left_over {
                    break;
                }
                self.new_sheet();
                self.table_head(columns, &widths);
            }
        }
        self.space(2.4);
    }

    /// A drawing of that height across what is written, kept on one sheet: it is told where its upper left corner
    /// lies.
    pub fn drawing(&mut self, height: f32, draw: impl FnOnce(&mut Sheet, &Fonts, Place)) {
        self.need(height);
        let (fonts, at) = (self.fonts, (LEFT, self.y));
        draw(self.sheet(), fonts, at);
        self.space(height);
    }

    /// Whether this much room is left on the sheet.
    pub fn has_room(&self, mm: f32) -> bool {
        self.y + mm <= self.bottom()
    }

    /// Photographs, two beside each other, each within a box of the same size.
    pub fn pictures(&mut self, pictures: &[Picture]) {
        const GAP: f32 = 6.0;
        const BOX_HEIGHT: f32 = 61.0;
        let box_width = (WIDTH - GAP) / 2.0;
        for pair in pictures.chunks(2) {
            let captions: Vec<Vec<(String, Style)>> =
                pair.iter().map(|p| self.caption(p, box_width)).collect();
            let tallest = captions
                .iter()
                .map(|lines| lines.iter().map(|(_, style)| style.line_height()).sum())
                .fold(0.0, f32::max);
            self.need(BOX_HEIGHT + tallest + 4.0);
            let top = self.y;
            let fonts = self.fonts;
            let mut x = LEFT;
            for (picture, lines) in pair.iter().zip(&captions) {
                // Pixel counts stay below 2^24, where f32 is exact.
                #[expect(clippy::cast_precision_loss)]
                let (w, h) = (picture.width.max(1) as f32, picture.height.max(1) as f32);
                let scale = (box_width / w).min(BOX_HEIGHT / h);
                let (w, h) = (w * scale, h * scale);
                self.sheet().rectangle((x, top), box_width, BOX_HEIGHT, Some(Ink::WASH), None);
                let at = (x + (box_width - w) / 2.0, top + (BOX_HEIGHT - h) / 2.0);
                if let Some(resource) = &picture.resource {
                    self.sheet().photo(resource, at, w, h);
                } else {
                    let middle = (x + box_width / 2.0, top + BOX_HEIGHT / 2.0);
                    self.sheet().text_centred(fonts, middle, SMALL, "not in this document");
                }
                self.sheet().rectangle((x, top), box_width, BOX_HEIGHT, None, Some(Pen::HAIR));
                let mut y = top + BOX_HEIGHT + 1.0;
                for (line, style) in lines {
                    self.sheet().text(fonts, (x, y + ascent(*style)), *style, line);
                    y += style.line_height();
                }
                x += box_width + GAP;
            }
            self.y = top + BOX_HEIGHT + tallest + 4.0;
        }
    }

    /// Frames all sheets and hands them over.
    pub fn into_sheets(mut self) -> Vec<Sheet> {
        self.need(0.0); // a heading that nothing followed is not lost
        let sheets = std::mem::take(&mut self.sheets);
        let count = sheets.len();
        sheets
            .into_iter()
            .enumerate()
            .map(|(index, mut sheet)| {
                self.frame(&mut sheet, index + 1, count);
                sheet
            })
            .collect()
    }

    fn frame(&self, sheet: &mut Sheet, number: usize, count: usize) {
        const FRAME: (f32, f32, f32, f32) = (20.0, 10.0, 180.0, 277.0);
        const ROW: f32 = 10.5;
        let (x, y, width, height) = FRAME;
        let fonts = self.fonts;
        sheet.text(fonts, (LEFT, y - 1.6), SMALL, &self.block.head);
        let block_top = y + height - 2.0 * ROW;
        let mut upper = self.block.upper.clone();
        upper.push(Field::new("Sheet", format!("{number} of {count}"), 0.12));
        for (row, fields) in [&upper, &self.block.lower].into_iter().enumerate() {
            let top = if row == 0 { block_top } else { block_top + ROW };
            sheet.line(&[(x, top), (x + width, top)], Pen::NARROW);
            let total: f32 = fields.iter().map(|field| field.share).sum();
            let mut left = x;
            for (index, field) in fields.iter().enumerate() {
                let cell = field.share / total * width;
                if index > 0 {
                    sheet.line(&[(left, top), (left, top + ROW)], Pen::NARROW);
                }
                let label = Style::new(Weight::Regular, 6.0).with_ink(Ink::QUIET);
                let value = Style::new(Weight::Semibold, 8.5);
                sheet.text(fonts, (left + 1.6, top + 3.2), label, &field.label);
                let text = fit(fonts, value, &field.value, cell - 3.2);
                sheet.text(fonts, (left + 1.6, top + 8.0), value, &text);
                left += cell;
            }
        }
        sheet.rectangle((x, y), width, height, None, Some(Pen::WIDE));
        // Centring marks on the trimmed edge (ISO 5457).
        let (middle, centre) = (SHEET_WIDTH / 2.0, SHEET_HEIGHT / 2.0);
        sheet.line(&[(middle, SHEET_HEIGHT - 5.0), (middle, y + height)], Pen::NARROW);
        sheet.line(&[(SHEET_WIDTH - 5.0, centre), (x + width, centre)], Pen::NARROW);
        if let Some(word) = &self.block.across {
            sheet.across(fonts, word, 150.0, Pen { width: 1.6, ink: Ink::WATERMARK });
        }
    }

    fn table_head(&mut self, columns: &[Column<'_>], widths: &[f32]) {
        let style = Style::new(Weight::Semibold, 7.5);
        let top = self.y;
        let height = style.line_height() + 1.8;
        let fonts = self.fonts;
        self.sheet().rectangle((LEFT, top), WIDTH, height, Some(Ink::WASH), None);
        let mut x = LEFT;
        for (column, width) in columns.iter().zip(widths) {
            let base = top + 0.9 + ascent(style);
            let title = fit(fonts, style, column.title, width - 3.0);
            match column.side {
                Side::Left => self.sheet().text(fonts, (x + 1.5, base), style, &title),
                Side::Right => self.sheet().text_ending_at(fonts, (x + width - 1.5, base), style, &title),
            }
            x += width;
        }
        let y = top + height;
        self.sheet().line(&[(LEFT, y), (RIGHT, y)], Pen::NARROW);
        self.y = y + 0.2;
    }

    fn cell_line(&mut self, cell: &Cell, line: &str, column: Column<'_>, at: Place, width: f32, first: bool) {
        let fonts = self.fonts;
        let base = at.1 + ascent(cell.style);
        if let (Some(mark), true) = (cell.mark, first) {
            mark.draw(self.sheet(), fonts, (at.0 + 3.0, base - 0.95), 3.0);
        }
        match column.side {
            Side::Left => self.sheet().text(fonts, (at.0 + 1.5 + mark_room(cell), base), cell.style, line),
            Side::Right => self.sheet().text_ending_at(fonts, (at.0 + width - 1.5, base), cell.style, line),
        }
    }

    fn caption(&self, picture: &Picture, width: f32) -> Vec<(String, Style)> {
        let lead = Style::new(Weight::Semibold, 8.0);
        picture
            .caption
            .iter()
            .enumerate()
            .flat_map(|(index, text)| {
                let style = if index == 0 { lead } else { Style { size: 7.0, ..SMALL } };
                self.wrap(text, style, width).into_iter().map(move |line| (line, style))
            })
            .collect()
    }

    fn lines(&mut self, text: &str, style: Style, x: f32, width: f32) {
        let lines = self.wrap(text, style, width);
        self.draw_lines(&lines, style, x);
    }

    fn draw_lines(&mut self, lines: &[String], style: Style, x: f32) {
        let fonts = self.fonts;
        for line in lines {
            self.need(style.line_height());
            let base = self.y + ascent(style);
            self.sheet().text(fonts, (x, base), style, line);
            self.y += style.line_height();
        }
    }

    fn wrap_row(&self, row: &[Cell], widths: &[f32]) -> Vec<Vec<String>> {
        row.iter()
            .zip(widths)
            .map(|(cell, width)| self.wrap(&cell.text, cell.style, width - 3.0 - mark_room(cell)))
            .collect()
    }

    fn wrap(&self, text: &str, style: Style, width: f32) -> Vec<String> {
        wrap(self.fonts, style, text, width)
    }

    fn bottom(&self) -> f32 {
        if self.sheets.len() == 1 { self.first_bottom } else { BOTTOM }
    }

    fn sheet(&mut self) -> &mut Sheet {
        self.sheets.last_mut().expect("BUG: a flow begins with one sheet and never loses it")
    }
}

/// Breaks text into lines no wider than `width` millimetres: between words where possible, within a word
/// where it alone is too wide. Line breaks in the text are kept.
pub fn wrap(fonts: &Fonts, style: Style, text: &str, width: f32) -> Vec<String> {
    let fits = |line: &str| fonts.width(style.weight, style.size, line) <= width;
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if fits(&longer) {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for letter in word.chars() {
                line.push(letter);
                if !fits(&line) && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, letter.to_string()));
                }
            }
        }
        lines.push(line);
    }
    lines
}

/// Shortens text with an ellipsis until it fits.
fn fit(fonts: &Fonts, style: Style, text: &str, width: f32) -> String {
    if fonts.width(style.weight, style.size, text) <= width {
        return text.to_owned();
    }
    let mut kept: String = text.to_owned();
    while kept.pop().is_some() {
        let shortened = format!("{}…", kept.trim_end());
        if fonts.width(style.weight, style.size, &shortened) <= width {
            return shortened;
        }
    }
    String::new()
}

fn ascent(style: Style) -> f32 {
    style.line_height() * 0.76
}

#[expect(clippy::cast_precision_loss)] // a few thousand lines at most
fn lines_height(lines: &[String], style: Style) -> f32 {
    lines.len() as f32 * style.line_height()
}

fn row_height(row: &[Cell], wrapped: &[Vec<String>]) -> f32 {
    let heights = row.iter().zip(wrapped).map(|(cell, lines)| lines_height(lines, cell.style));
    heights.fold(0.0, f32::max) + 2.0
}

fn mark_room(cell: &Cell) -> f32 {
    if cell.mark.is_some() { 4.6 } else { 0.0 }
}

#[cfg(test)]
mod tests;
