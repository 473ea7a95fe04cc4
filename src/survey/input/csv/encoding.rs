//! The bytes of a file into text.
//!
//! In: bytes. Out: UTF-8 without its mark, read from Windows-1252 where it is no UTF-8; a fault
//! where it is neither.
//! Left out: UTF-16 and workbooks, which are told by their first bytes and refused by name.

use crate::survey::fault::{Code, Faults, Place};
use encoding_rs::WINDOWS_1252;
use std::borrow::Cow;

/// The bytes to which Windows-1252 gives no character.
const NOT_IN_1252: [u8; 5] = [0x81, 0x8d, 0x8f, 0x90, 0x9d];

/// The text of a file: UTF-8 with or without its mark, else Windows-1252 (then owned).
pub(super) fn decoded<'b>(
    file_name: &str,
    bytes: &'b [u8],
    faults: &mut Faults,
) -> Option<Cow<'b, str>> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let found = if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        "text in UTF-16"
    } else if bytes.starts_with(b"PK\x03\x04") {
        "a workbook or another packed file"
    } else if bytes.contains(&0) {
        "bytes that are no text"
    } else if let Ok(text) = std::str::from_utf8(bytes) {
        return Some(Cow::Borrowed(text));
    } else if bytes.iter().any(|byte| NOT_IN_1252.contains(byte)) {
        "text in an encoding that cannot be told"
    } else {
        let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
        return Some(Cow::Owned(text.into_owned()));
    };
    faults
        .error(Code::NotText, Place::file(file_name))
        .found(found)
        .expected("a table as text, in UTF-8")
        .hint("save the sheet as CSV UTF-8");
    None
}
