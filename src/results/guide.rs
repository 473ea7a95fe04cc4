//! The README of an archive: for whoever reads the data without having been there.

use super::Analysis;
use super::findings::verdict::Verdict;
use super::hiding::{Hidden, SITE_DECIMALS};
use super::tables::Table;
use crate::maths::quantity::{count_of, plain};
use crate::survey::dictionary::TABLES;
use crate::survey::settings::written;

/// What an archive says of itself.
#[derive(Clone, Copy)]
pub struct Guide<'a> {
    /// The survey, computed.
    pub analysis: &'a Analysis,
    /// Its result tables.
    pub tables: &'a [Table],
    /// The files of its inputs.
    pub inputs: &'a [String],
    /// What was taken out of it, where its place is hidden.
    pub hidden: Option<&'a Hidden>,
    /// The version of the program.
    pub version: &'a str,
}

/// Words of the tables, with what each means.
const WORDS: [(&str, &str); 16] = [
    ("survey", "the data of one study"),
    ("trail", "one thread, as it unwound behind one animal"),
    ("anchor", "a marked point of a trail, where it turns, steepens or changes support"),
    ("leg", "the straight piece between two anchors"),
    ("tie", "an extra measured line that checks a trail"),
    ("control", "a point of known position"),
    ("support", "what the thread lies on"),
    ("section", "from one place the animal was seen to the next: one night"),
    ("escape run", "the stretch after release, which says more of the handling than of the animal"),
    ("part", "whole, or after_escape: the same without the escape run"),
    ("bout", "a stretch above the ground or on it"),
    ("height", "metres above the ground beneath"),
    ("elevation, up", "metres above the sea, or above the ground at the origin"),
    (
        "shape, orientation, place",
        "what is known of a trail's plan, one by one: how its legs lie to each other, where north is, \
         where it lies on the map; without a north it is laid from its release upward, with the \
         farthest point straight up, so that north_m of such a trail is not north",
    ),
    ("closure", "how far a loop or tie misses, against what the instruments lead one to expect"),
    ("at least", "a bound: the true value may be greater, since some of the way was not seen"),
];

/// The text, as Markdown.
pub fn guide(guide: &Guide<'_>) -> String {
    [head(guide), contents(guide), place(guide), words(), results(guide), settings(guide)].concat()
}

fn head(guide: &Guide<'_>) -> String {
    let s = &guide.analysis.survey.settings;
    let mut text = format!(
        "# {}\n\nPaths of climbing animals, rebuilt from the thread they trailed behind them by \
         Perchline {}.\n\n",
        s.name.as_deref().unwrap_or("A survey without a name"),
        guide.version
    );
    let date = s.date.map(|date| date.to_string());
    let stated = [("Site", &s.site), ("Date", &date), ("Permit", &s.permit)];
    for (what, value) in stated {
        if let Some(value) = value {
            text += &format!("- {what}: {value}\n");
        }
    }
    text += &format!("- Trust: {}\n", Verdict::of(guide.analysis).sentence());
    let none = "none was stated; ask those who made the data before you use them";
    text + &format!("- Licence: {}\n", s.licence.as_deref().unwrap_or(none))
}

fn contents(guide: &Guide<'_>) -> String {
    let how = match guide.hidden {
        None => "what was measured, byte for byte as it was written",
        Some(_) => "what was measured, without its place on the globe (see below)",
    };
    let mut text = format!(
        "\n## What is here\n\n- `inputs/`: {how}\n- `results/`: what was computed from it; \
         `methods.md` says how, `report.html` shows it\n- `csv-metadata.json`: every column of \
         every result table with its unit and meaning, for machines (W3C CSV on the Web)\n- \
         `SHA256SUMS`: a checksum of every other file; `sha256sum --check SHA256SUMS` compares them\n\n"
    );
    for input in guide.inputs {
        let meaning = TABLES.iter().find(|table| format!("{}.csv", table.name) == *input);
        let meaning = meaning.map_or(String::new(), |table| format!(": {}", table.meaning));
        text += &format!("- `inputs/{input}`{meaning}\n");
    }
    text + "\nA blank cell means not measured or not defined, never zero. The unit is the end of a \
            column's name: `_m` metres, `_cm` centimetres, `_g` grams, `_deg` degrees. Tables are \
            separated by commas and in UTF-8.\n"
}

fn place(guide: &Guide<'_>) -> String {
    let Some(hidden) = guide.hidden else { return String::new() };
    let origin = guide.analysis.network.frame.map(|frame| frame.origin());
    let near = origin.map_or("is not known".to_owned(), |origin| {
        let [north, east] = [origin.latitude.to_degrees(), origin.longitude.to_degrees()]
            .map(|degrees| plain(degrees, SITE_DECIMALS));
        format!("lies near latitude {north}, longitude {east}, rounded to about ten kilometres")
    });
    let mut text = format!(
        "\n## Where it was\n\nThe place is hidden to protect the animals. The origin {near}. All \
         coordinates are metres east and north of it; controls bear them instead of their latitude \
         and longitude. Anchors that had positions of their own have lost them, the declination is \
         rounded to a tenth of a degree, and a raster of the ground is left out, so that the \
         results, which were computed before, cannot be had again to the last digit. Elevations are as they were.\n\n"
    );
    for (what, gone) in
        [("columns", &hidden.columns), ("texts, which may have told", &hidden.texts)]
    {
        if !gone.is_empty() {
            text += &format!("Left out, {what}: {}.\n", gone.join("; "));
        }
    }
    text
}

fn words() -> String {
    let word = |(word, meaning): &(&str, &str)| format!("- **{word}**: {meaning}\n");
    format!("\n## Words\n\n{}", WORDS.iter().map(word).collect::<String>())
}

fn results(guide: &Guide<'_>) -> String {
    let mut text = "\n## Result tables\n".to_owned();
    for table in guide.tables {
        text += &format!(
            "\n### `results/{}.csv`\n\nOne row: {}. {}.\n\n| column | unit | meaning |\n|---|---|---|\n",
            table.name,
            table.meaning,
            count_of(table.columns.len(), "column"),
        );
        for column in &table.columns {
            let cell = |text: &str| text.replace('|', "\\|");
            text += &format!(
                "| {} | {} | {} |\n",
                cell(&column.name),
                column.unit,
                cell(&column.meaning)
            );
        }
    }
    text
}

fn settings(guide: &Guide<'_>) -> String {
    let wanted = &guide.analysis.wanted;
    format!(
        "\n## Settings\n\nComputed by the method {} with {} draws from seed {}. Settings that are \
         not at their default:\n\n```toml\n{}```\n",
        wanted.method.name(),
        wanted.draws,
        wanted.seed,
        written(&guide.analysis.survey.settings, &["columns."]),
    )
}
