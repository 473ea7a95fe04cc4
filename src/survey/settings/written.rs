//! Settings as a `survey.toml` that says the same, one dotted line for each that is not at its
//! default.

use super::{SETTINGS, Setting, Settings};
use toml::Value;

/// The lines of all settings but those whose path begins with one of `left_out`.
pub fn written(settings: &Settings, left_out: &[&str]) -> String {
    let kept = |setting: &&Setting| !left_out.iter().any(|start| setting.path.starts_with(start));
    let mut own = settings.clone();
    let mut text = String::new();
    for setting in SETTINGS.iter().filter(kept) {
        for name in names(setting, settings) {
            let value = setting.value_in(&mut own, &name);
            if let Some(value) = value.filter(|value| Some(value) != setting.default().as_ref()) {
                text += &format!("{} = {value}\n", setting.path_of(&quoted(&name)));
            }
        }
    }
    text
}

/// The names that the setting's path takes in `settings`; one blank one for a path without a name.
fn names(setting: &Setting, settings: &Settings) -> Vec<String> {
    let keys = |path: &str| -> Option<Vec<String>> {
        match path.split('.').next()? {
            "observer" => Some(settings.observers.keys().cloned().collect()),
            "columns" => Some(settings.columns.keys().cloned().collect()),
            "places" => Some(settings.places.keys().cloned().collect()),
            "words" => Some(settings.words.keys().cloned().collect()),
            "precision" if path.contains("METHOD") => {
                Some(settings.precision.height_by.keys().cloned().collect())
            }
            _ => None,
        }
    };
    keys(setting.path).unwrap_or_else(|| vec![String::new()])
}

/// A name as a key.
fn quoted(name: &str) -> String {
    if name.chars().all(|c| c.is_ascii_alphanumeric()) {
        name.to_owned()
    } else {
        Value::from(name).to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::super::{FILE, read};
    use super::*;

    #[test]
    fn what_is_written_is_read_as_the_same_settings() {
        let text = "name = 'A \"b\"'\ndate = 2025-09-06\nlicence = 'CC0-1.0'\n\
                    bearings.declination = 4.5\nstrata.edges_m = [1, 2]\n[origin]\nlatitude = 46.1\n\
                    [precision.height_by.eye]\nheight_m = 0.2\n[observer.\"O.J.\"]\nbearing_deg = -1.5\n\
                    [columns]\ntape_m = 'trak'\n";
        let (settings, faults) = read(FILE, text, &[]);
        assert!(faults.is_empty(), "{:?}", faults.sorted());
        let again = written(&settings, &[]);
        let (same, faults) = read(FILE, &again, &[]);
        assert!(faults.is_empty(), "{:?}\n{again}", faults.sorted());
        assert_eq!(format!("{settings:?}"), format!("{same:?}"), "{again}");
        let without = written(&settings, &["origin.", "columns."]);
        assert!(!without.contains("46.1") && !without.contains("trak"), "{without}");
        assert_eq!(written(&Settings::default(), &[]), "");
    }
}
