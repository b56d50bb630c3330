//! `completions`: the script that completes commands and options in a shell.

use super::args::{Arguments, CompletionsArguments};
use super::failure::Failure;
use clap::CommandFactory;

pub(crate) fn run(arguments: &CompletionsArguments) -> Result<(), Failure> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "trochoid", &mut script);
    super::print_out(&String::from_utf8_lossy(&script))
}
