//! What `w` writes: the set as it is now, as a session that sounds so by itself.

use std::path::Path;

use super::book::rate_of;
use crate::cli::shared::date::today;
use crate::cli::shared::load::in_any_folder;
use crate::cli::shared::save::save;
use crate::error::{Error, Result};
use crate::files::{parse_session, session_text};
use crate::live::Group;
use crate::model::cue::CUE_KINDS;
use crate::model::resolve::{Resolved, Set, resolve};
use crate::model::session::{CueSet, RatePlan};
use crate::model::wishes::Wishes;
use crate::timeline::{ByHand, Schedule, by_hand};
use crate::tui::{App, Settings};
use crate::units::{Rate, to_f64};

/// Writes the settings as a session under the first free name, and says so.
///
/// # Errors
/// Where no name is free or nothing can be written, and where the set as it is now breaks a rule of
/// sessions: what would not be read is not written.
pub fn save_set(session: &Resolved, app: &App) -> Result<String> {
    let (settings, set) = (app.settings(), &session.sets[app.set()]);
    let name = (1..1000)
        .map(|number| format!("deck-{number}.toml"))
        .find(|name| !Path::new(name).exists())
        .ok_or_else(|| Error::failed("deck-1.toml to deck-999.toml are there already"))?;
    let text = text(session, set, &settings, rate_by_hand(set, app)?, &name)?;
    save(Path::new(&name), &text)?;
    Ok(format!("Written: {name}. Try it: cuelane show ./{name}"))
}

/// A set as it is now, as the text of a session called `name`.
fn text(
    session: &Resolved,
    set: &Set,
    settings: &Settings,
    rate: Option<Rate>,
    name: &str,
) -> Result<String> {
    let refused = |error: Error| error.within("not written");
    let hand = ByHand {
        rate,
        pairing: settings.pairing,
        kick: settings.kick,
        cues: heard(&settings.muted),
    };
    let session = in_any_folder(&Resolved {
        sets: by_hand(set, &hand).map_err(|why| refused(Error::failed(why)))?,
        ..session.clone()
    })?;
    let comment = format!("As it was set on deck on {}.", today());
    let text = session_text(&[comment], &session);
    (parse_session(name, &text))
        .and_then(|read| resolve(&read, None, &Wishes::default()))
        .and_then(|read| Schedule::new(&read))
        .map_err(refused)?;
    Ok(text)
}

/// The cues of which nobody has silenced the group.
fn heard(muted: &[bool; 4]) -> CueSet {
    let groups = || Group::ALL.into_iter().zip(muted);
    let kinds = CUE_KINDS.into_iter().filter(|kind| {
        let is_muted = |(group, muted): (Group, &bool)| *muted && group.has(*kind);
        !groups().any(is_muted)
    });
    kinds.fold(CueSet::NONE, CueSet::with)
}

/// The rate that a hand has set, where it is another than the set's own.
fn rate_by_hand(set: &Set, app: &App) -> Result<Option<Rate>> {
    let Some(spm) = app.rate_by_hand() else {
        return Ok(None);
    };
    let own =
        matches!(&set.rate, RatePlan::Steady(rate) if (to_f64(rate.spm()) - spm).abs() < 1e-5);
    if own {
        Ok(None)
    } else {
        rate_of(spm).map(Some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::parse_swimmer;
    use crate::model::kick::{Kick, Pairing};
    use crate::units::Quantity;

    /// The first set of a session, under a swimmer's file.
    fn read(session: &str, swimmer: Option<&str>) -> Resolved {
        let swimmer = swimmer.map(|text| parse_swimmer("alex.toml", text).expect(text));
        let read = parse_session("deck.toml", session).expect(session);
        resolve(&read, swimmer.as_ref(), &Wishes::default()).expect(session)
    }

    /// What `w` writes, read back under the same swimmer's file.
    fn saved(
        session: &str,
        swimmer: Option<&str>,
        hand: impl Fn(&mut Settings),
        rate: Option<&str>,
    ) -> [Set; 2] {
        let session = read(session, swimmer);
        let set = session.sets[0].clone();
        let text = written(&session, hand, rate).expect("it holds");
        let mut back = read(&text, swimmer);
        [set, back.sets.remove(0)]
    }

    /// What `w` writes of the first set.
    fn written(
        session: &Resolved,
        hand: impl Fn(&mut Settings),
        rate: Option<&str>,
    ) -> Result<String> {
        let set = &session.sets[0];
        let mut settings = Settings {
            spm: 0.0,
            pairing: set.pairing,
            kick: set.kick,
            muted: [false; 4],
            gentle: false,
        };
        hand(&mut settings);
        let rate = rate.map(|text| Rate::parse(text).expect(text));
        text(session, set, &settings, rate, "deck-1.toml")
    }

    #[test]
    fn what_a_hand_changed_reads_back_and_all_else_stays() {
        let text = "title = \"Tuesday \\\"late\\\"\"\n[[set]]\nswim = \"50 m\"\nrepeats = 4\nsend_off = \"1:30\"\n\
                    pace = \"2:00 / 100 m\"\nrate = \"54 spm\"\nkick = \"two-beat\"\n\
                    cues = [\"arm\", \"kick\", \"breath\"]\nbreath = { every = 3 }\nfade = { on = 8, off = 4 }\n\
                    lead = \"40 ms\"\ncatch_after_entry = 0.34\n";
        let hand = |settings: &mut Settings| {
            settings.pairing = Pairing::OppositeSide;
            settings.kick = Kick::SixBeat;
            settings.muted[Group::Hands as usize] = true;
        };
        let [set, back] = saved(text, None, hand, Some("56.5 spm"));
        assert_eq!(back.rate.ends().0.to_string(), "56.5 spm");
        assert_eq!(
            (back.pairing, back.kick),
            (Pairing::OppositeSide, Kick::SixBeat)
        );
        assert_eq!(back.cues.to_string(), "kick, fill, breath");
        assert_eq!(
            (back.gap(), &back.swim, back.repeats),
            (set.gap(), &set.swim, set.repeats)
        );
        assert_eq!(
            (back.stroke(), back.fade, back.breath, &back.lead),
            (set.stroke(), set.fade, set.breath, &set.lead)
        );
        let mute = |settings: &mut Settings| settings.muted[Group::Breath as usize] = true;
        let [_, back] = saved(text, None, mute, None);
        assert_eq!(
            (back.cues.to_string(), back.breath),
            ("arm, kick".into(), None)
        );
    }

    #[test]
    fn what_no_hand_changed_is_saved_as_it_was() {
        for rate in [
            "\"1.03 s/stroke\"",
            "\"54.123456789 spm\"",
            "{ from = \"50 spm\", to = \"60 spm\", by = \"repeat\" }",
        ] {
            let text = format!("[[set]]\nswim = \"45 s\"\nrepeats = 3\nrate = {rate}\n");
            let [set, back] = saved(&text, None, |_| {}, None);
            assert_eq!(back.rate, set.rate);
        }
        let six = "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\nkick = \"six-beat\"\n";
        let [set, back] = saved(six, None, |_| {}, None);
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
            let [set, back] = saved(&text, Some(swimmer), |_| {}, None);
            assert_eq!(back.lead, set.lead);
        }
    }

    #[test]
    fn a_set_that_breaks_a_rule_is_not_written_and_says_why() {
        let text = "[[set]]\nswim = \"50 m\"\npace = \"2:00 / 100 m\"\nrate = \"54 spm\"\n\
                    cues = [\"arm\", \"breath\"]\nbreath = { every = 4 }\n";
        let why = written(&read(text, None), |_| {}, Some("30 spm")).expect_err("8 s");
        let why = why.to_string();
        assert!(
            why.contains("not written") && why.contains("over 6 s"),
            "{why}"
        );
        let text =
            "[[set]]\nswim = \"50 m\"\nstroke_length = \"0.95 m/stroke\"\nrate = \"54 spm\"\n";
        let why = written(&read(text, None), |_| {}, Some("10 spm")).expect_err("5.13 m");
        assert!(why.to_string().contains("5.13 m"), "{why}");
    }
}
