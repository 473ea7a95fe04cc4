//! A drawing as PDF: the lines, areas and texts of its SVG as the renderer lays them out. Nothing
//! stands in it by the order of a hash or by a clock: the same drawing gives the same bytes.

use crate::products::fonts::Weight;
use crate::products::fonts::letters::{Letters, packed};
use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use resvg::tiny_skia::{Path, PathSegment, Point, Transform};
use resvg::usvg::fontdb::{Database, Weight as Heaviness};
use resvg::usvg::layout::{PositionedGlyph, Span};
use resvg::usvg::{Color, Group, LineCap, Node, Paint, Stroke, Tree};

/// Points of the page to a unit of the tree: 72 to 96 an inch.
const POINTS: f32 = 0.75;
const FONTS: [Name<'static>; 2] = [Name(b"Regular"), Name(b"Bold")];

/// The bytes of a page that shows the tree, under a title.
pub(super) fn pdf(tree: &Tree, title: &str) -> Result<Vec<u8>, String> {
    let (wide, high) = (tree.size().width() * POINTS, tree.size().height() * POINTS);
    let mut page = Page {
        content: Content::new(),
        upright: Transform::from_row(POINTS, 0.0, 0.0, -POINTS, 0.0, high),
        letters: Weight::ALL.map(Letters::new),
    };
    // Lines end and meet round in all figures.
    page.content.set_line_join(LineJoinStyle::RoundJoin);
    page.group(tree.root(), tree.fontdb());
    page.finish([wide, high], title)
}

struct Page {
    content: Content,
    /// From the tree, whose second axis points down, to the page.
    upright: Transform,
    letters: [Letters; 2],
}

impl Page {
    fn group(&mut self, group: &Group, fonts: &Database) {
        for node in group.children() {
            match node {
                Node::Group(inner) => self.group(inner, fonts),
                Node::Path(path) => {
                    let to_page = self.upright.pre_concat(path.abs_transform());
                    let [fill, edge] = [
                        path.fill().map(|fill| rgb(fill.paint())),
                        path.stroke().map(|edge| rgb(edge.paint())),
                    ];
                    if let Some(edge) = path.stroke() {
                        self.stroke(edge, scale(to_page));
                    }
                    if let Some(outline) = path.data().clone().transform(to_page) {
                        self.outline(&outline, fill, edge);
                    }
                }
                Node::Text(text) => {
                    let to_page = self.upright.pre_concat(text.abs_transform());
                    for span in text.layouted().iter().filter(|span| span.visible) {
                        self.span(span, to_page, fonts);
                    }
                }
                Node::Image(_) => {} // no figure has one
            }
        }
    }

    fn stroke(&mut self, edge: &Stroke, scale: f32) {
        let dash = edge.dasharray().unwrap_or_default().iter().map(|part| tidy(part * scale));
        self.content.set_line_width(tidy(edge.width().get() * scale));
        self.content.set_line_cap(match edge.linecap() {
            LineCap::Butt => LineCapStyle::ButtCap,
            LineCap::Round => LineCapStyle::RoundCap,
            LineCap::Square => LineCapStyle::ProjectingSquareCap,
        });
        self.content.set_dash_pattern(dash, 0.0);
    }

    fn outline(&mut self, path: &Path, fill: Option<[f32; 3]>, edge: Option<[f32; 3]>) {
        if let Some([r, g, b]) = fill {
            self.content.set_fill_rgb(r, g, b);
        }
        if let Some([r, g, b]) = edge {
            self.content.set_stroke_rgb(r, g, b);
        }
        let mut last = Point::zero();
        for segment in path.segments() {
            last = self.segment(segment, last);
        }
        match (fill, edge) {
            (Some(_), Some(_)) => self.content.fill_nonzero_and_stroke(),
            (Some(_), None) => self.content.fill_nonzero(),
            (None, Some(_)) => self.content.stroke(),
            (None, None) => self.content.end_path(),
        };
    }

    /// Adds one piece of an outline that has come to `last`; gives where it ends.
    fn segment(&mut self, segment: PathSegment, last: Point) -> Point {
        let two_thirds = |from: Point, to: Point| {
            let way = to - from;
            from + Point::from_xy(way.x * 2.0 / 3.0, way.y * 2.0 / 3.0)
        };
        let mut cubic = |a: Point, b: Point, end: Point| {
            let [a, b, end] = [a, b, end].map(|p| [tidy(p.x), tidy(p.y)]);
            self.content.cubic_to(a[0], a[1], b[0], b[1], end[0], end[1]);
        };
        match segment {
            PathSegment::MoveTo(p) => {
                self.content.move_to(tidy(p.x), tidy(p.y));
                p
            }
            PathSegment::LineTo(p) => {
                self.content.line_to(tidy(p.x), tidy(p.y));
                p
            }
            PathSegment::QuadTo(c, p) => {
                cubic(two_thirds(last, c), two_thirds(p, c), p);
                p
            }
            PathSegment::CubicTo(a, b, p) => {
                cubic(a, b, p);
                p
            }
            PathSegment::Close => {
                self.content.close_path();
                last
            }
        }
    }

    /// Glyphs of one look; those that follow each other on one line are one text.
    fn span(&mut self, span: &Span, to_page: Transform, fonts: &Database) {
        let [r, g, b] = span.fill.as_ref().map_or([0.0; 3], |fill| rgb(fill.paint()));
        let set = |glyph: &PositionedGlyph| {
            let weight = fonts.face(glyph.font).map_or(Weight::Regular, |face| {
                if face.weight > Heaviness::MEDIUM { Weight::Bold } else { Weight::Regular }
            });
            (weight, to_page.pre_concat(glyph.outline_transform()))
        };
        let placed: Vec<(&PositionedGlyph, (Weight, Transform))> =
            span.positioned_glyphs.iter().map(|glyph| (glyph, set(glyph))).collect();
        for run in placed.chunk_by(|(_, (one, _)), (_, (other, _))| one == other) {
            self.content.begin_text().set_fill_rgb(r, g, b);
            self.run(run);
            self.content.end_text();
        }
    }

    fn run(&mut self, run: &[(&PositionedGlyph, (Weight, Transform))]) {
        let Some((_, (weight, first))) = run.first() else { return };
        let letters = &mut self.letters[*weight as usize];
        let em = f32::from(weight.units_per_em());
        let size = scale(*first) * em;
        let [cos, sin] = [first.sx * em / size, first.ky * em / size];
        self.content.set_font(FONTS[*weight as usize], tidy(size));
        self.content.set_text_matrix([cos, sin, -sin, cos, tidy(first.tx), tidy(first.ty)]);
        let mut shown = self.content.show_positioned();
        let mut items = shown.items();
        let mut pen = 0.0;
        for (glyph, (_, at)) in run {
            // How far it stands from where the one before leaves the pen, in thousandths.
            let along = ((at.tx - first.tx) * cos + (at.ty - first.ty) * sin) * 1000.0 / size;
            if (along - pen).abs() > 1.0 {
                items.adjust((pen - along).round());
            }
            let number = letters.number(glyph.id.0, &glyph.text);
            items.show(Str(&number.to_be_bytes()));
            pen = along + letters.advance(glyph.id.0);
        }
    }

    fn finish(self, [wide, high]: [f32; 2], title: &str) -> Result<Vec<u8>, String> {
        let mut pdf = Pdf::new();
        let mut next = Ref::new(1);
        let [catalog, pages, page, content, about] =
            [next.bump(), next.bump(), next.bump(), next.bump(), next.bump()];
        let fonts = [next.bump(), next.bump()];
        pdf.catalog(catalog).pages(pages).lang(TextStr("en"));
        pdf.document_info(about).title(TextStr(title));
        pdf.pages(pages).kids([page]).count(1);
        let mut written = pdf.page(page);
        written.media_box(Rect::new(0.0, 0.0, wide, high)).parent(pages).contents(content);
        let mut resources = written.resources();
        let mut named = resources.fonts();
        for (name, font) in FONTS.into_iter().zip(fonts) {
            named.pair(name, font);
        }
        named.finish();
        resources.finish();
        written.finish();
        pdf.stream(content, &packed(&self.content.finish())?).filter(Filter::FlateDecode);
        for (letters, id) in self.letters.iter().zip(fonts) {
            letters.write(&mut pdf, id, &mut next)?;
        }
        Ok(pdf.finish())
    }
}

/// What a length is multiplied by.
fn scale(transform: Transform) -> f32 {
    transform.sx.hypot(transform.ky)
}

/// To a thousandth of a point.
fn tidy(value: f32) -> f32 {
    (value * 1000.0).round() / 1000.0
}

/// Figures are painted in plain colours.
fn rgb(paint: &Paint) -> [f32; 3] {
    let Paint::Color(Color { red, green, blue }) = paint else { return [0.0; 3] };
    [red, green, blue].map(|part| f32::from(*part) / 255.0)
}
