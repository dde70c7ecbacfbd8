//! Session files, and the presets inside the program.

use super::document::{Section, SourceText};
use super::keys::{names_on, read_session_keys, read_wishes};
use super::presets::{PRESETS, preset};
use super::{STANDARD_INPUT, name_of, read_text};
use crate::error::{Error, Result};
use crate::model::keys::Level;
use crate::model::wishes::{Said, Session, Wishes, said};

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
    let near = super::key_value::nearest(name, &names)
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
        super::key_value::quoted(name)
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
    let source = SourceText::new(file, text.to_string());
    let document = source.parse()?;
    let top = Section::top(&source, &document);
    let own = names_on(Level::Session);
    top.only(&[&["format"], &own[..], &["defaults", "set"]].concat())?;
    top.format_1()?;
    let defaults = match top.section("defaults", "[defaults]")? {
        Some(section) => {
            section.only(&names_on(Level::Defaults))?;
            read_wishes(&section)?
        }
        None => Wishes::default(),
    };
    let of_a_set = names_on(Level::Set);
    let mut sets = Vec::new();
    for (place, section) in top.sections("set", "set")? {
        section.only(&of_a_set)?;
        sets.push(Said {
            value: read_wishes(&section)?,
            at: Some(place),
        });
    }
    if sets.is_empty() {
        return Err(Error::input("there is no set in this session")
            .at(file)
            .accepted("one or more [[set]] tables, each with a swim")
            .example("[[set]]\nswim = \"45 s\"\nrate = \"54 spm\""));
    }
    let keys = read_session_keys(&top)?;
    Ok(Session {
        source: file.to_string(),
        title: keys.title.or_else(|| said(title_from(file))),
        defaults,
        sets,
        ..keys
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
