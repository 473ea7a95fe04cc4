//! A made-up survey with known truth.

use super::dice::Dice;
use super::measure::{Instruments, Writing, Written};
use super::slips::plant;
use super::ties::tie_ends;
use super::truth::{Habit, Mark, leg_support, walk};
use crate::adjustment::slip::Slip;
use crate::survey::grid::Grid;
use crate::survey::settings::{self, FILE, Precision};
use crate::survey::{Grids, Survey, read_tables};

pub use super::slips::Planted;

/// What is to be made up.
#[derive(Clone, Debug)]
pub struct Wish {
    /// How the animals move.
    pub habit: Habit,
    /// How many trails.
    pub trails: usize,
    /// Anchors a trail.
    pub anchors: usize,
    /// Ties a trail.
    pub ties: usize,
    /// One slip of each sort a trail.
    pub slips: Vec<Slip>,
    /// Whether each leg's incline is read too.
    pub clinometer: bool,
    /// The precisions of the instruments.
    pub precision: Precision,
    /// How readings are written.
    pub writing: Writing,
    /// What the random numbers begin with.
    pub seed: u64,
}

/// One row of a field sheet.
#[derive(Clone, Debug)]
pub struct SheetRow {
    /// Blank for the row above.
    pub from: String,
    /// The leg to the anchor; blank for the release.
    pub leg: Written,
    /// Height above ground, metres.
    pub height: String,
}

/// One tie of a field sheet.
#[derive(Clone, Debug)]
pub struct SheetTie {
    /// The rows of its ends.
    pub ends: [usize; 2],
    /// What was read.
    pub line: Written,
    /// The needle read back from the far end, degrees.
    pub back: String,
}

/// The field sheet of one trail; its anchors are numbered from 1.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The trail's name.
    pub trail: String,
    /// What is true.
    pub truth: Vec<Mark>,
    /// One row an anchor.
    pub rows: Vec<SheetRow>,
    /// Its ties.
    pub ties: Vec<SheetTie>,
    /// The slips that were put in.
    pub planted: Vec<Planted>,
}

/// A table as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MadeTable {
    /// The stem of its file.
    pub name: &'static str,
    /// Its headings.
    pub headings: &'static [&'static str],
    /// Its rows, a cell for each heading.
    pub rows: Vec<Vec<String>>,
}

/// A made-up survey.
#[derive(Clone, Debug)]
pub struct Made {
    /// One field sheet a trail.
    pub sheets: Vec<Sheet>,
    /// The text of `survey.toml`.
    pub settings: String,
}

/// Makes a survey up.
pub fn simulate(wish: &Wish) -> Made {
    let sheet = |at: usize| {
        let mut dice = Dice::new(wish.seed, at as u64 + 1);
        let truth = walk(wish.habit, wish.anchors, &wish.precision, &mut dice);
        let ends = tie_ends(&truth, wish.ties, &wish.precision);
        let mut sheet = measured(wish, format!("S{:02}", at + 1), truth, &ends, &mut dice);
        for &slip in &wish.slips {
            let _planted = plant(&mut sheet, slip, &mut dice);
        }
        sheet
    };
    Made { sheets: (0..wish.trails).map(sheet).collect(), settings: settings_text(wish) }
}

/// The sheet of a true path, read with the instruments of `wish`.
pub fn measured(
    wish: &Wish,
    trail: String,
    truth: Vec<Mark>,
    ends: &[[usize; 2]],
    dice: &mut Dice,
) -> Sheet {
    let Wish { precision, clinometer, writing, .. } = wish;
    let instruments = Instruments { precision, clinometer: *clinometer, writing: *writing };
    let row = |at: usize| {
        let height = instruments.height(&truth[at], dice);
        let leg = match at.checked_sub(1) {
            Some(before) => instruments.leg([&truth[before], &truth[at]], dice),
            None => Written::default(),
        };
        SheetRow { from: String::new(), leg, height }
    };
    let rows = (0..truth.len()).map(row).collect();
    let tie = |&ends: &[usize; 2]| {
        let [line, back] = instruments.there_and_back(ends.map(|end| &truth[end]), dice);
        let back = back.bearing;
        SheetTie { ends, line, back }
    };
    let ties = ends.iter().map(tie).collect();
    Sheet { trail, truth, rows, ties, planted: Vec::new() }
}

pub(super) fn settings_text(wish: &Wish) -> String {
    let p = &wish.precision;
    format!(
        "# A made-up survey: the animals, the wood and every reading are invented.\n\
         # The truth stands in truth.csv.\n\
         name = \"A made-up survey (seed {})\"\n\
         marked_when = \"at every change of direction, steepness or support\"\n\n\
         [bearings]\nnorth = \"true\"\n\n\
         [precision]\ntape_m = {}\ntape_per_m = {}\nbearing_deg = {}\nincline_deg = {}\n\
         height_m = {}\nheight_per_m = {}\nanchor_m = {}\nplumb_m = {}\nground_m = {}\n",
        wish.seed,
        p.tape_m,
        p.tape_per_m,
        p.bearing_deg,
        p.incline_deg,
        p.height_m,
        p.height_per_m,
        p.anchor_m,
        p.plumb_m,
        p.ground_m,
    )
}

impl Made {
    /// The tables that a survey reads.
    pub fn tables(&self) -> Vec<MadeTable> {
        let mut tables = vec![self.anchors()];
        if self.sheets.iter().any(|sheet| !sheet.ties.is_empty()) {
            tables.push(self.ties());
        }
        tables.push(self.trails());
        tables
    }

    /// The survey as it would be read.
    pub fn survey(&self) -> Survey {
        let grid = |table: &MadeTable| {
            let headings = table.headings.iter().map(|&heading| heading.into()).collect();
            let mut grid = Grid::new(&format!("{}.csv", table.name), headings, 1);
            for (at, row) in table.rows.iter().enumerate() {
                grid.push(at + 2, row.iter().map(String::as_str));
            }
            grid
        };
        let tables = self.tables();
        let find = |name: &str| tables.iter().find(|table| table.name == name).map(grid);
        let grids = Grids {
            anchors: find("anchors").unwrap_or_default(),
            ties: find("ties"),
            trails: find("trails"),
            ..Grids::default()
        };
        let (settings, _) = settings::read(FILE, &self.settings, &[]);
        read_tables(settings, grids).0
    }

    fn anchors(&self) -> MadeTable {
        let row = |sheet: &Sheet, k: usize| {
            let (read, mark) = (&sheet.rows[k], &sheet.truth[k]);
            let before = k.checked_sub(1).map(|before| &sheet.truth[before]);
            let along = before.map(|before| leg_support(before, mark).word());
            vec![
                sheet.trail.clone(),
                (k + 1).to_string(),
                read.from.clone(),
                read.leg.tape.clone(),
                read.leg.bearing.clone(),
                read.leg.incline.clone(),
                read.height.clone(),
                mark.support.word().to_owned(),
                along.unwrap_or_default().to_owned(),
                mark.tree.map_or_else(String::new, |tree| format!("{}-{tree}", sheet.trail)),
            ]
        };
        let rows = |sheet| (0..Sheet::len(sheet)).map(move |k| row(sheet, k));
        MadeTable {
            name: "anchors",
            headings: &[
                "trail",
                "anchor",
                "from",
                "tape_m",
                "bearing_deg",
                "incline_deg",
                "height_m",
                "support",
                "leg_support",
                "tree",
            ],
            rows: self.sheets.iter().flat_map(rows).collect(),
        }
    }

    fn ties(&self) -> MadeTable {
        let of = |sheet: &Sheet| -> Vec<Vec<String>> {
            let tie = |tie: &SheetTie| {
                let [from, to] = tie.ends.map(|end| (end + 1).to_string());
                vec![
                    sheet.trail.clone(),
                    from,
                    to,
                    tie.line.tape.clone(),
                    tie.line.bearing.clone(),
                    tie.back.clone(),
                    tie.line.incline.clone(),
                ]
            };
            sheet.ties.iter().map(tie).collect()
        };
        MadeTable {
            name: "ties",
            headings: &[
                "trail",
                "from",
                "to",
                "tape_m",
                "bearing_deg",
                "back_bearing_deg",
                "incline_deg",
            ],
            rows: self.sheets.iter().flat_map(of).collect(),
        }
    }

    fn trails(&self) -> MadeTable {
        let row = |sheet: &Sheet| vec![sheet.trail.clone(), "1".into(), "found".into()];
        MadeTable {
            name: "trails",
            headings: &["trail", "nights", "ending"],
            rows: self.sheets.iter().map(row).collect(),
        }
    }

    /// The truth: where each anchor is, and what was put wrong at it.
    pub fn truth(&self) -> MadeTable {
        let row = |sheet: &Sheet, k: usize| {
            let mark = &sheet.truth[k];
            let mut row = vec![sheet.trail.clone(), (k + 1).to_string()];
            row.extend(mark.at.iter().map(|value| format!("{value:.4}")));
            row.push(format!("{:.4}", mark.height));
            let planted = sheet.planted.iter().find(|planted| planted.row == k);
            row.extend(planted.map_or_else(
                || vec![String::new(); 4],
                |p| vec![p.slip.name().into(), p.column.into(), p.written.clone(), p.was.clone()],
            ));
            row
        };
        let rows = |sheet| (0..Sheet::len(sheet)).map(move |k| row(sheet, k));
        MadeTable {
            name: "truth",
            headings: &[
                "trail", "anchor", "east_m", "north_m", "up_m", "height_m", "slip", "column",
                "written", "was",
            ],
            rows: self.sheets.iter().flat_map(rows).collect(),
        }
    }
}

impl Sheet {
    /// How many anchors it has.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether it has none.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}
