//! What parts the cells of a row, told from the headings.

use super::is_blank;

/// What stands between the cells of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Separator {
    Comma,
    Semicolon,
    Tab,
}

impl Separator {
    /// The separator that stands most often in the headings, outside quotes.
    pub(super) fn of(text: &str) -> Self {
        let comment = |line: &str| line.trim_start_matches('"').starts_with('#');
        let mut lines = text.split(['\r', '\n']);
        let headings = lines.find(|line| !is_blank(line) && !comment(line)).unwrap_or("");
        let mut counts = [0, 0, 0];
        let mut quoted = false;
        for byte in headings.bytes() {
            match byte {
                b'"' => quoted = !quoted,
                _ if quoted => {}
                b',' => counts[0] += 1,
                b';' => counts[1] += 1,
                b'\t' => counts[2] += 1,
                _ => {}
            }
        }
        match counts {
            [commas, semicolons, tabs] if semicolons > commas && semicolons >= tabs => {
                Self::Semicolon
            }
            [commas, _, tabs] if tabs > commas => Self::Tab,
            _ => Self::Comma,
        }
    }

    pub(super) const fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
        }
    }

    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Comma => "commas",
            Self::Semicolon => "semicolons",
            Self::Tab => "tabs",
        }
    }
}
