//! Network, adjustment, paths, draws and metrics, one after the other.

use super::comparison::Comparison;
use super::drawing::{DrawnTrail, Task, draw_all};
use super::findings::Findings;
use super::ground::ground;
use super::precisions::Shown;
use super::progress::Progress;
use super::space::AnimalSpace;
use super::subjects::{TrailSubjects, subjects};
use super::trail::{MetricRow, TrailResult, result};
use crate::adjustment::network::{Network, Written};
use crate::adjustment::path::{Path, paths};
use crate::adjustment::{Adjusted, Method, adjust};
use crate::maths::ground::Ground;
use crate::survey::Survey;
use crate::survey::fault::{Code, Faults, Place, Severity};
use std::sync::OnceLock;

/// What the user asked for.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// How positions are found.
    pub method: Method,
    /// Whether the metrics are wanted by all methods, side by side.
    pub compare_methods: bool,
    /// How many paths are drawn for the intervals; 0 for none.
    pub draws: usize,
    /// What the draws begin with.
    pub seed: u64,
    /// Whether the extended metrics are wanted.
    pub all_metrics: bool,
    /// The trails that are wanted, by name; all where empty.
    pub trails: Vec<String>,
    /// Whether results are to leave out where on the globe they lie.
    pub hide_location: bool,
}

impl Default for Wanted {
    fn default() -> Self {
        Self {
            method: Method::default(),
            compare_methods: false,
            draws: 1000,
            seed: 1,
            all_metrics: false,
            trails: Vec::new(),
            hide_location: false,
        }
    }
}

/// A survey computed.
#[derive(Debug)]
pub struct Analysis {
    /// The survey.
    pub survey: Survey,
    /// What was asked for.
    pub wanted: Wanted,
    /// Its network.
    pub network: Network,
    /// The network adjusted.
    pub adjusted: Adjusted,
    /// The path of each trail, in the order of the network's trails.
    pub paths: Vec<Path>,
    /// What was measured on each.
    pub trails: Vec<TrailResult>,
    /// For each trail whether it was asked for.
    pub shown: Vec<bool>,
    /// The metrics by every method, in the order of [`Method::ALL`]; empty unless asked for.
    pub compared: Vec<ByMethod>,
    /// See [`asked`](super::comparison::asked).
    pub(crate) asked: OnceLock<Comparison>,
    /// See [`spaces`](super::space::spaces).
    pub(crate) space: OnceLock<Vec<AnimalSpace>>,
    /// See [`shown_by`](super::precisions::shown_by).
    pub(crate) precisions: OnceLock<Shown>,
    /// See [`findings`](super::findings::findings).
    pub(crate) findings: OnceLock<Findings>,
}

/// The metrics of every trail by one method, in the order of the network's trails.
pub type ByMethod = Vec<Vec<MetricRow>>;

/// No trail that was asked for settled.
#[derive(Clone, Debug)]
pub struct NothingSettled {
    /// What kept each from settling.
    pub faults: Faults,
}

/// The whole computation. A trail that does not settle is blank in the results, and leaves the
/// others as they are.
///
/// # Errors
/// Where no trail that was asked for settles.
pub fn analyse(
    survey: Survey,
    network: Network,
    wanted: Wanted,
    progress: &Progress,
) -> Result<Analysis, NothingSettled> {
    let (ground, _) = ground(&survey, &network);
    let precision = &survey.settings.precision;
    let draws = if wanted.method.has_covariance() { wanted.draws } else { 0 };
    let adjusted = adjust(&network, precision, &ground, wanted.method, draws > 0);
    let paths = paths(&survey, &network, &adjusted);
    let is_shown = |path: &Path| {
        let name = survey.text(network.trails[path.trail].name);
        wanted.trails.is_empty() || wanted.trails.iter().any(|trail| trail == name)
    };
    let shown: Vec<bool> = paths.iter().map(is_shown).collect();
    let faults = unsettled(&survey, &network, &adjusted, &shown);
    if faults.stop() {
        return Err(NothingSettled { faults });
    }
    let subjects: Vec<TrailSubjects> =
        paths.iter().map(|path| subjects(&survey, path, &adjusted, wanted.all_metrics)).collect();
    let task = Task::new(&adjusted, &ground, &paths, &subjects, wanted.seed);
    let trails = draw_all(&task, draws, progress, |trail, drawn| {
        result(&survey, (&network, &adjusted.common), &paths[trail], &subjects[trail], drawn)
    });
    let compared = if wanted.compare_methods {
        let all = Method::ALL.iter();
        all.map(|&method| by_method(&survey, &network, &ground, (method, wanted.all_metrics)))
            .collect()
    } else {
        Vec::new()
    };
    let (asked, space, precisions) = (OnceLock::new(), OnceLock::new(), OnceLock::new());
    Ok(Analysis {
        survey,
        wanted,
        network,
        adjusted,
        paths,
        trails,
        shown,
        compared,
        asked,
        space,
        precisions,
        findings: OnceLock::new(),
    })
}

/// The metrics of every trail by a method, without intervals; none where it does not settle.
fn by_method(
    survey: &Survey,
    network: &Network,
    ground: &Ground,
    (method, all_metrics): (Method, bool),
) -> ByMethod {
    let adjusted = adjust(network, &survey.settings.precision, ground, method, false);
    let of = |path: &Path| {
        let subjects = subjects(survey, path, &adjusted, all_metrics);
        result(survey, (network, &adjusted.common), path, &subjects, &DrawnTrail::default()).metrics
    };
    paths(survey, network, &adjusted).iter().map(of).collect()
}

/// A warning for each part that did not settle, at the leg that moved most; errors where none of
/// the trails settled that are `shown`.
pub fn unsettled(
    survey: &Survey,
    network: &Network,
    adjusted: &Adjusted,
    shown: &[bool],
) -> Faults {
    let mut faults = Faults::default();
    let stuck = |trail: usize| adjusted.unsettled.iter().any(|part| part.trails.contains(&trail));
    let mut asked = (0..network.trails.len()).filter(|&trail| shown[trail]).peekable();
    let all = asked.peek().is_some() && asked.all(stuck);
    let severity = if all { Severity::Error } else { Severity::Warning };
    for part in &adjusted.unsettled {
        let names = part.trails.iter().map(|&trail| survey.text(network.trails[trail].name));
        let names = names.collect::<Vec<_>>().join(", ");
        let (place, leg) = leg_of(survey, network, part.line);
        faults
            .report(Code::NotSettled, severity, place)
            .found(format!("{leg} still moves most when the adjustment of {names} is given up"))
            .expected("an adjustment that settles")
            .hint(format!(
                "a slip there or near it is likely; until then all that rests on the positions \
                 of {names} is blank"
            ));
    }
    faults
}

/// Where a leg or tie was written down, and its ends in words.
fn leg_of(survey: &Survey, network: &Network, line: usize) -> (Place, String) {
    let Some(line) = network.lines.get(line) else {
        return (survey.grids.anchors.whole(), String::from("a point without legs"));
    };
    let name = |node: usize| survey.text(network.nodes[node].name);
    let ends = format!("{} to {}", name(line.from), name(line.to));
    match line.written {
        Written::Anchor(row) => {
            (survey.anchor_place(survey.anchors[row].row, "anchor"), format!("leg {ends}"))
        }
        Written::Tie(row) => (survey.tie_place(survey.ties[row].row, "to"), format!("tie {ends}")),
    }
}
