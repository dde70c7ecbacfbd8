//! `plan show`: the weeks planned and swum, and what follows from them.

use super::figures::{in_json, table};
use super::given::{Given, PlanFileArgs, say_notes};
use super::words::{last_judged, reasons, today, verdict};
use crate::analysis::weeks::WhatIf;
use crate::cli::shared::out;
use crate::cli::shared::words::fill;
use crate::error::{Error, Result};
use crate::model::plan::weekday_word;
use crate::model::words;
use std::fmt::Write as _;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane plan show alex-plan.toml --log log.csv\n  \
                  cuelane plan show alex-plan.toml --what-if \"miss 2 weeks\"\n\n\
                  A week is judged once its training days are over, by its days' medians and their\n\
                  intervals: the rate never rises while a loss beyond the limits is still possible."
)]
pub struct PlanShowArgs {
    #[command(flatten)]
    pub plan: PlanFileArgs,
    /// What would become of it: "miss 2 weeks", "ill 1 week", "hold 1 week"
    #[arg(long, value_name = "WHAT")]
    pub what_if: Option<String>,
    /// Say for every week what its verdict rests on
    #[arg(long)]
    pub detail: bool,
    /// Print the result as JSON
    #[arg(long, conflicts_with = "detail")]
    pub json: bool,
}

/// Runs `plan show`.
pub fn run(args: &PlanShowArgs) -> Result<()> {
    let what_if = args.what_if.as_ref().map(|text| what(text)).transpose()?;
    let given = Given::read(&args.plan)?;
    let standing = given.standing(what_if);
    if args.json {
        return out::json(&in_json(&given, &standing));
    }
    say_notes(&given);
    let plan = &given.plan;
    let days: Vec<&str> = plan.days.iter().map(|day| weekday_word(*day)).collect();
    let mut text = fill(&format!(
        "{}: {} to {} in {} weeks from {}, {}",
        given.swimmer.name,
        plan.from.both_ways(),
        plan.to.both_ways(),
        plan.weeks,
        plan.start,
        days.join(" ")
    ));
    text.push_str("\n\n");
    text.push_str(&table(&given, &standing));
    text.push('\n');
    let paragraph = |words: &str| format!("{}\n", fill(words));
    text.push_str(&paragraph(&today(
        plan,
        &plan.path(),
        &standing,
        given.today,
    )));
    if given.log.is_none() && standing.now.is_some() {
        text.push_str("There is no log: nothing can be judged. --log FILE names it.\n");
    }
    let explained: Vec<_> = if args.detail {
        (standing.weeks.iter())
            .filter(|week| week.verdict.is_some())
            .collect()
    } else {
        last_judged(&standing).into_iter().collect()
    };
    for week in explained {
        text.push_str(&paragraph(&format!(
            "Week {}, {}:",
            week.week,
            verdict(week)
        )));
        for reason in reasons(&given, week) {
            let options = textwrap::Options::new(79)
                .initial_indent("  - ")
                .subsequent_indent("    ");
            let _ = writeln!(text, "{}", textwrap::fill(&reason, options));
        }
    }
    let _ = writeln!(text, "\n{}", fill(words::PLAN_CAUTION));
    out::result(&text)
}

/// Reads `miss 2 weeks`.
fn what(text: &str) -> Result<WhatIf> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let found = match words[..] {
        [what, weeks, "week" | "weeks"] => weeks
            .parse()
            .ok()
            .filter(|weeks| (1..=52).contains(weeks))
            .and_then(|weeks| match what {
                "miss" => Some(WhatIf::Miss(weeks)),
                "ill" => Some(WhatIf::Ill(weeks)),
                "hold" => Some(WhatIf::Hold(weeks)),
                _ => None,
            }),
        _ => None,
    };
    found.ok_or_else(|| {
        Error::input(format!("found {text:?}"))
            .at("--what-if")
            .accepted("miss, ill or hold, and 1 to 52 weeks")
            .example("--what-if \"miss 2 weeks\"")
    })
}
