//! The raster of the ground that the settings name.

use super::disk::{ReadError, metadata_of, read_text, read_up_to};
use super::folder::{Folder, count_of_bytes};
use crate::survey::elevations::ElevationRaster;
use crate::survey::fault::{Code, Place};
use crate::survey::input::raster;
use crate::survey::settings::{self, GroundModel, Settings};
use std::fs::Metadata;

impl Folder<'_> {
    /// The raster of the ground, if the settings ask for one and it can be used.
    pub(super) fn elevations(
        &mut self,
        settings: &Settings,
    ) -> Result<Option<ElevationRaster>, ReadError> {
        if settings.ground != GroundModel::Raster {
            return Ok(None);
        }
        let mut refuse = |found: String, expected: &str, hint: &str| {
            let place = Place::file(settings::FILE).column("ground.file");
            let fault = self.faults.error(Code::UnusableRaster, place);
            fault.found(found).expected(expected).hint(hint);
            Ok(None)
        };
        let Some(file) = &settings.ground_file else {
            let hint = "set file under [ground]; the path starts at the folder of the survey";
            return refuse("no name of a raster".into(), "the name of its file", hint);
        };
        let path = self.path.join(file);
        let Some(metadata) = metadata_of(&path)?.filter(Metadata::is_file) else {
            let hint = "check the spelling; the path starts at the folder of the survey";
            return refuse(format!("no file {file}"), raster::EXPECTED, hint);
        };
        let limit = raster::LONGEST;
        let read = if metadata.len() > limit { Ok(None) } else { read_up_to(&path, limit) };
        let bytes = match read {
            Err(error) if error.is_refusal() => {
                let found = format!("{file}, which may not be read");
                return refuse(found, raster::EXPECTED, "change its permissions");
            }
            bytes => bytes?,
        };
        let Some(bytes) = bytes else {
            let found = format!("{file} of {}", count_of_bytes(metadata.len()));
            let hint = "cut it down to the surroundings of the survey";
            return refuse(found, "at most 128 MB", hint);
        };
        let prj = read_text(&path.with_extension("prj")).ok();
        match raster::read(bytes, prj.as_deref()) {
            Ok(raster) => Ok(Some(raster)),
            Err(why) => refuse(format!("{file}: {}", why.found), why.expected, why.hint),
        }
    }
}
