//! `mark`: writes the page on which a coach marks a film.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::cli::shared::out;
use crate::cli::shared::save::{may_write, save};
use crate::error::{Error, Result};
use crate::mark::page;

/// Arguments of `mark`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  cuelane mark --out mark.html\n  \
                        cuelane timing length-marks.csv")]
pub struct MarkArgs {
    /// The page to write; - is standard output
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Replace a file that is there
    #[arg(long)]
    pub force: bool,
}

/// Runs `mark`.
///
/// # Errors
/// When the file is there already, or cannot be written.
pub fn run(args: &MarkArgs) -> Result<()> {
    let page = page();
    if args.out == Path::new("-") {
        return out::result(&page);
    }
    let file = args.out.display();
    let name = args.out.file_name().and_then(|name| name.to_str());
    if name.is_none() || args.out.is_dir() {
        return Err(Error::input("this names no file")
            .at(file)
            .example("cuelane mark --out mark.html"));
    }
    may_write(&args.out, args.force)?;
    save(&args.out, &page)?;
    out::result(&format!(
        "Wrote {file}.\nOpen it in a browser on laptop or tablet, choose the film of a\n\
         length, mark what you see, and press Save marks. The film stays on that machine.\n\
         Next: cuelane timing with the file of marks that the page saved\n"
    ))
}
