//! Plan files: read, and written once by `plan new`.

mod decisions;
mod when;

use super::document::{Section, SourceText};
use super::key_value::{KeyValue, quoted};
use super::{name_of, read_text};
use crate::error::{Error, Place, Result};
use crate::model::plan::{
    COURSE, COURSE_WEEKS, MOST_WEEKS, Path, Rules, TrainingPlan, Work, course_presets, far, shown,
};
use crate::model::session::RepeatSwim;
use crate::model::wishes::{Said, said};
use crate::units::{Fix, Rate, Time, decimal, exact, fraction, print_decimal};

use decisions::decisions;
pub use decisions::with_decision;
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
/// A rule of the earlier verdict. By it a file of that time is known.
const EARLIER_RULE: &str = "effort_weeks";
const RULE_KEYS: [&str; 13] = [
    "step_least",
    "step_share",
    "hold_every",
    "cued_first",
    "cued_last",
    "uncued_after_days",
    "rate_within",
    "speed_loss",
    "length_loss",
    EARLIER_RULE,
    "away_weeks",
    "fewest_swims",
    "fewest_days",
];

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

/// What must hold between from, to and weeks. `flags`: the examples are flags, not lines of a file.
///
/// # Errors
/// When the goal lies below, is not reached in the weeks, or lies far and is not confirmed.
pub fn check(plan: &TrainingPlan, flags: bool) -> Result<()> {
    let example = |key: &str, value: String| {
        if flags {
            format!("--{key} {value}")
        } else {
            format!("{key} = {value}")
        }
    };
    let (from, to) = (&plan.from, &plan.to);
    let far = from.spm() * (exact(1) + far());
    let both = format!("{} to {}", from.short(), to.apart(&far));
    if to < from {
        return Err(Error::input(format!(
            "to: from {} to {} is a way down; a plan raises the rate",
            from.apart(to.spm()),
            to.apart(from.spm())
        ))
        .accepted("a goal of the first rate or more")
        .example(example("to", quoted(&from.to_string()))));
    }
    if far < *to.spm() && !plan.confirmed {
        let most = print_decimal(&shown(&far)).unwrap_or_default();
        return Err(Error::input(format!(
            "to: from {both} is more than 20 % of the first rate: so far, the stroke has to be \
             learnt anew, and a shoulder carries a fifth more strokes a minute (common practice, \
             no source). A coach should agree"
        ))
        .accepted(format!(
            "a goal up to {most} spm now and another plan after it; or confirmed = true in the \
             file, --confirm on the command line"
        ))
        .example(example("to", format!("\"{most} spm\""))));
    }
    let needed = Path::weeks_needed(from, to, &plan.rules, plan.grid());
    match needed {
        Some(needed) if needed <= plan.weeks => Ok(()),
        Some(needed) => Err(Error::input(format!(
            "weeks: {both} takes {needed} weeks by the rules of the path, and the plan has {}",
            plan.weeks
        ))
        .accepted(format!("{needed} weeks or more, or a nearer goal"))
        .example(example("weeks", needed.to_string()))),
        None => Err(Error::input(format!(
            "weeks: {both} is not reached in {MOST_WEEKS} weeks by the rules of the path"
        ))
        .accepted("larger steps, or a nearer goal")
        .example("step_least = \"1 spm\"")),
    }
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

fn rules(section: &Section) -> Result<Rules> {
    section.only(&RULE_KEYS)?;
    let usual = Rules::default();
    let spm = |key: &str, usual: Fix, example: &str| {
        let said = section.read(key, |entry| with_unit(entry, "spm", (0, 10), example))?;
        Ok::<_, Error>(value(said).unwrap_or(usual))
    };
    let percent = |key: &str, usual: Fix, most: i64, example: &str| {
        let said = section.read(key, |entry| with_unit(entry, "%", (0, most), example))?;
        Ok::<_, Error>(value(said).map_or(usual, |percent| percent / exact(100)))
    };
    let count = |key: &str, least: u64, most: u64, usual: u64| {
        Ok::<_, Error>(value(section.count(key, least, most)?).unwrap_or(usual))
    };
    count(EARLIER_RULE, 1, 12, 1)?;
    let rules = Rules {
        step_least: spm("step_least", usual.step_least, "1 spm")?,
        step_share: percent("step_share", usual.step_share, 5, "2 %")?,
        hold_every: count("hold_every", 2, 52, usual.hold_every)?,
        cued_first: percent("cued_first", usual.cued_first, 100, "100 %")?,
        cued_last: percent("cued_last", usual.cued_last, 100, "25 %")?,
        uncued_after_days: value(
            section.read("uncued_after_days", |entry| days_after(section, entry))?,
        )
        .unwrap_or(usual.uncued_after_days),
        rate_within: spm("rate_within", usual.rate_within, "1 spm")?,
        speed_loss: match percent("speed_loss", usual.speed_loss, 10, "0.7 %")? {
            // What was built in then, written down by the program.
            loss if section.entry(EARLIER_RULE).is_some() && loss == fraction(1, 100) => {
                usual.speed_loss
            }
            loss => loss,
        },
        length_loss: percent("length_loss", usual.length_loss, 10, "2 %")?,
        away_weeks: count("away_weeks", 1, 12, usual.away_weeks)?,
        fewest_swims: count("fewest_swims", 3, 1000, usual.fewest_swims)?,
        fewest_days: count("fewest_days", 1, 7, usual.fewest_days)?,
    };
    if rules.cued_last > rules.cued_first {
        let entry = section.entry("cued_last").or(section.entry("cued_first"));
        let error = Error::input("rules: cued_last is more than cued_first; cues are thinned out");
        return Err(entry
            .map_or(error.clone(), |entry| error.at(&entry.place))
            .accepted("cued_last no more than cued_first")
            .example("cued_last = \"25 %\""));
    }
    Ok(rules)
}

fn days_after<'a>(section: &Section<'a>, entry: &KeyValue<'a>) -> Result<Vec<u64>> {
    const ACCEPTED: &str =
        "a list of whole numbers of days, 1 to 60, each later than the one before";
    const EXAMPLE: &str = "uncued_after_days = [1, 3, 10]";
    let items = section.items_of(entry, ACCEPTED, EXAMPLE)?;
    let refused = |error: Error| error.accepted(ACCEPTED).example(EXAMPLE);
    let days = (items.iter())
        .map(|item| item.count(1, 60).map_err(refused))
        .collect::<Result<Vec<_>>>()?;
    if days.windows(2).all(|pair| pair[0] < pair[1]) {
        Ok(days)
    } else {
        Err(refused(entry.refuse("found days out of order")))
    }
}

/// A number with one unit: `1 spm`, `2 %`.
fn with_unit(entry: &KeyValue, unit: &str, (low, high): (i64, i64), example: &str) -> Result<Fix> {
    let accepted = format!("{low} to {high} {unit}");
    let example = entry.example(&quoted(example));
    let text = match entry.value {
        toml::de::DeValue::Integer(_) | toml::de::DeValue::Float(_) => {
            return Err(entry
                .refuse(format!("found a bare number; it could have meant {unit}"))
                .accepted(accepted)
                .example(example));
        }
        _ => entry.string(&accepted, &example)?,
    };
    let number = text.trim().strip_suffix(unit).map(str::trim);
    let number = number.and_then(|number| decimal(number).ok());
    match number.filter(|number| *number >= exact(low) && *number <= exact(high)) {
        Some(number) => Ok(number),
        None => Err(entry
            .refuse(format!("found {}", quoted(text)))
            .accepted(accepted)
            .example(example)),
    }
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
