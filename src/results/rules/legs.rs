//! Rules of single legs and whole trails that need geometry.

use crate::adjustment::network::undirected::{undirected, undirected_words};
use crate::adjustment::network::{HeightReading, Line, Network, Trail, Visit, Written};
use crate::maths::quantity::{Length, Turn, degrees, metres, wrap_half_turn};
use crate::survey::Survey;
use crate::survey::fault::{Code, Faults, Place, Severity};
use crate::survey::rows::{AnchorRow, Gap};

pub(super) fn check(survey: &Survey, network: &Network, faults: &mut Faults) {
    for line in &network.lines {
        tape_spans_climb(survey, network, line, faults);
        back_bearing_is_opposite(survey, line, faults);
    }
    reach_positions(survey, network, faults);
    for trail in &network.trails {
        every_leg_is_measured(survey, network, trail, faults);
        hangs_together(survey, network, trail, faults);
        has_directions(survey, network, trail, faults);
        rises_are_known(survey, network, trail, faults);
        thread_agrees_with_tape(survey, network, trail, faults);
    }
}

/// The place of a line's reading in `column`.
fn place(survey: &Survey, line: &Line, column: &str) -> Place {
    match line.written {
        Written::Anchor(row) => survey.anchor_place(survey.anchors[row].row, column),
        Written::Tie(row) => survey.tie_place(survey.ties[row].row, column),
    }
}

/// From this many standard deviations on a short tape is told.
const SHORT: f64 = 4.0;
/// No reading error explains a tape that is short by more than this many standard deviations, or by
/// half a metre where that is beyond all chance: of 100,000 legs of a clean survey a few are 4 short,
/// of a thousand million one is 6.
const INEXPLICABLE: f64 = 10.0;
/// See [`INEXPLICABLE`].
const HALF_A_METRE: (f64, f64) = (0.5, 6.0);

/// The tape reaches at least as far as the two heights differ.
fn tape_spans_climb(survey: &Survey, network: &Network, line: &Line, faults: &mut Faults) {
    let precision = &survey.settings.precision;
    let [a, b] = [line.from, line.to].map(|node| network.heights_at(node).first());
    let (Some(tape), Some((a, b))) = (line.tape, a.zip(b)) else { return };
    let climb = b.height - a.height;
    let sd = |reading: &HeightReading| precision.height(reading.height, reading.by);
    let rough = precision.ground_m;
    let sd = precision.tape(tape).hypot(sd(a)).hypot(sd(b)).hypot(rough).hypot(rough);
    let short = climb.abs() - tape;
    let sds = short / sd;
    if sds <= SHORT {
        return;
    }
    let (metres_short, beyond_chance) = HALF_A_METRE;
    let inexplicable = sds > INEXPLICABLE || (short > metres_short && sds > beyond_chance);
    let severity = if inexplicable { Severity::Error } else { Severity::Warning };
    // One height in feet, the other in metres: the pair agrees again once it is turned into metres.
    let in_feet = |height: f64, other: f64| {
        (Length::from_feet(height).to_metres() - other).abs() <= tape + 2.0 * sd && height > other
    };
    let feet = in_feet(a.height.max(b.height), a.height.min(b.height));
    let hint = if feet {
        "a height read in feet? in metres it would fit; or a tape from another anchor"
    } else {
        "a decimal mark lost, or a tape taken from another anchor?"
    };
    faults
        .report(Code::TapeShorterThanClimb, severity, place(survey, line, "tape_m"))
        .found(format!(
            "tape {}, heights {} and {}",
            metres(tape),
            metres(a.height),
            metres(b.height)
        ))
        .expected(format!("a tape of at least {}", metres(climb.abs())))
        .hint(hint);
    // Said once, on the way up to it.
    if feet && b.height > a.height {
        let high = b;
        let row = survey.anchors[high.row].row;
        faults
            .warn(Code::UnitSlip, survey.anchor_place(row, "height_m"))
            .found(metres(high.height))
            .expected(format!(
                "{}, if read in feet",
                metres(Length::from_feet(high.height).to_metres())
            ))
            .hint("write it under height_ft, or turn it into metres");
    }
}

/// Two readings of one line differ by half a turn, within three of their standard deviations.
fn back_bearing_is_opposite(survey: &Survey, line: &Line, faults: &mut Faults) {
    let Some((fore, back)) = line.bearing.zip(line.back_bearing) else { return };
    let precision = &survey.settings.precision;
    let off = Turn::from_radians(wrap_half_turn(back - fore)).to_degrees();
    let fore_deg =
        if line.named_point { precision.bearing_point_deg } else { precision.bearing_deg };
    let run = line.tape.unwrap_or(1.0) * line.incline.unwrap_or(0.0).cos();
    let met_again = Turn::from_radians((precision.anchor_m / run.max(0.05)).atan()).to_degrees();
    let sd = fore_deg.hypot(precision.bearing_deg).hypot(met_again).hypot(met_again);
    if off.abs() > 3.0 * sd {
        let hint = if off.abs() > 150.0 {
            "the forward reading copied, or one needle read at the wrong end?"
        } else {
            "iron near the compass, or a slip in one of the two"
        };
        let readings = match line.written {
            Written::Anchor(row) => survey.anchors[row].readings,
            Written::Tie(row) => survey.ties[row].readings,
        };
        let found = readings.back_bearing.map_or(String::new(), |b| degrees(b.to_degrees()));
        let opposite = readings.bearing.map(|read| read.value.reversed().to_degrees());
        faults
            .warn(Code::BackBearingNotOpposite, place(survey, line, "back_bearing_deg"))
            .found(found)
            .expected(opposite.map_or(String::new(), |b| format!("about {}", degrees(b))))
            .hint(hint);
    }
}

/// Whether something stands under one of these headings that could not be read: then the reader
/// has spoken, and what follows from the missing value is no fault of its own.
fn unread(survey: &Survey, row: &AnchorRow, headings: &[&str]) -> bool {
    let grid = &survey.grids.anchors;
    let filled = |heading: &&str| {
        grid.column(heading).is_some_and(|at| !grid.cell(row.row, at).trim().is_empty())
    };
    headings.iter().any(filled)
}

fn tape_unread(survey: &Survey, row: &AnchorRow) -> bool {
    row.readings.tape.is_none() && unread(survey, row, &["tape_m", "tape_ft"])
}

fn bearing_unread(survey: &Survey, row: &AnchorRow) -> bool {
    row.readings.bearing.is_none()
        && unread(survey, row, &["bearing_deg", "bearing_gon", "bearing_point"])
}

fn row<'a>(survey: &'a Survey, visit: &Visit) -> &'a AnchorRow {
    &survey.anchors[visit.row]
}

/// A leg outside a gap is measured.
fn every_leg_is_measured(survey: &Survey, network: &Network, trail: &Trail, faults: &mut Faults) {
    for visit in network.visits_of(trail).iter().skip(1) {
        let row = row(survey, visit);
        let unknown_from = row.from.is_some() && visit.from.is_none();
        if visit.line.is_some()
            || row.gap.is_some()
            || unknown_from
            || visit.from == Some(visit.node)
        {
            continue;
        }
        if row.readings.is_empty() && revisited(network, trail, visit) {
            continue; // reported as a name used twice
        }
        if tape_unread(survey, row) {
            continue;
        }
        faults
            .warn(Code::UnmeasuredLeg, survey.anchor_place(row.row, "tape_m"))
            .found("no tape")
            .expected("a tape reading, or a gap")
            .hint(
                "say gap = lost where the thread could not be followed; totals are then at least",
            );
    }
}

fn revisited(network: &Network, trail: &Trail, visit: &Visit) -> bool {
    let first = network.visits_of(trail).iter().find(|other| other.node == visit.node);
    first.is_some_and(|first| first.row != visit.row)
}

/// The legs of a trail hang together.
fn hangs_together(survey: &Survey, network: &Network, trail: &Trail, faults: &mut Faults) {
    let visits = network.visits_of(trail);
    let root = |visit: &Visit| network.tree[visit.node].root;
    let apart = visits.windows(2).find(|pair| root(&pair[0]) != root(&pair[1]));
    let Some([_, second]) = apart else { return };
    let row = row(survey, second);
    if (row.from.is_some() && second.from.is_none()) || tape_unread(survey, row) {
        return; // its `from` is unknown, or its tape unreadable: that is reported
    }
    let across_gap = row.gap.is_some();
    let severity = if across_gap { Severity::Note } else { Severity::Warning };
    faults
        .report(Code::TwoPieces, severity, survey.anchor_place(row.row, "anchor"))
        .found(format!("trail {} goes on without a measured leg", survey.text(trail.name)))
        .expected("a tape with a direction to each anchor")
        .hint("what compares the ends is left blank; a position or a tie would join the pieces");
}

/// Says which legs have no direction, once a trail, and what that costs.
fn has_directions(survey: &Survey, network: &Network, trail: &Trail, faults: &mut Faults) {
    let rows = || network.visits_of(trail).iter().map(|visit| row(survey, visit));
    let Some(first) = undirected(network, trail).next() else { return };
    if rows().any(|row| bearing_unread(survey, row)) {
        return; // that is reported
    }
    let Written::Anchor(at) = network.lines[first].written else { return };
    let Some(words) = undirected_words(survey, network, trail) else { return };
    let (code, hint) = if trail.layout.has_plan() {
        let spread = Turn::from_radians(trail.turn_spread).to_degrees();
        (Code::CarriedOn, format!("drawn straight on with the leg before or after, ± {spread:.0}°"))
    } else {
        let hint = "lengths and heights are computed; what needs a plan is left blank";
        (Code::ProfileOnly, hint.to_owned())
    };
    faults
        .note(code, survey.anchor_place(survey.anchors[at].row, "bearing_deg"))
        .found(format!("trail {}: {words}", survey.text(trail.name)))
        .expected("a bearing or a turn on each leg that is not plumb")
        .hint(hint);
}

/// Positions that the thread cannot reach are not used.
fn reach_positions(survey: &Survey, network: &Network, faults: &mut Faults) {
    for far in &network.out_of_reach {
        let Some(row) = network.nodes[far.node].row else { continue };
        let name = |node: usize| survey.text(network.nodes[node].name);
        faults
            .warn(
                Code::PositionOutOfReach,
                survey.anchor_place(survey.anchors[row].row, "latitude"),
            )
            .found(format!(
                "a position {} from that of anchor {}",
                metres(far.apart),
                name(far.from)
            ))
            .expected(format!("no more than the {} of thread between them", metres(far.thread)))
            .hint("a digit of the position misread, or a fix that had not settled? it is not used");
    }
}

/// The first leg of a trail whose rise nobody measured.
fn rises_are_known(survey: &Survey, network: &Network, trail: &Trail, faults: &mut Faults) {
    let unknown = |visit: &&Visit| {
        visit.line.map(|line| &network.lines[line]).is_some_and(|line| {
            let heights = [line.from, line.to].map(|node| network.height_at(node).is_some());
            line.incline.is_none() && line.rise.is_none() && heights != [true; 2]
        })
    };
    let visits = network.visits_of(trail);
    let Some(first) = visits.iter().find(unknown) else { return };
    let count = visits.iter().filter(unknown).count();
    faults
        .warn(Code::RiseUnknown, survey.anchor_place(row(survey, first).row, "height_m"))
        .found(format!("{count} legs of trail {} without a rise", survey.text(trail.name)))
        .expected("a height at both ends, or an incline")
        .hint("these legs are taken as level within 30°; their heights are guesses");
}

/// Thread let out and tape agree within so much of the tape, and so many metres: thread sags, and
/// bobbins are weighed in the rain. Common practice, no source.
const THREAD_SHARE: f64 = 0.15;
const THREAD_M: f64 = 2.0;

/// The thread let out, by its own reading or by weight, agrees with the tape.
fn thread_agrees_with_tape(survey: &Survey, network: &Network, trail: &Trail, faults: &mut Faults) {
    let visits = network.visits_of(trail);
    let listed = trail.listed.map(|at| &survey.trails[at]);
    let read = visits.iter().rev().find_map(|v| Some((row(survey, v), row(survey, v).thread?)));
    let weighed = listed.and_then(|row| Some((row, survey.thread_by_weight(row)?)));
    let (thread, place) = match (read, weighed) {
        (Some((row, thread)), _) => (thread, survey.anchor_place(row.row, "thread_m")),
        (None, Some((row, thread))) => (thread, survey.trail_place(row.row, "bobbin_after_g")),
        (None, None) => return,
    };
    let lines = visits.iter().filter_map(|visit| visit.line);
    let tape: f64 = lines.filter_map(|line| network.lines[line].tape).sum();
    let off = thread.to_metres() - tape;
    let untaped = visits.iter().skip(1).any(|visit| visit.line.is_none())
        || visits.iter().any(|visit| row(survey, visit).gap == Some(Gap::OutOfReach));
    if off.abs() <= THREAD_SHARE * tape + THREAD_M || (off > 0.0 && untaped) {
        return;
    }
    faults
        .warn(Code::ThreadAgainstTape, place)
        .found(format!("{} of thread", metres(thread.to_metres())))
        .expected(format!("about {} as taped", metres(tape)))
        .hint(unit_hint(thread.to_metres() / tape));
}

fn unit_hint(ratio: f64) -> &'static str {
    let feet = 1.0 / Length::from_feet(1.0).to_metres();
    if (ratio / feet - 1.0).abs() < 0.1 || (ratio * feet - 1.0).abs() < 0.1 {
        "the two differ as feet do from metres"
    } else if ratio > 1.0 {
        "a stretch not taped, a weight misread, or a tape slip in this trail?"
    } else {
        "a tape reading with its decimal mark lost, or a weight misread?"
    }
}
