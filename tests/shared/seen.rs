//! A survey from the text of its tables to its space, and pictures to look into.

use perchline::adjustment::network::build;
use perchline::products::scene::space;
use perchline::results::progress::Progress;
use perchline::results::{Wanted, analyse};
use perchline::survey::input::source::read_survey;
use perchline::viewer::camera::{Look, Place, Size};
use perchline::viewer::layout::Laid;
use perchline::viewer::marks::Shown;
use perchline::viewer::view::View;
use perchline::viewer::{Rebuilt, framed};
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// Two trails from one known point, one of them up a tree, with a tie that does not close.
pub(crate) const ANCHORS: &str = "\
trail,anchor,tape_m,bearing_deg,height_m,support,tree,seen,gap,escape\n\
A,a0,,,0.2,trunk,,,,\n\
A,a1,6.00,90,0.2,litter,,,,yes\n\
A,a2,6.00,90,0.2,litter,,,,\n\
A,a3,4.00,,4.2,trunk,T1,yes,,\n\
A,a4,5.00,0,4.2,branch,T1,,,\n\
A,a5,5.00,0,4.2,branch,,,lost,\n\
B,b0,,,0.2,litter,,,,\n\
B,b1,7.00,180,0.2,litter,,,,\n\
B,b2,7.00,270,1.2,log,,,,\n";
pub(crate) const TIES: &str = "trail,from,to,tape_m,bearing_deg\nA,a0,a2,12.0,92\n";
pub(crate) const CONTROLS: &str = "control,east_m,north_m\nwest,0,0\nsouth,0,-3\n";
pub(crate) const TRAILS: &str = "trail,animal,release\nA,Moss,west\nB,Fern,south\n";

/// The space of these tables.
pub(crate) fn of_tables(tables: &[(&str, &str)]) -> Rebuilt {
    let folder = TempDir::new().unwrap();
    for (name, text) in tables {
        fs::write(folder.path().join(name), text).unwrap();
    }
    of_folder(folder.path())
}

pub(crate) fn of_folder(folder: &Path) -> Rebuilt {
    let (survey, faults) =
        read_survey(folder, &[("bearings.north".into(), "true".into())]).unwrap();
    assert!(!faults.stop(), "{:#?}", faults.sorted());
    let network = build(&survey);
    let wanted = Wanted { draws: 0, ..Wanted::default() };
    let analysis = analyse(survey, network, wanted, &Progress::default()).unwrap();
    Rebuilt { space: space(&analysis), suspicions: Vec::new(), warnings: Vec::new() }
}

/// The two trails.
pub(crate) fn two_trails() -> Rebuilt {
    of_tables(&[
        ("anchors.csv", ANCHORS),
        ("ties.csv", TIES),
        ("controls.csv", CONTROLS),
        ("trails.csv", TRAILS),
    ])
}

/// A view of all of it.
pub(crate) fn view_of(rebuilt: &Rebuilt, look: Look, size: Size) -> View {
    framed(rebuilt, &View::of(look), size, 0.0)
}

/// Does `with` to what is shown.
pub(crate) fn shown<T>(
    rebuilt: &Rebuilt,
    view: &View,
    size: Size,
    with: impl FnOnce(&Shown<'_>) -> T,
) -> T {
    let laid = Laid::of(&rebuilt.space, view);
    let suspicions = &rebuilt.suspicions;
    with(&Shown { space: &rebuilt.space, laid: &laid, view, suspicions, stale: false, size })
}

/// Where a point of a trail stands in the picture's space.
pub(crate) fn place(rebuilt: &Rebuilt, view: &View, trail: usize, point: usize) -> Place {
    Laid::of(&rebuilt.space, view).points[trail][point]
}
