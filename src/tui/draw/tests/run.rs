//! A set that is run by keys: times, results, who leaves next.

use super::*;

/// A time in s, as a result has it.
fn time_s(swum: &SwumResult) -> f64 {
    let time = swum.time.as_ref().expect("a time was taken");
    crate::units::to_f64(time.s())
}

#[test]
fn a_time_is_taken_whatever_the_screen_shows_and_can_be_taken_back() {
    for before in ["", "?", "q", "r"] {
        let mut deck = Deck::new();
        deck.press(" ");
        // The first swim: from 60 s to 122.5 s.
        deck.run(110.0);
        deck.press(before);
        deck.press("c");
        let (of, swum) = deck.results.last().cloned().expect(before);
        assert_eq!(of, (0, 0));
        let swum = swum.expect("a result");
        assert!((time_s(&swum) - 50.0).abs() < 0.01, "{before}: {swum:?}");
        deck.key(KeyCode::Esc);
        assert!(
            deck.screen(80, 24)
                .contains("Settle 1: Alex Example 50.0 s")
        );
        deck.press("u");
        assert_eq!(deck.results, [((0, 0), None)], "{before}");
        assert!(deck.screen(80, 24).contains("Taken back."));
        deck.run(1.0);
        assert!(
            deck.screen(80, 24).contains("Swimming 0:51"),
            "{}",
            deck.screen(80, 24)
        );
    }
}

#[test]
fn results_are_entered_while_the_next_swim_sounds_and_stay_with_their_own() {
    let mut deck = Deck::of(SESSION, &["Alex Example", "Bo Example"], 5);
    deck.press(" ");
    deck.run(105.0);
    deck.press("c");
    deck.run(2.0);
    deck.press("c");
    deck.press("r");
    assert!(deck.screen(132, 40).contains("Results: Settle, repeat 1"));
    deck.run(46.0);
    // The second swim has begun. Names change places; strokes of each.
    for key in ["^", "^", ">", "v", "v", "4", "4", "!"] {
        deck.key(match key {
            "^" => KeyCode::Up,
            "v" => KeyCode::Down,
            ">" => KeyCode::Right,
            "!" => KeyCode::Enter,
            digit => KeyCode::Char(digit.chars().next().expect("a digit")),
        });
    }
    let of = |deck: &Deck, who: usize| {
        let found = deck.results.iter().find(|(of, _)| *of == (0, who));
        found.and_then(|(_, swum)| swum.clone()).expect("a result")
    };
    let (alex, bo) = (of(&deck, 0), of(&deck, 1));
    // In at 45 and 47 s after the first go: who left second came in first.
    assert!((time_s(&alex) - 47.0).abs() < 0.05, "{alex:?}");
    assert!((time_s(&bo) - 40.0).abs() < 0.05, "{bo:?}");
    assert_eq!(
        bo.entered.strokes.as_ref().map(ToString::to_string),
        Some("44".into())
    );
    assert_eq!(alex.entered.strokes, None);
    assert_eq!((alex.repeat, alex.again, alex.stopped), (1, false, false));
}

#[test]
fn a_swim_that_was_stopped_is_no_result_until_somebody_times_it() {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(80.0);
    deck.press("n");
    deck.run(5.0);
    assert!(deck.results.is_empty());
    deck.press("c");
    let (_, swum) = deck.results.last().cloned().expect("a time");
    assert!(swum.is_some_and(|swum| swum.stopped));
    // Later than the next start nothing of it can be taken back.
    deck.run(70.0);
    deck.press("u");
    assert!(
        deck.screen(80, 24).contains("Too late"),
        "{}",
        deck.screen(80, 24)
    );
}

#[test]
fn the_screen_says_who_leaves_next_as_long_as_somebody_will() {
    let mut deck = Deck::of(SESSION, &["Alex Example", "Bo Example"], 5);
    deck.press(" ");
    deck.run(61.0);
    assert!(deck.screen(80, 24).contains("Bo Example leaves in 0:04"));
    deck.press("n");
    deck.run(1.0);
    let ended = deck.screen(80, 24);
    assert!(
        ended.contains("Start in") && !ended.contains("leaves in"),
        "{ended}"
    );
}

#[test]
fn the_screen_says_by_how_much_the_session_runs_early() {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(30.0);
    deck.press("n");
    let screen = deck.screen(80, 24);
    assert!(
        screen.contains("Start in 0:09") && screen.contains("0:22 early"),
        "{screen}"
    );
}
