//! What the program says of itself: help texts whose examples it takes.

use perchline::cli;

/// An example as a shell would hand it over.
fn words(example: &str) -> Vec<String> {
    let outside = |piece: &str| piece.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let pieces = example.split('"').enumerate();
    pieces
        .flat_map(|(at, piece)| if at % 2 == 0 { outside(piece) } else { vec![piece.to_owned()] })
        .collect()
}

#[test]
fn every_command_shows_examples_that_it_takes_and_how_it_ends() {
    let mut shown = 0;
    for command in cli::command().get_subcommands() {
        let name = command.get_name();
        let after = command.get_after_help().unwrap().to_string();
        assert!(after.contains("Exit status: 0 "), "{name}");
        let examples =
            after.lines().filter_map(|line| line.find("perchline ").map(|at| &line[at..]));
        let before = shown;
        for example in examples {
            let taken = cli::command().try_get_matches_from(words(example));
            let taken = taken.unwrap_or_else(|error| panic!("{example}: {error}"));
            assert_eq!(taken.subcommand_name(), Some(name), "{example}");
            shown += 1;
        }
        assert!(shown > before, "{name} shows no example");
    }
    assert!(shown >= 15, "{shown}");
}

#[test]
fn every_option_says_what_it_does() {
    for command in cli::command().get_subcommands() {
        for option in command.get_arguments() {
            assert!(option.get_help().is_some(), "{} {}", command.get_name(), option.get_id());
        }
    }
}
