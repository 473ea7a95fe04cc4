//! Pages of lines, grey fields and text, measured in millimetres from the upper left corner, and
//! their PDF. The letters that are used are kept in the file, so that it prints alike everywhere.

use super::TemplateError;
use crate::products::fonts::Weight;
use crate::products::fonts::letters::{Letters, packed};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

/// The paper a field sheet is printed on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 inches.
    Letter,
}

impl Paper {
    /// Width and height, millimetres.
    pub const fn size_mm(self) -> (f32, f32) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// Points of a millimetre: 72 to the inch of 25.4 mm.
const MM: f32 = 72.0 / 25.4;

/// How text looks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Type {
    pub(super) weight: Weight,
    /// In points.
    pub(super) size: f32,
    /// 0 is black.
    pub(super) grey: f32,
}

impl Type {
    pub(super) const fn regular(size: f32) -> Self {
        Self { weight: Weight::Regular, size, grey: 0.0 }
    }

    pub(super) const fn bold(size: f32) -> Self {
        Self { weight: Weight::Bold, size, grey: 0.0 }
    }

    pub(super) const fn grey(self, grey: f32) -> Self {
        Self { grey, ..self }
    }
}

/// A document while it is drawn.
pub(super) struct Document {
    paper: Paper,
    letters: [Letters; 2],
    pages: Vec<Content>,
}

impl Document {
    pub(super) fn new(paper: Paper) -> Self {
        Self { paper, letters: Weight::ALL.map(Letters::new), pages: Vec::new() }
    }

    /// Begins the next page.
    pub(super) fn begin_page(&mut self) {
        self.pages.push(Content::new());
    }

    /// The width of a text, millimetres.
    pub(super) fn width(&self, text: &str, look: Type) -> f32 {
        #[expect(clippy::cast_possible_truncation, reason = "a few ems")]
        let ems = self.letters[look.weight as usize].width(text) as f32;
        ems * look.size / MM
    }

    /// Writes a text whose line stands at `y`.
    pub(super) fn text(&mut self, x: f32, y: f32, look: Type, text: &str) {
        let at = look.weight as usize;
        let numbers = self.letters[at].numbers(text);
        let (x, y) = self.point(x, y);
        let Some(content) = self.pages.last_mut() else { return };
        content.begin_text();
        content.set_fill_gray(look.grey).set_font(FONT_NAMES[at], look.size);
        content.next_line(x, y).show(Str(&numbers)).end_text();
    }

    /// Draws a straight line of this width in points.
    pub(super) fn line(&mut self, from: (f32, f32), to: (f32, f32), width: f32, grey: f32) {
        let (from, to) = (self.point(from.0, from.1), self.point(to.0, to.1));
        let Some(content) = self.pages.last_mut() else { return };
        content.set_stroke_gray(grey).set_line_width(width);
        content.move_to(from.0, from.1).line_to(to.0, to.1).stroke();
    }

    /// Fills a field with grey.
    pub(super) fn fill(&mut self, corner: (f32, f32), size: (f32, f32), grey: f32) {
        let (x, y) = self.point(corner.0, corner.1 + size.1);
        let Some(content) = self.pages.last_mut() else { return };
        content.set_fill_gray(grey).rect(x, y, size.0 * MM, size.1 * MM).fill_nonzero();
    }

    /// A box without filling.
    pub(super) fn frame(&mut self, corner: (f32, f32), size: (f32, f32), width: f32, grey: f32) {
        let (x, y) = self.point(corner.0, corner.1 + size.1);
        let Some(content) = self.pages.last_mut() else { return };
        content.set_stroke_gray(grey).set_line_width(width);
        content.rect(x, y, size.0 * MM, size.1 * MM).stroke();
    }

    /// As much of a text as fits within a width.
    pub(super) fn cut(&self, text: &str, look: Type, width: f32) -> String {
        let mut kept = text;
        while self.width(kept, look) > width {
            let Some((last, _)) = kept.char_indices().next_back() else { break };
            kept = kept.get(..last).unwrap_or("");
        }
        kept.to_owned()
    }

    /// The lines into which a text falls within a width.
    pub(super) fn lines(&self, text: &str, look: Type, width: f32) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split(' ') {
            let longer = lines.last().map(|line| format!("{line} {word}"));
            match longer.filter(|longer| self.width(longer, look) <= width) {
                Some(longer) => drop(lines.last_mut().map(|line| *line = longer)),
                None => lines.push(word.to_owned()),
            }
        }
        lines
    }

    fn point(&self, x: f32, y: f32) -> (f32, f32) {
        (x * MM, (self.paper.size_mm().1 - y) * MM)
    }

    /// The bytes of the PDF.
    pub(super) fn finish(self, title: &str) -> Result<Vec<u8>, TemplateError> {
        let mut pdf = Pdf::new();
        let mut next = Ref::new(1);
        let (catalog, tree) = (next.bump(), next.bump());
        let fonts = [next.bump(), next.bump()];
        let (width, height) = self.paper.size_mm();
        let pages: Vec<(Ref, Ref)> =
            self.pages.iter().map(|_| (next.bump(), next.bump())).collect();
        pdf.catalog(catalog).pages(tree).lang(TextStr("en"));
        pdf.document_info(next.bump()).title(TextStr(title));
        let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
        pdf.pages(tree).kids(pages.iter().map(|(page, _)| *page)).count(count);
        for ((page, content), drawn) in pages.into_iter().zip(self.pages) {
            let mut written = pdf.page(page);
            written.media_box(Rect::new(0.0, 0.0, width * MM, height * MM));
            written.parent(tree).contents(content);
            let mut resources = written.resources();
            let mut named = resources.fonts();
            for (name, font) in FONT_NAMES.into_iter().zip(fonts) {
                named.pair(name, font);
            }
            named.finish();
            resources.finish();
            written.finish();
            let packed = packed(&drawn.finish()).map_err(TemplateError)?;
            pdf.stream(content, &packed).filter(Filter::FlateDecode);
        }
        for (letters, id) in self.letters.iter().zip(fonts) {
            letters.write(&mut pdf, id, &mut next).map_err(TemplateError)?;
        }
        Ok(pdf.finish())
    }
}

const FONT_NAMES: [Name<'static>; 2] = [Name(b"Regular"), Name(b"Bold")];
