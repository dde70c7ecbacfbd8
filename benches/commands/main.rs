//! Whole commands on this machine: against others that do comparable work, with growing length,
//! and how fast they start. Prints Markdown tables; `make bench` shows them.
//!
//! A word after `cargo bench --bench commands --` runs only the table whose name contains it:
//! `rivals`, `growth`, `sounding`, `start`, `squad`, `rows` or `film`. Needs about 5 GB on the disk that holds the
//! target folder.
#![allow(clippy::print_stdout)] // the tables are what this program is for
#![allow(clippy::too_many_lines)] // a table is laid out, filled and printed in one go

mod film;
mod growth;
mod machine;
mod rivals;
mod rows;
mod run;
#[path = "../shared/mod.rs"]
mod shared;
mod sounding;
mod squad;
mod start;

use std::path::Path;

fn main() {
    let mut words = std::env::args().skip(1);
    if !words.any(|word| word == "--bench") {
        println!("not measured: this is for cargo bench");
        return;
    }
    let wanted = std::env::args().skip(1).find(|word| !word.starts_with('-'));
    let scratch = Path::new(env!("CARGO_TARGET_TMPDIR"));
    std::fs::create_dir_all(scratch).expect("the target folder can be written");
    let folder = tempfile::tempdir_in(scratch).expect("the target folder can be written");
    type Table = (&'static str, fn(&Path));
    let tables: [Table; 7] = [
        ("rivals", rivals::table),
        ("growth", growth::table),
        ("sounding", sounding::table),
        ("start", start::table),
        ("squad", squad::table),
        ("rows", rows::table),
        ("film", film::table),
    ];
    let chosen = tables.iter().filter(|(name, _)| {
        let wanted = wanted.as_deref();
        wanted.is_none_or(|wanted| name.contains(wanted))
    });
    for (index, (_, table)) in chosen.enumerate() {
        if index == 0 {
            machine::describe();
        }
        table(folder.path());
    }
}
