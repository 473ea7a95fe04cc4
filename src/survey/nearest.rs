//! The word that was probably meant.

/// The most letters that a word may be off and still be meant.
const NEAR: usize = 2;

/// The word of `words` nearest to `text`, if one is near.
pub fn nearest<'w>(text: &str, words: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let text = text.to_lowercase();
    // The distance takes time by the product of both lengths, and is at least their difference.
    let about_as_long = |word: &&str| word.len().abs_diff(text.len()) <= 2 * NEAR;
    let (distance, word) = words
        .filter(about_as_long)
        .map(|word| (strsim::damerau_levenshtein(&text, &word.to_lowercase()), word))
        .min_by_key(|near| near.0)?;
    (distance <= NEAR.min(word.len() / 2)).then_some(word)
}
