//! The packed file that a workbook is: its parts, unpacked piece by piece and never beyond a limit.

use super::Trouble;
use quick_xml::Reader;
use quick_xml::escape::{resolve_xml_entity, unescape};
use quick_xml::events::{BytesStart, Event};
use std::borrow::Cow;
use std::io::{self, BufReader, Cursor, Read};
use zip::ZipArchive;
use zip::result::ZipError;

/// The longest text between two marks of a part: many times the longest cell that is read.
const LONGEST_TEXT: u64 = 1 << 20;
/// How much is unpacked at once.
const PIECE: usize = 1 << 16;

/// A packed file in memory.
pub(super) struct Package<'b> {
    archive: ZipArchive<Cursor<&'b [u8]>>,
    /// How many bytes may still be unpacked.
    left: u64,
}

/// What stands next in a part.
pub(super) enum Node<'x> {
    /// An element begins; its name without a prefix.
    Open(&'x str, Tag<'x>),
    /// An element ends.
    Close(&'x str),
    /// Text between the two.
    Text(&'x str),
}

/// The attributes of an element.
#[derive(Clone, Copy)]
pub(super) struct Tag<'x>(&'x BytesStart<'x>);

impl Tag<'_> {
    /// The value of the attribute of this name, whatever its prefix.
    pub(super) fn get(self, name: &str) -> Option<String> {
        self.named(name).next()
    }

    /// The values of all attributes of this name; their prefixes differ.
    pub(super) fn named(self, name: &str) -> impl Iterator<Item = String> {
        let mut attributes = self.0.attributes();
        attributes.with_checks(false); // doubles do no harm here, and looking for them takes time
        attributes
            .flatten()
            .filter(move |attribute| attribute.key.local_name().into_inner() == name)
            .filter_map(|attribute| unescape(&attribute.value).ok().map(Cow::into_owned))
    }

    /// The number in the attribute of this name.
    pub(super) fn count(self, name: &str) -> Option<usize> {
        self.get(name)?.trim().parse().ok()
    }
}

impl<'b> Package<'b> {
    /// Opens a packed file of which at most `limit` bytes may be unpacked.
    pub(super) fn open(bytes: &'b [u8], limit: u64) -> Result<Self, Trouble> {
        let archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| Trouble::Damaged)?;
        Ok(Self { archive, left: limit })
    }

    /// Whether there is a part of this name.
    pub(super) fn holds(&self, part: &str) -> bool {
        self.archive.index_for_name(part).is_some()
    }

    /// Walks through a part from beginning to end; does nothing where there is none.
    pub(super) fn walk(
        &mut self,
        part: &str,
        mut visit: impl FnMut(Node<'_>) -> Result<(), Trouble>,
    ) -> Result<(), Trouble> {
        if !self.holds(part) {
            return Ok(());
        }
        let file = self.archive.by_name(part).map_err(|error| trouble_of(&error))?;
        if file.size() > self.left {
            return Err(Trouble::TooLarge);
        }
        let piece = Measured { file, left: &mut self.left, run: 0 };
        let mut reader = Reader::from_reader(BufReader::with_capacity(PIECE, piece));
        reader.config_mut().expand_empty_elements = true;
        let mut buffer = Vec::new();
        loop {
            buffer.clear();
            match reader.read_event_into(&mut buffer).map_err(|error| trouble_in(&error))? {
                Event::Start(tag) => visit(Node::Open(tag.local_name().into_inner(), Tag(&tag)))?,
                Event::End(tag) => visit(Node::Close(tag.local_name().into_inner()))?,
                Event::Text(text) => visit(Node::Text(&text.xml10_content()))?,
                Event::CData(text) => visit(Node::Text(&text.xml10_content()))?,
                Event::GeneralRef(name) => {
                    let by_number = name.resolve_char_ref().map_err(|_| Trouble::Damaged)?;
                    let known =
                        || resolve_xml_entity(&name.borrow().into_inner()).map(str::to_owned);
                    let text = by_number.map(String::from).or_else(known);
                    visit(Node::Text(&text.ok_or(Trouble::Damaged)?))?;
                }
                Event::Eof => return Ok(()),
                _ => {}
            }
        }
    }
}

fn trouble_of(error: &ZipError) -> Trouble {
    match error {
        ZipError::UnsupportedArchive(why) if *why == ZipError::PASSWORD_REQUIRED => Trouble::Locked,
        _ => Trouble::Damaged,
    }
}

fn trouble_in(error: &quick_xml::Error) -> Trouble {
    match error {
        quick_xml::Error::Io(cause) => match cause.kind() {
            io::ErrorKind::FileTooLarge => Trouble::TooLarge,
            io::ErrorKind::QuotaExceeded => Trouble::TooMuchText,
            _ => Trouble::Damaged,
        },
        _ => Trouble::Damaged,
    }
}

/// The bytes of a part, counted while they are unpacked: what a packed file states of its length
/// need not be true, and a text without end would be kept whole.
struct Measured<'l, R> {
    file: R,
    left: &'l mut u64,
    /// How long the text at hand is so far.
    run: u64,
}

impl<R: Read> Read for Measured<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.file.read(buffer)?;
        let piece = buffer.get(..count).unwrap_or_default();
        let left = self.left.checked_sub(count as u64);
        *self.left = left.ok_or(io::ErrorKind::FileTooLarge)?;
        self.run = match piece.iter().rposition(|byte| matches!(byte, b'<' | b'>')) {
            Some(last) => (count - last) as u64,
            None => self.run + count as u64,
        };
        if self.run > LONGEST_TEXT {
            return Err(io::ErrorKind::QuotaExceeded.into());
        }
        Ok(count)
    }
}
