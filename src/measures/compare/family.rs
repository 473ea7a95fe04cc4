//! The questions of one factor as one family: p of each, allowing for how many were asked.
//!
//! In: for each question the groups of the factor, or differences within animals. Out: adjusted p in
//! the same order; `None` of a question that cannot be tested. Labels of whole animals are shuffled,
//! for all questions alike.

use super::animals::AnimalValue;
use super::groups::Group;
use crate::maths::statistics::permutation::{Adjusted, several_groups, sign_flips, two_groups};
use crate::survey::names::Name;
use std::collections::BTreeMap;

/// Adjusted p of the difference between groups. An animal that stands in two groups has no label: no
/// question can be asked then.
pub fn between(questions: &[Vec<Group>], seed: u64) -> Vec<Option<f64>> {
    let mut group_of: BTreeMap<Name, usize> = BTreeMap::new();
    let mut names: Vec<&str> = Vec::new();
    for group in questions.iter().flatten() {
        let at = names.iter().position(|name| *name == group.name).unwrap_or_else(|| {
            names.push(&group.name);
            names.len() - 1
        });
        for animal in &group.values {
            if *group_of.entry(animal.animal).or_insert(at) != at {
                return vec![None; questions.len()];
            }
        }
    }
    let animals: Vec<Name> = group_of.keys().copied().collect();
    let values: Vec<Vec<Option<f64>>> = questions
        .iter()
        .map(|groups| row(&animals, groups.iter().flat_map(|g| &g.values)))
        .collect();
    let labels: Vec<usize> = group_of.values().copied().collect();
    let found = if names.len() == 2 {
        let first: Vec<bool> = labels.iter().map(|at| *at == 0).collect();
        two_groups(&values, &first, seed)
    } else {
        several_groups(&values, &labels, seed)
    };
    adjusted(found)
}

/// Adjusted p of the mean difference within animals.
pub fn within(questions: &[Vec<(Name, f64)>], seed: u64) -> Vec<Option<f64>> {
    let mut animals: Vec<Name> = questions.iter().flatten().map(|(animal, _)| *animal).collect();
    animals.sort_unstable();
    animals.dedup();
    let of = |animal: &Name| {
        let own = |differences: &Vec<(Name, f64)>| {
            differences.iter().find(|(other, _)| other == animal).map(|(_, difference)| *difference)
        };
        questions.iter().map(own).collect()
    };
    adjusted(sign_flips(&animals.iter().map(of).collect::<Vec<_>>(), seed))
}

fn adjusted(found: Vec<Option<Adjusted>>) -> Vec<Option<f64>> {
    found.into_iter().map(|test| test.map(|test| test.p_adjusted)).collect()
}

/// One value an animal.
fn row<'a>(animals: &[Name], values: impl Iterator<Item = &'a AnimalValue>) -> Vec<Option<f64>> {
    let known: BTreeMap<Name, f64> = values.map(|value| (value.animal, value.value)).collect();
    animals.iter().map(|animal| known.get(animal).copied()).collect()
}
