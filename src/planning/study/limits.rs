//! What a forecast of so many animals rests on, in sentences.
//!
//! In: a [`Question`], and what its pilot is like. Out: a sentence for each thing that may be otherwise.

use super::Question;
use super::pilot::PilotSurvey;
use super::words::Subject;
use crate::maths::quantity::count_of;

const GROUPS: &str = "Values are taken to be normal, with the same spread in both groups, and animals to \
                      tell nothing of each other. Where values are strongly skewed, less is seen than is \
                      told here if the smaller group has the larger values.";
const PAIRS: &str = "Changes are taken to be normal, with the same spread of nights at both times, and \
                     animals to tell nothing of each other.";
const ALIKE: &str = "All animals are taken to change alike, which is the best case; --sd-change says by how \
                     much their changes differ.";
const ONE_QUESTION: &str = "Power is that of one question, stated beforehand. compare adjusts p for all of \
                            its questions by one column, which takes more animals.";
const LIKE_THE_PILOT: &str = "The forecast holds as far as the study will be like the pilot: the same kind \
                              of animals, season, nights, rule for anchors and instruments.";
const ANIMALS_ALIKE: &str = "The pilot's animals do not differ by more than their nights do. Many a small \
                             pilot shows that of animals that do differ: do not plan by many nights of few \
                             animals.";
const ONE_GROUP: &str = "All animals of the pilot are one group: a difference between groups would count as \
                         spread. --by keeps it apart.";

/// What every forecast rests on.
pub fn limits(question: &Question) -> Vec<String> {
    let mut told = vec![if question.of_pairs() { PAIRS } else { GROUPS }, ONE_QUESTION];
    told.extend((question.of_pairs() && question.change == 0.0).then_some(ALIKE));
    told.into_iter().map(str::to_owned).collect()
}

/// What it rests on besides, where the spread is that of a pilot.
pub fn limits_of_pilot(question: &Question, subject: &Subject, pilot: &PilotSurvey) -> Vec<String> {
    let mut told = vec![LIKE_THE_PILOT.to_owned()];
    let mut add = |when: bool, text: String| told.extend(when.then_some(text));
    let groups = !question.of_pairs();
    add(pilot.skewed && groups, skewed(subject));
    let spread = pilot.pilot.spread;
    add(spread.night.is_none(), no_nights(question));
    add(spread.night.is_some() && spread.animal == 0.0 && groups, ANIMALS_ALIKE.to_owned());
    let of_trails = |count: usize, what: &str| {
        let is = if count == 1 { "is" } else { "are" };
        format!("{count} of the {} {is} {what}.", count_of(pilot.trails, "trail"))
    };
    add(
        pilot.at_least > 0,
        of_trails(pilot.at_least, "minimum values, taken as they are: the true spread is another"),
    );
    add(pilot.long > 0, of_trails(pilot.long, "of more than one night, and counted as one"));
    let left_out = count_of(pilot.undivided, "animal");
    add(pilot.undivided > 0, format!("{left_out} of neither group left out."));
    add(!pilot.divided && groups, ONE_GROUP.to_owned());
    told
}

fn skewed(subject: &Subject) -> String {
    format!(
        "The pilot's animals are strongly skewed in {}: a few have much larger values than the others. \
         Take the chances as rough, and see that the group with the larger values is not the smaller one.",
        subject.name()
    )
}

fn no_nights(question: &Question) -> String {
    let rest = if question.of_pairs() {
        "all of the spread between animals is taken to be between nights, which is the worst case"
    } else {
        "more nights are taken to bring nothing"
    };
    format!("No animal of the pilot has two nights: {rest}.")
}
