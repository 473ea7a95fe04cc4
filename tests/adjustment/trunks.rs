//! Loops that a trunk closes: found, measured by hand, and what they say of slips.

use crate::field;

use approx::assert_abs_diff_eq;
use field::{Rebuilt, Tables};
use perchline::adjustment::network::traverse::walk;
use perchline::adjustment::network::trunks::{TrunkLoop, trunk_loops};
use perchline::adjustment::slip::Slip;
use perchline::adjustment::suspects::suspects;
use perchline::maths::ground::Ground;
use perchline::results::rules::outlying::{WorthALook, worth_a_look};

const SETTINGS: &str = "bearings.north = 'true'\n[precision]\ntape_per_m = 0\n";

/// Up a trunk, out on a branch 1.5 m east and 2 m `second`, and 2.5 m back to the trunk: the sides
/// of a right triangle, 36.87° = atan(3/4).
fn out_and_back(second: &str, support: &str) -> Rebuilt {
    let anchors = format!(
        "trail,anchor,tape_m,bearing_deg,height_m,support,tree,diameter_cm\n\
         Bor,1,,,0,litter,,\n\
         Bor,2,2.00,,2,trunk,B1,40\n\
         Bor,3,1.50,90,2,branch,B1,6\n\
         Bor,4,2.00,{second},2,branch,B1,4\n\
         Bor,5,2.50,216.87,2,{support},B1,30\n\
         Bor,6,2.00,,0,litter,,\n"
    );
    Tables { anchors, settings: SETTINGS.into(), ..Tables::default() }.rebuild()
}

fn loops(ours: &Rebuilt) -> Vec<TrunkLoop> {
    let raw = walk(&ours.network, |_, _| 0.0, |_| None).lines;
    trunk_loops(&ours.survey, &ours.network, &raw)
}

fn looks(ours: &Rebuilt) -> Vec<WorthALook> {
    worth_a_look(&ours.survey, &ours.network, |_| false)
}

/// σ² = 0.15² (plumb) + 0.20² (half of 40 cm) + Σ (run × 2°)² + 3 · 0.03² (anchors) + Σ `σ_run`², runs d
/// of 1.5, 2 and 2.5 m; level, so that σ(q) = 2 d · 0.03 and `σ_run` = √(d² + 0.06 d) − d.
#[test]
fn a_branch_there_and_back_is_a_loop() {
    let ours = out_and_back("0", "trunk");
    let found = loops(&ours);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].rows, found[0].lines.len()), ([1, 4], 3));
    assert_abs_diff_eq!(found[0].open[0], 0.0, epsilon = 1e-4);
    assert_abs_diff_eq!(found[0].open[1], 0.0, epsilon = 1e-4);
    let by_needle = 12.5 * 2.0_f64.to_radians().powi(2);
    let by_tape = [1.5_f64, 2.0, 2.5].map(|d| ((d * d + 0.06 * d).sqrt() - d).powi(2));
    let variance = 0.0225 + 0.04 + by_needle + 3.0 * 0.0009 + by_tape.iter().sum::<f64>();
    assert_abs_diff_eq!(found[0].variance, variance, epsilon = 1e-9);
    assert_eq!(looks(&ours), []);
}

/// 4 m open, and of the three legs only the second, turned about, closes it.
#[test]
fn a_leg_turned_about_is_named() {
    let ours = out_and_back("180", "trunk");
    let found = looks(&ours);
    assert_eq!(found.len(), 1, "{found:?}");
    let look = &found[0];
    let ends = [ours.network.lines[look.line].from, ours.network.lines[look.line].to];
    assert_eq!(ends.map(|node| ours.name(node)), ["3", "4"]);
    assert_eq!(look.column, "bearing_deg");
    for told in ["trunk of B1", "4.00 m", "wrong end of the needle"] {
        assert!(look.text.contains(told), "{}", look.text);
    }
}

/// 2 m open to one side: no leg turned about closes it, and the one that comes back is named.
#[test]
fn where_no_leg_explains_it_the_last_is_named() {
    let found = looks(&out_and_back("90", "trunk"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].text.contains("or the name of the tree"), "{}", found[0].text);
}

/// Back on a branch of the same tree is not back at its trunk.
#[test]
fn a_branch_closes_nothing() {
    let ours = out_and_back("180", "branch");
    assert_eq!(loops(&ours), []);
    assert_eq!(looks(&ours), []);
}

/// A trunk with a walk of two legs and a tie between its ends, and two legs that run alike in the
/// loop of that tie: on the ground (`ground`), and on a branch from which the animal comes back.
fn alike(ground: &str, branch: &str) -> Rebuilt {
    let anchors = format!(
        "trail,anchor,tape_m,bearing_deg,height_m,support,tree\n\
         Bor,1,,,0,litter,\n\
         Bor,2,2.00,{ground},0,litter,\n\
         Bor,3,2.00,,2,trunk,B1\n\
         Bor,4,2.00,{branch},2,branch,B1\n\
         Bor,5,2.00,0,2,branch,B1\n\
         Bor,6,2.83,135,2,trunk,B1\n\
         Bor,7,2.00,,0,litter,\n"
    );
    let ties = "trail,from,to,tape_m,bearing_deg,back_bearing_deg\nBor,1,7,2.00,90,270\n".into();
    Tables { anchors, ties, settings: SETTINGS.into(), ..Tables::default() }.rebuild()
}

/// True are 90° on the ground and 270° on the branch. With either turned about both read alike, and
/// the loop of the tie cannot tell which is wrong; that the trunk is met again can.
#[test]
fn of_two_legs_alike_the_trunk_tells_the_wrong_one() {
    for (ground, branch, wrong) in [("270", "270", ["1", "2"]), ("90", "90", ["3", "4"])] {
        let ours = alike(ground, branch);
        let found = suspects(&ours.survey, &ours.network, &Ground::flat());
        assert_eq!(found.len(), 1, "{found:#?}");
        let best = &found[0].explanations[0];
        let line = &ours.network.lines[best.line.unwrap()];
        assert_eq!([line.from, line.to].map(|node| ours.name(node)), wrong);
        assert_eq!(best.slip, Slip::ReversedNeedle);
        let rival = found[0].others.iter().find(|other| other.slip == Slip::ReversedNeedle);
        assert!(rival.is_none_or(|rival| rival.weight < 0.1 * best.weight), "{found:#?}");
    }
}
