//! Plan files: read, and written once by `plan new`.

mod decisions;
mod goal;
mod rules;
mod when;

use super::document::{Section, SourceText};
use super::key_value::{KeyValue, quoted};
use super::{name_of, read_text};
use crate::error::{Place, Result};
use crate::model::plan::{
    COURSE, COURSE_WEEKS, MOST_WEEKS, Rules, TrainingPlan, Work, course_presets,
};
use crate::model::session::RepeatSwim;
use crate::model::wishes::{Said, said};
use crate::units::{Fix, Rate, Time, exact};

use decisions::decisions;
pub use decisions::with_decision;
pub use goal::check;
use rules::{EARLIER_RULE, rules};
pub use when::{
    DATE_ACCEPTED, DAYS_ACCEPTED, check_end, iso_date, time_of_day, training_days, zone_name,
};
use when::{clock, days, written_date, zone};

/// The keys of a plan.
const KEYS: [&str; 19] = [
    "format",
    "swimmer",
    "course",
    "from",
    "to",
    "weeks",
    "days",
    "start",
    "time",
    "zone",
    "alarm",
    "sessions",
    "log",
    "steps",
    "confirmed",
    "compare",
    "written",
    "session",
    "decision",
];
const WITH_RULES: [&str; 20] = {
    let mut keys = ["rules"; 20];
    let mut at = 0;
    while at < KEYS.len() {
        keys[at] = KEYS[at];
        at += 1;
    }
    keys
};
/// The keys of a plan that is the course.
const COURSE_KEYS: [&str; 10] = [
    "format", "swimmer", "course", "from", "days", "start", "time", "zone", "alarm", "log",
];
const SESSION_KEYS: [&str; 3] = ["repeats", "swim", "rest"];
/// Reads a plan's file; `-` is standard input.
///
/// # Errors
/// When it cannot be read or does not hold.
pub fn read_plan(file: &str) -> Result<TrainingPlan> {
    let file = name_of(file);
    parse_plan(file, &read_text(file)?)
}

/// Parses a plan's text; `file` is the name for messages.
///
/// # Errors
/// When the text does not hold, the goal is not reached in its weeks, or is far and not confirmed.
pub fn parse_plan(file: &str, text: &str) -> Result<TrainingPlan> {
    let (plan, goal) = parse_unchecked(file, text)?;
    check(&plan, false).map_err(|error| error.at_place(goal.as_ref()))?;
    Ok(plan)
}

/// The same without a look at the goal; gives the place of the goal as well.
pub(super) fn parse_unchecked(file: &str, text: &str) -> Result<(TrainingPlan, Option<Place>)> {
    let source = SourceText::new(file, text.to_string());
    let document = source.parse()?;
    let top = Section::top(&source, &document);
    let is_course = course(&top)?;
    top.format_1()?;
    let from = top.quantity::<Rate>("from")?;
    let from = needed(&top, "from", from, "from = \"52 spm\"")?;
    let (to, weeks) = if is_course {
        (from.clone(), COURSE_WEEKS as u64)
    } else {
        goal_and_weeks(&top)?
    };
    let days = top.read("days", |entry| days(&top, entry))?;
    let days = needed(&top, "days", days, "days = [\"mon\", \"wed\", \"fri\"]")?;
    let start = top.read("start", |entry| written_date(entry))?;
    let start = needed(&top, "start", start, "start = \"2027-03-01\"")?;
    check_end(start.value, weeks).map_err(|error| {
        (error.within("start").at_place(start.at.as_ref())).example("start = \"2027-03-01\"")
    })?;
    let (rules, earlier_rules) = match top.section("rules", "[rules]")? {
        Some(section) => (rules(&section)?, section.entry(EARLIER_RULE).is_some()),
        None => (Rules::default(), false),
    };
    let swimmer = top.text("swimmer")?;
    let swimmer = needed(&top, "swimmer", swimmer, "swimmer = \"alex.toml\"")?;
    let plan = TrainingPlan {
        source: file.to_string(),
        swimmer: swimmer.value,
        from: from.value,
        to: to.value.clone(),
        weeks: weeks as usize,
        days: days.value,
        start: start.value,
        time: value(top.read("time", clock)?),
        zone: value(top.read("zone", zone)?),
        alarm: value(top.read("alarm", alarm)?).unwrap_or_else(|| Time::whole_s(3600)),
        sessions: if is_course {
            let presets = course_presets().into_iter();
            presets.filter_map(|name| said(name.into())).collect()
        } else {
            value(top.read("sessions", |entry| sessions(&top, entry))?).unwrap_or_default()
        },
        work: match top.section("session", "[session]")? {
            Some(section) => work(&section)?,
            None => Work::default(),
        },
        log: value(top.text("log")?),
        steps: value(top.text("steps")?),
        is_course,
        confirmed: value(top.switch("confirmed")?).unwrap_or(false),
        compare: value(top.switch("compare")?).unwrap_or(!is_course),
        written: value(top.read("written", |entry| written(&top, entry))?).unwrap_or_default(),
        decisions: Vec::new(),
        rules,
        earlier_rules,
    };
    let decisions = decisions(&top, &plan)?;
    Ok((TrainingPlan { decisions, ..plan }, to.at))
}

fn goal_and_weeks(top: &Section) -> Result<(Said<Rate>, u64)> {
    let to = top.quantity::<Rate>("to")?;
    let to = needed(top, "to", to, "to = \"60 spm\"")?;
    let weeks = top.count("weeks", 1, MOST_WEEKS as u64)?;
    let weeks = needed(top, "weeks", weeks, "weeks = 12")?;
    Ok((to, weeks.value))
}

fn value<T>(said: Option<Said<T>>) -> Option<T> {
    said.map(|said| said.value)
}

fn needed<T>(top: &Section, key: &str, said: Option<Said<T>>, example: &str) -> Result<Said<T>> {
    said.ok_or_else(|| {
        top.missing(key)
            .accepted(if top.entry("course").is_some() {
                "swimmer, from, days and start, each once"
            } else {
                "swimmer, from, to, weeks, days and start, each once"
            })
            .example(example)
    })
}

/// Whether the plan is the course; refuses the keys that it does not have then.
fn course(top: &Section) -> Result<bool> {
    const ACCEPTED: &str = "\"first-kick\", or no such line";
    const EXAMPLE: &str = "course = \"first-kick\"";
    let course = top.read("course", |entry| {
        match entry.string(ACCEPTED, EXAMPLE)?.trim() {
            COURSE => Ok(true),
            other => Err(entry
                .refuse(format!("found {}", quoted(other)))
                .accepted(ACCEPTED)
                .example(EXAMPLE)),
        }
    })?;
    let is_course = value(course).unwrap_or(false);
    top.only(if is_course {
        &COURSE_KEYS[..]
    } else {
        &WITH_RULES
    })?;
    Ok(is_course)
}

fn alarm(entry: &KeyValue) -> Result<Time> {
    let time: Time = entry.quantity()?;
    if *time.s() >= exact(0) && *time.s() <= exact(7 * 86_400) && time.s().is_integer() {
        Ok(time)
    } else {
        Err(entry
            .refuse(format!("found {time}"))
            .accepted("whole seconds from 0 s to 7 days before the session")
            .example("alarm = \"60 min\""))
    }
}

fn sessions<'a>(section: &Section<'a>, entry: &KeyValue<'a>) -> Result<Vec<Said<String>>> {
    const ACCEPTED: &str = "a list of session files or presets, one for each training day in turn";
    const EXAMPLE: &str = "sessions = [\"evening.toml\", \"hold-the-rate\"]";
    let items = section.items_of(entry, ACCEPTED, EXAMPLE)?;
    let one = |item: &KeyValue<'a>| {
        let name = item.string(ACCEPTED, EXAMPLE)?;
        let holds = !name.trim().is_empty() && name != "-" && !name.chars().any(char::is_control);
        if holds {
            Ok(Said {
                value: name.to_string(),
                at: Some(item.place.clone()),
            })
        } else {
            Err(item
                .refuse(format!("found {}", quoted(name)))
                .accepted(ACCEPTED)
                .example(EXAMPLE))
        }
    };
    items.iter().map(one).collect()
}

fn written<'a>(section: &Section<'a>, entry: &KeyValue<'a>) -> Result<Vec<Fix>> {
    let items = section.items_of(
        entry,
        "a list of rates, as plan new wrote it, or no such line",
        "written = [\"52 spm\", \"53 spm\"]",
    )?;
    let one = |item: &KeyValue| item.quantity::<Rate>().map(|rate| *rate.spm());
    items.iter().map(one).collect()
}

fn work(section: &Section) -> Result<Work> {
    section.only(&SESSION_KEYS)?;
    let usual = Work::default();
    Ok(Work {
        repeats: value(section.count("repeats", 3, 1000)?).unwrap_or(usual.repeats),
        swim: value(section.quantity::<RepeatSwim>("swim")?).unwrap_or(usual.swim),
        rest: value(section.quantity("rest")?).unwrap_or(usual.rest),
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::Weekday;

    use super::*;

    const PLAN: &str = "swimmer = \"alex.toml\"\nfrom = \"52 spm\"\nto = \"60 spm\"\nweeks = 12\n\
        days = [\"mon\", \"wed\", \"fri\"]\nstart = \"2027-03-01\"\n";

    fn refused(text: &str, words: &[&str]) {
        let error = parse_plan("plan.toml", text).expect_err(text).to_string();
        for word in words {
            assert!(error.contains(word), "{word}: {error}");
        }
        assert!(error.starts_with("plan.toml"), "{error}");
        assert!(error.contains("\nexample: "), "{error}");
    }

    #[test]
    fn the_least_plan_takes_the_usual_rules() {
        let plan = parse_plan("plan.toml", PLAN).expect("holds");
        assert_eq!(plan.rules, Rules::default());
        assert_eq!(
            plan.days,
            [Weekday::Monday, Weekday::Wednesday, Weekday::Friday]
        );
        assert_eq!(plan.last_day().to_string(), "2027-05-23");
    }

    #[test]
    fn goals_that_the_path_does_not_reach_are_refused_with_the_weeks() {
        refused(
            &PLAN.replace("= 12", "= 10"),
            &["takes 11 weeks", "weeks = 11"],
        );
        refused(
            &PLAN.replace("52 spm", "49 spm"),
            &["more than 20 %", "58.8 spm", "--confirm"],
        );
        refused(&PLAN.replace("52 spm", "61 spm"), &["a way down"]);
        let far = PLAN.replace("52 spm", "49 spm").replace("12", "20") + "confirmed = true\n";
        assert!(parse_plan("plan.toml", &far).is_ok());
    }

    #[test]
    fn foreign_orders_of_dates_are_refused_with_the_iso_form() {
        for date in [
            "01.03.2027",
            "03/01/2027",
            "2027/03/01",
            "1 March 2027",
            "2027-3-1",
            "01-03-2027",
        ] {
            refused(
                &PLAN.replace("2027-03-01", date),
                &["YYYY-MM-DD", "start", "2027-03-01"],
            );
        }
        refused(
            &PLAN.replace("2027-03-01", "2027-02-30"),
            &["a day that there is not"],
        );
        let bare = PLAN.replace("\"2027-03-01\"", "2027-03-01");
        assert!(parse_plan("plan.toml", &bare).is_ok(), "a TOML date");
    }

    #[test]
    fn a_day_given_twice_and_bare_numbers_are_refused() {
        refused(&PLAN.replace("\"wed\"", "\"mon\""), &["found mon twice"]);
        refused(
            &PLAN.replace("\"wed\"", "\"wens\""),
            &["no day of the week"],
        );
        refused(
            &PLAN.replace("[\"mon\", \"wed\", \"fri\"]", "[]"),
            &["no training day"],
        );
        refused(&PLAN.replace("\"52 spm\"", "52"), &["bare number"]);
        let rules = |line: &str| format!("{PLAN}[rules]\n{line}\n");
        refused(&rules("step_least = 1"), &["bare number", "spm"]);
        refused(&rules("step_share = \"9 %\""), &["0 to 5 %"]);
        refused(&rules("uncued_after_days = [3, 1]"), &["out of order"]);
        refused(&rules("hold_ever = 4"), &["did you mean \"hold_every\"?"]);
        refused(
            &rules("cued_last = \"50 %\"\ncued_first = \"40 %\""),
            &["thinned"],
        );
        refused(
            &PLAN.replace("swimmer", "simmer"),
            &["did you mean \"swimmer\"?"],
        );
        refused(
            &PLAN.replace("start", "# start"),
            &["the key start is missing"],
        );
        refused(&format!("{PLAN}time = \"25:00\"\n"), &["no time of day"]);
        refused(&format!("{PLAN}zone = \"Atlantis/Deep\"\n"), &["not known"]);
    }
}
