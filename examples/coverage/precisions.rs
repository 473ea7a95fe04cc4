//! How often the precisions that a study shows of itself hold the truth, where it is not as stated.

use super::made_up::dice::Dice;
use super::made_up::walk::{Animal, Habit, Truth, sd_of_tape, walk};
use perchline::adjustment::network::build;
use perchline::adjustment::precisions::{Graded, precisions};
use perchline::adjustment::{Method, adjust};
use perchline::maths::ground::Ground;
use perchline::maths::quantity::{Bearing, Incline, Turn};
use perchline::survey::dictionary::{ANCHORS, TIES};
use perchline::survey::fault::Faults;
use perchline::survey::input::csv::read_grid;
use perchline::survey::{Grids, read_tables, settings};

/// Of the first study; each further one has the next.
const SEED: u64 = 170_001;
const ANCHOR_M: f64 = 0.03;

/// What each stated precision must be multiplied by to be true, and the share of tapes and needles with a slip.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Truths {
    pub(crate) name: &'static str,
    pub(crate) tape: f64,
    pub(crate) bearing: f64,
    pub(crate) incline: f64,
    pub(crate) height: f64,
    pub(crate) ground: f64,
    pub(crate) slips: f64,
}

const STATED: Truths = Truths {
    name: "as stated",
    tape: 1.0,
    bearing: 1.0,
    incline: 1.0,
    height: 1.0,
    ground: 1.0,
    slips: 0.0,
};

pub(crate) const ALL: [Truths; 8] = [
    STATED,
    Truths { name: "bearings at 4° where 2° is stated", bearing: 2.0, ..STATED },
    Truths { name: "bearings at 1° where 2° is stated", bearing: 0.5, ..STATED },
    Truths { name: "tapes twice as bad as stated", tape: 2.0, ..STATED },
    Truths { name: "heights twice as bad as stated", height: 2.0, ..STATED },
    Truths { name: "ground three times as rough as stated", ground: 3.0, ..STATED },
    Truths { name: "as stated, a slip in 1 of 100 readings", slips: 0.01, ..STATED },
    Truths {
        name: "bearings at 4°, a slip in 1 of 100 readings",
        bearing: 2.0,
        slips: 0.01,
        ..STATED
    },
];

impl Truths {
    /// What an estimate should come to; `None` where heights and ground are one and differ.
    fn of(&self, graded: Graded) -> Option<f64> {
        match graded {
            Graded::Tape => Some(self.tape),
            Graded::Bearing => Some(self.bearing),
            Graded::Incline => Some(self.incline),
            Graded::Height => Some(self.height),
            Graded::Ground => Some(self.ground),
            Graded::HeightOnGround => (self.height - self.ground == 0.0).then_some(self.height),
            _ => Some(1.0),
        }
    }
}

/// Trails and anchors of a study, and every how many anchors a tie leads back.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Size {
    pub(crate) trails: usize,
    pub(crate) anchors: usize,
    pub(crate) tie_every: usize,
    pub(crate) back_every: usize,
}

/// What was estimated of one kind over many studies.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Tally {
    pub(crate) estimated: usize,
    pub(crate) judged: usize,
    pub(crate) held: usize,
    pub(crate) told: usize,
    /// Sum of the logarithm of estimate over truth, and of the degrees of freedom.
    pub(crate) off: f64,
    pub(crate) freedom: f64,
}

/// The two tables of a made-up study.
pub(crate) fn tables_of(truth: &Truths, size: Size, seed: u64) -> [String; 2] {
    let mut dice = Dice::new(seed);
    let mut anchors =
        String::from("trail,anchor,tape_m,bearing_deg,back_bearing_deg,incline_deg,height_m\n");
    let mut ties = String::from("trail,from,to,tape_m,bearing_deg,incline_deg\n");
    for trail in 0..size.trails {
        let habit = if trail % 2 == 0 { Habit::Walker } else { Habit::Climber };
        let animal = Animal { habit, step: None, ground_m: 0.10 * truth.ground };
        let walked = walk(animal, size.anchors, &mut dice);
        let mut crew = Crew { truth, dice: &mut dice };
        for at in 0..size.anchors {
            anchors += &format!("T{trail},{at},{}\n", crew.row(&walked, at, size));
            if at > 0 && at.is_multiple_of(size.tie_every) {
                let from = at - size.tie_every;
                let line = crew.tie(&walked, from, at);
                ties += &format!("T{trail},{from},{at},{line}\n");
            }
        }
    }
    [anchors, ties]
}

struct Crew<'a> {
    truth: &'a Truths,
    dice: &'a mut Dice,
}

impl Crew<'_> {
    fn tape(&mut self, [e, n, u]: [f64; 3]) -> String {
        let length = e.hypot(n).hypot(u);
        let slip = if self.dice.even() < self.truth.slips { 1.0 } else { 0.0 };
        let read = length + self.dice.normal(self.truth.tape * sd_of_tape(length)) + slip;
        format!("{:.6}", read.max(0.01))
    }

    fn needle(&mut self, [e, n, _]: [f64; 3]) -> String {
        let sighting = Turn::from_degrees(2.0 * self.truth.bearing).to_radians();
        let off = self.dice.normal(sighting.hypot(ANCHOR_M / e.hypot(n)));
        let slip = if self.dice.even() < self.truth.slips { 180.0 } else { 0.0 };
        let read = Bearing::from_radians(e.atan2(n) + off).to_degrees() + slip;
        format!("{:.6}", read.rem_euclid(360.0))
    }

    fn incline(&mut self, [e, n, u]: [f64; 3]) -> String {
        let off = self.dice.normal(1.5 * self.truth.incline);
        format!("{:.6}", Incline::of_rise(u, e.hypot(n)).to_degrees() + off)
    }

    fn row(&mut self, walked: &Truth, at: usize, size: Size) -> String {
        let height = walked.heights[at];
        let sd = self.truth.height * 0.05_f64.hypot(0.02 * height);
        let height = format!("{:.6}", height + self.dice.normal(sd));
        if at == 0 {
            return format!(",,,,{height}");
        }
        let v = walked.along(at);
        let tape = self.tape(v);
        if walked.plumb[at] {
            return format!("{tape},,,,{height}");
        }
        let bearing = self.needle(v);
        let back = if at.is_multiple_of(size.back_every) {
            self.needle(v.map(|x| -x))
        } else {
            String::new()
        };
        let incline = if at.is_multiple_of(3) { self.incline(v) } else { String::new() };
        format!("{tape},{bearing},{back},{incline},{height}")
    }

    fn tie(&mut self, walked: &Truth, from: usize, to: usize) -> String {
        let (a, b) = (walked.places[from], walked.places[to]);
        let v: [f64; 3] = std::array::from_fn(|k| b[k] - a[k]);
        let steep = v[0].hypot(v[1]) < 0.5 * v[2].abs();
        let (tape, bearing, incline) = (self.tape(v), self.needle(v), self.incline(v));
        if steep { format!("{tape},,") } else { format!("{tape},{bearing},{incline}") }
    }
}

/// Counts over so many studies, by kind.
pub(crate) fn counted(truth: &Truths, size: Size, seed: u64, studies: usize) -> [Tally; 11] {
    let mut counts = [Tally::default(); 11];
    for at in 0..studies {
        let [anchors, ties] = tables_of(truth, size, seed + at as u64);
        let mut faults = Faults::default();
        let mut grid = |name, text: &str, table| {
            read_grid(name, text.as_bytes(), table, usize::MAX, &mut faults)
        };
        let (anchors, ties) =
            (grid("anchors.csv", &anchors, &ANCHORS), grid("ties.csv", &ties, &TIES));
        let (settings, _) = settings::read("survey.toml", "[bearings]\nnorth = \"true\"\n", &[]);
        let grids = Grids { anchors, ties: Some(ties), ..Grids::default() };
        let (survey, _) = read_tables(settings, grids);
        let network = build(&survey);
        let shown = vec![true; network.trails.len()];
        let precision = &survey.settings.precision;
        let (ground, method) = (Ground::flat(), Method::LeastSquares);
        let adjusted = adjust(&network, precision, &ground, method, false);
        let found = precisions(&network, precision, &ground, &adjusted, &shown).estimates;
        let known = found.iter().filter(|e| e.factor.is_some()).count().max(1);
        for estimate in found {
            let Some(factor) = estimate.factor else { continue };
            let count = &mut counts[estimate.graded.at()];
            count.estimated += 1;
            count.told += usize::from(factor.p_value < 0.05 / known as f64);
            count.freedom += estimate.freedom;
            if let Some(right) = truth.of(estimate.graded) {
                let [low, high] = factor.interval;
                count.judged += 1;
                count.held += usize::from((low..=high).contains(&right));
                count.off += (factor.value / right).ln();
            }
        }
    }
    counts
}

/// The sizes of study that are tried.
pub(crate) const SIZES: [Size; 3] = [
    Size { trails: 3, anchors: 15, tie_every: 7, back_every: 3 },
    Size { trails: 8, anchors: 15, tie_every: 4, back_every: 2 },
    Size { trails: 12, anchors: 25, tie_every: 3, back_every: 1 },
];

/// Prints one table for each size of study, or for that one.
pub(crate) fn tables(studies: usize, only: Option<usize>) {
    let chosen = |(at, _): &(usize, Size)| only.is_none_or(|only| only == at + 1);
    let kinds = [
        Graded::Tape,
        Graded::Bearing,
        Graded::Incline,
        Graded::Height,
        Graded::Ground,
        Graded::HeightOnGround,
    ];
    for (at, size) in SIZES.into_iter().enumerate().filter(chosen) {
        let mut seed = SEED + 100_000 * at as u64;
        let Size { trails, anchors, tie_every, back_every } = size;
        println!(
            "\n{trails} trails of {anchors} anchors, a tie every {tie_every}, a back bearing every \
             {back_every}\n"
        );
        let names: Vec<&str> = kinds.iter().map(|kind| kind.name()).collect();
        println!("| study | {} |\n|---|{}", names.join(" | "), "---|".repeat(kinds.len()));
        for truth in &ALL {
            let counts = counted(truth, size, seed, studies);
            seed += studies as u64;
            let cell = |kind: &Graded| cell(&counts[kind.at()], studies);
            let cells: Vec<String> = kinds.iter().map(cell).collect();
            println!("| {} | {} |", truth.name, cells.join(" | "));
        }
    }
}

/// Held, typical estimate over truth, degrees of freedom, told as off, studies with an estimate.
fn cell(count: &Tally, studies: usize) -> String {
    if count.estimated * 20 < studies {
        return String::from("–");
    }
    let n = count.estimated as f64;
    let percent = |count: usize, of: f64| 100.0 * count as f64 / of;
    let judged = count.judged as f64;
    let held = if count.judged == 0 {
        String::from("–")
    } else {
        format!("{:.0} (× {:.2})", percent(count.held, judged), (count.off / judged).exp())
    };
    format!(
        "{held}, f {:.0}, told {:.0}, of {:.0}",
        count.freedom / n,
        percent(count.told, n),
        percent(count.estimated, studies as f64)
    )
}
