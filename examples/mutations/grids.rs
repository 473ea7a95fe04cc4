//! Rasters of elevations spoilt by what they are made of: the heading of a grid of text here, the
//! entries of a TIFF's directory in `tiffs`. By number, as surveys are.

use super::dice::Dice;
use super::spoil::Files;
use super::tiffs::spoilt_tiff;

const ANCHORS: &str = "trail,anchor,tape_m,bearing_deg,height_m\nA,R,,,1.0\nA,1,12.3,40,0.2\n\
                       A,2,14.2,95,0.4\nA,3,2.8,,3.1\nA,4,9.7,170,0.3\n";
const CONTROLS: &str = "control,latitude,longitude,elevation_m\nR,46.1,14.9,612\n";

/// Cells a side, and a cell in degrees: some 80 m.
pub(crate) const SIDE: u32 = 16;
pub(crate) const CELL: f64 = 0.001;
/// The south-western corner, so that the release lies in the middle.
pub(crate) const WEST: f64 = 14.892;
pub(crate) const SOUTH: f64 = 46.092;

/// What stands where a number of the heading or an elevation should.
const WORDS: [&str; 22] = [
    "0",
    "-1",
    "1",
    "2",
    "1e9",
    "1e308",
    "-1e308",
    "1e-320",
    "1e999",
    "nan",
    "inf",
    "-9999",
    "16.5",
    "612,5",
    "0x10",
    "x",
    "ncols",
    "NODATA_value",
    "é",
    "9999999999999999999999",
    "180",
    "90",
];

/// The names of reference systems.
const SYSTEMS: [&str; 9] = [
    "GEOGCS[\"GCS_WGS_1984\"]",
    "GEOGCS[\"GCS_WGS_1984\"]",
    "PROJCS[\"WGS_1984_UTM_Zone_33N\"]",
    "PROJCS[\"WGS_1984_UTM_Zone_0N\"]",
    "PROJCS[\"WGS_1984_UTM_Zone_61S\"]",
    "GEOGCS[\"\"]",
    "\"",
    "",
    "é山",
];

/// A survey on a raster that is spoilt, and how.
pub(crate) fn spoilt_raster(number: u64) -> (Files, Vec<String>) {
    let mut dice = Dice::of(number);
    let (raster, how, system) = if dice.below(3) == 0 {
        let (text, how) = dice.grid();
        (text.into_bytes(), how, dice.one(&SYSTEMS))
    } else {
        let (bytes, how) = spoilt_tiff(&mut dice);
        (bytes, how, SYSTEMS[0])
    };
    let settings = "[bearings]\nnorth = \"true\"\n[ground]\nmodel = \"raster\"\nfile = \"g.asc\"\n";
    let files = [
        ("anchors.csv", ANCHORS.into()),
        ("controls.csv", CONTROLS.into()),
        ("survey.toml", settings.into()),
        ("g.prj", system.into()),
        ("g.asc", raster),
    ];
    (files.map(|(name, bytes)| (name.to_owned(), bytes)).into(), how)
}

/// The elevation of each cell: a plane.
pub(crate) fn elevations() -> impl Iterator<Item = f32> {
    (0_u16..).take((SIDE * SIDE) as usize).map(|at| 600.0 + f32::from(at % 16) * 2.0)
}

impl Dice {
    fn grid(&mut self) -> (String, Vec<String>) {
        let mut heading: Vec<(String, String)> = [
            ("ncols", SIDE.to_string()),
            ("nrows", SIDE.to_string()),
            ("xllcorner", WEST.to_string()),
            ("yllcorner", SOUTH.to_string()),
            ("cellsize", CELL.to_string()),
            ("NODATA_value", "-9999".to_owned()),
        ]
        .map(|(name, value)| (name.to_owned(), value))
        .into();
        let mut cells: Vec<String> = elevations().map(|z| z.to_string()).collect();
        let mut how = Vec::new();
        for _ in 0..self.below(4) {
            let (at, cell) = (self.below(heading.len()), self.below(cells.len()));
            let word = self.one(&WORDS).to_owned();
            how.push(match self.below(7) {
                0 if heading.len() > 1 => format!("without {:?}", heading.remove(at)),
                1 => {
                    let (name, _) = heading[at].clone();
                    heading.push((name.clone(), word.clone()));
                    format!("{name} again: {word}")
                }
                2 => {
                    let names = ["dx", "dy", "xllcenter", "yllcenter", "d", "nothing"];
                    let name = self.one(&names).to_owned();
                    heading.push((name.clone(), word.clone()));
                    format!("{name} {word}")
                }
                3 => {
                    cells.truncate(cell);
                    format!("cut at cell {cell}")
                }
                4 if !cells.is_empty() => {
                    cells[cell].clone_from(&word);
                    format!("cell {cell}: {word}")
                }
                _ => {
                    heading[at].1.clone_from(&word);
                    format!("{}: {word}", heading[at].0)
                }
            });
        }
        let lines: Vec<String> =
            heading.iter().map(|(name, value)| format!("{name} {value}")).collect();
        (lines.join("\n") + "\n" + &cells.join(" "), how)
    }
}
