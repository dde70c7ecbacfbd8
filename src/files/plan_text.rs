//! A plan's file as `plan new` writes it: every rule in the open, with its source.

use super::plan::{check, parse_plan, parse_unchecked};
use crate::error::Result;
use crate::model::plan::{COURSE, TrainingPlan, shown};
use crate::units::print_decimal;
use std::fmt::Write as _;

/// What `plan new` writes down, each as the person said it.
#[derive(Debug, Clone, Default)]
pub struct NewPlan {
    /// The swimmer's file, as seen from the plan's folder.
    pub swimmer: String,
    /// The first rate.
    pub from: String,
    /// The goal.
    pub to: String,
    /// Weeks.
    pub weeks: String,
    /// Training days, by their words.
    pub days: Vec<String>,
    /// The first day.
    pub start: String,
    /// When a session starts.
    pub time: Option<String>,
    /// The time zone.
    pub zone: Option<String>,
    /// Session files.
    pub sessions: Vec<String>,
    /// Swims a day, what each swims, rest.
    pub repeats: Option<String>,
    /// What each swims.
    pub swim: Option<String>,
    /// Rest.
    pub rest: Option<String>,
    /// The log.
    pub log: Option<String>,
    /// The step test.
    pub steps: Option<String>,
    /// Whether a far goal was confirmed.
    pub confirmed: bool,
    /// Whether comparison swims are left out.
    pub no_compare: bool,
}

/// The text of a new plan, and the plan that it is.
///
/// # Errors
/// When a value does not hold; the message is that of the file itself, and of the goal's flags.
pub fn new_plan(file: &str, new: &NewPlan) -> Result<(String, TrainingPlan)> {
    // The path is a part of the file, so it is written twice: once to know it.
    let (plan, _) = parse_unchecked(file, &text(new, None))?;
    check(&plan, true).map_err(|error| error.at("plan new"))?;
    let path = plan.path();
    let written: Vec<String> = (1..=plan.weeks)
        .map(|week| print_decimal(&shown(path.rate(week))).unwrap_or_default())
        .map(|spm| format!("\"{spm} spm\""))
        .collect();
    let text = text(new, Some(&written));
    let plan = parse_plan(file, &text)?;
    Ok((text, plan))
}

/// The text of a new course, and the plan that it is; goal, weeks and swims are its own.
///
/// # Errors
/// When a value does not hold; the message is that of the file itself.
pub fn new_course(file: &str, new: &NewPlan) -> Result<(String, TrainingPlan)> {
    let mut text = String::from(
        "# The course of who has never done it, at the own rate. Its steps are the program's; which of\n\
         # them is next is computed from the log.\n\n",
    );
    let mut line = |key: &str, value: String, why: &str| {
        put_line(&mut text, key, &value, why);
    };
    line("format", "1".into(), "");
    line("course", quoted(COURSE), "");
    line(
        "swimmer",
        quoted(&new.swimmer),
        "their pool, pace, player; the pairing they choose",
    );
    line(
        "from",
        quoted(&new.from),
        "the own rate, throughout; both arms counted",
    );
    line("days", list(&new.days), "three a week take about six weeks");
    line(
        "start",
        quoted(&new.start),
        "week 1; each week has seven days from here",
    );
    for (key, said, why) in when_and_log(new) {
        if let Some(said) = said {
            line(key, quoted(said), why);
        }
    }
    let plan = parse_plan(file, &text)?;
    Ok((text, plan))
}

/// A key with its value, and why.
fn put_line(text: &mut String, key: &str, value: &str, why: &str) {
    let said = format!("{key:<9} = {value}");
    let _ = if why.is_empty() {
        writeln!(text, "{said}")
    } else {
        writeln!(text, "{said:<40}  # {why}")
    };
}

/// Keys that any plan may have.
fn when_and_log(new: &NewPlan) -> [(&'static str, &Option<String>, &'static str); 3] {
    let zone = "without it: local time, wherever that is";
    [
        ("time", &new.time, "for the calendar"),
        ("zone", &new.zone, zone),
        ("log", &new.log, ""),
    ]
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

fn list(words: &[String]) -> String {
    let words: Vec<String> = words.iter().map(|word| quoted(word)).collect();
    format!("[{}]", words.join(", "))
}

fn number(text: &str) -> String {
    match text.trim().parse::<u64>() {
        Ok(number) => number.to_string(),
        // Refused by the file's own reader, with its example.
        Err(_) => quoted(text),
    }
}

fn text(new: &NewPlan, written: Option<&[String]>) -> String {
    let mut text = what_is_planned(new);
    if let Some(written) = written {
        text.push_str(
            "\n# The path as it was when this file was written. An edit moves the path, and the\n\
             # program says from which week on; delete these lines to let it forget.\n\
             written = [\n",
        );
        for row in written.chunks(6) {
            let _ = writeln!(text, "  {},", row.join(", "));
        }
        text.push_str("]\n");
    }
    if new.sessions.is_empty() {
        let _ = writeln!(
            text,
            "\n[session]                                 # of every training day; swims without cues included\n\
             repeats = {:<30}  # common practice\n\
             swim    = {:<30}  # common practice\n\
             rest    = {:<30}  # common practice",
            number(new.repeats.as_deref().unwrap_or("8")),
            quoted(new.swim.as_deref().unwrap_or("50 m")),
            quoted(new.rest.as_deref().unwrap_or("30 s")),
        );
    }
    text + RULES
}

/// The keys of the plan itself.
fn what_is_planned(new: &NewPlan) -> String {
    let mut text = String::from(
        "# A plan: raise the stroke rate, keep the stroke, take the cues away.\n\
         # Edit whatever you like; everything else is computed from this file and the log.\n\n",
    );
    let mut line = |key: &str, value: String, why: &str| {
        put_line(&mut text, key, &value, why);
    };
    line("format", "1".into(), "");
    line(
        "swimmer",
        quoted(&new.swimmer),
        "their pool, pace, pairing, player",
    );
    line("from", quoted(&new.from), "both arms counted");
    line("to", quoted(&new.to), "");
    line("weeks", number(&new.weeks), "");
    line("days", list(&new.days), "");
    line(
        "start",
        quoted(&new.start),
        "week 1; each week has seven days from here",
    );
    let line_of = "a step test: the swimmer's own length-on-rate line";
    let steps = ("steps", &new.steps, line_of);
    for (key, said, why) in when_and_log(new).into_iter().chain([steps]) {
        if let Some(said) = said {
            line(key, quoted(said), why);
        }
    }
    if !new.sessions.is_empty() {
        let why = "one for each training day, in turn";
        line("sessions", list(&new.sessions), why);
    }
    let far = "a goal more than 20 % away, agreed on";
    let blind = "no swims at the first rate: a loss is seen later";
    for (key, value, is_said, why) in [
        ("confirmed", "true", new.confirmed, far),
        ("compare", "false", new.no_compare, blind),
    ] {
        if is_said {
            line(key, value.into(), why);
        }
    }
    text
}

/// The rules with their sources; a test holds them against the built-in ones.
const RULES: &str = r#"
[rules]
# The rate. Trained swimmers cued 5 % faster fell short, and the stroke shortened (Fassone et al.
# 2023, Front Sports Act Living 5:1268146): so small steps. The step itself: common practice.
step_least = "1 spm"            # from week to week at least this,
step_share = "2 %"              # or this share of the rate, whichever is more
hold_every = 4                  # every fourth week holds: common practice

# The cues. Thinned out, they help to keep what was learnt (Salmoni, Schmidt & Walter 1984;
# Winstein & Schmidt 1990; from memory). From all to a quarter: common practice.
cued_first = "100 %"            # of the cycles, in week 1
cued_last  = "25 %"             # in the last week

# Swims without cues after a hold week's Monday. A pace learnt with cues over four days was kept
# for ten (Front Sports Act Living 2025, 7:1588758). The days: common practice.
uncued_after_days = [1, 3, 10]

# Going on, unless a loss is more likely than not: from judgement and simulation, no source.
rate_within  = "1 spm"          # the rate swum, from the rate cued
speed_loss   = "0.7 %"          # of speed by the clock, against the fastest rate so far
length_loss  = "2 %"            # of distance per stroke, beyond a step test's line
away_weeks   = 2                # after so many weeks away, one step down first
fewest_swims = 6                # at the week's rate, with a time, in a week
fewest_days  = 2
"#;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::plan::{Rules, Work};

    fn new() -> NewPlan {
        NewPlan {
            swimmer: "alex.toml".into(),
            from: "52 spm".into(),
            to: "60 spm".into(),
            weeks: "12".into(),
            days: ["mon", "wed", "fri"].map(String::from).to_vec(),
            start: "2027-03-01".into(),
            ..NewPlan::default()
        }
    }

    #[test]
    fn a_new_plan_has_the_built_in_rules_and_its_own_path() {
        let (text, plan) = new_plan("plan.toml", &new()).expect("holds");
        assert_eq!(
            (&plan.rules, &plan.work),
            (&Rules::default(), &Work::default())
        );
        assert_eq!(plan.written.len(), 12);
        assert_eq!(plan.edited_from(), None);
        assert!(
            text.lines().all(|line| line.chars().count() <= 100),
            "{text}"
        );
        let again = parse_plan(
            "plan.toml",
            &text.replace("hold_every = 4", "hold_every = 5"),
        );
        assert_eq!(again.expect("holds").edited_from(), Some(4));
    }

    #[test]
    fn what_a_person_says_wrong_is_refused_in_the_words_of_the_file() {
        for (change, words) in [
            (
                NewPlan {
                    weeks: "many".into(),
                    ..new()
                },
                "weeks: found \"many\"",
            ),
            (
                NewPlan {
                    from: "52".into(),
                    ..new()
                },
                "from: found 52, a bare number",
            ),
            (
                NewPlan {
                    start: "1.3.2027".into(),
                    ..new()
                },
                "start: found \"1.3.2027\"",
            ),
            (
                NewPlan {
                    swim: Some("50".into()),
                    ..new()
                },
                "swim: found 50",
            ),
        ] {
            let error = new_plan("plan.toml", &change).expect_err(words).to_string();
            assert!(error.contains(words), "{words}: {error}");
        }
    }
}
