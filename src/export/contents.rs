//! The sheet beside the tracks: what each file holds, how to join in, what to do when late.
//! Plain text of at most 78 columns, fit for printing and laminating.

use std::fmt::Write as _;

use super::{Job, TrackFile, TrackForm, bytes_in_words};
use crate::model::resolve::Set;
use crate::model::track_format::{Channels, Format};
use crate::model::visible::visible;
use crate::model::words;
use crate::timeline::off_the_wall;
use crate::units::{Fix, Time};

const WIDTH: usize = 78;

/// The sheet's name.
pub const SHEET: &str = "contents.txt";

/// The sheet of a folder of tracks.
pub fn contents(job: &Job, parts: &[TrackFile], form: &TrackForm) -> String {
    let session = &job.session;
    let mut sheet = String::new();
    paragraph(&mut sheet, words::LOUDER, "");
    heading(&mut sheet, &session.title, '=');
    let swimmer = session.swimmer.as_deref().unwrap_or("any swimmer");
    paragraph(&mut sheet, &format!("Made for {swimmer}."), "");
    if let Some(whom) = &session.for_whom {
        paragraph(&mut sheet, &format!("For {whom}."), "");
    }
    paragraph(&mut sheet, &in_words(job, parts.len(), form), "");
    for part in parts {
        file(&mut sheet, job, part, form);
    }
    how_to_join_in(&mut sheet, &session.sets);
    heading(&mut sheet, "Early, late, or crossed", '-');
    paragraph(&mut sheet, words::EARLY, "");
    paragraph(&mut sheet, words::LATE_OR_CROSSED, "");
    heading(&mut sheet, "Cautions", '-');
    let more = [words::HIDDEN_ALARMS, words::RATE_CAUTION];
    for caution in words::CAUTIONS.into_iter().chain(more) {
        let wrapped = textwrap::fill(
            caution,
            textwrap::Options::new(WIDTH)
                .initial_indent("* ")
                .subsequent_indent("  "),
        );
        let _ = writeln!(sheet, "{wrapped}");
    }
    sheet
}

/// How long the files are together, and what they are.
fn in_words(job: &Job, files: usize, form: &TrackForm) -> String {
    let total = Time::from_s(job.schedule.total_s).rounded();
    let files = match files {
        1 => "1 file".to_string(),
        n => format!("{n} files"),
    };
    let bits = match form.format {
        Format::Mp3 => String::new(),
        Format::Wav | Format::Flac => format!(", {} bits", form.bits),
    };
    let channels = match form.channels {
        Channels::Stereo if job.swap => "two channels, ears exchanged",
        Channels::Stereo => "two channels",
        Channels::Mono => "one channel",
        Channels::Left => "one channel, the left ear",
        Channels::Right => "one channel, the right ear",
    };
    format!(
        "{total} in {files}, {}, {} Hz{bits}, {channels}. Play them in the order of their names.",
        form.format.in_words(),
        form.sample_rate_hz,
    )
}

fn how_to_join_in(sheet: &mut String, sets: &[Set]) {
    if sets.iter().any(words::has_cues) {
        heading(sheet, "How to join in", '-');
        paragraph(sheet, words::JOIN_IN, "");
    }
    if sets.iter().any(|set| set.heard_breath().is_some()) {
        paragraph(sheet, words::BREATH_SOUND, "");
    }
    if sets.iter().any(|set| set.compare.is_some()) {
        paragraph(sheet, words::SAME_EFFORT, "");
    }
}

/// One file: what it holds, and when its starts are.
fn file(sheet: &mut String, job: &Job, part: &TrackFile, form: &TrackForm) {
    let rate = Fix::from_integer(form.sample_rate_hz.into());
    let time = |frames: u64| Time::from_s(Fix::from_integer(frames.into()) / rate);
    heading(sheet, &part.name, '-');
    let size = if form.size_is_known() {
        format!(", {}", bytes_in_words(form.file_bytes(part.length())))
    } else {
        String::new()
    };
    let _ = writeln!(sheet, "{}{size}\n", time(part.length()).rounded());
    let repeats = &job.schedule.repeats[part.repeats.clone()];
    for run in repeats.chunk_by(|one, next| one.set == next.set) {
        let set = &job.session.sets[run[0].set];
        let whole_set = run.len() as u64 == set.repeats;
        describe(
            sheet,
            set,
            (!whole_set).then(|| format!("repeat {} of {}", run[0].number, set.repeats)),
        );
        let begin = Fix::from_integer(part.frames.start.into()) / rate;
        let starts: Vec<String> = (run.iter())
            .map(|repeat| Time::from_s(repeat.start_s - begin).rounded())
            .collect();
        let swims: Vec<String> = (run.iter())
            .map(|repeat| Time::from_s(repeat.swim_s()).rounded())
            .collect();
        let same = swims.iter().all(|swim| *swim == swims[0]);
        let swims = if same {
            swims[0].clone()
        } else {
            swims.join(", ")
        };
        let lasts = if words::has_cues(set) {
            "is cued for"
        } else {
            "lasts"
        };
        let times = format!(
            "starts at {} of this file; each swim {lasts} {swims}",
            starts.join(", ")
        );
        paragraph(sheet, &times, "  ");
        if let Some(told) = off_the_wall(set, &run[0]) {
            paragraph(sheet, &told, "  ");
        }
    }
}

fn describe(sheet: &mut String, set: &Set, which: Option<String>) {
    let which = which.map(|which| format!(" ({which})")).unwrap_or_default();
    paragraph(
        sheet,
        &format!("{}{which}: {}", set.name, words::notation(set)),
        "",
    );
    for line in heard(set) {
        let _ = writeln!(sheet, "{}", textwrap::fill(&line, indented("  ")));
    }
    match &set.say {
        Some(say) => paragraph(sheet, &format!("\"{say}\""), "  "),
        None => sheet.push('\n'),
    }
}

/// What sounds in a set, line by line.
fn heard(set: &Set) -> Vec<String> {
    if !words::has_cues(set) {
        return vec![words::NO_CUES.into()];
    }
    let rate = match set.rate.ends() {
        (from, to) if from == to => from.both_ways(),
        _ => set.rate.short(),
    };
    vec![
        format!("{rate}, {}", words::kick(set)),
        words::feet(set),
        format!("sounds: {}", words::cues(set)),
    ]
}

fn heading(sheet: &mut String, text: &str, line: char) {
    let text = textwrap::fill(&visible(text), WIDTH);
    let length = text
        .lines()
        .map(|line| line.chars().count())
        .max()
        .unwrap_or(0);
    let space = if sheet.is_empty() { "" } else { "\n" };
    let _ = writeln!(
        sheet,
        "{space}{text}\n{}\n",
        line.to_string().repeat(length)
    );
}

fn paragraph(sheet: &mut String, text: &str, indent: &str) {
    let _ = writeln!(
        sheet,
        "{}\n",
        textwrap::fill(&visible(text), indented(indent))
    );
}

fn indented(indent: &str) -> textwrap::Options<'_> {
    textwrap::Options::new(WIDTH)
        .initial_indent(indent)
        .subsequent_indent(indent)
}
