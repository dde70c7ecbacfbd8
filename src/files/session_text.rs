//! A session as text: the one writer of sessions.

use super::keys::{KeyLine, session_lines, wish_lines};
use crate::model::resolve::{Resolved, Set};
use crate::model::wishes::{Session, Wishes};

/// The text of a session file in which nothing is left open: under any swimmer's file it sounds as
/// it does now. `comment` goes to the top, line by line.
pub fn session_text(comment: &[String], session: &Resolved) -> String {
    let guessed: Vec<bool> = session.sets.iter().map(Set::catch_is_guess).collect();
    written(comment, &session.pinned(), &guessed)
}

/// The text of a session that reads back to the same session, places apart. `guessed` says of each
/// set whether its catch is a guess.
fn written(comment: &[String], session: &Session, guessed: &[bool]) -> String {
    let mut text: String = comment.iter().map(|line| format!("# {line}\n")).collect();
    text.push_str("format = 1\n");
    text.push_str(&lines(session_lines(session), false));
    if session.defaults != Wishes::default() {
        text.push_str("\n[defaults]\n");
        let all = guessed.iter().all(|guess| *guess);
        text.push_str(&lines(wish_lines(&session.defaults), all));
    }
    for (set, guess) in session.sets.iter().zip(guessed) {
        text.push_str("\n[[set]]\n");
        text.push_str(&lines(wish_lines(&set.value), *guess));
    }
    text
}

/// Lines of a table, their equals signs in one column.
fn lines(lines: Vec<KeyLine>, catch_is_guess: bool) -> String {
    let width = lines.iter().map(|(key, _)| key.len()).max().unwrap_or(0);
    let line = |(key, value): &KeyLine| {
        let why = if catch_is_guess && *key == "catch_after_entry" {
            "  # a guess: timing measures it"
        } else {
            ""
        };
        format!("{key:<width$} = {value}{why}\n")
    };
    lines.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{PRESETS, parse_session};

    /// Without places, which the text has of its own.
    fn bare(session: &Session) -> String {
        let shown = format!("{session:?}");
        let mut bare = String::new();
        let mut rest = shown.as_str();
        while let Some(at) = rest.find("at: Some(Place {") {
            bare.push_str(&rest[..at]);
            let end = rest[at..].find("})").map_or(rest.len(), |end| at + end + 2);
            rest = &rest[end..];
        }
        bare + rest
    }

    #[test]
    fn every_preset_reads_back_from_its_text() {
        let page = include_str!("../../docs/session.md");
        let every_key = page.split("# every-key.toml: a session\n").nth(1);
        let every_key = every_key.and_then(|rest| rest.split("```").next());
        let texts = PRESETS.iter().map(|preset| preset.text).chain(every_key);
        let mut count = 0;
        for text in texts {
            let session = parse_session("session.toml", text).expect("a preset holds");
            let guessed = vec![true; session.sets.len()];
            let text = written(&["a comment".into()], &session, &guessed);
            let again = parse_session("session.toml", &text).expect(&text);
            assert_eq!(bare(&again), bare(&session), "{text}");
            count += 1;
        }
        assert_eq!(count, PRESETS.len() + 1);
    }
}
