//! What is said before each start, and when, over a whole session.

use super::*;
use crate::files::{parse_session, phrases};
use crate::model::resolve::resolve;
use crate::model::wishes::Wishes;
use crate::units::fraction;
use proptest::prelude::*;

/// Every clip lasts as long as its name has letters, 50 ms each.
fn lengths(session: &Resolved, phrases: &Phrases) -> Lengths {
    let own = session.sets.iter().filter_map(|set| set.say.as_deref());
    let own = own.flat_map(|say| super::super::announce::sentences(say).0);
    let mut lengths: Lengths = (phrases.clips().into_iter().chain(own))
        .map(crate::model::phrases::slug)
        .map(|clip| (clip.clone(), 50 * clip.len() as u64))
        .collect();
    for voice in crate::model::cue::Voice::ALL {
        lengths.insert(format!("={voice}"), 120);
    }
    lengths
}

fn said(text: &str) -> (TrackSpeech, Schedule) {
    let session = parse_session("test.toml", text).expect("parses");
    let session = resolve(&session, None, &Wishes::default()).expect("resolves");
    let schedule = Schedule::new(&session).expect("fits");
    let phrases = phrases::shipped();
    let lengths = lengths(&session, &phrases);
    let said = say(&session, &schedule, &phrases, &lengths, Since::default());
    (said, schedule)
}

fn texts(said: &TrackSpeech) -> Vec<&str> {
    said.says.iter().map(|say| say.text.as_str()).collect()
}

#[test]
fn a_set_is_told_in_full_and_its_repeats_by_what_is_left() {
    let (said, _) = said(
        "[[set]]\nrepeats = 3\nswim = \"50 m\"\npace = \"2:00 / 100 m\"\nrest = \"40 s\"\n\
         rate = { from = \"54 spm\", to = \"56.5 spm\", by = \"repeat\" }\n",
    );
    assert_eq!(
        texts(&said)[1..],
        [
            "set one, three times fifty metres, rate fifty-four, right foot with right catch, \
             left foot with left catch, two-beat kick",
            "rate fifty-five point five, two to go, late? rest, take the next one",
            "rate fifty-six point five, the last one",
        ]
    );
    assert_eq!(said.notes, [""; 0]);
}

#[test]
fn a_comparison_is_said_before_it_and_the_rate_after_it() {
    let after_the_first = |rate: &str| {
        let (said, _) = said(&format!(
            "[[set]]\nrepeats = 4\nswim = \"50 m\"\npace = \"2:00 / 100 m\"\nrest = \"40 s\"\n\
             compare = {{ rate = \"54 spm\", at = [3] }}\nrate = {rate}\n"
        ));
        texts(&said)[3..].join("; ")
    };
    let compared = "comparison, at fifty-four, same effort as the others, two to go";
    assert_eq!(
        after_the_first("\"58 spm\""),
        format!("{compared}; rate fifty-eight, the last one")
    );
    // The same rate at the first entry is another swim all the same.
    assert_eq!(
        after_the_first("{ from = \"54 spm\", to = \"58 spm\", by = \"time\" }"),
        format!("{compared}; rate fifty-four rising to fifty-eight, the last one")
    );
}

#[test]
fn the_opening_names_the_ears_the_sounds_and_the_cautions_once() {
    let text = "[[set]]\nrepeats = 2\nswim = \"45 s\"\nrate = \"54 spm\"\n";
    let (said, _) = said(text);
    assert_eq!(
        texts(&said)[0],
        "left, right, a hand (arm-left), a foot, at its lowest (kick-right), breathe whenever \
         you need, look before you push off, stop for the whistle"
    );
    let ears: Vec<_> = said.says[0].clips.iter().map(|clip| clip.ear).collect();
    assert_eq!(ears[..2], [Some(Side::Left), Some(Side::Right)]);
    // Next to the announcement, which ends half a second before the first count.
    let [opening, first] = [&said.says[0], &said.says[1]];
    assert_eq!(opening.at_ms + opening.length_ms + APART_MS, first.at_ms);
    assert_eq!(first.at_ms + first.length_ms, 56_166);
    let without = format!("opening = false\n{text}");
    let (quiet, _) = super::tests::said(&without);
    assert_eq!(quiet.says.len(), said.says.len() - 1);
}

#[test]
fn silence_breath_and_swims_by_time_are_foretold() {
    let (said, _) = said(
        "[[set]]\nswim = \"5 min\"\nrate = \"54 spm\"\nfade = { on = 8, off = 4 }\n\
         cues = [\"arm\", \"breath\"]\nbreath = { every = 3 }\n",
    );
    let text = texts(&said)[1];
    for words in [
        "five minutes",
        "the cues fade and come back",
        "finish the length",
        "breathe out as it rises, turn as it ends, or whenever you want",
    ] {
        assert!(text.contains(words), "{text}");
    }
    assert!(!text.contains("kick"), "no kick sounds: {text}");
}

#[test]
fn the_name_goes_first_then_the_kick_then_all_and_own_words_last() {
    let set = |lead_in: &str, say: &str| {
        let (said, _) = said(&format!(
            "opening = false\nlead_in = \"{lead_in}\"\n[[set]]\nswim = \"50 m\"\n\
             pace = \"2:00 / 100 m\"\nrate = \"54 spm\"\ncount = \"seconds\"\n{say}"
        ));
        let text = said.says.first().map(|say| say.text.clone());
        (text.unwrap_or_default(), said.notes.join("; "))
    };
    let (whole, notes) = set("60 s", "");
    assert!(whole.starts_with("set one, fifty metres") && whole.ends_with("kick"));
    assert_eq!(notes, "");
    let (short, notes) = set("10.4 s", "");
    assert!(
        short.starts_with("fifty metres") && short.ends_with("kick"),
        "{short}"
    );
    assert!(notes.contains("the name is left out"), "{notes}");
    let (shorter, notes) = set("9.8 s", "");
    assert!(shorter.ends_with("left catch"), "{shorter}");
    assert!(notes.contains("name and kick are left out"), "{notes}");
    let (rate, notes) = set("6 s", "");
    assert_eq!(rate, "rate fifty-four");
    assert!(notes.contains("only the rate is said"), "{notes}");
    let (number, notes) = set("5 s", "");
    assert_eq!(number, "fifty-four");
    assert!(notes.contains("only the number"), "{notes}");
    let own = "say = \"Easy now. And again, a sentence of some length to be sure of it.\"\n";
    assert!(set("60 s", own).0.starts_with("Easy now. And again"));
    // The rate is new: it is said before words that are cut for it.
    let (both, notes) = set("9.6 s", own);
    assert!(both.starts_with("rate fifty-four, Easy now. And again"));
    assert!(notes.contains("only the rate and its own words"), "{notes}");
    let (cut, notes) = set("8 s", own);
    assert_eq!(cut, "rate fifty-four, Easy now.");
    assert!(notes.contains("its own words are cut"), "{notes}");
    let (rate, notes) = set("5.5 s", own);
    assert_eq!(rate, "rate fifty-four");
    assert!(notes.contains("only the rate is said"), "{notes}");
}

#[test]
fn a_sentence_that_is_too_long_is_cut_within() {
    let (said, _) = said(
        "opening = false\n[[set]]\nswim = \"45 s\"\nrate = \"60 spm\"\nrest = \"6.5 s\"\n\
         [[set]]\nswim = \"45 s\"\nrate = \"60 spm\"\n\
         say = \"One sentence without any end that goes on and on for a good while\"\n",
    );
    assert_eq!(said.says[1].length_ms, 2000);
    assert_eq!(said.says[1].clips[0].most_ms, Some(2000));
    assert!(said.notes[0].contains("cut"), "{:?}", said.notes);
}

#[test]
fn a_new_rate_is_said_before_anything_else_where_the_rest_is_tight() {
    let (said, _) = said(
        "opening = false\n[[set]]\nrepeats = 3\nswim = \"45 s\"\nrest = \"7 s\"\ncount = \"seconds\"\n\
         rate = { from = \"54 spm\", to = \"56 spm\", by = \"repeat\" }\n",
    );
    assert_eq!(
        texts(&said)[1..],
        ["rate fifty-five", "rate fifty-six, the last one"]
    );
    assert!(said.notes[0].contains("only the rate is said (once)"));
    let (unsaid, _) = super::tests::said(
        "opening = false\nlead_in = \"5 s\"\n[[set]]\nswim = \"45 s\"\nrate = \"77.5 spm\"\n\
         count = \"seconds\"\n",
    );
    assert!(unsaid.says.is_empty());
    assert!(unsaid.notes[0].contains("nothing is said, and the rate is new"));
}

#[test]
fn fixed_words_fit_a_set_on_land_or_with_a_board() {
    let set = |keys: &str| {
        let (said, _) = said(&format!(
            "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\n{keys}\n"
        ));
        (said.says[0].text.clone(), said.says[1].text.clone())
    };
    let (opening, swum) = set("");
    assert!(opening.contains("look before you push off"), "{opening}");
    assert!(swum.contains("finish the length") && swum.contains("catch"));
    let (opening, dry) = set("push_off = \"0 s\"");
    assert!(!opening.contains("push off") && opening.ends_with("stop for the whistle"));
    assert!(!dry.contains("finish the length") && dry.contains("until the end tone"));
    assert!(dry.contains("catch"), "both arms sound: {dry}");
    for pairing in ["same-side", "opposite-side"] {
        let keys = format!("cues = [\"kick\"]\npush_off = \"0 s\"\npairing = \"{pairing}\"");
        let (_, board) = set(&keys);
        assert!(
            !board.contains("catch") && !board.contains("hand"),
            "{board}"
        );
        assert!(board.contains("two-beat kick"), "{board}");
    }
}

proptest! {
    #[test]
    fn speech_never_touches_a_count_or_a_cut(
        lead_in in 50u32..900, rest in 50u32..600, swim in 200u32..900, repeats in 1u32..5,
    ) {
        let tenth = |tenths: u32| format!("{}.{} s", tenths / 10, tenths % 10);
        let (said, schedule) = said(&format!(
            "lead_in = \"{}\"\n[[set]]\nrepeats = {repeats}\nswim = \"{}\"\nrest = \"{}\"\n\
             rate = \"57 spm\"\nsay = \"Easy. Finish the kick on the sound.\"\n",
            tenth(lead_in), tenth(swim), tenth(rest),
        ));
        let ms = |time: &crate::units::Fix| (crate::units::to_f64(time) * 1000.0).round() as u64;
        for say in &said.says {
            let index = say.repeat as usize - 1;
            let end = say.at_ms + say.length_ms;
            let repeat = &schedule.repeats[index];
            let counts = repeat.count_s().times(3) + fraction(1, 2);
            prop_assert!(end <= ms(&(repeat.start_s - counts)), "{say:?}");
            let quiet = index.checked_sub(1).map_or(0, |n| ms(&schedule.repeats[n].end_s));
            prop_assert!(say.at_ms >= quiet + 1000, "{say:?}");
        }
        for pair in said.says.windows(2) {
            prop_assert!(pair[0].at_ms + pair[0].length_ms <= pair[1].at_ms);
        }
    }
}
