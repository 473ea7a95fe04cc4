//! One spelling for each support, plant, observer, sex and age.
//!
//! Near-twins among them are one, spelled as most often written, of equals as written first; each
//! is told once. The cells of the tables stay as they were written.

use super::Survey;
use super::looks::plain;
use super::names::{ByName, Name, Names};
use super::settings::FILE;
use super::twins::{Met, Twins};
use crate::survey::fault::{Code, Faults, Place};

/// Columns of groups whose cells are taken so, in whichever table they stand.
pub const GROUPS: [&str; 2] = ["sex", "age"];

/// Words and signs for one sex, written without capitals and without a full stop behind. Common
/// practice, no source; `w` is the German letter. Anything else, as `unknown`, is a group of its own.
const SEXES: [(&str, &[&str]); 2] = [
    ("female", &["f", "fem", "female", "females", "w", "♀"]),
    ("male", &["m", "masc", "male", "males", "♂"]),
];

/// The one word for the sex that a cell says.
pub fn sex_of(cell: &str) -> Option<&'static str> {
    let word = plain(cell.trim().trim_end_matches('.'));
    let sex = SEXES.iter().find(|(_, words)| words.contains(&word.as_str()));
    sex.map(|(sex, _)| *sex)
}

/// The one spelling of those cells under `sex` and `age` that are written in several ways.
#[derive(Debug, Default)]
pub struct Spellings(Vec<(&'static str, Spelled)>);

/// A cell as written, and its one spelling.
type Spelled = ByName<Box<str>, Box<str>>;

impl Spellings {
    /// What a cell under `heading` says, without outer blanks and in its one spelling.
    pub fn of<'a>(&'a self, heading: &str, cell: &'a str) -> &'a str {
        let cell = cell.trim();
        let of_group = self.0.iter().find(|(group, _)| *group == heading);
        of_group.and_then(|(_, spelled)| spelled.get(cell)).map_or(cell, |spelled| spelled)
    }
}

/// Gives supports, plants, observers, sexes and ages one spelling each.
pub(super) fn one_spelling(survey: &mut Survey, faults: &mut Faults) {
    let observers_stated: Vec<Name> =
        survey.settings.observers.keys().map(|name| survey.names.enter(name)).collect();
    let groups = GROUPS.map(|heading| group_cells(survey, heading));
    let sexes = sexes(&mut survey.names, &groups[0]);
    survey.twins = Twins::of(&survey.names);
    let [supports, plants, observers] =
        [supports(survey), plants(survey), observers(survey, &observers_stated)];
    let mut one = |mentions: &Mentions, means: &ByName<Name, Name>| {
        let groups = mentions.groups(&survey.twins, means);
        spelled(&survey.names, &groups, faults)
    };
    let same = ByName::default();
    let [supports, plants, observers] =
        [supports, plants, observers].map(|mentions| one(&mentions, &same));
    let groups = [one(&groups[0], &sexes), one(&groups[1], &same)];
    let text = |name: Name| Box::from(survey.names.text(name));
    let texts = |spelled: ByName<Name, Name>| {
        spelled.into_iter().map(|(from, to)| (text(from), text(to))).collect()
    };
    survey.spellings = Spellings(GROUPS.into_iter().zip(groups.map(texts)).collect());
    respell(survey, [&supports, &plants, &observers]);
}

/// What stands in the cells of one kind, each name once, in the order of first mention.
#[derive(Default)]
struct Mentions {
    at: ByName<Name, usize>,
    list: Vec<Mention>,
}

struct Mention {
    name: Name,
    count: usize,
    /// Where it stands first.
    place: Place,
    /// Whether the settings speak of it.
    stated: bool,
}

impl Mentions {
    /// Mentions a name of a kind that no word stands for, if it has a near-twin.
    fn add_twin(&mut self, twins: &Twins, name: Option<Name>, place: impl FnOnce() -> Place) {
        self.add(name.filter(|name| twins.has(*name)), place);
    }

    fn add(&mut self, name: Option<Name>, place: impl FnOnce() -> Place) {
        let Some(name) = name else { return };
        let next = self.list.len();
        let at = *self.at.entry(name).or_insert(next);
        if at == next {
            self.list.push(Mention { name, count: 0, place: place(), stated: false });
        }
        self.list[at].count += 1;
    }

    /// Near-twins together, where there are several; `means` are names that stand for another.
    fn groups(&self, twins: &Twins, means: &ByName<Name, Name>) -> Vec<Vec<&Mention>> {
        let mut met = Met::default();
        let mut place: ByName<Name, usize> = ByName::default();
        let mut groups: Vec<Vec<&Mention>> = Vec::new();
        for mention in &self.list {
            let meant = means.get(&mention.name).copied().unwrap_or(mention.name);
            let first =
                met.meet(twins, ((), meant), 0, |_| false).map_or(meant, |(first, _)| first);
            let at = *place.entry(first).or_insert(groups.len());
            if at == groups.len() {
                groups.push(Vec::new());
            }
            groups[at].push(mention);
        }
        // what the settings tell apart are two
        let stated = |group: &[&Mention]| group.iter().filter(|one| one.stated).count();
        groups.retain(|group| group.len() > 1 && stated(group) < 2);
        groups
    }
}

fn supports(survey: &Survey) -> Mentions {
    let mut found = Mentions::default();
    for row in &survey.anchors {
        found.add_twin(&survey.twins, row.support, || survey.anchor_place(row.row, "support"));
        found.add_twin(&survey.twins, row.leg_support, || {
            survey.anchor_place(row.row, "leg_support")
        });
    }
    for row in &survey.available {
        found.add_twin(&survey.twins, row.support, || survey.available_place(row.row, "support"));
    }
    found
}

fn plants(survey: &Survey) -> Mentions {
    let mut found = Mentions::default();
    for row in &survey.anchors {
        found.add_twin(&survey.twins, row.plant, || survey.anchor_place(row.row, "plant"));
    }
    for row in &survey.available {
        found.add_twin(&survey.twins, row.plant, || survey.available_place(row.row, "plant"));
    }
    found
}

fn observers(survey: &Survey, stated: &[Name]) -> Mentions {
    let mut found = Mentions::default();
    for row in &survey.anchors {
        found.add_twin(&survey.twins, row.observer, || survey.anchor_place(row.row, "observer"));
    }
    for row in &survey.ties {
        found.add_twin(&survey.twins, row.observer, || survey.tie_place(row.row, "observer"));
    }
    for row in &survey.trails {
        found.add_twin(&survey.twins, row.observer, || survey.trail_place(row.row, "observer"));
    }
    for &name in stated {
        let setting = || format!("observer.{}", survey.text(name));
        found.add_twin(&survey.twins, Some(name), || Place::file(FILE).column(&setting()));
    }
    for mention in &mut found.list {
        mention.stated = stated.contains(&mention.name);
    }
    found
}

/// The cells under `heading` in all tables that may divide animals.
fn group_cells(survey: &mut Survey, heading: &str) -> Mentions {
    let mut found = Mentions::default();
    let grids = &survey.grids;
    for grid in [&grids.animals, &grids.trails, &grids.available].into_iter().flatten() {
        let Some(at) = grid.column(heading) else { continue };
        for index in 0..grid.len() {
            let cell = grid.cell(index, at).trim();
            let name = (!cell.is_empty()).then(|| survey.names.enter(cell));
            found.add(name, || grid.place(index, heading));
        }
    }
    found
}

/// The words for each sex that were written, and the word they stand for.
fn sexes(names: &mut Names, written: &Mentions) -> ByName<Name, Name> {
    let mut means = ByName::default();
    for mention in &written.list {
        if let Some(sex) = sex_of(names.text(mention.name)) {
            means.insert(mention.name, names.enter(sex));
        }
    }
    means
}

/// The one spelling of each name that has another: as the settings have it, else as most often
/// written, of equals as written first. Each group is told once, where another spelling stands first.
fn spelled(names: &Names, groups: &[Vec<&Mention>], faults: &mut Faults) -> ByName<Name, Name> {
    let mut spelled = ByName::default();
    for group in groups {
        let better = |a: &&Mention, b: &&Mention| (a.stated, a.count) > (b.stated, b.count);
        let kept =
            group.iter().copied().reduce(|best, one| if better(&one, &best) { one } else { best });
        let Some(kept) = kept else { continue };
        let others: Vec<&Mention> =
            group.iter().copied().filter(|one| one.name != kept.name).collect();
        spelled.extend(others.iter().map(|one| (one.name, kept.name)));
        let Some(first) = others.first() else { continue };
        let words: Vec<&str> = others.iter().map(|one| names.text(one.name)).collect();
        faults
            .note(Code::TakenAsOne, first.place.clone())
            .found(words.join(", "))
            .expected(format!("one spelling: {}", names.text(kept.name)))
            .hint("they are taken as one; the cells stay as written");
    }
    spelled
}

fn respell(survey: &mut Survey, [supports, plants, observers]: [&ByName<Name, Name>; 3]) {
    let set = |cell: &mut Option<Name>, spelled: &ByName<Name, Name>| {
        if let Some(one) = cell.and_then(|name| spelled.get(&name)) {
            *cell = Some(*one);
        }
    };
    for row in &mut survey.anchors {
        set(&mut row.support, supports);
        set(&mut row.leg_support, supports);
        set(&mut row.plant, plants);
        set(&mut row.observer, observers);
    }
    for row in &mut survey.available {
        set(&mut row.support, supports);
        set(&mut row.plant, plants);
    }
    for row in &mut survey.ties {
        set(&mut row.observer, observers);
    }
    for row in &mut survey.trails {
        set(&mut row.observer, observers);
    }
}
