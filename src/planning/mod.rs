//! Before the field: made-up surveys with known truth, and what a planned survey can tell.
//!
//! In: a habit or a plan, the precisions of the instruments, a seed. Out: [`simulate::Made`]: the
//! tables of a survey as text, with its truth; and [`forecast::Variant`]: the spread of every
//! metric over many such surveys of one plan; and [`study::Outlook`]: what a study of so many animals
//! can be expected to tell. Same seed, same bytes.
//! Assumes the errors that the adjustment assumes: independent, normal, of the stated size.
//! It stands after `results`, which measures the made-up surveys as it would real ones.
//! Left out: slack thread, trees that lean, magnetic iron; and writing anything (`cli`).

pub mod dice;
pub mod forecast;
pub mod measure;
pub mod plan;
pub mod simulate;
mod slips;
pub mod study;
pub mod ties;
pub mod truth;
