//! Near-twins: names that a reader would take for one, and a program for two.
//!
//! Two names are near-twins if they differ only by capitals, inner blanks, hyphens, underscores or
//! accents, or by letters and digits that look alike. They are found by what is left of a name
//! without these, in one pass and without comparing names in pairs.

use super::names::{ByName, Name, Names};
use std::hash::Hash;
use unicode_normalization::UnicodeNormalization;

/// The name without what near-twins may differ by: `D 01` and `d-01` are both `d01`.
///
/// Accents come off as Unicode takes letters apart, whichever of its two forms a spreadsheet saved.
/// A hyphen or blank between two digits stays, as `-`: `1-11` and `11-1` are two names, and both
/// ordinary. So does one before or behind the whole name: `-3` is not `3`.
pub fn plain(text: &str) -> String {
    let lower: String = text.to_lowercase().nfd().filter(|letter| !is_mark(*letter)).collect();
    without_separators(&lower)
}

/// The same, with all that looks like a one or a nought taken for one.
fn by_looks(text: &str) -> String {
    let same = |letter| match letter {
        'l' | 'I' => '1',
        'o' | 'O' => '0',
        other => other,
    };
    plain(&text.chars().map(same).collect::<String>())
}

/// Accents, and the selector that says how `♀` is drawn. Marks of other scripts are letters.
const fn is_mark(letter: char) -> bool {
    matches!(letter, '\u{300}'..='\u{36f}' | '\u{fe0e}' | '\u{fe0f}')
}

fn without_separators(text: &str) -> String {
    let separates = |c: char| c.is_whitespace() || matches!(c, '-' | '_' | '\u{2010}'..='\u{2015}');
    let mut kept = String::with_capacity(text.len());
    let mut separated = false;
    for letter in text.chars() {
        if separates(letter) {
            separated = true;
            continue;
        }
        let between_digits =
            || letter.is_ascii_digit() && kept.ends_with(|c: char| c.is_ascii_digit());
        if separated && (kept.is_empty() || between_digits()) {
            kept.push('-');
        }
        kept.push(letter);
        separated = false;
    }
    if separated {
        kept.push('-');
    }
    kept
}

/// What near-twins of one name share.
#[derive(Clone, Copy, Debug)]
struct Fold {
    plain: u32,
    by_looks: u32,
    letters: bool,
    digits: bool,
    single: bool,
}

impl Fold {
    /// Whether looks may decide: `AI` beside `A1`, `O` beside `0`. Letters alone beside digits alone
    /// are two ways to count, as `II` and `11` are.
    fn looks_like(self, other: Self) -> bool {
        let mixed = |fold: Self| fold.letters && fold.digits;
        let lettered = !self.digits && !other.digits;
        mixed(self) || mixed(other) || lettered || (self.single && other.single)
    }
}

/// The folds of all names of a survey.
#[derive(Debug, Default)]
pub struct Folds(Vec<Fold>);

impl Folds {
    /// Folds every name once.
    pub fn of(names: &Names) -> Self {
        let mut known: ByName<String, u32> = ByName::default();
        let mut number = |key: String| {
            let next = u32::try_from(known.len()).unwrap_or(u32::MAX);
            *known.entry(key).or_insert(next)
        };
        let fold = |text: &str| Fold {
            plain: number(plain(text)),
            by_looks: number(by_looks(text)),
            letters: text.contains(char::is_alphabetic),
            digits: text.contains(|letter: char| letter.is_ascii_digit()),
            single: text.chars().nth(1).is_none(),
        };
        Self(names.texts().map(fold).collect())
    }
}

/// Names met so far, each within a scope such as its trail, with where it was met first.
#[derive(Debug)]
pub struct Met<S> {
    plain: ByName<(S, u32), (Name, usize)>,
    by_looks: ByName<(S, u32), (Name, usize)>,
}

impl<S> Default for Met<S> {
    fn default() -> Self {
        Self { plain: ByName::default(), by_looks: ByName::default() }
    }
}

impl<S: Copy + Eq + Hash> Met<S> {
    /// Meets `name` at `at`, and gives the first name of this scope that it is a near-twin of.
    pub fn meet(
        &mut self,
        folds: &Folds,
        scope: S,
        name: Name,
        at: usize,
    ) -> Option<(Name, usize)> {
        let fold = *folds.0.get(name.index())?;
        let known = self.plain.get(&(scope, fold.plain)).copied();
        if known.is_some_and(|first| first.0 == name) {
            return None;
        }
        let first = known.or_else(|| self.near(folds, scope, name));
        let kept = first.unwrap_or((name, at));
        self.plain.entry((scope, fold.plain)).or_insert(kept);
        self.by_looks.entry((scope, fold.by_looks)).or_insert(kept);
        first
    }

    /// The first name of this scope that `name` is a near-twin of.
    pub fn near(&self, folds: &Folds, scope: S, name: Name) -> Option<(Name, usize)> {
        let fold = *folds.0.get(name.index())?;
        let alike = |other: &&(Name, usize)| {
            folds.0.get(other.0.index()).is_some_and(|other| fold.looks_like(*other))
        };
        let by_looks = || self.by_looks.get(&(scope, fold.by_looks)).filter(alike);
        let first = self.plain.get(&(scope, fold.plain)).or_else(by_looks).copied()?;
        (first.0 != name).then_some(first)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn twins(first: &str, second: &str) -> bool {
        let mut names = Names::default();
        let both = [first, second].map(|text| names.enter(text));
        let folds = Folds::of(&names);
        let mut met = Met::default();
        both.map(|name| met.meet(&folds, (), name, 0)) == [None, Some((both[0], 0))]
    }

    #[test]
    fn what_a_reader_takes_for_one_is_one() {
        for (first, second) in [
            ("A1", "A 1"),
            ("A1", "a1"),
            ("D01", "D-01"),
            ("D_01", "d 01"),
            ("A1", "AI"),
            ("Al", "A1"),
            ("B0", "BO"),
            ("10", "1O"),
            ("11", "1l"),
            ("D01", "DO1"),
            ("L1", "l1"),
            ("a", "A"),
            ("O", "0"),
            ("I", "1"),
            ("Bramble", "Brambl\u{e9}"),
            ("h\u{ea}tre", "he\u{302}tre"),
            ("1-1", "1 1"),
        ] {
            assert!(twins(first, second) && twins(second, first), "{first} {second}");
        }
    }

    #[test]
    fn ordinary_names_are_told_apart() {
        for (first, second) in [
            ("1", "11"),
            ("1-11", "11-1"),
            ("1 11", "11 1"),
            ("1-1", "11"),
            ("II", "11"),
            ("D01", "D10"),
            ("D1", "D2"),
            ("fall", "fail"),
            ("FALL", "FAIL"),
            ("-3", "3"),
            ("1.5", "15"),
            ("A", "B"),
            ("が", "か"),
        ] {
            assert!(!twins(first, second) && !twins(second, first), "{first} {second}");
        }
    }
}
