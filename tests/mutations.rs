//! Sessions and swimmers spoilt at random: whatever stands in a file, reading it gives a result or
//! a refusal that names the file, never a panic.

use crate::support::edits::{Edit, SESSION, SWIMMER, apply};
use cuelane::error::Error;
use cuelane::files::{PRESETS, parse_session, parse_swimmer};
use cuelane::model::resolve::resolve;
use cuelane::model::wishes::Wishes;
use cuelane::timeline::{Schedule, Timeline};
use proptest::prelude::*;

/// Up to eight changes of a text; a failure shrinks to few and small ones.
fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let edit = any::<(u8, u32, u32)>().prop_map(|(kind, at, with)| Edit { kind, at, with });
    proptest::collection::vec(edit, 1..8)
}

fn spoilt(text: &str, other: &str, edits: &[Edit]) -> String {
    let mut text = text.to_string();
    for edit in edits {
        apply(&mut text, other, *edit);
    }
    text
}

/// Reads a session for a swimmer, down to its first events.
fn lay_out(session: &str, swimmer: &str) -> Result<(), Error> {
    let session = parse_session("evening.toml", session)?;
    let swimmer = parse_swimmer("alex.toml", swimmer)?;
    let resolved = resolve(&session, Some(&swimmer), &Wishes::default())?;
    let schedule = Schedule::new(&resolved)?;
    let timeline = Timeline::new(&resolved, &schedule, 44_100);
    let frames: Vec<u64> = timeline
        .events()
        .take(100)
        .map(|event| event.frame)
        .collect();
    assert!(frames.is_sorted(), "events stand in order: {frames:?}");
    Ok(())
}

/// A refusal begins with one of the files, is one person's bad input, and has no control characters.
fn refusal_holds(error: &Error) -> Result<(), TestCaseError> {
    let message = error.to_string();
    let named = message.starts_with("evening.toml:") || message.starts_with("alex.toml:");
    prop_assert!(named, "no file is named: {message}");
    prop_assert_eq!(error.exit_code(), 2);
    let shown = message.chars().any(|c| c.is_control() && c != '\n');
    prop_assert!(!shown, "a control character is shown: {message:?}");
    Ok(())
}

#[test]
fn the_texts_that_are_spoilt_hold() {
    lay_out(SESSION, SWIMMER).expect("every key holds");
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(2000)
    })]

    #[test]
    fn a_spoilt_session_holds_or_is_refused_by_name(edits in edits()) {
        let text = spoilt(SESSION, SWIMMER, &edits);
        if let Err(error) = lay_out(&text, SWIMMER) {
            refusal_holds(&error)?;
        }
    }

    #[test]
    fn a_spoilt_preset_holds_or_is_refused_by_name(which in 0..PRESETS.len(), edits in edits()) {
        let text = spoilt(PRESETS[which].text, SESSION, &edits);
        if let Err(error) = lay_out(&text, SWIMMER) {
            refusal_holds(&error)?;
        }
    }

    #[test]
    fn a_spoilt_swimmer_holds_or_is_refused_by_name(edits in edits()) {
        let text = spoilt(SWIMMER, SESSION, &edits);
        if let Err(error) = lay_out(SESSION, &text) {
            refusal_holds(&error)?;
        }
    }
}
