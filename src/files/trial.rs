//! The sessions of a trial, as text: everything that must be the same is written down.

use super::session_text::lead_text;
use crate::model::circle::Stroke;
use crate::model::kick::{Kick, Pairing};
use crate::model::resolve::Set;
use crate::model::session::Going;
use crate::units::{Exact, Time, print_decimal, to_f64};

/// A session of a trial.
#[derive(Debug, Clone)]
pub struct Course<'a> {
    /// What a comment at the top says; one line each.
    pub comment: Vec<String>,
    /// Its title.
    pub title: String,
    /// Whom it is for.
    pub for_whom: String,
    /// A decided set: what all swims share. Its name, repeats, pairing, gap and `say` are not used.
    pub base: &'a Set,
    /// A folder of own sounds and words.
    pub sounds: Option<String>,
    /// From each swim's end to the next start.
    pub rest: Time,
    /// The sets.
    pub sets: Vec<TrialSet>,
}

/// One set of a trial.
#[derive(Debug, Clone)]
pub struct TrialSet {
    /// Its name.
    pub name: String,
    /// How often it is swum.
    pub repeats: u64,
    /// What is swum, if it is not what all share.
    pub swim: Option<String>,
    /// The pairing.
    pub pairing: Pairing,
    /// What is said before it.
    pub say: String,
}

/// The text of a session file. Every value that could change between two days, the swimmer's file
/// included, stands in it, so that both days sound alike. A guessed catch is left out: a guess is
/// better replaced.
pub fn course_text(course: &Course) -> String {
    let quoted = |text: &str| toml::Value::from(text).to_string();
    let mut text: String = (course.comment.iter())
        .map(|line| format!("# {line}\n"))
        .collect();
    text.push_str(&format!(
        "format = 1\ntitle  = {}\nfor    = {}\n",
        quoted(&course.title),
        quoted(&course.for_whom)
    ));
    if let Some(sounds) = &course.sounds {
        text.push_str(&format!("sounds = {}\n", quoted(sounds)));
    }
    text.push_str("\n[defaults]\n");
    for (key, value) in shared(course) {
        text.push_str(&format!("{key:<17} = {value}\n"));
    }
    for set in &course.sets {
        text.push_str(&format!("\n[[set]]\nname    = {}\n", quoted(&set.name)));
        if set.repeats > 1 {
            text.push_str(&format!("repeats = {}\n", set.repeats));
        }
        if let Some(swim) = &set.swim {
            text.push_str(&format!("swim    = {}\n", quoted(swim)));
        }
        text.push_str(&format!(
            "pairing = \"{}\"\nsay     = {}\n",
            set.pairing.word(),
            quoted(&set.say)
        ));
    }
    text
}

/// The defaults, key by key.
fn shared(course: &Course) -> Vec<(&'static str, String)> {
    let set = course.base;
    let word = |text: String| format!("\"{text}\"");
    let Stroke {
        right_entry,
        catch_after_entry,
    } = &set.stroke;
    let mut keys = vec![
        ("swim", word(set.swim.to_string())),
        ("pool", word(set.pool.to_string())),
        ("rest", word(course.rest.to_string())),
        ("rate", word(set.rate.ends().0.to_string())),
        ("kick", word(set.kick.word().into())),
        ("cues", "[\"arm\", \"kick\"]".into()),
        ("first_arm", word(set.first_arm.to_string())),
        ("push_off", word(set.push_off.to_string())),
        ("glide", word(set.glide.to_string())),
        ("walls", word(set.walls.word().into())),
        ("right_entry", nine_decimals(right_entry)),
    ];
    match &set.going {
        Some(Going::Pace(pace)) => keys.push(("pace", word(pace.to_string()))),
        Some(Going::StrokeLength(length)) => keys.push(("stroke_length", word(length.to_string()))),
        None => {}
    }
    if set.kick == Kick::FourBeat {
        keys.push(("three_on", word(set.three_on.to_string())));
    }
    if !set.catch_is_guess {
        let [left, right] = [&catch_after_entry.left, &catch_after_entry.right].map(nine_decimals);
        keys.push((
            "catch_after_entry",
            format!("{{ left = {left}, right = {right} }}"),
        ));
    }
    keys.push(("lead", lead_text(&set.lead)));
    keys
}

/// As many decimals as a file takes; the mean of two measured shares may have one more.
pub(super) fn nine_decimals(value: &Exact) -> String {
    print_decimal(value).unwrap_or_else(|| format!("{:.9}", to_f64(value)))
}
