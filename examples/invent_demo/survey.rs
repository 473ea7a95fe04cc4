//! The survey as corrected: all its tables and its settings.

use crate::chance::Chance;
use crate::crew::{Crew, rounded};
use crate::sheet::Sheet;
use crate::study::{ANIMALS, Animal, BENCH, HOLLOW, NIGHTS, OBSERVERS, Plan, THREAD_G_PER_M};
use crate::table::{Row, Table};
use crate::walk::walk;

/// The row of `trails`, given how much tape was read along the thread.
fn trail_row(plan: &Plan, crew: &mut Crew, taped: f64) -> Row {
    let chance = &mut crew.chance;
    let (rain, cold) = NIGHTS[plan.evening - 6];
    let morning = plan.evening + plan.nights;
    let (dusk, dawn) = (chance.between(5.0, 55.0), chance.between(5.0, 55.0));
    let used = rounded(taped * THREAD_G_PER_M * (1.0 + chance.error(0.012)), 0.01);
    let full = match plan.ending {
        "ran_out" => used,
        _ => rounded(chance.between(1.8, 2.5), 0.01),
    };
    let weighed = !matches!(plan.ending, "broke" | "lost");
    let left = if weighed { format!("{:.2}", full - used) } else { String::new() };
    Row::from([
        ("trail", plan.trail.to_owned()),
        ("animal", plan.animal.to_owned()),
        ("date", format!("2025-09-{:02}", plan.evening)),
        ("release", release_of(plan.animal)),
        ("start_time", format!("2025-09-{:02} 21:{dusk:02.0}", plan.evening)),
        ("end_time", format!("2025-09-{morning:02} 08:{dawn:02.0}")),
        ("nights", format!("{}", plan.nights)),
        ("ending", plan.ending.to_owned()),
        ("bobbin_before_g", format!("{full:.2}")),
        ("bobbin_after_g", left),
        ("observer", crew.observer.0.to_owned()),
        ("rain_mm", format!("{rain:.1}")),
        ("night_min_c", format!("{cold:.1}")),
    ])
}

/// The control where an animal is released: its trap.
fn release_of(animal: &str) -> String {
    format!("trap {animal}")
}

fn control_row(animal: &Animal, crew: &mut Crew) -> Row {
    let mut row = Row::from(crew.fix(animal.catch.0, animal.catch.1));
    row.insert("control", release_of(animal.name));
    row.insert("elevation_m", "612".to_owned());
    row
}

fn animal_row(animal: &Animal, plans: &[Plan], chance: &mut Chance) -> Row {
    let plans: Vec<&Plan> = plans.iter().filter(|plan| plan.animal == animal.name).collect();
    let first = plans.first().map_or(6, |plan| plan.evening);
    let (last, ending) =
        plans.last().map_or((first, "found"), |plan| (plan.evening + plan.nights, plan.ending));
    let recovered = ending != "lost";
    let on_day = |day: usize| format!("2025-09-{day:02}");
    let after = animal.mass_g + rounded(chance.error(2.0), 1.0);
    let harm = if animal.name == "Drum" { "fur thinned at glue" } else { "" };
    Row::from([
        ("animal", animal.name.to_owned()),
        ("species", "Glis glis".to_owned()),
        ("sex", animal.sex.to_owned()),
        ("age", animal.age.to_owned()),
        ("body_mass_g", format!("{}", animal.mass_g)),
        ("mass_after_g", if recovered { format!("{after}") } else { String::new() }),
        ("body_length_mm", format!("{}", animal.body_length_mm)),
        ("device_mass_g", format!("{:.1}", animal.device_g)),
        ("attachment", "glued to the fur between the shoulders".to_owned()),
        ("attached", on_day(first)),
        ("removed", if recovered { on_day(last) } else { String::new() }),
        ("handling_min", format!("{:.0}", chance.between(6.0, 14.0))),
        ("recovered", if recovered { "yes" } else { "no" }.to_owned()),
        ("harm", harm.to_owned()),
        ("stand", animal.stand.to_owned()),
    ])
}

/// Per cent of what a line through each stand touches.
const AVAILABLE: [(&str, [u32; 2]); 7] = [
    ("litter", [46, 39]),
    ("log", [9, 6]),
    ("trunk", [14, 17]),
    ("branch", [15, 19]),
    ("liana", [2, 4]),
    ("shrub", [9, 5]),
    ("rock", [5, 10]),
];

fn available_rows() -> Vec<Row> {
    let row = |stand: &str, support: &str, amount: u32| {
        Row::from([
            ("support", support.to_owned()),
            ("amount", format!("{amount}")),
            ("stand", stand.to_owned()),
        ])
    };
    let of = |stand, at: usize| {
        AVAILABLE.iter().map(move |(support, amounts)| row(stand, support, amounts[at]))
    };
    of(HOLLOW, 0).chain(of(BENCH, 1)).collect()
}

pub(crate) const SETTINGS: &str = r#"# The demo survey of Perchline. Everything in it is invented.
name = "Edible dormice of an invented wood"
site = "Long Hollow and Owl Bench, a beech-fir wood that is nowhere"
date = 2025-09-06
permit = "INVENTED-2025-0417"
marked_when = "at every change of direction, steepness or support"

[bearings]
north = "magnetic"
declination = "model"

[precision.height_by.eye] # above 6 m
height_m = 0.2
height_per_m = 0.05

[observer."O.J."] # this compass reads high
bearing_deg = -1.5

[ground]
model = "flat"

[bobbin]
thread_g_per_m = 0.011

[compare]
by = ["age"]
"#;

/// All tables of the survey as corrected.
pub(crate) fn survey() -> Vec<Table> {
    let (mut anchors, mut ties, mut trails) = (Vec::new(), Vec::new(), Vec::new());
    let plans = Plan::all();
    for (at, plan) in plans.iter().enumerate() {
        let Some(animal) = ANIMALS.iter().find(|animal| animal.name == plan.animal) else {
            continue;
        };
        let truth = walk(plan, animal, at + 1);
        let crew = Crew { chance: Chance::new(at + 501), observer: OBSERVERS[at % 3 % 2] };
        let mut sheet = Sheet { plan, crew, truth: &truth, heights: Vec::new(), before: None };
        let rows = sheet.rows();
        let taped = rows.iter().filter_map(|row| row["tape_m"].parse::<f64>().ok()).sum();
        ties.extend(sheet.ties());
        trails.push(trail_row(plan, &mut sheet.crew, taped));
        anchors.extend(rows);
    }
    let mut crew = Crew { chance: Chance::new(0), observer: OBSERVERS[0] };
    let controls = ANIMALS.iter().map(|animal| control_row(animal, &mut crew)).collect();
    let animals =
        ANIMALS.iter().map(|animal| animal_row(animal, &plans, &mut crew.chance)).collect();
    vec![
        Table::new("anchors", ANCHORS, anchors),
        Table::new("ties", TIES, ties),
        Table::new("controls", CONTROLS, controls),
        Table::new("trails", TRAILS, trails),
        Table::new("animals", ANIMAL_COLUMNS, animals),
        Table::new("available", "support amount stand", available_rows()),
    ]
}

const ANCHORS: &str = "trail anchor from tape_m bearing_deg bearing_point back_bearing_deg turn_deg \
    incline_deg height_m height_by height_at_least support leg_support plant tree diameter_cm \
    support_incline_deg seen perch refuge gap escape time latitude longitude accuracy_m";
const TIES: &str = "trail from to tape_m bearing_deg incline_deg rise_m observer";
const CONTROLS: &str = "control latitude longitude elevation_m accuracy_m";
const TRAILS: &str = "trail animal date release start_time end_time nights ending bobbin_before_g \
    bobbin_after_g observer rain_mm night_min_c";
const ANIMAL_COLUMNS: &str = "animal species sex age body_mass_g mass_after_g body_length_mm \
    device_mass_g attachment attached removed handling_min recovered harm stand";
