//! `TIFF` files spoilt by the entries of their directory: gone, twice, of another type, with other
//! values, out of order.

use super::dice::Dice;
use super::grids::{CELL, SIDE, SOUTH, WEST, elevations};

/// What stands where a value of an entry should: few, many, kinds of samples, of compression and of
/// reference systems.
const ODD: [&u64; 24] = [
    &0,
    &1,
    &2,
    &3,
    &4,
    &5,
    &7,
    &8,
    &15,
    &16,
    &17,
    &24,
    &32,
    &33,
    &64,
    &255,
    &4326,
    &8946,
    &32661,
    &34712,
    &50000,
    &65535,
    &70_000,
    &4_294_967_295,
];
const FLOATS: [&f64; 8] = [&0.0, &-1.0, &1e-320, &1e308, &f64::NAN, &f64::INFINITY, &90.0, &-46.1];
/// Tags that the sound file has none of.
const TAGS: [&u16; 12] =
    [&317, &322, &323, &324, &325, &266, &284, &320, &338, &34264, &42112, &42113];

/// A file with its entries spoilt up to three times, and how.
pub(crate) fn spoilt_tiff(dice: &mut Dice) -> (Vec<u8>, Vec<String>) {
    let mut tiff = Tiff::sound();
    let mut how = Vec::new();
    if dice.below(6) == 0 {
        tiff.turn_to_tiles();
        how.push("tiles".into());
    }
    how.extend((0..=dice.below(3)).map(|_| spoil(&mut tiff, dice)));
    let in_order = dice.below(8) > 0;
    (tiff.bytes(in_order), how)
}

fn spoil(tiff: &mut Tiff, dice: &mut Dice) -> String {
    let odd = *dice.one(&ODD);
    let at = dice.below(tiff.entries.len());
    let Some(entry) = tiff.entries.get_mut(at) else { return "no entry is left".into() };
    let tag = entry.tag;
    match dice.below(10) {
        0 => {
            tiff.entries.remove(at);
            format!("without tag {tag}")
        }
        1 => {
            let again = entry.clone();
            tiff.entries.push(again);
            format!("tag {tag} again")
        }
        2 => {
            entry.kind = dice.below(20).try_into().unwrap_or(0);
            format!("tag {tag} of type {}", entry.kind)
        }
        3 => {
            entry.count = odd;
            format!("tag {tag} counts {odd}")
        }
        4 => {
            tiff.next = odd;
            format!("the next directory at {odd}")
        }
        5 => {
            let cut = dice.below(tiff.samples.len());
            tiff.samples.truncate(cut);
            format!("{cut} bytes of samples")
        }
        6 => {
            let tag = *dice.one(&TAGS);
            tiff.entries.push(Entry::of_words(tag, &[odd, odd, 0, odd]));
            format!("tag {tag} of {odd}")
        }
        _ => {
            let value = if entry.kind == DOUBLE { dice.one(&FLOATS).to_bits() } else { odd };
            let which = dice.below(entry.values.len());
            entry.values.get_mut(which).into_iter().for_each(|old| *old = value);
            format!("tag {tag}, number {which}: {value:#x}")
        }
    }
}

/// Types of the values of an entry (TIFF 6.0, section 2).
const ASCII: u16 = 2;
const SHORT: u16 = 3;
const LONG: u16 = 4;
const DOUBLE: u16 = 12;

#[derive(Clone)]
struct Entry {
    tag: u16,
    kind: u16,
    count: u64,
    /// The bits of each.
    values: Vec<u64>,
}

impl Entry {
    fn new(tag: u16, kind: u16, values: Vec<u64>) -> Self {
        Self { tag, kind, count: values.len() as u64, values }
    }

    fn of_words(tag: u16, values: &[u64]) -> Self {
        Self::new(tag, SHORT, values.to_vec())
    }

    fn of_doubles(tag: u16, values: &[f64]) -> Self {
        Self::new(tag, DOUBLE, values.iter().map(|value| value.to_bits()).collect())
    }

    /// Bytes of one value of its type; 1 for a type that there is not.
    const fn width(&self) -> usize {
        match self.kind {
            SHORT | 8 => 2,
            LONG | 9 | 11 | 13 => 4,
            5 | 10 | DOUBLE | 16..=18 => 8,
            _ => 1,
        }
    }
}

/// A TIFF before it is written: one directory, and samples behind it.
struct Tiff {
    entries: Vec<Entry>,
    samples: Vec<u8>,
    /// Where the next directory is said to be.
    next: u64,
}

/// Tags whose values depend on where the samples end up.
const STRIP_OFFSETS: u16 = 273;
const TILE_OFFSETS: u16 = 324;

impl Tiff {
    /// One strip of 32-bit floats in degrees of WGS 84.
    fn sound() -> Self {
        let samples: Vec<u8> = elevations().flat_map(f32::to_le_bytes).collect();
        let side = u64::from(SIDE);
        let north = SOUTH + f64::from(SIDE) * CELL;
        let entries = vec![
            Entry::of_words(256, &[side]),
            Entry::of_words(257, &[side]),
            Entry::of_words(258, &[32]),
            Entry::of_words(259, &[1]),
            Entry::of_words(262, &[1]),
            Entry::new(STRIP_OFFSETS, LONG, vec![0]),
            Entry::of_words(277, &[1]),
            Entry::of_words(278, &[side]),
            Entry::new(279, LONG, vec![samples.len() as u64]),
            Entry::of_words(339, &[3]),
            Entry::of_doubles(33550, &[CELL, CELL, 0.0]),
            Entry::of_doubles(33922, &[0.0, 0.0, 0.0, WEST, north, 0.0]),
            Entry::of_words(34735, &[1, 1, 0, 3, 1024, 0, 1, 2, 1025, 0, 1, 1, 2048, 0, 1, 4326]),
            Entry::new(42113, ASCII, b"-9999\0".map(u64::from).to_vec()),
        ];
        Self { entries, samples, next: 0 }
    }

    /// The strip as one tile.
    fn turn_to_tiles(&mut self) {
        self.entries.retain(|entry| entry.tag != 278);
        for entry in &mut self.entries {
            match entry.tag {
                STRIP_OFFSETS => entry.tag = TILE_OFFSETS,
                279 => entry.tag = 325,
                _ => {}
            }
        }
        let side = u64::from(SIDE);
        self.entries.push(Entry::of_words(322, &[side]));
        self.entries.push(Entry::of_words(323, &[side]));
    }

    /// The file, little-endian, its entries in order or as they come.
    fn bytes(mut self, in_order: bool) -> Vec<u8> {
        if in_order {
            self.entries.sort_by_key(|entry| entry.tag);
        }
        let head = 8 + 2 + 12 * self.entries.len() + 4;
        let beyond = |entry: &Entry| entry.width() * entry.values.len() > 4;
        let far: usize = self
            .entries
            .iter()
            .filter(|entry| beyond(entry))
            .map(|entry| entry.width() * entry.values.len())
            .sum();
        for entry in &mut self.entries {
            if matches!(entry.tag, STRIP_OFFSETS | TILE_OFFSETS) && entry.values == [0] {
                entry.values = vec![(head + far) as u64];
            }
        }
        let mut bytes = b"II\x2a\0\x08\0\0\0".to_vec();
        let mut values = Vec::new();
        bytes.extend(low(self.entries.len() as u64, 2));
        for entry in &self.entries {
            bytes.extend(low(u64::from(entry.tag), 2));
            bytes.extend(low(u64::from(entry.kind), 2));
            bytes.extend(low(entry.count, 4));
            let own: Vec<u8> = entry.values.iter().flat_map(|v| low(*v, entry.width())).collect();
            if beyond(entry) {
                bytes.extend(low((head + values.len()) as u64, 4));
                values.extend(own);
            } else {
                bytes.extend(own.iter().copied().chain([0; 4]).take(4));
            }
        }
        bytes.extend(low(self.next, 4));
        [bytes, values, self.samples].concat()
    }
}

/// The lowest `width` bytes of a number, the lowest first.
fn low(number: u64, width: usize) -> Vec<u8> {
    number.to_le_bytes().into_iter().take(width).collect()
}
