//! The sessions that are measured: one swim each, with a six-beat kick and every cue there is.
#![allow(dead_code)] // each bench uses its own part of it

/// One swim at `rate` by a clock pace: arm, kick, fill, breath and wall all sound.
fn session(title: &str, lead_in: &str, swim: &str, pace: &str, rate: &str) -> String {
    format!(
        "title = \"{title}\"\n\
         lead_in = \"{lead_in}\"\n\
         [[set]]\n\
         name = \"Swim\"\n\
         pool = \"25 m\"\n\
         swim = \"{swim}\"\n\
         pace = \"{pace} / 100 m\"\n\
         rate = {rate}\n\
         kick = \"six-beat\"\n\
         cues = [\"arm\", \"kick\", \"fill\", \"breath\", \"wall\"]\n\
         breath = {{ every = 3, side = \"right\" }}\n"
    )
}

/// 64 strokes a minute.
const STEADY: &str = "\"64 spm\"";

/// A track of 60 s: 5 s of lead-in, 50 m in 52 s, 3 s after the end.
pub fn minute() -> String {
    session("A minute", "5 s", "50 m", "1:44", STEADY)
}

/// A track of 3600 s: 60 s of lead-in, 3000 m in 3537 s, 3 s after the end.
pub fn hour() -> String {
    session("An hour", "60 s", "3000 m", "1:57.9", STEADY)
}

/// A track of 36 000 s: 60 s of lead-in, 30 000 m in 35 937 s, 3 s after the end.
pub fn ten_hours() -> String {
    session("Ten hours", "60 s", "30000 m", "1:59.79", STEADY)
}

/// An hour at a rate of as many digits as a file may hold, which takes wider arithmetic.
pub fn hour_of_many_digits() -> String {
    session(
        "An hour",
        "60 s",
        "3000 m",
        "1:57.9",
        "\"63.123456789 spm\"",
    )
}

/// An hour at a rate that rises all the time, which takes a root an event.
pub fn rising_hour() -> String {
    let rising = "{ from = \"62 spm\", to = \"66 spm\", by = \"time\" }";
    session("An hour", "60 s", "3000 m", "1:57.9", rising)
}
