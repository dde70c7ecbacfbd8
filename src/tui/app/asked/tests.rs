//! Hands away from the keyboard beside keys, on a real engine on no device.

mod after_end;

use std::collections::BTreeSet;

use ratatui::crossterm::event::KeyCode;
use ratatui::style::Color;

use crate::live::{Group, KeyTime};
use crate::model::kick::Pairing;
use crate::tui::away::{Ask, Seen, WayIn};
use crate::tui::draw::tests::Deck;
use crate::tui::help::HELP;

const SESSION: &str = "title = \"Tuesday evening\"\n[[set]]\nname = \"Settle\"\nrepeats = 4\nswim = \"50 m\"\n\
    rate = \"54 spm\"\npace = \"2:05 / 100 m\"\nrest = \"30 s\"\n";

fn deck() -> Deck {
    Deck::of(SESSION, &["Alex Example", "Bo Example"], 5)
}

fn ask(deck: &mut Deck, ask: Ask, by: u32) {
    let moment = deck.moment();
    deck.app.ask(&ask, by, moment);
    // Until the engine has taken it.
    deck.run(0.1);
}

/// All that lines tell, and the settings: what a deck is after the same was done to it.
fn all_of(deck: &mut Deck) -> String {
    deck.run(0.5);
    let screen = deck.screen(80, 24);
    format!(
        "{:?}\n{:?}\n{:?}\n{screen}",
        deck.app.settings(),
        deck.app.standing(),
        deck.results
    )
}

/// What keys and hands ask for alike; `space` is what Space asks for at present.
fn asked(space: Ask) -> [(KeyCode, Ask); 12] {
    [
        (KeyCode::Up, Ask::Step(1.0)),
        (KeyCode::Down, Ask::Step(-1.0)),
        (KeyCode::Char('p'), Ask::Pair(Pairing::OppositeSide)),
        (KeyCode::Char('h'), Ask::Mute(Group::Hands, true)),
        (KeyCode::Char('f'), Ask::Mute(Group::Feet, true)),
        (KeyCode::Char(' '), space),
        (KeyCode::Char('n'), Ask::Next),
        (KeyCode::Char('a'), Ask::Again),
        (KeyCode::Char('c'), Ask::In),
        (KeyCode::Char('s'), Ask::Split),
        (KeyCode::Char('t'), Ask::Tap),
        (KeyCode::Enter, Ask::TakeRate),
    ]
}

#[test]
fn what_is_asked_for_does_what_its_key_does() {
    let mut compared = BTreeSet::new();
    for (key, wish) in asked(Ask::Run(false)) {
        let [mut by_key, mut by_ask] = [deck(), deck()];
        for one in [&mut by_key, &mut by_ask] {
            one.press(" ");
            one.run(85.0);
        }
        let before = all_of(&mut by_ask);
        assert_eq!(all_of(&mut by_key), before);
        by_key.key(key);
        by_key.run(0.1);
        ask(&mut by_ask, wish.clone(), 1);
        let after = all_of(&mut by_ask);
        assert_eq!(all_of(&mut by_key), after, "{wish:?}");
        assert_ne!(after, before, "{wish:?}");
        compared.insert(called(key).expect("it has a name"));
        // And as `u` takes it back.
        by_key.key(KeyCode::Char('u'));
        by_key.run(0.1);
        ask(&mut by_ask, Ask::TakeBack, 1);
        let [by_key, by_ask] = [&mut by_key, &mut by_ask].map(|one| one.app.settings());
        assert_eq!(by_key, by_ask, "{wish:?}");
        compared.insert("u".into());
    }
    // All that the page has buttons for; results are entered on a form of its own.
    let [mut buttons, _] = told_keys();
    assert!(buttons.remove("as the key") && buttons.remove("r"));
    assert_eq!(compared, buttons);
}

/// What the page's own text says of keys: those that its buttons stand for, and those that stay on the
/// laptop.
fn told_keys() -> [BTreeSet<String>; 2] {
    let text = include_str!("../../../../docs/phone.md");
    let cells = |column: usize, columns: usize| {
        let rows = text.lines().filter(|line| line.starts_with("| "));
        let rows = rows.map(|line| line.split('|').map(str::trim).collect::<Vec<_>>());
        let cells = rows.filter(|row| row.len() == columns + 2);
        let keys = cells.flat_map(move |row| row[column].split(", ").collect::<Vec<_>>());
        keys.map(|key| key.trim_matches('`').to_string()).collect()
    };
    [cells(3, 4), cells(1, 2)]
}

/// A key as it is called, by its letter or by the key that it stands in for; none of others.
fn called(code: KeyCode) -> Option<String> {
    let name = match code {
        KeyCode::Char(' ') => "Space",
        KeyCode::Char('+' | '=') | KeyCode::Up => "Up",
        KeyCode::Char('-') | KeyCode::Down => "Down",
        KeyCode::Char('.' | '0'..='9') => "digits",
        KeyCode::Right => "Right",
        KeyCode::Left => "Left",
        KeyCode::Enter => "Enter",
        KeyCode::Backspace => "u",
        KeyCode::PageUp | KeyCode::PageDown => "t",
        KeyCode::Char(letter) => return Some(letter.to_ascii_lowercase().into()),
        _ => return None,
    };
    Some(name.into())
}

#[test]
fn every_key_has_its_button_or_is_named_as_one_that_stays_on_the_laptop() {
    use KeyCode as K;
    let others = [
        K::Up,
        K::Down,
        K::Right,
        K::Left,
        K::Enter,
        K::Backspace,
        K::PageUp,
        K::PageDown,
        K::Home,
        K::End,
        K::Insert,
        K::Delete,
        K::Tab,
        K::BackTab,
        K::Esc,
    ];
    let all = (' '..='~')
        .map(K::Char)
        .chain(others)
        .chain((1..=12).map(K::F));
    let untouched = all_of(&mut deck());
    let does_something = |code: &KeyCode| {
        let mut deck = deck();
        deck.key(*code).is_some() || all_of(&mut deck) != untouched
    };
    let keys: BTreeSet<String> = (all.filter(does_something))
        .map(|code| called(code).unwrap_or_else(|| panic!("{code:?} has no name")))
        .collect();
    let [buttons, stay] = told_keys();
    let twice: Vec<&String> = buttons.intersection(&stay).collect();
    assert!(twice.is_empty(), "{twice:?}");
    let told: BTreeSet<&String> = buttons.union(&stay).collect();
    for key in &keys {
        assert!(told.contains(key), "{key} is not in docs/phone.md");
        let in_help = HELP.split([' ', ',', '\n']).any(|word| word == key);
        assert!(in_help || key == "?", "{key} is not in the help");
    }
    // And what is told there is a key.
    for key in &buttons {
        assert!(
            keys.contains(key) || key == "as the key",
            "{key:?} does nothing"
        );
    }
}

#[test]
fn two_hands_that_ask_for_the_same_do_not_undo_each_other() {
    let mut deck = deck();
    for by in [1, 2] {
        ask(&mut deck, Ask::Run(true), by);
        ask(&mut deck, Ask::Mute(Group::Feet, true), by);
        ask(&mut deck, Ask::Pair(Pairing::OppositeSide), by);
        deck.run(0.5);
        let standing = deck.app.standing();
        assert!(standing.running && standing.muted[1]);
        assert_eq!(standing.pairing, Pairing::OppositeSide);
    }
}

#[test]
fn a_hand_takes_back_what_it_did_itself_and_nothing_that_was_changed_since() {
    let mut deck = deck();
    ask(&mut deck, Ask::Mute(Group::Feet, true), 1);
    ask(&mut deck, Ask::Step(1.0), 2);
    deck.press("h");
    deck.run(0.1);
    ask(&mut deck, Ask::TakeBack, 1);
    deck.run(0.5);
    assert_eq!(deck.app.settings().muted, [true, false, false, false]);
    assert_eq!(deck.app.settings().spm, 55.0);
    // A key takes back whatever was last, and does not bring again what was taken back before.
    deck.press("u");
    deck.run(0.5);
    assert_eq!(deck.app.settings().muted, [false; 4]);
    // The rate of phone 2 is changed by a key: it stays.
    deck.key(KeyCode::Up);
    deck.run(0.1);
    ask(&mut deck, Ask::TakeBack, 2);
    deck.run(0.5);
    assert_eq!(deck.app.settings().spm, 56.0);
    assert!(deck.screen(80, 24).contains("it stays"));
    ask(&mut deck, Ask::TakeBack, 2);
    assert!(deck.screen(80, 24).contains("done nothing"));
}

#[test]
fn what_two_hands_change_in_the_time_of_one_buffer_is_taken_back_apart() {
    let mut deck = deck();
    deck.press(" ");
    deck.run(85.0);
    let moment = deck.moment();
    deck.app.ask(&Ask::Mute(Group::Feet, true), 1, moment);
    deck.app.ask(&Ask::Pair(Pairing::OppositeSide), 1, moment);
    deck.pass();
    // The engine has not been asked for a frame since.
    deck.press("h");
    deck.app.ask(&Ask::TakeBack, 1, moment);
    deck.pass();
    deck.app.ask(&Ask::TakeBack, 1, moment);
    deck.run(3.0);
    let settings = deck.app.settings();
    assert_eq!(settings.muted, [true, false, false, false]);
    assert_eq!(settings.pairing, Pairing::SameSide);
    // And a key takes back its own change alone.
    deck.press("fhu");
    deck.run(3.0);
    assert_eq!(deck.app.settings().muted, [true, true, false, false]);
}

#[test]
fn a_key_that_is_pressed_twice_in_the_time_of_one_buffer_changes_nothing() {
    let mut deck = deck();
    let before = deck.app.settings();
    deck.press("hhppgg");
    deck.run(0.5);
    assert_eq!(deck.app.settings(), before);
    // Nor does it go on from a rate that is still on its way.
    for code in [KeyCode::Up, KeyCode::Down, KeyCode::Up] {
        deck.key(code);
    }
    deck.run(0.5);
    assert_eq!(deck.app.settings().spm, before.spm + 1.0);
}

#[test]
fn a_time_that_comes_late_is_of_its_own_moment() {
    let mut deck = deck();
    deck.press(" ");
    deck.run(100.0);
    let moment = deck.moment();
    deck.run(8.0);
    deck.app.ask(&Ask::In, 1, moment);
    deck.pass();
    let [(of, Some(swum))] = &deck.results[..] else {
        panic!("{:?}", deck.results);
    };
    // The first start is at 60 s.
    assert_eq!(of.1, 0);
    assert_eq!(
        swum.time.as_ref().map(ToString::to_string),
        Some("40 s".into())
    );
}

#[test]
fn a_tap_of_the_swim_before_is_not_counted_in_this_one() {
    let mut deck = deck();
    deck.press(" ");
    deck.run(150.0);
    let old = KeyTime {
        now_s: 100.0,
        heard_frame: 100.0 * 8000.0,
    };
    deck.app.ask(&Ask::Tap, 1, old);
    assert_eq!(deck.app.standing().taps, None);
    ask(&mut deck, Ask::Tap, 1);
    assert!(deck.app.standing().taps.is_some());
}

#[test]
fn results_are_seen_entered_and_handed_over_with_what_a_key_had_entered() {
    let mut deck = deck();
    deck.press(" ");
    deck.run(100.0);
    ask(&mut deck, Ask::In, 1);
    deck.run(5.0);
    ask(&mut deck, Ask::In, 1);
    let results = deck.app.standing().results.expect("both are in");
    assert_eq!(results.heading, "Settle, repeat 1");
    let seen = seen_of(results.swim, 1, ["22/length", "part", "7"].map(Some));
    ask(&mut deck, Ask::Seen(seen.clone()), 1);
    assert_eq!(entered_of(&deck, 1), ["22/length", "part", "7"]);
    let of = |deck: &Deck, who| {
        let kept = deck.results.iter().find(|(of, _)| of.1 == who);
        kept.and_then(|(_, swum)| swum.clone()).expect("a result")
    };
    let entered = of(&deck, 1).entered;
    assert_eq!(
        entered.strokes.map(|count| count.to_string()),
        Some("22/length".into())
    );
    assert_eq!(
        of(&deck, 1).time.map(|time| time.to_string()),
        Some("40.1 s".into())
    );
    // What does not hold is said, and changes nothing.
    for wrong in [
        seen_of(results.swim, 1, [Some("23"), None, Some("12")]),
        seen_of(results.swim, 1, [Some("many"), None, None]),
        seen_of(results.swim, 1, [None, Some("perhaps"), None]),
        Seen {
            swim: 99,
            ..seen.clone()
        },
        Seen {
            swimmer: 9,
            ..seen.clone()
        },
    ] {
        ask(&mut deck, Ask::Seen(wrong), 1);
        assert_eq!(entered_of(&deck, 1), ["22/length", "part", "7"]);
    }
}

/// Strokes, kept and effort of a swimmer, those that are changed.
fn seen_of(swim: u32, swimmer: usize, changed: [Option<&str>; 3]) -> Seen {
    let [strokes, kept, effort] = changed.map(|text| text.map(String::from));
    Seen {
        swim,
        swimmer,
        strokes,
        kept,
        effort,
    }
}

/// Strokes, kept and effort as every phone is shown them.
fn entered_of(deck: &Deck, at: usize) -> [String; 3] {
    let results = deck.app.standing().results.expect("a swim");
    let row = &results.rows[at];
    [&row.strokes, &row.kept, &row.effort].map(String::clone)
}

/// A deck on which both have come in, in the first swim.
fn both_in(mut deck: Deck) -> Deck {
    deck.press(" ");
    deck.run(100.0);
    deck.press("c");
    deck.run(6.0);
    deck.press("c");
    deck.run(0.1);
    deck
}

#[test]
fn each_hand_enters_what_it_has_seen_and_takes_nothing_from_another() {
    let mut deck = both_in(deck());
    ask(
        &mut deck,
        Ask::Seen(seen_of(0, 0, [None, None, Some("7")])),
        1,
    );
    ask(
        &mut deck,
        Ask::Seen(seen_of(0, 0, [Some("44"), None, None])),
        2,
    );
    ask(
        &mut deck,
        Ask::Seen(seen_of(0, 0, [None, Some("yes"), None])),
        1,
    );
    assert_eq!(entered_of(&deck, 0), ["44", "yes", "7"]);
    // Taken away where that is said.
    ask(
        &mut deck,
        Ask::Seen(seen_of(0, 0, [Some(""), None, None])),
        1,
    );
    assert_eq!(entered_of(&deck, 0), ["", "yes", "7"]);
    assert_eq!(entered_of(&deck, 1), ["", "", ""]);
}

#[test]
fn results_that_a_hand_enters_while_a_key_enters_others_are_both_kept() {
    let mut deck = both_in(deck());
    // Of the first: kept on the laptop, where the strokes are none yet; a phone enters strokes.
    deck.press("r");
    deck.key(KeyCode::Down);
    deck.key(KeyCode::Right);
    ask(
        &mut deck,
        Ask::Seen(seen_of(0, 0, [Some("22/length"), Some("no"), None])),
        1,
    );
    ask(
        &mut deck,
        Ask::Seen(seen_of(0, 1, [None, None, Some("3")])),
        2,
    );
    assert!(deck.screen(100, 30).contains("strokes 22/length"));
    deck.key(KeyCode::Enter);
    // What both had changed is as it was saved last.
    assert_eq!(entered_of(&deck, 0), ["22/length", "yes", ""]);
    assert_eq!(entered_of(&deck, 1), ["", "", "3"]);
    let of = |who| deck.results.iter().find(|(of, _)| of.1 == who);
    let (_, Some(swum)) = of(0).expect("a result") else {
        panic!("it has a row");
    };
    let strokes = swum.entered.strokes.as_ref().map(ToString::to_string);
    assert_eq!(strokes, Some("22/length".into()));
}

#[test]
fn o_shows_the_way_in_and_any_key_goes_back() {
    let mut deck = deck();
    deck.press("o");
    assert!(deck.screen(80, 24).contains("--phone"));
    // Or why there is none.
    deck.app.keep_out("No local network.");
    deck.press("l");
    assert!(!deck.screen(80, 24).contains("No local network."));
    deck.press("o");
    assert!(deck.screen(80, 24).contains("No local network."));
    // A code of 37 rows, dark and light by turns.
    let code: Vec<Vec<bool>> = (0..37)
        .map(|row| (0..37).map(|at| (row * row + at * 3) % 5 < 2).collect())
        .collect();
    let address = "http://192.168.100.200:65535/AbCdEfGhIjKlMnOpQrSt_-".to_string();
    deck.app.let_in(WayIn {
        address: address.clone(),
        code: code.clone(),
    });
    deck.press("o");
    let screen = deck.screen(80, 24);
    assert!(screen.lines().any(|line| line == address), "{screen}");
    let shown = deck.shown(80, 24);
    for (row, modules) in code.iter().enumerate() {
        for (at, is_dark) in modules.iter().enumerate() {
            let cell = &shown.buffer()[(at as u16, 1 + row as u16 / 2)];
            // Ink is light.
            let light = if row % 2 == 0 {
                ["█", "▀"]
            } else {
                ["█", "▄"]
            };
            assert_eq!(light.contains(&cell.symbol()), !is_dark, "{row}, {at}");
            assert_eq!((cell.fg, cell.bg), (Color::White, Color::Black));
        }
    }
    assert!(
        deck.screen(36, 24)
            .contains("A window of 37 x 20 shows the code.")
    );
    // A time is taken whatever the screen shows.
    deck.press("x");
    assert!(!deck.screen(80, 24).contains(&address));
}
