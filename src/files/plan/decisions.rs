//! What was decided on the way: read from a plan's file, and added to it.

use crate::error::{Error, Result};
use crate::files::document::Section;
use crate::files::read_text;
use crate::model::plan::{MOST_WEEKS, TrainingPlan, Way, WayOn, shown};
use crate::units::Rate;

const KEYS: [&str; 3] = ["week", "keep", "go_on"];

/// What was decided, in the order of the file. A rate that is kept must be one of the path.
pub fn decisions(top: &Section, plan: &TrainingPlan) -> Result<Vec<WayOn>> {
    let path = plan.path();
    let mut decisions: Vec<WayOn> = Vec::new();
    for (place, section) in top.sections("decision", "decision")? {
        section.only(&KEYS)?;
        let refuse = |why: String| {
            Error::input(why)
                .at(&place)
                .accepted(
                    "week, the number of the week after which it was decided, and either keep, a \
                     rate of the path, or go_on = true; none earlier than the one before",
                )
                .example("[[decision]]\nweek = 6\nkeep = \"57 spm\"")
        };
        let week = section.count("week", 1, MOST_WEEKS as u64)?;
        let week = week.ok_or_else(|| refuse("decision: the key week is missing".into()))?;
        let week = week.value as usize;
        let keep = section.quantity::<Rate>("keep")?;
        let goes_on = section.switch("go_on")?.is_some_and(|said| said.value);
        let choice = match (keep, goes_on) {
            (Some(rate), false) => Way::Keep(rate.value),
            (None, true) => Way::GoOn,
            _ => {
                let one = "decision: either keep or go_on = true is asked for";
                return Err(refuse(one.into()));
            }
        };
        let is_on_path =
            |rate: &Rate| (1..=plan.weeks).any(|week| shown(path.rate(week)) == *rate.spm());
        if let Way::Keep(rate) = &choice
            && !is_on_path(rate)
        {
            let rate = rate.short();
            return Err(refuse(format!("keep: found {rate}, no rate of the path")));
        }
        if decisions.last().is_some_and(|before| before.week > week) {
            return Err(refuse(format!("week: found {week} after a later one")));
        }
        decisions.push(WayOn { week, choice });
    }
    Ok(decisions)
}

/// The text of a plan's file with one decision more at its end; everything else stays as it is
/// written.
///
/// # Errors
/// When it cannot be read.
pub fn with_decision(file: &str, decision: &WayOn) -> Result<String> {
    Ok(added(&read_text(file)?, decision))
}

fn added(text: &str, decision: &WayOn) -> String {
    let choice = match &decision.choice {
        Way::Keep(rate) => format!("keep = \"{rate}\""),
        Way::GoOn => "go_on = true".into(),
    };
    format!(
        "{}\n\n[[decision]]\nweek = {}\n{choice}\n",
        text.trim_end(),
        decision.week
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::parse_plan;

    const PLAN: &str = "swimmer = \"alex.toml\"\nfrom = \"52 spm\"\nto = \"60 spm\"\nweeks = 12\n\
        days = [\"mon\"]\nstart = \"2027-03-01\"\n# mine\n[session]\nrepeats = 6\n";

    #[test]
    fn a_decision_is_added_at_the_end_and_read_back() {
        let decision = |week, choice| WayOn { week, choice };
        let keep = decision(
            5,
            Way::Keep(crate::units::Quantity::parse("55 spm").expect("55")),
        );
        let text = added(PLAN, &keep);
        assert!(text.starts_with(PLAN.trim_end()));
        let on = decision(7, Way::GoOn);
        let text = added(&text, &on);
        let plan = parse_plan("plan.toml", &text).expect("holds");
        assert_eq!(plan.decisions, [keep, on]);
        assert_eq!(plan.kept_rate(4), None);
        assert_eq!(plan.kept_rate(6).map(Rate::short), Some("55 spm".into()));
        assert!(plan.kept_rate(7).is_none() && plan.goes_on_knowing(7));
    }

    #[test]
    fn decisions_that_do_not_hold_are_refused_with_one_that_does() {
        for (lines, words) in [
            (
                "week = 5\nkeep = \"55.5 spm\"",
                "found 55.5 spm, no rate of the path",
            ),
            ("week = 5", "either keep or go_on = true"),
            (
                "week = 5\nkeep = \"55 spm\"\ngo_on = true",
                "either keep or go_on = true",
            ),
            ("keep = \"55 spm\"", "the key week is missing"),
            ("week = 0\ngo_on = true", "week"),
            (
                "week = 5\ngo_on = true\n[[decision]]\nweek = 4\ngo_on = true",
                "after a later one",
            ),
            ("week = 5\ngone = true", "unknown key \"gone\""),
        ] {
            let text = format!("{PLAN}[[decision]]\n{lines}\n");
            let error = parse_plan("plan.toml", &text).expect_err(lines).to_string();
            assert!(error.contains(words), "{words}: {error}");
            assert!(error.starts_with("plan.toml:"), "{error}");
        }
    }
}
