//! A squad's file: whose plans, and where their tracks go.

use super::document::{Section, SourceText};
use super::{name_of, read_text};
use crate::error::{Error, Place, Result};
use crate::model::wishes::Said;

/// A swimmer of a squad.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// The swimmer's file, where it is not the plan's.
    pub swimmer: Option<String>,
    /// The plan's file.
    pub plan: String,
    /// The log, where it is not the plan's.
    pub log: Option<String>,
    /// The folder for the tracks.
    pub folder: String,
    /// Where it stands in the file.
    pub at: Option<Place>,
}

impl Member {
    /// The refusal of a folder that another swimmer of the squad has already.
    pub fn shares(&self, other: &Self) -> Error {
        Error::input(format!(
            "found the folder {:?} again; {} has it already",
            self.folder, other.plan
        ))
        .at_place(self.at.as_ref())
        .accepted("a folder for each swimmer")
        .example("folder = \"tracks/sam\"")
    }
}

/// Reads a squad's file; `-` is standard input.
///
/// # Errors
/// When it cannot be read or does not hold.
pub fn read_squad(file: &str) -> Result<Vec<Member>> {
    let file = name_of(file);
    parse_squad(file, &read_text(file)?)
}

/// Parses a squad's text; `file` is the name for messages.
///
/// # Errors
/// When the text does not hold, or two swimmers share a folder.
pub fn parse_squad(file: &str, text: &str) -> Result<Vec<Member>> {
    const EXAMPLE: &str = "[[swimmer]]\nplan   = \"alex-plan.toml\"\nfolder = \"tracks/alex\"";
    let source = SourceText::new(file, text.to_string());
    let document = source.parse()?;
    let top = Section::top(&source, &document);
    top.only(&["format", "swimmer"])?;
    top.format_1()?;
    let mut members: Vec<Member> = Vec::new();
    for (place, section) in top.sections("swimmer", "swimmer")? {
        section.only(&["plan", "folder", "swimmer", "log"])?;
        let text =
            |key: &str| Ok::<_, Error>(section.text(key)?.map(|said: Said<String>| said.value));
        let needed = |key: &str| {
            text(key)?.ok_or_else(|| {
                Error::input(format!("the key {key} is missing"))
                    .at(&place)
                    .accepted("plan and folder; swimmer and log where they are not the plan's")
                    .example(EXAMPLE)
            })
        };
        let member = Member {
            swimmer: text("swimmer")?,
            plan: needed("plan")?,
            log: text("log")?,
            folder: needed("folder")?,
            at: Some(place.clone()),
        };
        if let Some(other) = members.iter().find(|other| other.folder == member.folder) {
            return Err(member.shares(other));
        }
        members.push(member);
    }
    if members.is_empty() {
        Err(Error::input("there is no swimmer in this squad")
            .at(file)
            .accepted("one [[swimmer]] for each, with plan and folder")
            .example(EXAMPLE))
    } else {
        Ok(members)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_squad_lists_plans_and_folders() {
        let one = "[[swimmer]]\nplan = \"a.toml\"\nfolder = \"tracks/a\"\n";
        let squad = parse_squad("squad.toml", one).expect("holds");
        assert_eq!(
            (squad[0].plan.as_str(), squad[0].folder.as_str()),
            ("a.toml", "tracks/a")
        );
        for (text, words) in [
            (String::new(), "no swimmer"),
            (format!("{one}{one}"), "again"),
            (one.replace("folder", "folders"), "did you mean \"folder\"?"),
            (one.replace("plan = \"a.toml\"\n", ""), "plan is missing"),
        ] {
            let error = parse_squad("squad.toml", &text)
                .expect_err(words)
                .to_string();
            assert!(
                error.contains(words) && error.starts_with("squad.toml"),
                "{error}"
            );
        }
    }
}
