//! Names, kept once each and passed around as small numbers.

use foldhash::fast::FixedState;
use std::collections::HashMap;
use std::sync::Arc;

/// What is found by name, fast and without chance; it is never walked through.
pub type ByName<K, V> = HashMap<K, V, FixedState>;

/// A name of a trail, anchor, animal, support, tree and so on, within one survey.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Name(u32);

impl Name {
    /// Its place in the order of first mention.
    pub(super) const fn index(self) -> usize {
        self.0 as usize
    }
}

/// The longest text that is compared with others, in bytes; nobody mistypes a longer name.
const LONGEST_COMPARED: usize = 64;

/// The name that differs from `text` in the fewest letters; of several the first in the alphabet.
pub fn nearest_name<'n>(text: &str, names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let short = |name: &str| name.len() <= LONGEST_COMPARED;
    let names = names.filter(|name| short(name) && short(text));
    names.min_by_key(|name| (strsim::levenshtein(name, text), *name))
}

/// Every name of a survey, in the order of first mention.
#[derive(Debug, Default)]
pub struct Names {
    texts: Vec<Arc<str>>,
    known: ByName<Arc<str>, Name>,
}

impl Names {
    /// The name written `text`, entered if it is new.
    pub fn enter(&mut self, text: &str) -> Name {
        if let Some(&name) = self.known.get(text) {
            return name;
        }
        let name = Name(u32::try_from(self.texts.len()).unwrap_or(u32::MAX));
        let text: Arc<str> = text.into();
        self.texts.push(text.clone());
        self.known.insert(text, name);
        name
    }

    /// The name written `text`, if any table has it.
    pub fn find(&self, text: &str) -> Option<Name> {
        self.known.get(text).copied()
    }

    /// All names with their texts, in the order of first mention.
    pub fn all(&self) -> impl Iterator<Item = (Name, &str)> {
        (0..).map(Name).zip(self.texts.iter().map(AsRef::as_ref))
    }

    /// How the name is written.
    pub fn text(&self, name: Name) -> &str {
        self.texts.get(name.index()).map_or("", |text| text)
    }
}
