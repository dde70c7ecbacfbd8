//! Completions and manual pages, made from the command line's own description.

use clap::CommandFactory;

use super::args::Args;
use crate::cli::shared::out;
use crate::error::{Error, Result};

/// Prints completions.
pub fn completions(shell: clap_complete::Shell) -> Result<()> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Args::command(), "cuelane", &mut text);
    out::result(&String::from_utf8_lossy(&text))
}

/// Prints a manual page: the program's, or that of the command named word by word.
pub fn man(page: &[String]) -> Result<()> {
    let mut program = Args::command();
    program.build();
    let mut command = &program;
    for word in page {
        command = command.find_subcommand(word).ok_or_else(|| {
            let names: Vec<&str> = command
                .get_subcommands()
                .map(clap::Command::get_name)
                .collect();
            Error::input(format!("there is no command {word:?}"))
                .at("man")
                .accepted(names.join(", "))
                .example("cuelane man export")
        })?;
    }
    let mut text = Vec::new();
    let source = concat!("cuelane ", env!("CARGO_PKG_VERSION"));
    (clap_mangen::Man::new(command.clone())
        .source(source)
        .render(&mut text))
    .map_err(|error| out::broken(&error))?;
    out::result(&String::from_utf8_lossy(&text))
}
