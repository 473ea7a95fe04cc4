//! What a field sheet reminds of. Common practice, no source, except where the tables themselves
//! ask for it.

use super::columns::Chosen;

/// How anchors are chosen and read.
pub(super) fn of_anchors(anchors: &Chosen) -> Vec<&'static str> {
    let all: [(&str, &[&str]); 11] = [
        ("Mark an anchor where the thread changes direction, steepness or support.", &[]),
        ("First row: the release, without tape or bearing.", &[]),
        ("Last row: where the animal, or the end of the thread, was found.", &[]),
        ("from: only if the tape does not start at the row above.", &["from"]),
        (
            "Phones, knives and belts turn the needle: keep them away.",
            &["bearing_deg", "bearing_gon", "bearing_point"],
        ),
        (
            "back bearing: the needle read from here to the anchor before. The two must be opposite, 180° apart; else read both again.",
            &["back_bearing_deg"],
        ),
        ("turn: from the leg before, right positive.", &["turn_deg"]),
        (
            "support: what the thread lies on at the anchor. leg support: what it lies on all the way from the anchor before.",
            &["leg_support"],
        ),
        ("Out of reach: say at least, and how the height was found.", &["height_at_least"]),
        ("gap: the leg to here could not be followed, lost or out of reach.", &["gap"]),
        ("seen: tick where the animal itself was found.", &["seen"]),
    ];
    let asked = |needs: &[&str]| needs.is_empty() || needs.iter().any(|name| anchors.has(name));
    all.into_iter().filter(|(_, needs)| asked(needs)).map(|(text, _)| text).collect()
}

/// What turning angles lack.
pub(super) const ONE_BEARING: &str = "Turning angles alone give a plan without a north: the \
                                      bearing of one leg, written above, gives it one.";

/// One more line that checks the trail.
pub(super) const TIE: &str = "A tie: tape and bearing from the last anchor back to an early one \
                              show whether the trail closes.";

/// The welfare check, each with a box to tick.
pub(super) const WELFARE: [&str; 6] = [
    "Before release: device sits firm, nothing chafes, its share of the body mass is allowed.",
    "Found: it breathes and moves as it should, no wound, no thread round limb or neck.",
    "Weighed again; harm and loss of mass written down.",
    "Device off, or off by: ______________________",
    "Loose thread and flags gathered in.",
    "In doubt take the device off and stop. Permit, ethics committee and vet decide.",
];
