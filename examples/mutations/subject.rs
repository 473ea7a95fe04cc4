//! What is spoilt, and how each of it is tried.

use super::books::{Parts, spoilt_workbook, workbook, workbooks};
use super::commands::{Vocabulary, around};
use super::grids::spoilt_raster;
use super::settings::with_settings;
use super::spoil::{Files, spoilt};
use super::trial::{Ended, Trial};
use std::ffi::OsString;
use std::io;

/// What can be spoilt by the number.
pub(crate) enum Subject {
    Surveys(Files),
    Settings(Files),
    Workbooks([Parts; 2]),
    Rasters,
    Commands(Files, Vocabulary),
}

/// One thing that is spoilt.
pub(crate) struct Spoilt {
    pub(crate) files: Files,
    /// What was done to it.
    pub(crate) how: Vec<String>,
    /// What is typed; a rebuild where it is nothing.
    typed: Option<Vec<OsString>>,
}

impl Subject {
    /// The subject of this name, from a sound survey.
    pub(crate) fn named(name: &str, sound: &Files) -> io::Result<Self> {
        Ok(match name {
            "surveys" => Self::Surveys(sound.clone()),
            "settings" => Self::Settings(sound.clone()),
            "workbooks" => Self::Workbooks(workbooks(sound)?),
            "rasters" => Self::Rasters,
            "commands" => {
                Self::Commands(around(sound, workbook(&workbooks(sound)?)?), Vocabulary::new())
            }
            _ => {
                let known = "surveys, settings, workbooks, rasters or commands";
                return Err(io::Error::other(format!("{known}, not {name}")));
            }
        })
    }

    /// What this number makes of it.
    pub(crate) fn spoilt(&self, number: u64) -> io::Result<Spoilt> {
        let (files, how) = match self {
            Self::Surveys(sound) => spoilt(sound, number),
            Self::Settings(sound) => with_settings(sound, number),
            Self::Workbooks(sound) => spoilt_workbook(sound, number)?,
            Self::Rasters => spoilt_raster(number),
            Self::Commands(around, vocabulary) => {
                let typed = vocabulary.typed(number);
                let told = |word: &OsString| word.to_string_lossy().chars().take(80).collect();
                let how = typed.iter().map(told).collect();
                return Ok(Spoilt { files: around.clone(), how, typed: Some(typed) });
            }
        };
        Ok(Spoilt { files, how, typed: None })
    }
}

impl Spoilt {
    /// What is wrong with how the program ends on it.
    pub(crate) fn tried(&self, trial: &Trial<'_>) -> io::Result<Result<Ended, String>> {
        match &self.typed {
            Some(typed) => trial.command(&self.files, typed),
            None => trial.rebuild(&self.files),
        }
    }
}
