//! `manual`: man pages of the program and of every command.

use super::args::{Arguments, ManualArguments};
use super::failure::Failure;
use clap::{Command, CommandFactory};
use trochoid::report::{prepare_folder, write_whole};

/// Pages as (file name, text): the program first, then its commands in their order.
fn pages() -> std::io::Result<Vec<(String, Vec<u8>)>> {
    let mut program = Arguments::command().disable_help_subcommand(true);
    program.build();
    let render = |command: Command, name: &str| -> std::io::Result<(String, Vec<u8>)> {
        let mut text = Vec::new();
        // A page is named with a dash, as `man` looks it up; it shows the command as it is typed.
        clap_mangen::Man::new(command)
            .title(name.to_uppercase())
            .source(concat!("trochoid ", env!("CARGO_PKG_VERSION")))
            .render(&mut text)?;
        Ok((format!("{name}.1"), text))
    };
    let mut out = vec![render(program.clone(), "trochoid")?];
    for command in program.get_subcommands().filter(|c| !c.is_hide_set()) {
        let name = format!("trochoid-{}", command.get_name());
        out.push(render(command.clone(), &name)?);
    }
    Ok(out)
}

pub(crate) fn run(arguments: &ManualArguments) -> Result<(), Failure> {
    let pages = pages().map_err(|e| Failure::Unanswered(format!("the man pages cannot be made: {e}")))?;
    prepare_folder(&arguments.dir)?;
    for (name, text) in &pages {
        write_whole(&arguments.dir.join(name), text)?;
    }
    tell!("wrote {} pages; read one with: man -l {}", pages.len(), arguments.dir.join("trochoid.1").display());
    Ok(())
}
