//! Which columns a new survey has, and the codes of the study: what was asked for, checked.

use crate::survey::dictionary::{ANCHORS, Column, InputTable, Kind, SUPPORTS, TABLES, TIES};
use crate::survey::nearest;
use std::collections::BTreeMap;

/// The columns by which a leg has a bearing, each in its unit.
const BEARINGS: [&str; 3] = ["bearing_deg", "bearing_gon", "bearing_point"];

/// A heading of a new table.
#[derive(Clone, Debug)]
pub struct Heading {
    /// The heading.
    pub name: String,
    /// What the dictionary has under it; a factor of the study has none.
    pub column: Option<&'static Column>,
}

/// A table with the headings it is to have.
#[derive(Clone, Debug)]
pub struct Chosen {
    /// The table.
    pub table: &'static InputTable,
    /// Its headings, in the order of the dictionary, factors of the study last.
    pub headings: Vec<Heading>,
}

impl Chosen {
    /// Whether it has this heading.
    pub fn has(&self, name: &str) -> bool {
        self.headings.iter().any(|heading| heading.name == name)
    }

    /// Whether its legs have turning angles and no bearing, so that one bearing is wanted.
    pub(super) fn lacks_north(&self) -> bool {
        self.has("turn_deg") && !BEARINGS.iter().any(|name| self.has(name))
    }
}

/// What a new survey is to have.
#[derive(Clone, Debug)]
pub struct Choice {
    /// All tables.
    pub tables: Vec<Chosen>,
    /// The words of the study, by heading.
    pub codes: BTreeMap<String, Vec<String>>,
}

/// One column that was asked for, or asked away.
struct Asked<'a> {
    away: bool,
    /// Whether it only changes the usual columns.
    signed: bool,
    table: &'a str,
    name: &'a str,
}

impl Choice {
    /// The usual columns, changed by `columns`: each is a heading of the anchors, or
    /// `table.heading`. With + or - in front it changes what is usual for its table; without, it is
    /// one of those that the table is to have. `codes` are `heading=word,word`.
    ///
    /// # Errors
    /// Everything that cannot be had, each in a sentence.
    pub fn new(columns: &[String], codes: &[String]) -> Result<Self, Vec<String>> {
        let mut wrong = Vec::new();
        let asked: Vec<Asked<'_>> = columns.iter().map(|text| Asked::new(text.trim())).collect();
        for one in &asked {
            wrong.extend(one.judged());
        }
        let mut tables: Vec<Chosen> =
            TABLES.into_iter().map(|table| chosen(table, &asked)).collect();
        if !asked.iter().any(|one| one.table == TIES.name) {
            follow_anchors(&mut tables);
        }
        let mut choice = Self { tables, codes: BTreeMap::new() };
        if choice.tables.iter().any(|chosen| chosen.has("support")) {
            let supports = SUPPORTS.iter().map(|word| (*word).to_owned());
            choice.codes.insert("support".into(), supports.collect());
        }
        for text in codes {
            wrong.extend(choice.take_codes(text).err());
        }
        if wrong.is_empty() { Ok(choice) } else { Err(wrong) }
    }

    /// The words of the study for a heading. What a leg lies on is called as what an anchor is on.
    pub fn codes_of(&self, heading: &str) -> Option<&[String]> {
        let own = self.codes.get(heading);
        let shared = || (heading == "leg_support").then(|| self.codes.get("support")).flatten();
        own.or_else(shared).map(Vec::as_slice)
    }

    /// Whether the anchors have turning angles and no bearing.
    pub(super) fn lacks_north(&self) -> bool {
        self.table(ANCHORS.name).is_some_and(Chosen::lacks_north)
    }

    /// The table of this name.
    pub(super) fn table(&self, name: &str) -> Option<&Chosen> {
        self.tables.iter().find(|chosen| chosen.table.name == name)
    }

    fn take_codes(&mut self, text: &str) -> Result<(), String> {
        let (heading, words) =
            text.split_once('=').ok_or(format!("--codes wants HEADING=WORD,WORD, not {text}"))?;
        let heading = heading.trim();
        let headings = self.tables.iter().flat_map(|chosen| &chosen.headings);
        let found = headings.clone().find(|known| known.name == heading);
        let found = found.ok_or_else(|| {
            let near = nearest(heading, headings.map(|known| known.name.as_str()));
            format!("no column {heading}{}", guess(near))
        })?;
        let free = |kind| matches!(kind, Kind::Name | Kind::Text);
        if found.column.is_some_and(|column| !free(column.kind)) {
            return Err(format!("{heading} takes no codes: its words are fixed"));
        }
        let words = words.split(',').map(str::trim).filter(|word| !word.is_empty());
        let words: Vec<String> = words.map(str::to_owned).collect();
        if words.is_empty() || words.iter().any(|word| word.chars().any(char::is_control)) {
            return Err(format!("--codes {heading} wants at least one word"));
        }
        self.codes.insert(heading.to_owned(), words);
        Ok(())
    }
}

impl<'a> Asked<'a> {
    fn new(text: &'a str) -> Self {
        let away = text.starts_with('-');
        let signed = away || text.starts_with('+');
        let path = if signed { text.get(1..).unwrap_or("") } else { text };
        let (table, name) = path.split_once('.').unwrap_or((ANCHORS.name, path));
        Self { away, signed, table, name }
    }

    /// What is wrong with it.
    fn judged(&self) -> Option<String> {
        let Self { table, name, .. } = self;
        let Some(known) = TABLES.into_iter().find(|known| known.name == *table) else {
            let near = nearest(table, TABLES.iter().map(|known| known.name));
            return Some(format!("no table {table}{}", guess(near)));
        };
        match known.column(name) {
            Some(column) if self.away && column.needed => {
                Some(format!("{table} cannot do without {name}"))
            }
            Some(_) => None,
            None => {
                let near = nearest(name, known.columns.iter().map(|column| column.heading));
                let factors = ["trails", "animals", "available"].contains(table);
                let odd = name.trim().is_empty() || name.chars().any(char::is_control);
                let wrong = odd || self.away || near.is_some() || !factors;
                wrong.then(|| format!("no column {name} in {table}{}", guess(near)))
            }
        }
    }
}

fn guess(near: Option<&str>) -> String {
    near.map_or_else(String::new, |near| format!("; did you mean {near}?"))
}

fn chosen(table: &'static InputTable, asked: &[Asked<'_>]) -> Chosen {
    let of_table = || asked.iter().filter(|one| one.table == table.name);
    let listed = of_table().any(|one| !one.signed);
    let asked_for = |name: &str| of_table().rev().find(|one| one.name == name).map(|one| !one.away);
    let wanted = |column: &&Column| {
        let unless_asked = column.needed || column.usual && !listed;
        asked_for(column.heading).unwrap_or(unless_asked)
    };
    // a needle that is not read forward is not read back either
    let forward = table.columns.iter().filter(wanted).any(|c| BEARINGS.contains(&c.heading));
    let back = |column: &&Column| {
        column.heading != "back_bearing_deg" || forward || asked_for(column.heading) == Some(true)
    };
    let known = table.columns.iter().filter(wanted).filter(back);
    let known = known.map(|column| Heading { name: column.heading.into(), column: Some(column) });
    let mut headings: Vec<Heading> = known.collect();
    for one in of_table().filter(|one| !one.away && table.column(one.name).is_none()) {
        if !headings.iter().any(|heading| heading.name == one.name) {
            headings.push(Heading { name: one.name.into(), column: None });
        }
    }
    Chosen { table, headings }
}

/// A tie is measured with the instruments of the anchors.
fn follow_anchors(tables: &mut [Chosen]) {
    let Some(anchors) = tables.iter().find(|chosen| chosen.table.name == ANCHORS.name) else {
        return;
    };
    let heights = anchors.has("height_m") || anchors.has("height_ft");
    let measured: Vec<bool> = TIES
        .columns
        .iter()
        .map(|column| match column.heading {
            "rise_m" => heights,
            "observer" => true,
            "bearing_deg" => anchors.has("bearing_deg") || anchors.lacks_north(),
            name => column.needed || anchors.has(name),
        })
        .collect();
    if let Some(ties) = tables.iter_mut().find(|chosen| chosen.table.name == TIES.name) {
        let kept = TIES.columns.iter().zip(measured).filter(|(_, kept)| *kept);
        let heading =
            |column: &'static Column| Heading { name: column.heading.into(), column: Some(column) };
        ties.headings = kept.map(|(column, _)| heading(column)).collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn choice(columns: &str, codes: &[&str]) -> Result<Choice, Vec<String>> {
        let columns: Vec<String> =
            columns.split(',').filter(|c| !c.is_empty()).map(str::to_owned).collect();
        let codes: Vec<String> = codes.iter().map(|code| (*code).to_owned()).collect();
        Choice::new(&columns, &codes)
    }

    fn names(choice: &Choice, table: &str) -> String {
        let headings = &choice.table(table).unwrap().headings;
        headings.iter().map(|heading| heading.name.as_str()).collect::<Vec<_>>().join(",")
    }

    #[test]
    fn a_list_replaces_the_usual_columns_and_signs_change_them() {
        let listed = choice("height_ft,tape_ft,animals.season", &[]).unwrap();
        assert_eq!(names(&listed, "anchors"), "trail,anchor,tape_ft,height_ft");
        assert_eq!(names(&listed, "ties"), "trail,from,to,tape_ft,rise_m,observer");
        assert_eq!(names(&listed, "animals"), "animal,season");
        let signed = choice("+plant,-from,+trails.rain_mm", &[]).unwrap();
        assert!(names(&signed, "anchors").contains("support,plant,tree"));
        assert!(!names(&signed, "anchors").contains("from"));
        assert!(names(&signed, "trails").ends_with("note,rain_mm"));
        assert!(names(&signed, "ties").contains("from,to,tape_m,bearing_deg,back_bearing_deg"));
    }

    #[test]
    fn turning_angles_in_place_of_bearings_leave_room_for_one_bearing() {
        let turns = choice("+turn_deg,-bearing_deg", &[]).unwrap();
        assert!(names(&turns, "anchors").contains("tape_m,turn_deg,height_m"));
        assert!(!names(&turns, "anchors").contains("bearing"));
        assert_eq!(names(&turns, "ties"), "trail,from,to,tape_m,bearing_deg,rise_m,observer");
        assert!(turns.lacks_north());
        assert!(!choice("+turn_deg", &[]).unwrap().lacks_north());
        let asked = choice("+turn_deg,-bearing_deg,+back_bearing_deg", &[]).unwrap();
        assert!(names(&asked, "anchors").contains("back_bearing_deg"));
        let wrong = choice("+turn_dec,-bearing_deg", &[]).unwrap_err().join("");
        assert_eq!(wrong, "no column turn_dec in anchors; did you mean turn_deg?");
    }

    #[test]
    fn everything_that_cannot_be_had_is_told_at_once() {
        let wrong = choice("tape,bearing_dec,-trail,-rain,tails.x,moon", &["gap=a", "x", "sup=a"]);
        let wrong = wrong.unwrap_err().join("\n");
        for said in [
            "no column bearing_dec in anchors; did you mean bearing_deg?",
            "anchors cannot do without trail",
            "no column rain in anchors",
            "no table tails; did you mean trails?",
            "no column moon in anchors",
            "no column gap",
            "--codes wants HEADING=WORD,WORD, not x",
            "no column sup",
        ] {
            assert!(wrong.contains(said), "{said}: {wrong}");
        }
        assert!(choice("", &["gap=lost"]).unwrap_err()[0].contains("fixed"));
    }

    #[test]
    fn codes_of_supports_hold_for_legs_as_well() {
        let own = choice("+leg_support", &["support=log, liana"]).unwrap();
        assert_eq!(own.codes_of("leg_support").unwrap(), ["log", "liana"]);
        assert_eq!(choice("", &[]).unwrap().codes_of("support").unwrap().len(), SUPPORTS.len());
        assert!(choice("tape_m", &[]).unwrap().codes_of("plant").is_none());
    }
}
