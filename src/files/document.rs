//! A TOML document read key by key, every refusal with its place.

use std::ops::Range;
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::error::{Error, Place, Result};
use crate::model::wishes::Said;
use crate::units::{Fix, Quantity};

use super::examples::example_of;
use super::key_value::{Bounds, KeyValue, nearest, quoted, shown};

/// A file's name and text: turns byte ranges into places.
pub struct SourceText {
    file: Arc<str>,
    text: String,
}

impl SourceText {
    pub fn new(file: &str, text: String) -> Self {
        Self {
            file: file.into(),
            text,
        }
    }

    /// Line and column of a byte range's start.
    pub fn place(&self, span: &Range<usize>) -> Place {
        let before = self.text.get(..span.start).unwrap_or(&self.text);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Place {
            file: self.file.clone(),
            line: 1 + before.matches('\n').count(),
            column: 1 + before[line_start..].chars().count(),
        }
    }

    /// Parses the whole document.
    pub fn parse(&self) -> Result<DeTable<'_>> {
        let parsed = DeTable::parse(&self.text).map_err(|error| {
            let span = error.span().unwrap_or(0..0);
            // Parser messages may run over lines; the first says what is wrong.
            let message = error.message().lines().next().unwrap_or_default();
            Error::input(format!("not TOML: {message}"))
                .at(self.place(&span))
                .accepted("lines of key = value; words and quantities in quotes")
                .example("rate = \"54 spm\"")
        })?;
        Ok(parsed.into_inner())
    }
}

/// One table of a document. `path` names it in messages: empty at the top, else `set 3` or so.
pub struct Section<'a> {
    source: &'a SourceText,
    path: String,
    table: &'a DeTable<'a>,
}

impl<'a> Section<'a> {
    pub fn top(source: &'a SourceText, table: &'a DeTable<'a>) -> Self {
        Self {
            source,
            path: String::new(),
            table,
        }
    }

    /// Refuses every key that is not `known`, with the nearest known one.
    pub fn only(&self, known: &[&str]) -> Result<()> {
        for key in self.table.keys() {
            let found: &str = key.get_ref();
            if known.contains(&found) {
                continue;
            }
            let near = nearest(found, known);
            let meant = near
                .map(|near| format!("; did you mean \"{near}\"?"))
                .unwrap_or_default();
            // Inside an inline table the whole table is the example: a line of it is none.
            let table = self.path.rsplit(", ").next().and_then(example_of);
            let table = table.filter(|example| !example.starts_with('['));
            let mut keys = near.into_iter().chain(known.iter().copied());
            let example = table.or_else(|| keys.find_map(example_of));
            return Err(self
                .within(Error::input(format!(
                    "unknown key {}{meant}",
                    quoted(found)
                )))
                .at(self.source.place(&key.span()))
                .accepted(known.join(", "))
                .example(example.unwrap_or(known[0])));
        }
        Ok(())
    }

    /// Refuses a `format` that is not 1: a later program wrote the file.
    pub fn format_1(&self) -> Result<()> {
        match self.entry("format") {
            None => Ok(()),
            Some(entry) if matches!(entry.value, DeValue::Integer(n) if n.as_str() == "1") => {
                Ok(())
            }
            Some(entry) => Err(entry
                .refuse(format!(
                    "found {}, a format this version does not know",
                    shown(entry.value)
                ))
                .accepted("1")
                .example("format = 1")),
        }
    }

    /// The refusal of a table that lacks a key.
    pub fn missing(&self, key: &str) -> Error {
        self.within(Error::input(format!("the key {key} is missing")))
            .at(&self.source.file)
    }

    pub fn entry(&self, key: &str) -> Option<KeyValue<'a>> {
        let value = self.table.get(key)?;
        Some(KeyValue {
            value: value.get_ref(),
            place: self.source.place(&value.span()),
            path: if self.path.is_empty() {
                key.into()
            } else {
                format!("{}, {key}", self.path)
            },
        })
    }

    /// One line of free text; runs of white space count as one space.
    pub fn text(&self, key: &str) -> Result<Option<Said<String>>> {
        self.read(key, |entry| {
            let example = entry.example("\"Easy\"");
            let text = entry.string("a text in quotes", &example)?;
            let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
            let count = text.chars().count();
            let found = match text.chars().find(|c| c.is_control()) {
                _ if text.is_empty() => "an empty text".to_string(),
                Some(c) => format!(
                    "{}, with {}, which cannot be shown",
                    quoted(&text),
                    c.escape_unicode()
                ),
                None if count > LONGEST_TEXT => format!("{count} characters, too long"),
                None => return Ok(text),
            };
            Err(entry
                .refuse(format!("found {found}"))
                .accepted(format!("1 to {LONGEST_TEXT} characters that can be shown"))
                .example(example))
        })
    }

    pub fn quantity<Q: Quantity>(&self, key: &str) -> Result<Option<Said<Q>>> {
        self.read(key, |entry| entry.quantity())
    }

    /// One of a few words.
    pub fn word<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Result<Option<Said<T>>> {
        self.read(key, |entry| entry.word(words))
    }

    pub fn decimal(&self, key: &str, bounds: Bounds) -> Result<Option<Said<Fix>>> {
        self.read(key, |entry| entry.decimal(bounds))
    }

    pub fn count(&self, key: &str, least: u64, most: u64) -> Result<Option<Said<u64>>> {
        self.read(key, |entry| entry.count(least, most))
    }

    pub fn switch(&self, key: &str) -> Result<Option<Said<bool>>> {
        self.read(key, |entry| match entry.value {
            DeValue::Boolean(value) => Ok(*value),
            other => Err(entry
                .refuse(format!("found {}", shown(other)))
                .accepted("true or false")
                .example(format!("{key} = true"))),
        })
    }

    /// A table under a key.
    pub fn section(&self, key: &str, example: &str) -> Result<Option<Section<'a>>> {
        match self.entry(key) {
            None => Ok(None),
            Some(entry) => self.section_of(&entry, example).map(Some),
        }
    }

    /// The table that an entry is.
    pub fn section_of(&self, entry: &KeyValue<'a>, example: &str) -> Result<Section<'a>> {
        match entry.value {
            DeValue::Table(table) => Ok(Section {
                source: self.source,
                path: entry.path.clone(),
                table,
            }),
            other => Err(entry
                .refuse(format!("found {}", shown(other)))
                .accepted("a table")
                .example(example)),
        }
    }

    /// The items of the array that an entry is, each as an entry of its own.
    pub fn items_of(
        &self,
        entry: &KeyValue<'a>,
        accepted: &str,
        example: &str,
    ) -> Result<Vec<KeyValue<'a>>> {
        match entry.value {
            DeValue::Array(items) => Ok(items
                .iter()
                .map(|item| KeyValue {
                    value: item.get_ref(),
                    place: self.source.place(&item.span()),
                    path: entry.path.clone(),
                })
                .collect()),
            other => Err(entry
                .refuse(format!("found {}", shown(other)))
                .accepted(accepted)
                .example(example)),
        }
    }

    /// An array of tables under a key, each with the place of its header.
    pub fn sections(&self, key: &str, each: &str) -> Result<Vec<(Place, Section<'a>)>> {
        let Some(entry) = self.entry(key) else {
            return Ok(Vec::new());
        };
        let wrong = || {
            (entry.refuse(format!("found {}", shown(entry.value))))
                .accepted(format!("one [[{key}]] for each {each}"))
                .example(format!("[[{key}]]"))
        };
        let DeValue::Array(items) = entry.value else {
            return Err(wrong());
        };
        let section = |(index, item): (usize, &'a Spanned<DeValue<'a>>)| match item.get_ref() {
            DeValue::Table(table) => Ok((
                self.source.place(&item.span()),
                Section {
                    source: self.source,
                    path: format!("{each} {}", index + 1),
                    table,
                },
            )),
            _ => Err(wrong()),
        };
        items.iter().enumerate().map(section).collect()
    }

    /// Reads a key by `read` where it is there; the error gets the place and the key's path.
    pub fn read<T>(
        &self,
        key: &str,
        read: impl FnOnce(&KeyValue<'a>) -> Result<T>,
    ) -> Result<Option<Said<T>>> {
        let Some(entry) = self.entry(key) else {
            return Ok(None);
        };
        Ok(Some(Said {
            value: read(&entry)?,
            at: Some(entry.place),
        }))
    }

    fn within(&self, error: Error) -> Error {
        if self.path.is_empty() {
            error
        } else {
            error.within(&self.path)
        }
    }
}

/// The longest title, name or spoken line, in characters.
const LONGEST_TEXT: usize = 1000;
