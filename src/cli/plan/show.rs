//! `plan show`: the weeks planned and swum, and what follows from them.

use super::course_page::page;
use super::course_view::CourseReport;
use super::inputs::{Given, PlanFileArgs, no_course, say_notes};
use super::show_view::PlanReport;
use crate::analysis::weeks::WhatIf;
use crate::cli::shared::out;
use crate::cli::shared::report::tell;
use crate::error::{Error, Result};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane plan show alex-plan.toml --log log.csv\n  \
                  cuelane plan show alex-plan.toml --what-if \"miss 2 weeks\"\n\n\
                  A week is judged once its training days are over, by all weeks together: it goes on\n\
                  unless a loss of speed is more likely than not."
)]
pub struct PlanShowArgs {
    #[command(flatten)]
    pub plan: PlanFileArgs,
    /// What would become of it: "miss 2 weeks", "ill 1 week", "hold 1 week"
    #[arg(long, value_name = "WHAT")]
    pub what_if: Option<String>,
    /// One page for the next day of a course: the track, three things to feel, boxes to fill
    #[arg(long, conflicts_with_all = ["detail", "json"])]
    pub page: bool,
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
    if what_if.is_some() {
        no_course(
            &given.plan,
            "--what-if has no weeks to move",
            "plan show --today DATE: a day without rows counts for nothing, and what is left is laid \
             out from that date",
        )?;
    }
    let standing = given.standing(what_if);
    if !args.json {
        say_notes(&given);
    }
    if let Some(course) = &standing.course {
        return if args.page {
            out::result(&page(&given, course)?)
        } else {
            tell(&CourseReport::new(&given, course), args.json)
        };
    }
    if args.page {
        return Err(Error::input("--page: the plan is no course")
            .at(&given.plan.source)
            .accepted("a plan that is the course; plan report writes the page of any other")
            .example("cuelane plan report alex-plan.toml --out alex.html"));
    }
    let report = PlanReport::new(&given, &standing, args.detail);
    tell(&report, args.json)
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
