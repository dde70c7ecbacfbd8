//! A session as text: what a session file says, written from its layers.

use crate::model::cue::{CUE_KINDS, PerSide};
use crate::model::layer::{Layer, Said, Session};
use crate::model::session::{Cues, Lead, RampBy, WishedRate};
use crate::units::{Exact, print_decimal, to_f64};

/// The text of a session file that parses back to the same session, places apart. `comment` goes
/// to the top, line by line.
pub fn session_text(comment: &[String], session: &Session) -> String {
    let mut text: String = comment.iter().map(|line| format!("# {line}\n")).collect();
    text.push_str("format  = 1\n");
    text.push_str(&format!("title   = {}\n", quoted(&session.title)));
    if let Some(whom) = &session.for_whom {
        text.push_str(&format!("for     = {}\n", quoted(whom)));
    }
    if let Some(lead_in) = &session.lead_in {
        text.push_str(&format!("lead_in = \"{}\"\n", lead_in.value));
    }
    if let Some(opening) = &session.opening {
        text.push_str(&format!("opening = {}\n", opening.value));
    }
    if let Some(sounds) = &session.sounds {
        text.push_str(&format!("sounds  = {}\n", quoted(&sounds.value)));
    }
    if let Some(bed) = &session.bed {
        let (file, once) = (quoted(&bed.value.file), bed.value.once);
        text.push_str(&format!("bed     = {{ file = {file}, once = {once} }}\n"));
    }
    if session.defaults != Layer::default() {
        text.push_str("\n[defaults]\n");
        text.push_str(&layer_text(&session.defaults));
    }
    for set in &session.sets {
        text.push_str("\n[[set]]\n");
        text.push_str(&layer_text(&set.value));
    }
    text
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

fn decimal(value: &Exact) -> String {
    print_decimal(value).unwrap_or_else(|| format!("{:.9}", to_f64(value)))
}

fn layer_text(layer: &Layer) -> String {
    let mut text = String::new();
    let mut line = |key: &str, value: Option<String>| {
        if let Some(value) = value {
            text.push_str(&format!("{key:<8} = {value}\n"));
        }
    };
    fn plain<T: ToString>(said: &Option<Said<T>>) -> Option<String> {
        let said = said.as_ref()?;
        Some(format!("\"{}\"", said.value.to_string()))
    }
    fn or_none<T>(said: &Option<Said<Option<T>>>, show: impl Fn(&T) -> String) -> Option<String> {
        let said = said.as_ref()?;
        Some(said.value.as_ref().map_or("\"none\"".into(), show))
    }
    line("name", layer.name.as_ref().map(|said| quoted(&said.value)));
    line(
        "repeats",
        layer.repeats.as_ref().map(|said| said.value.to_string()),
    );
    line("swim", plain(&layer.swim));
    line("pool", plain(&layer.pool));
    line("pace", plain(&layer.pace));
    line("stroke_length", plain(&layer.stroke_length));
    line("rest", plain(&layer.rest));
    line(
        "send_off",
        or_none(&layer.send_off, |time| format!("\"{time}\"")),
    );
    line("rest_after", plain(&layer.rest_after));
    line(
        "rate",
        layer.rate.as_ref().map(|said| rate_text(&said.value)),
    );
    line(
        "pairing",
        layer
            .pairing
            .as_ref()
            .map(|said| format!("\"{}\"", said.value.word())),
    );
    line(
        "kick",
        layer
            .kick
            .as_ref()
            .map(|said| format!("\"{}\"", said.value.word())),
    );
    line("three_on", plain(&layer.three_on));
    line(
        "catch_after_entry",
        layer.catch_after_entry.as_ref().map(|said| {
            let PerSide { left, right } = &said.value;
            format!("{{ left = {}, right = {} }}", decimal(left), decimal(right))
        }),
    );
    line(
        "right_entry",
        layer.right_entry.as_ref().map(|said| decimal(&said.value)),
    );
    line("first_arm", plain(&layer.first_arm));
    line("push_off", plain(&layer.push_off));
    line("glide", plain(&layer.glide));
    line(
        "walls",
        layer
            .walls
            .as_ref()
            .map(|said| format!("\"{}\"", said.value.word())),
    );
    line(
        "cues",
        layer.cues.as_ref().map(|said| cues_text(said.value)),
    );
    line(
        "breath",
        or_none(&layer.breath, |breath| {
            format!("{{ every = {}, side = \"{}\" }}", breath.every, breath.side)
        }),
    );
    line(
        "fade",
        or_none(&layer.fade, |fade| {
            format!(
                "{{ on = {}, off = {}, per = \"{}\" }}",
                fade.on,
                fade.off,
                fade.per.word()
            )
        }),
    );
    line(
        "lead",
        layer.lead.as_ref().map(|said| lead_text(&said.value)),
    );
    line("say", layer.say.as_ref().map(|said| quoted(&said.value)));
    text
}

pub(super) fn rate_text(rate: &WishedRate) -> String {
    use crate::model::session::RatePlan;
    match rate {
        RatePlan::Steady(rate) => format!("\"{rate}\""),
        RatePlan::Ramp { from, to, by } => {
            let by = match by {
                RampBy::Repeat => "repeat",
                RampBy::Time => "time",
            };
            format!("{{ from = \"{from}\", to = \"{to}\", by = \"{by}\" }}")
        }
    }
}

fn cues_text(cues: Cues) -> String {
    let words: Vec<String> = (CUE_KINDS.into_iter())
        .filter(|kind| cues.has(*kind))
        .map(|kind| quoted(kind.word()))
        .collect();
    format!("[{}]", words.join(", "))
}

pub(super) fn lead_text(lead: &Lead) -> String {
    match lead.arm == lead.breath {
        true if lead.arm == lead.kick => format!("\"{}\"", lead.arm),
        // Breath cues have no lead of their own in a table.
        _ => format!("{{ arm = \"{}\", kick = \"{}\" }}", lead.arm, lead.kick),
    }
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
        let readme = include_str!("../../README.md");
        let every_key = readme.split("# every-key.toml: a session\n").nth(1);
        let every_key = every_key.and_then(|rest| rest.split("```").next());
        let texts = PRESETS.iter().map(|preset| preset.text).chain(every_key);
        let mut count = 0;
        for text in texts {
            let session = parse_session("session.toml", text).expect("a preset holds");
            let written = session_text(&["a comment".into()], &session);
            let again = parse_session("session.toml", &written).expect(&written);
            assert_eq!(bare(&again), bare(&session), "{written}");
            count += 1;
        }
        assert_eq!(count, PRESETS.len() + 1);
    }
}
