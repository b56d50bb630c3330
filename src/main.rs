//! The command line: parse, resolve, one library call, print.

mod cli;

fn main() -> std::process::ExitCode {
    cli::run()
}
