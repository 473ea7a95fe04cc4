//! A few letters of one weight as a font that a browser takes: the subset for print, the two tables
//! that it leaves out, and a short one of names, by the `OpenType` specification, 1.9 (`cmap` of
//! format 12, `OS/2`, `name` of version 0).

use super::{NAME, Weight};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::collections::BTreeSet;
use subsetter::{GlyphRemapper, subset};
use ttf_parser::{Face, RawFace, Tag};

/// Letters of one weight as the address of a font, with the font in it. Letters that the typeface
/// lacks are left out.
///
/// # Errors
/// Where the letters cannot be taken out of the font, in words.
pub fn address(letters: &BTreeSet<char>, weight: Weight) -> Result<String, String> {
    Ok(format!("data:font/ttf;base64,{}", STANDARD.encode(font(letters, weight)?)))
}

fn font(letters: &BTreeSet<char>, weight: Weight) -> Result<Vec<u8>, String> {
    let face = weight.face().ok_or("the typeface cannot be read")?;
    let mut remapper = GlyphRemapper::new();
    let known = letters.iter().filter_map(|letter| Some((*letter, face.glyph_index(*letter)?)));
    let numbers: Vec<(u32, u16)> =
        known.map(|(letter, glyph)| (u32::from(letter), remapper.remap(glyph.0))).collect();
    let kept = subset(weight.bytes(), 0, &remapper).map_err(|error| error.to_string())?;
    let kept = RawFace::parse(&kept, 0).map_err(|error| error.to_string())?;
    let of_print = kept.table_records.into_iter().map(|record| record.tag);
    let names = Tag::from_bytes(b"name");
    let mut tables: Vec<(Tag, Vec<u8>)> = of_print
        .filter(|tag| *tag != names)
        .filter_map(|tag| Some((tag, kept.table(tag)?.to_vec())))
        .collect();
    tables.push((names, name_table(face, weight)));
    let style = Tag::from_bytes(b"OS/2");
    tables.extend(face.raw_face().table(style).map(|table| (style, table.to_vec())));
    tables.push((Tag::from_bytes(b"cmap"), letter_map(&numbers)));
    tables.sort_by_key(|(tag, _)| tag.0);
    Ok(file(&tables))
}

/// Whose the letters are and what they are called; the licence in full is ten times the letters.
fn name_table(face: &Face<'_>, weight: Weight) -> Vec<u8> {
    const COPYRIGHT: u16 = 0;
    let mut of_file = face.names().into_iter().filter(|name| name.name_id == COPYRIGHT);
    let copyright = of_file.find_map(|name| name.to_string()).unwrap_or_default();
    let style = if weight == Weight::Bold { "Bold" } else { "Regular" };
    let whole = format!("{NAME} {style}");
    let texts =
        [(COPYRIGHT, copyright.as_str()), (1, NAME), (2, style), (4, &whole), (6, weight.name())];
    let mut stored: Vec<u8> = Vec::new();
    let mut halves = vec![0, texts.len(), 6 + 12 * texts.len()];
    for (id, text) in texts {
        let bytes: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
        // Windows, Unicode, English of the United States.
        halves.extend([3, 1, 0x409, usize::from(id), bytes.len(), stored.len()]);
        stored.extend(bytes);
    }
    let head = halves.into_iter().map(|half| u16::try_from(half).unwrap_or(0));
    head.flat_map(u16::to_be_bytes).chain(stored).collect()
}

/// Which letter is which glyph, by groups of one (format 12).
fn letter_map(numbers: &[(u32, u16)]) -> Vec<u8> {
    const HEADER: usize = 16;
    const GROUP: usize = 12;
    let mut table = Vec::new();
    let mut put = |value: u32| table.extend(value.to_be_bytes());
    put(1); // version 0, one encoding
    put(0x0003_000a); // Windows, all of Unicode
    put(12); // where it begins
    put(0x000c_0000); // format 12
    put(count(HEADER + GROUP * numbers.len()));
    put(0); // no language
    put(count(numbers.len()));
    for (letter, glyph) in numbers {
        put(*letter);
        put(*letter);
        put(u32::from(*glyph));
    }
    table
}

/// Tables, in order of their tags, as a font file.
fn file(tables: &[(Tag, Vec<u8>)]) -> Vec<u8> {
    let number = tables.len().max(1);
    let power = number.ilog2();
    let range = 16 << power;
    let mut file = 0x0001_0000_u32.to_be_bytes().to_vec();
    for half in [number, range, power as usize, 16 * number - range] {
        file.extend(u16::try_from(half).unwrap_or(0).to_be_bytes());
    }
    let mut offset = 12 + 16 * tables.len();
    for (tag, table) in tables {
        file.extend(tag.to_bytes());
        for word in [sum(table), count(offset), count(table.len())] {
            file.extend(word.to_be_bytes());
        }
        offset += table.len().next_multiple_of(4);
    }
    for (_, table) in tables {
        file.extend(table);
        file.resize(file.len().next_multiple_of(4), 0);
    }
    file
}

/// The check sum of a table: of its words, without carry.
fn sum(table: &[u8]) -> u32 {
    let word = |bytes: &[u8]| {
        let mut whole = [0; 4];
        whole[..bytes.len()].copy_from_slice(bytes);
        u32::from_be_bytes(whole)
    };
    table.chunks(4).map(word).fold(0, u32::wrapping_add)
}

fn count(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_found_again_as_wide_as_they_were() {
        let letters: BTreeSet<char> = "Höhe − 12 m\u{2009}≥ אב".chars().collect();
        for weight in Weight::ALL {
            let bytes = font(&letters, weight).unwrap();
            assert!(bytes.len() < 10_000, "{}", bytes.len());
            let (kept, whole) = (Face::parse(&bytes, 0).unwrap(), weight.face().unwrap());
            for letter in &letters {
                let advance = |face: &Face<'_>| {
                    face.glyph_index(*letter).and_then(|glyph| face.glyph_hor_advance(glyph))
                };
                assert_eq!(advance(&kept), advance(whole), "{letter}");
            }
            assert!(kept.glyph_index('z').is_none());
        }
    }
}
