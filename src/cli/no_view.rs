//! `view` in a program that was built without it.

use super::Failure;
use super::args::ViewArgs;
use super::terminal::Terminal;

pub(super) fn run(_: &ViewArgs, _: &mut Terminal) -> Result<(), Failure> {
    Err(Failure::Usage(
        "this program was built without the view; build it without --no-default-features. Figures \
         and the report are there: perchline figure, perchline rebuild"
            .to_owned(),
    ))
}
