//! Parses, runs, prints the error, chooses the exit code: nothing else.

use std::process::ExitCode;

fn main() -> ExitCode {
    match cuelane::cli::run(std::env::args_os()) {
        Ok(code) => ExitCode::from(code),
        Err(error) => {
            cuelane::cli::print_error(&error);
            ExitCode::from(error.exit_code())
        }
    }
}
