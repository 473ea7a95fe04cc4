//! Tests of the wing `cli`.

#![expect(
    clippy::disallowed_methods,
    clippy::panic,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../../examples/coverage/made_up/mod.rs"]
#[expect(dead_code, reason = "other tests look at the truth")]
mod made_up;
#[path = "../shared/run.rs"]
mod run;

mod commands;
mod compare_command;
mod durability;
mod every_protocol;
mod help;
mod machine;
mod mutations;
mod names;
mod new;
mod trust_cli;
