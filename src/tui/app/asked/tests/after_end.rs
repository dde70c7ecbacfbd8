//! What is asked for after the end of a session, and as it begins anew.

use ratatui::crossterm::event::KeyCode;

use super::{SESSION, all_of, ask, asked, both_in};
use crate::tui::away::Ask;
use crate::tui::draw::tests::Deck;

/// Two swims, and the second is over.
fn over() -> Deck {
    let session = SESSION.replace("repeats = 4", "repeats = 1");
    let mut deck = both_in(Deck::of(&session, &["Alex Example", "Bo Example"], 5));
    deck.run(60.0);
    assert!(deck.app.is_over());
    deck
}

#[test]
fn after_the_end_what_is_asked_for_does_what_its_key_does() {
    for (key, wish) in asked(Ask::Run(true)) {
        let [mut by_key, mut by_ask] = [over(), over()];
        by_key.key(key);
        by_key.run(0.1);
        ask(&mut by_ask, wish.clone(), 1);
        assert_eq!(all_of(&mut by_key), all_of(&mut by_ask), "{wish:?}");
    }
}

#[test]
fn after_the_end_silence_changes_nothing_and_to_go_on_is_to_begin_anew() {
    let mut deck = over();
    let standing = deck.app.standing();
    assert!(standing.over && !standing.running);
    let rows = deck.results.clone();
    ask(&mut deck, Ask::Run(false), 1);
    assert!(
        deck.screen(80, 24)
            .contains("The session is over: it is silent.")
    );
    assert_eq!(deck.app.standing(), standing);
    // Not while the laptop enters results of a swim that would be no more.
    deck.press("r");
    ask(&mut deck, Ask::Run(true), 1);
    assert_eq!(deck.app.standing(), standing);
    deck.key(KeyCode::Esc);
    let moment = deck.moment();
    deck.app.ask(&Ask::Run(true), 1, moment);
    // Another hand that wished for the same at the same time.
    deck.app.ask(&Ask::Run(true), 2, moment);
    deck.run(0.1);
    let anew = deck.app.standing();
    assert!(!anew.over && !anew.running, "{anew:?}");
    assert_eq!((anew.starts, anew.results), (0, None));
    assert_eq!(deck.results, rows);
}

#[test]
fn a_session_that_begins_anew_counts_no_swim_of_the_time_before_the_engine_is_there() {
    for by_key in [true, false] {
        let mut deck = over();
        let rows = deck.results.clone();
        deck.app.take_lines();
        if by_key {
            deck.press(" ");
        } else {
            let moment = deck.moment();
            deck.app.ask(&Ask::Run(true), 1, moment);
            deck.pass();
        }
        // The engine has not been asked for a frame since, and a time is taken.
        deck.press("c");
        deck.run(2.0);
        deck.press("c");
        deck.run(1.0);
        assert_eq!(deck.app.standing().starts, 0);
        assert_eq!(deck.results, rows);
        let told = deck.app.take_lines().join("\n");
        assert!(
            !told.contains("start:") && !told.contains("clock: running"),
            "{told}"
        );
        // And it starts as it did the first time.
        deck.press(" ");
        deck.run(61.0);
        let standing = deck.app.standing();
        assert!(standing.running && standing.starts > 0, "{standing:?}");
    }
}
