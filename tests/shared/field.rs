//! A survey from the text of its tables to its adjustment, by the public route.

use perchline::adjustment::closure::Closure;
use perchline::adjustment::network::{Network, build};
use perchline::adjustment::{Adjusted, Method, adjust};
use perchline::results::ground;
use perchline::survey::Survey;
use perchline::survey::fault::Severity;
use perchline::survey::input::source::read_survey;
use std::fs;
use tempfile::TempDir;

/// The tables of a survey as they stand in its folder; a blank one is not written.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tables {
    pub(crate) anchors: String,
    pub(crate) ties: String,
    pub(crate) controls: String,
    pub(crate) settings: String,
}

/// A survey read, built and adjusted.
pub(crate) struct Rebuilt {
    pub(crate) survey: Survey,
    pub(crate) network: Network,
    pub(crate) adjusted: Adjusted,
}

impl Tables {
    /// The survey rebuilt; it must have no error, and settle.
    pub(crate) fn rebuild(&self) -> Rebuilt {
        let folder = TempDir::new().unwrap();
        let files = [
            ("anchors.csv", &self.anchors),
            ("ties.csv", &self.ties),
            ("controls.csv", &self.controls),
            ("survey.toml", &self.settings),
        ];
        for (name, text) in files.iter().filter(|(_, text)| !text.is_empty()) {
            fs::write(folder.path().join(name), text).unwrap();
        }
        let (survey, faults) = read_survey(folder.path(), &[]).unwrap();
        let sorted = faults.sorted();
        let sound = sorted.iter().all(|fault| fault.severity != Severity::Error);
        assert!(sound, "{sorted:#?}\n{self:#?}");
        let network = build(&survey);
        let (ground, _) = ground(&survey, &network);
        let precision = &survey.settings.precision;
        let adjusted = adjust(&network, precision, &ground, Method::LeastSquares, false);
        assert_eq!(adjusted.unsettled, [], "{self:#?}");
        Rebuilt { survey, network, adjusted }
    }
}

impl Rebuilt {
    /// What a node is called.
    pub(crate) fn name(&self, node: usize) -> &str {
        self.survey.text(self.network.nodes[node].name)
    }

    /// The node called `name`.
    pub(crate) fn node(&self, name: &str) -> usize {
        (0..self.network.nodes.len()).find(|&node| self.name(node) == name).unwrap()
    }

    /// The only closure.
    pub(crate) fn closure(&self) -> &Closure {
        let closures = &self.adjusted.closures;
        assert_eq!(closures.len(), 1, "{closures:#?}");
        &closures[0]
    }
}
