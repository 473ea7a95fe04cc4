//! The sheet for the field: a header, 25 rows wide enough for a wet hand, the words of the study
//! and what is easily forgotten. Black and grey only.

use super::TemplateError;
use super::columns::{Choice, Chosen, Heading};
use super::page::{Document, Paper, Type};
use super::reminders::{ONE_BEARING, TIE, WELFARE, of_anchors};
use crate::survey::dictionary::{ANCHORS, ANIMALS, Kind, TRAILS, in_words};

const ROWS: u8 = 25;
/// All lengths in millimetres. Printers leave some 5 mm of the edge blank.
const MARGIN: f32 = 10.0;
const TITLE: f32 = 8.0;
const BOX: f32 = 8.5;
const BOXES_A_LINE: usize = 6;
/// More boxes than this would take the room of the rows.
const MOST_BOXES: usize = 24;
/// The box for the one bearing of a survey by turning angles, and what it leaves room for.
const ONE_BEARING_BOXES: usize = 2;
const ONE_BEARING_WORDS: [&str; 3] = ["..............", "from ............", "to ............"];
const HEADINGS: f32 = 10.0;
/// A row lower than this is too narrow for a pencil in the rain.
const LOWEST_ROW: f32 = 5.8;
const HIGHEST_ROW: f32 = 7.6;
const GAP: f32 = 2.5;
/// Lines of small text stand so far apart.
const LEADING: f32 = 3.0;
/// Room below each reminder, and for the sign before it.
const PARAGRAPH: f32 = 0.7;
const INDENT: f32 = 3.6;
const BLOCK_TITLE: f32 = 4.4;
const BLOCK_GAP: f32 = 5.0;
/// How many letters of words of the study fit beside the reminders.
const MOST_CODES: usize = 420;

const SMALL: Type = Type::regular(7.0);
const SMALL_BOLD: Type = Type::bold(7.0);
const LABEL: Type = Type::regular(7.0).grey(0.25);
const HAIR: f32 = 0.35;
const FIRM: f32 = 0.9;

/// The field sheet as PDF: as many pages as the columns need.
pub(super) fn pdf(choice: &Choice, paper: Paper) -> Result<Vec<u8>, TemplateError> {
    let mut document = Document::new(paper);
    let Some(anchors) = choice.table(ANCHORS.name) else {
        return document.finish("Field sheet");
    };
    let (width, height) = paper.size_mm();
    let (width, height) = (width - 2.0 * MARGIN, height - 2.0 * MARGIN);
    let parts = parts(anchors, width);
    for (at, columns) in parts.iter().enumerate() {
        document.begin_page();
        let mut sheet = Sheet { document: &mut document, choice, width };
        let of = (at + 1, parts.len());
        let below = sheet.title(of) + sheet.header();
        let blocks = sheet.blocks_height(anchors);
        let room = height - below - HEADINGS - blocks - 2.0 * GAP;
        let row = (room / f32::from(ROWS)).clamp(LOWEST_ROW, HIGHEST_ROW);
        let top = MARGIN + below + GAP;
        sheet.table(top, row, columns);
        sheet.blocks(top + HEADINGS + row * f32::from(ROWS) + GAP, anchors);
    }
    document.finish("Field sheet for one trail")
}

/// A column of the sheet with its width.
struct Printed<'c> {
    heading: &'c Heading,
    width: f32,
}

/// The narrowest width of a column, and how eagerly it takes what is left.
fn room(heading: &Heading) -> (f32, f32) {
    let kind = heading.column.map(|column| column.kind);
    match (kind, heading.name.as_str()) {
        (_, "anchor" | "from" | "tree") => (11.5, 0.0),
        (_, "support" | "leg_support") => (15.0, 1.0),
        (Some(Kind::YesNo), _) => (10.5, 0.0),
        (Some(Kind::Number(..) | Kind::Word(_)), _) => (13.5, 0.3),
        (Some(Kind::Point), _) => (13.0, 0.0),
        (Some(Kind::Text), _) => (18.0, 3.0),
        _ => (20.0, 1.0),
    }
}

/// The columns page by page: each page begins with the anchor, and the trail is in the header.
fn parts(anchors: &Chosen, width: f32) -> Vec<Vec<Printed<'_>>> {
    const ANCHOR: f32 = 11.5;
    let mut parts: Vec<Vec<Printed<'_>>> = Vec::new();
    let columns = || anchors.headings.iter().filter(|heading| heading.name != "trail");
    let mut part = Vec::new();
    let mut left = width;
    for heading in columns() {
        let (least, _) = room(heading);
        if least > left {
            parts.push(std::mem::take(&mut part));
            let anchor = columns().next();
            part.extend(anchor.map(|heading| Printed { heading, width: ANCHOR }));
            left = width - ANCHOR;
        }
        part.push(Printed { heading, width: least });
        left -= least;
    }
    parts.push(part);
    for part in &mut parts {
        let eager: f32 = part.iter().map(|column| room(column.heading).1).sum();
        let spare = width - part.iter().map(|column| column.width).sum::<f32>();
        for column in part.iter_mut().filter(|_| eager > 0.0) {
            column.width += spare * room(column.heading).1 / eager;
        }
    }
    parts
}

/// The first place from `at` on where so many boxes stand on one line of the header.
const fn on_one_line(at: usize, boxes: usize) -> usize {
    if at % BOXES_A_LINE + boxes > BOXES_A_LINE { at.next_multiple_of(BOXES_A_LINE) } else { at }
}

/// One page while it is drawn.
struct Sheet<'d> {
    document: &'d mut Document,
    choice: &'d Choice,
    width: f32,
}

impl Sheet<'_> {
    fn right(&self) -> f32 {
        MARGIN + self.width
    }

    /// Draws the title, and returns its height.
    fn title(&mut self, (page, of): (usize, usize)) -> f32 {
        let line = MARGIN + 5.0;
        self.document.text(MARGIN, line, Type::bold(13.0), "Field sheet");
        let part =
            if of > 1 { format!("Part {page} of {of} for one trail. ") } else { String::new() };
        let said = format!("{part}One sheet for each trail. Blank means not measured, never zero.");
        self.document.text(MARGIN + 32.0, line, Type::regular(8.5), &said);
        let number = "sheet ______ of ______";
        let look = Type::regular(8.5);
        let x = self.right() - self.document.width(number, look);
        self.document.text(x, line, look, number);
        TITLE
    }

    /// Draws the boxes of the header, and returns their height.
    fn header(&mut self) -> f32 {
        let choice = self.choice;
        let headings =
            |name| choice.table(name).map(|chosen| chosen.headings.iter()).into_iter().flatten();
        let masses = ["body_mass_g", "mass_after_g", "device_mass_g"];
        let of_animal = headings(ANIMALS.name).filter(|h| masses.contains(&h.name.as_str()));
        let of_trail = headings(TRAILS.name).filter(|heading| heading.name != "note");
        let one_bearing = if choice.lacks_north() { ONE_BEARING_BOXES } else { 0 };
        let mut at = 0;
        for heading in of_trail.chain(of_animal) {
            let words = match heading.column.map(|column| column.kind) {
                Some(Kind::Word(words)) => words,
                _ => &[],
            };
            let boxes = if words.is_empty() { 1 } else { 2 };
            at = on_one_line(at, boxes);
            if at + boxes + one_bearing > MOST_BOXES {
                break;
            }
            self.header_box(at, boxes, &label(heading), words);
            at += boxes;
        }
        if one_bearing > 0 {
            at = on_one_line(at, one_bearing);
            self.header_box(at, one_bearing, "bearing of one leg (deg)", &ONE_BEARING_WORDS);
            at += one_bearing;
        }
        let left = at.next_multiple_of(BOXES_A_LINE) - at;
        if left > 0 {
            self.header_box(at, left, "site, notes", &[]);
        }
        BOX * at.div_ceil(BOXES_A_LINE) as f32
    }

    /// Draws the box at place `at` of the header, as wide as `boxes`, with words to choose from.
    fn header_box(&mut self, at: usize, boxes: usize, label: &str, words: &[&str]) {
        let wide = self.width / BOXES_A_LINE as f32;
        let x = MARGIN + wide * (at % BOXES_A_LINE) as f32;
        let y = MARGIN + TITLE + BOX * (at / BOXES_A_LINE) as f32;
        self.document.frame((x, y), (wide * boxes as f32, BOX), HAIR, 0.35);
        let label = self.document.cut(label, LABEL, wide * boxes as f32 - 2.0);
        self.document.text(x + 1.0, y + 2.9, LABEL, &label);
        let choices = words.join("   ").replace('_', " ");
        self.document.text(x + 1.5, y + 6.9, Type::regular(8.0), &choices);
    }

    fn table(&mut self, top: f32, row: f32, columns: &[Printed<'_>]) {
        let bottom = top + HEADINGS + row * f32::from(ROWS);
        self.document.fill((MARGIN, top), (self.width, HEADINGS), 0.9);
        let mut x = MARGIN;
        for column in columns {
            self.heading(x, top, column);
            if x > MARGIN {
                self.document.line((x, top), (x, bottom), HAIR, 0.35);
            }
            x += column.width;
        }
        for at in 1..ROWS {
            let y = top + HEADINGS + row * f32::from(at);
            // every fifth is firm, so that a row is not lost across the sheet
            let (width, grey) = if at % 5 == 0 { (FIRM, 0.2) } else { (HAIR, 0.45) };
            self.document.line((MARGIN, y), (self.right(), y), width, grey);
        }
        let under = top + HEADINGS;
        self.document.line((MARGIN, under), (self.right(), under), FIRM, 0.0);
        self.document.frame((MARGIN, top), (self.width, bottom - top), FIRM, 0.0);
    }

    fn heading(&mut self, x: f32, top: f32, column: &Printed<'_>) {
        let (name, unit) = in_words(&column.heading.name);
        let ticked = column.heading.column.is_some_and(|known| known.kind == Kind::YesNo);
        let unit = unit.or(ticked.then_some("yes"));
        let within = column.width - 1.6;
        let lines = self.document.lines(&name, SMALL_BOLD, within);
        for (line, text) in (0_u8..3).zip(&lines) {
            let text = self.document.cut(text, SMALL_BOLD, within);
            self.document.text(x + 0.8, top + 3.1 + 2.9 * f32::from(line), SMALL_BOLD, &text);
        }
        if let Some(unit) = unit.filter(|_| lines.len() < 3) {
            self.document.text(x + 0.8, top + HEADINGS - 0.9, LABEL, unit);
        }
    }

    /// The three blocks below the table.
    fn block_texts(&self, anchors: &Chosen) -> [Block; 3] {
        let plain = |text: &str| text.to_owned();
        let mut reading: Vec<_> = of_anchors(anchors).into_iter().map(plain).collect();
        reading.extend(anchors.lacks_north().then(|| plain(ONE_BEARING)));
        reading.push(plain(TIE));
        let welfare = WELFARE.into_iter().map(plain).collect();
        let mut codes: Vec<String> = Vec::new();
        for heading in anchors.headings.iter().filter(|heading| heading.name != "leg_support") {
            let words = match heading.column.map(|column| column.kind) {
                Some(Kind::Word(words)) => words.join(", ").replace('_', " "),
                _ => match self.choice.codes_of(&heading.name) {
                    Some(words) => words.join(", "),
                    None => continue,
                },
            };
            codes.push(format!("{}: {words}", label(heading)));
        }
        shorten(&mut codes, MOST_CODES);
        codes.push("Our own: ____________________".into());
        codes.push("Marking rule: ________________".into());
        [
            Block { title: "Words of this study", texts: codes, ticked: false, share: 0.27 },
            Block { title: "Anchors", texts: reading, ticked: false, share: 0.41 },
            Block { title: "The animal", texts: welfare, ticked: true, share: 0.32 },
        ]
    }

    fn blocks_height(&self, anchors: &Chosen) -> f32 {
        let heights = self.block_texts(anchors).map(|block| {
            let texts = block.texts.iter();
            let heights = texts.map(|text| self.text_height(&block, text));
            heights.sum::<f32>()
        });
        BLOCK_TITLE + heights.into_iter().fold(0.0, f32::max)
    }

    fn block_width(&self, block: &Block) -> f32 {
        (self.width - 2.0 * BLOCK_GAP) * block.share
    }

    fn text_lines(&self, block: &Block, text: &str) -> Vec<String> {
        self.document.lines(text, SMALL, self.block_width(block) - INDENT)
    }

    fn text_height(&self, block: &Block, text: &str) -> f32 {
        LEADING * self.text_lines(block, text).len() as f32 + PARAGRAPH
    }

    fn blocks(&mut self, top: f32, anchors: &Chosen) {
        let mut x = MARGIN;
        for block in self.block_texts(anchors) {
            self.document.text(x, top + 2.8, Type::bold(8.0), block.title);
            let mut y = top + BLOCK_TITLE + LEADING - 1.0;
            for text in &block.texts {
                if block.ticked {
                    self.document.frame((x, y - 2.2), (2.3, 2.3), 0.6, 0.0);
                } else {
                    self.document.fill((x + 0.2, y - 1.3), (0.9, 0.9), 0.45);
                }
                for line in self.text_lines(&block, text) {
                    self.document.text(x + INDENT, y, SMALL, &line);
                    y += LEADING;
                }
                y += PARAGRAPH;
            }
            x += self.block_width(&block) + BLOCK_GAP;
        }
    }
}

/// A block of reminders: its title, its texts, whether they are ticked off, its share of the width.
struct Block {
    title: &'static str,
    texts: Vec<String>,
    ticked: bool,
    share: f32,
}

/// Leaves the last words out of the longest lists until all together are short enough.
fn shorten(lists: &mut [String], most: usize) {
    const LEFT_OUT: &str = ", …";
    while lists.iter().map(|list| list.chars().count()).sum::<usize>() > most {
        let Some(longest) = lists.iter_mut().max_by_key(|list| list.chars().count()) else {
            return;
        };
        let kept = longest.strip_suffix(LEFT_OUT).unwrap_or(longest);
        let Some((kept, _)) = kept.rsplit_once(',').or_else(|| kept.rsplit_once(' ')) else {
            return;
        };
        *longest = format!("{kept}{LEFT_OUT}");
    }
}

/// A heading in words, with its unit.
fn label(heading: &Heading) -> String {
    match in_words(&heading.name) {
        (name, Some(unit)) => format!("{name} ({unit})"),
        (name, None) => name,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lists_lose_their_last_words() {
        let mut lists = ["plant: Salix caprea, Ilex aquifolium, Tilia".into(), "gap: lost".into()];
        shorten(&mut lists, 45);
        assert_eq!(lists, ["plant: Salix caprea, …", "gap: lost"]);
        let mut one = ["x".repeat(500)];
        shorten(&mut one, 45);
        assert_eq!(one[0].len(), 500, "cut where it is drawn");
    }

    #[test]
    fn every_column_has_its_place_on_some_page_and_no_page_is_too_wide() {
        let every: Vec<String> = ANCHORS.columns.iter().map(|c| c.heading.to_owned()).collect();
        let choice = Choice::new(&every, &[]).unwrap();
        let anchors = choice.table(ANCHORS.name).unwrap();
        let parts = parts(anchors, 190.0);
        for part in &parts {
            assert_eq!(part[0].heading.name, "anchor");
            assert!(part.iter().map(|column| column.width).sum::<f32>() < 190.1);
        }
        let printed: usize = parts.iter().map(|part| part.len() - 1).sum();
        assert_eq!(printed + 2, every.len(), "the trail is in the header");
    }
}
