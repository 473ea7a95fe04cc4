//! A softer sign: an animal comes back to a trunk, but the legs between do not.

use super::outlying::WorthALook;
use crate::adjustment::network::traverse::{RawLine, walk};
use crate::adjustment::network::trunks::{TrunkLoop, trunk_loops};
use crate::adjustment::network::{Course, Network};
use crate::maths::quantity::metres;
use crate::survey::Survey;

/// A loop that stays open by more than this, in squared standard deviations, is worth a look: χ² of
/// two degrees of freedom at 0.001.
const OPEN: f64 = 13.8;
/// One that stays open by less closes: the same at 0.05.
const CLOSED: f64 = 5.99;

/// The trunk loops that stay open. Where the bearing of just one leg, turned about, would close one,
/// that leg is named; else the leg that comes back to the trunk.
pub(super) fn open_trunks(survey: &Survey, network: &Network) -> Vec<WorthALook> {
    let raw = walk(network, |_, _| 0.0, |_| None).lines;
    let loops = trunk_loops(survey, network, &raw);
    let open = loops.iter().filter(|trunk| trunk.cost([0.0; 2]) > OPEN);
    open.filter_map(|trunk| look(survey, network, &raw, trunk)).collect()
}

fn look(
    survey: &Survey,
    network: &Network,
    raw: &[RawLine],
    trunk: &TrunkLoop,
) -> Option<WorthALook> {
    let turned = |&line: &usize| {
        let [east, north, _] = raw[line].vector();
        let needle = network.lines[line].course == Course::Needle;
        needle && trunk.cost([-2.0 * east, -2.0 * north]) < CLOSED
    };
    let mut closing = trunk.lines.iter().copied().filter(turned);
    let blamed = closing.next().filter(|_| closing.next().is_none());
    let tree = survey.anchors[trunk.rows[0]].tree?;
    let told = format!(
        "the animal is back on the trunk of {} where it was {} legs before, but the legs between end \
         {} from there: {}",
        survey.text(tree),
        trunk.lines.len(),
        metres(trunk.open[0].hypot(trunk.open[1])),
        match blamed {
            Some(_) => "read at the wrong end of the needle, this bearing would close them",
            None => "one of them, or the name of the tree?",
        }
    );
    let line = blamed.or(trunk.lines.last().copied())?;
    Some(WorthALook { line, column: "bearing_deg", text: told })
}
