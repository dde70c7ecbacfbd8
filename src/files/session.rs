//! Session files, and the presets inside the program.

use super::doc::{Section, Source};
use super::entry::Entry;
use super::keys::{SET_KEYS, read_layer};
use super::presets::{PRESETS, preset};
use super::{STANDARD_INPUT, name_of, read_text};
use crate::error::{Error, Result};
use crate::model::layer::{Layer, Said, Session};
use crate::model::session::BedWish;
use toml::de::DeValue;

/// Loads what the person named: a path has a slash or ends in .toml (or is `-`), a bare name is a preset.
///
/// # Errors
/// When the file cannot be read or does not hold, or no preset has the name.
pub fn load_session(name: &str) -> Result<Session> {
    let is_path = name == "-" || name.contains(['/', '\\']) || name.ends_with(".toml");
    if is_path {
        return read_session(name);
    }
    if let Some(preset) = preset(name) {
        return parse_session(name, preset.text);
    }
    let names: Vec<&str> = PRESETS.iter().map(|preset| preset.name).collect();
    let near = super::entry::nearest(name, &names)
        .map(|near| format!("; did you mean {near}?"))
        .unwrap_or_default();
    let file_here = match [name.to_string(), format!("{name}.toml")]
        .into_iter()
        .find(|file| std::path::Path::new(file).is_file())
    {
        Some(file) => format!("; for the file in this folder write ./{file}"),
        None => String::new(),
    };
    Err(Error::input(format!(
        "no preset is called {}{near}{file_here}",
        super::entry::quoted(name)
    ))
    .accepted("a preset's name (cuelane list presets), or the path of a .toml file")
    .example("cuelane show ./evening.toml"))
}

/// Reads a session file; `-` is standard input.
///
/// # Errors
/// When it cannot be read or does not hold.
pub fn read_session(file: &str) -> Result<Session> {
    let file = name_of(file);
    parse_session(file, &read_text(file)?)
}

/// Parses a session's text; `file` is the name for messages.
///
/// # Errors
/// When the text does not hold.
pub fn parse_session(file: &str, text: &str) -> Result<Session> {
    let source = Source::new(file, text.to_string());
    let document = source.parse()?;
    let top = Section::top(&source, &document);
    top.only(&[
        "format", "title", "for", "lead_in", "opening", "sounds", "bed", "defaults", "set",
    ])?;
    top.format_1()?;
    let defaults = match top.section("defaults", "[defaults]")? {
        Some(section) => {
            section.only(&SET_KEYS)?;
            read_layer(&section)?
        }
        None => Layer::default(),
    };
    let mut sets = Vec::new();
    for (place, section) in top.sections("set", "set")? {
        section.only(&SET_KEYS)?;
        sets.push(Said {
            value: read_layer(&section)?,
            at: Some(place),
        });
    }
    if sets.is_empty() {
        return Err(Error::input("there is no set in this session")
            .at(file)
            .accepted("one or more [[set]] tables, each with a swim")
            .example("[[set]]\nswim = \"45 s\"\nrate = \"54 spm\""));
    }
    Ok(Session {
        source: file.to_string(),
        title: top
            .text("title")?
            .map_or_else(|| title_from(file), |said| said.value),
        for_whom: top.text("for")?.map(|said| said.value),
        lead_in: top.quantity("lead_in")?,
        opening: top.switch("opening")?,
        sounds: top.text("sounds")?,
        bed: top.read("bed", |entry| bed(&top, entry))?,
        defaults,
        sets,
    })
}

/// The file of a bed, or a table of file and once.
fn bed<'a>(section: &Section<'a>, entry: &Entry<'a>) -> Result<BedWish> {
    const EXAMPLE: &str = "bed = \"waves.ogg\"";
    if !matches!(entry.value, DeValue::Table(_)) {
        let file = entry.string(
            "the path of a sound file, or a table of file and once",
            EXAMPLE,
        )?;
        return Ok(BedWish {
            file: file.to_string(),
            once: false,
        });
    }
    let table = section.section_of(entry, EXAMPLE)?;
    table.only(&["file", "once"])?;
    let file = table.text("file")?.ok_or_else(|| {
        (entry.refuse("a bed needs a file"))
            .accepted("the path of a sound file")
            .example(EXAMPLE)
    })?;
    Ok(BedWish {
        file: file.value,
        once: table.switch("once")?.is_some_and(|said| said.value),
    })
}

/// A session without a title is called as its file is.
fn title_from(file: &str) -> String {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    match name.trim_end_matches(".toml") {
        "" | STANDARD_INPUT => "Session".into(),
        stem => stem.chars().filter(|c| !c.is_control()).collect(),
    }
}
