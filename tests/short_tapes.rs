//! Tapes shorter than the difference of the heights: what chance gives is a warning at most.

#![expect(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

use perchline::check::check;
use perchline::fault::{Code, Fault, Faults, Severity};
use perchline::input::source::read_survey;
use perchline::network::build;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use std::fs;
use tempfile::TempDir;

fn faults(anchors: &str, settings: &str) -> Faults {
    let folder = TempDir::new().unwrap();
    let settings = format!("[bearings]\nnorth = \"true\"\n{settings}");
    fs::write(folder.path().join("survey.toml"), settings).unwrap();
    fs::write(folder.path().join("anchors.csv"), anchors).unwrap();
    let (survey, mut faults) = read_survey(folder.path(), &[]).unwrap();
    faults.append(check(&survey, &build(&survey)));
    faults
}

/// What the rule makes of a leg from `low` to `high` with this tape.
fn graded([low, high, tape]: [f64; 3], by: &str, settings: &str) -> Option<Severity> {
    let head = "trail,anchor,tape_m,bearing_deg,height_m,height_by\n";
    let faults = faults(&format!("{head}A,0,,,{low},{by}\nA,1,{tape},20,{high},{by}\n"), settings);
    let sorted = faults.sorted();
    sorted.into_iter().find(|fault| is_short(fault)).map(|fault| fault.severity)
}

/// By the defaults one standard deviation of tape and both heights, rough ground included, is
/// √(0.03² + 0.05² + 0.08² + 2 · 0.1²) = 0.172 m for a leg from 0 to 3 m. By eye, at 0.5 m and 10 %,
/// it is 3.17 m for one from 0 to 30 m. With a fine tape on a pole, on known ground, 0.016 m.
#[test]
fn a_short_tape_is_graded_by_what_chance_gives() {
    let (warning, error) = (Some(Severity::Warning), Some(Severity::Error));
    for (tape, there) in [(2.4, None), (2.2, warning), (2.05, warning), (1.9, error), (0.3, error)]
    {
        assert_eq!(graded([0.0, 3.0, tape], "", ""), there, "{tape}");
    }
    let eye = "[precision.height_by.eye]\nheight_m = 0.5\nheight_per_m = 0.1\n";
    for (tape, there) in [(25.0, None), (18.0, None), (15.0, warning), (10.0, error)] {
        assert_eq!(graded([0.0, 30.0, tape], "eye", eye), there, "{tape} by eye");
    }
    let fine = "[precision]\nground_m = 0\ntape_m = 0.005\nheight_m = 0.01\nheight_per_m = 0\n";
    for (tape, there) in [(2.96, None), (2.9, warning), (2.8, error)] {
        assert_eq!(graded([0.0, 3.0, tape], "pole", fine), there, "{tape} fine");
    }
}

/// Every leg is plumb, the hardest case: its tape is just the difference of its heights. Errors of
/// every kind are drawn as stated. Before, each beyond four standard deviations stopped a rebuild.
#[test]
fn of_a_hundred_thousand_clean_legs_none_is_an_error() {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(15);
    let mut noise = |sd: f64| -> f64 {
        let normal: f64 = StandardNormal.sample(&mut random);
        sd * normal
    };
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m,height_by\n");
    let mut beyond_four = 0;
    for leg in 0..100_000_u32 {
        let by_eye = leg % 2 == 1;
        let (by, constant, share): (_, f64, f64) =
            if by_eye { ("eye", 0.3, 0.1) } else { ("", 0.05, 0.02) };
        let (low, climb) = (1.0, 0.5 + f64::from(leg % 20));
        let high: f64 = low + climb;
        let sd_high = constant.hypot(share * high);
        let sd_low = constant.hypot(share * low);
        let sd_tape = 0.03_f64.hypot(0.002 * climb);
        let tape = (climb + noise(sd_tape)).max(0.01);
        let [low, high] = [low + noise(sd_low) + noise(0.1), high + noise(sd_high) + noise(0.1)];
        let sd = sd_tape.hypot(sd_low).hypot(sd_high).hypot(0.1).hypot(0.1);
        beyond_four += u32::from(((high - low).abs() - tape) / sd > 4.0);
        anchors += &format!("T{leg},0,,,{low:.2},{by}\nT{leg},1,{tape:.2},20,{high:.2},{by}\n");
    }
    let eye = "[precision.height_by.eye]\nheight_m = 0.3\nheight_per_m = 0.1\n";
    let faults = faults(&anchors, eye);
    let short = |severity| {
        let sorted = faults.sorted();
        let of = |fault: &&&_| is_short(fault) && fault.severity == severity;
        sorted.iter().filter(of).count()
    };
    assert!(beyond_four > 0, "no leg is so short that the old rule would have stopped at it");
    assert_eq!(short(Severity::Error), 0);
    assert!(short(Severity::Warning) <= 10, "{}", short(Severity::Warning));
}

fn is_short(fault: &Fault) -> bool {
    fault.code == Code::TapeShorterThanClimb
}
