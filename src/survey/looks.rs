//! What a name looks like: its text without what a reader passes over.
//!
//! In: a name as written. Out: keys, which are equal where a reader takes two names for one. Capitals,
//! accents, inner blanks, hyphens, underscores and letters that do not show are passed over in all
//! of them.

use std::borrow::Cow;
use std::fmt::Write;
use unicode_normalization::UnicodeNormalization;

/// The name without what near-twins may differ by: `D 01` and `d-01` are both `d01`.
///
/// Accents come off as Unicode takes letters apart, whichever of its two forms a spreadsheet saved.
/// A hyphen or blank between two digits stays, as `-`: `1-11` and `11-1` are two names, and both
/// ordinary. So does one before or behind the whole name: `-3` is not `3`.
pub fn plain(text: &str) -> String {
    let mut key = String::with_capacity(text.len());
    write_key(text, |letter| letter, &mut key);
    key
}

/// The key of a name in `into`, once each letter is taken for another by `as_if`.
pub(super) fn write_key(text: &str, as_if: fn(char) -> char, into: &mut String) {
    into.clear();
    let mut separated = false;
    let bare = bare(text);
    for letter in bare.chars().map(as_if).flat_map(char::to_lowercase).filter(|c| !is_mark(*c)) {
        if is_separator(letter) {
            separated = true;
            continue;
        }
        let between_digits = letter.is_ascii_digit() && into.ends_with(is_digit);
        if separated && (into.is_empty() || between_digits) {
            into.push('-');
        }
        separated = false;
        into.push(letter);
    }
    if separated {
        into.push('-');
    }
}

/// The same letter of the Latin alphabet where one of another alphabet looks like it.
pub(super) fn as_latin(letter: char) -> char {
    if letter.is_ascii() {
        return letter;
    }
    let latin = |(other, latin): &(&str, &str)| {
        let at = other.chars().position(|known| known == letter)?;
        latin.chars().nth(at)
    };
    ALPHABETS.iter().find_map(latin).unwrap_or(letter)
}

/// The same with all that looks like a one or a nought taken for one.
pub(super) fn as_digit(letter: char) -> char {
    match as_latin(letter) {
        'l' | 'I' => '1',
        'o' | 'O' => '0',
        other => other,
    }
}

/// Two names beside each other for a reader. Where they look the same, what makes them two is
/// spelled out: `A1` and `A1[U+200B]`.
pub fn told_apart(names: [&str; 2]) -> [Cow<'_, str>; 2] {
    let seen = |text: &str| -> String {
        let dashes = |letter| if is_dash(letter) { '-' } else { as_latin(letter) };
        let blanks = |letter: char| if letter.is_whitespace() { ' ' } else { letter };
        bare(text).chars().map(dashes).map(blanks).collect()
    };
    if names.iter().all(|name| name.is_ascii()) || seen(names[0]) != seen(names[1]) {
        return names.map(Cow::Borrowed);
    }
    names.map(|name| Cow::Owned(spelled_out(name)))
}

/// Every letter beyond ASCII by its number in Unicode.
fn spelled_out(name: &str) -> String {
    let mut text = String::new();
    for letter in name.chars() {
        if letter.is_ascii() {
            text.push(letter);
        } else {
            // Writing into a string cannot fail.
            let _ = write!(text, "[U+{:04X}]", u32::from(letter));
        }
    }
    text
}

/// A name in letters taken apart, without accents and without letters that do not show.
fn bare(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.nfkd().filter(|c| !is_mark(*c) && !is_unseen(*c)).collect())
}

/// Accents of Latin, Greek and Cyrillic. Marks of other scripts are letters.
const fn is_mark(letter: char) -> bool {
    matches!(letter, '\u{300}'..='\u{36f}')
}

/// Blanks without width, marks of the direction of writing, and selectors of how `♀` is drawn.
const fn is_unseen(letter: char) -> bool {
    matches!(
        letter,
        '\u{ad}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{2069}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}'
    )
}

fn is_separator(letter: char) -> bool {
    letter == '_' || letter.is_whitespace() || is_dash(letter)
}

const fn is_dash(letter: char) -> bool {
    matches!(letter, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}')
}

const fn is_digit(letter: char) -> bool {
    letter.is_ascii_digit()
}

/// Letters of Cyrillic and Greek, and those of Latin that they look like.
const ALPHABETS: [(&str, &str); 3] = [
    (
        "\u{410}\u{412}\u{415}\u{41a}\u{41c}\u{41d}\u{41e}\u{420}\u{421}\u{422}\u{423}\u{425}\u{406}\u{408}\u{405}",
        "ABEKMHOPCTYXIJS",
    ),
    ("\u{430}\u{435}\u{43e}\u{440}\u{441}\u{443}\u{445}\u{456}\u{458}\u{455}", "aeopcyxijs"),
    (
        "\u{391}\u{392}\u{395}\u{396}\u{397}\u{399}\u{39a}\u{39c}\u{39d}\u{39f}\u{3a1}\u{3a4}\u{3a5}\u{3a7}\u{3bf}",
        "ABEZHIKMNOPTYXo",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_makes_two_names_two_is_spelled_out_where_it_does_not_show() {
        for (names, told) in [
            (["A1", "a1"], ["A1", "a1"]),
            (["A1", "A1\u{200b}"], ["A1", "A1[U+200B]"]),
            (["\u{410}1", "A1"], ["[U+0410]1", "A1"]),
            (["A 1", "A\u{a0}1"], ["A 1", "A[U+00A0]1"]),
            (["\u{e9}", "e\u{301}"], ["[U+00E9]", "e[U+0301]"]),
            (["\u{410}1", "\u{430}1"], ["\u{410}1", "\u{430}1"]),
        ] {
            assert_eq!(told_apart(names), told, "{names:?}");
        }
    }
}
