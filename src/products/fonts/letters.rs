//! The letters that a PDF uses of one weight, kept in it.

use super::{Weight, width};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish, Name, Pdf, Rect, Ref, Str};
use std::collections::BTreeMap;
use std::io::Write;
use subsetter::{GlyphRemapper, subset};
use ttf_parser::GlyphId;

/// The letters used of one weight, by their new numbers.
#[derive(Debug)]
pub struct Letters {
    weight: Weight,
    remapper: GlyphRemapper,
    /// What each stands for.
    used: BTreeMap<u16, (GlyphId, String)>,
}

/// Numbers of letters are used as they are.
const CODES: SystemInfo<'static> =
    SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

impl Letters {
    /// None yet.
    pub fn new(weight: Weight) -> Self {
        Self { weight, remapper: GlyphRemapper::new(), used: BTreeMap::new() }
    }

    /// The new number of a glyph that stands for `text`.
    pub fn number(&mut self, glyph: u16, text: &str) -> u16 {
        let number = self.remapper.remap(glyph);
        self.used.entry(number).or_insert_with(|| (GlyphId(glyph), text.to_owned()));
        number
    }

    /// A text by the new numbers of its letters, each as two bytes.
    pub fn numbers(&mut self, text: &str) -> Vec<u8> {
        let number = |letter: char| {
            let glyph = self.weight.face().and_then(|face| face.glyph_index(letter));
            let number = self.number(glyph.unwrap_or_default().0, letter.encode_utf8(&mut [0; 4]));
            number.to_be_bytes()
        };
        text.chars().flat_map(number).collect()
    }

    /// How wide a text is in ems.
    pub fn width(&self, text: &str) -> f64 {
        width(text, self.weight)
    }

    /// How far a glyph moves on, in thousandths of its size.
    pub fn advance(&self, glyph: u16) -> f32 {
        let Some(face) = self.weight.face() else { return 0.0 };
        let advance = face.glyph_hor_advance(GlyphId(glyph)).unwrap_or(0);
        f32::from(advance) * 1000.0 / f32::from(face.units_per_em())
    }

    /// Writes the font as `id`; further objects take the numbers from `next` on.
    ///
    /// # Errors
    /// Where the letters cannot be taken out of the font, in words.
    pub fn write(&self, pdf: &mut Pdf, id: Ref, next: &mut Ref) -> Result<(), String> {
        let [descendant, descriptor, map, data] =
            [next.bump(), next.bump(), next.bump(), next.bump()];
        // Names of fonts of which not all letters are there begin with six letters of one's own.
        let tag = ["PERCHR", "PERCHB"][self.weight as usize];
        let name = format!("{tag}+{}", self.weight.name());
        let name = Name(name.as_bytes());
        let mut whole = pdf.type0_font(id);
        whole.base_font(name).encoding_predefined(Name(b"Identity-H"));
        whole.descendant_font(descendant).to_unicode(map);
        whole.finish();
        let mut cid = pdf.cid_font(descendant);
        cid.subtype(CidFontType::Type2).base_font(name).system_info(CODES);
        cid.font_descriptor(descriptor).cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = cid.widths();
        for (number, (glyph, _)) in &self.used {
            widths.consecutive(*number, [self.advance(glyph.0)]);
        }
        widths.finish();
        cid.finish();
        self.describe(pdf, name, [descriptor, data])?;
        let mut meanings = UnicodeCmap::new(Name(b"Letters"), CODES);
        for (number, (_, text)) in self.used.iter().filter(|(_, (_, text))| !text.is_empty()) {
            meanings.pair_with_multiple(*number, text.chars());
        }
        pdf.cmap(map, &meanings.finish());
        let kept = subset(self.weight.bytes(), 0, &self.remapper).map_err(|e| e.to_string())?;
        pdf.stream(data, &packed(&kept)?).filter(Filter::FlateDecode);
        Ok(())
    }

    fn describe(
        &self,
        pdf: &mut Pdf,
        name: Name<'_>,
        [descriptor, data]: [Ref; 2],
    ) -> Result<(), String> {
        let face = self.weight.face().ok_or("the typeface cannot be read")?;
        let scaled = |value: i16| f32::from(value) * 1000.0 / f32::from(face.units_per_em());
        let bounds = face.global_bounding_box();
        let corners = [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(scaled);
        let mut described = pdf.font_descriptor(descriptor);
        described.name(name).flags(FontFlags::SYMBOLIC).italic_angle(0.0).stem_v(80.0);
        described.bbox(Rect::new(corners[0], corners[1], corners[2], corners[3]));
        described.ascent(scaled(face.ascender())).descent(scaled(face.descender()));
        described.cap_height(scaled(face.capital_height().unwrap_or(1493))).font_file2(data);
        described.finish();
        Ok(())
    }
}

/// Bytes as a PDF keeps them small.
///
/// # Errors
/// None that a memory of finite size would bring about, in words.
pub fn packed(bytes: &[u8]) -> Result<Vec<u8>, String> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    encoder.write_all(bytes).and_then(|()| encoder.finish()).map_err(|error| error.to_string())
}
