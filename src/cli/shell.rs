//! Completions and manual pages, made from the command line's own description.

use clap::CommandFactory;

use super::args::Args;
use super::out;
use crate::error::{Error, Result};

/// Prints completions.
pub fn completions(shell: clap_complete::Shell) -> Result<()> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Args::command(), "cuelane", &mut text);
    out::result(&String::from_utf8_lossy(&text))
}

/// Prints a manual page: the program's, or one command's.
pub fn man(page: Option<&str>) -> Result<()> {
    let mut program = Args::command();
    program.build();
    let command = match page {
        None => program,
        Some(name) => match program.find_subcommand(name) {
            Some(command) => command.clone(),
            None => {
                let names: Vec<&str> = program
                    .get_subcommands()
                    .map(clap::Command::get_name)
                    .collect();
                return Err(Error::input(format!("there is no command {name:?}"))
                    .at("man")
                    .accepted(names.join(", "))
                    .example("cuelane man export"));
            }
        },
    };
    let mut text = Vec::new();
    (clap_mangen::Man::new(command).render(&mut text)).map_err(|error| out::broken(&error))?;
    out::result(&String::from_utf8_lossy(&text))
}
