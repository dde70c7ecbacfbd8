//! The rate on the screen and in the engine: by hand, for comparison, tapped, taken back.

use super::*;

#[test]
fn a_rate_is_shown_as_it_sounds_whoever_has_set_it() {
    let mut deck = Deck::with(&SESSION.replace("54 spm", "56.3 spm"));
    deck.press(" ");
    deck.run(70.0);
    let of_the_session = deck.screen(80, 24);
    assert!(
        of_the_session.contains("spm, 28.15 cycles/min"),
        "{of_the_session}"
    );
    deck.press("56.3");
    deck.key(KeyCode::Enter);
    deck.run(1.0);
    let by_hand = deck.screen(80, 24);
    assert!(by_hand.contains("spm, 28.15 cycles/min"), "{by_hand}");
}

#[test]
fn a_held_key_stops_at_the_end_of_the_range() {
    let mut deck = in_a_swim();
    for _ in 0..300 {
        deck.key(KeyCode::Up);
        deck.engine.fill(&mut [[0.0; 2]; 8]);
    }
    deck.run(0.5);
    assert_eq!(deck.app.settings().spm, 160.0);
}

#[test]
fn what_a_coach_changed_ends_with_the_set() {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(80.0);
    deck.key(KeyCode::Up);
    deck.app.take_lines();
    let mut told = Vec::new();
    for _ in 0..600 {
        deck.run(1.0);
        let starts = deck.app.take_lines();
        if let Some(start) = starts.iter().find(|line| line.contains(" start: ")) {
            deck.run(1.0);
            told.push((start.clone(), deck.app.settings().spm));
        }
    }
    let rates: Vec<f64> = told.iter().map(|(_, spm)| *spm).collect();
    assert_eq!(rates, [55.0, 55.0, 55.0, 58.0, 58.0], "{told:?}");
    assert_eq!(told[0].0, "2:30 start: Settle, repeat 2 of 4");
}

#[test]
fn a_comparison_is_told_and_keeps_its_rate_out_of_what_is_saved() {
    let mut deck = Deck::with(
        "[[set]]\nrepeats = 3\nswim = \"30 s\"\nrest = \"10 s\"\nrate = \"60 spm\"\n\
         compare = { rate = \"50 spm\", at = [2] }\n",
    );
    deck.press(" ");
    deck.run(70.0);
    deck.key(KeyCode::Up);
    deck.run(5.0);
    assert!(
        deck.screen(80, 24)
            .contains("Then: repeat 2 of 3, for comparison")
    );
    assert_eq!(deck.app.rate_by_hand(), Some(61.0));
    deck.run(40.0);
    let screen = deck.screen(80, 24);
    assert!(screen.contains("repeat 2 of 3, for comparison"), "{screen}");
    assert_eq!(deck.app.settings().spm, 50.0);
    deck.key(KeyCode::Up);
    deck.run(1.0);
    assert_eq!(deck.app.settings().spm, 51.0);
    assert_eq!(deck.app.rate_by_hand(), Some(61.0));
    deck.run(34.0);
    assert_eq!(deck.app.settings().spm, 61.0);
    // What was changed in the comparison has ended with it: the change before that is taken back.
    deck.press("u");
    deck.run(1.0);
    assert_eq!(deck.app.settings().spm, 60.0);
    assert_eq!(deck.app.rate_by_hand(), None);
    deck.press("u");
    assert!(
        deck.screen(80, 24)
            .contains("Nothing to take back in this set.")
    );
}

const COMPARED: &str = "lead_in = \"10 s\"\n[[set]]\nrepeats = 3\nswim = \"50 m\"\npace = \"30 s / 50 m\"\n\
    rest = \"20 s\"\nrate = \"60 spm\"\ncompare = { rate = \"50 spm\", at = [2] }\n";

#[test]
fn a_rate_set_in_the_rest_before_a_comparison_is_its_own_wherever_its_start_is_moved() {
    for keys in ["n", "a", "au", "an"] {
        let mut deck = Deck::with(COMPARED);
        deck.press(" ");
        // In the rest from 40 to 60 s.
        deck.run(42.0);
        for digit in "57".chars() {
            deck.key(KeyCode::Char(digit));
        }
        deck.key(KeyCode::Enter);
        deck.run(2.0);
        for key in keys.chars() {
            deck.key(KeyCode::Char(key));
            deck.run(2.0);
        }
        let is_start = |line: &String| line.contains(" start: Set 1, repeat 2 of 3");
        let begun = (0..150).any(|_| {
            deck.run(1.0);
            deck.app.take_lines().iter().any(is_start)
        });
        deck.run(1.0);
        assert!(begun, "{keys}");
        assert_eq!(deck.app.settings().spm, 57.0, "{keys}");
        assert_eq!(deck.app.rate_by_hand(), None, "{keys}");
    }
}

#[test]
fn a_rate_set_after_an_arrival_is_taken_back_before_it() {
    let mut deck = Deck::with(COMPARED);
    deck.press(" ");
    deck.run(25.0);
    deck.key(KeyCode::Up);
    deck.run(5.0);
    deck.press("c");
    deck.run(3.0);
    // In the rest before the comparison, then back in the swim, then before the change in it.
    deck.key(KeyCode::Up);
    deck.run(1.0);
    assert_eq!(deck.app.settings().spm, 51.0);
    for (spm, is_in) in [(50.0, true), (61.0, false), (60.0, false)] {
        deck.press("u");
        deck.run(1.0);
        assert_eq!(deck.app.settings().spm, spm);
        let screen = deck.screen(80, 24);
        assert_eq!(screen.contains("Start in"), is_in, "{screen}");
    }
    assert_eq!(deck.app.rate_by_hand(), None);
}

#[test]
fn a_ramp_goes_on_where_a_rate_is_taken_back() {
    let mut deck = Deck::with(
        "lead_in = \"5 s\"\n[[set]]\nswim = \"60 s\"\n\
         rate = { from = \"50 spm\", to = \"70 spm\", by = \"time\" }\n",
    );
    deck.press(" ");
    deck.run(25.0);
    deck.key(KeyCode::Up);
    deck.run(10.0);
    // A step from a rate that moves, 17 s into the 57 of the ramp, is one that somebody would say.
    assert_eq!(deck.app.rate_by_hand(), Some(57.0));
    deck.press("u");
    deck.run(10.0);
    assert_eq!(deck.app.rate_by_hand(), None);
    let spm = crate::live::spm(deck.remote.state().view.frequency, RATE_HZ);
    assert!((spm - (50.0 + 20.0 * 37.0 / 57.0)).abs() < 0.2, "{spm}");
}

/// A deck in a swim whose cues follow ten taps, one a cycle of so many seconds.
fn followed(cycle_s: f64) -> Deck {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(66.0);
    deck.press("l");
    for _ in 0..10 {
        deck.press("t");
        deck.run(cycle_s);
    }
    deck
}

#[test]
fn a_rate_that_is_not_followed_any_more_is_one_that_somebody_would_say() {
    let mut deck = followed(2.34);
    assert!(deck.screen(80, 24).contains("; the cues follow"));
    deck.press("l");
    deck.run(0.5);
    let spm = deck.app.settings().spm;
    assert!(spm.fract() == 0.0 || spm.fract() == 0.5, "{spm}");
    assert!((spm - 51.28).abs() < 1.0, "{spm}");
    let sounds = crate::live::spm(deck.remote.state().view.frequency, RATE_HZ);
    assert!((sounds - spm).abs() < 1e-6, "{sounds}");
}

#[test]
fn taps_give_a_rate_that_the_cues_follow() {
    let mut deck = followed(2.4);
    assert!(
        deck.screen(80, 24).contains("Taps: 10: 50.0"),
        "{}",
        deck.screen(80, 24)
    );
    let state = deck.remote.state();
    assert!(state.following);
    let spm = crate::live::spm(state.view.frequency, RATE_HZ);
    assert!((spm - 50.0).abs() < 1.0, "{spm}");
    let phase = state.view.phase.expect("in a swim");
    // The last tap was 2.4 s ago: the first arm is due.
    let off = phase - phase.round();
    assert!(off.abs() < 0.02, "{off}");
    deck.press("l");
    deck.run(0.5);
    assert!(!deck.remote.state().following);
    // Following can be taken back too, and another tap does not begin it again.
    deck.press("l");
    deck.run(0.5);
    assert!(deck.remote.state().following);
    deck.press("u");
    deck.press("t");
    deck.run(0.5);
    assert!(!deck.remote.state().following);
}

#[test]
fn taking_back_a_pairing_leaves_a_ramp_alone() {
    let mut deck = Deck::with(
        "title = \"Rising\"\nlead_in = \"5 s\"\n[[set]]\nswim = \"60 s\"\n\
         rate = { from = \"50 spm\", to = \"70 spm\", by = \"time\" }\n",
    );
    deck.press(" ");
    deck.run(25.0);
    deck.press("p");
    deck.run(10.0);
    deck.press("u");
    deck.run(10.0);
    let spm = crate::live::spm(deck.remote.state().view.frequency, RATE_HZ);
    // 45 s after the clock began: 37 s of the 57 after the push-off.
    assert!((spm - (50.0 + 20.0 * 37.0 / 57.0)).abs() < 0.2, "{spm}");
}
