//! Suspects and their explanations, in words and as JSON.

use super::{Finding, Named, findings};
use crate::adjustment::network::Written;
use crate::adjustment::observation::Kind;
use crate::adjustment::slip::{Slip, WouldRead};
use crate::adjustment::suspects::{Explanation, Suspect};
use crate::maths::quantity::metres;
use crate::results::Analysis;
use crate::results::cell::rounded;
use crate::survey::fault::Place;
use serde_json::{Value, json};

/// Suspects for a reader.
pub fn words(analysis: &Analysis) -> Vec<Finding> {
    let named = Named::of(analysis);
    findings(analysis).suspects.iter().map(|suspect| named.suspect(suspect)).collect()
}

/// Suspects as `check --json` has them.
pub fn json(analysis: &Analysis) -> Value {
    Named::of(analysis).json(&findings(analysis).suspects)
}

impl Named<'_> {
    /// Start and end of the line, or the node, by name.
    fn ends(&self, line: Option<usize>, node: Option<usize>) -> (&str, &str) {
        match (line.map(|line| &self.network.lines[line]), node) {
            (Some(line), _) => (self.name(line.from), self.name(line.to)),
            (None, Some(node)) => ("", self.name(node)),
            (None, None) => ("", ""),
        }
    }

    /// `leg 14 to 15`, `tie 4 to 22`, `anchor 7`.
    fn what(&self, line: Option<usize>, node: Option<usize>) -> String {
        let (from, to) = self.ends(line, node);
        match line.map(|line| self.network.lines[line].written) {
            Some(Written::Anchor(_)) => format!("leg {from} to {to}"),
            Some(Written::Tie(_)) => format!("tie {from} to {to}"),
            None => format!("anchor {to}"),
        }
    }

    /// The heading under which a reading of this kind stands, and its text.
    fn cell(&self, line: Option<usize>, node: Option<usize>, kind: Kind, from: bool) -> Cell {
        let headings: &[&str] = match kind {
            _ if from => &["from"],
            Kind::Tape => &["tape_m", "tape_ft"],
            Kind::Bearing => &["bearing_deg", "bearing_gon", "bearing_point"],
            Kind::BackBearing => &["back_bearing_deg"],
            Kind::Turn => &["turn_deg"],
            Kind::Incline => &["incline_deg"],
            Kind::Rise => &["rise_m"],
            Kind::Height => &["height_m", "height_ft"],
            Kind::ControlEast | Kind::ControlNorth => &["latitude", "anchor"],
            _ => &["anchor"],
        };
        let written = line.map(|line| self.network.lines[line].written);
        let row = node.and_then(|node| self.network.nodes[node].row);
        let (grid, index) = match written.or(row.map(Written::Anchor)) {
            Some(Written::Anchor(row)) => {
                (Some(&self.survey.grids.anchors), self.survey.anchors[row].row)
            }
            Some(Written::Tie(row)) => (self.survey.grids.ties.as_ref(), self.survey.ties[row].row),
            None => (None, 0),
        };
        let text = |heading: &str| {
            let column = grid?.column(heading)?;
            Some(grid?.cell(index, column).trim().to_owned()).filter(|text| !text.is_empty())
        };
        let first = headings.first().copied().unwrap_or_default();
        let heading = headings.iter().copied().find(|h| text(h).is_some()).unwrap_or(first);
        let place = grid.map(|grid| grid.place(index, heading));
        Cell { place, heading, text: text(heading).unwrap_or_default() }
    }

    fn would_read(&self, explanation: &Explanation) -> Value {
        match explanation.would_read {
            WouldRead::Number(value, decimals) => {
                let text = format!("{value:.decimals$}");
                text.parse::<f64>().map_or(Value::Null, Value::from)
            }
            WouldRead::Point(bearing) => Value::from(bearing.to_point()),
            WouldRead::Node(node) => Value::from(self.name(node)),
        }
    }

    /// The reading as it would be, with its unit.
    fn would_read_words(&self, explanation: &Explanation, heading: &str) -> String {
        match explanation.would_read {
            WouldRead::Number(value, decimals) => {
                with_unit(&format!("{value:.decimals$}"), heading)
            }
            WouldRead::Point(bearing) => bearing.to_point().to_owned(),
            WouldRead::Node(node) => format!("from {}", self.name(node)),
        }
    }

    fn explanation_json(&self, explanation: &Explanation) -> Value {
        json!({
            "explanation": explanation.slip.name(),
            "would_read": self.would_read(explanation),
            "misclosure_m": rounded(explanation.leaves, DECIMALS),
            "kind": explanation.kind.name(),
            "weight": rounded(explanation.weight, DECIMALS),
        })
    }

    fn json(&self, suspects: &[Suspect]) -> Value {
        let one = |suspect: &Suspect| {
            let (from, to) = self.ends(suspect.line, suspect.node);
            let other = |other: &Explanation| {
                let mut value = self.explanation_json(other);
                let (from, to) = self.ends(other.line, other.node);
                value["from"] = Value::from(from);
                value["to"] = Value::from(to);
                value
            };
            let by_from = suspect.explanations.first().is_some_and(|e| e.slip == Slip::WrongFrom);
            let place = self.cell(suspect.line, suspect.node, suspect.kind, by_from).place;
            json!({
                "trail": suspect.trail.map_or("", |trail| self.trail(trail)), "from": from, "to": to,
                "kind": suspect.kind.name(),
                "standardised": suspect.standardised.map(|size| rounded(size, DECIMALS)),
                "misclosure_m": suspect.line.map(|_| rounded(suspect.gap, DECIMALS)),
                "file": place.as_ref().map(|place| place.file.as_ref()),
                "sheet": place.as_ref().and_then(|place| place.sheet.as_deref()),
                "row": place.as_ref().and_then(|place| place.row),
                "column": place.as_ref().and_then(|place| place.column.as_deref()),
                "explanations": suspect.explanations.iter().map(|e| self.explanation_json(e))
                    .collect::<Vec<_>>(),
                "other_legs": suspect.others.iter().map(other).collect::<Vec<_>>(),
            })
        };
        suspects.iter().map(one).collect()
    }

    fn suspect(&self, suspect: &Suspect) -> Finding {
        let what = self.what(suspect.line, suspect.node);
        let name = suspect.trail.map_or("", |trail| self.trail(trail));
        let Some((first, more)) = suspect.explanations.split_first() else {
            let size = suspect.standardised.map_or(0.0, f64::abs);
            let sentence = format!(
                "trail {name}, {what}: the {} fits worst of its trail ({size:.1} of its standard \
                 deviations), and no single slip explains it. Look here first, and at its \
                 neighbours.",
                suspect.kind.words(),
            );
            let cell = self.cell(suspect.line, suspect.node, suspect.kind, false);
            return Finding { sentence, place: cell.phrase(), more: Vec::new() };
        };
        let cell = self.cell(suspect.line, suspect.node, first.kind, first.slip == Slip::WrongFrom);
        let sentence = format!(
            "trail {name}, {what}: {} {} leaves {} instead of {}.",
            self.happened(suspect, first, &cell),
            self.would_read_words(first, cell.heading),
            metres(first.leaves),
            metres(suspect.gap),
        );
        // Those next in rank if they help; and all that close better, however seldom they happen.
        let told = |(at, e): &(usize, &Explanation)| {
            (*at < 2 && e.leaves < suspect.gap / 2.0) || e.leaves < first.leaves
        };
        let one = |(_, explanation): (usize, &Explanation)| {
            let wrong_from = explanation.slip == Slip::WrongFrom;
            let cell = self.cell(suspect.line, suspect.node, explanation.kind, wrong_from);
            format!(
                "or {}: {} leaves {}",
                short(explanation.slip, explanation.kind),
                self.would_read_words(explanation, cell.heading),
                metres(explanation.leaves),
            )
        };
        let mut lines: Vec<String> = more.iter().enumerate().filter(told).map(one).collect();
        lines.extend(self.others(suspect, first));
        Finding { sentence, place: cell.phrase(), more: lines }
    }

    /// What else explains a suspect about as well, and what would tell it apart.
    fn others(&self, suspect: &Suspect, first: &Explanation) -> Vec<String> {
        let equal = |other: &Explanation| other.weight > EQUAL * first.weight;
        let one = |other: &Explanation| {
            let wrong_from = other.slip == Slip::WrongFrom;
            let cell = self.cell(other.line, other.node, other.kind, wrong_from);
            let written = match other.slip {
                Slip::WrongFrom => String::new(),
                _ => format!(" {}", with_unit(&cell.text, cell.heading)),
            };
            format!(
                "{}: {}, {}{written}: {}",
                match other.weight / first.weight {
                    ratio if ratio > EQUAL => "explains it as well",
                    ratio if ratio > SELDOM => "nearly as likely",
                    _ => "closes better, but seldom happens",
                },
                self.what(other.line, other.node),
                short(other.slip, other.kind),
                self.would_read_words(other, cell.heading),
            )
        };
        let mut lines: Vec<String> = suspect.others.iter().take(3).map(one).collect();
        if suspect.others.first().is_some_and(equal) {
            let what = self.what(suspect.line, suspect.node);
            lines.push(format!("{} would tell them apart.", measurement(first, &what)));
        }
        lines
    }

    /// `bearing 212° was probably read at the wrong end of the needle:`
    fn happened(&self, suspect: &Suspect, first: &Explanation, cell: &Cell) -> String {
        let reading = format!("{} {}", first.kind.words(), with_unit(&cell.text, cell.heading));
        match first.slip {
            Slip::ReversedNeedle => {
                format!("{reading} was probably read at the wrong end of the needle:")
            }
            Slip::DigitSlipTens => format!("{reading} probably has one digit wrong:"),
            Slip::DecimalSlip => {
                format!("{reading} probably has its decimal mark in the wrong place:")
            }
            Slip::FeetForMetres => format!("{reading} was probably read in feet:"),
            Slip::CentimetresForMetres => {
                let written: f64 = cell.text.parse().unwrap_or(f64::INFINITY);
                let twice = matches!(first.would_read, WouldRead::Number(v, _) if v > written);
                let how = if twice { "divided by 100 once too often" } else { "in centimetres" };
                format!("{reading} was probably written {how}:")
            }
            Slip::SwappedDigits => format!("{reading} probably has two digits swapped:"),
            Slip::WrongSign => format!("{reading} probably has the wrong sign:"),
            Slip::WrongFrom => {
                let (from, to) = self.ends(suspect.line, None);
                format!("the leg to {to} probably does not start at {from}:")
            }
        }
    }
}

/// The measurement that shows whether an explanation is the right one.
fn measurement(explanation: &Explanation, what: &str) -> String {
    match (explanation.slip, explanation.kind) {
        (Slip::WrongFrom, _) => format!("A look at where {what} starts"),
        (_, Kind::Bearing) => format!("A back bearing on {what}"),
        (_, kind) => format!("The {} of {what} read once more", kind.words()),
    }
}

/// Another explanation is as good as the first one if its weight is more than this share of the
/// first one's: odds of three to one prove nothing.
const EQUAL: f64 = 1.0 / 3.0;

/// Below this share of the first one's weight another explanation is no longer nearly as likely: what
/// is told then closes better, whatever it is worth otherwise.
const SELDOM: f64 = 0.05;

/// To a tenth of a millimetre, as tables have it.
const DECIMALS: u8 = 4;

/// A cell of the survey.
struct Cell {
    place: Option<Place>,
    heading: &'static str,
    text: String,
}

impl Cell {
    fn phrase(&self) -> Option<String> {
        self.place.as_ref().map(Place::phrase)
    }
}

/// What happened, in few words.
fn short(slip: Slip, kind: Kind) -> String {
    match slip {
        Slip::ReversedNeedle => "wrong end of the needle".to_owned(),
        Slip::WrongFrom => "another start".to_owned(),
        _ => {
            let what = match slip {
                Slip::DigitSlipTens => "one digit wrong",
                Slip::DecimalSlip => "decimal mark",
                Slip::FeetForMetres => "feet",
                Slip::CentimetresForMetres => "centimetres",
                Slip::SwappedDigits => "swapped digits",
                _ => "sign",
            };
            format!("{what} of the {}", kind.words())
        }
    }
}

fn with_unit(text: &str, heading: &str) -> String {
    match heading {
        "tape_m" | "height_m" | "rise_m" => format!("{text} m"),
        "tape_ft" | "height_ft" => format!("{text} ft"),
        "bearing_gon" => format!("{text} gon"),
        "bearing_deg" | "back_bearing_deg" | "turn_deg" | "incline_deg" => format!("{text}°"),
        _ => text.to_owned(),
    }
}
