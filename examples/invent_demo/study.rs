//! The study: where it lies, its animals and refuges, and what each thread is to show.

/// Latitude and longitude of east 0, north 0.
pub(crate) const ORIGIN: (f64, f64) = (46.1, 14.9);
/// Magnetic declination there in September 2025 by the geomagnetic reference field, degrees east.
pub(crate) const DECLINATION_DEG: f64 = 4.75;
/// What has to be added to the bearings of each observer; the second one's compass reads high.
pub(crate) const OBSERVERS: [(&str, f64); 2] = [("K.V.", 0.0), ("O.J.", -1.5)];
/// The evening from which on the second observer, too, writes what a leg lies on where its ends differ.
pub(crate) const LEG_SUPPORT_FROM: usize = 11;
/// Weight of a metre of thread.
pub(crate) const THREAD_G_PER_M: f64 = 0.011;
/// Rain in millimetres and lowest temperature of the nights from 6 September on.
pub(crate) const NIGHTS: [(f64, f64); 14] = [
    (0.0, 11.5),
    (0.0, 12.0),
    (2.4, 13.1),
    (7.8, 12.4),
    (0.6, 10.2),
    (0.0, 9.1),
    (0.0, 8.4),
    (0.0, 9.9),
    (11.2, 11.8),
    (3.0, 10.9),
    (0.0, 8.8),
    (0.0, 7.3),
    (0.0, 7.9),
    (1.2, 9.5),
];

/// One animal, and where its trap hung (metres east and north).
pub(crate) struct Animal {
    pub(crate) name: &'static str,
    pub(crate) sex: &'static str,
    pub(crate) age: &'static str,
    pub(crate) mass_g: f64,
    pub(crate) body_length_mm: u32,
    pub(crate) device_g: f64,
    pub(crate) stand: &'static str,
    pub(crate) catch: (f64, f64),
}

type AnimalWords = (&'static str, &'static str, &'static str, &'static str);

const fn animal(
    (name, sex, age, stand): AnimalWords,
    mass_g: f64,
    body_length_mm: u32,
    device_g: f64,
    catch: (f64, f64),
) -> Animal {
    Animal { name, sex, age, mass_g, body_length_mm, device_g, stand, catch }
}

pub(crate) const HOLLOW: &str = "Long Hollow";
pub(crate) const BENCH: &str = "Owl Bench";

pub(crate) const ANIMALS: [Animal; 13] = [
    animal(("Bramble", "m", "adult", HOLLOW), 128.0, 171, 4.6, (0.0, 0.0)),
    animal(("Fidget", "m", "adult", HOLLOW), 117.0, 166, 4.5, (46.0, 12.0)),
    animal(("Mast", "f", "adult", HOLLOW), 142.0, 178, 4.7, (81.0, -25.0)),
    animal(("Burr", "m", "subadult", HOLLOW), 84.0, 148, 3.6, (24.0, -58.0)),
    animal(("Drum", "m", "adult", HOLLOW), 154.0, 184, 4.8, (-38.0, 41.0)),
    animal(("Whisk", "f", "subadult", HOLLOW), 76.0, 139, 3.2, (-57.0, -2.0)),
    animal(("Cobnut", "m", "adult", HOLLOW), 96.0, 157, 4.4, (108.0, 40.0)),
    animal(("Soot", "m", "adult", BENCH), 133.0, 173, 4.6, (420.0, -260.0)),
    animal(("Pip", "f", "subadult", BENCH), 72.0, 134, 3.1, (452.0, -240.0)),
    animal(("Lantern", "m", "adult", BENCH), 119.0, 168, 4.5, (447.0, -305.0)),
    animal(("Thimble", "f", "adult", BENCH), 104.0, 160, 4.3, (391.0, -312.0)),
    animal(("Moss", "m", "adult", BENCH), 147.0, 181, 4.8, (512.0, -283.0)),
    animal(("Quill", "f", "adult", BENCH), 111.0, 163, 4.5, (490.0, -318.0)),
];

/// A refuge: where it is, how high, in what.
pub(crate) struct Refuge {
    pub(crate) name: &'static str,
    pub(crate) at: (f64, f64),
    pub(crate) height: f64,
    pub(crate) plant: &'static str,
}

const fn refuge(name: &'static str, at: (f64, f64), height: f64, plant: &'static str) -> Refuge {
    Refuge { name, at, height, plant }
}

pub(crate) const REFUGES: [Refuge; 9] = [
    refuge("split beech", (13.0, 9.0), 4.6, BEECH),
    refuge("box 7", (55.0, 27.0), 3.2, BEECH),
    refuge("sill crevice", (66.0, -33.0), 0.0, ""),
    refuge("stilt fir", (9.0, -47.0), 7.3, FIR),
    refuge("owl hole", (-50.0, 27.0), 5.4, BEECH),
    refuge("box 19", (432.0, -249.0), 3.0, FIR),
    refuge("burl maple", (455.0, -290.0), 4.1, "Acer pseudoplatanus"),
    refuge("bench crevice", (403.0, -322.0), 0.0, ""),
    refuge("box 23", (499.0, -297.0), 3.4, BEECH),
];

pub(crate) const BEECH: &str = "Fagus sylvatica";
pub(crate) const FIR: &str = "Abies alba";

/// One thread: whose, which night, and what it is to show.
pub(crate) struct Plan {
    pub(crate) trail: &'static str,
    pub(crate) animal: &'static str,
    /// Evening of the release, a day of September.
    pub(crate) evening: usize,
    pub(crate) nights: usize,
    /// Trees visited in a night, their distance apart, and the highest a climb goes.
    pub(crate) stops: usize,
    pub(crate) apart: f64,
    pub(crate) top: f64,
    /// How directions were measured, and what else is unusual.
    pub(crate) manner: &'static str,
    pub(crate) quirk: &'static str,
    pub(crate) ending: &'static str,
    /// Where each night ends; a night that ends elsewhere, ends on a branch.
    pub(crate) refuges: Vec<&'static str>,
    pub(crate) ties: usize,
    /// Whether the end has its own position by satellite.
    pub(crate) fixed_end: bool,
    pub(crate) escapes: bool,
}

/// All threads. A refuge for each night; a night without one ends on a branch. `calm`: no escape
/// climb; `fixed`: the end has its own position by satellite.
const PLANS: &str = "\
trail | animal  | eve | stops | apart | top  | manner     | ending    | ties | quirk        | more  | refuges
D01   | Bramble | 6   | 2     | 7     | 5.5  | needle     | found     | 2    |              |       | split beech
D02   | Bramble | 7   | 1     | 6     | 6.5  | needle     | found     | 0    |              |       | split beech
D03   | Fidget  | 6   | 1     | 8     | 8.0  | both ways  | found     | 1    |              |       | box 7
D04   | Mast    | 7   | 1     | 5     | 4.5  | needle     | found     | 0    |              | fixed | sill crevice, sill crevice
D05   | Burr    | 8   | 1     | 8     | 9.0  | needle     | found     | 0    |              |       | stilt fir
D06   | Burr    | 9   | 2     | 8     | 7.0  | needle     | found     | 0    | stayed       |       |
D07   | Burr    | 10  | 1     | 10    | 3.5  | needle     | found     | 0    |              |       |
D08   | Drum    | 9   | 2     | 5     | 4.0  | points     | found     | 0    |              |       | owl hole
D09   | Whisk   | 10  | 1     | 6     | 5.5  | clinometer | found     | 2    |              |       | owl hole
D10   | Whisk   | 11  | 2     | 8     | 7.0  | needle     | found     | 0    | stayed taped |       |
D11   | Cobnut  | 11  | 3     | 8     | 8.5  | needle     | ran_out   | 0    |              |       |
D12   | Soot    | 13  | 2     | 9     | 5.0  | needle     | broke     | 0    |              | calm  |
D13   | Pip     | 13  | 1     | 7     | 6.0  | heights    | found     | 0    |              |       | box 19
D14   | Pip     | 14  | 2     | 6     | 4.0  | needle     | found     | 3    |              |       | box 19
D15   | Lantern | 14  | 1     | 6     | 5.0  | needle     | found     | 0    |              |       | burl maple, box 19
D16   | Thimble | 15  | 1     | 6     | 7.0  | turns      | found     | 1    |              |       | bench crevice
D17   | Moss    | 16  | 2     | 6     | 4.5  | needle     | found     | 0    | lost         | fixed | box 23
D18   | Moss    | 17  | 2     | 9     | 6.0  | needle     | lost      | 0    |              |       |
D19   | Quill   | 17  | 1     | 7     | 11.5 | needle     | found     | 3    | out of reach |       | box 23
D20   | Quill   | 18  | 1     | 9     | 3.0  | needle     | shed      | 0    |              | calm  |";

impl Plan {
    pub(crate) fn all() -> Vec<Self> {
        PLANS.lines().skip(1).filter_map(Self::read).collect()
    }

    fn read(line: &'static str) -> Option<Self> {
        let cells = cells(line);
        let [trail, animal, evening, stops, apart, top, manner, ending, ties, quirk, more, refuges] =
            cells[..]
        else {
            return None;
        };
        let refuges: Vec<&str> = refuges.split(", ").filter(|name| !name.is_empty()).collect();
        Some(Self {
            trail,
            animal,
            evening: evening.parse().ok()?,
            nights: refuges.len().max(1),
            stops: stops.parse().ok()?,
            apart: apart.parse().ok()?,
            top: top.parse().ok()?,
            manner,
            quirk,
            ending,
            refuges,
            ties: ties.parse().ok()?,
            fixed_end: more == "fixed",
            escapes: more != "calm",
        })
    }
}

/// The cells of a line of a table that stands in these files.
pub(crate) fn cells(line: &'static str) -> Vec<&'static str> {
    line.split('|').map(str::trim).collect()
}
