//! Surveys computed with few draws.

use perchline::adjustment::Method;
use perchline::adjustment::network::build;
use perchline::results::progress::Progress;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::input::source::read_survey;
use std::path::Path;

/// A survey in a folder, computed with few draws.
pub(crate) fn analysed(folder: &Path) -> Analysis {
    let (survey, faults) = read_survey(folder, &[]).unwrap();
    assert!(!faults.stop(), "{:#?}", faults.sorted());
    let network = build(&survey);
    let wanted = Wanted { draws: 20, method: Method::LeastSquares, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).unwrap()
}

/// The demo.
pub(crate) fn demo() -> Analysis {
    analysed(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/dormice"))
}
