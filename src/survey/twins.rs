//! Near-twins: names that a reader would take for one, and a program for two.
//!
//! Two names are near-twins if they differ only by capitals, inner blanks, hyphens, underscores,
//! accents or letters that do not show, or by letters and digits that look alike. They are found
//! by what is left of a name without these: each distinct name is boiled down once, no two are
//! compared in pairs, and rows whose names have no near-twin anywhere are passed over.

use super::looks::{as_digit, as_latin, write_key};
use super::names::{ByName, Name, Names};
use foldhash::fast::FixedState;
use std::collections::HashSet;
use std::hash::{BuildHasher, Hash};

/// The letters that each key of a name takes for one another, from the least to the most.
const KEYS: [fn(char) -> char; 3] = [|letter| letter, as_latin, as_digit];

/// What near-twins of one name share.
#[derive(Clone, Copy, Debug)]
struct Fold {
    /// By [`KEYS`], each a number.
    keys: [u32; 3],
    letters: bool,
    digits: bool,
    single: bool,
}

/// How two names are alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Alike {
    /// But for capitals, blanks, accents and the like, or for the alphabet.
    Written,
    /// Only once a letter is taken for a digit, or for another letter.
    Seen,
}

impl Fold {
    fn alike(&self, other: &Self) -> Option<Alike> {
        let same = |key: usize| self.keys[key] == other.keys[key];
        if same(0) || same(1) {
            Some(Alike::Written)
        } else {
            (same(2) && self.looks_like(other)).then_some(Alike::Seen)
        }
    }

    /// Whether looks may decide: `AI` beside `A1`, `O` beside `0`. Letters alone beside digits alone
    /// are two ways to count, as `II` and `11` are.
    const fn looks_like(&self, other: &Self) -> bool {
        let lettered = !self.digits && !other.digits;
        (self.letters && self.digits)
            || (other.letters && other.digits)
            || lettered
            || (self.single && other.single)
    }
}

/// Those names of a survey that have a near-twin of any kind.
#[derive(Debug, Default)]
pub struct Twins(ByName<Name, Fold>);

impl Twins {
    /// Boils every name down once.
    pub fn of(names: &Names) -> Self {
        let crowded = crowded(names);
        let mut known: ByName<String, u32> = ByName::default();
        let mut number = |text: &str, as_if| {
            let mut key = String::new();
            write_key(text, as_if, &mut key);
            let next = u32::try_from(known.len()).unwrap_or(u32::MAX);
            *known.entry(key).or_insert(next)
        };
        let mut fold = |text: &str| Fold {
            keys: KEYS.map(|as_if| number(text, as_if)),
            letters: text.contains(char::is_alphabetic),
            digits: text.contains(|letter: char| letter.is_ascii_digit()),
            single: text.chars().nth(1).is_none(),
        };
        Self(crowded.into_iter().map(|name| (name, fold(names.text(name)))).collect())
    }

    /// Whether some other name is a near-twin of `name`, or may be.
    pub fn has(&self, name: Name) -> bool {
        self.0.contains_key(&name)
    }
}

/// The names that share a key with another, found by the hashes of the keys alone.
fn crowded(names: &Names) -> Vec<Name> {
    let hasher = FixedState::default();
    let mut first: ByName<u64, Name> = ByName::default();
    let mut crowded = Vec::new();
    let mut key = String::new();
    for (name, text) in names.all() {
        let mut last = None;
        for (kind, as_if) in KEYS.into_iter().enumerate() {
            if kind == 1 && text.is_ascii() {
                continue;
            }
            write_key(text, as_if, &mut key);
            let hash = hasher.hash_one(&key);
            if last.replace(hash) == Some(hash) {
                continue;
            }
            let other = *first.entry(hash).or_insert(name);
            if other != name {
                crowded.extend([other, name]);
            }
        }
    }
    crowded
}

/// Names met so far, each within a scope such as its trail, with where each was met first.
#[derive(Debug)]
pub struct Met<S>(ByName<(S, usize, u32), Vec<(Name, usize)>>);

/// The most names of one key that are kept apart: letters, digits, and a few ordinary ones.
const MOST_APART: usize = 8;

impl<S> Default for Met<S> {
    fn default() -> Self {
        Self(ByName::default())
    }
}

impl<S: Copy + Eq + Hash> Met<S> {
    /// Meets `name` at `at`, and gives the first name of this scope that it is a near-twin of,
    /// leaving out what is `ordinary` of those that only look alike.
    pub fn meet(
        &mut self,
        twins: &Twins,
        (scope, name): (S, Name),
        at: usize,
        ordinary: impl Fn(Name) -> bool,
    ) -> Option<(Name, usize)> {
        let fold = twins.0.get(&name)?;
        let first = self.near(twins, (scope, name), ordinary);
        let kept = first.unwrap_or((name, at));
        for (kind, key) in fold.keys.into_iter().enumerate() {
            let known = self.0.entry((scope, kind, key)).or_default();
            if known.len() < MOST_APART && !known.iter().any(|(other, _)| *other == kept.0) {
                known.push(kept);
            }
        }
        first
    }

    /// The first name of this scope that `name` is a near-twin of.
    pub fn near(
        &self,
        twins: &Twins,
        (scope, name): (S, Name),
        ordinary: impl Fn(Name) -> bool,
    ) -> Option<(Name, usize)> {
        let fold = twins.0.get(&name)?;
        let known = fold.keys.into_iter().enumerate();
        let known = known.filter_map(|(kind, key)| self.0.get(&(scope, kind, key))).flatten();
        let alike = |other: &&(Name, usize)| match fold.alike(twins.0.get(&other.0)?)? {
            Alike::Seen if ordinary(other.0) => None,
            alike => Some(alike),
        };
        let is_twin = |other: &&(Name, usize)| other.0 != name && alike(other).is_some();
        known.filter(is_twin).min_by_key(|(_, at)| *at).copied()
    }
}

/// All names of one kind, each within its scope, to tell a slip from an ordinary lettering.
#[derive(Debug)]
pub struct Numbering<S> {
    all: HashSet<(S, Name), FixedState>,
    first: ByName<S, Name>,
}

impl<S: Copy + Eq + Hash> Numbering<S> {
    /// Of names in the order in which they are written.
    pub fn of(written: impl Iterator<Item = (S, Name)>) -> Self {
        let (mut all, mut first) = (HashSet::default(), ByName::default());
        for (scope, name) in written {
            all.insert((scope, name));
            first.entry(scope).or_insert(name);
        }
        Self { all, first }
    }

    /// Whether both names have a place of their own where names are numbered or lettered: `O` between
    /// `N` and `P`, beside `0` at which the trail begins.
    pub fn is_ordinary(&self, names: &Names, scope: S, pair: [Name; 2]) -> bool {
        let [one, other] = pair;
        self.has_place(names, (scope, one), names.text(other))
            && self.has_place(names, (scope, other), names.text(one))
    }

    /// Whether `name` goes on from others of its scope where it differs from `beside`: by a letter
    /// from the one before or behind it in the alphabet, or by a digit from any other number. A
    /// number at which a trail begins has its place.
    pub fn has_place(&self, names: &Names, (scope, name): (S, Name), beside: &str) -> bool {
        let text = names.text(name);
        let is_number = text.bytes().all(|byte| byte.is_ascii_digit());
        if is_number && self.first.get(&scope) == Some(&name) {
            return true;
        }
        let there = |text: String| {
            names.find(&text).is_some_and(|other| self.all.contains(&(scope, other)))
        };
        if text.chars().count() != beside.chars().count() {
            return false;
        }
        let pairs = text.char_indices().zip(beside.chars());
        let letters = pairs.filter(|((_, letter), other)| letter != other && !is_digit(*letter));
        let letters: Vec<(usize, char)> = letters.map(|(at, _)| at).collect();
        if letters.is_empty() {
            let digits = text.char_indices().filter(|(_, letter)| is_digit(*letter));
            return digits.flat_map(|at| others(text, at)).any(there);
        }
        letters.into_iter().all(|at| others(text, at).any(there))
    }
}

const fn is_digit(letter: char) -> bool {
    letter.is_ascii_digit()
}

/// The texts with another digit, or with the letter before or behind, in place of the one at `at`.
fn others(text: &str, (at, letter): (usize, char)) -> impl Iterator<Item = String> {
    let near: Vec<char> = if is_digit(letter) {
        ('0'..='9').filter(|digit| *digit != letter).collect()
    } else {
        ('A'..='Z')
            .chain('a'..='z')
            .filter(|one| u32::from(*one).abs_diff(letter.into()) == 1)
            .collect()
    };
    let put = move |other| {
        let (before, behind) = text.split_at(at);
        let behind: String = behind.chars().skip(1).collect();
        format!("{before}{other}{behind}")
    };
    near.into_iter().map(put)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn twins(first: &str, second: &str) -> bool {
        let mut names = Names::default();
        let both = [first, second].map(|text| names.enter(text));
        let twins = Twins::of(&names);
        let mut met = Met::default();
        both.map(|name| met.meet(&twins, ((), name), 0, |_| false)) == [None, Some((both[0], 0))]
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
            ("A1", "A1\u{200b}"),
            ("A1", "\u{feff}A1"),
            ("A 1", "A\u{a0}1"),
            ("A-1", "A\u{2212}1"),
            ("A1", "\u{410}1"),
            ("A1", "\u{391}1"),
            ("\u{412}1", "\u{432}1"),
            ("B0", "\u{412}\u{41e}"),
            ("\u{410}L1", "Al1"),
            ("A1", "\u{ff21}\u{ff11}"),
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
            ("\u{416}1", "X1"),
            ("A+", "A-"),
        ] {
            assert!(!twins(first, second) && !twins(second, first), "{first} {second}");
        }
    }

    /// `II` and `11` are two ways to count; `1I` is a slip for either.
    #[test]
    fn a_name_apart_hides_no_twin_behind_it() {
        let mut names = Names::default();
        let all = ["11", "II", "ll", "1I"].map(|text| names.enter(text));
        let twins = Twins::of(&names);
        let mut met = Met::default();
        let found =
            all.map(|name| met.meet(&twins, ((), name), 0, |_| false).map(|(name, _)| name));
        assert_eq!(found, [None, None, Some(all[1]), Some(all[0])]);
    }
}
