//! How the room of an animal over all its trails was taken.

use super::Text;
use crate::maths::quantity::count_of;
use crate::results::Analysis;
use crate::results::space::{AnimalSpace, overlaps, spaces};

pub(super) fn sentences(analysis: &Analysis, text: &mut Text) {
    let all = spaces(analysis);
    areas(all, text);
    if overlaps(analysis).is_ok_and(|pairs| !pairs.is_empty()) {
        text.say("What two animals shared was the area common to both polygons.");
    }
    if all.iter().any(|animal| !animal.moves.releases.is_empty()) {
        text.say(
            "Distances from release to release, and from the end of a thread to the next release, were \
             taken in plan between captures of one animal that follow each other by date.",
        );
    }
    if all.iter().any(|animal| animal.refuges.reuse().is_some()) {
        text.say(
            "Reuse of refuges was the share of uses of named refuges that were of one the same animal \
             had used before.",
        );
    }
    let left_out: usize = all.iter().flat_map(|animal| animal.unplaced.values()).sum();
    if left_out > 0 && left_out < all.iter().map(|animal| animal.trails).sum() {
        text.say(&format!(
            "{} without a plan, a north or a known place had no part in what lies between trails.",
            count_of(left_out, "trail")
        ));
    }
}

/// What else than single trails has intervals by draws, where it is there.
pub(super) fn and_home_areas(analysis: &Analysis) -> &'static str {
    let any = spaces(analysis).iter().any(|animal| animal.extent.area.is_some());
    if any { " and home areas" } else { "" }
}

fn areas(all: &[AnimalSpace], text: &mut Text) {
    let with_area: Vec<&AnimalSpace> =
        all.iter().filter(|animal| animal.extent.area.is_some()).collect();
    if with_area.is_empty() {
        return;
    }
    let trails: usize = with_area.iter().map(|animal| animal.placed.len()).sum();
    let share = with_area.iter().filter(|animal| animal.extent.area95.is_some()).count();
    let share = if share > 0 {
        format!(
            ", and, for {} with 20 positions or more, around those left without the 5 % farthest from \
             their arithmetic mean",
            count_of(share, "animal")
        )
    } else {
        String::new()
    };
    text.say(&format!(
        "The home area of an animal was that of the convex polygon in plan around the positions of all \
         its trails ({}, {}){share}. These positions are marked points of the thread, not fixes at \
         regular times.",
        count_of(with_area.len(), "animal"),
        count_of(trails, "trail"),
    ));
}
