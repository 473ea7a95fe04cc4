//! The tables and settings of a new survey as text, each column and each setting explained.

use super::columns::{Choice, Chosen};
use crate::survey::dictionary::Column;
use crate::survey::settings::SETTINGS;

/// A table without rows: what each column means, then the headings.
pub(super) fn table(chosen: &Chosen, choice: &Choice) -> String {
    let mut text = remark(&format!("{}: {}", chosen.table.name, chosen.table.meaning));
    text += &remark("write below the headings; a blank cell means not measured, never zero");
    for heading in &chosen.headings {
        text += &remark(&format!(
            "{}: {}",
            heading.name,
            meaning(heading.column, &heading.name, choice)
        ));
    }
    let headings: Vec<String> =
        chosen.headings.iter().map(|heading| quoted(&heading.name)).collect();
    text + &headings.join(",") + "\n"
}

/// Why and where a survey by turning angles has one bearing.
const ONE_BEARING: &str = "; turning angles alone give a plan without a north: write the bearing of \
                           one leg into ties";

/// What stands under a heading, in words.
pub(super) fn meaning(column: Option<&Column>, heading: &str, choice: &Choice) -> String {
    let codes = choice.codes_of(heading).map(|words| format!("; here {}", words.join(", ")));
    let codes = codes.unwrap_or_default();
    let north = if heading == "turn_deg" && choice.lacks_north() { ONE_BEARING } else { "" };
    match column {
        Some(column) => {
            let needed = if column.needed { "; every row needs it" } else { "" };
            format!("{} ({}{codes}{needed}){north}", column.meaning, column.kind.accepts())
        }
        None => format!("a factor of this study{codes}"),
    }
}

/// A line of remarks. It is quoted where a spreadsheet would cut it into cells.
fn remark(text: &str) -> String {
    quoted(&format!("# {text}")) + "\n"
}

fn quoted(text: &str) -> String {
    if text.contains([',', ';', '"', '\t']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

/// What a new survey states although its default is none: errors that all readings of an instrument
/// share, which no closure can tell apart from the truth. Each with its value, and whence that is.
const STATED: [(&str, &str, &str); 3] = [
    (
        "common.tape_scale",
        "0.003",
        "0.3 %: what a cloth or fibreglass tape stretches by, wet or pulled hard; common practice, no \
         source. Lay yours along a steel tape",
    ),
    (
        "common.bearing_deg",
        "1",
        "1°: what one compass differs by from another; common practice, no source. Sight one line \
         with all of yours",
    ),
    (
        "common.height_scale",
        "0.02",
        "2 %: what a pole held aslant (2 % at 11°) or a wrong eye level adds to every height; common \
         practice, no source. Measure one height by tape",
    ),
];

/// `survey.toml` with every setting explained and at its default, or stated.
pub(super) fn settings() -> String {
    let mut text = String::from(
        "# The settings of this survey. Each is explained, and stands at its default behind a #.\n\
         # To set one, take away the # directly before its name and write your own value.\n\
         # Those under [common] are stated: a value of your own is better, and 0 allows for none.\n\
         # A word in capitals stands for a name of your own.\n\n",
    );
    let mut section = "";
    for setting in SETTINGS {
        let (table, key) = setting.path.rsplit_once('.').unwrap_or(("", setting.path));
        if table != section {
            let by_name = table.contains(|c: char| c.is_ascii_uppercase());
            text += &format!("{}[{table}]\n", if by_name { "#" } else { "" });
            section = table;
        }
        text += &format!("# {} ({})\n", setting.meaning, setting.accepts());
        let stated = STATED.iter().find(|(path, ..)| *path == setting.path);
        text += &match (stated, setting.default()) {
            (Some((_, value, whence)), _) => format!("# {whence}\n{key} = {value}\n\n"),
            (None, Some(default)) => format!("#{key} = {default}\n\n"),
            (None, None) => format!("#{key} =\n\n"),
        };
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::settings::{FILE, read};

    #[test]
    fn new_settings_change_nothing_but_what_is_stated_with_or_without_their_marks() {
        let plain = settings();
        let (as_new, faults) = read(FILE, &plain, &[]);
        assert!(faults.is_empty(), "{:?}", faults.sorted());
        let mut taken = 0;
        let unmarked: Vec<&str> = plain
            .lines()
            .map(|line| {
                let setting = line.strip_prefix('#').filter(|rest| !rest.starts_with([' ', '[']));
                let stated = setting.filter(|rest| !rest.ends_with('=') && !rest.contains("NAME"));
                taken += usize::from(stated.is_some());
                stated.unwrap_or(line)
            })
            .collect();
        assert!(taken > 25, "{taken}");
        let text = unmarked.join("\n").replace("#[observer.NAME]", "[observer.Ana]");
        let (set, faults) = read(FILE, &text, &[]);
        assert!(faults.is_empty(), "{:?}\n{text}", faults.sorted());
        assert_eq!(format!("{:?}", as_new.precision), format!("{:?}", set.precision));
        let common = as_new.precision.common;
        let stated = [common.tape_scale, common.bearing_deg, common.height_scale];
        assert_eq!(format!("{stated:?}"), "[0.003, 1.0, 0.02]");
        assert_eq!(as_new.limit_unpacked_bytes, set.limit_unpacked_bytes);
        for setting in SETTINGS {
            let key = setting.path.rsplit('.').next().unwrap();
            let is_stated = STATED.iter().any(|(path, ..)| *path == setting.path);
            let mark = if is_stated { "" } else { "#" };
            assert!(plain.contains(&format!("\n{mark}{key} =")), "{key}");
        }
    }
}
