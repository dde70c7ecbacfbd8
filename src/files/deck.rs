//! What was set on deck, as a session file.

use super::session_text::{lead_text, rate_text};
use super::trial::nine_decimals;
use crate::model::cue::{CUE_KINDS, Kind};
use crate::model::kick::{Kick, Pairing};
use crate::model::resolve::Set;
use crate::model::session::{FadePer, Gap, Going};
use crate::units::{Rate, RateWish};

/// A set as it was changed on deck.
#[derive(Debug, Clone)]
pub struct DeckSet<'a> {
    /// The session's title.
    pub title: &'a str,
    /// The day, as a date.
    pub date: &'a str,
    /// The set as the session had it.
    pub set: &'a Set,
    /// The rate that a hand has set; none where the set's own goes on.
    pub rate: Option<Rate>,
    /// The pairing.
    pub pairing: Pairing,
    /// The kick.
    pub kick: Kick,
    /// Kinds of cue that are silenced.
    pub silent: Vec<Kind>,
}

/// The text of a session of one set. Every value that the swimmer's file could change stands in
/// it; a guessed catch is left out, since a guess is better replaced.
pub fn deck_text(deck: &DeckSet) -> String {
    let set = deck.set;
    let quoted = |text: &str| toml::Value::from(text).to_string();
    let word = |text: String| format!("\"{text}\"");
    let sounds = |kind: &Kind| {
        // Another kick sounds its fills; that of the session sounds what the session asks for.
        let fills = deck.kick != set.kick && deck.kick.has_fills();
        let own = set.cues.has(*kind) || *kind == Kind::Fill && fills;
        own && !deck.silent.contains(kind)
    };
    let cues: Vec<String> = (CUE_KINDS.iter().filter(|kind| sounds(kind)))
        .map(|kind| word(kind.word().into()))
        .collect();
    let rate = match &deck.rate {
        Some(rate) => word(rate.to_string()),
        None => rate_text(&set.rate.map(|rate| RateWish::Absolute(rate.clone()))),
    };
    let mut keys = vec![
        ("name", quoted(&set.name)),
        ("repeats", set.repeats.to_string()),
        ("swim", word(set.swim.to_string())),
        ("pool", word(set.pool.to_string())),
        ("rate", rate),
        ("pairing", word(deck.pairing.word().into())),
        ("kick", word(deck.kick.word().into())),
        ("cues", format!("[{}]", cues.join(", "))),
        ("first_arm", word(set.first_arm.to_string())),
        ("push_off", word(set.push_off.to_string())),
        ("glide", word(set.glide.to_string())),
        ("walls", word(set.walls.word().into())),
        ("right_entry", nine_decimals(&set.stroke.right_entry)),
    ];
    match &set.gap {
        Gap::Rest(time) => keys.push(("rest", word(time.to_string()))),
        Gap::SendOff(time) => keys.push(("send_off", word(time.to_string()))),
    }
    match &set.going {
        Some(Going::Pace(pace)) => keys.push(("pace", word(pace.to_string()))),
        Some(Going::StrokeLength(length)) => keys.push(("stroke_length", word(length.to_string()))),
        None => {}
    }
    if deck.kick == Kick::FourBeat {
        keys.push(("three_on", word(set.three_on.to_string())));
    }
    if !set.catch_is_guess {
        let catch = &set.stroke.catch_after_entry;
        let [left, right] = [&catch.left, &catch.right].map(nine_decimals);
        keys.push((
            "catch_after_entry",
            format!("{{ left = {left}, right = {right} }}"),
        ));
    }
    if let Some(breath) = set.breath.filter(|_| sounds(&Kind::Breath)) {
        let table = format!("{{ every = {}, side = \"{}\" }}", breath.every, breath.side);
        keys.push(("breath", table));
    }
    if let Some(fade) = set.fade {
        let per = match fade.per {
            FadePer::Cycle => "cycle",
            FadePer::Length => "length",
        };
        keys.push((
            "fade",
            format!(
                "{{ on = {}, off = {}, per = \"{per}\" }}",
                fade.on, fade.off
            ),
        ));
    }
    keys.push(("lead", lead_text(&set.lead)));
    let mut text = format!(
        "# As it was set on deck on {}.\nformat = 1\ntitle  = {}\n\n[[set]]\n",
        deck.date,
        quoted(deck.title)
    );
    for (key, value) in keys {
        text.push_str(&format!("{key:<17} = {value}\n"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{parse_session, parse_swimmer};
    use crate::model::layer::Layer;
    use crate::model::resolve::resolve;
    use crate::units::Quantity;

    #[test]
    fn what_was_set_on_deck_reads_back_as_it_sounded() {
        let text = "[[set]]\nswim = \"50 m\"\nrepeats = 4\nsend_off = \"1:30\"\npace = \"2:00 / 100 m\"\n\
                    rate = \"54 spm\"\nkick = \"two-beat\"\ncues = [\"arm\", \"kick\", \"breath\"]\n\
                    breath = { every = 3 }\nfade = { on = 8, off = 4 }\nlead = \"40 ms\"\n\
                    catch_after_entry = 0.34\n";
        let read = |text: &str| {
            let session = parse_session("deck.toml", text).expect(text);
            resolve(&session, None, &Layer::default())
                .expect(text)
                .sets
                .remove(0)
        };
        let set = read(text);
        let deck = DeckSet {
            title: "Tuesday \"late\"",
            date: "2026-05-04",
            set: &set,
            rate: Some(Rate::parse("56.5 spm").expect("a rate")),
            pairing: Pairing::OppositeSide,
            kick: Kick::SixBeat,
            silent: vec![Kind::Arm],
        };
        let back = read(&deck_text(&deck));
        assert_eq!(back.rate.ends().0.to_string(), "56.5 spm");
        assert_eq!(
            (back.pairing, back.kick),
            (Pairing::OppositeSide, Kick::SixBeat)
        );
        assert_eq!(back.cues.to_string(), "kick, fill, breath");
        assert_eq!(
            (&back.gap, &back.swim, back.repeats),
            (&set.gap, &set.swim, set.repeats)
        );
        assert_eq!(
            (&back.stroke, back.fade, back.breath),
            (&set.stroke, set.fade, set.breath)
        );
        assert_eq!(back.lead.arm, set.lead.arm);
    }

    /// What is saved of a session that nobody touched, read under a swimmer's file.
    fn saved(session: &str, swimmer: Option<&str>) -> [Set; 2] {
        let swimmer = swimmer.map(|text| parse_swimmer("alex.toml", text).expect(text));
        let read = |text: &str| {
            let session = parse_session("deck.toml", text).expect(text);
            let resolved = resolve(&session, swimmer.as_ref(), &Layer::default());
            resolved.expect(text).sets.remove(0)
        };
        let set = read(session);
        let text = deck_text(&DeckSet {
            title: "Tuesday",
            date: "2026-05-04",
            set: &set,
            rate: None,
            pairing: set.pairing,
            kick: set.kick,
            silent: Vec::new(),
        });
        let back = read(&text);
        [set, back]
    }

    #[test]
    fn what_no_hand_changed_is_saved_as_it_was() {
        for rate in [
            "\"1.03 s/stroke\"",
            "\"54.123456789 spm\"",
            "{ from = \"50 spm\", to = \"60 spm\", by = \"repeat\" }",
        ] {
            let text = format!("[[set]]\nswim = \"45 s\"\nrepeats = 3\nrate = {rate}\n");
            let [set, back] = saved(&text, None);
            assert_eq!(back.rate, set.rate);
        }
        let six = "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\nkick = \"six-beat\"\n";
        let [set, back] = saved(six, None);
        assert_eq!(back.cues, set.cues);
    }

    #[test]
    fn a_lead_is_saved_as_it_was_and_none_too() {
        let swimmer = "name = \"Alex\"\nlead = \"40 ms\"\n";
        for lead in [
            "\"40 ms\"",
            "\"0 ms\"",
            "{ arm = \"10 ms\", kick = \"40 ms\" }",
        ] {
            let text = format!(
                "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\nlead = {lead}\n\
                 cues = [\"arm\", \"breath\"]\nbreath = {{ every = 2 }}\n"
            );
            let [set, back] = saved(&text, Some(swimmer));
            assert_eq!(back.lead, set.lead);
        }
    }
}
